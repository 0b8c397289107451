#pragma once
#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/uncertain_input.hpp>
#include <shotassay/numerics/derivative.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// y = f(x₁, …, x_N). What it is copied from must give the same values; it may throw NoAnswer.
using MeasurementModel = std::function<double(std::span<const double>)>;

/// What one input does to the result.
struct UncertaintyContribution {
  double sensitivity;   ///< c = ∂f/∂x at the estimates
  double contribution;  ///< |c|·u, in the unit of the result
  double share;         ///< of the variance, covariances included: all add up to 1; below 0 where it cancels others
};

struct UncertaintyBudget {
  double estimate;
  std::vector<UncertaintyContribution> contributions;  ///< in the order of the inputs
  double standard_uncertainty;                         ///< combined
  double degrees_of_freedom;                           ///< effective; infinity where no input limits them
  double coverage_factor;
  double expanded_uncertainty;
  Interval interval;
  bool stated_correlations;  ///< G.4 does not cover them: degrees of freedom by the cautious rule below
};

/// Effective degrees of freedom as computed, or down to the next whole number (G.4.2, note 1).
enum class EffectiveDegrees { as_computed, truncated };

/// The law of propagation of uncertainty: how well is a result known that is computed from other quantities?
///
///   u² = Σᵢ Σⱼ cᵢ cⱼ r(xᵢ, xⱼ) u(xᵢ) u(xⱼ)        share of i = cᵢ u(xᵢ) Σⱼ cⱼ r(xᵢ, xⱼ) u(xⱼ) / u²
///   ν  = 1 / Σ_g (share of g)² / ν_g               k = t((1 + p)/2; ν),   U = k·u
///
/// The parts g of the Welch–Satterthwaite formula must be independent. An input that is correlated with none is a part;
/// inputs that hang together by correlations are one. Such a part has the degrees of freedom
/// - of its inputs, where all are averages of the same paired readings (`simultaneous`): a linear combination of paired
///   readings has n − 1, exactly;
/// - else the least of its inputs', or 1/Σ (share of i in the part)²/νᵢ where that is less. Annex G has no formula
///   for stated correlations; this one takes the coefficient as known and the u as evaluated apart, and it sees when
///   contributions cancel and leave a difference of two uncertain ones.
///
/// Units     sensitivities in units of the result per unit of the input; contributions, u and U in that of the result.
/// Requires  as many sensitivities as inputs, one at least; finite estimates and sensitivities; u ≥ 0 and finite;
///           ν > 0; correlations between two different inputs, each pair once, coefficients −1 to 1 that can stand
///           together (positive semidefinite); otherwise DomainError. Not all contributions 0 (else NoAnswer).
/// Assumes   f near linear over the inputs' uncertainties, result near normal or t: `propagation` does without.
/// Source    JCGM 100:2008, 5.1.2, 5.2.2, G.4.1, G.6.4 [gum].
UncertaintyBudget uncertainty_budget(double estimate, std::span<const UncertainInput> inputs,
                                     std::span<const double> sensitivities,
                                     std::span<const Correlation> correlations = {},
                                     ConfidenceLevel level = ConfidenceLevel{0.95},
                                     EffectiveDegrees degrees = EffectiveDegrees::as_computed);

/// The same with estimate and sensitivities from the model itself.
/// Throws NoAnswer where the model has no value, no slope or a kink at the estimates.
UncertaintyBudget uncertainty_budget(const MeasurementModel& model, std::span<const UncertainInput> inputs,
                                     std::span<const Correlation> correlations = {},
                                     ConfidenceLevel level = ConfidenceLevel{0.95},
                                     EffectiveDegrees degrees = EffectiveDegrees::as_computed);

/// ∂f/∂xᵢ at the estimates, numerically; the first differences are taken at u(xᵢ), or at 1e-3 of xᵢ where it is exact.
std::vector<double> sensitivities(const MeasurementModel& model, std::span<const UncertainInput> inputs);

/// u with the terms of second order, for independent inputs that are normal or otherwise symmetric and not far from it:
///
///   u² = Σᵢ cᵢ² u(xᵢ)² + Σᵢ Σⱼ (½ fᵢⱼ² + fᵢ fᵢⱼⱼ) u(xᵢ)² u(xⱼ)²
///
/// Accuracy  differences at u and u/2, extrapolated once: exact for polynomials up to the fourth degree, else to
///           terms of a fifth order in u.
/// Source    JCGM 100:2008, 5.1.2, note [gum].
double second_order_uncertainty(const MeasurementModel& model, std::span<const UncertainInput> inputs);

