#pragma once
#include <array>
#include <optional>
#include <string_view>

namespace shotassay {

/// Who or what lets the arrow go.
struct Shooter {
  std::string_view name;  ///< as typed
  double sd;              ///< of a shot, in fps: where to start from when nothing was measured
  double high;            ///< top of the usual range, in fps
  std::string_view words;
};

/// Usual scatter of shots. A judgement from common practice, with no source; whoever uses it says "assumed".
inline constexpr std::array shooters{
    Shooter{"machine", 0.4, 0.9, "a shooting machine, 0.4 fps or less as a rule and up to 0.9"},
    Shooter{"release", 1.0, 1.5, "a compound bow shot by hand with a release aid, 0.5 to 1.5 fps"},
    Shooter{"fingers", 2.0, 3.0, "a bow shot with the fingers, 1 to 3 fps"},
};

constexpr std::optional<Shooter> shooter_named(std::string_view name) {
  for (const Shooter& s : shooters)
    if (s.name == name) return s;
  return std::nullopt;
}

}  // namespace shotassay
