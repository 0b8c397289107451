#pragma once
#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace shotassay {

/// What a reader has to know of a published speed before it can be checked.
enum class ReportedItem {
  convention,       ///< which rating, if any
  draw_weight,      ///< and whether measured or as marked on the bow
  draw_length,      ///< and how defined
  arrow_mass,       ///< in grains
  string_dressing,  ///< bowstring bare or with loop, peep, silencers
  distance,         ///< from bow to chronograph
  shots,            ///< how many
  average_or_best,  ///< which of them the speed is
  scatter,          ///< SD, spread or the readings themselves
  shooter,          ///< machine or hand, release aid or fingers
  order,            ///< how the shots of the set-ups alternated
  same_arrow,       ///< for both set-ups
  bows,             ///< how many of each kind
  display_step,     ///< the chronograph's resolution
  accuracy,         ///< the chronograph's, beyond its display
  surroundings      ///< date, place, light, temperature
};

/// One line of the checklist.
struct ChecklistItem {
  ReportedItem item;
  std::string_view name;  ///< as typed: "arrow_mass"
  bool of_a_comparison;   ///< asked only where two set-ups are compared
};

inline constexpr std::array<ChecklistItem, 16> checklist{{{ReportedItem::convention, "convention", false},
                                                          {ReportedItem::draw_weight, "draw_weight", false},
                                                          {ReportedItem::draw_length, "draw_length", false},
                                                          {ReportedItem::arrow_mass, "arrow_mass", false},
                                                          {ReportedItem::string_dressing, "string_dressing", false},
                                                          {ReportedItem::distance, "distance", false},
                                                          {ReportedItem::shots, "shots", false},
                                                          {ReportedItem::average_or_best, "average_or_best", false},
                                                          {ReportedItem::scatter, "scatter", false},
                                                          {ReportedItem::shooter, "shooter", false},
                                                          {ReportedItem::order, "order", true},
                                                          {ReportedItem::same_arrow, "same_arrow", true},
                                                          {ReportedItem::bows, "bows", false},
                                                          {ReportedItem::display_step, "display_step", false},
                                                          {ReportedItem::accuracy, "accuracy", false},
                                                          {ReportedItem::surroundings, "surroundings", false}}};

constexpr std::optional<ReportedItem> reported_item_named(std::string_view name) {
  for (const ChecklistItem& line : checklist)
    if (line.name == name) return line.item;
  return std::nullopt;
}

/// A missing item is not a fault found: on that point the speed cannot be checked, and no more is said.
enum class ReportedState { stated, cannot_be_checked, not_asked };

/// What a publication states, item by item, in its own words ("70 lb, as marked").
class ReportedConditions {
 public:
  void state(ReportedItem item, std::string words) { words_[index(item)] = std::move(words); }

  const std::optional<std::string>& words(ReportedItem item) const { return words_[index(item)]; }

  /// `comparison`: the publication sets two set-ups side by side. What only a comparison can tell is not asked
  /// otherwise.
  ReportedState state_of(ReportedItem item, bool comparison) const {
    if (checklist[index(item)].of_a_comparison && !comparison) return ReportedState::not_asked;
    return words(item) ? ReportedState::stated : ReportedState::cannot_be_checked;
  }

  std::size_t count(ReportedState state, bool comparison) const {
    return static_cast<std::size_t>(std::count_if(checklist.begin(), checklist.end(), [&](const ChecklistItem& line) {
      return state_of(line.item, comparison) == state;
    }));
  }

 private:
  static constexpr std::size_t index(ReportedItem item) { return static_cast<std::size_t>(item); }

  std::array<std::optional<std::string>, checklist.size()> words_;
};

}  // namespace shotassay
