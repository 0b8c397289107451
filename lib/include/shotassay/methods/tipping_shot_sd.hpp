#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>

namespace shotassay {

/// With which SD of a shot, the same in both set-ups, is a gap only just told from none?
///
///   s = |gap| / ( t(1−α/2; ν)·√(1/n_a + 1/n_b) )
///   ν = (1/n_a + 1/n_b)² / ( 1/(n_a²(n_a−1)) + 1/(n_b²(n_b−1)) )
///
/// Plain Welch leaves out 0 for every common SD below s and for none from s on, where a limit falls on 0. Figures of
/// which only averages are known say nothing of their scatter; s is what to compare the usual scatter with.
/// With `family` of k ≥ 3 set-ups t becomes q(1−α; k, ν)/√2. Absent for a gap of 0: no SD is small enough.
///
/// Units     that of the gap.
/// Requires  2 or more shots in each, a finite gap; else DomainError.
/// Assumes   both sets of shots with the very same sample SD; with unequal ones ν and the answer differ.
/// Accuracy  that of the t quantile, 1e-14.
/// Source    Welch (1947) [welch1947], solved for the SD.
inline std::optional<double> tipping_shot_sd(double gap, std::int64_t shots_a, std::int64_t shots_b,
                                             ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{}) {
  for (const std::int64_t n : {shots_a, shots_b})
    if (n < 2) throw DomainError{"tipping_shot_sd: needs 2 or more shots in a set-up, got " + std::to_string(n)};
  if (!std::isfinite(gap)) throw DomainError{"tipping_shot_sd: the gap must be a number"};
  if (gap == 0.0) return std::nullopt;
  const double n = static_cast<double>(shots_a), m = static_cast<double>(shots_b);
  const double a = m / (n + m), b = n / (n + m);  // shares of the variance of the gap
  const double nu = 1.0 / (a * a / (n - 1.0) + b * b / (m - 1.0));
  return std::abs(gap) / (family.factor(level.alpha(), nu) * std::sqrt(1.0 / n + 1.0 / m));
}

/// The same of a gap that was printed, and of what it may stand for.
struct TippingShotSd {
  std::optional<double> at_printed;
  std::optional<double> lowest;   ///< at the smallest gap it may stand for; absent when that is 0
  std::optional<double> highest;  ///< at the largest
};

/// `range` are the gaps that the printed one may stand for; with 0 inside, or on its end, nothing bounds from below.
inline TippingShotSd tipping_shot_sd(double printed_gap, const Interval& range, std::int64_t shots_a,
                                     std::int64_t shots_b, ConfidenceLevel level = ConfidenceLevel{0.95},
                                     Family family = Family{}) {
  if (!(range.lower <= range.upper))
    throw DomainError{"tipping_shot_sd: needs a range of gaps, got " + std::to_string(range.lower) + " to " +
                      std::to_string(range.upper)};
  const auto at = [&](double gap) { return tipping_shot_sd(gap, shots_a, shots_b, level, family); };
  const double far = std::max(std::abs(range.lower), std::abs(range.upper));
  const double near = range.contains(0.0) ? 0.0 : std::min(std::abs(range.lower), std::abs(range.upper));
  return {.at_printed = at(printed_gap), .lowest = at(near), .highest = at(far)};
}

}  // namespace shotassay
