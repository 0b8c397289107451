#include <shotassay/numerics/studentized_range.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <mutex>
#include <numbers>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/root.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

constexpr int most_groups = 200;
constexpr double most_probable = 0.999999;

/// Upper tail 1 − W_k of the range of k standard normals, as fast as an exponential and a polynomial.
///
/// Up to w = 24, (1 − W_k)·exp(w²/4), which varies slowly, is interpolated at Chebyshev points of unit pieces. Beyond,
/// 1 − W_k is the sum over pairs, k(k−1)·Q(w/√2): two pairs at once are rarer by exp(−w²/12), below 1e-20.
class RangeTail {
 public:
  explicit RangeTail(int k);

  double operator()(double w) const {
    if (w >= pieces) return k_ * (k_ - 1.0) * normal_upper_tail(w * (0.5 * std::numbers::sqrt2));
    const int piece = static_cast<int>(w);
    const double x = 2 * (w - piece) - 1;
    const std::array<double, terms>& c = series_[static_cast<std::size_t>(piece)];
    double b1 = 0;
    double b2 = 0;
    for (int i = terms - 1; i > 0; --i) {
      const double b = 2 * x * b1 - b2 + c[static_cast<std::size_t>(i)];
      b2 = b1;
      b1 = b;
    }
    return (x * b1 - b2 + c[0]) * std::exp(-0.25 * w * w);
  }

 private:
  static constexpr int pieces = 24;
  static constexpr int terms = 18;

  double k_;
  std::array<std::array<double, terms>, pieces> series_{};
};

/// (1 − W_k(w))·exp(w²/4) by the trapezoid rule in the greatest value z, which for a Gaussian integrand errs by
/// exp(−c/step²). With a = Φ(z), d = Φ(z − w), b = a − d and m = k − 1,
///   1 − W_k = k ∫ φ(z) [a^m − b^m] dz,   a^m − b^m = d (a^(m−1) + a^(m−2) b + … + b^(m−1)):
/// a sum of positive terms, so a small tail keeps its digits.
class RangeIntegral {
 public:
  explicit RangeIntegral(int k) : k_{k} {
    for (int i = 0; i < nodes; ++i) {
      const double z = lowest + step * i;
      density_[static_cast<std::size_t>(i)] = normal_density(z);
      lower_[static_cast<std::size_t>(i)] = normal_lower_tail(z);
    }
  }

  double scaled_tail(double w) const {
    double sum = 0;
    for (int i = 0; i < nodes; ++i) {
      const double z = lowest + step * i;
      const double distance = z - 0.5 * w;  // φ(z) Φ(z − w) falls like exp(−w²/4 − distance²)
      if (distance < -6.5 || (distance > 6.5 && z > 9)) continue;
      const double a = lower_[static_cast<std::size_t>(i)];
      const double d = normal_lower_tail(z - w);
      const double b = std::max(0.0, a - d);
      double products = 1;
      double a_power = 1;
      for (int j = 1; j < k_ - 1; ++j) {
        a_power *= a;
        products = products * b + a_power;
      }
      sum += density_[static_cast<std::size_t>(i)] * d * products;
    }
    return k_ * step * sum * std::exp(0.25 * w * w);
  }

 private:
  static constexpr double lowest = -9;
  static constexpr double step = 0.125;
  static constexpr int nodes = 240;  // up to z = 21 > 24/2 + 6.5

  int k_;
  std::array<double, nodes> density_{};
  std::array<double, nodes> lower_{};
};

RangeTail::RangeTail(int k) : k_{static_cast<double>(k)} {
  const RangeIntegral integral{k};
  for (int piece = 0; piece < pieces; ++piece) {
    std::array<double, terms> value{};
    for (int j = 0; j < terms; ++j)
      value[static_cast<std::size_t>(j)] =
          integral.scaled_tail(piece + 0.5 + 0.5 * std::cos(std::numbers::pi * (j + 0.5) / terms));
    for (int i = 0; i < terms; ++i) {
      double sum = 0;
      for (int j = 0; j < terms; ++j)
        sum += value[static_cast<std::size_t>(j)] * std::cos(std::numbers::pi * i * (j + 0.5) / terms);
      series_[static_cast<std::size_t>(piece)][static_cast<std::size_t>(i)] = (i == 0 ? 1.0 : 2.0) / terms * sum;
    }
  }
}

