#pragma once
#include <cmath>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>

namespace shotassay {

/// Where a sensitivity comes from.
enum class SensitivityOrigin {
  computed,         ///< from the set-ups' own speed, draw weight and arrow mass
  common_practice,  ///< needs a figure that nobody measured, taken from what is usual for such bows
  entered           ///< by the user
};

/// How much speed a set-up gains for one unit more of something.
struct Sensitivity {
  double value;                 ///< speed per lbf, per grain or per inch, speed in the unit it came in
  double standard_uncertainty;  ///< of `value`, Type B
  SensitivityOrigin origin;
};

/// The kind of bow, where a usual figure depends on it.
enum class BowType { any, recurve, longbow, compound };

/// A figure known by the limits within which it usually lies: rectangular, u = half the width/√3.
struct UsualRange {
  double lower, upper;

  constexpr double middle() const { return 0.5 * (lower + upper); }
  double standard_uncertainty() const { return 0.5 * (upper - lower) / std::numbers::sqrt3; }
};

/// K, the bow's moving parts as extra arrow mass, in grains: 71 to 203 in six worked bows of all types.
inline constexpr UsualRange usual_virtual_mass{70.0, 200.0};

/// Stored energy per peak draw weight, ft·lbf per lbf.
constexpr UsualRange usual_stored_energy(BowType bow) {
  switch (bow) {
    case BowType::recurve:
      return {0.82, 0.97};
    case BowType::longbow:
      return {0.78, 0.95};
    case BowType::compound:
      return {1.2, 1.6};
    case BowType::any:
      break;
  }
  return {0.78, 1.6};
}

/// Relative u of v/(2F) as a model. Shooters report 1.5 to 2 fps per lbf where it gives 1.7 to 2.4, and less with limb
/// bolts far out: ±35 % about it, rectangular.
inline constexpr double draw_weight_model_uncertainty = 0.20;

/// Relative u of v/(24r) as a model: quantities of bows computed from their mechanics missed those measured by about 7
/// %.
inline constexpr double draw_length_model_uncertainty = 0.07;

/// A set-up as the formulas need it.
struct SpeedAndWeight {
  double speed;        ///< average, any unit of speed
  double draw_weight;  ///< peak, lbf
};
struct SpeedAndMass {
  double speed;
  double arrow_mass;  ///< gr
};
struct SpeedWeightMass {
  double speed;
  double draw_weight;  ///< lbf
  double arrow_mass;   ///< gr
};

/// Speed per lbf of draw weight with the same arrow:  v/(2F),  u = 20 % of it.
///
/// From v = √(kE/(m + K)) with E in proportion to F: draw curve and virtual mass unchanged, which holds for small
/// changes (see largest_difference in studies/equal_setups.hpp).
/// Requires  positive speed and draw weight; else DomainError.
Sensitivity per_lbf_same_arrow(const SpeedAndWeight& setup);

/// Speed per lbf when the arrow gets heavier with the bow, the same grains per pound:
///
///   v/2·(1/F − gpp/(m + K)) = v·K / (2F(m + K)),   gpp = m/F
///   u² = (20 % of v/(2F))² + ( v·gpp/(2(m + K)²)·u_K )²
///
/// Requires  positive speed, draw weight and arrow mass; else DomainError.
Sensitivity per_lbf_same_gpp(const SpeedWeightMass& setup, UsualRange virtual_mass = usual_virtual_mass);

/// Speed per grain of arrow mass:  −v/(2(m + K)),  u = v/(2(m + K)²)·u_K.
/// Requires  positive speed and arrow mass, 0 ≤ K's lower limit ≤ its upper; else DomainError.
Sensitivity per_grain(const SpeedAndMass& setup, UsualRange virtual_mass = usual_virtual_mass);

/// Speed per inch of draw length at full weight:  v·F/(2E·12) = v/(24r),  r = E/F the stored energy per lbf.
///
/// relative u² = (u_r/r)² + 7 %².   The draw weight is not needed. For a bow let off in a valley the inch is one of the
/// cam module, not of the archer's creep.
/// Requires  positive speed, 0 < r's lower limit ≤ its upper; else DomainError.
Sensitivity per_inch(double speed, UsualRange stored_energy_per_lbf);
Sensitivity per_inch(double speed, BowType bow = BowType::any);

/// A sensitivity that the user entered.   Requires  finite value, u ≥ 0; else DomainError.
Sensitivity entered_sensitivity(double value, double standard_uncertainty);

namespace detail {

inline void require_positive(double x, const char* what) {
  if (!(x > 0.0) || !std::isfinite(x))
    throw DomainError{std::string{"sensitivity: "} + what + " must be positive, got " + std::to_string(x)};
}

inline void require_range(UsualRange range, double least, const char* what) {
  if (!(range.lower >= least) || !(range.upper >= range.lower) || !std::isfinite(range.upper))
    throw DomainError{std::string{"sensitivity: "} + what + " must lie in a range above 0, got " +
                      std::to_string(range.lower) + " to " + std::to_string(range.upper)};
}

}  // namespace detail

inline Sensitivity per_lbf_same_arrow(const SpeedAndWeight& setup) {
  detail::require_positive(setup.speed, "speed");
  detail::require_positive(setup.draw_weight, "draw weight");
  const double value = setup.speed / (2.0 * setup.draw_weight);
  return {.value = value,
          .standard_uncertainty = draw_weight_model_uncertainty * value,
          .origin = SensitivityOrigin::computed};
}

inline Sensitivity per_grain(const SpeedAndMass& setup, UsualRange virtual_mass) {
  detail::require_positive(setup.speed, "speed");
  detail::require_positive(setup.arrow_mass, "arrow mass");
  detail::require_range(virtual_mass, 0.0, "virtual mass");
  const double moved = setup.arrow_mass + virtual_mass.middle();
  const double value = -setup.speed / (2.0 * moved);
  return {.value = value,
          .standard_uncertainty = -value / moved * virtual_mass.standard_uncertainty(),
          .origin = SensitivityOrigin::common_practice};
}

inline Sensitivity per_lbf_same_gpp(const SpeedWeightMass& setup, UsualRange virtual_mass) {
  const Sensitivity weight = per_lbf_same_arrow({.speed = setup.speed, .draw_weight = setup.draw_weight});
  const Sensitivity mass = per_grain({.speed = setup.speed, .arrow_mass = setup.arrow_mass}, virtual_mass);
  const double gpp = setup.arrow_mass / setup.draw_weight;
  const double k = virtual_mass.middle();
  return {.value = weight.value * k / (setup.arrow_mass + k),
          .standard_uncertainty = std::hypot(weight.standard_uncertainty, gpp * mass.standard_uncertainty),
          .origin = SensitivityOrigin::common_practice};
}

inline Sensitivity per_inch(double speed, UsualRange stored_energy_per_lbf) {
  detail::require_positive(speed, "speed");
  detail::require_positive(stored_energy_per_lbf.lower, "stored energy per lbf");
  detail::require_range(stored_energy_per_lbf, 0.0, "stored energy per lbf");
  const double r = stored_energy_per_lbf.middle();
  const double value = speed / (24.0 * r);
  const double relative = std::hypot(stored_energy_per_lbf.standard_uncertainty() / r, draw_length_model_uncertainty);
  return {.value = value, .standard_uncertainty = value * relative, .origin = SensitivityOrigin::common_practice};
}

inline Sensitivity per_inch(double speed, BowType bow) { return per_inch(speed, usual_stored_energy(bow)); }

inline Sensitivity entered_sensitivity(double value, double standard_uncertainty) {
  if (!std::isfinite(value)) throw DomainError{"a sensitivity must be a number"};
  if (!(standard_uncertainty >= 0.0) || !std::isfinite(standard_uncertainty))
    throw DomainError{"the standard uncertainty of a sensitivity must be 0 or more, got " +
                      std::to_string(standard_uncertainty)};
  return {.value = value, .standard_uncertainty = standard_uncertainty, .origin = SensitivityOrigin::entered};
}

}  // namespace shotassay
