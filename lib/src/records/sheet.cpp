#include <shotassay/records/sheet.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <unordered_map>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/records/csv.hpp>

#include "spelling.hpp"

namespace shotassay {

namespace {

enum class Column : std::size_t {
  setup,
  speed_fps,
  speed_mps,
  bow,
  round,
  order,
  session,
  arrow,
  draw_weight_lbf,
  arrow_mass_gr,
  draw_length_in,
  excluded,
  note
};
constexpr std::array<std::string_view, 13> column_names = {
    "setup",           "speed_fps",     "speed_mps",      "bow",      "round", "order", "session", "arrow",
    "draw_weight_lbf", "arrow_mass_gr", "draw_length_in", "excluded", "note"};

enum class Key : std::size_t { title, date, display, accuracy, margin, place, archer, unit };
constexpr std::array<std::string_view, 8> key_names = {"title",  "date",  "display", "accuracy",
                                                       "margin", "place", "archer",  "unit"};

constexpr std::size_t nowhere = std::numeric_limits<std::size_t>::max();

/// Beyond this the quarter steps of a double, and so the sums of Sample, are no longer exact.
constexpr std::int64_t most_steps = 9'000'000'000'000'000;

std::string quoted(std::string_view text) { return "\"" + shown(text) + "\""; }

std::string count_of(std::size_t n, std::string_view noun) {
  return std::to_string(n) + " " + std::string{noun} + (n == 1 ? "" : "s");
}

/// a < b, exactly.
bool less(Decimal a, Decimal b) {
  return WideInteger{a.coefficient()} * Decimal::power_of_ten(b.decimals()) <
         WideInteger{b.coefficient()} * Decimal::power_of_ten(a.decimals());
}

struct SpeedLimits {
  Decimal lowest, highest;
};

/// 20 and 600 fps: no bow shoots outside them; a typing error often does.
SpeedLimits limits(SpeedUnit unit) {
  if (unit == SpeedUnit::feet_per_second) return {Decimal{20, 0}, Decimal{600, 0}};
  return {Decimal{6096, 3}, Decimal{18288, 2}};  // × 0.3048
}

struct TextHash {
  using is_transparent = void;
  std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
};
template <class Value>
using TextMap = std::unordered_map<std::string, Value, TextHash, std::equal_to<>>;

struct Looks {
  bool whole_file;  ///< another kind of file, so that no line is at fault
  std::string like;
};

Looks what_it_looks_like(std::string_view bytes, std::size_t at) {
  using namespace std::string_view_literals;
  if (bytes.starts_with("PK\x03\x04"sv))
    return {true,
            "a spreadsheet file (.xlsx, .ods) or another zip archive: in the spreadsheet program save the sheet as CSV "
            "in UTF-8"};
  if (bytes.starts_with("\xD0\xCF\x11\xE0"sv))
    return {true, "an old spreadsheet file (.xls): in the spreadsheet program save the sheet as CSV in UTF-8"};
  if (bytes.starts_with("%PDF"sv)) return {true, "a PDF file: a shot sheet is CSV text in UTF-8"};
  const bool utf16_mark = bytes.starts_with("\xFF\xFE"sv) || bytes.starts_with("\xFE\xFF"sv);
  const auto head = bytes.substr(0, 64);
  const auto nuls = static_cast<std::size_t>(std::count(head.begin(), head.end(), '\0'));
  if (utf16_mark || (head.size() >= 4 && nuls * 3 > head.size() && nuls * 3 < 2 * head.size()))
    return {true, "text in UTF-16: save it as CSV in UTF-8"};
  if (bytes[at] == '\0') return {false, "a binary file, with a NUL byte here: a shot sheet is CSV text in UTF-8"};
  return {false, "text in an older encoding, for this byte is not UTF-8: save it as CSV in UTF-8"};
}

std::size_t line_ends(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (text[i] == '\n' || (text[i] == '\r' && !text.substr(i + 1).starts_with('\n'))) ++count;
  return count;
}

/// Names of one kind, each known by every writing met so far.
class Names {
 public:
  struct Entry {
    std::uint32_t index;
    const std::string* clash;  ///< how the name was written before, where this writing is a new one for it
    std::size_t clash_line;
  };

  /// The index of a name written so; `next` if it is new. A writing clashes once, when it is first met.
  Entry find_or_add(std::string_view written, std::size_t line, std::uint32_t next) {
    if (const auto known = by_writing_.find(written); known != by_writing_.end()) return {known->second, nullptr, 0};
    const auto [first, added] = by_name_.try_emplace(folded_name(written), First{std::string{written}, line, next});
    by_writing_.emplace(written, first->second.index);
    if (added) return {next, nullptr, 0};
    return {first->second.index, &first->second.written, first->second.line};
  }

 private:
  struct First {
    std::string written;
    std::size_t line;
    std::uint32_t index;
  };
  TextMap<std::uint32_t> by_writing_;
  TextMap<First> by_name_;
};

class SheetReader {
 public:
  SheetReader(std::string_view text, const SheetOptions& options) : text_{text}, options_{options} {
    if (options.display) sheet_.display_step = DisplayStep{*options.display};
  }

