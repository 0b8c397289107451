#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/sensitivity.hpp>
#include <shotassay/methods/widened_gap.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// What a sheet may give as measured on a set-up.
enum class SetupQuantity { draw_weight, arrow_mass, draw_length };

constexpr std::string_view name(SetupQuantity quantity) {
  constexpr std::string_view names[] = {"draw weight", "arrow mass", "draw length"};
  return names[static_cast<int>(quantity)];
}
constexpr std::string_view unit(SetupQuantity quantity) {
  constexpr std::string_view units[] = {"lbf", "gr", "in"};
  return units[static_cast<int>(quantity)];
}

/// Up to this difference a sensitivity is sound: 3 lbf, 50 gr, 1 in. Further off the draw curve and the virtual mass
/// are not the same ones any more.
constexpr double largest_difference(SetupQuantity quantity) {
  constexpr double limits[] = {3.0, 50.0, 1.0};
  return limits[static_cast<int>(quantity)];
}

/// One measured value of a set-up.
struct MeasuredValue {
  double mean;  ///< over the rows that give it
  double low, high;
  std::size_t rows;
  double resolution;            ///< one unit of the last decimal written for this set-up
  double standard_uncertainty;  ///< √(((high − low)² + resolution²)/12)
};

struct SetupMeasurements {
  std::optional<double> average_speed;  ///< in the sheet's unit; absent when no shot is left
  std::optional<MeasuredValue> draw_weight, arrow_mass, draw_length;

  const std::optional<MeasuredValue>& of(SetupQuantity quantity) const {
    return quantity == SetupQuantity::draw_weight  ? draw_weight
           : quantity == SetupQuantity::arrow_mass ? arrow_mass
                                                   : draw_length;
  }
};

/// The values measured on a set-up, excluded shots' rows left out unless no other row gives one.
///
/// Rows often copy one value, so the spread of several is not divided by their number: the true value is taken to lie
/// anywhere between them (rectangular), and the scale shows steps of its last decimal (JCGM 100 F.2.2.1 [gum]).
/// Requires  a set-up of that name; else DomainError.
SetupMeasurements setup_measurements(const Sheet& sheet, std::string_view setup);

/// What stays equal where the draw weights differ.
enum class ArrowMatch {
  same_arrow,             ///< the mass is the same
  same_grains_per_pound,  ///< the stronger bow has the heavier arrow
  neither                 ///< both differ, each is corrected for itself
};

struct EqualSetupsOptions {
  ConfidenceLevel level{0.95};
  std::optional<ArrowMatch> arrows = {};  ///< absent: inferred from the masses
  BowType bow = BowType::any;
  Family family{};
  /// Entered by the user, in the readings' unit for one more lbf, gr, in; each replaces its formula. The one per lbf is
  /// of an unchanged arrow, and the arrow is corrected for itself, unless `arrows` says that it got heavier with the
  /// bow.
  std::optional<Sensitivity> per_lbf = {}, per_grain = {}, per_inch = {};
};

enum class CorrectionState {
  applied,          ///< also when the difference is 0: its uncertainty counts
  as_told,          ///< arrow mass, not measured: the user told that it is the same, or goes with the draw weight
  not_known,        ///< not measured in one of the set-ups, or in neither
  too_far,          ///< refused: the difference is beyond largest_difference
  arrows_not_known  ///< refused: needs to know what the arrows had in common, or the other measurement to tell
};

/// One quantity and what was done about it.
struct SetupCorrection {
  SetupQuantity quantity;
  CorrectionState state;
  std::string reason;  ///< why it was not applied; empty when it was
  std::optional<MeasuredValue> from, to;
  std::optional<double> difference;  ///< to − from
  /// What the correction takes: the difference; of the arrow mass at the same grains per pound what is left of it when
  /// the part that goes with the draw weight is off.
  std::optional<double> corrected_difference;
  std::optional<Sensitivity> sensitivity;
  std::optional<double> correction;            ///< −sensitivity × corrected_difference: is added to the gap
  std::optional<double> standard_uncertainty;  ///< of the correction
};

/// An independent input of the corrections. At the same grains per pound, both sensitivities computed, `per_lbf` is
/// that of an unchanged arrow and acts with the whole difference of the masses: taken apart so, the two are
/// independent.
enum class CorrectionInput { draw_weight, arrow_mass, draw_length, per_lbf, per_grain, per_inch };
struct CorrectionContribution {
  CorrectionInput input;
  double value;  ///< the difference, or the sensitivity
  double standard_uncertainty;
  double weight;        ///< ∂(gap)/∂(input)
  double contribution;  ///< to the standard uncertainty of the gap
};

struct EqualisedGap {
  GapEstimate as_shot;
  /// The gap brought to equal set-ups. Absent when nothing was measured in both, or when any quantity measured in both
  /// was refused: a gap corrected in part would pass for one of equal set-ups.
  std::optional<WidenedGapResult> equalised;
  std::optional<ArrowMatch> arrows;  ///< what was taken; absent when not known
  bool arrows_inferred = false;      ///< from the sheet; false: asked
  bool differ = false;               ///< some quantity measured in both differs
  /// Both draw weight and draw length differ. Where the weight differs only because one bow is drawn further (no
  /// let-off), the two corrections count the same thing twice: the result must say so.
  bool weight_and_length_differ = false;
  std::vector<SetupCorrection> corrections;           ///< draw weight, arrow mass, draw length
  std::vector<CorrectionContribution> contributions;  ///< of `equalised`: their squares sum to w²; empty without it
};

/// What would the gap be, had draw weight, arrow mass and draw length been equal?
///
///   gap₀ = gap − c_F·ΔF − c_m·Δm − c_L·ΔL,   Δx = x(to) − x(from),   w² = Σ (∂gap₀/∂input · u(input))²
///
/// Sensitivities at the mean of the two set-ups (methods/sensitivity.hpp). At the same grains per pound c_F is the
/// small one and Δm is what is left beside gpp·ΔF; to first order both ways give the same gap₀. The interval is
/// widened_gap's with w. Both gaps are in the result; nothing is applied in silence.
///
/// Inferred  same arrow: the masses differ by less than half of their last decimal. Same grains per pound: they differ,
///           so do the draw weights, and m/F agrees within 1 %. Otherwise neither.
/// Units     speeds in the readings' unit; lbf, gr, in.
/// Requires  entered sensitivities with a sign that is possible (per lbf and per inch ≥ 0, per grain ≤ 0), positive
///           measured values; else DomainError.
/// Errors    NoAnswer when a set-up has no shot left.
EqualisedGap equalised_gap(const SetupMeasurements& from, const SetupMeasurements& to, const GapEstimate& as_shot,
                           const EqualSetupsOptions& options = {});

}  // namespace shotassay
