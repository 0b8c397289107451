#include <shotassay/numerics/f_distribution.hpp>

#include <boost/math/special_functions/beta.hpp>
#include <cmath>

#include <shotassay/core/errors.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

// A tail below the range of a double is 0, not an error.
using Policy =
    boost::math::policies::policy<boost::math::policies::promote_double<false>,
                                  boost::math::policies::underflow_error<boost::math::policies::ignore_error>>;

void require_degrees_of_freedom(double above, double below) {
  for (const double nu : {above, below})
    if (!(nu > 0 && nu <= 1e9))
      throw DomainError{"f_distribution: needs degrees of freedom above 0, at most 1e9, got " + number_text(nu)};
}

}  // namespace

double f_upper_tail(double f, double above, double below) {
  require_degrees_of_freedom(above, below);
  if (!(f >= 0)) throw DomainError{"f_distribution: needs a ratio of 0 or more, got " + number_text(f)};
  if (std::isinf(f)) return 0;
  // Of x and 1 − x the smaller one is handed over, so neither is the difference of two near numbers.
  const double odds = above / below * f;
  if (odds > 1) return boost::math::ibeta(0.5 * below, 0.5 * above, 1 / (1 + odds), Policy{});
  return boost::math::ibetac(0.5 * above, 0.5 * below, odds / (1 + odds), Policy{});
}

double f_upper_quantile(double p, double above, double below) {
  require_degrees_of_freedom(above, below);
  if (!(p > 0 && p < 1))
    throw DomainError{"f_distribution: needs a probability between 0 and 1, got " + number_text(p)};
  double rest = 0;
  const double share = boost::math::ibeta_inv(0.5 * below, 0.5 * above, p, &rest, Policy{});
  return below / above * (rest / share);
}

double f_lower_quantile(double p, double above, double below) { return 1 / f_upper_quantile(p, below, above); }

}  // namespace shotassay::numerics
