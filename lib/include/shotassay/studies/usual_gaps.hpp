#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>

#include <shotassay/methods/sensitivity.hpp>
#include <shotassay/studies/grounds.hpp>

namespace shotassay {

/// Two things that ought to shoot alike and do not quite.
enum class LikePair {
  bows_of_one_kind,  ///< nominally identical bows
  bow_set_up_anew,   ///< one bow, its limb bolts turned away and back
  ratings,           ///< two honest ratings of one bow, each within the tolerances of its standard
  archers            ///< one bow, one arrow, two archers
};

/// A gap that may be met between such two.
struct UsualGap {
  LikePair pair;
  std::optional<UsualRange> fps;  ///< absent where no figure is known
  Grounds grounds;
  std::string_view words;
};

/// How large a gap do things that ought to shoot alike show? A yardstick beside a published gap, never an input of a
/// computation: what bows of one kind differ by was measured by nobody that is known of, so there is no figure for it,
/// and whoever needs one states it (methods/tipping_bow_sd.hpp asks the other way round).
inline constexpr std::array<UsualGap, 4> usual_gaps{
    {{LikePair::bows_of_one_kind, std::nullopt, Grounds::common_practice, "two bows of one kind, a few fps"},
     {LikePair::bow_set_up_anew, UsualRange{0.5, 1.2}, Grounds::worked_out,
      "one bow after its limb bolts were turned and set back, 0.5 to 1.2 fps"},
     {LikePair::ratings, UsualRange{2.0, 3.0}, Grounds::worked_out,
      "two ratings of one bow, both within their tolerances, 2 to 3 fps"},
     {LikePair::archers, std::nullopt, Grounds::second_hand,
      "two archers with one bow and one arrow, 10 fps or more"}}};

constexpr const UsualGap& usual_gap(LikePair pair) { return usual_gaps[static_cast<std::size_t>(pair)]; }

}  // namespace shotassay
