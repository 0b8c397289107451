#pragma once
#include <charconv>
#include <cstdint>
#include <fstream>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

/// The rows of a comma-separated table under data/reference whose first field is `kind` (all rows when it is empty);
/// lines that begin with # tell where the numbers come from. Throws when there is no such row.
inline std::vector<std::vector<std::string>> reference_table(const std::string& file, std::string_view kind = {}) {
  std::ifstream in{SHOTASSAY_SOURCE_DIR "/data/reference/" + file};
  if (!in) throw std::runtime_error{"no reference file " + file};
  std::vector<std::vector<std::string>> rows;
  for (std::string line; std::getline(in, line);) {
    if (line.starts_with('#')) continue;
    std::vector<std::string> fields{""};
    for (const char c : line) {
      if (c == ',')
        fields.emplace_back();
      else
        fields.back().push_back(c);
    }
    if (kind.empty() || fields[0] == kind) rows.push_back(fields);
  }
  if (rows.empty()) throw std::runtime_error{"no rows in " + file};
  return rows;
}

inline double number_in(const std::string& text) {
  double x = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), x);
  if (error != std::errc{} || end != text.data() + text.size()) throw std::runtime_error{"not a number: " + text};
  return x;
}

/// "271 271 272" as whole numbers.
inline std::vector<std::int64_t> steps_in(const std::string& text) {
  std::vector<std::int64_t> steps;
  for (const char* at = text.data(); at < text.data() + text.size();) {
    std::int64_t x = 0;
    const auto [end, error] = std::from_chars(at, text.data() + text.size(), x);
    if (error != std::errc{}) throw std::runtime_error{"not whole numbers: " + text};
    steps.push_back(x);
    at = end + 1;
  }
  return steps;
}
