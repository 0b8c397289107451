#pragma once
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>

namespace shotassay {

enum class ProblemKind {
  empty_file,  ///< nothing in it
  not_text,    ///< NUL bytes or bytes that are not UTF-8: a spreadsheet file, another encoding
  content      ///< text, with something in it that a shot sheet does not allow
};

/// One mistake of a file, with its place and what would be right.
struct Problem {
  std::size_t line = 0;  ///< from 1; 0 = the file as a whole
  std::string column{};  ///< name in the header, "column 3" where it has none, the key of a `#` line, or empty
  std::string found{};   ///< the text found: at most 40 characters, invisible ones written visibly
  std::string message{};
  ProblemKind kind = ProblemKind::content;
};

/// Index into Sheet::labels; label 0 is the empty text: not given.
using Label = std::uint32_t;

/// One analysed shot. Small, because a sheet may hold a million.
struct Shot {
  Decimal reading{};       ///< as written
  std::int64_t steps = 0;  ///< the reading in whole display steps
  std::size_t line = 0;
  std::int64_t order = 0;   ///< firing order: the sheet's, or that of the rows, from 1 (excluded shots count)
  std::uint32_t setup = 0;  ///< index into Sheet::setups
  Label bow = 0;
  Label round = 0;
  Label session = 0;
  Label arrow = 0;
};

/// A shot that the sheet tells not to analyse.
struct ExcludedShot {
  std::optional<Decimal> reading{};  ///< as written; absent where the cell is empty
  std::size_t line = 0;
  std::int64_t order = 0;
  std::uint32_t setup = 0;
  Label bow = 0;
  Label round = 0;
  Label session = 0;
  Label arrow = 0;
  std::string reason;
};

/// A planned shot not fired yet: no reading and no reason for it, in a sheet that a plan wrote.
struct OpenShot {
  std::size_t line = 0;
  std::int64_t order = 0;
  std::uint32_t setup = 0;
  Label bow = 0;
  Label round = 0;
  Label session = 0;
  Label arrow = 0;
};

/// A value measured on a set-up. One a row that gives it; often only on a set-up's first row.
struct Measurement {
  Decimal value{};
  std::size_t line = 0;
  std::uint32_t setup = 0;
  Label bow = 0;
};

struct SetUp {
  std::string name;
  std::size_t line = 0;  ///< where it first appears
  std::size_t shots = 0;
  std::size_t excluded = 0;
  std::size_t open = 0;
  std::optional<std::size_t> planned{};        ///< shots to analyse, by the plan that wrote the sheet
  std::optional<std::size_t> place_in_plan{};  ///< 0 for the set-up that the plan names first
  bool check_standard = false;                 ///< fired to watch the conditions: no part of any comparison
};

/// What the plan that wrote a sheet rests on, beside Sheet::margin and SetUp::planned.
struct SheetPlan {
  std::size_t line = 0;  ///< of the line `# plan`
  std::optional<ConfidenceLevel> confidence{};
  std::optional<Power> power{};
  std::optional<std::uint64_t> seed{};  ///< of the firing order
};

struct Note {
  std::size_t line = 0;  ///< of the shot
  std::string text;
};

/// A `# key: value` line whose key the format does not know, or a `#` line without a key (key empty).
struct IgnoredLine {
  std::size_t line = 0;
  std::string key;
  std::string value;
};

enum class SheetLayout {
  tall,  ///< one row a shot
  wide   ///< one column a set-up; the firing order is not known
};

enum class DisplayOrigin { option, display_line, last_decimal_written };
enum class UnitOrigin { column_name, unit_line, assumed };

/// A shot sheet as written: owns its texts, keeps every reading's digits, and leaves nothing out.
struct Sheet {
  std::string title, date, place, archer, accuracy;  ///< of the `#` lines; empty = not given
  std::optional<Decimal> margin;                     ///< in `unit`
  std::optional<SheetPlan> plan;                     ///< where a plan wrote the sheet
  std::string check_standard;                        ///< name of the set-up so flagged; empty = none

  SheetLayout layout = SheetLayout::tall;
  char separator = ',';
  char decimal_mark = '.';  ///< '.' too where no number has a fraction

  SpeedUnit unit = SpeedUnit::feet_per_second;
  UnitOrigin unit_origin = UnitOrigin::column_name;
  DisplayStep display_step{Decimal{1, 0}};
  DisplayOrigin display_origin = DisplayOrigin::last_decimal_written;

  std::vector<SetUp> setups;           ///< in order of first appearance
  std::vector<Shot> shots;             ///< in row order; a wide sheet row by row, left to right
  std::vector<ExcludedShot> excluded;  ///< in row order
  std::vector<OpenShot> open;          ///< in row order; empty unless a plan wrote the sheet
  bool order_given = false;            ///< the sheet has firing orders; otherwise Shot::order counts rows

  std::vector<Measurement> draw_weight_lbf;  ///< in row order
  std::vector<Measurement> arrow_mass_gr;
  std::vector<Measurement> draw_length_in;
  std::vector<Note> notes;

  std::vector<std::string> ignored_columns;  ///< names of columns the format does not know
  std::vector<IgnoredLine> ignored_lines;

  std::vector<std::string> labels{std::string{}};
  std::string_view label(Label index) const { return labels[index]; }
};

struct SheetOptions {
  std::optional<Decimal> display{};  ///< display step, over whatever the sheet says
  bool any_speed = false;            ///< accept readings outside 20 to 600 fps, zero and negative ones too
};

/// A sheet, or everything that is wrong with the file; never both, never neither.
struct ReadResult {
  std::optional<Sheet> sheet;
  std::vector<Problem> problems;  ///< in file order, all of them
};

/// What does a shot sheet say? Reads the text of a CSV file, and guesses at nothing.
///
/// The format's page is docs/reference/sheet.md. A text with any problem gives no sheet.
///
/// Requires  options.display, where given, positive and at most nine digits long; otherwise DomainError.
ReadResult read_sheet(std::string_view text, const SheetOptions& options = {});

/// The analysed readings of one set-up, in row order.
/// Throws NoAnswer when every shot of the set-up is excluded, or none was fired yet.
Sample sample_of(const Sheet& sheet, std::size_t setup);

/// The same for each set-up in one pass; absent where no shot is left.
std::vector<std::optional<Sample>> samples_of(const Sheet& sheet);

}  // namespace shotassay
