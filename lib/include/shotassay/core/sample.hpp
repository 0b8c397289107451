#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/errors.hpp>

namespace shotassay {

/// The smallest change a display can show: 1 fps, 0.1 fps. Positive.
class DisplayStep {
 public:
  explicit DisplayStep(Decimal size) : size_{size} {
    if (size.coefficient() <= 0 || size.coefficient() > 999'999'999)
      throw DomainError{"display step must be positive and at most nine digits long, got " + size.text()};
  }

  Decimal size() const { return size_; }
  double value() const { return size_.value(); }

  /// A whole (wide) number of steps over a divisor, in the display's unit: the last operation of an exact sum.
  double times(WideInteger steps, WideInteger divisor = 1) const {
    return ratio(steps * size_.coefficient(), divisor * Decimal::power_of_ten(size_.decimals()));
  }

 private:
  Decimal size_;
};

/// Readings of one set-up, each a whole multiple of the display step.
///
/// All arithmetic on readings is done on these whole numbers and scaled at the end, so a decimal keeps its digits.
/// Requires  at least one reading; the square of (n × span) below 2^125, so that 128-bit sums of squares hold.
class Sample {
 public:
  Sample(std::vector<std::int64_t> steps, DisplayStep step) : steps_{std::move(steps)}, step_{step} {
    if (steps_.empty()) throw DomainError{"Sample: needs at least one reading"};
    const auto [low, high] = std::minmax_element(steps_.begin(), steps_.end());
    low_ = *low;
    high_ = *high;
    const double span = static_cast<double>(high_) - static_cast<double>(low_);
    if (std::abs(static_cast<double>(low_)) > 9e15 || std::abs(static_cast<double>(high_)) > 9e15 ||
        span * static_cast<double>(steps_.size()) > 6.5e18)
      throw DomainError{"Sample: readings too large for their display step of " + step.size().text()};
  }

  std::span<const std::int64_t> steps() const { return steps_; }
  std::size_t size() const { return steps_.size(); }
  DisplayStep step() const { return step_; }

  std::int64_t low() const { return low_; }    ///< in steps
  std::int64_t high() const { return high_; }  ///< in steps
  std::int64_t span() const { return high_ - low_; }
  bool all_equal() const { return low_ == high_; }

 private:
  std::vector<std::int64_t> steps_;
  DisplayStep step_;
  std::int64_t low_ = 0;
  std::int64_t high_ = 0;
};

/// Two samples are compared on one lattice: throws DomainError when their display steps differ.
inline void require_one_lattice(const Sample& a, const Sample& b) {
  const Decimal p = a.step().size(), q = b.step().size();
  const WideInteger left = WideInteger{p.coefficient()} * Decimal::power_of_ten(q.decimals());
  const WideInteger right = WideInteger{q.coefficient()} * Decimal::power_of_ten(p.decimals());
  if (left != right) throw DomainError{"two set-ups need one display step, got " + p.text() + " and " + q.text()};
}

}  // namespace shotassay
