#pragma once
#include <string_view>

namespace shotassay {

/// What a figure of the trade rests on.
enum class Grounds {
  source_read,      ///< read in a public copy of the source, often only part of it
  second_hand,      ///< read in somebody's account of the source
  worked_out,       ///< computed here from other figures
  common_practice,  ///< what people of the trade say; no source, no measurement
};

/// The same in words, as printed beside the figure.
constexpr std::string_view words(Grounds grounds) {
  switch (grounds) {
    case Grounds::source_read:
      return "read in the source";
    case Grounds::second_hand:
      return "read second-hand";
    case Grounds::worked_out:
      return "worked out from other figures";
    case Grounds::common_practice:
      break;
  }
  return "common practice, no source";
}

}  // namespace shotassay
