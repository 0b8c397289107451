#include <shotassay/numerics/gamma.hpp>

#include <boost/math/special_functions/digamma.hpp>
#include <boost/math/special_functions/trigamma.hpp>
#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

using Policy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

void require_positive(const char* function, double x) {
  if (!(x > 0 && std::isfinite(x)))
    throw DomainError{std::string{function} + ": needs a finite number above 0, got " + number_text(x)};
}

/// −ψ″(x) to a few digits: enough to steer an iteration.
double minus_tetragamma(double x) {
  double sum = 0;
  for (; x < 6; ++x) sum += 2 / (x * x * x);
  const double y = 1 / (x * x);
  return sum + y * (1 + 1 / x + y * (0.5 - y / 6));
}

}  // namespace

double digamma(double x) {
  require_positive("digamma", x);
  return boost::math::digamma(x, Policy{});
}

double trigamma(double x) {
  require_positive("trigamma", x);
  return boost::math::trigamma(x, Policy{});
}

double inverse_trigamma(double y) {
  if (!(y >= 1e-15 && y <= 1e15))
    throw DomainError{"inverse_trigamma: needs a value from 1e-15 to 1e15, got " + number_text(y)};
  // 1/ψ′ is convex and close to straight in x, so Newton's iteration on it converges from either side. The start is
  // right at both ends: ψ′(x) tends to 1/x² near 0 and to 1/(x − ½) far out.
  double x = y > 1 ? 1 / std::sqrt(y) : 0.5 + 1 / y;
  for (int step = 0; step < 40; ++step) {
    const double at = trigamma(x);
    const double change = at * (at / y - 1) / minus_tetragamma(x);
    x += change;
    if (std::abs(change) < 1e-9 * x) break;  // quadratic: what is left is below 1e-16
  }
  return x;
}

}  // namespace shotassay::numerics
