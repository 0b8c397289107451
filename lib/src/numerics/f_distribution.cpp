#include <shotassay/numerics/f_distribution.hpp>

#include <boost/math/special_functions/beta.hpp>
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

void require_degrees_of_freedom(double above, double below) {
  for (const double nu : {above, below})
    if (!(nu > 0 && nu <= 1e9))
      throw DomainError{"f_distribution: needs degrees of freedom above 0, at most 1e9, got " + number_text(nu)};
}

/// P(F > f) for f ≥ 1, P(F < f) for f < 1, with many degrees of freedom, where powers of numbers near 1 keep 10 digits:
/// the incomplete beta function by a continued fraction, with f − 1 taken before anything is rounded.
double tail_beyond(double f, double above, double below) {
  const double total = below + above * f, off = f - 1;
  const bool upper = off >= 0;
  const double a = 0.5 * (upper ? below : above), b = 0.5 * (upper ? above : below);
  const double x = (upper ? below : above * f) / total;
  // x and 1 − x over their values at f = 1, less 1
  const double u = (upper ? -above : below) * off / total, v = (upper ? below : -above) * off / total;
  const double log_u = u < -0.5 ? std::log((below + above) / total * (upper ? 1 : f)) - u : log_less_linear(u);
  const double term =
      std::sqrt(0.5 * std::numbers::inv_pi * a * b / (a + b)) *
      std::exp(a * log_u + b * log_less_linear(v) + stirling_rest(a + b) - stirling_rest(a) - stirling_rest(b));
  const double excess = -a * u;  // a(1 − x) − b·x
  double fraction = a * (excess + 1) / (a + 1), ahead = fraction, inverse = 0;
  for (double m = 1; m < 1e6; ++m) {
    const double width = a + 2 * m - 1;
    const double numerator = (a + m - 1) / width * ((a + b + m - 1) / width) * (m * (b - m) * x * x);
    const double next = m + m * (b - m) * x / width + (a + m) * (excess + 1 + m * (2 - x)) / (width + 2);
    inverse = 1 / (next + numerator * inverse);
    ahead = next + numerator / ahead;
    const double factor = ahead * inverse;
    fraction *= factor;
    if (std::abs(factor - 1) < 1e-16) break;
  }
  return term / fraction;
}

}  // namespace

double f_upper_tail(double f, double above, double below) {
  require_degrees_of_freedom(above, below);
  if (!(f >= 0)) throw DomainError{"f_distribution: needs a ratio of 0 or more, got " + number_text(f)};
  if (std::isinf(f)) return 0;
  if (above == 1 && below == 1) return 2 * std::numbers::inv_pi * std::atan2(1.0, std::sqrt(f));
  if (above + below > 400 && above >= 1 && f < 1e100)
    return f < 1 ? 1 - tail_beyond(f, above, below) : tail_beyond(f, above, below);
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
