#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/records/sheet.hpp>

#include "findings.hpp"
#include "numbers.hpp"

/// What stands before a sheet's header?
namespace shotassay {

/// The value of `# plan`. A later form of a plan's sheet counts on from 1.
inline constexpr std::string_view plan_mark = "shotassay 1";

/// Reports a file that is no text, with what it looks like and what it should be. True when it is none.
bool report_not_text(std::string_view text, Findings& findings, const std::string& wanted = "a shot sheet");

struct HashLine {
  std::string_view text;
  std::size_t line;
};

struct Opening {
  std::vector<HashLine> hash_lines;
  std::optional<std::size_t> header_at;  ///< the first row that is neither blank nor a `#` line
  std::size_t header_line = 1;
};

Opening find_header(std::string_view text);

/// `# planned shots: COUNT of SETUP`
struct PlannedShots {
  std::size_t line = 0;
  std::string text;  ///< the whole value
  std::size_t count = 0;
  std::string setup;
};

struct HashValues {
  std::string title, date, place, archer, accuracy, check_standard;
  std::optional<Decimal> margin, display;
  std::optional<SpeedUnit> unit;
  std::size_t display_line = 0, unit_line = 0, check_standard_line = 0;
  std::optional<SheetPlan> plan;
  std::vector<PlannedShots> planned;
  std::vector<IgnoredLine> ignored;
};

HashValues read_hash_lines(const std::vector<HashLine>& lines, char separator, Numbers& numbers, Findings& findings);

}  // namespace shotassay
