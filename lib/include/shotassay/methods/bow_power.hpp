#pragma once
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// A test of two kinds of bow: so many bows of each kind, so many shots with each bow.
struct BowDesign {
  std::int64_t bows;   ///< k, of each kind
  std::int64_t shots;  ///< n, with each bow
  double bow_sd;       ///< σ_b: how the true averages of bows of one kind scatter
  double shot_sd;      ///< σ: how the shots of one bow scatter, before the display rounds them
  double step = 0.0;   ///< of the display; 0 where readings are not rounded
};

/// How often will a claim about two kinds of bow be found, when the kinds differ by this true gap?
///
///   t on bow averages with one spread for both kinds:   σ_m² = σ_b² + (σ² + step²/12)/n,   SE = σ_m·√(2/k),   ν =
///   2(k−1) power = E[ Q(t(1−α/2; ν)·s − λ) + Q(t(1−α/2; ν)·s + λ) ],   λ = gap/SE,  s² ~ χ²_ν/ν,  Q the upper normal
///   tail
///
/// Shots make a bow's average certain, not the kind's: as n grows σ_m falls to σ_b and no further.
///
/// Units     gap, SDs and step in one unit; power has none.
/// Requires  2 ≤ bows ≤ 1e7, shots ≥ 1, bow_sd ≥ 0, shot_sd > 0, step ≥ 0, a finite gap; else DomainError.
/// Assumes   bows drawn at random from their kind, true averages and shots normal, the SDs known; equal numbers of bows
///           and of shots, so that the mixed model's answer is that of the bow averages; rounding errors independent
///           (an SD of half a display step or more).
/// Accuracy  1e-9 absolute; the result carries its own estimate.
/// Source    the pooled t test of k + k independent averages; quadrature of welch_power.
PowerResult bow_power(double gap, const BowDesign& design, ConfidenceLevel level = ConfidenceLevel{0.95});

/// The power that no number of shots with each bow exceeds: n without end, so `design.shots` plays no part.
/// Without scatter between bows it is 1 for any gap but 0.
double bow_power_limit(double gap, const BowDesign& design, ConfidenceLevel level = ConfidenceLevel{0.95});

/// The true gap between kinds that such a test finds with this power.   Requires  a power above α; else DomainError.
double bow_detectable_gap(const BowDesign& design, Power power = Power{0.8},
                          ConfidenceLevel level = ConfidenceLevel{0.95});

/// The same with shots without end: a smaller gap these bows cannot find with this power. 0 without scatter of bows.
double bow_detectable_gap_limit(const BowDesign& design, Power power = Power{0.8},
                                ConfidenceLevel level = ConfidenceLevel{0.95});

/// Half of the interval's width on average: t(1−α/2; ν)·SE·E[s].
double bow_expected_half_width(const BowDesign& design, ConfidenceLevel level = ConfidenceLevel{0.95});

/// σ_m, the SD of one bow's average.   Requires  as bow_power, one bow allowed.
double bow_average_sd(const BowDesign& design);

/// σ_b·√2: how far two single bows of *like* kinds lie apart (SD), however many shots; the reason why one bow of each
/// kind carries no claim about kinds.   Requires  bow_sd ≥ 0; else DomainError.
double bow_gap_sd(double bow_sd);

/// What is asked of fewest_shots.
struct BowShotsQuestion {
  double gap;         ///< true gap between the kinds; its sign does not matter
  std::int64_t bows;  ///< of each kind
  double bow_sd;
  double shot_sd;
  double step = 0.0;
  Power power{0.8};
  ConfidenceLevel level{0.95};
};

/// The smallest number of shots with each bow that finds the gap with this power.
///
/// Absent when no number up to 10 000 does: then more bows are needed (where bow_power_limit is below the power, shots
/// without end would not do).
/// Requires  as bow_power, a gap other than 0, a power above α; else DomainError.
std::optional<std::int64_t> fewest_shots(const BowShotsQuestion& question);

constexpr std::int64_t most_shots_with_a_bow = 10'000;

// ---- computation ----

