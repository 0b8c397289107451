#pragma once

namespace shotassay::numerics {

/// Studentised range of k independent normal means with one independent SD on ν degrees of freedom.
///
///   P(Q > q) = ∫ f_ν(s) [1 − W_k(q·s)] ds,   W_k(w) = k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz,
///   s² = χ²_ν / ν
///
/// Requires  k ≥ 2 whole, ν ≥ 1 real (heavy tails at ν below 2 included), q ≥ 0, 0 < p < 1; else DomainError.
/// Accuracy  see the test: 1e-9 absolute or better in the tail area, quantiles to 1e-8 relative.
/// Source    integrals as in Lund & Lund (1983) [lund1983]; our own quadrature.
double range_upper_tail(double q, int k, double degrees_of_freedom);
double range_upper_quantile(double p, int k, double degrees_of_freedom);

}  // namespace shotassay::numerics
