#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/methods/propagation.hpp>
#include <shotassay/records/budget_file.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/budget.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/equal_setups.hpp>

namespace shotassay {

/// How wrong a chronograph may be, as its maker states it: the limits of a rectangular distribution, common to all
/// shots of a test.
struct StatedAccuracy {
  double relative = 0.0;  ///< half-width as a share of the speed: 0.005 is 0.5 %
  double absolute = 0.0;  ///< half-width in speed, in the readings' unit
};

/// Reads "0.5 %", "±0.5%", "2 fps", "0.3 m/s", or a number alone, which is in `unit`. Absent for any other text, and
/// for one below 1e-6, above a million or from 100 % on.
std::optional<StatedAccuracy> stated_accuracy(std::string_view text, SpeedUnit unit);

/// What is known of a test beside its readings.
struct StatedKnowledge {
  std::optional<StatedAccuracy> accuracy = {};
  /// SD between two settings-up of one set-up (string off and on, limb bolts, nocking point); in the readings' unit.
  /// Not used where bows decide: each was set up by itself, and their spread holds it.
  std::optional<double> setting_sd = {};
};

/// A budget of something in a comparison: `stated` names its inputs and their units.
struct ComparedBudget {
  BudgetFile stated;
  BudgetQuestion question;
  BudgetAnswer answer;
};

/// How the budgets are worked out.
struct GapBudgetOptions {
  SpeedUnit printed = SpeedUnit::feet_per_second;  ///< all speeds of the budgets are in it
  StatedKnowledge known = {};
  std::optional<int> decimals = {};                              ///< of the speeds, as BudgetQuestion takes them
  std::uint64_t most_trials = PropagationOptions{}.most_trials;  ///< of propagation
  std::uint64_t seed = 1;
  unsigned threads = 1;
};

/// How well is the average speed of one set-up known, and what is that made of?
///
///   speed = (ȳ + rounding + setting)·(1 + scale) + offset
///
/// ȳ: Type A, s/√n with s not below what the display hides (`rounding_aware`), n − 1 degrees of freedom. rounding:
/// where the readings span one step or less the display's error is common to them, rectangular, ± half a step at most;
/// in a wider spread it is part of the scatter. With two bows or more ȳ is the average of their averages, s their SD
/// and n their number.
///
/// Requires  two shots or more; else NoAnswer.
ComparedBudget speed_budget(const ComparedSetup& setup, ConfidenceLevel level, SpeedUnit sheet_unit,
                            const GapBudgetOptions& options);

/// How well is the gap between two set-ups known, and what is that made of?
///
///   gap = speed(to) − speed(from) − c_F·ΔF − c_m·(Δm − gpp·ΔF) − c_L·ΔL
///
/// with the speeds as above, one scale and one offset for both: of a chronograph's scale error e the gap keeps e·gap,
/// of its offset nothing. Where bows decide, one input holds the gap of their averages with the standard error and the
/// degrees of freedom of `bow_means`. The corrections are those of `equal`, where it could bring the gap to equal
/// set-ups; otherwise the budget is of the gap as shot. For this gap alone, even in a family.
///
/// Requires  the set-ups that were compared, and a gap with an interval; else NoAnswer.
ComparedBudget gap_budget(const std::vector<ComparedSetup>& setups, const GapOutcome& gap,
                          const std::optional<EqualisedGap>& equal, ConfidenceLevel level, SpeedUnit sheet_unit,
                          const GapBudgetOptions& options);

}  // namespace shotassay
