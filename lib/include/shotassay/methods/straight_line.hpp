#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include <shotassay/core/determinant.hpp>
#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// Readings with a quantity measured beside each: the i-th of `y` was taken at the i-th of `x`, each on its own
/// lattice.
struct ReadingsBeside {
  Sample x;
  Sample y;
};

enum class Intercept {
  fitted,
  zero  ///< the line is known to pass through x = 0, y = 0
};

/// A figure of a line with its standard error.
struct LineFigure {
  double value;
  double standard_error;
  Interval interval;
};

struct StraightLineResult {
  LineFigure slope;                     ///< change of y for one unit more of x
  std::optional<LineFigure> intercept;  ///< y at x = 0; absent where it is zero by choice
  double t;                             ///< slope over its standard error
  double p_two_sided;                   ///< of the slope
  double degrees_of_freedom;            ///< ν = n − 2, n − 1 without intercept
  double residual_sd;                   ///< s = √(RSS/ν), as it came out, not floored
  bool floor_acted;                     ///< s² below step²/12 of y, which stood in for it in the standard errors
  std::optional<double> r_squared;  ///< 1 − RSS/Σ(y − ȳ)², without intercept 1 − RSS/Σy²; absent when that sum is 0
  std::optional<double> f;  ///< with s² as it came out; infinite on a perfect line, absent when y never changes
  double mean_x;            ///< the line passes through (x̄, ȳ); without intercept through (0, 0)
  double mean_y;
  double standard_error_there;  ///< of the line at x̄; 0 without intercept
};

/// Straight line: how does y change with x, a quantity measured beside each reading?
///
/// Least squares of y = a + b·x. In whole steps, with A = n·Σ(x − x̄)², B = n·Σ(y − ȳ)², C = n·Σ(x − x̄)(y − ȳ):
///
///   b = C/A      RSS = (A·B − C²)/(n·A)      a = (A·Σy − C·Σx)/(n·A)      R² = C²/(A·B)      F = ν·C²/(A·B − C²)
///   s² = RSS/ν, ν = n − 2      se_b² = max(s², step_y²/12)·n/A      se_a² = max(s², step_y²/12)·(1/n + x̄²·n/A)
///
/// Without intercept A = Σx², B = Σy², C = Σxy, RSS = (A·B − C²)/A, ν = n − 1.
///
/// Units     slope in y's unit per unit of x; intercept and residual SD in y's unit.
/// Requires  an x for each y; without intercept n·x² and n·y² below 2^125 steps² (else DomainError). One shot more than
///           figures fitted, and x that differ (without intercept: not all 0); else NoAnswer.
/// Assumes   a straight line; x known without error; independent shots with one spread, near normal.
/// Accuracy  A, B, C and A·B − C² are whole numbers, so nothing cancels: 14 digits, however near the line and however
///           large the means (checked against the NIST Statistical Reference Datasets [nist-strd]).
/// Source    least squares as in Fisher (1925) [fisher1925]; floor: JCGM 100:2008 F.2.2.1 [gum].
StraightLineResult straight_line(const ReadingsBeside& shots, Intercept intercept = Intercept::fitted,
                                 ConfidenceLevel level = ConfidenceLevel{0.95});

