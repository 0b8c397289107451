#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/numerics/f_distribution.hpp>
#include <shotassay/numerics/gamma.hpp>

namespace shotassay {

/// How much one earlier string of shots scattered.
struct StringScatter {
  double variance;            ///< s², divisor n − 1, in the readings' unit²; above 0
  double degrees_of_freedom;  ///< n − 1
};

/// What earlier strings say of the variance of the next one: σ² is like s0²·d0/χ²(d0).
struct ScatterPrior {
  double variance;  ///< s0², in the strings' unit²
  double degrees_of_freedom =
      std::numeric_limits<double>::infinity();  ///< d0; infinite: the strings differ by chance alone
  double degrees_of_freedom_of_strings = std::numeric_limits<double>::infinity();  ///< Σ d_g of the strings it rests on
  std::size_t strings = 0;                                                         ///< number of these
  std::optional<std::size_t> wild{};  ///< index of a string that was left out, too unlike the others

  double sd() const { return std::sqrt(variance); }
  /// No more than all these shots could tell of an SD that they had in common: a few strings often give an infinite d0
  /// by chance.
  double usable_degrees_of_freedom() const { return std::min(degrees_of_freedom, degrees_of_freedom_of_strings); }
};

/// A variance drawn towards the prior: (d0·s0² + d·s²)/(d0 + d); s0² where d0 is infinite.   Requires  d > 0.
double squeezed_variance(const ScatterPrior& prior, double variance, double degrees_of_freedom);

/// Earlier shots as they scatter on a display of step δ (their own is δ_g):
///
///   variance = max(s², δ_g²/12) + max(0, δ² − δ_g²)/12
///
/// Equal readings would say 0, whose logarithm is no number; δ_g²/12 is the variance of what one display cell hides
/// [gum]. A coarser display than theirs would have added the difference; a finer one could not take off what theirs
/// hid.
///
/// Units     δ in the readings' unit, the variance in its square.
/// Requires  n ≥ 2 shots, δ > 0; else DomainError.
StringScatter string_scatter(const Sample& shots, double display_step);

/// What do the SDs of many earlier strings say of the next one's? (empirical Bayes)
///
/// With e_g = ln s_g² − ψ(d_g/2) + ln(d_g/2) over J strings, ē their mean:
///
///   ψ′(d0/2) = Σ(e_g − ē)²/(J − 1) − Σψ′(d_g/2)/J        s0² = exp(ē + ψ(d0/2) − ln(d0/2))
///
/// Where the right side of the first is not above 0, d0 is infinite and s0² is the mean of the variances. No variance
/// counts as less than 1e-5 of their median.
///
/// `robust` leaves at most one string out: the least likely by F = s_g²/s0² on d_g and d0 degrees of freedom, the prior
/// taken from the other J − 1 (d0 no more than their Σd), if its two-sided p is below 0.01/J. Needs J ≥ 4.
///
/// Requires  every variance and its degrees of freedom above 0 and finite; else DomainError. At least 3 strings; else
///           NoAnswer.
/// Assumes   independent normal shots within a string; strings by the same shooter with the same kind of equipment.
/// Accuracy  1e-12 relative, but where both sides of the first equation nearly cancel.
/// Source    Smyth (2004) [smyth2004]; the need for robustness: Phipson et al. (2016) [phipson2016]; the rule is ours.
ScatterPrior scatter_prior(std::span<const StringScatter> strings, bool robust = true);

namespace detail {

/// The moments alone, without a look for a wild string; `skipped` is an index to leave out, or one past the end.
inline ScatterPrior scatter_prior_of(std::span<const StringScatter> strings, std::size_t skipped) {
  std::vector<StringScatter> kept;
  std::vector<double> sorted;
  double total = 0;
  for (std::size_t i = 0; i < strings.size(); ++i) {
    if (i == skipped) continue;
    kept.push_back(strings[i]);
    sorted.push_back(strings[i].variance);
    total += strings[i].degrees_of_freedom;
  }
  std::sort(sorted.begin(), sorted.end());
  const std::size_t count = kept.size();
  const double median = 0.5 * (sorted[(count - 1) / 2] + sorted[count / 2]);
  const auto n = static_cast<double>(count);

  std::vector<double> logarithms;
  double average = 0, variance = 0, chance = 0, mean = 0;
  for (StringScatter& s : kept) {
    s.variance = std::max(s.variance, 1e-5 * median);
    const double half = 0.5 * s.degrees_of_freedom;
    logarithms.push_back(std::log(s.variance) - numerics::digamma(half) + std::log(half));
    average += logarithms.back() / n;
    chance += numerics::trigamma(half) / n;
    mean += s.variance / n;
  }
  for (const double e : logarithms) variance += (e - average) * (e - average) / (n - 1.0);

  ScatterPrior prior{.variance = mean, .degrees_of_freedom_of_strings = total, .strings = count};
  // Below 1e-12 nothing but the rounding of doubles is left, and d0 above 1e12 is infinite for all that follows.
  if (variance - chance > 1e-12) {
    const double half = numerics::inverse_trigamma(variance - chance);
    prior.degrees_of_freedom = 2.0 * half;
    prior.variance = std::exp(average + numerics::digamma(half) - std::log(half));
  }
  return prior;
}

/// Two-sided p of a variance beside the prior: could this string be one of theirs?
inline double p_of_scatter(const ScatterPrior& prior, double variance, double degrees_of_freedom) {
  const double f = variance / prior.variance, under = std::min(prior.usable_degrees_of_freedom(), 1e9);
  return std::min(1.0, 2.0 * std::min(numerics::f_upper_tail(f, degrees_of_freedom, under),
                                      numerics::f_upper_tail(1.0 / f, under, degrees_of_freedom)));
}

}  // namespace detail

inline double squeezed_variance(const ScatterPrior& prior, double variance, double degrees_of_freedom) {
  const double d0 = prior.degrees_of_freedom;
  if (std::isinf(d0)) return prior.variance;
  return (d0 * prior.variance + degrees_of_freedom * variance) / (d0 + degrees_of_freedom);
}

inline StringScatter string_scatter(const Sample& shots, double display_step) {
  const Moments m = moments(shots);
  if (m.n < 2) throw DomainError{"string_scatter: needs 2 or more shots, got " + std::to_string(m.n)};
  if (!(display_step > 0.0))
    throw DomainError{"string_scatter: display step must be positive, got " + std::to_string(display_step)};
  const double own = shots.step().value();
  return {.variance = std::max(m.variance(), 1.0 / 12.0) * own * own +
                      std::max(0.0, (display_step - own) * (display_step + own)) / 12.0,
          .degrees_of_freedom = static_cast<double>(m.n - 1)};
}

inline ScatterPrior scatter_prior(std::span<const StringScatter> strings, bool robust) {
  for (const StringScatter& s : strings) {
    if (!(s.variance > 0.0 && std::isfinite(s.variance)))
      throw DomainError{"scatter_prior: a variance must be above 0 and finite, got " + std::to_string(s.variance)};
    if (!(s.degrees_of_freedom > 0.0 && std::isfinite(s.degrees_of_freedom)))
      throw DomainError{"scatter_prior: degrees of freedom must be above 0 and finite, got " +
                        std::to_string(s.degrees_of_freedom)};
  }
  if (strings.size() < 3)
    throw NoAnswer{"scatter_prior: needs 3 or more earlier strings of shots, got " + std::to_string(strings.size())};
  const std::size_t none = strings.size();
  if (robust && strings.size() >= 4) {
    double least = 0.01 / static_cast<double>(strings.size());
    std::optional<std::size_t> wild;
    for (std::size_t i = 0; i < strings.size(); ++i) {
      const double p = detail::p_of_scatter(detail::scatter_prior_of(strings, i), strings[i].variance,
                                            strings[i].degrees_of_freedom);
      if (p >= least) continue;
      least = p;
      wild = i;
    }
    if (wild) {
      ScatterPrior prior = detail::scatter_prior_of(strings, *wild);
      prior.wild = wild;
      return prior;
    }
  }
  return detail::scatter_prior_of(strings, none);
}

}  // namespace shotassay
