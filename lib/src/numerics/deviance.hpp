#pragma once
#include <boost/math/special_functions/log1p.hpp>
#include <cmath>

// Pieces of the densities of chi-square and F for large degrees of freedom. Written as powers and gamma functions they
// are the exponential of a difference of numbers as large as ν·log ν, and lose as many digits.

namespace shotassay::numerics {

/// log(1 + u) − u ≤ 0, without cancellation near 0.   Requires  u > −1.
inline double log_less_linear(double u) {
  return boost::math::log1pmx(u, boost::math::policies::policy<boost::math::policies::promote_double<false>>{});
}

/// log Γ(z) less Stirling's (z − ½) log z − z + ½ log 2π, for z > 0.   Accuracy  5e-15 absolute.
inline double stirling_rest(double z) {
  if (z < 16) return std::lgamma(z) - ((z - 0.5) * std::log(z) - z + 0.91893853320467274178);
  const double y = 1 / (z * z);
  return (1.0 / 12 - y * (1.0 / 360 - y * (1.0 / 1260 - y * (1.0 / 1680 - y / 1188)))) / z;
}

}  // namespace shotassay::numerics
