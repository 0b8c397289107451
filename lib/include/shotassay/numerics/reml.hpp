#pragma once
#include <cstddef>
#include <span>
#include <vector>

#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>

namespace shotassay::numerics {

/// The readings of one group (a bow), nested in a kind, by their sufficient figures.
struct NestedGroup {
  std::size_t kind;       ///< 0 … kinds − 1
  double readings;        ///< n_i ≥ 1
  double mean;            ///< ȳ_i
  double within_squares;  ///< Σ (y − ȳ_i)²
};

/// Variances of a one-way nested model and what they make of a contrast of the kinds' means.
struct NestedReml {
  double between_variance;  ///< τ̂ of the groups' true means, 0 or more
  double within_variance;   ///< σ̂² of the readings
  bool at_zero;             ///< τ̂ = 0: the criterion is least on the boundary
  double criterion;         ///< −2 log restricted likelihood at its least, constants included
  std::vector<double> kind_means;
  std::vector<double> weights;  ///< of each group within its kind, in the order of the groups
  double contrast;              ///< Σ c_g μ̂_g
  double standard_error;
  /// Satterthwaite's ν = 2f²/(∇f'A∇f), f the contrast's variance, A the inverse observed information of (τ, σ²); when
  /// at_zero, σ̂² alone is free: N − kinds.
  double satterthwaite;
  int evaluations;  ///< of the criterion's derivative
};

/// Restricted maximum likelihood for y = μ_kind + group + error, group ~ N(0, τ), error ~ N(0, σ²).
///
///   −2 log L = (N − B) log σ² + SSW/σ² + Σ_i log(n_i v_i) + Σ_g log Σ_i 1/v_i + Σ_i (ȳ_i − μ̂_g)²/v_i + (N − K) log 2π
///   v_i = τ + σ²/n_i,   B groups, K kinds, N readings, SSW = Σ within_squares
///
/// σ² is profiled out for a given ratio τ/σ²; all points where the exact derivative by the ratio changes sign, and the
/// boundary 0, are compared, so a second valley is not missed where the numbers of readings differ.
///
/// Units     means and squares in one unit and its square; criterion as with readings in that unit.
/// Requires  every kind with a group, B > K, N > B, SSW > 0, `contrast` of K coefficients, not all 0; else DomainError.
/// Accuracy  ratio to 1e-12 relative where the criterion is curved; 1e-8 in the criterion's flat valleys.
/// Source    Patterson & Thompson (1971) [patterson1971]; Satterthwaite (1946) [satterthwaite1946]; degrees of freedom
/// by
///           the observed information as in Fai & Cornelius (1996) [fai1996].
NestedReml nested_reml(std::span<const NestedGroup> groups, std::span<const double> contrast);

/// Interval for τ, from the exact law of the ratio of the mean squares and of the scatter between groups.
///
///   r_l:  Q(r)/(B − K) = F(1−α/2; B−K, N−B)·σ̂²   at r = r_l,   τ_l = r_l·Q(r_l)/χ²(1−α/2; B−K),   0 if no r does
///   r_u, τ_u the same with α/2;   Q(r) = max{ Σ (ȳ_i − μ̂_g)²/(r + 1/n_i),  σ̂²·(B−K)·mean of 1/(1 + r·n_i) }
///   σ̂² = SSW/(N − B)
///
/// The second part of Q is what the readings alone are expected to give: groups that agree by chance better than that
/// do not make the upper end small, or 0. Otherwise, with equal numbers of readings, the interval of Tukey and
/// Williams. Requires  as nested_reml. Source    Wald (1940) [wald1940] for r; Williams (1962) [williams1962] for τ.
Interval between_variance_interval(std::span<const NestedGroup> groups, std::size_t kinds, ConfidenceLevel level);

/// Interval for σ²: SSW/χ²(1−α/2; N−B) … SSW/χ²(α/2; N−B), from the scatter within groups alone.
Interval within_variance_interval(std::span<const NestedGroup> groups, ConfidenceLevel level);

}  // namespace shotassay::numerics
