#pragma once
#include <vector>

#include <shotassay/core/sample.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// Readings of a sheet that differ by shot scatter alone: those of one set-up, one bow and one session, the check
/// standard left out. In order of first appearance; a group may be of a single shot.
std::vector<Sample> repeated_shots(const Sheet& sheet);

}  // namespace shotassay
