#pragma once
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/unit.hpp>
#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/equal_setups.hpp>
#include <shotassay/studies/gap_budget.hpp>
#include <shotassay/studies/influence.hpp>
#include <shotassay/studies/planned_test.hpp>

namespace shotassay::narrative {

/// A comparison with what has to be known of the sheet to speak of it.
struct ComparisonStory {
  const Comparison& comparison;
  const Sheet& sheet;
  SpeedUnit printed;                                  ///< every speed is converted to it
  std::optional<std::uint64_t> seed = std::nullopt;   ///< of the resamples, where they were drawn
  std::optional<PlannedTest> planned = std::nullopt;  ///< of a sheet that a plan wrote
  std::vector<GapInfluence> influence = {};           ///< of each gap, in their order; empty where it was not asked
  std::span<const Sheet> earlier = {};                ///< the sheets behind the comparison's history
  std::span<const std::string> earlier_names = {};    ///< their files, in the same order
  /// Each gap brought to equal set-ups, in their order; empty where the sheet has no measured values.
  std::vector<std::optional<EqualisedGap>> equal_setups = {};
  /// Budgets of each gap and of each set-up's speed, in their order; empty where they were not asked.
  std::vector<std::optional<ComparedBudget>> gap_budgets = {}, speed_budgets = {};
  StatedKnowledge known = {};  ///< that went into them
};

/// Decimals that speeds have in the answer: one more than the display shows.
int shown_decimals(const ComparisonStory& story);

/// What a reader of the result must know: exclusions, assumptions, limits of the methods asked for.
std::vector<Note> comparison_notes(const ComparisonStory& story);

/// The answer for a person: sentence, gap, shots, what is carried and what is not, what would settle it, numbers.
document::Document comparison_document(const ComparisonStory& story);

/// The same as a page that travels: with the methods and their sources, the sheet as read, and, where somebody is told
/// to shoot, the cautions.
document::Document comparison_page(const ComparisonStory& story);

/// The answer for a program: `result` of docs/reference/json.md.
document::Data comparison_data(const ComparisonStory& story);

}  // namespace shotassay::narrative
