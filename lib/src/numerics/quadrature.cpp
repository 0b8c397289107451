#include <shotassay/numerics/quadrature.hpp>

#include <array>
#include <cmath>
#include <mutex>
#include <numbers>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>

namespace shotassay::numerics {
namespace {

constexpr int most_nodes = 512;

struct Rule {
  std::once_flag computed;
  std::vector<double> nodes;
  std::vector<double> weights;
};

struct LegendreAt {
  double value;  ///< P_n(cos θ)
  double slope;  ///< dP_n(cos θ)/dθ
};

/// The recurrence runs on the differences D_j = P_j − P_{j−1} with 1 − cos θ = 2 sin²(θ/2), which keeps all digits
/// near θ = 0, where the outermost nodes crowd:  (j+1) D_{j+1} = j D_j − (2j+1)(1 − cos θ) P_j.
LegendreAt legendre(int n, double theta) {
  const double half_sine = std::sin(0.5 * theta);
  const double c = 2 * half_sine * half_sine;
  double difference = -c;
  double value = 1 - c;
  double previous = 1;
  for (int j = 1; j < n; ++j) {
    difference = (j * difference - (2 * j + 1) * c * value) / (j + 1);
    previous = value;
    value += difference;
  }
  // sin²θ P'_n(cos θ) = n (P_{n−1} − cos θ P_n)
  return {value, -n * (previous - (1 - c) * value) / std::sin(theta)};
}

/// Newton's iteration in θ = arccos x: weights 2 / (dP_n/dθ)² then keep their relative accuracy at the ends too.
void compute(int n, Rule& rule) {
  const auto size = static_cast<std::size_t>(n);
  rule.nodes.assign(size, 0.0);
  rule.weights.assign(size, 0.0);
  for (int i = 0; i < (n + 1) / 2; ++i) {
    double theta = std::numbers::pi * (i + 0.75) / (n + 0.5);
    const bool middle = 2 * i + 1 == n;
    if (middle) {
      theta = 0.5 * std::numbers::pi;
    } else {
      for (int step = 0; step < 8; ++step) {
        const LegendreAt at = legendre(n, theta);
        const double change = at.value / at.slope;
        theta -= change;
        if (std::abs(change) < 1e-10) break;  // quadratic: the next change would be below 1e-17
      }
    }
    const double slope = legendre(n, theta).slope;
    const auto left = static_cast<std::size_t>(i);
    const double x = middle ? 0.0 : std::cos(theta);
    rule.nodes[left] = -x;
    rule.nodes[size - 1 - left] = x;
    rule.weights[left] = rule.weights[size - 1 - left] = 2 / (slope * slope);
  }
}

}  // namespace

QuadratureRule gauss_legendre(int n) {
  if (n < 1 || n > most_nodes)
    throw DomainError{"gauss_legendre: needs 1 to " + std::to_string(most_nodes) + " nodes, got " + std::to_string(n)};
  static std::array<Rule, most_nodes + 1> rules;
  Rule& rule = rules[static_cast<std::size_t>(n)];
  std::call_once(rule.computed, [&] { compute(n, rule); });
  return {rule.nodes, rule.weights};
}

}  // namespace shotassay::numerics