namespace detail {

inline void require_bow_spread(const BowDesign& d) {
  if (!(d.bow_sd >= 0.0) || !std::isfinite(d.bow_sd))
    throw DomainError{"bow_power: needs an SD between bows of 0 or more, got " + std::to_string(d.bow_sd)};
  if (!(d.shot_sd > 0.0) || !std::isfinite(d.shot_sd))
    throw DomainError{"bow_power: needs a positive SD of shots, got " + std::to_string(d.shot_sd)};
  if (!(d.step >= 0.0) || !std::isfinite(d.step))
    throw DomainError{"bow_power: needs a display step of 0 or more, got " + std::to_string(d.step)};
}

inline void require_bows(std::int64_t bows) {
  if (bows == 1)
    throw DomainError{
        "bow_power: with one bow of each kind no number of shots tells how bows of a kind differ; "
        "needs 2 or more bows of each kind"};
  if (bows < 2 || bows > 10'000'000)
    throw DomainError{"bow_power: needs 2 to 10000000 bows of each kind, got " + std::to_string(bows)};
}

/// The power of a t test of `bows` averages of each kind, at every gap.
///
/// A pooled test has one critical factor, whatever the split of the variances; and with equal numbers the pooled
/// standard error is Welch's. So Welch's curve with a constant factor is the pooled test's (its integral over the split
/// has nothing to do, and costs nothing to speak of).
inline WelchPowerCurve bow_curve(std::int64_t bows, double average_sd, ConfidenceLevel level) {
  require_bows(bows);
  const GroupDesign kind{bows, average_sd};
  const double factor = numerics::t_two_sided_factor(level.alpha(), 2.0 * static_cast<double>(bows - 1));
  return {kind, kind, [factor](double) { return factor; }};
}

}  // namespace detail

inline double bow_average_sd(const BowDesign& design) {
  detail::require_bow_spread(design);
  if (design.shots < 1)
    throw DomainError{"bow_power: needs 1 or more shots with each bow, got " + std::to_string(design.shots)};
  const double shot = std::hypot(design.shot_sd, design.step / std::sqrt(12.0));
  return std::hypot(design.bow_sd, shot / std::sqrt(static_cast<double>(design.shots)));
}

inline double bow_gap_sd(double bow_sd) {
  if (!(bow_sd >= 0.0) || !std::isfinite(bow_sd))
    throw DomainError{"bow_gap_sd: needs an SD between bows of 0 or more, got " + std::to_string(bow_sd)};
  return bow_sd * std::numbers::sqrt2;
}

inline PowerResult bow_power(double gap, const BowDesign& design, ConfidenceLevel level) {
  detail::require_gap("bow_power", gap);
  return detail::bow_curve(design.bows, bow_average_sd(design), level).two_sided(gap);
}

inline double bow_power_limit(double gap, const BowDesign& design, ConfidenceLevel level) {
  detail::require_gap("bow_power", gap);
  detail::require_bow_spread(design);
  detail::require_bows(design.bows);
  // The size of the test does not depend on its spread, so at no gap it stays α down to a spread of 0.
  if (gap == 0.0) return level.alpha();
  if (design.bow_sd == 0.0) return 1.0;
  return detail::bow_curve(design.bows, design.bow_sd, level).two_sided(gap).power;
}

inline double bow_detectable_gap(const BowDesign& design, Power power, ConfidenceLevel level) {
  return detectable_gap(detail::bow_curve(design.bows, bow_average_sd(design), level), power);
}

inline double bow_detectable_gap_limit(const BowDesign& design, Power power, ConfidenceLevel level) {
  detail::require_bow_spread(design);
  detail::require_bows(design.bows);
  // In units of the spread, so that the power is judged by the same rules when the spread is 0.
  return design.bow_sd * detectable_gap(detail::bow_curve(design.bows, 1.0, level), power);
}

inline double bow_expected_half_width(const BowDesign& design, ConfidenceLevel level) {
  return detail::bow_curve(design.bows, bow_average_sd(design), level).expected_half_width();
}

inline std::optional<std::int64_t> fewest_shots(const BowShotsQuestion& question) {
  detail::require_gap("fewest_shots", question.gap);
  if (question.gap == 0.0) throw DomainError{"fewest_shots: needs a gap other than 0"};
  BowDesign design{question.bows, 1, question.bow_sd, question.shot_sd, question.step};
  // One detectable gap in units of σ_m answers every n: the test finds the gap when σ_m is small enough.
  detail::require_bows(question.bows);
  const double gap_in_sd = detectable_gap(detail::bow_curve(question.bows, 1.0, question.level), question.power);
  const auto reached = [&](std::int64_t shots) {
    design.shots = shots;
    return gap_in_sd * bow_average_sd(design) <= std::abs(question.gap) * (1.0 + 1e-9);
  };
  if (!reached(most_shots_with_a_bow)) return std::nullopt;
  std::int64_t short_of = 0, enough = most_shots_with_a_bow;
  while (enough - short_of > 1) {
    const std::int64_t middle = short_of + (enough - short_of) / 2;
    (reached(middle) ? enough : short_of) = middle;
  }
  return enough;
}

}  // namespace shotassay
