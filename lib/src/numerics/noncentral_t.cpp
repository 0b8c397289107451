#include <shotassay/numerics/noncentral_t.hpp>

#include <algorithm>
#include <array>
#include <boost/math/special_functions/owens_t.hpp>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

using Policy = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

constexpr int most_degrees_of_freedom = 1000;
constexpr double reciprocal_sqrt_two_pi = 0.5 * std::numbers::sqrt2 * std::numbers::inv_sqrtpi;

/// M_k = (k − 1)/k · B·(a_k·δA·M_{k−1} + M_{k−2}),  a_2 = 1,  a_k = 1/((k − 2)·a_{k−1}).
struct Step {
  double share;  ///< (k − 1)/k
  double a;
};

const std::array<Step, most_degrees_of_freedom>& steps() {
  static const auto all = [] {
    std::array<Step, most_degrees_of_freedom> found{};
    double a = 1.0;
    for (int k = 2; k < most_degrees_of_freedom; ++k) {
      if (k > 2) a = 1.0 / ((k - 2) * a);
      found[static_cast<std::size_t>(k)] = {(k - 1.0) / k, a};
    }
    return found;
  }();
  return all;
}

double lower_tail(double x) { return 0.5 * std::erfc(-x * (0.5 * std::numbers::sqrt2)); }
double density(double x) { return reciprocal_sqrt_two_pi * std::exp(-0.5 * x * x); }

/// The last of M_{ν−2}, M_{ν−4}, … added up, from the first two.
double sum_of_steps(int nu, double B, double delta_A, double m0, double m1) {
  if (nu < 2) return 0.0;
  const auto& step = steps();
  const bool even = nu % 2 == 0;
  double before = m0, last = m1, sum = even ? m0 : nu > 2 ? m1 : 0.0;
  for (int k = 2; k <= nu - 2; ++k) {
    const Step& at = step[static_cast<std::size_t>(k)];
    const double next = at.share * B * (at.a * delta_A * last + before);
    before = last;
    last = next;
    if ((k % 2 == 0) == even) sum += next;
  }
  return sum;
}

void require(double t, int nu, double delta) {
  if (nu < 1 || nu > most_degrees_of_freedom)
    throw DomainError{"noncentral_t: needs 1 to " + std::to_string(most_degrees_of_freedom) +
                      " degrees of freedom, got " + std::to_string(nu)};
  if (!(t >= 0.0) || !std::isfinite(t))
    throw DomainError{"noncentral_t: needs a finite t of 0 or more, got " + number_text(t)};
  if (!std::isfinite(delta)) throw DomainError{"noncentral_t: needs a finite noncentrality, got " + number_text(delta)};
}

struct Scale {
  double A, root_B, B;
  Scale(double t, int nu)
      : A{t / std::sqrt(nu)}, root_B{A < 1e8 ? 1.0 / std::sqrt(1.0 + A * A) : 1.0 / A}, B{root_B * root_B} {}
};

}  // namespace

double noncentral_t_upper_tail(double t, int degrees_of_freedom, double noncentrality) {
  require(t, degrees_of_freedom, noncentrality);
  const int nu = degrees_of_freedom;
  const double delta = noncentrality;
  const auto [A, root_B, B] = Scale{t, nu};
  const double m0 = A * root_B * density(delta * root_B) * lower_tail(delta * A * root_B);
  const double m1 = B * (delta * A * m0 + A * reciprocal_sqrt_two_pi * density(delta));
  const double sum = sum_of_steps(nu, B, delta * A, m0, m1);
  const double upper =
      nu % 2 == 0 ? lower_tail(delta) - sum / reciprocal_sqrt_two_pi
                  : lower_tail(delta * root_B) - 2.0 * boost::math::owens_t(delta * root_B, A, Policy{}) - 2.0 * sum;
  return std::clamp(upper, 0.0, 1.0);
}

double noncentral_t_outside(double t, int degrees_of_freedom, double noncentrality) {
  require(t, degrees_of_freedom, noncentrality);
  const int nu = degrees_of_freedom;
  const double delta = std::abs(noncentrality);
  const auto [A, root_B, B] = Scale{t, nu};
  // P(|T| ≤ t) needs the differences of M_k at t and −t for every second k and the sums for those between: one chain of
  // positive terms. M₀ and M₁ differ, or add up, without a tail on one side each.
  const double middle = A * root_B * density(delta * root_B);
  if (nu % 2 == 0) {
    const double sum = sum_of_steps(nu, B, delta * A, middle, B * delta * A * middle);
    return std::clamp(1.0 - sum / reciprocal_sqrt_two_pi, 0.0, 1.0);
  }
  const double m0 = middle * (1.0 - 2.0 * lower_tail(-delta * A * root_B));
  const double m1 = B * (delta * A * m0 + 2.0 * A * reciprocal_sqrt_two_pi * density(delta));
  const double sum = sum_of_steps(nu, B, delta * A, m0, m1);
  return std::clamp(1.0 - 4.0 * boost::math::owens_t(delta * root_B, A, Policy{}) - 2.0 * sum, 0.0, 1.0);
}

}  // namespace shotassay::numerics