const RangeTail& range_tail(int k) {
  struct Kept {
    std::once_flag computed;
    std::unique_ptr<const RangeTail> tail;
  };
  static std::array<Kept, most_groups + 1> kept;
  Kept& one = kept[static_cast<std::size_t>(k)];
  std::call_once(one.computed, [&] { one.tail = std::make_unique<const RangeTail>(k); });
  return *one.tail;
}

/// (e^(2u) − 1)/2 − u, without cancellation near u = 0.
double log_density_fall(double u) {
  if (std::abs(u) > 0.25) return 0.5 * std::expm1(2 * u) - u;
  const double x = 2 * u;
  double series = 0;
  for (int i = 14; i >= 3; --i) series = (series + 1) * x / i;
  return u * u * (1 + series);
}

/// ∫ f_ν(s) tail(q·s) ds in u = ln s, where both factors are analytic near the real line, by the trapezoid rule.
/// The density s·f_ν(s) = A exp(−ν [(s² − 1)/2 − u]) is brought to area 1 by the same sum.
double average_over_sd(double q, const RangeTail& tail, double nu) {
  const double step = 1 / std::sqrt(50 + 5 * nu);
  double area = 1;
  double sum = tail(q);
  const auto add = [&](double u) {
    const double density = std::exp(-nu * log_density_fall(u));
    const double part = density * tail(q * std::exp(u));
    area += density;
    sum += part;
    return density;
  };
  for (int i = 1; add(step * i) > 1e-18;) ++i;
  // To the left the density ends like s^ν and the tail is at most 1, which bounds what is left out.
  const double rest = 1e-17 * -std::expm1(-nu * step);
  for (int i = 1; add(-step * i) > rest * sum;) ++i;
  return sum / area;
}

void require(int k, double nu) {
  if (k < 2 || k > most_groups)
    throw DomainError{"studentized_range: needs 2 to " + std::to_string(most_groups) + " means, got " +
                      std::to_string(k)};
  if (!(nu >= 1)) throw DomainError{"studentized_range: needs 1 or more degrees of freedom, got " + number_text(nu)};
}

double upper_tail(double q, int k, double nu) {
  // The range of two is √2 times the size of their standardised difference.
  if (k == 2) return 2 * t_upper_tail(q * (0.5 * std::numbers::sqrt2), nu);
  const RangeTail& tail = range_tail(k);
  return nu > 1e17 ? tail(q) : average_over_sd(q, tail, nu);
}

}  // namespace

double range_upper_tail(double q, int k, double degrees_of_freedom) {
  require(k, degrees_of_freedom);
  if (!(q >= 0)) throw DomainError{"studentized_range: needs q of 0 or more, got " + number_text(q)};
  if (std::isinf(q)) return 0;
  return std::min(1.0, upper_tail(q, k, degrees_of_freedom));
}

double range_upper_quantile(double p, int k, double degrees_of_freedom) {
  require(k, degrees_of_freedom);
  if (!(p > 0 && p <= most_probable))
    throw DomainError{"studentized_range: needs a probability above 0, at most " + number_text(most_probable) +
                      ", got " + number_text(p)};
  // One given pair differs by more than q in fewer cases than some pair does, and some pair in no more than all
  // pairs' cases together: t quantiles bracket the answer.
  const double low = std::numbers::sqrt2 * t_upper_quantile(0.5 * p, degrees_of_freedom);
  if (k == 2) return low;
  const double high = std::numbers::sqrt2 * t_upper_quantile(p / (k * (k - 1.0)), degrees_of_freedom);
  const double margin = 1e-9;  // for rounding at the ends
  return std::exp(
      find_root([&](double log_q) { return std::log(upper_tail(std::exp(log_q), k, degrees_of_freedom) / p); },
                std::log(low) - margin, std::log(high) + margin, 1e-12));
}

}  // namespace shotassay::numerics
