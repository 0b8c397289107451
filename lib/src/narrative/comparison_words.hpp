#pragma once
#include <string>
#include <vector>

#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/comparison.hpp>

#include "wording.hpp"

namespace shotassay::narrative {

/// The names and numbers of one story, ready to be put into sentences.
class ComparisonWords {
 public:
  explicit ComparisonWords(const ComparisonStory& story)
      : story_{story}, speed_{story.comparison.display_step, story.sheet.unit, story.printed} {}

  const SpeedWords& speed() const { return speed_; }
  /// With decimals enough for the range of this gap, or of this average.
  SpeedWords speed(const GapOutcome& gap) const { return speed_for(gap.deciding()); }
  SpeedWords speed(const SetupOutcome& of) const { return of.methods.empty() ? speed_ : speed_for(of.methods.front()); }
  std::string setup(std::size_t index) const { return document::shown_name(story_.comparison.setups[index].name); }
  std::string from(const GapOutcome& gap) const { return setup(gap.from); }
  std::string to(const GapOutcome& gap) const { return setup(gap.to); }
  /// "18 strands against 14 strands"
  std::string pair(const GapOutcome& gap) const { return to(gap) + " against " + from(gap); }

  /// Name of an earlier sheet's file, as typed.
  std::string earlier_sheet(std::size_t index) const {
    return index < story_.earlier_names.size() ? story_.earlier_names[index]
                                               : "earlier sheet " + std::to_string(index + 1);
  }

  /// The sentence one could say aloud.
  std::string sentence(const GapOutcome& gap) const;

 private:
  SpeedWords speed_for(const MethodOutcome& m) const {
    return m.interval ? speed_.fine_enough_for(m.interval->half_width()) : speed_;
  }
  std::string open_sentence(const GapOutcome& gap) const;

  ComparisonStory story_;
  SpeedWords speed_;
};

/// What a history rests on: a string set aside as wild is not counted.
struct HistoryCount {
  std::size_t strings = 0, shots = 0, sheets = 0;
  std::size_t all_equal = 0;  ///< strings of equal readings
};

HistoryCount counted_history(const ShotHistory& history);

/// The outcome of `moderated`, where it has a range.
const MethodOutcome* with_history(const GapOutcome& gap);

}  // namespace shotassay::narrative
