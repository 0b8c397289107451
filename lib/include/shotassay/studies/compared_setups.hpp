#pragma once
#include <string>
#include <vector>

#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/comparison.hpp>

namespace shotassay {

/// The set-ups of a sheet as a comparison takes them, the check standard left out: in the order of
/// the plan that wrote the sheet, those it does not name and all of another sheet in order of first appearance.
std::vector<ComparedSetup> compared_setups(const Sheet& sheet);

/// Those named, in the order named.
/// Requires  names that occur, each once; else DomainError.
std::vector<ComparedSetup> choose(const std::vector<ComparedSetup>& setups, const std::vector<std::string>& names);

}  // namespace shotassay