namespace detail {

inline void require_inputs(const std::string& method, std::span<const UncertainInput> inputs) {
  if (inputs.empty()) throw DomainError{method + ": needs an input"};
  for (const UncertainInput& x : inputs) {
    if (!std::isfinite(x.estimate)) throw DomainError{method + ": the estimate of \"" + x.name + "\" is not finite"};
    if (!(x.standard_uncertainty >= 0.0) || !std::isfinite(x.standard_uncertainty))
      throw DomainError{method + ": the standard uncertainty of \"" + x.name + "\" must be 0 or more, got " +
                        std::to_string(x.standard_uncertainty)};
    if (!(x.degrees_of_freedom > 0.0))
      throw DomainError{method + ": the degrees of freedom of \"" + x.name + "\" must be more than 0, got " +
                        std::to_string(x.degrees_of_freedom)};
  }
}

/// Coefficients of all pairs, row by row, 1 on the diagonal.
class CorrelationMatrix {
 public:
  CorrelationMatrix(const std::string& method, std::span<const UncertainInput> inputs,
                    std::span<const Correlation> correlations)
      : n_{inputs.size()}, r_(n_ * n_, 0.0), factor_(n_ * n_, 0.0) {
    for (std::size_t i = 0; i < n_; ++i) r_[i * n_ + i] = 1.0;
    std::vector<bool> seen(n_ * n_, false);
    for (const auto& [i, j, r, simultaneous] : correlations) {
      if (i >= n_ || j >= n_ || i == j)
        throw DomainError{method + ": a correlation needs two different inputs of " + std::to_string(n_) + ", got " +
                          std::to_string(i) + " and " + std::to_string(j)};
      const std::string pair = "\"" + inputs[i].name + "\" and \"" + inputs[j].name + "\"";
      if (!(r >= -1.0 && r <= 1.0))
        throw DomainError{method + ": the correlation of " + pair + " must lie between -1 and 1, got " +
                          std::to_string(r)};
      if (seen[i * n_ + j]) throw DomainError{method + ": the correlation of " + pair + " is stated twice"};
      seen[i * n_ + j] = seen[j * n_ + i] = true;
      r_[i * n_ + j] = r_[j * n_ + i] = r;
    }
    factorise(method);
  }

  std::size_t size() const { return n_; }
  double operator()(std::size_t i, std::size_t j) const { return r_[i * n_ + j]; }

  /// Lower triangle L with r = L·Lᵀ.
  double factor(std::size_t i, std::size_t j) const { return factor_[i * n_ + j]; }

 private:
  /// Cholesky's factor of a matrix that may be singular: r = ±1 is allowed.
  void factorise(const std::string& method) {
    constexpr double nothing = 1e-9;
    for (std::size_t j = 0; j < n_; ++j) {
      double pivot = 1.0;
      for (std::size_t k = 0; k < j; ++k) pivot -= factor_[j * n_ + k] * factor_[j * n_ + k];
      bool sound = pivot > -nothing;
      const double root = pivot > nothing ? std::sqrt(pivot) : 0.0;
      factor_[j * n_ + j] = root;
      for (std::size_t i = j + 1; i < n_; ++i) {
        double rest = r_[i * n_ + j];
        for (std::size_t k = 0; k < j; ++k) rest -= factor_[i * n_ + k] * factor_[j * n_ + k];
        // Of a variance that is nothing, no more than its root can be shared.
        if (root == 0.0) sound = sound && std::abs(rest) <= std::sqrt(nothing);
        factor_[i * n_ + j] = root > 0.0 ? rest / root : 0.0;
      }
      if (!sound) throw DomainError{method + ": the correlations contradict each other"};
    }
  }

