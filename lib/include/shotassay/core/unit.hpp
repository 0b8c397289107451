#pragma once
#include <string_view>

namespace shotassay {

enum class SpeedUnit { feet_per_second, metres_per_second };

/// "fps" or "m/s", as printed.
constexpr std::string_view name(SpeedUnit unit) { return unit == SpeedUnit::feet_per_second ? "fps" : "m/s"; }

/// Factor that turns a speed in `from` into one in `to`.
/// One foot is 0.3048 m exactly (international yard and pound agreement, 1959).
constexpr double conversion(SpeedUnit from, SpeedUnit to) {
  if (from == to) return 1.0;
  return from == SpeedUnit::feet_per_second ? 0.3048 : 1.0 / 0.3048;
}

/// A speed, or a difference of speeds, with the unit it was said in.
struct Speed {
  double value;
  SpeedUnit unit;

  constexpr double in(SpeedUnit other) const { return value * conversion(unit, other); }
};

}  // namespace shotassay
