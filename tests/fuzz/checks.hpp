#pragma once
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/csv.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/report/json.hpp>

/// What holds for whatever any reader is given.
namespace shotassay::fuzz {

/// Where a requirement stands. (std::source_location is not in the clang of Debian 12.)
struct Place {
  const char* file;
  int line;
};

inline void require(bool holds, Place where) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s:%d\n", where.file, where.line);
  std::abort();
}
inline void require(bool holds, const char* file = __builtin_FILE(), int line = __builtin_LINE()) {
  require(holds, Place{file, line});
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

inline std::size_t line_count(std::string_view text) {
  std::size_t lines = 1;
  for (const char c : text) lines += c == '\n' || c == '\r';
  return lines;
}

/// Would a terminal show it and obey nothing in it?
inline bool harmless(std::string_view text) { return document::printable(text) == text; }

inline bool is_json(const std::string& text) { return nlohmann::json::accept(text); }

/// Problems stand in order, each in a line that the text has, and can be shown.
inline void check_problems(const std::vector<Problem>& problems, std::size_t lines, const char* file = __builtin_FILE(),
                           int line = __builtin_LINE()) {
  const Place where{file, line};
  std::size_t last = 0;
  std::vector<narrative::FoundProblem> told;
  for (const Problem& problem : problems) {
    require(problem.line >= last && problem.line <= lines, where);
    require(!problem.message.empty() && harmless(problem.message), where);
    // A JSON pointer names keys as they are; it is escaped where it is shown.
    require(harmless(problem.found) && (harmless(problem.column) || problem.column.starts_with('/')), where);
    last = problem.line;
    told.push_back({"file", problem});
  }
  require(is_json(report::render_json(narrative::failure("fuzz", told))), where);
}

}  // namespace shotassay::fuzz