  std::size_t n_;
  std::vector<double> r_, factor_;
};

/// Which part each input belongs to: inputs that a chain of correlations other than 0 links are one part.
inline std::vector<std::size_t> independent_parts(std::size_t inputs, std::span<const Correlation> correlations) {
  std::vector<std::size_t> part(inputs);
  std::iota(part.begin(), part.end(), std::size_t{0});
  for (const Correlation& link : correlations) {
    if (link.coefficient == 0.0) continue;
    const std::size_t from = part[link.second], to = part[link.first];
    std::replace(part.begin(), part.end(), from, to);
  }
  return part;
}

struct PartDegrees {
  double value;
  bool stated;  ///< a correlation in it is stated, not found in paired readings
};

/// Degrees of freedom of a part; `shares` of its inputs add up to that of the part.
inline PartDegrees part_degrees(const std::vector<std::size_t>& members, std::span<const UncertainInput> inputs,
                                std::span<const double> shares, std::span<const Correlation> correlations) {
  const auto degrees = [&](std::size_t i) { return inputs[i].degrees_of_freedom; };
  if (members.size() == 1) return {degrees(members[0]), false};
  const auto holds = [&](std::size_t i) { return std::find(members.begin(), members.end(), i) != members.end(); };
  const bool paired = std::all_of(correlations.begin(), correlations.end(), [&](const Correlation& link) {
    return link.coefficient == 0.0 || !holds(link.first) || link.simultaneous;
  });
  double least = degrees(members[0]), most = least, part = 0.0, sum = 0.0;
  for (const std::size_t i : members) {
    least = std::min(least, degrees(i));
    most = std::max(most, degrees(i));
    part += shares[i];
    sum += shares[i] * shares[i] / degrees(i);
  }
  if (paired && least == most) return {least, false};
  return {sum > 0.0 ? std::min(least, part * part / sum) : least, true};
}

}  // namespace detail

inline UncertaintyBudget uncertainty_budget(double estimate, std::span<const UncertainInput> inputs,
                                            std::span<const double> sensitivities,
                                            std::span<const Correlation> correlations, ConfidenceLevel level,
                                            EffectiveDegrees degrees) {
  const std::string method = "uncertainty_budget";
  detail::require_inputs(method, inputs);
  if (sensitivities.size() != inputs.size())
    throw DomainError{method + ": needs a sensitivity for each of " + std::to_string(inputs.size()) + " inputs, got " +
                      std::to_string(sensitivities.size())};
  for (std::size_t i = 0; i < inputs.size(); ++i)
    if (!std::isfinite(sensitivities[i]))
      throw DomainError{method + ": the sensitivity to \"" + inputs[i].name + "\" is not finite"};
  const detail::CorrelationMatrix r{method, inputs, correlations};

  // In units of the largest contribution, so that no square overflows.
  std::vector<double> signed_contribution(inputs.size());
  double largest = 0.0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    signed_contribution[i] = sensitivities[i] * inputs[i].standard_uncertainty;
    largest = std::max(largest, std::abs(signed_contribution[i]));
  }
  if (!(largest > 0.0)) throw NoAnswer{method + ": every input is exact or without effect, so nothing is uncertain"};
  std::vector<double> shares(inputs.size(), 0.0);
  double variance = 0.0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    for (std::size_t j = 0; j < inputs.size(); ++j)
      shares[i] += signed_contribution[i] / largest * r(i, j) * (signed_contribution[j] / largest);
    variance += shares[i];
  }
  if (!(variance > 1e-12)) throw NoAnswer{method + ": the correlated contributions cancel, so nothing is uncertain"};
  UncertaintyBudget budget{.estimate = estimate,
                           .contributions = {},
                           .standard_uncertainty = std::sqrt(variance) * largest,
                           .degrees_of_freedom = 0.0,
                           .coverage_factor = 0.0,
                           .expanded_uncertainty = 0.0,
                           .interval = {},
                           .stated_correlations = false};
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    shares[i] /= variance;
    budget.contributions.push_back({sensitivities[i], std::abs(signed_contribution[i]), shares[i]});
  }

  double sum = 0.0;  // Σ share²/ν over the independent parts
  const std::vector<std::size_t> part = detail::independent_parts(inputs.size(), correlations);
  for (std::size_t g = 0; g < inputs.size(); ++g) {
    std::vector<std::size_t> members;
    double share = 0.0;
    for (std::size_t i = 0; i < inputs.size(); ++i)
      if (part[i] == g) {
        members.push_back(i);
        share += shares[i];
      }
    if (members.empty()) continue;
    const detail::PartDegrees of_part = detail::part_degrees(members, inputs, shares, correlations);
    sum += share * share / of_part.value;
    budget.stated_correlations = budget.stated_correlations || of_part.stated;
  }
  double nu = 1.0 / sum;
  if (degrees == EffectiveDegrees::truncated && nu >= 1.0) nu = std::floor(nu);
  budget.degrees_of_freedom = nu;
  budget.coverage_factor = numerics::t_two_sided_factor(level.alpha(), nu);
  budget.expanded_uncertainty = budget.coverage_factor * budget.standard_uncertainty;
  budget.interval = centred(estimate, budget.expanded_uncertainty);
  return budget;
}

