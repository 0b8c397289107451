#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay::detail {

/// Up to 1e9 display steps, and 10 000 shots, readings and their sums are whole numbers that doubles hold.
inline double in_steps(const char* what, double length, DisplayStep step) {
  const double steps = length / step.value();
  if (!(std::abs(steps) <= 1e9))
    throw DomainError{std::string{"rounding_aware_power: needs "} + what + " of at most 1e9 display steps, got " +
                      std::to_string(length)};
  return steps;
}

inline GroupDesign in_steps(GroupDesign g, DisplayStep step) {
  if (g.shots < 2 || g.shots > 10'000)
    throw DomainError{"rounding_aware_power: needs 2 to 10000 shots in a set-up, got " + std::to_string(g.shots)};
  if (!(g.sd > 0.0) || !std::isfinite(g.sd))
    throw DomainError{"rounding_aware_power: needs a positive SD, got " + std::to_string(g.sd)};
  return {g.shots, in_steps("an SD", g.sd, step)};
}

/// t(1−α/2; 1/z)² on 0 ≤ z ≤ 1/ν, ν the fewest degrees of freedom: polynomials on equal pieces, foretold to 1e-11.
class CriticalSquare {
 public:
  CriticalSquare(ConfidenceLevel level, double fewest_degrees_of_freedom, Family family = Family{}) {
    const CriticalCurve curve{CriticalFactor{level, Sides::two, family}, fewest_degrees_of_freedom, HUGE_VAL, 1e-12};
    // t grows about as α^−z: more pieces for a small α.
    const double pieces = std::ceil(64.0 * std::max(1.0, -0.3 * std::log(level.alpha())));
    width_ = 1.0 / fewest_degrees_of_freedom / pieces;
    pieces_.resize(static_cast<std::size_t>(pieces));
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
      pieces_[i] = polynomial([&](double x) {
        const double t = curve(1.0 / std::max(1e-300, (static_cast<double>(i) + x) * width_));
        return t * t;
      });
    }
  }

  double operator()(double z) const {
    const double place = z / width_;
    const std::size_t i = std::min(static_cast<std::size_t>(place), pieces_.size() - 1);
    const double x = place - static_cast<double>(i);
    const Piece& c = pieces_[i];
    return ((((c[5] * x + c[4]) * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0];
  }

 private:
  using Piece = std::array<double, 6>;

  /// Coefficients of the polynomial through six Chebyshev points of [0, 1].
  template <class Function>
  static Piece polynomial(const Function& f) {
    std::array<double, 6> x{}, d{};
    for (std::size_t i = 0; i < 6; ++i) {
      x[i] = 0.5 - 0.5 * std::cos(std::numbers::pi * (static_cast<double>(i) + 0.5) / 6.0);
      d[i] = f(x[i]);
    }
    for (std::size_t k = 1; k < 6; ++k)
      for (std::size_t i = 5; i >= k; --i) d[i] = (d[i] - d[i - 1]) / (x[i] - x[i - k]);
    Piece c{};
    for (std::size_t k = 6; k-- > 0;) {
      for (std::size_t i = 5; i > 0; --i) c[i] = c[i - 1] - x[k] * c[i];
      c[0] = d[k] - x[k] * c[0];
    }
    return c;
  }

  double width_;
  std::vector<Piece> pieces_;
};

/// What the interval sees of a group but its average.
struct GroupSpread {
  double variance;        ///< V
  double square_over_nu;  ///< V²/(n − 1)
  double edge;            ///< h
  bool tight;
  bool all_equal;
};

/// D = nQ − S² and r = S mod n tell the rest. Of all whole readings with one sum those that differ by at most 1 have
/// the least Q (two that differ by d ≥ 2, moved one step towards each other, lower Q by 2(d − 1)), and for them
/// D = r(n − r), r of them at the upper value. Q ≡ S (mod 2), so D = r(n − r) + 2nk: k = 0 is tight.
inline GroupSpread group_spread(std::int64_t shots, double remainder, double k) {
  const double n = static_cast<double>(shots), r = remainder;
  const double deviations = r * (n - r) + 2.0 * n * k;
  const double v = std::max(deviations / (n * (n - 1.0)), shots == 2 ? 0.25 : 1.0 / 12.0) / n;
  const bool tight = k == 0.0;
  return {.variance = v,
          .square_over_nu = v * v / (n - 1.0),
          .edge = tight ? std::abs(r / n - 0.5) : 0.0,
          .tight = tight,
          .all_equal = tight && remainder == 0.0};
}

/// H² of rounding_aware, in steps², for any two groups of a design.
class HalfWidthSquare {
 public:
  HalfWidthSquare(GroupDesign a, GroupDesign b, ConfidenceLevel level, Family family = Family{})
      : critical_{level, static_cast<double>(std::min(a.shots, b.shots) - 1), family},
        one_sided_a_{numerics::t_upper_quantile(level.alpha() / family.pairs(), static_cast<double>(a.shots - 1))},
        one_sided_b_{numerics::t_upper_quantile(level.alpha() / family.pairs(), static_cast<double>(b.shots - 1))} {}

  /// S(x)²
  double sampling(const GroupSpread& a, const GroupSpread& b, double x) const {
    const double square = a.variance + b.variance + x;
    return square * critical_((a.square_over_nu + b.square_over_nu) / (square * square));
  }

  double operator()(const GroupSpread& a, const GroupSpread& b) const {
    const double s0 = sampling(a, b, 0.0);
    if (!a.tight && !b.tight) return s0;
    const double st = sampling(a, b, (a.edge * a.edge + b.edge * b.edge) / 3.0);
    double e = a.edge + b.edge;
    if (a.all_equal && !b.all_equal) e = std::max(e, 0.5 + one_sided_b_ * std::sqrt(b.variance));
    if (b.all_equal && !a.all_equal) e = std::max(e, 0.5 + one_sided_a_ * std::sqrt(a.variance));
    return std::max({s0, st, e * e});
  }

 private:
  CriticalSquare critical_;
  double one_sided_a_, one_sided_b_;
};

/// On a lattice a limit may fall on 0 or on the margin; this share of it is rounding error (`touching_distance`).
constexpr double touching = 1e-11;

/// H below this leaves out 0, as `verdict` decides it: |difference| − H > touching·(|difference| + H).
inline double finding_limit(double difference) { return std::abs(difference) * ((1.0 - touching) / (1.0 + touching)); }

/// H below this lies inside the margin, as `margin_position` decides it.
inline double same_limit(double difference, double margin) { return margin * (1.0 - touching) - std::abs(difference); }

}  // namespace shotassay::detail
