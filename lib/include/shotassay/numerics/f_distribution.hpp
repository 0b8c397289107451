#pragma once

namespace shotassay::numerics {

/// Fisher's F, the ratio of two independent mean squares with real degrees of freedom ν₁ (above) and ν₂ (below).
///
/// Requires  ν₁, ν₂ above 0, at most 1e9; f ≥ 0 (infinite allowed); 0 < p < 1; else DomainError.
/// Accuracy  relative error of tails and quantiles below 1e-11 (checked against 40-digit values).
double f_upper_tail(double f, double above, double below);      ///< P(F > f), from the tail
double f_upper_quantile(double p, double above, double below);  ///< f with P(F > f) = p
double f_lower_quantile(double p, double above, double below);  ///< f with P(F ≤ f) = p

}  // namespace shotassay::numerics
