#include "comparison_words.hpp"

#include <cmath>
#include <set>

namespace shotassay::narrative {

namespace {

std::string beside_margin(MarginPosition position, const std::string& margin) {
  switch (position) {
    case MarginPosition::inside:
      return ", by less than the margin of " + margin;
    case MarginPosition::beyond:
      return ", by more than the margin of " + margin;
    case MarginPosition::across:
      return "; whether by more than the margin of " + margin + " stays open";
  }
  return {};
}

}  // namespace

int shown_decimals(const ComparisonStory& story) { return ComparisonWords{story}.speed().decimals(); }

std::string ComparisonWords::sentence(const GapOutcome& gap) const {
  const auto& margin = story_.comparison.margin;
  if (!gap.deciding().interval)
    return "No range can be given for the gap between " + from(gap) + " and " + to(gap) + ": " +
           document::printable(gap.no_interval) + ".";
  const Interval& interval = *gap.deciding().interval;
  const SpeedWords speed = this->speed(gap);
  switch (gap.verdict) {
    case Verdict::faster:
    case Verdict::slower: {
      const std::string than =
          (gap.verdict == Verdict::faster ? " faster than with " : " slower than with ") + from(gap);
      std::string text = "With " + to(gap) + " the arrows flew " +
                         speed.give_or_take(std::abs(*gap.difference), interval.half_width(), margin, than);
      if (margin) text += beside_margin(*gap.position, speed.as_typed(*margin));
      return text + ".";
    }
    case Verdict::same:
      return "With " + to(gap) + " and with " + from(gap) + " the arrows flew the same within ±" +
             speed.as_typed(*margin) + ": the gap lies between " + speed.side(interval.lower, margin) + " and " +
             speed.side(interval.upper, margin) + " with " + to(gap) + ".";
    case Verdict::open:
      break;
  }
  return open_sentence(gap);
}

HistoryCount counted_history(const ShotHistory& history) {
  HistoryCount count;
  std::set<std::size_t> sheets;
  for (std::size_t i = 0; i < history.strings.size(); ++i) {
    if (history.prior.wild == i) continue;
    const HistoryString& string = history.strings[i];
    ++count.strings;
    count.shots += string.shots;
    count.all_equal += string.all_equal ? 1 : 0;
    sheets.insert(string.sheet);
  }
  count.sheets = sheets.size();
  return count;
}

const MethodOutcome* with_history(const GapOutcome& gap) {
  for (const MethodOutcome& m : gap.methods)
    if (m.history && m.interval) return &m;
  return nullptr;
}

std::string ComparisonWords::open_sentence(const GapOutcome& gap) const {
  const auto& margin = story_.comparison.margin;
  const Interval& interval = *gap.deciding().interval;
  const SpeedWords speed = this->speed(gap);
  return std::string{gap.claim == Claim::kinds_of_bow ? "These bows" : "These shots"} + " do not settle whether " +
         to(gap) + " or " + from(gap) + " is faster: " + to(gap) + " may be anything from " +
         speed.side(interval.lower, margin) + " to " + speed.side(interval.upper, margin) + ".";
}

}  // namespace shotassay::narrative
