#include <shotassay/numerics/chi_square.hpp>

#include <boost/math/special_functions/gamma.hpp>
#include <cmath>

#include <numbers>

#include <shotassay/core/errors.hpp>

#include "deviance.hpp"
#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

// A tail below the range of a double is 0, not an error.
using Policy =
    boost::math::policies::policy<boost::math::policies::promote_double<false>,
                                  boost::math::policies::underflow_error<boost::math::policies::ignore_error>>;

void require_degrees_of_freedom(double nu) {
  if (!(nu > 0 && nu <= 1e9))
    throw DomainError{"chi_square: needs degrees of freedom above 0, at most 1e9, got " + number_text(nu)};
}

void require_value(double x) {
  if (!(x >= 0)) throw DomainError{"chi_square: needs a value of 0 or more, got " + number_text(x)};
}

void require_probability(double p) {
  if (!(p > 0 && p < 1)) throw DomainError{"chi_square: needs a probability between 0 and 1, got " + number_text(p)};
}

/// Lower tails below the least double, which the special functions do not reach: P(a, h) < h^a e^(a−h)/a^a for h < a.
bool lower_tail_vanishes(double x, double nu) {
  const double a = 0.5 * nu, h = 0.5 * x;
  return h < a && a * (1 + std::log(h / a)) - h < -750;
}

/// More than ten SDs from the middle of a chi-square with many degrees of freedom, where the special functions take the
/// difference of large logarithms and keep 10 digits.
bool far_out(double x, double nu) {
  const double a = 0.5 * nu, distance = 0.5 * x - a;
  return a > 200 && distance * distance > 50 * a;
}

/// h^a e^(−h) / Γ(a), h = x/2, a = ν/2.
double far_out_term(double x, double nu) {
  const double a = 0.5 * nu, distance = 0.5 * x - a;
  return std::sqrt(0.5 * a * std::numbers::inv_pi) * std::exp(a * log_less_linear(distance / a) - stirling_rest(a));
}

/// The lower tail by its series, all terms positive.
double far_lower_tail(double x, double nu) {
  const double a = 0.5 * nu, h = 0.5 * x;
  double term = 1, sum = 1;
  for (double n = 1; term > 1e-17 * sum; ++n) sum += term *= h / (a + n);
  return far_out_term(x, nu) / a * sum;
}

/// The upper tail by Legendre's continued fraction, by Lentz's rule.
double far_upper_tail(double x, double nu) {
  const double a = 0.5 * nu;
  double below = 0.5 * x - a + 1, inverse = 1 / below, fraction = inverse, ahead = 1e300;
  for (double n = 1; n < 1e6; ++n) {
    const double numerator = n * (a - n);
    below += 2;
    inverse = 1 / (below + numerator * inverse);
    ahead = below + numerator / ahead;
    const double factor = ahead * inverse;
    fraction *= factor;
    if (std::abs(factor - 1) < 1e-16) break;
  }
  return far_out_term(x, nu) * fraction;
}

}  // namespace

double chi_square_lower_tail(double x, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_value(x);
  if (x > 1e300) return 1;
  if (x == 0 || lower_tail_vanishes(x, degrees_of_freedom)) return 0;
  if (far_out(x, degrees_of_freedom))
    return x < degrees_of_freedom ? far_lower_tail(x, degrees_of_freedom) : 1 - far_upper_tail(x, degrees_of_freedom);
  return boost::math::gamma_p(0.5 * degrees_of_freedom, 0.5 * x, Policy{});
}

double chi_square_upper_tail(double x, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_value(x);
  if (x > 1e300) return 0;
  if (x == 0 || lower_tail_vanishes(x, degrees_of_freedom)) return 1;
  if (far_out(x, degrees_of_freedom))
    return x < degrees_of_freedom ? 1 - far_lower_tail(x, degrees_of_freedom) : far_upper_tail(x, degrees_of_freedom);
  return boost::math::gamma_q(0.5 * degrees_of_freedom, 0.5 * x, Policy{});
}

double chi_square_quantile(double p, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_probability(p);
  return 2 * boost::math::gamma_p_inv(0.5 * degrees_of_freedom, p, Policy{});
}

double chi_square_upper_quantile(double p, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_probability(p);
  return 2 * boost::math::gamma_q_inv(0.5 * degrees_of_freedom, p, Policy{});
}

}  // namespace shotassay::numerics
