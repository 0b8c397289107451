#pragma once
#include <array>
#include <optional>
#include <vector>

#include <shotassay/methods/sensitivity.hpp>
#include <shotassay/studies/equal_setups.hpp>
#include <shotassay/studies/rating.hpp>

namespace shotassay {

/// A condition of a shot, with its standard uncertainty where that is known.
struct ShotCondition {
  double value;
  std::optional<double> standard_uncertainty = {};
};

/// Draw weight in lbf, arrow mass in gr, draw length in inches; absent = not told.
struct ShotConditions {
  std::optional<ShotCondition> draw_weight = {}, arrow_mass = {}, draw_length = {};

  const std::optional<ShotCondition>& of(SetupQuantity quantity) const {
    return quantity == SetupQuantity::draw_weight  ? draw_weight
           : quantity == SetupQuantity::arrow_mass ? arrow_mass
                                                   : draw_length;
  }
};

/// The conditions of a convention: the middle of each tolerance, which is rectangular (u = half its width/√3,
/// JCGM 100 4.3.7 and 4.3.8 [gum]); without a tolerance u is absent. What the convention does not fix is included with
/// its usual value: rating.hpp tells which that is.
ShotConditions conditions_of(const RatingConvention& convention);

/// A speed as published, and under which conditions.
struct PublishedSpeed {
  double speed;
  double standard_uncertainty = 0.0;
  ShotConditions conditions = {};
  BowType bow = BowType::any;
};

/// Entered by the user, in the speed's unit for one more lbf (same arrow), gr, in; each replaces its formula.
struct EnteredSensitivities {
  std::optional<Sensitivity> per_lbf = {}, per_grain = {}, per_inch = {};
};

enum class ConversionState {
  applied,    ///< also over a difference of 0: its uncertainty counts
  not_asked,  ///< the common conditions leave it free
  not_told,   ///< asked for, and the publication does not tell it: the speed cannot be brought there
  too_far     ///< refused: beyond largest_difference (3 lbf, 50 gr, 1 in)
};

/// What became of one condition.
struct SpeedConversion {
  SetupQuantity quantity;
  ConversionState state;
  std::optional<double> difference;        ///< common − published, where both are told
  std::optional<Sensitivity> sensitivity;  ///< at the middle of the way, with its origin
  std::optional<double> change;            ///< of the speed
  bool uncertainty_known = false;          ///< of the published condition; false: its part is missing in u
};

struct SpeedAtConditions {
  std::optional<double> speed;  ///< absent when a condition was not told or is too far: half a conversion misleads
  std::optional<double> standard_uncertainty;  ///< of `speed`
  std::array<SpeedConversion, 3> conversions;  ///< draw weight, arrow mass, draw length
  /// Independent inputs beside the speed, and the speed's own contribution: squares sum to u². Empty, 0 without
  /// `speed`.
  std::vector<CorrectionContribution> contributions;
  double speed_contribution = 0.0;
  /// Both draw weight and draw length differ: where a bow without let-off is drawn further its weight rises with it,
  /// and the two count the same energy twice.
  bool weight_and_length_differ = false;
};

/// What would a published speed be under other conditions?
///
///   v′ = v + c_F·ΔF + c_m·Δm + c_L·ΔL,   Δx = x(common) − x(published)
///   u² = Σ (∂v′/∂input · u(input))²      inputs: v, the three conditions, the three sensitivities (JCGM 100 5.1.2)
///
/// c_F is that of an unchanged arrow: the arrow is converted for itself. Sensitivities at the middle of the way, speed
/// included (the formulas are proportional to it, so this needs no iteration): there and back again gives v exactly.
/// The common conditions are exact; their own uncertainties are not read.
///
/// Refused where the conditions lie further apart than 3 lbf, 50 gr or 1 in, and so between any two conventions whose
/// usual values differ. From 60 lbf and 540 gr to 70 lbf and 350 gr the lighter arrow alone brings 240 fps to anything
/// from 278 to 289 (virtual mass unknown between 200 and 70 gr), and another draw weight is another draw curve. A speed
/// shot at 68.5 lbf, 362 gr and 29½ in can be brought to 70, 350 and 30.
///
/// Units     speeds in one unit of any kind.
/// Requires  positive speed and conditions, uncertainties ≥ 0, entered sensitivities with a possible sign (per lbf and
///           per inch ≥ 0, per grain ≤ 0); else DomainError.
/// Source    methods/sensitivity.hpp; JCGM 100:2008 [gum].
SpeedAtConditions speed_at(const ShotConditions& common, const PublishedSpeed& published,
                           const EnteredSensitivities& entered = {});

}  // namespace shotassay
