#pragma once
#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

struct MeanIntervalResult {
  double mean;
  double standard_error;      ///< s/√n
  double degrees_of_freedom;  ///< n − 1
  Interval interval;
};

/// Student's interval for one mean: where does the true average lie, if readings were not rounded?
///
///   x̄ ± t(1 − α/2; n − 1) · s/√n
///
/// Units     the readings'.
/// Requires  n ≥ 2 (else DomainError), readings not all equal (else NoAnswer: s = 0 would claim a width of 0).
/// Assumes   independent shots, readings near normal. Blind to rounding: `rounding_aware_mean` is not.
/// Source    Student (1908) [student1908].
inline MeanIntervalResult mean_interval(const Sample& sample, ConfidenceLevel level = ConfidenceLevel{0.95}) {
  const Moments m = moments(sample);
  if (m.n < 2) throw DomainError{"mean_interval: needs 2 or more shots, got " + std::to_string(m.n)};
  if (sample.all_equal()) throw NoAnswer{"mean_interval: all readings are equal, so their SD of 0 tells no width"};
  const double nu = static_cast<double>(m.n - 1);
  const double mean = sample.step().times(m.total(), m.n);
  const double se = std::sqrt(m.variance() / static_cast<double>(m.n)) * sample.step().value();
  return {.mean = mean,
          .standard_error = se,
          .degrees_of_freedom = nu,
          .interval = centred(mean, numerics::t_two_sided_factor(level.alpha(), nu) * se)};
}

}  // namespace shotassay
