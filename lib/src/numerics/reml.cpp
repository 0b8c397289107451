#include <shotassay/numerics/reml.hpp>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/f_distribution.hpp>
#include <shotassay/numerics/root.hpp>

#include "number_text.hpp"

namespace shotassay::numerics {
namespace {

using Eigen::ArrayXd;

/// The groups as columns, and what does not depend on the ratio r = τ/σ².
struct Nested {
  ArrayXd readings;
  ArrayXd means;
  Eigen::MatrixXd member;  ///< kinds × groups, 1 where the group is of the kind
  double within_squares = 0;
  double range = 0;  ///< largest spread of group means within a kind

  Eigen::Index groups() const { return readings.size(); }
  Eigen::Index kinds() const { return member.rows(); }
  double between_freedom() const { return static_cast<double>(groups() - kinds()); }
  double within_freedom() const { return readings.sum() - static_cast<double>(groups()); }
  double freedom() const { return readings.sum() - static_cast<double>(kinds()); }

  ArrayXd by_kind(const ArrayXd& of_groups) const { return (member * of_groups.matrix()).array(); }
  ArrayXd to_groups(const ArrayXd& of_kinds) const { return (member.transpose() * of_kinds.matrix()).array(); }
};

void require_freedom(const char* function, double between, double within, double squares) {
  if (!(between >= 1))
    throw DomainError{std::string{function} + ": needs more groups than kinds, got " + number_text(between) + " more"};
  if (!(within >= 1))
    throw DomainError{std::string{function} + ": needs more readings than groups, got " + number_text(within) +
                      " more"};
  if (!(squares > 0 && std::isfinite(squares)))
    throw DomainError{std::string{function} + ": needs scatter within groups, got a sum of squares of " +
                      number_text(squares)};
}

Nested nested(const char* function, std::span<const NestedGroup> groups, std::size_t kinds) {
  Nested data;
  const auto b = static_cast<Eigen::Index>(groups.size()), k = static_cast<Eigen::Index>(kinds);
  data.readings.resize(b);
  data.means.resize(b);
  data.member = Eigen::MatrixXd::Zero(k, b);
  for (Eigen::Index i = 0; i < b; ++i) {
    const NestedGroup& g = groups[static_cast<std::size_t>(i)];
    if (g.kind >= kinds || !(g.readings >= 1) || !std::isfinite(g.mean) || !(g.within_squares >= 0))
      throw DomainError{std::string{function} + ": group " + std::to_string(i) + " needs a kind below " +
                        std::to_string(kinds) + ", 1 or more readings, a finite mean and squares of 0 or more"};
    data.readings(i) = g.readings;
    data.means(i) = g.mean;
    data.member(static_cast<Eigen::Index>(g.kind), i) = 1;
    data.within_squares += g.within_squares;
  }
  for (Eigen::Index g = 0; g < k; ++g) {
    if (data.member.row(g).sum() == 0)
      throw DomainError{std::string{function} + ": kind " + std::to_string(g) + " has no group"};
    // Means are taken from one of their own kind, so that large ones lose no digits.
    Eigen::Index first = 0;
    data.member.row(g).maxCoeff(&first);
    for (Eigen::Index i = 0; i < b; ++i)
      if (data.member(g, i) > 0) data.range = std::max(data.range, 2 * std::abs(data.means(i) - data.means(first)));
  }
  require_freedom(function, data.between_freedom(), data.within_freedom(), data.within_squares);
  return data;
}

/// Everything at one ratio r, in units of σ²: w_i = 1/(r + 1/n_i).
struct AtRatio {
  AtRatio(const Nested& data, double r) : w{data.readings / (1 + r * data.readings)}, total{data.by_kind(w)} {
    centre = data.by_kind(w * data.means) / total;
    away = data.means - data.to_groups(centre);
    // Once more from the centre found: the first sum loses digits where the means are large.
    const ArrayXd correction = data.by_kind(w * away) / total;
    centre += correction;
    away -= data.to_groups(correction);
    between = (w * away.square()).sum();
  }
  ArrayXd w;       ///< of groups
  ArrayXd total;   ///< Σ w of each kind
  ArrayXd centre;  ///< μ̂ of each kind
  ArrayXd away;    ///< ȳ − μ̂
  double between;  ///< Q(r) = Σ w (ȳ − μ̂)²
};

double residual_variance(const Nested& data, const AtRatio& at) {
  return (data.within_squares + at.between) / data.freedom();
}

/// −2 log L with σ² at its best for this ratio.
double criterion(const Nested& data, double r) {
  const AtRatio at{data, r};
  return data.freedom() * (1 + std::log(2 * std::numbers::pi * residual_variance(data, at))) +
         (1 + r * data.readings).log().sum() + at.total.log().sum();
}

double slope(const Nested& data, double r) {
  const AtRatio at{data, r};
  const ArrayXd square = at.w.square();
  return at.w.sum() - (data.by_kind(square) / at.total).sum() -
         (square * at.away.square()).sum() / residual_variance(data, at);
}

/// A ratio above which the criterion only rises: there r·n ≥ 10, so w is 1/r to a tenth, the determinants' part of the
/// slope is above (B − K)/(1.21 r), and the squares' part below (N − K)·B·range²/(r²·SSW).
double highest_ratio(const Nested& data) {
  const double reach = data.freedom() * static_cast<double>(data.groups()) * data.range * data.range;
  return 10 / data.readings.minCoeff() + 2 * reach / (data.within_squares * data.between_freedom());
}

/// Inverse of half the second derivatives of −2 log L by (τ, σ²), σ̂² the unit of both: their covariance matrix.
Eigen::Matrix2d variance_covariance(const Nested& data, const AtRatio& at, double variance) {
  const ArrayXd direction[] = {ArrayXd::Ones(data.groups()), 1 / data.readings};  // of 1/w by τ and by σ²
  const ArrayXd square = at.w.square(), cube = square * at.w, away2 = at.away.square() / variance;
  Eigen::Matrix2d second;
  for (int i = 0; i < 2; ++i)
    for (int j = 0; j < 2; ++j) {
      const ArrayXd &a = direction[i], &b = direction[j], both = a * b;
      second(i, j) =
          -(square * both).sum() + 2 * (data.by_kind(cube * both) / at.total).sum() -
          (data.by_kind(square * a) * data.by_kind(square * b) / at.total.square()).sum() +
          2 * (cube * both * away2).sum() -
          2 * (data.by_kind(square * a * at.away) * data.by_kind(square * b * at.away) / at.total).sum() / variance;
    }
  second(1, 1) += 2 * data.within_squares / variance - data.within_freedom();
  return 2 * second.inverse();
}

/// The ratio at which the scatter between groups, Q or what the readings alone are expected to give if that is more,
/// has fallen to `target`; 0 when it starts below.
double ratio_of_squares(const Nested& data, double target) {
  const double expected = data.within_squares / data.within_freedom() * data.between_freedom();
  const auto scatter = [&](double r) {
    return std::max(AtRatio{data, r}.between, expected * (1 + r * data.readings).inverse().mean());
  };
  if (scatter(0) <= target) return 0;
  const double reach = static_cast<double>(data.groups()) * data.range * data.range;
  const double highest = std::max(reach, expected / data.readings.minCoeff()) / target;
  return find_root([&](double r) { return scatter(r) - target; }, 0, highest);
}

}  // namespace

NestedReml nested_reml(std::span<const NestedGroup> groups, std::span<const double> contrast) {
  const Nested data = nested("nested_reml", groups, contrast.size());
  const ArrayXd c = Eigen::Map<const ArrayXd>(contrast.data(), static_cast<Eigen::Index>(contrast.size()));
  if (!c.allFinite() || (c == 0).all()) throw DomainError{"nested_reml: needs a finite contrast other than 0"};

  int evaluations = 0;
  const auto rise = [&](double r) {
    ++evaluations;
    return slope(data, r);
  };
  // The slope bends on a scale of 1 in log r (its poles are at −1/n), so valleys are further apart than these points.
  const double highest = highest_ratio(data), lowest = 1e-6 / data.readings.maxCoeff();
  const double points = std::ceil(4 * std::log(highest / lowest));
  double best = 0, least = 0, left = 0, at_left = rise(0);
  bool found = at_left >= 0;
  if (found) least = criterion(data, 0);
  for (double i = 0; i <= points; ++i) {
    const double right = lowest * std::pow(highest / lowest, i / points), at_right = rise(right);
    if (at_left < 0 && at_right >= 0) {
      const double r = find_root(rise, left, right);
      const double there = criterion(data, r);
      if (!found || there < least) {
        best = r;
        least = there;
        found = true;
      }
    }
    left = right;
    at_left = at_right;
  }

  const AtRatio at{data, best};
  const double variance = residual_variance(data, at);
  const double of_contrast = (c.square() / at.total).sum();
  // Derivatives of the contrast's variance Σ c²/Σ_g w by τ and by σ².
  const ArrayXd square = at.w.square(), share = (c / at.total).square();
  const Eigen::Vector2d gradient{(share * data.by_kind(square)).sum(),
                                 (share * data.by_kind(square / data.readings)).sum()};
  const double spread = gradient.dot(variance_covariance(data, at, variance) * gradient);
  const ArrayXd weights = at.w / data.to_groups(at.total);
  return {.between_variance = best * variance,
          .within_variance = variance,
          .at_zero = best == 0,
          .criterion = least,
          .kind_means = {at.centre.begin(), at.centre.end()},
          .weights = {weights.begin(), weights.end()},
          .contrast = (c * at.centre).sum(),
          .standard_error = std::sqrt(of_contrast * variance),
          .satterthwaite = best == 0 ? data.freedom() : 2 * of_contrast * of_contrast / spread,
          .evaluations = evaluations};
}

Interval between_variance_interval(std::span<const NestedGroup> groups, std::size_t kinds, ConfidenceLevel level) {
  const Nested data = nested("between_variance_interval", groups, kinds);
  const double between = data.between_freedom(), within = data.within_freedom(), tail = 0.5 * level.alpha();
  const auto end = [&](double f, double chi_square) {
    const double squares = between * f * data.within_squares / within;
    return ratio_of_squares(data, squares) * squares / chi_square;
  };
  return {.lower = end(f_upper_quantile(tail, between, within), chi_square_upper_quantile(tail, between)),
          .upper = end(f_lower_quantile(tail, between, within), chi_square_quantile(tail, between))};
}

Interval within_variance_interval(std::span<const NestedGroup> groups, ConfidenceLevel level) {
  double squares = 0, within = 0;
  for (const NestedGroup& g : groups) {
    squares += g.within_squares;
    within += g.readings - 1;
  }
  require_freedom("within_variance_interval", 1, within, squares);
  const double tail = 0.5 * level.alpha();
  return {.lower = squares / chi_square_upper_quantile(tail, within),
          .upper = squares / chi_square_quantile(tail, within)};
}

}  // namespace shotassay::numerics
