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

/// A free text that no spreadsheet program takes for a formula: an apostrophe goes before = + - @ and a tab or line end
/// at its start.
inline std::string without_formula(std::string_view text) {
  const bool risky = !text.empty() && std::string_view{"=+-@\t\r\n"}.find(text.front()) != std::string_view::npos;
  return (risky ? "'" : "") + std::string{text};
}

}  // namespace shotassay
