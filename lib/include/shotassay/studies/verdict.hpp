#pragma once
#include <optional>
#include <string_view>

#include <shotassay/core/interval.hpp>
#include <shotassay/methods/equivalence.hpp>

namespace shotassay {

/// What may be said of a gap: `to` against `from`.
enum class Verdict { faster, slower, same, open };

constexpr std::string_view name(Verdict verdict) {
  constexpr std::string_view names[] = {"faster", "slower", "same", "open"};
  return names[static_cast<int>(verdict)];
}

/// The verdict that an interval for a gap carries.
///
/// `faster` or `slower` when the interval leaves out 0 (a limit exactly on 0 does not), even when it also lies inside
/// the margin; `same` when a margin was given and the whole interval lies inside it; otherwise `open`, which is never
/// "no difference". Without an interval: `open`.
inline Verdict verdict(const std::optional<Interval>& interval, std::optional<double> margin = std::nullopt) {
  if (!interval) return Verdict::open;
  const double slack = touching_distance(*interval, 0.0);
  if (interval->lower > slack) return Verdict::faster;
  if (interval->upper < -slack) return Verdict::slower;
  if (margin && margin_position(*interval, *margin) == MarginPosition::inside) return Verdict::same;
  return Verdict::open;
}

}  // namespace shotassay
