#pragma once
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/welch_power.hpp>

namespace shotassay {

/// What an interval speaks of.
enum class Claim {
  readings,        ///< nothing beyond the readings themselves
  setups_today,    ///< the specimens shot, as they stood in this test
  setups_any_day,  ///< the same specimens on any day
  kinds_of_bow     ///< all bows of these kinds
};

constexpr std::string_view name(Claim claim) {
  constexpr std::string_view names[] = {"readings", "setups_today", "setups_any_day", "kinds_of_bow"};
  return names[static_cast<int>(claim)];
}

enum class NeedCode {
  second_shot,    ///< two shots with each, before there is any range
  more_shots,     ///< a test with so many shots with each
  finer_display,  ///< no number of shots does
  several_days,   ///< so many sessions
  several_bows,   ///< so many bows of each kind, where one of each was shot
  second_bow,     ///< of those set-ups that have one, where others have several
  more_bows       ///< so many bows of each kind, where each kind has several
};

constexpr std::string_view name(NeedCode code) {
  constexpr std::string_view names[] = {"second_shot",  "more_shots", "finer_display", "several_days",
                                        "several_bows", "second_bow", "more_bows"};
  return names[static_cast<int>(code)];
}

/// What a claim that these readings do not carry would take. Numbers of a test that achieves `gap` or `same_within`
/// with `power`, if scatter is as it was seen or stated; absent where they cannot be known, or are out of reach.
struct Need {
  NeedCode code;
  Claim claim;                             ///< the one that would be carried
  std::optional<double> gap = {};          ///< true gap that is found
  std::optional<double> same_within = {};  ///< margin within which two that do not differ are shown to be the same
  std::optional<double> power = {};
  std::optional<std::int64_t> shots = {};                 ///< with each set-up; with each bow where bows are asked for
  std::optional<std::int64_t> bows = {}, more_bows = {};  ///< of each kind; `more` than were shot
  std::optional<std::int64_t> sessions = {}, more_sessions = {};  ///< in which both set-ups are shot
  std::optional<double> two_sessions_wider = {};  ///< how many times as wide a range from two would be, on average

  bool asks_for_numbers() const { return power.has_value(); }
};

/// The gaps that a further test shall be able to judge: the margin, and one like the gap seen.
struct GapsAsked {
  double seen;  ///< its size, a display step at least
  std::optional<double> margin;

  GapsAsked(double difference, DisplayStep step, std::optional<double> margin);
};

/// With what power a further test shall reach what is asked of it.
constexpr double usual_power = 0.8;

/// Shots with each set-up that find each gap, and that show the same within the margin when there is no gap.
///
/// By Welch's interval with the SDs of the readings; of a pair then looked for upwards by the power of the interval
/// that `compare` rests on (see DesignPower), while its lattice is cheap to count: that is where scatter is small and
/// the display hides gaps, and else the two agree. A goal that the display hides so much that this short search finds
/// no number has the code finer_display.
///
/// Units     gaps and SDs in one unit; the SDs are of readings, display and all. Those before the display are taken to
///           be a tenth of a step at least, for a display that repeats itself hides scatter.
/// Requires  as sample_size.   Absent shots: more than 10 000, or a finer display.
std::vector<Need> shots_needed(const GapsAsked& asked, GroupDesign a, GroupDesign b, DisplayStep step,
                               ConfidenceLevel level, Family family);

/// The sessions that it takes to speak of any day, where there was one: four, from which on a range is worth having.
Need sessions_needed(ConfidenceLevel level);

/// Sessions that find each gap, with the SD of the sessions' gaps as it was seen; at a level that chance alone beats,
/// as where there was one session.   Requires  as fewest_sessions.
std::vector<Need> sessions_needed(const GapsAsked& asked, double sd_of_gaps, std::int64_t seen, ConfidenceLevel level);

/// What is stated or was seen of bows and shots.
struct StatedBows {
  double bow_sd;   ///< as stated
  double shot_sd;  ///< of the readings, display and all
};

/// Bows of each kind and shots with each that find each gap, where one bow of each was shot: the cheapest such test, a
/// bow counted as ten shots (see bow_plan).   Absent numbers: beyond bow_plan's reach.
std::vector<Need> bows_needed(const GapsAsked& asked, StatedBows stated, DisplayStep step, ConfidenceLevel level);

/// Bows of each kind, as averages of as many shots as now.
struct BowsSeen {
  std::int64_t bows;   ///< of the kind that has fewer
  std::int64_t shots;  ///< with each, on average
  double spread;       ///< SD of bow averages of a kind, which holds what those shots add to it
};

/// Bows of each kind that find each gap, and that show the same within the margin when there is no gap.
/// Absent bows: more than 1000.
std::vector<Need> bows_needed(const GapsAsked& asked, const BowsSeen& seen, ConfidenceLevel level);

}  // namespace shotassay
