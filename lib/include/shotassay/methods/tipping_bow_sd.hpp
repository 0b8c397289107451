#pragma once
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/widened_gap.hpp>

namespace shotassay {

/// How large would the ordinary bow-to-bow SD σ_b of a kind have to be for the gap of two bows to be nothing but that?
///
///   |gap| = z(1−α/2)·√(2σ_b² + u²)      σ_b = √( ((gap/z)² − u²)/2 )
///
/// An SD of σ_b or more is enough to leave the kinds open. Where ν of u is finite gap_of_kinds opens somewhat below σ_b
/// already: it also counts that u is an estimate.
/// In a family of three or more set-ups z is the family's factor for known SDs, q(1−α; k, ∞)/√2.
/// Absent when the gap of these two bows is open already: its own interval, gap ± H, takes in 0, or |gap| ≤ z·u.
///
/// Units     the gap's.
/// Requires  as widened_gap; else DomainError.
/// Assumes   one bow of each kind, each drawn at random from its kind, both kinds with the same σ_b.
inline std::optional<double> tipping_bow_sd(const GapEstimate& these_bows,
                                            ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{}) {
  const auto [gap, u, nu, half_width] = these_bows;
  detail::require_estimate(these_bows, "tipping_bow_sd");
  const double room = std::abs(gap) - half_width;
  if (!(room > touching_distance(centred(gap, half_width), 0.0))) return std::nullopt;
  const double scaled = std::abs(gap) / family.factor(level.alpha(), std::numeric_limits<double>::infinity());
  const double variance = (scaled - u) * (scaled + u);
  if (!(variance > 0.0)) return std::nullopt;
  return std::sqrt(0.5 * variance);
}

/// Interval for the gap of two kinds from one bow of each, with a bow-to-bow SD that is stated and not estimated:
/// widened_gap with w = σ_b·√2, whose added_share is the share of stated knowledge.
///
/// Units     bow_sd in the gap's unit.
/// Requires  as widened_gap, bow_sd ≥ 0; else DomainError.
/// Assumes   as tipping_bow_sd; the stated SD is right. It stands in for bows that nobody shot.
inline WidenedGapResult gap_of_kinds(const GapEstimate& these_bows, double bow_sd,
                                     ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{}) {
  if (!(bow_sd >= 0.0) || !std::isfinite(bow_sd))
    throw DomainError{"gap_of_kinds: the bow SD must be 0 or more, got " + std::to_string(bow_sd)};
  return widened_gap(these_bows, std::numbers::sqrt2 * bow_sd, level, family);
}

}  // namespace shotassay
