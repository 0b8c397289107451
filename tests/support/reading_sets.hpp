#pragma once
#include <algorithm>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include <shotassay/methods/reported_figures.hpp>

/// All sets of n whole readings from `low` to `high`, each non-decreasing.
template <class Visit>
void every_set(std::int64_t shots, std::int64_t low, std::int64_t high, const Visit& visit) {
  std::vector<std::int64_t> readings(static_cast<std::size_t>(shots), low);
  const auto fill = [&](const auto& self, std::size_t i, std::int64_t from) -> void {
    if (i == readings.size()) return visit(readings);
    for (std::int64_t x = from; x <= high; ++x) {
      readings[i] = x;
      self(self, i + 1, x);
    }
  };
  fill(fill, 0, low);
}

/// A figure in thousandths, and the unit of its last decimal.
struct Thousandths {
  std::int64_t value, unit;

  explicit Thousandths(shotassay::Decimal d) : value{d.coefficient()}, unit{1} {
    for (int k = d.decimals(); k < 3; ++k) value *= 10, unit *= 10;
  }
};

inline std::int64_t deviations_of(const std::vector<std::int64_t>& readings) {
  std::int64_t sum = 0, squares = 0;
  for (const std::int64_t x : readings) sum += x, squares += x * x;
  return static_cast<std::int64_t>(readings.size()) * squares - sum * sum;
}

inline std::int64_t sum_of(const std::vector<std::int64_t>& readings) {
  std::int64_t sum = 0;
  for (const std::int64_t x : readings) sum += x;
  return sum;
}

/// Does this set print as reported? Figures of at most three decimals; readings ascending, in steps.
inline bool prints_as(const std::vector<std::int64_t>& readings, const shotassay::ReportedFigures& r) {
  using shotassay::Decimal;
  const auto n = static_cast<std::int64_t>(readings.size());
  const std::int64_t step = Thousandths{r.display_step.size()}.value;
  const auto near = [&](std::int64_t steps, std::int64_t divisor, std::optional<Decimal> printed) {
    if (!printed) return true;
    const Thousandths t{*printed};
    return std::abs(2 * steps * step - 2 * divisor * t.value) <= divisor * t.unit;
  };
  if (!near(sum_of(readings), n, r.average) || !near(readings.front(), 1, r.low) || !near(readings.back(), 1, r.high) ||
      !near(readings.back() - readings.front(), 1, r.spread))
    return false;
  if (r.sd) {
    const Thousandths t{*r.sd};
    const std::int64_t divisor = n * (r.sd_divisor == shotassay::SdDivisor::n ? n : n - 1);
    if (divisor == 0) return false;
    const std::int64_t four = 4 * deviations_of(readings) * step * step;
    const std::int64_t low = std::max<std::int64_t>(0, 2 * t.value - t.unit), high = 2 * t.value + t.unit;
    if (four < low * low * divisor || four > high * high * divisor) return false;
  }
  std::vector<std::int64_t> left = readings;
  for (const Decimal& reading : r.readings) {
    const std::int64_t thousandths = Thousandths{reading}.value;
    const auto at = std::find_if(left.begin(), left.end(), [&](std::int64_t x) { return x * step == thousandths; });
    if (at == left.end()) return false;
    left.erase(at);
  }
  return true;
}

/// Sets that print as reported, readings from `low` to `high`, by sum and deviations.
inline std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> sets_by_hand(const shotassay::ReportedFigures& r,
                                                                                  std::int64_t low, std::int64_t high) {
  std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> states;
  every_set(r.shots, low, high, [&](const std::vector<std::int64_t>& readings) {
    if (prints_as(readings, r)) ++states[{sum_of(readings), deviations_of(readings)}];
  });
  return states;
}

/// Small whole numbers that look random and are the same everywhere: the minimal standard generator.
class OddNumbers {
 public:
  explicit OddNumbers(std::uint64_t seed) : state_{seed} {}
  std::int64_t up_to(std::int64_t most) {
    state_ = state_ * 48271 % 2147483647;
    return static_cast<std::int64_t>(state_ % static_cast<std::uint64_t>(most + 1));
  }
  bool coin() { return up_to(1) == 1; }

 private:
  std::uint64_t state_;
};
