#pragma once
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace shotassay::document {

/// One character of a UTF-8 text.
struct Character {
  char32_t code;      ///< U+FFFD for bytes that are not UTF-8
  std::size_t bytes;  ///< how many it takes
};

/// The first character of a non-empty text.
Character first_character(std::string_view text);

/// Columns that a text takes in a terminal: combining marks take none, wide East Asian characters two.
std::size_t display_width(std::string_view text);

/// Foreign text made harmless: control characters, invisible and direction-changing marks, codes that are no characters
/// and bytes that are not UTF-8 become visible escapes such as \x1b or \u202e. Everything else is left as it is.
std::string printable(std::string_view text);

/// A name as it is shown: printable, and in quotation marks where a spreadsheet would take it for a formula
/// (it begins with = + - @) or where it could not be told from the words around it (empty, blanks at its ends).
std::string shown_name(std::string_view name);

}  // namespace shotassay::document