  ReadResult run();

 private:
  struct Finding {
    Problem problem;
    std::size_t cell;  ///< place in the row, for the order of the list
  };

  struct HashLine {
    std::string_view text;
    std::size_t line;
  };

  /// Where a value of a `#` line stands.
  struct Place {
    std::size_t line = 0;
    std::string key;
  };

  struct FirstNumber {
    std::string text;
    std::size_t line;
    char mark;
  };

  struct BowUse {
    std::size_t with = 0, without = 0;  ///< first line of either; 0 = none
  };

  void report(std::size_t line, std::size_t cell, std::string column, std::string_view found, std::string message,
              ProblemKind kind = ProblemKind::content) {
    findings_.push_back({{line, std::move(column), shown(found), std::move(message), kind}, cell});
  }
  void report(const Cell& cell, std::size_t index, std::string_view found, std::string message) {
    report(cell.line, index, column_name(index), found, std::move(message));
  }
  bool not_text();
  bool find_header();
  void read_hash_lines();
  void read_hash_line(const HashLine& line);
  std::optional<std::string> unquoted(const HashLine& line);
  void read_value(Key key, const std::string& value, const Place& place);
  std::optional<Decimal> positive_value(const std::string& value, const Place& place);

  void read_header(std::span<const Cell> header);
  bool is_tall(std::span<const Cell> header) const;
  void read_tall_header(std::span<const Cell> header);
  void read_wide_header(std::span<const Cell> header);
  std::optional<Column> likely_meant(std::string_view written) const;
  bool has_speed() const { return index_of(Column::speed_fps) != nowhere || index_of(Column::speed_mps) != nowhere; }
  void settle_unit();

  void read_row(std::span<const Cell> row);
  void read_tall_row(std::span<const Cell> row);
  void read_wide_row(std::span<const Cell> row);
  bool check_cells(std::span<const Cell> row);
  template <class ColumnName>
  std::optional<Decimal> number(std::string_view text, std::size_t line, std::size_t cell, ColumnName column);
  std::optional<Decimal> reading(const Cell& cell, std::size_t index, bool within_limits);
  std::uint32_t setup_of(const Cell& cell, std::size_t index);
  Label label_of(std::span<const Cell> row, Column column, Names& names);
  void read_order(std::span<const Cell> row, std::int64_t& order);
  void read_measurements(std::span<const Cell> row, std::uint32_t setup, Label bow);

  void check_orders();
  void check_bows();
  void settle_display_step();
  void place_on_lattice();
  std::optional<std::int64_t> steps_of(Decimal reading, std::size_t line, std::uint32_t setup);
  std::size_t reading_index(std::uint32_t setup) const;
  void check_spans();

  std::size_t index_of(Column column) const { return index_[static_cast<std::size_t>(column)]; }
  /// The text of a column in this row, trimmed; empty where the sheet or the row lacks it.
  std::string_view text_of(std::span<const Cell> row, Column column) const {
    const std::size_t i = index_of(column);
    return i < row.size() && row[i].fault == CellFault::none ? trimmed(row[i].text) : std::string_view{};
  }
  std::string column_name(std::size_t index) const {
    if (index < header_.size() && !header_[index].empty()) return shown(header_[index]);
    return "column " + std::to_string(index + 1);
  }

  std::string_view text_;
  const SheetOptions& options_;
  Sheet sheet_;
  std::vector<Finding> findings_;

  std::vector<HashLine> hash_lines_;
  std::array<std::optional<std::string>, key_names.size()> values_;
  std::array<std::size_t, key_names.size()> value_lines_{};
  std::optional<Decimal> display_line_;
  std::optional<SpeedUnit> unit_line_;

  std::size_t header_at_ = 0;
  std::size_t header_line_ = 1;
  std::vector<std::string> header_;  ///< names, trimmed; empty = a column without a name
  std::array<std::size_t, column_names.size()> index_;
  std::size_t reading_index_ = nowhere;
  std::vector<std::uint32_t> wide_setup_;  ///< set-up of each column; one without a name has no_setup

  std::optional<FirstNumber> first_fraction_;
  int most_decimals_ = 0;
  bool any_row_ = false;
  std::int64_t shots_so_far_ = 0;
  Names setup_names_, bow_names_, round_names_, session_names_, arrow_names_;
  std::string last_setup_;
  std::uint32_t last_setup_index_ = no_setup;
  std::vector<BowUse> bow_use_;
  std::vector<std::pair<std::int64_t, std::size_t>> orders_;  ///< with their lines
  std::size_t without_order_ = 0, first_without_order_ = 0;

