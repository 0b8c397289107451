#pragma once
#include <array>
#include <cstddef>
#include <span>
#include <string_view>

namespace shotassay {

/// Quantities of the trade that are worked out from measured ones.
enum class NamedQuantity { kinetic_energy, momentum, grains_per_pound, gap, speed };

/// One foot, pound, and standard gravity; a pound is 7000 grains.
/// Source  international yard and pound agreement, 1959; CGPM 1901: exact by definition.
inline constexpr double metres_per_foot = 0.3048;
inline constexpr double kilograms_per_grain = 0.45359237 / 7000.0;
inline constexpr double standard_gravity = 9.80665;
inline constexpr double newtons_per_pound_force = 0.45359237 * standard_gravity;

/// E in ft·lbf = m in gr · v² in fps² / this:  2 · 7000 · g / (0.3048 m) = 450 436.68.
/// The round 450 240 met in the trade stands for g = 32.16 ft/s² and makes every energy 0.044 % larger.
inline constexpr double kinetic_energy_divisor = 2.0 * 7000.0 * standard_gravity / metres_per_foot;

/// p in slug·ft/s = m in gr · v in fps / this.
inline constexpr double momentum_divisor = 7000.0 * standard_gravity / metres_per_foot;

/// A unit as it is typed and printed, and how many of the first unit in its list one of it is.
struct NamedUnit {
  std::string_view name;
  double size;
};

inline constexpr std::array<NamedUnit, 2> arrow_mass_units{{{"gr", 1.0}, {"g", 1e-3 / kilograms_per_grain}}};
inline constexpr std::array<NamedUnit, 2> arrow_speed_units{{{"fps", 1.0}, {"m/s", 1.0 / metres_per_foot}}};
inline constexpr std::array<NamedUnit, 2> draw_weight_units{{{"lbf", 1.0}, {"N", 1.0 / newtons_per_pound_force}}};
inline constexpr std::array<NamedUnit, 2> energy_units{
    {{"ft·lbf", 1.0}, {"J", 1.0 / (metres_per_foot * newtons_per_pound_force)}}};
inline constexpr std::array<NamedUnit, 2> momentum_units{{{"slug·ft/s", 1.0}, {"N·s", 1.0 / newtons_per_pound_force}}};
inline constexpr std::array<NamedUnit, 1> grains_per_pound_units{{{"gr/lbf", 1.0}}};

/// What a quantity is worked out from.
struct QuantityPart {
  std::string_view name;
  std::span<const NamedUnit> units;
};

inline constexpr std::array<QuantityPart, 2> mass_and_speed{
    {{"arrow_mass", arrow_mass_units}, {"speed", arrow_speed_units}}};
inline constexpr std::array<QuantityPart, 2> mass_and_weight{
    {{"arrow_mass", arrow_mass_units}, {"draw_weight", draw_weight_units}}};
inline constexpr std::array<QuantityPart, 2> from_and_to{{{"from", arrow_speed_units}, {"to", arrow_speed_units}}};
inline constexpr std::array<QuantityPart, 1> speed_alone{{{"speed", arrow_speed_units}}};

struct QuantityDefinition {
  NamedQuantity quantity;
  std::string_view name;   ///< as typed: "kinetic_energy"
  std::string_view words;  ///< as said: "kinetic energy"
  std::span<const QuantityPart> parts;
  std::span<const NamedUnit> units;
};

inline constexpr std::array<QuantityDefinition, 5> quantity_definitions{
    {{NamedQuantity::kinetic_energy, "kinetic_energy", "kinetic energy", mass_and_speed, energy_units},
     {NamedQuantity::momentum, "momentum", "momentum", mass_and_speed, momentum_units},
     {NamedQuantity::grains_per_pound, "grains_per_pound", "arrow mass per pound of draw weight", mass_and_weight,
      grains_per_pound_units},
     {NamedQuantity::gap, "gap", "gap", from_and_to, arrow_speed_units},
     {NamedQuantity::speed, "speed", "speed", speed_alone, arrow_speed_units}}};

constexpr const QuantityDefinition& definition(NamedQuantity quantity) {
  return quantity_definitions[static_cast<std::size_t>(quantity)];
}

/// The quantity in the first of its units, its parts in the first of theirs and in the order of its definition:
/// m·v²/450436.68, m·v/225218.34, m/F, to − from, v.
constexpr double value_of(NamedQuantity quantity, std::span<const double> parts) {
  switch (quantity) {
    case NamedQuantity::kinetic_energy:
      return parts[0] * parts[1] * parts[1] / kinetic_energy_divisor;
    case NamedQuantity::momentum:
      return parts[0] * parts[1] / momentum_divisor;
    case NamedQuantity::grains_per_pound:
      return parts[0] / parts[1];
    case NamedQuantity::gap:
      return parts[1] - parts[0];
    case NamedQuantity::speed:
      break;
  }
  return parts[0];
}

}  // namespace shotassay
