#pragma once

namespace shotassay::numerics {

/// Standard normal distribution: tail areas and quantiles.
///
/// Accuracy  relative error below 1e-14 for tails down to 1e-300 (checked against 30-digit values).
double normal_density(double z);
double normal_lower_tail(double z);      ///< P(Z ≤ z)
double normal_upper_tail(double z);      ///< P(Z > z), from the tail
double normal_quantile(double p);        ///< z with P(Z ≤ z) = p.   Requires 0 < p < 1; else DomainError.
double normal_upper_quantile(double p);  ///< z with P(Z > z) = p.   Requires 0 < p < 1; else DomainError.

}  // namespace shotassay::numerics
