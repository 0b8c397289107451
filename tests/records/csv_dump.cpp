// Prints the cells of a CSV text on standard input for csv_oracle.py: one JSON array a row, one of
// [text, line, column, quoted, fault] a cell. The separator is the only argument.
#include <shotassay/records/csv.hpp>

#include <cstdio>
#include <iostream>
#include <iterator>
#include <string>

namespace {

std::string json_string(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      char escape[8];
      std::snprintf(escape, sizeof escape, "\\u%04x", static_cast<unsigned>(c));
      out += escape;
    } else {
      out += c;
    }
  }
  return out + '"';
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2 || std::string_view{argv[1]}.size() != 1) return 2;
  const std::string text{std::istreambuf_iterator<char>{std::cin}, {}};
  shotassay::CsvReader csv{text, argv[1][0]};
  for (auto row = csv.next(); !row.empty(); row = csv.next()) {
    std::string line = "[";
    for (const auto& cell : row) {
      if (line.size() > 1) line += ", ";
      line += "[" + json_string(cell.text) + ", " + std::to_string(cell.line) + ", " + std::to_string(cell.column) +
              (cell.quoted ? ", true, " : ", false, ") + std::to_string(static_cast<int>(cell.fault)) + "]";
    }
    std::cout << line << "]\n";
  }
}
