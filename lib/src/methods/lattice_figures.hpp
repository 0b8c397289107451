#pragma once
#include <cstdint>
#include <limits>
#include <optional>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/wide_integer.hpp>
#include <shotassay/methods/reported_figures.hpp>

namespace shotassay::detail {

/// Whole numbers from … to, both included; empty when from > to.
struct WholeRange {
  std::int64_t from, to;
  bool empty() const { return from > to; }
  bool contains(std::int64_t x) const { return from <= x && x <= to; }
};

/// Printed figures as constraints on whole display steps.
struct LatticeFigures {
  std::int64_t shots;
  std::optional<WholeRange> sum = {};         ///< S
  std::optional<WholeRange> deviations = {};  ///< D = n·Q − S²
  std::optional<WholeRange> low = {}, high = {}, spread = {};
  std::vector<std::int64_t> known = {};  ///< ascending
  bool known_on_lattice = true;
};

/// Throws DomainError for what reading_sets refuses.
void require_figures(const ReportedFigures& figures);

LatticeFigures lattice_figures(const ReportedFigures& figures);

/// Sums of n readings whose average lies in [v + from·u, v + to·u], u the unit of v's last decimal; from, to in halves.
WholeRange sums_near(Decimal average, int from_halves, int to_halves, std::int64_t shots, DisplayStep step);

/// Deviations D whose SD lies in [v + from·u, v + to·u]; parts below 0 are left out.
WholeRange deviations_near(Decimal sd, int from_halves, int to_halves, std::int64_t shots, SdDivisor divisor,
                           DisplayStep step);

/// The SD itself, in the display's unit.   Requires  2 or more shots.
double sd_of(std::int64_t deviations, std::int64_t shots, DisplayStep step);

/// Is there any set of readings at all? Adds what it cost to `spent`; BudgetExceeded when that passes the budget.
bool some_reading_set(const LatticeFigures& figures, WorkBudget budget, double& spent);

/// Sums, and deviations, that the figures leave room for; absent where they do not bound them.
std::optional<WholeRange> sums_left_open(const LatticeFigures& figures);
std::optional<WholeRange> deviations_left_open(const LatticeFigures& figures);

/// ⌊p/q⌋ and ⌈p/q⌉ for q > 0.
constexpr WideInteger floor_ratio(WideInteger p, WideInteger q) { return p / q - (p % q < 0 ? 1 : 0); }
constexpr WideInteger ceiling_ratio(WideInteger p, WideInteger q) { return -floor_ratio(-p, q); }

/// The least D of n readings with sum S, r(n − r), r = S mod n: they lie within one step. Others are 2n·k above.
constexpr std::int64_t least_deviations(std::int64_t sum, std::int64_t shots) {
  const std::int64_t r = ((sum % shots) + shots) % shots;
  return r * (shots - r);
}

}  // namespace shotassay::detail
