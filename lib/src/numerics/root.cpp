#include <shotassay/numerics/root.hpp>

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <limits>

#include <shotassay/core/errors.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
double find_root(const std::function<double(double)>& f, double lower, double upper, double relative_tolerance) {
  if (!(std::isfinite(lower) && std::isfinite(upper) && lower < upper))
    throw DomainError{"find_root: needs lower < upper, both finite, got " + number_text(lower) + " and " +
                      number_text(upper)};
  if (!(relative_tolerance >= 0))
    throw DomainError{"find_root: needs a tolerance of 0 or more, got " + number_text(relative_tolerance)};

  const auto value = [&](double x) {
    const double y = f(x);
    if (std::isnan(y)) throw DomainError{"find_root: the function is not a number at " + number_text(x)};
    // The interpolation divides by differences of values; an infinite one would turn them into NaN.
    return std::clamp(y, -1e150, 1e150);
  };
  const double at_lower = value(lower);
  const double at_upper = value(upper);
  if (at_lower == 0) return lower;
  if (at_upper == 0) return upper;
  if ((at_lower < 0) == (at_upper < 0))
    throw DomainError{"find_root: no change of sign, f(" + number_text(lower) + ") = " + number_text(at_lower) +
                      ", f(" + number_text(upper) + ") = " + number_text(at_upper)};

  const double tolerance = std::max(relative_tolerance, 2 * std::numeric_limits<double>::epsilon());
  const auto narrow = [tolerance](double a, double b) {
    // A root at 0 has no relative tolerance: the smallest normal number ends the search there.
    return std::abs(b - a) <=
           std::max(tolerance * std::min(std::abs(a), std::abs(b)), std::numeric_limits<double>::min());
  };
  std::uintmax_t evaluations = 2000;  // more than plain bisection of any two doubles needs
  const auto [a, b] = boost::math::tools::toms748_solve(value, lower, upper, at_lower, at_upper, narrow, evaluations);
  return a + 0.5 * (b - a);
}

}  // namespace shotassay::numerics