  static constexpr std::uint32_t no_setup = std::numeric_limits<std::uint32_t>::max();
};

ReadResult SheetReader::run() {
  index_.fill(nowhere);
  if (text_.starts_with("\xEF\xBB\xBF")) text_.remove_prefix(3);
  if (!not_text() && find_header()) {
    sheet_.separator = separator_of(text_.substr(header_at_, row_end(text_, header_at_) - header_at_));
    read_hash_lines();
    CsvReader csv{text_.substr(header_at_), sheet_.separator, header_line_};
    read_header(csv.next());
    for (auto row = csv.next(); !row.empty(); row = csv.next()) read_row(row);
    if (!any_row_) report(0, 0, "", "", "the sheet has a header and no shots");
    check_orders();
    check_bows();
    settle_display_step();
    place_on_lattice();
    check_spans();
  }
  ReadResult result;
  if (findings_.empty()) {
    if (first_fraction_) sheet_.decimal_mark = first_fraction_->mark;
    result.sheet = std::move(sheet_);
    return result;
  }
  std::stable_sort(findings_.begin(), findings_.end(), [](const Finding& a, const Finding& b) {
    return std::pair{a.problem.line, a.cell} < std::pair{b.problem.line, b.cell};
  });
  result.problems.reserve(findings_.size());
  for (auto& finding : findings_) result.problems.push_back(std::move(finding.problem));
  return result;
}

bool SheetReader::not_text() {
  const auto at = first_not_text(text_);
  if (!at) return false;
  const auto [whole_file, looks] = what_it_looks_like(text_, *at);
  report(whole_file ? 0 : line_ends(text_.substr(0, *at)) + 1, 0, "", text_.substr(whole_file ? 0 : *at, 8),
         "this is not CSV text; it looks like " + looks, ProblemKind::not_text);
  return true;
}

/// Sets aside the `#` lines and finds the header row, the first that is neither one of them nor blank.
bool SheetReader::find_header() {
  std::size_t at = 0, line = 1;
  while (at < text_.size()) {
    const std::size_t first = text_.find_first_not_of(" \t", at);
    const bool hash = text_.substr(std::min(first, text_.size())).starts_with('#');
    // A spreadsheet program puts quotes round a line that has a quote or a separator in it.
    const bool quoted_hash = text_.substr(std::min(first, text_.size())).starts_with("\"#");
    std::size_t end = quoted_hash ? row_end(text_, at) : std::min(text_.find_first_of("\r\n", at), text_.size());
    const std::string_view content = text_.substr(at, end - at);
    if (!quoted_hash && end < text_.size()) end += text_.substr(end).starts_with("\r\n") ? 2 : 1;
    if (hash || quoted_hash) {
      hash_lines_.push_back({content, line});
    } else if (content.find_first_not_of(" \t,;") != std::string_view::npos) {
      header_at_ = at;
      header_line_ = line;
      return true;
    }
    line += quoted_hash ? line_ends(text_.substr(at, end - at)) : 1;
    at = end;
  }
  if (hash_lines_.empty())
    report(0, 0, "", "", "the file is empty", ProblemKind::empty_file);
  else
    report(0, 0, "", "", "the sheet has # lines and no header row after them");
  return false;
}

void SheetReader::read_hash_lines() {
  for (const auto& line : hash_lines_) read_hash_line(line);
  for (std::size_t k = 0; k < key_names.size(); ++k)
    if (values_[k]) read_value(static_cast<Key>(k), *values_[k], {value_lines_[k], std::string{key_names[k]}});
}

/// The line as it was before a spreadsheet program split it into cells.
std::optional<std::string> SheetReader::unquoted(const HashLine& line) {
  if (!trimmed(line.text).starts_with('"')) return std::string{line.text};
  CsvReader csv{line.text.substr(line.text.find('"')), sheet_.separator, line.line};
  std::string joined;
  bool first = true;
  for (const Cell& cell : csv.next()) {
    if (cell.fault == CellFault::unterminated_quote || cell.fault == CellFault::text_after_quote) {
      report(line.line, 0, "", line.text.substr(0, line.text.find_first_of("\r\n")),
             "the quotes of this # line do not match: write it without quotes");
      return std::nullopt;
    }
    if (!std::exchange(first, false)) joined += sheet_.separator;
    joined += cell.text;
  }
  return joined;
}

void SheetReader::read_hash_line(const HashLine& line) {
  const auto text = unquoted(line);
  if (!text) return;
  std::string_view rest = trimmed(*text);
  // A spreadsheet program fills every line up with separators.
  while (rest.ends_with(sheet_.separator) || rest != trimmed(rest)) {
    rest = trimmed(rest);
    if (rest.ends_with(sheet_.separator)) rest.remove_suffix(1);
  }
  rest.remove_prefix(1);
  const bool hidden = std::any_of(rest.begin(), rest.end(), [](char c) {
    return (static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F;
  });
  if (hidden) return report(line.line, 0, "", rest, "control characters or a line end in a # line: delete them");
  const std::size_t colon = rest.find(':');
  if (colon == std::string_view::npos) {
    sheet_.ignored_lines.push_back({line.line, "", std::string{trimmed(rest)}});
    return;
  }
  const std::string_view key = trimmed(rest.substr(0, colon)), value = trimmed(rest.substr(colon + 1));
  for (std::size_t k = 0; k < key_names.size(); ++k) {
    if (key == key_names[k]) {
      if (value.empty()) return;  // a line left to be filled in
      if (!values_[k]) {
        values_[k] = value;
        value_lines_[k] = line.line;
      } else if (*values_[k] != value) {
        report(line.line, 0, std::string{key}, value,
               "a second value: line " + std::to_string(value_lines_[k]) + " says " + quoted(*values_[k]) +
                   "; keep one of them");
      }
      return;
    }
  }
  for (const auto known : key_names)
    if (resembles(key, known))
      return report(line.line, 0, shown(key), value,
                    "not a key of a shot sheet; if " + quoted(known) + " is meant, write it so");
  sheet_.ignored_lines.push_back({line.line, std::string{key}, std::string{value}});
}

void SheetReader::read_value(Key key, const std::string& value, const Place& place) {
  switch (key) {
    case Key::title:
      sheet_.title = value;
      return;
    case Key::date:
      sheet_.date = value;
      return;
    case Key::place:
      sheet_.place = value;
      return;
    case Key::archer:
      sheet_.archer = value;
      return;
    case Key::accuracy:
      sheet_.accuracy = value;
      return;
    case Key::margin:
      sheet_.margin = positive_value(value, place);
      return;
    case Key::display:
      display_line_ = positive_value(value, place);
      if (display_line_ && display_line_->coefficient() > 1'000'000'000) {
        report(place.line, 0, place.key, value, "a display step has nine digits at most");
        display_line_.reset();
      }
      return;
    case Key::unit:
      if (value == name(SpeedUnit::feet_per_second))
        unit_line_ = SpeedUnit::feet_per_second;
      else if (value == name(SpeedUnit::metres_per_second))
        unit_line_ = SpeedUnit::metres_per_second;
      else
        report(place.line, 0, place.key, value, "not a unit of a shot sheet: write fps or m/s");
  }
}

std::optional<Decimal> SheetReader::positive_value(const std::string& value, const Place& place) {
  const auto parsed = number(value, place.line, 0, [&] { return place.key; });
  if (parsed && parsed->coefficient() <= 0) {
    report(place.line, 0, place.key, value, "must be greater than 0");
    return std::nullopt;
  }
  return parsed;
}

std::string fault_message(CellFault fault) {
  switch (fault) {
    case CellFault::unterminated_quote:
      return "the quote that opens this cell is never closed";
    case CellFault::text_after_quote:
      return "text after the closing quote: quote the whole cell, and write a quote inside it twice";
    case CellFault::quote_in_plain_cell:
      return "a quote inside a cell without quotes: quote the whole cell, and write the quote twice";
    case CellFault::control_character:
      return "a control character: delete it";
    case CellFault::none:
      break;
  }
  return {};
}

void SheetReader::read_header(std::span<const Cell> header) {
  for (const Cell& cell : header) header_.emplace_back(trimmed(cell.text));
  for (std::size_t i = 0; i < header.size(); ++i)
    if (header[i].fault != CellFault::none) report(header[i], i, header[i].text, fault_message(header[i].fault));
  std::unordered_map<std::string_view, std::size_t> first;
  for (std::size_t i = 0; i < header.size(); ++i) {
    if (header_[i].empty()) continue;
    if (const auto [earlier, added] = first.try_emplace(header[i].text, i); !added)
      report(header[i], i, header[i].text,
             "the header has this name twice, in columns " + std::to_string(earlier->second + 1) + " and " +
                 std::to_string(i + 1));
  }
  sheet_.layout = is_tall(header) ? SheetLayout::tall : SheetLayout::wide;
  if (sheet_.layout == SheetLayout::tall)
    read_tall_header(header);
  else
    read_wide_header(header);
  settle_unit();
}

/// Tall when a name is one of a tall sheet's, or can hardly be anything else. "Setup A" beside "Setup B" is wide.
bool SheetReader::is_tall(std::span<const Cell> header) const {
  return std::any_of(header.begin(), header.end(), [](const Cell& cell) {
    const std::string key = folded_key(cell.text);
    if (key == "speed" || key == "setups") return true;
    if (resembles(key, column_names[1]) || resembles(key, column_names[2])) return true;
    return std::any_of(column_names.begin(), column_names.end(), [&](auto known) { return key == folded_key(known); });
  });
}

/// The column that an unknown name probably stands for, among those that the header lacks.
std::optional<Column> SheetReader::likely_meant(std::string_view written) const {
  if (!has_speed() && folded_key(written) == "speed") return Column::speed_fps;
  for (std::size_t c = 0; c < column_names.size(); ++c) {
    const auto column = static_cast<Column>(c);
    const bool speed = column == Column::speed_fps || column == Column::speed_mps;
    if (index_[c] == nowhere && !(speed && has_speed()) && resembles(written, column_names[c])) return column;
  }
  return std::nullopt;
}

void SheetReader::read_tall_header(std::span<const Cell> header) {
  std::vector<bool> settled(header.size(), false);
  const auto settle = [&](auto matches, auto then) {
    for (std::size_t i = 0; i < header.size(); ++i)
      for (std::size_t c = 0; c < column_names.size() && !settled[i]; ++c) {
        if (!matches(header[i].text, column_names[c])) continue;
        settled[i] = true;
        then(i, c);
        if (index_[c] == nowhere) index_[c] = i;
      }
  };
  // First the exact names, so that a doubtful one never takes the place of a right one.
  settle([](auto written, auto known) { return written == known; }, [](auto, auto) {});
  settle([](auto written, auto known) { return folded_key(written) == folded_key(known); },
         [&](auto i, auto c) {
           report(header[i], i, header[i].text, "write the column's name " + std::string{column_names[c]});
         });

  std::string_view like_setup, like_speed;
  for (std::size_t i = 0; i < header.size(); ++i) {
    if (settled[i] || header_[i].empty()) continue;
    const auto likely = likely_meant(header[i].text);
    if (likely == Column::setup) {
      like_setup = header[i].text;
    } else if (likely == Column::speed_fps || likely == Column::speed_mps) {
      like_speed = header[i].text;
    } else if (likely && likely != Column::note) {
      // Passed over as unknown, a misspelt `excluded` would have shots analysed that should not be.
      report(header[i], i, header[i].text,
             "not a column of a shot sheet; if " + std::string{column_names[static_cast<std::size_t>(*likely)]} +
                 " is meant, write it so, otherwise choose a name less like it");
    } else {
      sheet_.ignored_columns.push_back(header_[i]);
    }
  }
  const auto meant = [](std::string_view found) { return found.empty() ? "" : "; if this column is it, name it so"; };
  if (index_of(Column::setup) == nowhere)
    report(header[0].line, nowhere, "setup", like_setup,
           std::string{"a sheet with one row a shot needs the column setup"} + meant(like_setup));
  if (!has_speed()) {
    if (folded_key(like_speed) == "speed")
      report(header[0].line, nowhere, "speed_fps", like_speed,
             "a speed needs its unit: name the column speed_fps or speed_mps");
    else
      report(header[0].line, nowhere, "speed_fps", like_speed,
             std::string{"a sheet with one row a shot needs the column speed_fps or speed_mps"} + meant(like_speed));
  }
  const std::size_t fps = index_of(Column::speed_fps), mps = index_of(Column::speed_mps);
  if (fps != nowhere && mps != nowhere) {
    const std::size_t later = std::max(fps, mps);
    report(header[later], later, header[later].text, "two units in one sheet: keep one of speed_fps and speed_mps");
  }
  reading_index_ = std::min(fps, mps);
}

void SheetReader::read_wide_header(std::span<const Cell> header) {
  bool all_numbers = true;
  for (std::size_t i = 0; i < header.size(); ++i) {
    wide_setup_.push_back(no_setup);
    if (header_[i].empty()) continue;
    if (!Decimal::parse(header_[i], '.') && !Decimal::parse(header_[i], ',')) all_numbers = false;
    wide_setup_.back() = setup_of(header[i], i);
  }
  if (all_numbers)
    report(header[0].line, nowhere, "", header[0].text,
           "the first row holds numbers only, so it may be readings: a sheet starts with a header; give the set-ups "
           "names, such as \"14 strands\"");
}

void SheetReader::settle_unit() {
  if (sheet_.layout == SheetLayout::wide) {
    sheet_.unit = unit_line_.value_or(SpeedUnit::feet_per_second);
    sheet_.unit_origin = unit_line_ ? UnitOrigin::unit_line : UnitOrigin::assumed;
    return;
  }
  const bool fps = index_of(Column::speed_fps) != nowhere;
  sheet_.unit = fps || !has_speed() ? SpeedUnit::feet_per_second : SpeedUnit::metres_per_second;
  if (unit_line_ && has_speed() && *unit_line_ != sheet_.unit)
    report(value_lines_[static_cast<std::size_t>(Key::unit)], 0, "unit", name(*unit_line_),
           "contradicts the column " + std::string{fps ? "speed_fps" : "speed_mps"} +
               ": delete this line or rename the "
               "column");
}

void SheetReader::read_row(std::span<const Cell> row) {
  const bool blank = std::all_of(row.begin(), row.end(), [](const Cell& cell) {
    return cell.fault == CellFault::none && trimmed(cell.text).empty();
  });
  if (blank) return;
  any_row_ = true;
  if (!check_cells(row)) return;
  if (sheet_.layout == SheetLayout::tall)
    read_tall_row(row);
  else
    read_wide_row(row);
}

/// False when the row has cells too many, so that nobody knows which belongs where.
bool SheetReader::check_cells(std::span<const Cell> row) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (row[i].fault != CellFault::none)
      report(row[i], i, row[i].text, fault_message(row[i].fault));
    else if (i < header_.size() && header_[i].empty() && !trimmed(row[i].text).empty())
      report(row[i], i, row[i].text, "text in a column without a name: name it in the header");
  }
  if (row.size() == header_.size() || row.back().fault == CellFault::unterminated_quote) return true;
  const std::string counts =
      "this row has " + count_of(row.size(), "cell") + ", the header " + std::to_string(header_.size());
  if (row.size() > header_.size()) {
    report(
        row[header_.size()], header_.size(), row[header_.size()].text,
        counts + (sheet_.separator == ',' ? ": a cell with a comma in it needs quotes, a decimal comma is written as "
                                            "a point"
                                          : ": a cell with a separator in it needs quotes"));
    return false;
  }
  report(row.back().line, row.size(), column_name(row.size()), "", counts + ": an empty cell needs its separator too");
  return true;
}

/// `column` gives the name only where there is a problem: a million readings need none.
template <class ColumnName>
std::optional<Decimal> SheetReader::number(std::string_view text, std::size_t line, std::size_t cell,
                                           ColumnName column) {
  const char mark = text.find(',') == std::string_view::npos ? '.' : ',';
  const auto parsed = Decimal::parse(text, mark);
  if (!parsed) {
    const bool digits_only =
        std::all_of(text.begin(), text.end(), [mark](char c) { return (c >= '0' && c <= '9') || c == mark; });
    report(line, cell, column(), text,
           digits_only && text.size() > 18 ? "has more than 18 digits"
                                           : "is not a number: write digits alone, such as 271 or 81.4, without unit, "
                                             "plus sign, exponent or grouping");
    return std::nullopt;
  }
  if (parsed->decimals() == 0) return parsed;
  if (mark == ',' && sheet_.separator == ',') {
    report(line, cell, column(), text,
           "a decimal comma in a comma-separated sheet: write a point, or separate the cells with ;");
    return std::nullopt;
  }
  if (!first_fraction_) {
    first_fraction_ = FirstNumber{std::string{text}, line, mark};
  } else if (first_fraction_->mark != mark) {
    report(line, cell, column(), text,
           std::string{mark == ',' ? "a decimal comma" : "a decimal point"} + ", while line " +
               std::to_string(first_fraction_->line) + " has " + quoted(first_fraction_->text) +
               ": write all numbers of a sheet one way");
  }
  return parsed;
}

std::optional<Decimal> SheetReader::reading(const Cell& cell, std::size_t index, bool within_limits) {
  const std::string_view text = trimmed(cell.text);
  const auto parsed = number(text, cell.line, index, [&] { return column_name(index); });
  if (!parsed) return std::nullopt;
  most_decimals_ = std::max(most_decimals_, parsed->decimals());
  if (options_.any_speed || !within_limits) return parsed;
  const auto [lowest, highest] = limits(sheet_.unit);
  if (less(*parsed, lowest) || less(highest, *parsed))
    report(cell, index, text,
           "no bow's speed: readings lie between " + lowest.text() + " and " + highest.text() + " " +
               std::string{name(sheet_.unit)});
  return parsed;
}

std::uint32_t SheetReader::setup_of(const Cell& cell, std::size_t index) {
  if (last_setup_index_ != no_setup && cell.text == last_setup_) return last_setup_index_;
  const std::string_view written = trimmed(cell.text);
  if (written.empty()) {
    report(cell, index, cell.text, "the name of the set-up is missing");
    return no_setup;
  }
  const auto next = static_cast<std::uint32_t>(sheet_.setups.size());
  const auto entry = setup_names_.find_or_add(cell.text, cell.line, next);
  if (entry.clash) {
    report(cell, index, cell.text,
           "differs from " + quoted(*entry.clash) + " in line " + std::to_string(entry.clash_line) +
               " only in case, blanks or invisible characters: write the name one way");
  } else if (entry.index == next) {
    if (written.find_first_of("\r\n") != std::string_view::npos)
      report(cell, index, written, "the name of a set-up stands on one line");
    sheet_.setups.push_back({.name = std::string{written}, .line = cell.line});
    bow_use_.emplace_back();
  }
  last_setup_ = cell.text;
  last_setup_index_ = entry.index;
  return entry.index;
}

Label SheetReader::label_of(std::span<const Cell> row, Column column, Names& names) {
  const std::string_view written = text_of(row, column);
  if (written.empty()) return 0;
  const std::size_t index = index_of(column);
  const Cell& cell = row[index];
  const auto next = static_cast<Label>(sheet_.labels.size());
  const auto entry = names.find_or_add(cell.text, cell.line, next);
  if (entry.clash)
    report(cell, index, cell.text,
           "differs from " + quoted(*entry.clash) + " in line " + std::to_string(entry.clash_line) +
               " only in case, blanks or invisible characters: write it one way");
  else if (entry.index == next)
    sheet_.labels.emplace_back(written);
  return entry.index;
}

void SheetReader::read_order(std::span<const Cell> row, std::int64_t& order) {
  const std::size_t index = index_of(Column::order);
  if (index >= row.size() || row[index].fault != CellFault::none) return;
  const Cell& cell = row[index];
  const std::string_view text = trimmed(cell.text);
  if (text.empty()) {
    if (without_order_++ == 0) first_without_order_ = cell.line;
    return;
  }
  const auto parsed = Decimal::parse(text);
  if (!parsed || parsed->decimals() > 0 || parsed->coefficient() <= 0)
    return report(cell, index, text, "a firing order is a whole number from 1");
  order = parsed->coefficient();
  orders_.emplace_back(order, cell.line);
}

void SheetReader::read_measurements(std::span<const Cell> row, std::uint32_t setup, Label bow) {
  constexpr std::array columns = {Column::draw_weight_lbf, Column::arrow_mass_gr, Column::draw_length_in};
  const std::array lists = {&sheet_.draw_weight_lbf, &sheet_.arrow_mass_gr, &sheet_.draw_length_in};
  for (std::size_t k = 0; k < columns.size(); ++k) {
    const std::string_view text = text_of(row, columns[k]);
    if (text.empty()) continue;
    const std::size_t index = index_of(columns[k]);
    const auto value = number(text, row[index].line, index, [&] { return column_name(index); });
    if (!value) continue;
    if (value->coefficient() <= 0)
      report(row[index], index, text, "must be greater than 0; leave the cell empty where it was not measured");
    lists[k]->push_back({.value = *value, .line = row[index].line, .setup = setup, .bow = bow});
  }
}

void SheetReader::read_tall_row(std::span<const Cell> row) {
  const std::size_t setup_index = index_of(Column::setup);
  std::uint32_t setup = no_setup;
  if (setup_index < row.size() && row[setup_index].fault == CellFault::none)
    setup = setup_of(row[setup_index], setup_index);

  Shot shot{.line = row[0].line, .order = ++shots_so_far_, .setup = setup};
  shot.bow = label_of(row, Column::bow, bow_names_);
  shot.round = label_of(row, Column::round, round_names_);
  shot.session = label_of(row, Column::session, session_names_);
  shot.arrow = label_of(row, Column::arrow, arrow_names_);
  read_order(row, shot.order);
  read_measurements(row, setup, shot.bow);

  const std::string_view reason = text_of(row, Column::excluded);
  std::optional<Decimal> read;
  if (reading_index_ < row.size() && row[reading_index_].fault == CellFault::none) {
    const Cell& cell = row[reading_index_];
    shot.line = cell.line;
    if (!trimmed(cell.text).empty())
      read = reading(cell, reading_index_, reason.empty());
    else if (reason.empty())
      report(cell, reading_index_, "", "the reading is missing: write it, or a reason in the column excluded");
  }
  if (const std::string_view note = text_of(row, Column::note); !note.empty())
    sheet_.notes.push_back({shot.line, std::string{note}});
  if (setup == no_setup) return;

  if (!reason.empty()) {
    ++sheet_.setups[setup].excluded;
    sheet_.excluded.push_back({.reading = read,
                               .line = shot.line,
                               .order = shot.order,
                               .setup = setup,
                               .bow = shot.bow,
                               .round = shot.round,
                               .session = shot.session,
                               .arrow = shot.arrow,
                               .reason = std::string{reason}});
    return;
  }
  auto& use = shot.bow == 0 ? bow_use_[setup].without : bow_use_[setup].with;
  if (use == 0) use = shot.line;
  if (!read) return;
  shot.reading = *read;
  ++sheet_.setups[setup].shots;
  sheet_.shots.push_back(shot);
}

void SheetReader::read_wide_row(std::span<const Cell> row) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (i >= wide_setup_.size() || wide_setup_[i] == no_setup || row[i].fault != CellFault::none) continue;
    if (trimmed(row[i].text).empty()) continue;
    const auto read = reading(row[i], i, true);
    if (!read) continue;
    ++sheet_.setups[wide_setup_[i]].shots;
    sheet_.shots.push_back({.reading = *read, .line = row[i].line, .order = ++shots_so_far_, .setup = wide_setup_[i]});
  }
}

