#include <shotassay/numerics/chi_square.hpp>

#include <boost/math/special_functions/gamma.hpp>
#include <cmath>

#include <shotassay/core/errors.hpp>

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

}  // namespace

double chi_square_lower_tail(double x, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_value(x);
  if (x > 1e300) return 1;
  if (x == 0 || lower_tail_vanishes(x, degrees_of_freedom)) return 0;
  return boost::math::gamma_p(0.5 * degrees_of_freedom, 0.5 * x, Policy{});
}

double chi_square_upper_tail(double x, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  require_value(x);
  if (x > 1e300) return 0;
  if (x == 0 || lower_tail_vanishes(x, degrees_of_freedom)) return 1;
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
