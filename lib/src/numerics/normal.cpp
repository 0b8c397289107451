#include <shotassay/numerics/normal.hpp>

#include <boost/math/special_functions/erf.hpp>
#include <cmath>

#include <shotassay/core/errors.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

using Policy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

constexpr double sqrt_half = 0x1.6a09e667f3bcdp-1;
constexpr double sqrt_half_rest = -0x1.bdd3413b26456p-55;  // √½ = sqrt_half + sqrt_half_rest
constexpr double sqrt_two = 0x1.6a09e667f3bcdp+0;
constexpr double reciprocal_sqrt_two_pi = 0x1.9884533d43651p-2;

void require_number(double z) {
  if (std::isnan(z)) throw DomainError{"normal: z is not a number"};
}

void require_probability(double p) {
  if (!(p > 0 && p < 1)) throw DomainError{"normal: needs a probability between 0 and 1, got " + number_text(p)};
}

}  // namespace

double normal_density(double z) {
  require_number(z);
  if (std::abs(z) > 40) return 0;  // below 1e-347
  // exp(−z²/2) turns the rounding of z² into a relative error of z²·1e-16 unless the lost part is given back.
  const double square = z * z;
  const double lost = std::fma(z, z, -square);
  return reciprocal_sqrt_two_pi * std::exp(-0.5 * square) * (1 - 0.5 * lost);
}

double normal_upper_tail(double z) {
  require_number(z);
  if (z > 39) return 0;  // below 1e-332
  if (z < -9) return 1;  // 1 − 1e-19
  // ½ erfc(x) at x = z·√½; what rounding took from x is given back to first order, erfc'(x)·dx, as a tail of 1e-300
  // would otherwise lose three digits.
  const double x = z * sqrt_half;
  const double dx = std::fma(z, sqrt_half, -x) + z * sqrt_half_rest;
  return 0.5 * boost::math::erfc(x, Policy{}) - sqrt_two * dx * normal_density(z);
}

double normal_lower_tail(double z) { return normal_upper_tail(-z); }

double normal_upper_quantile(double p) {
  require_probability(p);
  return sqrt_two * boost::math::erfc_inv(2 * p, Policy{});
}

double normal_quantile(double p) { return -normal_upper_quantile(p); }

}  // namespace shotassay::numerics