void SheetReader::check_orders() {
  if (orders_.empty()) return;
  const std::size_t index = index_of(Column::order);
  sheet_.order_given = true;
  if (without_order_ > 0)
    report(first_without_order_, index, "order", "",
           "no firing order here" +
               (without_order_ > 1 ? " and in " + count_of(without_order_ - 1, "other row") : std::string{}) +
               ", while line " + std::to_string(orders_.front().second) +
               " has one: give it for every shot or for none");
  const auto rises = [](const auto& a, const auto& b) { return a.first >= b.first; };
  if (std::adjacent_find(orders_.begin(), orders_.end(), rises) == orders_.end()) return;
  std::sort(orders_.begin(), orders_.end());
  std::size_t first = 0;
  for (std::size_t i = 1; i < orders_.size(); ++i) {
    if (orders_[i].first != orders_[first].first)
      first = i;
    else
      report(orders_[i].second, index, "order", std::to_string(orders_[i].first),
             "line " + std::to_string(orders_[first].second) + " has this firing order already");
  }
}

void SheetReader::check_bows() {
  for (std::size_t s = 0; s < bow_use_.size(); ++s)
    if (bow_use_[s].with > 0 && bow_use_[s].without > 0)
      report(bow_use_[s].without, index_of(Column::bow), "bow", "",
             "no bow here, while line " + std::to_string(bow_use_[s].with) + " has one for " +
                 quoted(sheet_.setups[s].name) + ": name the bow of every shot of a set-up or of none");
}

