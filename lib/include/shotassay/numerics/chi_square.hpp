#pragma once

namespace shotassay::numerics {

/// Chi-square with real degrees of freedom ν: (n − 1)·s²/σ² of n normal readings has ν = n − 1.
///
/// Requires  0 < ν ≤ 1e9, x ≥ 0 (infinite allowed), 0 < p < 1; else DomainError.
/// Accuracy  relative error of tails and quantiles below 1e-12 (checked against 40-digit values, ν from 0.3 to 1e6).
double chi_square_lower_tail(double x, double degrees_of_freedom);      ///< P(X ≤ x)
double chi_square_upper_tail(double x, double degrees_of_freedom);      ///< P(X > x), from the tail
double chi_square_quantile(double p, double degrees_of_freedom);        ///< x with P(X ≤ x) = p
double chi_square_upper_quantile(double p, double degrees_of_freedom);  ///< x with P(X > x) = p

}  // namespace shotassay::numerics
