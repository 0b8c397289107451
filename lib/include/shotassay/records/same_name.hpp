#pragma once
#include <string_view>

namespace shotassay {

/// Would a reader take both for one name: do they differ in nothing but case, blanks (at the ends, repeated, no-break)
/// and invisible characters? A shot sheet may not hold two such names, see docs/reference/sheet.md.
bool same_name(std::string_view a, std::string_view b);

}  // namespace shotassay
