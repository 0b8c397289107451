#pragma once
#include <span>
#include <string>
#include <string_view>

namespace shotassay {

/// A row of RFC 4180 text, ended by LF: a cell stands in quotes where a separator, a quote or a line end in it would be
/// misread.
inline void append_csv_row(std::string& out, std::span<const std::string_view> cells, char separator = ',') {
  bool first = true;
  for (const std::string_view cell : cells) {
    if (!first) out += separator;
    first = false;
    if (cell.find(separator) == std::string_view::npos && cell.find_first_of("\"\r\n") == std::string_view::npos) {
      out += cell;
      continue;
    }
    out += '"';
    for (const char c : cell) {
      if (c == '"') out += '"';
      out += c;
    }
    out += '"';
  }
  out += '\n';
}

/// The sign at a text's start for which a spreadsheet program takes it for a formula: = + - @, or one of these at full
/// width, which some take for the same. Empty where there is none.
inline std::string_view formula_sign(std::string_view text) {
  for (const std::string_view sign : {"=", "+", "-", "@", "\uFF1D", "\uFF0B", "\uFF0D", "\uFF20"})
    if (text.starts_with(sign)) return sign;
  return {};
}

/// A free text that no spreadsheet program takes for a formula: an apostrophe goes before the sign that makes it one,
/// and before a tab or line end at its start.
inline std::string without_formula(std::string_view text) {
  const bool blank = !text.empty() && std::string_view{"\t\r\n"}.find(text.front()) != std::string_view::npos;
  return (blank || !formula_sign(text).empty() ? "'" : "") + std::string{text};
}

}  // namespace shotassay
