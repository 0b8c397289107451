#pragma once
#include <string>
#include <string_view>

/// When do two writings mean one name, and how is a doubtful text shown?
namespace shotassay {

/// Without blanks at either end: space, tab, no-break spaces.
std::string_view trimmed(std::string_view text);

/// The name behind its writing: two writings with one folded name differ only in case, in blanks (at the ends,
/// repeated, no-break), or in characters of no width. Case is folded for Latin, Greek and Cyrillic letters.
std::string folded_name(std::string_view text);

/// A column name or key bare of case, blanks and signs: "Speed (fps)" and "speed_fps" both give "speedfps".
std::string folded_key(std::string_view text);

/// Is `written`, though not `known`, likely to be it mistyped? One letter wrong, missing, too many or swapped with its
/// neighbour (two, from eight letters on); for a name of fewer than five letters only an "s" too many.
bool resembles(std::string_view written, std::string_view known);

/// At most 40 characters, with control, bidirectional and zero-width characters and stray bytes written as escapes.
std::string shown(std::string_view text);

}  // namespace shotassay
