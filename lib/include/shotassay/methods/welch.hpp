#pragma once
#include <cmath>
#include <cstdint>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/family.hpp>

namespace shotassay {

struct WelchResult {
  double difference;  ///< mean(b) − mean(a): b against a
  double standard_error;
  double t;
  double degrees_of_freedom;  ///< ν, real, not rounded
  double p_two_sided;         ///< of the family when it has three or more set-ups
  Interval interval;          ///< for the difference, at the level asked
};

/// Mean, SD and number of shots: all that Welch's method needs of a group.
struct GroupSummary {
  double mean;
  double sd;  ///< divisor n − 1
  std::int64_t shots;
};

/// Welch's two-sample t: do two groups differ in mean, when their spreads may differ?
///
///   se² = s_a²/n_a + s_b²/n_b          t = (b̄ − ā) / se
///   ν   = se⁴ / ( (s_a²/n_a)²/(n_a−1) + (s_b²/n_b)²/(n_b−1) )
///
/// With `family` of k ≥ 3 set-ups interval and p are those of Games and Howell: q(1−α; k, ν)/√2 in place of t.
///
/// Units     difference, standard error and interval in the samples' unit; t, ν and p have none.
/// Requires  n ≥ 2 in each, one display step for both (else DomainError); not both variances zero (else NoAnswer).
/// Assumes   independent shots, means near normal, readings not rounded. Not checked here.
/// Source    Welch (1947) [welch1947]; ν after Satterthwaite (1946) [satterthwaite1946]; Games & Howell [games1976].
WelchResult welch(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                  Family family = Family{});

/// The same from summary figures alone.
WelchResult welch(const GroupSummary& a, const GroupSummary& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                  Family family = Family{});

namespace detail {

/// From the difference and the two variances of the means.
inline WelchResult welch_from(double difference, double variance_of_mean_a, std::int64_t n_a, double variance_of_mean_b,
                              std::int64_t n_b, ConfidenceLevel level, Family family) {
  for (const std::int64_t n : {n_a, n_b})
    if (n < 2) throw DomainError{"welch: needs 2 or more shots in a group, got " + std::to_string(n)};
  const double variance = variance_of_mean_a + variance_of_mean_b;
  if (!(variance > 0.0)) throw NoAnswer{"welch: both SDs are 0, so no width can be computed"};
  // Shares of the variance, not fourth powers: neither overflow nor underflow.
  const double p = variance_of_mean_a / variance, q = variance_of_mean_b / variance;
  const double nu = 1.0 / (p * p / static_cast<double>(n_a - 1) + q * q / static_cast<double>(n_b - 1));
  const double se = std::sqrt(variance), t = difference / se;
  return {.difference = difference,
          .standard_error = se,
          .t = t,
          .degrees_of_freedom = nu,
          .p_two_sided = family.p_two_sided(t, nu),
          .interval = centred(difference, family.factor(level.alpha(), nu) * se)};
}

}  // namespace detail

inline WelchResult welch(const Sample& a, const Sample& b, ConfidenceLevel level, Family family) {
  require_one_lattice(a, b);
  const Moments m = moments(a), w = moments(b);
  const auto variance_of_mean = [](const Moments& g) {
    return g.n < 2 ? 0.0 : g.variance() / static_cast<double>(g.n);
  };
  WelchResult r =
      detail::welch_from(mean_difference(m, w), variance_of_mean(m), m.n, variance_of_mean(w), w.n, level, family);
  const double step = a.step().value();
  r.difference *= step;
  r.standard_error *= step;
  r.interval = {.lower = r.interval.lower * step, .upper = r.interval.upper * step};
  return r;
}

inline WelchResult welch(const GroupSummary& a, const GroupSummary& b, ConfidenceLevel level, Family family) {
  for (const GroupSummary& g : {a, b})
    if (!(g.sd >= 0.0) || !std::isfinite(g.sd) || !std::isfinite(g.mean))
      throw DomainError{"welch: needs a finite mean and an SD of 0 or more, got " + std::to_string(g.mean) + " and " +
                        std::to_string(g.sd)};
  return detail::welch_from(b.mean - a.mean, a.sd * a.sd / static_cast<double>(a.shots), a.shots,
                            b.sd * b.sd / static_cast<double>(b.shots), b.shots, level, family);
}

}  // namespace shotassay