/// The line at one x: where does the average of y lie there?
///
///   ȳ + b·(x − x̄)      se² = se²(ȳ) + ((x − x̄)·se_b)²      with t(1−α/2; ν)
///
/// Requires  x finite; else DomainError.
LineFigure line_at(const StraightLineResult& line, double x, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

namespace detail {

/// Σx², Σxy about 0, where nothing is taken off.
inline WideInteger products_about_zero(const Sample& x, const Sample& y) {
  WideInteger sum = 0;
  for (std::size_t i = 0; i < x.size(); ++i) sum += WideInteger{x.steps()[i]} * y.steps()[i];
  return sum;
}

inline void require_small_about_zero(const Sample& s) {
  const double largest = std::max(std::abs(static_cast<double>(s.low())), std::abs(static_cast<double>(s.high())));
  if (largest * largest * static_cast<double>(s.size()) > 0x1p125)
    throw DomainError{"straight_line: readings too large for their display step of " + s.step().size().text()};
}

inline LineFigure line_figure(double value, double standard_error, double degrees_of_freedom, ConfidenceLevel level) {
  const double factor = numerics::t_two_sided_factor(level.alpha(), degrees_of_freedom);
  return {.value = value, .standard_error = standard_error, .interval = centred(value, factor * standard_error)};
}

}  // namespace detail

inline StraightLineResult straight_line(const ReadingsBeside& shots, Intercept intercept, ConfidenceLevel level) {
  const auto& [x, y] = shots;
  if (x.size() != y.size())
    throw DomainError{"straight_line: needs an x for each y, got " + std::to_string(x.size()) + " for " +
                      std::to_string(y.size())};
  const bool fitted = intercept == Intercept::fitted;
  const auto n = static_cast<std::int64_t>(y.size()), least = std::int64_t{fitted ? 3 : 2};
  if (n < least)
    throw NoAnswer{"straight_line: needs " + std::to_string(least) + " or more shots " + (fitted ? "with" : "without") +
                   " an intercept, got " + std::to_string(n)};
  const Moments of_x = moments(x), of_y = moments(y);
  if (!fitted) {
    detail::require_small_about_zero(x);
    detail::require_small_about_zero(y);
  }
  const WideInteger xx = fitted ? of_x.scaled_deviations() : detail::products_about_zero(x, x);
  const WideInteger yy = fitted ? of_y.scaled_deviations() : detail::products_about_zero(y, y);
  const WideInteger xy = fitted ? scaled_products(x, of_x, y, of_y) : detail::products_about_zero(x, y);
  if (xx == 0)
    throw NoAnswer{fitted ? "straight_line: all shots have one x, so no slope shows"
                          : "straight_line: all shots have x = 0, so no slope shows"};

  // The sums are n times those about the means, which the scale takes back.
  const double scale = fitted ? static_cast<double>(n) : 1.0, sum_xx = static_cast<double>(xx);
  const double left = determinant(xx, xy, xy, yy), nu = static_cast<double>(n - least + 1);
  const double variance = left / (scale * sum_xx) / nu, resolution = 1.0 / 12.0;
  const double counted = std::max(variance, resolution);
  const double step_x = x.step().value(), step_y = y.step().value();
  const double slope = ratio(xy, xx) * step_y / step_x,
               slope_se = std::sqrt(counted * scale / sum_xx) * step_y / step_x;
  const double mean_x = fitted ? of_x.mean() * step_x : 0.0, mean_y = fitted ? of_y.mean() * step_y : 0.0;
  const double se_there = fitted ? std::sqrt(counted / scale) * step_y : 0.0;
  const double t = slope / slope_se;

  StraightLineResult result{.slope = detail::line_figure(slope, slope_se, nu, level),
                            .intercept = std::nullopt,
                            .t = t,
                            .p_two_sided = 2.0 * numerics::t_upper_tail(std::abs(t), nu),
                            .degrees_of_freedom = nu,
                            .residual_sd = std::sqrt(variance) * step_y,
                            .floor_acted = variance < resolution,
                            .r_squared = std::nullopt,
                            .f = std::nullopt,
                            .mean_x = mean_x,
                            .mean_y = mean_y,
                            .standard_error_there = se_there};
  if (fitted) {
    const double at_zero = determinant(xx, xy, of_x.total(), of_y.total()) / (scale * sum_xx) * step_y;
    result.intercept = detail::line_figure(at_zero, std::hypot(se_there, mean_x * slope_se), nu, level);
  }
  if (yy != 0) {
    const double product = static_cast<double>(xy);
    result.r_squared = product / sum_xx * (product / static_cast<double>(yy));
    result.f = left == 0.0 ? std::numeric_limits<double>::infinity() : product / left * product * nu;
  }
  return result;
}

inline LineFigure line_at(const StraightLineResult& line, double x, ConfidenceLevel level) {
  if (!std::isfinite(x)) throw DomainError{"line_at: needs a finite x, got " + std::to_string(x)};
  const double apart = x - line.mean_x;
  return detail::line_figure(line.mean_y + apart * line.slope.value,
                             std::hypot(line.standard_error_there, apart * line.slope.standard_error),
                             line.degrees_of_freedom, level);
}

}  // namespace shotassay
