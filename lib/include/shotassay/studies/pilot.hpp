#pragma once
#include <cstdint>
#include <vector>

#include <shotassay/core/sample.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// Readings that differ by shot scatter alone.
struct StringOfShots {
  std::uint32_t setup;  ///< index into Sheet::setups
  Label bow;
  Label session;
  Sample shots;  ///< in row order
};

/// The strings of shots of a sheet: a set-up, a bow and a session each, the check standard's among them. In order of
/// first appearance; a string may be of a single shot.
std::vector<StringOfShots> strings_of_shots(const Sheet& sheet);

/// Readings of a sheet that differ by shot scatter alone: those of one set-up, one bow and one session, the check
/// standard left out. In order of first appearance; a group may be of a single shot.
std::vector<Sample> repeated_shots(const Sheet& sheet);

}  // namespace shotassay