namespace detail {

inline std::vector<double> estimates(std::span<const UncertainInput> inputs) {
  std::vector<double> x;
  for (const UncertainInput& input : inputs) x.push_back(input.estimate);
  return x;
}

inline double value_at_estimates(const std::string& method, const MeasurementModel& model,
                                 std::span<const UncertainInput> inputs) {
  const double y = model(estimates(inputs));
  if (!std::isfinite(y)) throw NoAnswer{method + ": the model has no finite value at the estimates"};
  return y;
}

}  // namespace detail

inline std::vector<double> sensitivities(const MeasurementModel& model, std::span<const UncertainInput> inputs) {
  const std::string method = "sensitivities";
  detail::require_inputs(method, inputs);
  detail::value_at_estimates(method, model, inputs);
  std::vector<double> x = detail::estimates(inputs), c;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    const double at = x[i], u = inputs[i].standard_uncertainty;
    const double scale = u > 0.0 ? u : at != 0.0 ? 1e-3 * std::abs(at) : 1e-3;
    try {
      c.push_back(numerics::derivative(
                      [&](double changed) {
                        x[i] = changed;
                        return model(x);
                      },
                      at, scale)
                      .value);
    } catch (const NoAnswer& none) {
      throw NoAnswer{method + ": how the result changes with \"" + inputs[i].name +
                     "\" cannot be told: " + std::string{none.what()}.substr(std::string{"derivative: "}.size())};
    }
    x[i] = at;
  }
  return c;
}

inline UncertaintyBudget uncertainty_budget(const MeasurementModel& model, std::span<const UncertainInput> inputs,
                                            std::span<const Correlation> correlations, ConfidenceLevel level,
                                            EffectiveDegrees degrees) {
  const std::vector<double> c = sensitivities(model, inputs);
  return uncertainty_budget(detail::value_at_estimates("uncertainty_budget", model, inputs), inputs, c, correlations,
                            level, degrees);
}

namespace detail {

/// Σᵢ Σⱼ (½ fᵢⱼ² + fᵢ fᵢⱼⱼ) with derivatives in units of the uncertainties, by differences at `step` of them.
inline double second_order_terms(const MeasurementModel& model, std::span<const UncertainInput> inputs, double step,
                                 std::span<const double> slopes) {
  const std::size_t n = inputs.size();
  std::vector<double> x = estimates(inputs);
  const auto at = [&](std::size_t i, double a, std::size_t j, double b) {
    const double xi = x[i], xj = x[j];
    x[i] += a * step * inputs[i].standard_uncertainty;
    x[j] += b * step * inputs[j].standard_uncertainty;
    const double y = model(x);
    x[i] = xi;
    x[j] = xj;
    return y;
  };
  const double middle = at(0, 0, 0, 0), square = step * step;
  double sum = 0.0;
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j) {
      const double pp = at(i, 1, j, 1), pm = at(i, 1, j, -1), mp = at(i, -1, j, 1), mm = at(i, -1, j, -1);
      const double up = at(i, 1, j, 0), down = at(i, -1, j, 0);
      const double mixed = i == j ? (up - 2.0 * middle + down) / square : (pp - pm - mp + mm) / (4.0 * square);
      // fᵢⱼⱼ: the slope along i of the curvature along j; for i = j, steps of one and two.
      const double third = i == j ? (pp - 2.0 * up + 2.0 * down - mm) / (2.0 * square * step)
                                  : ((pp - 2.0 * up + pm) - (mp - 2.0 * down + mm)) / (2.0 * square * step);
      sum += 0.5 * mixed * mixed + slopes[i] * third;
    }
  return sum;
}

}  // namespace detail

inline double second_order_uncertainty(const MeasurementModel& model, std::span<const UncertainInput> inputs) {
  std::vector<double> slopes = sensitivities(model, inputs);
  double first = 0.0;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    slopes[i] *= inputs[i].standard_uncertainty;
    first += slopes[i] * slopes[i];
  }
  const double coarse = detail::second_order_terms(model, inputs, 1.0, slopes);
  const double fine = detail::second_order_terms(model, inputs, 0.5, slopes);
  const double variance = first + (4.0 * fine - coarse) / 3.0;
  if (!std::isfinite(variance) || variance < 0.0)
    throw NoAnswer{
        "second_order_uncertainty: the terms of second order are no correction here, they outweigh the rest"};
  return std::sqrt(variance);
}

}  // namespace shotassay
