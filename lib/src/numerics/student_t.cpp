#include <shotassay/numerics/student_t.hpp>

#include <algorithm>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>
#include <numbers>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/normal.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

using Policy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

constexpr double as_good_as_normal = 1e20;  // t⁴/(4ν), the relative difference of the tails, is below 5e-15

void require_degrees_of_freedom(double nu) {
  if (!(nu > 0)) throw DomainError{"student_t: needs degrees of freedom above 0, got " + number_text(nu)};
}

/// B(ν/2, ½) = √π Γ(ν/2) / Γ((ν+1)/2) to 1e-10: the ratio's series in 2/ν, reached by Γ(x+1) = x Γ(x).
double beta_half(double nu) {
  double shift = 1;
  for (; nu < 20; nu += 2) shift *= (nu + 1) / nu;
  const double y = 1 / (4 * nu);
  const double series = 1 + y * (-1 + y * (0.5 + y * (2.5 + y * (-2.625 + y * (-49.875 + y * 54.3125)))));
  return shift * std::sqrt(2 * std::numbers::pi / nu) / series;
}

/// P(T > t) for t ≥ 0.
double tail(double t, double nu) {
  if (nu == 1) return std::atan2(1.0, t) * std::numbers::inv_pi;
  const double square = t * t;
  // Of x and 1 − x the smaller one is handed over, so neither is the difference of two near numbers.
  if (square <= nu) return 0.5 * boost::math::ibetac(0.5, 0.5 * nu, square / (nu + square), Policy{});
  if (square > 1e18 * nu) {
    // Leading term of the tail's series in ν/t²; t² may be beyond the range of a double.
    return std::pow(std::sqrt(nu) / t, nu) / (nu * boost::math::beta(0.5 * nu, 0.5, Policy{}));
  }
  return 0.5 * boost::math::ibeta(0.5 * nu, 0.5, nu / (nu + square), Policy{});
}

/// P(0 < T < t) for t ≥ 0.
double centre(double t, double nu) {
  const double square = t * t;
  if (square <= nu) return 0.5 * boost::math::ibeta(0.5, 0.5 * nu, square / (nu + square), Policy{});
  return 0.5 - tail(t, nu);
}

/// Halley's iteration for ln area(t) = ln target in ln t, where both areas are close to straight lines.
/// `sign` is −1 for an area that falls with t.
template <class Area>
double solve(Area area, double sign, double target, double t, double nu, double beta) {
  for (int step = 0; step < 60; ++step) {
    const double at = area(t);
    const double w = t / std::sqrt(nu);
    const double square = w * w;
    // t·f(t)/area, f the density; far out it tends to ν
    const double slope = square > 1e30 ? nu : w * std::exp(-0.5 * (nu + 1) * std::log1p(square)) / (beta * at);
    const double miss = std::log(at / target);
    const double bend = 1 - (nu + 1) / (1 + 1 / square) - sign * slope;
    const double newton = -sign * miss / slope;
    const double change = newton / std::max(0.5, 1 + 0.5 * newton * bend);
    t *= std::exp(std::clamp(change, -5.0, 5.0));
    if (std::abs(change) < 3e-6) break;  // cubic: what is left is of order 1e-17
  }
  return t;
}

/// First guess far out: the tail is x^(ν/2) / (ν B) · (1 + …) in x = ν/(ν + t²).
double guess_far(double p, double nu, double beta) {
  double root = std::pow(nu * beta * p, 1 / nu);  // √x, which stays in range where x does not
  root = std::min(root * (1 - 0.5 * root * root / (nu + 2)), 0.995);
  return std::sqrt(nu * (1 - root * root)) / root;
}

/// First guess elsewhere: Cornish and Fisher's expansion of the quantile in 1/ν.
double guess_near(double z, double nu) {
  const double s = z * z;
  const double g1 = (s + 1) / 4;
  const double g2 = ((5 * s + 16) * s + 3) / 96;
  const double g3 = (((3 * s + 19) * s + 17) * s - 15) / 384;
  const double g4 = ((((79 * s + 776) * s + 1482) * s - 1920) * s - 945) / 92160;
  return z * (1 + (g1 + (g2 + (g3 + g4 / nu) / nu) / nu) / nu);
}

}  // namespace

double t_upper_tail(double t, double degrees_of_freedom) {
  require_degrees_of_freedom(degrees_of_freedom);
  if (std::isnan(t)) throw DomainError{"student_t: t is not a number"};
  if (degrees_of_freedom > as_good_as_normal) return normal_upper_tail(t);
  return t < 0 ? 1 - tail(-t, degrees_of_freedom) : tail(t, degrees_of_freedom);
}

double t_upper_quantile(double p, double degrees_of_freedom) {
  const double nu = degrees_of_freedom;
  require_degrees_of_freedom(nu);
  if (!(p > 0 && p < 1)) throw DomainError{"student_t: needs a probability between 0 and 1, got " + number_text(p)};
  if (nu > as_good_as_normal) return normal_upper_quantile(p);
  if (p > 0.5) return -t_upper_quantile(1 - p, nu);
  if (p == 0.5) return 0;
  const double beta = beta_half(nu);
  if (p > 0.25) {
    const double target = 0.5 - p;
    const double first = target * beta * std::sqrt(nu);  // the density at 0 is 1/(B √ν)
    const double guess = first * (1 + (nu + 1) / (6 * nu) * std::min(1.0, first * first));
    return solve([nu](double t) { return centre(t, nu); }, 1, target, guess, nu, beta);
  }
  const double z = normal_upper_quantile(p);
  const double guess = z * z < nu ? guess_near(z, nu) : guess_far(p, nu, beta);
  if (!(guess < 1e300))
    throw NoAnswer{"student_t: the quantile at " + number_text(p) + " with " + number_text(nu) +
                   " degrees of freedom is above 1e300"};
  return solve([nu](double t) { return tail(t, nu); }, -1, p, guess, nu, beta);
}

}  // namespace shotassay::numerics
