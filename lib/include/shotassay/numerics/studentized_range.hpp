#pragma once

namespace shotassay::numerics {

/// Studentised range of k independent normal means with one independent SD on ν degrees of freedom.
///
///   P(Q > q) = ∫ f_ν(s) [1 − W_k(q·s)] ds,   W_k(w) = k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz,
///   s² = χ²_ν / ν
///
/// Requires  2 ≤ k ≤ 200, ν ≥ 1 real or infinite (heavy tails at ν below 2 included), q ≥ 0, 0 < p ≤ 0.999999;
///           else DomainError.
/// Accuracy  tail areas 1e-13 relative down to 1e-12 and 1e-12 down to 1e-100 (checked against 30-digit double
///           integrals); quantiles 1e-11 relative for p ≤ 0.99, 1e-8 up to the greatest p.
/// Source    integrals as in Lund & Lund (1983) [lund1983]; our own quadrature.
double range_upper_tail(double q, int k, double degrees_of_freedom);
double range_upper_quantile(double p, int k, double degrees_of_freedom);

}  // namespace shotassay::numerics