void SheetReader::settle_display_step() {
  if (options_.display) {
    sheet_.display_origin = DisplayOrigin::option;
  } else if (display_line_) {
    sheet_.display_step = DisplayStep{*display_line_};
    sheet_.display_origin = DisplayOrigin::display_line;
  } else {
    sheet_.display_step = DisplayStep{Decimal{1, most_decimals_}};
  }
}

std::size_t SheetReader::reading_index(std::uint32_t setup) const {
  if (sheet_.layout == SheetLayout::tall) return reading_index_;
  return static_cast<std::size_t>(std::find(wide_setup_.begin(), wide_setup_.end(), setup) - wide_setup_.begin());
}

std::optional<std::int64_t> SheetReader::steps_of(Decimal reading, std::size_t line, std::uint32_t setup) {
  const Decimal step = sheet_.display_step.size();
  // At most 10^18 × 10^18, so 128 bits hold it.
  const WideInteger numerator = WideInteger{reading.coefficient()} * Decimal::power_of_ten(step.decimals());
  const WideInteger divisor = WideInteger{step.coefficient()} * Decimal::power_of_ten(reading.decimals());
  const auto complain = [&](std::string message) {
    const std::size_t index = reading_index(setup);
    report(line, index, column_name(index), reading.text(), std::move(message));
  };
  const WideInteger steps = numerator / divisor;
  if (steps * divisor != numerator) {
    complain("off the display step of " + step.text() +
             (options_.display ? std::string{" that was asked for"}
                               : " in line " + std::to_string(value_lines_[static_cast<std::size_t>(Key::display)])) +
             ": a reading is a whole number of steps");
    return std::nullopt;
  }
  if (steps > most_steps || steps < -most_steps) {
    complain("too many display steps of " + step.text() + ": 15 digits can be worked with");
    return std::nullopt;
  }
  return static_cast<std::int64_t>(steps);
}

