#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/quadrature.hpp>

namespace shotassay {

/// The largest of n shots against the true average, in SDs of a shot.
struct BestOfNormal {
  double expected;          ///< E: what picking the best adds on average
  double sd;                ///< of the best, from one string of n shots to the next
  double sd_above_average;  ///< of best − average of the same n shots, whose expectation is E too
};

/// What does picking the best of n shots add?
///
///   E = ∫ z dF,   sd² = ∫ (z − E)² dF,   F(z) = Φ(z)^n          sd_above_average² = sd² − 1/n
///
/// The last since the average of normal shots is independent of how far each lies from it.
/// Requires  1 to 1 000 000 shots; else DomainError.
/// Assumes   independent normal shots with one SD.
/// Accuracy  1e-12 relative (Gauss–Legendre, 128 nodes; checked against 30-digit values).
/// Source    Tippett (1925) [tippett1925]; integrals David & Nagaraja (2003) [david2003].
BestOfNormal best_of_normal(std::int64_t shots);

/// z with P(best of n ≤ z) = p, or P(best of n > z) = p, in SDs above the true average.
/// Requires  shots as above, 0 < p < 1; else DomainError.
double best_of_normal_quantile(std::int64_t shots, double p);
double best_of_normal_upper_quantile(std::int64_t shots, double p);

/// Shots read on a display that rounds.
struct RoundedShots {
  std::int64_t shots;
  double sd;  ///< of the shots themselves, in the display's unit
  DisplayStep step{Decimal{1, 0}};
};

/// The best reading against the true average, in the display's unit.
struct BestReading {
  double added;  ///< expectation of best reading − true average
  double sd;     ///< of the best reading
};

/// The same on a display, the true average lying anywhere between two of its steps:
///
///   added = E·σ,   sd² = sd_n²·σ² + step²/12
///
/// exactly, as the rounding error of whatever is read is then uniform and independent of it: the display adds nothing.
/// Requires  shots as above, sd above 0 and at most 100 000 steps; else DomainError.
BestReading best_reading(const RoundedShots& shots);

/// The same with the true average `phase` steps above a lattice point: summed over all readings,
///
///   E[best] = Σ_{k ≥ 1} P(best ≥ k) − P(best ≤ −k),   P(best ≤ k) = Φ((k + ½ − phase)/σ)^n,   lengths in steps.
///
/// Requires  as best_reading, phase from −½ to ½; else DomainError.
/// Accuracy  1e-12 of sd + step.
BestReading best_reading_at_phase(const RoundedShots& shots, double phase);

/// The true average of the set-up whose best reading was published.
struct MeanBehindBest {
  double mean;  ///< best − E·σ: right on average
  Interval interval;
};

/// Where does the true average lie, when "best of n" is all that is known, and the SD of a shot is stated?
///
///   from  best − ½ step − σ·z,  P(M_n > z) = α/2     to  best + ½ step − σ·z,  P(M_n ≤ z) = α/2,     M_n of standard
///   normals
///
/// the averages for which neither so high a best nor so low a one has a chance below α/2; the level holds wherever the
/// average lies between two steps.
/// Units     the display's.
/// Requires  a finite best reading, shots and sd as best_reading; else DomainError.
/// Assumes   the SD is right. It is not estimated here: a best reading says nothing of it.
MeanBehindBest mean_behind_best(double best, const RoundedShots& shots, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

namespace detail {

inline double shot_count(std::int64_t shots) {
  if (shots < 1 || shots > 1'000'000)
    throw DomainError{"best_of: needs 1 to 1000000 shots, got " + std::to_string(shots)};
  return static_cast<double>(shots);
}

inline double sd_in_steps(const RoundedShots& shots) {
  const double steps = shots.sd / shots.step.value();
  if (!(steps > 0.0) || steps > 1e5)
    throw DomainError{"best_of: the SD must be above 0 and at most 100000 display steps, got " +
                      std::to_string(shots.sd)};
  return steps;
}

/// log P(best of n ≤ z); each side from its own tail.
inline double log_best_below(double n, double z) {
  return n * (z < 0.0 ? std::log(numerics::normal_lower_tail(z)) : std::log1p(-numerics::normal_upper_tail(z)));
}

/// z with log P(best of n ≤ z) = log_p.
inline double best_quantile(double n, double log_p) {
  const double log_one = log_p / n;
  return log_one < -std::numbers::ln2 ? numerics::normal_quantile(std::exp(log_one))
                                      : numerics::normal_upper_quantile(-std::expm1(log_one));
}

inline void require_best_probability(double p) {
  if (!(p > 0.0 && p < 1.0))
    throw DomainError{"best_of: a probability must lie between 0 and 1, got " + std::to_string(p)};
}

}  // namespace detail

inline double best_of_normal_quantile(std::int64_t shots, double p) {
  const double n = detail::shot_count(shots);
  detail::require_best_probability(p);
  return detail::best_quantile(n, std::log(p));
}

inline double best_of_normal_upper_quantile(std::int64_t shots, double p) {
  const double n = detail::shot_count(shots);
  detail::require_best_probability(p);
  return detail::best_quantile(n, std::log1p(-p));
}

inline BestOfNormal best_of_normal(std::int64_t shots) {
  const double n = detail::shot_count(shots);
  if (shots == 1) return {.expected = 0.0, .sd = 1.0, .sd_above_average = 0.0};
  // What lies beyond these ends adds some 1e-17.
  const double lower = best_of_normal_quantile(shots, 1e-19);
  const double upper = detail::best_quantile(n, -1e-19);
  const auto rule = numerics::gauss_legendre(128);
  const auto integral = [&](auto of_z) {
    double sum = 0.0;
    for (std::size_t i = 0; i < rule.nodes.size(); ++i) {
      const double z = 0.5 * (lower + upper) + 0.5 * (upper - lower) * rule.nodes[i];
      const double density = n * numerics::normal_density(z) * std::exp(detail::log_best_below(n - 1.0, z));
      sum += rule.weights[i] * density * of_z(z);
    }
    return 0.5 * (upper - lower) * sum;
  };
  const double expected = integral([](double z) { return z; });
  const double variance = integral([&](double z) { return (z - expected) * (z - expected); });
  return {.expected = expected,
          .sd = std::sqrt(variance),
          .sd_above_average = std::sqrt(std::max(0.0, variance - 1.0 / n))};
}

inline BestReading best_reading(const RoundedShots& shots) {
  const BestOfNormal best = best_of_normal(shots.shots);
  const double sd = detail::sd_in_steps(shots);
  return {.added = best.expected * shots.sd,
          .sd = std::hypot(best.sd * sd, 1.0 / std::sqrt(12.0)) * shots.step.value()};
}

inline BestReading best_reading_at_phase(const RoundedShots& shots, double phase) {
  const double n = detail::shot_count(shots.shots);
  const double sd = detail::sd_in_steps(shots);
  if (!(phase >= -0.5 && phase <= 0.5))
    throw DomainError{"best_of: the phase must lie between -0.5 and 0.5 steps, got " + std::to_string(phase)};
  const double highest = detail::best_quantile(n, -1e-19), lowest = detail::best_quantile(n, std::log(1e-19));
  const double last = std::ceil(std::max(phase + sd * highest, -phase - sd * lowest) + 0.5);
  double first = 0.0, second = 0.0;
  for (double k = 1.0; k <= last; k += 1.0) {
    const double at_least_k = -std::expm1(detail::log_best_below(n, (k - 0.5 - phase) / sd));
    const double at_most_minus_k = std::exp(detail::log_best_below(n, (0.5 - k - phase) / sd));
    first += at_least_k - at_most_minus_k;
    second += (2.0 * k - 1.0) * (at_least_k + at_most_minus_k);
  }
  return {.added = (first - phase) * shots.step.value(),
          .sd = std::sqrt(std::max(0.0, second - first * first)) * shots.step.value()};
}

inline MeanBehindBest mean_behind_best(double best, const RoundedShots& shots, ConfidenceLevel level) {
  if (!std::isfinite(best)) throw DomainError{"best_of: the best reading must be a number"};
  const double n = detail::shot_count(shots.shots);
  const double sd = detail::sd_in_steps(shots) * shots.step.value();
  const double half_alpha = 0.5 * level.alpha(), half_step = 0.5 * shots.step.value();
  return {.mean = best - best_of_normal(shots.shots).expected * sd,
          .interval = {.lower = best - half_step - sd * detail::best_quantile(n, std::log1p(-half_alpha)),
                       .upper = best + half_step - sd * detail::best_quantile(n, std::log(half_alpha))}};
}

}  // namespace shotassay
