#pragma once
#include <cmath>
#include <cstdint>
#include <optional>

#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// What one set-up's readings are: shots, average, SD, low, high, spread.
struct Description {
  std::int64_t shots;
  double mean;
  std::optional<double> sd;  ///< divisor n − 1; absent for one shot
  double low;
  double high;
  double spread;   ///< high − low
  bool all_equal;  ///< every reading the same: the SD printed is 0, the shots' SD is not known to be
};

/// Average, SD and spread of one set-up.
///
///   x̄ = S/n        s = √( (nQ − S²) / (n(n − 1)) )        S = Σx, Q = Σx², whole multiples of the step
///
/// Units     the readings'.
/// Accuracy  sums are whole numbers, so mean and SD are right to the last digit or one beside it.
/// Source    definitions; checked against the NIST Statistical Reference Datasets [nist-strd].
inline Description describe(const Sample& sample) {
  const Moments m = moments(sample);
  const DisplayStep step = sample.step();
  Description d{.shots = m.n,
                .mean = step.times(m.total(), m.n),
                .sd = std::nullopt,
                .low = step.times(sample.low()),
                .high = step.times(sample.high()),
                .spread = step.times(sample.span()),
                .all_equal = sample.all_equal()};
  if (m.n >= 2) d.sd = std::sqrt(m.variance()) * step.value();
  return d;
}

}  // namespace shotassay
