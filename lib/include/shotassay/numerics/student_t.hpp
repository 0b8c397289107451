#pragma once

namespace shotassay::numerics {

/// Student's t with real degrees of freedom ν.
///
/// Requires  ν > 0 (infinite allowed: the normal law); else DomainError.
/// Accuracy  relative error below 1e-13 for tails down to 1e-300 (checked against 30-digit values).
double t_upper_tail(double t, double degrees_of_freedom);      ///< P(T > t), from the tail
double t_upper_quantile(double p, double degrees_of_freedom);  ///< t with P(T > t) = p.   Requires 0 < p < 1.

/// t(1 − α/2; ν), the two-sided factor of an interval at level 1 − α.
inline double t_two_sided_factor(double alpha, double degrees_of_freedom) {
  return t_upper_quantile(0.5 * alpha, degrees_of_freedom);
}

}  // namespace shotassay::numerics
