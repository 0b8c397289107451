#include "scope_words.hpp"

#include <tuple>

#include "../document/formatted.hpp"

namespace shotassay::narrative {

namespace {

std::string whole(std::int64_t n, const std::string& noun) { return counted(static_cast<std::size_t>(n), noun); }

/// "find a true gap of 1.5 fps"; short: "one of 1.5 fps"
std::string achieves(const Need& need, const ComparisonWords& words, bool first) {
  if (need.same_within)
    return "show the two to lie within ±" + words.speed().as_typed(*need.same_within) +
           " of each other if they do not differ";
  return (first ? "find a true gap of " : "one of ") + words.speed().with_unit(*need.gap);
}

/// How many it takes, of what the code asks for; absent numbers are beyond reach.
std::string amount(const Need& need, bool first) {
  const std::string each = first && need.shots ? ", " + whole(*need.shots, "shot") + " with each," : "";
  switch (need.code) {
    case NeedCode::more_shots:
      return need.shots ? formatted("{} shots{}", *need.shots, first ? " with each set-up" : "")
                        : "no number of shots up to 10\u00a0000";
    case NeedCode::several_days:
      return need.sessions ? formatted("{}{}", *need.sessions, first ? " sessions in all" : "")
                           : "no number of sessions up to 10\u00a0000";
    default:
      break;
  }
  if (!need.bows) return "no number of bows up to 1000";
  if (*need.more_bows == 0) return formatted("{} bows of each kind in a new test{}", *need.bows, each);
  return first ? formatted("{} of each kind ({} in all){}", whole(*need.more_bows, "more bow"), *need.bows, each)
               : formatted("{} more ({} in all)", *need.more_bows, *need.bows);
}

std::string premise(NeedCode code) {
  switch (code) {
    case NeedCode::several_days:
      return "If days differ as these did, ";
    case NeedCode::several_bows:
      return "With that SD ";
    case NeedCode::more_bows:
      return "If bows differ as these did, ";
    default:
      return "If shots scatter as these did, ";
  }
}

}  // namespace

std::string need_phrase(const Need& need, const ComparisonWords& words) {
  if (need.code == NeedCode::finer_display && need.asks_for_numbers())
    return "a chronograph that shows a smaller step, to " + achieves(need, words, true) + " " + times(*need.power);
  if (need.asks_for_numbers()) return amount(need, true) + " " + achieves(need, words, true) + " " + times(*need.power);
  switch (need.code) {
    case NeedCode::second_shot:
      return "two or more shots with each set-up";
    case NeedCode::finer_display:
      return "a chronograph that shows a smaller step";
    case NeedCode::several_days:
      return formatted("the test on {} days or more, to speak of any day", *need.sessions);
    case NeedCode::second_bow:
      return "a second bow of each set-up that has one, to speak of kinds of bow";
    default:
      return "several bows of each kind, to speak of kinds of bow";
  }
}

std::string needs_sentence(NeedCode code, const GapOutcome& gap, const ComparisonWords& words) {
  std::string text;
  const Need* last = nullptr;
  for (const Need& need : gap.needs) {
    if (need.code != code || !need.asks_for_numbers()) continue;
    // As many as find a smaller gap find this one too.
    const auto numbers = [](const Need& n) { return std::tuple{n.shots, n.bows, n.sessions}; };
    if (last && last->gap && need.gap && *last->gap < *need.gap && numbers(*last) == numbers(need)) continue;
    const bool first = last == nullptr;
    text += (first ? premise(code) : "; ") + amount(need, first) + " " + achieves(need, words, first);
    if (first) text += " " + times(*need.power);
    last = &need;
  }
  return text.empty() ? text : text + ".";
}

}  // namespace shotassay::narrative
