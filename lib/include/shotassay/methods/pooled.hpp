#pragma once
#include <cmath>
#include <cstdint>
#include <span>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/family.hpp>

namespace shotassay {

struct PooledResult {
  double difference;  ///< mean(b) − mean(a)
  double pooled_sd;
  double standard_error;
  double t;
  double degrees_of_freedom;  ///< N − k
  double p_two_sided;         ///< of the family when it has three or more set-ups
  Interval interval;
};

/// Student's pooled t: do two set-ups differ in mean, if all of them scatter alike?
///
///   s_p² = Σ_g (n_g − 1)s_g² / (N − k)      se = s_p √(1/n_a + 1/n_b)      ν = N − k
///
/// over all k set-ups given; the interval is for `to` against `from`. With k ≥ 3 the factor is q(1−α; k, ν)/√2
/// (Tukey and Kramer).
///
/// Units     the readings'.
/// Requires  two or more set-ups with one display step, N > k, two different indices within them; else DomainError.
///           All set-ups without scatter: NoAnswer.
/// Assumes   equal spreads in all set-ups. With unequal ones the level is lost (3 + 5 shots, SD 1.5 and 0.1: 72.7 %
///           for 95 %), so nothing chooses this method but its name.
/// Source    Student (1908) [student1908]; Kramer (1956) [kramer1956].
inline PooledResult pooled(std::span<const Sample> setups, std::size_t from, std::size_t to,
                           ConfidenceLevel level = ConfidenceLevel{0.95}) {
  if (from >= setups.size() || to >= setups.size() || from == to)
    throw DomainError{"pooled: needs two different set-ups out of " + std::to_string(setups.size())};
  WideInteger shots = 0;
  double squares = 0;
  for (const Sample& s : setups) {
    require_one_lattice(setups[0], s);
    const Moments m = moments(s);
    shots += m.n;
    squares += ratio(m.scaled_deviations(), m.n);
  }
  const double nu = static_cast<double>(shots) - static_cast<double>(setups.size());
  if (nu < 1.0)
    throw DomainError{"pooled: needs more shots than set-ups, got " + std::to_string(static_cast<std::int64_t>(shots)) +
                      " and " + std::to_string(setups.size())};
  if (!(squares > 0.0)) throw NoAnswer{"pooled: every SD is 0, so no width can be computed"};
  const Family family{static_cast<int>(setups.size())};
  const Moments a = moments(setups[from]), b = moments(setups[to]);
  const double step = setups[0].step().value();
  const double sd = std::sqrt(squares / nu) * step;
  const double se = sd * std::sqrt(ratio(WideInteger{a.n} + b.n, WideInteger{a.n} * b.n));
  const double difference = mean_difference(a, b) * step;
  return {.difference = difference,
          .pooled_sd = sd,
          .standard_error = se,
          .t = difference / se,
          .degrees_of_freedom = nu,
          .p_two_sided = family.p_two_sided(difference / se, nu),
          .interval = centred(difference, family.factor(level.alpha(), nu) * se)};
}

/// Two set-ups alone.
inline PooledResult pooled(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95}) {
  const Sample both[] = {a, b};
  return pooled(both, 0, 1, level);
}

}  // namespace shotassay
