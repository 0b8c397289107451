#pragma once
#include <cstdint>
#include <memory>
#include <optional>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/welch_power.hpp>

namespace shotassay {

/// A chance that depends on where the true averages lie between two lattice points.
struct PhasePower {
  double average;      ///< over the phase
  double worst_phase;  ///< the least over the phases looked at
  double error;        ///< of the average: a bound on what was left out if exact, its standard error if simulated
};

/// The power of the default interval: how often will it find a true gap, on a display that shows whole steps?
///
///   y = round(μ + σZ),  mean of a at f, of b at f + δ (in steps), f unknown: average and least over f
///
/// Units     gaps, margins, widths and SDs in the display's unit.
/// Requires  2 ≤ shots ≤ 10 000, SDs positive and finite; otherwise DomainError. More work than the budget allows:
///           BudgetExceeded, before any of it is done.
/// Assumes   independent normal shots with known SDs, one display for both that rounds to the nearest step.
class RoundingAwarePower {
 public:
  RoundingAwarePower(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level = ConfidenceLevel{0.95},
                     WorkBudget budget = {});

  PhasePower finds(double gap) const;                ///< P(|difference| > H), on either side
  PhasePower same(double gap, double margin) const;  ///< P(|difference| + H < margin)
  double mean_half_width() const;                    ///< E[H], both phases independent and evenly spread
  double half_width_at_most(double width) const;     ///< P(H ≤ width), likewise

 private:
  class Enumeration;
  std::shared_ptr<const Enumeration> enumeration_;
};

/// What one finds() or same() takes, from the design alone.
WorkCost rounding_aware_power_cost(GroupDesign a, GroupDesign b, DisplayStep step);

/// How many tests to simulate, and how.   Requires  1000 ≤ tests ≤ 10^8, threads ≥ 1; otherwise DomainError.
struct SimulatedTests {
  std::uint64_t tests = 100'000;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< changes the time taken, no digit of the result
};

struct SimulatedPower {
  PhasePower finds;
  std::optional<PhasePower> same;  ///< absent without a margin
  double mean_half_width;
  double mean_half_width_error;  ///< its standard error
};

/// The same powers by simulated tests, for designs that are too large to enumerate.
SimulatedPower simulate_rounding_aware(double gap, std::optional<double> margin, GroupDesign a, GroupDesign b,
                                       DisplayStep step, ConfidenceLevel level, SimulatedTests how);

}  // namespace shotassay