void SheetReader::place_on_lattice() {
  for (auto& shot : sheet_.shots)
    if (const auto steps = steps_of(shot.reading, shot.line, shot.setup)) shot.steps = *steps;
  for (const auto& shot : sheet_.excluded)
    if (shot.reading) steps_of(*shot.reading, shot.line, shot.setup);
}

/// What Sample requires of a set-up's readings, so that a sheet that was read can be analysed.
void SheetReader::check_spans() {
  struct Range {
    std::int64_t low = std::numeric_limits<std::int64_t>::max();
    std::int64_t high = std::numeric_limits<std::int64_t>::min();
  };
  std::vector<Range> ranges(sheet_.setups.size());
  for (const auto& shot : sheet_.shots) {
    auto& range = ranges[shot.setup];
    range.low = std::min(range.low, shot.steps);
    range.high = std::max(range.high, shot.steps);
  }
  for (std::size_t s = 0; s < ranges.size(); ++s) {
    const double shots = static_cast<double>(sheet_.setups[s].shots);
    if (shots > 0 && (static_cast<double>(ranges[s].high) - static_cast<double>(ranges[s].low)) * shots > 6.5e18)
      report(0, 0, "", sheet_.setups[s].name,
             "the readings of this set-up span too many display steps of " + sheet_.display_step.size().text() +
                 " to be worked with");
  }
}

}  // namespace

