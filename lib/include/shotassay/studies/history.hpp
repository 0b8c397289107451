#pragma once
#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/methods/scatter_history.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// One string of shots of an earlier sheet.
struct HistoryString {
  std::size_t sheet;  ///< index into the sheets given
  std::string setup;
  std::string bow;      ///< empty = not given
  std::string session;  ///< empty = not given
  std::size_t shots;
  bool all_equal;         ///< its SD of 0 was lifted to what one display cell hides
  StringScatter scatter;  ///< in the unit asked, as on the display asked
};

/// The strings of earlier tests and what they say of the SD of the next one.
struct ShotHistory {
  std::vector<HistoryString> strings;  ///< sheet by sheet, in order of first appearance
  std::size_t single_shots;            ///< set-ups, bows or sessions with one shot: no scatter, left out
  ScatterPrior prior;                  ///< `wild` is an index into `strings`
};

/// What did earlier sheets by the same shooter show of shot-to-shot scatter?
///
/// A string is the shots of one set-up, one bow and one session, two or more of them; the check standard counts like
/// any other. `unit` and `display_step` are those of the test that the prior is for: a sheet in another unit is
/// converted, one from another display is brought to this one by `string_scatter`.
///
/// Requires  nothing but sheets that were read. Fewer than three strings: NoAnswer.
ShotHistory shot_history(std::span<const Sheet> earlier, SpeedUnit unit, DisplayStep display_step, bool robust = true);

}  // namespace shotassay