ReadResult read_sheet(std::string_view text, const SheetOptions& options) { return SheetReader{text, options}.run(); }

Sample sample_of(const Sheet& sheet, std::size_t setup) {
  if (setup >= sheet.setups.size())
    throw DomainError{"sample_of: the sheet has " + count_of(sheet.setups.size(), "set-up") + ", asked for index " +
                      std::to_string(setup)};
  std::vector<std::int64_t> steps;
  steps.reserve(sheet.setups[setup].shots);
  for (const auto& shot : sheet.shots)
    if (shot.setup == setup) steps.push_back(shot.steps);
  if (steps.empty())
    throw NoAnswer{"set-up " + quoted(sheet.setups[setup].name) + " has no shot to analyse, " +
                   std::to_string(sheet.setups[setup].excluded) + " excluded"};
  return {std::move(steps), sheet.display_step};
}

std::vector<std::optional<Sample>> samples_of(const Sheet& sheet) {
  std::vector<std::vector<std::int64_t>> steps(sheet.setups.size());
  for (std::size_t s = 0; s < steps.size(); ++s) steps[s].reserve(sheet.setups[s].shots);
  for (const auto& shot : sheet.shots) steps[shot.setup].push_back(shot.steps);
  std::vector<std::optional<Sample>> samples(steps.size());
  for (std::size_t s = 0; s < steps.size(); ++s)
    if (!steps[s].empty()) samples[s].emplace(std::move(steps[s]), sheet.display_step);
  return samples;
}

}  // namespace shotassay
