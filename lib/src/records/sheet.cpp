#include <shotassay/records/sheet.hpp>

#include <algorithm>
#include <array>
#include <limits>
#include <string>
#include <unordered_map>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/records/csv.hpp>

#include "columns.hpp"
#include "findings.hpp"
#include "names.hpp"
#include "numbers.hpp"
#include "opening.hpp"
#include "spelling.hpp"

namespace shotassay {

namespace {

/// What Sample can hold: above it, doubles no longer count single steps safely.
constexpr std::int64_t most_steps = 9'000'000'000'000'000;
constexpr double most_spanned_steps = 6.5e18;

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

/// Reads the rows under a header into a sheet.
class RowReader {
 public:
  /// `planned`: a plan wrote the sheet, so that a shot may be open.
  RowReader(Sheet& sheet, const Columns& columns, Numbers& numbers, Findings& findings, bool any_speed, bool planned)
      : sheet_{sheet},
        columns_{columns},
        numbers_{numbers},
        findings_{findings},
        any_speed_{any_speed},
        planned_{planned} {
    const auto [lowest, highest] = limits(sheet.unit);
    lowest_ = lowest;
    highest_ = highest;
  }

  void read_wide_names(std::span<const Cell> header);
  void read(std::span<const Cell> row);
  void finish();

  int most_decimals() const { return most_decimals_; }

  /// The column that a set-up's readings stand in.
  std::size_t reading_index(std::uint32_t setup) const {
    if (sheet_.layout == SheetLayout::tall) return tall_reading_index();
    return static_cast<std::size_t>(std::find(wide_setup_.begin(), wide_setup_.end(), setup) - wide_setup_.begin());
  }

 private:
  struct BowUse {
    std::size_t with = 0, without = 0;  ///< first line of either; 0 = none
  };

  void report(const Cell& cell, std::size_t index, std::string_view found, std::string message) {
    findings_.report(cell.line, index, columns_.shown_name(index), found, std::move(message));
  }

  bool check_cells(std::span<const Cell> row);
  void read_tall(std::span<const Cell> row);
  void read_wide(std::span<const Cell> row);
  std::optional<Decimal> number(const Cell& cell, std::size_t index, std::string_view text);
  std::optional<Decimal> reading(const Cell& cell, std::size_t index, bool within_limits);
  std::uint32_t setup_of(const Cell& cell, std::size_t index);
  Label label_of(std::span<const Cell> row, Column column, Names& names);
  void read_order(std::span<const Cell> row, std::int64_t& order);
  void read_measurements(std::span<const Cell> row, std::uint32_t setup, Label bow);
  void check_orders();
  void check_bows();

  std::size_t tall_reading_index() const {
    return std::min(columns_.index_of(Column::speed_fps), columns_.index_of(Column::speed_mps));
  }
  /// The text of a column in this row, trimmed; empty where the sheet or the row lacks it.
  std::string_view text_of(std::span<const Cell> row, Column column) const {
    const std::size_t i = columns_.index_of(column);
    return i < row.size() && row[i].fault == CellFault::none ? trimmed(row[i].text) : std::string_view{};
  }

  Sheet& sheet_;
  const Columns& columns_;
  Numbers& numbers_;
  Findings& findings_;
  const bool any_speed_;
  const bool planned_;
  Decimal lowest_, highest_;

  static constexpr std::uint32_t no_setup = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> wide_setup_;  ///< of each column; one without a name has no_setup
  Names setup_names_, bow_names_, round_names_, session_names_, arrow_names_;
  struct Writing {
    std::string text;
    std::uint32_t setup = no_setup;
  };
  std::array<Writing, 4> recent_;  ///< writings of set-ups, which most rows repeat
  std::size_t oldest_ = 0;         ///< of them

  bool any_row_ = false;
  int most_decimals_ = 0;
  std::int64_t shots_so_far_ = 0;
  std::vector<BowUse> bow_use_;                               ///< of each set-up
  std::vector<std::pair<std::int64_t, std::size_t>> orders_;  ///< with their lines
  std::size_t without_order_ = 0, first_without_order_ = 0;
};

void RowReader::read_wide_names(std::span<const Cell> header) {
  bool all_numbers = true;
  for (std::size_t i = 0; i < header.size(); ++i) {
    const std::string& name = columns_.names()[i];
    wide_setup_.push_back(name.empty() ? no_setup : setup_of(header[i], i));
    if (!name.empty() && !Decimal::parse(name, '.') && !Decimal::parse(name, ',')) all_numbers = false;
  }
  if (all_numbers)
    findings_.report(header[0].line, nowhere, "", header[0].text,
                     "the first row holds numbers only, so it may be readings: a sheet starts with a header; give the "
                     "set-ups names, such as \"14 strands\"");
}

void RowReader::read(std::span<const Cell> row) {
  const bool blank = std::all_of(row.begin(), row.end(), [](const Cell& cell) {
    return cell.fault == CellFault::none && trimmed(cell.text).empty();
  });
  if (blank) return;
  any_row_ = true;
  if (!check_cells(row)) return;
  if (sheet_.layout == SheetLayout::tall)
    read_tall(row);
  else
    read_wide(row);
}

/// False when the row has cells too many, so that nobody knows which belongs where.
bool RowReader::check_cells(std::span<const Cell> row) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (row[i].fault != CellFault::none)
      report(row[i], i, row[i].text, std::string{fault_message(row[i].fault)});
    else if (i < columns_.size() && columns_.names()[i].empty() && !trimmed(row[i].text).empty())
      report(row[i], i, row[i].text, "text in a column without a name: name it in the header");
  }
  if (row.size() == columns_.size()) return true;
  // A quote never closed has swallowed what would make the count right.
  if (row.back().fault == CellFault::unterminated_quote) return row.size() < columns_.size();
  const std::string counts =
      "this row has " + count_of(row.size(), "cell") + ", the header " + std::to_string(columns_.size());
  if (row.size() < columns_.size()) {
    report(row.back(), row.size(), "", counts + ": an empty cell needs its separator too");
    return true;
  }
  const std::size_t first_more = columns_.size();
  report(row[first_more], first_more, row[first_more].text,
         counts + (sheet_.separator == ','
                       ? ": a cell with a comma in it needs quotes, a decimal comma is written as a point"
                       : ": a cell with a separator in it needs quotes"));
  return false;
}

std::optional<Decimal> RowReader::number(const Cell& cell, std::size_t index, std::string_view text) {
  Numbers::Number read = numbers_.read(text, cell.line);
  if (!read.complaint.empty()) report(cell, index, text, std::move(read.complaint));
  return read.value;
}

std::optional<Decimal> RowReader::reading(const Cell& cell, std::size_t index, bool within_limits) {
  const std::string_view text = trimmed(cell.text);
  const auto value = number(cell, index, text);
  if (!value) return std::nullopt;
  most_decimals_ = std::max(most_decimals_, value->decimals());
  if (within_limits && !any_speed_ && (less(*value, lowest_) || less(highest_, *value)))
    report(cell, index, text,
           "no bow's speed: readings lie between " + lowest_.text() + " and " + highest_.text() + " " +
               std::string{name(sheet_.unit)});
  return value;
}

std::uint32_t RowReader::setup_of(const Cell& cell, std::size_t index) {
  for (const Writing& writing : recent_)
    if (writing.setup != no_setup && cell.text == writing.text) return writing.setup;
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
  recent_[oldest_] = {std::string{cell.text}, entry.index};
  oldest_ = (oldest_ + 1) % recent_.size();
  return entry.index;
}

Label RowReader::label_of(std::span<const Cell> row, Column column, Names& names) {
  const std::string_view written = text_of(row, column);
  if (written.empty()) return 0;
  const std::size_t index = columns_.index_of(column);
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

void RowReader::read_order(std::span<const Cell> row, std::int64_t& order) {
  const std::size_t index = columns_.index_of(Column::order);
  if (index >= row.size() || row[index].fault != CellFault::none) return;
  const Cell& cell = row[index];
  const std::string_view text = trimmed(cell.text);
  if (text.empty()) {
    if (without_order_++ == 0) first_without_order_ = cell.line;
    return;
  }
  const auto value = Decimal::parse(text);
  if (!value || value->decimals() > 0 || value->coefficient() <= 0)
    return report(cell, index, text, "a firing order is a whole number from 1");
  order = value->coefficient();
  orders_.emplace_back(order, cell.line);
}

void RowReader::read_measurements(std::span<const Cell> row, std::uint32_t setup, Label bow) {
  const std::array measured = {std::pair{Column::draw_weight_lbf, &sheet_.draw_weight_lbf},
                               std::pair{Column::arrow_mass_gr, &sheet_.arrow_mass_gr},
                               std::pair{Column::draw_length_in, &sheet_.draw_length_in}};
  for (const auto& [column, list] : measured) {
    const std::string_view text = text_of(row, column);
    if (text.empty()) continue;
    const std::size_t index = columns_.index_of(column);
    const auto value = number(row[index], index, text);
    if (!value) continue;
    if (value->coefficient() <= 0)
      report(row[index], index, text, "must be greater than 0; leave the cell empty where it was not measured");
    list->push_back({.value = *value, .line = row[index].line, .setup = setup, .bow = bow});
  }
}

void RowReader::read_tall(std::span<const Cell> row) {
  const std::size_t setup_index = columns_.index_of(Column::setup);
  std::uint32_t setup = no_setup;
  if (setup_index < row.size() && row[setup_index].fault == CellFault::none)
    setup = setup_of(row[setup_index], setup_index);

  Shot shot{.line = row[0].line, .order = ++shots_so_far_, .setup = setup};
  const auto label = [&](Column column, Names& names) {
    return columns_.has(column) ? label_of(row, column, names) : Label{0};
  };
  shot.bow = label(Column::bow, bow_names_);
  shot.round = label(Column::round, round_names_);
  shot.session = label(Column::session, session_names_);
  shot.arrow = label(Column::arrow, arrow_names_);
  read_order(row, shot.order);
  read_measurements(row, setup, shot.bow);

  const std::string_view reason = text_of(row, Column::excluded);
  const std::size_t index = tall_reading_index();
  std::optional<Decimal> value;
  bool open = false;
  if (index < row.size() && row[index].fault == CellFault::none) {
    shot.line = row[index].line;
    if (!trimmed(row[index].text).empty())
      value = reading(row[index], index, reason.empty());
    else if (reason.empty() && planned_)
      open = true;
    else if (reason.empty())
      report(row[index], index, "", "the reading is missing: write it, or a reason in the column excluded");
  }
  if (const std::string_view note = text_of(row, Column::note); !note.empty())
    sheet_.notes.push_back({shot.line, std::string{note}});
  if (setup == no_setup) return;

  if (!reason.empty()) {
    ++sheet_.setups[setup].excluded;
    sheet_.excluded.push_back({.reading = value,
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
  if (open) {
    ++sheet_.setups[setup].open;
    sheet_.open.push_back({.line = shot.line,
                           .order = shot.order,
                           .setup = setup,
                           .bow = shot.bow,
                           .round = shot.round,
                           .session = shot.session,
                           .arrow = shot.arrow});
  }
  if (!value) return;
  ++sheet_.setups[setup].shots;
  // Written where it stays, member by member: to copy what was just written takes longer than all else here.
  Shot& kept = sheet_.shots.emplace_back();
  kept.reading = *value;
  kept.line = shot.line;
  kept.order = shot.order;
  kept.setup = setup;
  kept.bow = shot.bow;
  kept.round = shot.round;
  kept.session = shot.session;
  kept.arrow = shot.arrow;
}

void RowReader::read_wide(std::span<const Cell> row) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    const std::uint32_t setup = wide_setup_[i];
    if (setup == no_setup || row[i].fault != CellFault::none || trimmed(row[i].text).empty()) continue;
    const auto value = reading(row[i], i, true);
    if (!value) continue;
    ++sheet_.setups[setup].shots;
    sheet_.shots.push_back({.reading = *value, .line = row[i].line, .order = ++shots_so_far_, .setup = setup});
  }
}

void RowReader::finish() {
  if (!any_row_) findings_.report(0, 0, "", "", "the sheet has a header and no shots");
  check_orders();
  check_bows();
}

void RowReader::check_orders() {
  if (orders_.empty()) return;
  sheet_.order_given = true;
  const std::size_t index = columns_.index_of(Column::order);
  if (without_order_ > 0)
    findings_.report(first_without_order_, index, "order", "",
                     "no firing order here" +
                         (without_order_ > 1 ? " and in " + count_of(without_order_ - 1, "other row") : std::string{}) +
                         ", while line " + std::to_string(orders_.front().second) +
                         " has one: give it for every shot or for none");
  const auto falls = [](const auto& a, const auto& b) { return a.first >= b.first; };
  if (std::adjacent_find(orders_.begin(), orders_.end(), falls) == orders_.end()) return;
  std::sort(orders_.begin(), orders_.end());
  std::size_t first = 0;
  for (std::size_t i = 1; i < orders_.size(); ++i) {
    if (orders_[i].first != orders_[first].first)
      first = i;
    else
      findings_.report(orders_[i].second, index, "order", std::to_string(orders_[i].first),
                       "line " + std::to_string(orders_[first].second) + " has this firing order already");
  }
}

void RowReader::check_bows() {
  for (std::size_t s = 0; s < bow_use_.size(); ++s)
    if (bow_use_[s].with > 0 && bow_use_[s].without > 0)
      findings_.report(bow_use_[s].without, columns_.index_of(Column::bow), "bow", "",
                       "no bow here, while line " + std::to_string(bow_use_[s].with) + " has one for " +
                           quoted(sheet_.setups[s].name) + ": name the bow of every shot of a set-up or of none");
}

void settle_unit(Sheet& sheet, const Columns& columns, const HashValues& values, Findings& findings) {
  if (columns.layout == SheetLayout::wide) {
    sheet.unit = values.unit.value_or(SpeedUnit::feet_per_second);
    sheet.unit_origin = values.unit ? UnitOrigin::unit_line : UnitOrigin::assumed;
    return;
  }
  if (!columns.has_speed()) return;
  const Column column = columns.has(Column::speed_fps) ? Column::speed_fps : Column::speed_mps;
  sheet.unit = column == Column::speed_fps ? SpeedUnit::feet_per_second : SpeedUnit::metres_per_second;
  if (values.unit && *values.unit != sheet.unit)
    findings.report(values.unit_line, 0, "unit", name(*values.unit),
                    "contradicts the column " + std::string{name(column)} + ": delete this line or rename the column");
}

/// A reading in whole display steps; absent, and reported, when it is not on them. `where` tells its column.
template <class Where>
std::optional<std::int64_t> steps_of(Decimal reading, std::size_t line, const std::string& step_text, Decimal step,
                                     Findings& findings, Where where) {
  // At most 10^18 × 10^18, so 128 bits hold it.
  const WideInteger numerator = WideInteger{reading.coefficient()} * Decimal::power_of_ten(step.decimals());
  const WideInteger divisor = WideInteger{step.coefficient()} * Decimal::power_of_ten(reading.decimals());
  const WideInteger steps = numerator / divisor;
  const bool whole = steps * divisor == numerator;
  if (whole && steps <= most_steps && steps >= -most_steps) return static_cast<std::int64_t>(steps);
  const auto [index, column] = where();
  findings.report(line, index, column, reading.text(),
                  whole ? "too many display steps of " + step.text() + ": 15 digits can be worked with"
                        : "off the display step of " + step_text + ": a reading is a whole number of steps");
  return std::nullopt;
}

/// Every reading as a whole number of display steps, which is settled first.
void place_on_lattice(Sheet& sheet, const SheetOptions& options, const HashValues& values, const Columns& columns,
                      const RowReader& rows, Findings& findings) {
  if (options.display) {
    sheet.display_origin = DisplayOrigin::option;
  } else if (values.display) {
    sheet.display_step = DisplayStep{*values.display};
    sheet.display_origin = DisplayOrigin::display_line;
  } else {
    sheet.display_step = DisplayStep{Decimal{1, rows.most_decimals()}};
  }
  const Decimal step = sheet.display_step.size();
  const std::string step_text =
      step.text() + (options.display ? " that was asked for" : " in line " + std::to_string(values.display_line));
  const auto place = [&](Decimal reading, std::size_t line, std::uint32_t setup) {
    return steps_of(reading, line, step_text, step, findings, [&] {
      const std::size_t index = rows.reading_index(setup);
      return std::pair{index, columns.shown_name(index)};
    });
  };
  // Written to the last digit of a step such as 1 or 0.1, a reading's digits are the steps.
  const auto counts_steps = [&](Decimal reading) {
    return step.coefficient() == 1 && reading.decimals() == step.decimals() && reading.coefficient() <= most_steps &&
           reading.coefficient() >= -most_steps;
  };
  for (auto& shot : sheet.shots)
    shot.steps = counts_steps(shot.reading) ? shot.reading.coefficient()
                                            : place(shot.reading, shot.line, shot.setup).value_or(0);
  for (const auto& shot : sheet.excluded)
    if (shot.reading) place(*shot.reading, shot.line, shot.setup);
}

/// The set-up that each `#` line names.
void place_names(Sheet& sheet, const HashValues& values, Findings& findings) {
  if (sheet.setups.empty()) return;  // reported for what keeps the names from being read
  std::unordered_map<std::string_view, std::size_t> by_name;
  std::unordered_map<std::string, std::size_t> by_folded_name;
  for (std::size_t s = 0; s < sheet.setups.size(); ++s) {
    by_name.emplace(sheet.setups[s].name, s);
    by_folded_name.emplace(folded_name(sheet.setups[s].name), s);
  }
  const auto setup_named = [&](std::string_view name, std::size_t line, std::string key,
                               std::string_view text) -> SetUp* {
    if (const auto found = by_name.find(name); found != by_name.end()) return &sheet.setups[found->second];
    const auto near = by_folded_name.find(folded_name(name));
    findings.report(line, 0, std::move(key), text,
                    near == by_folded_name.end()
                        ? "no set-up of this sheet has this name: write it as the rows do, or delete this line"
                        : "line " + std::to_string(sheet.setups[near->second].line) + " writes the name " +
                              quoted(sheet.setups[near->second].name) + ": write it one way");
    return nullptr;
  };
  if (values.check_standard_line != 0)
    if (SetUp* const setup =
            setup_named(values.check_standard, values.check_standard_line, "check standard", values.check_standard))
      setup->check_standard = true;
  std::vector<std::size_t> line_of(sheet.setups.size(), 0);
  std::size_t places = 0;
  for (const PlannedShots& planned : values.planned) {
    SetUp* const setup = setup_named(planned.setup, planned.line, "planned shots", planned.text);
    if (!setup) continue;
    std::size_t& line = line_of[static_cast<std::size_t>(setup - sheet.setups.data())];
    if (line != 0 && setup->planned != planned.count)
      findings.report(planned.line, 0, "planned shots", planned.text,
                      "a second number for this set-up: line " + std::to_string(line) + " says " +
                          std::to_string(*setup->planned) + "; keep one of them");
    if (line != 0) continue;
    line = planned.line;
    setup->planned = planned.count;
    setup->place_in_plan = places++;
  }
}

/// What Sample requires of a set-up's readings, so that a sheet that was read can be analysed.
void check_spans(const Sheet& sheet, Findings& findings) {
  struct Range {
    std::int64_t low = std::numeric_limits<std::int64_t>::max();
    std::int64_t high = std::numeric_limits<std::int64_t>::min();
  };
  std::vector<Range> ranges(sheet.setups.size());
  for (const auto& shot : sheet.shots) {
    auto& range = ranges[shot.setup];
    range.low = std::min(range.low, shot.steps);
    range.high = std::max(range.high, shot.steps);
  }
  for (std::size_t s = 0; s < ranges.size(); ++s) {
    const double shots = static_cast<double>(sheet.setups[s].shots);
    const double span = static_cast<double>(ranges[s].high) - static_cast<double>(ranges[s].low);
    if (shots > 0 && span * shots > most_spanned_steps)
      findings.report(0, 0, "", sheet.setups[s].name,
                      "the readings of this set-up span too many display steps of " + sheet.display_step.size().text() +
                          " to be worked with");
  }
}

void read_into(Sheet& sheet, std::string_view text, const SheetOptions& options, Findings& findings) {
  if (report_not_text(text, findings)) return;
  const Opening opening = find_header(text);
  if (!opening.header_at) {
    if (opening.hash_lines.empty())
      findings.report(0, 0, "", "", "the file is empty", ProblemKind::empty_file);
    else
      findings.report(0, 0, "", "", "the sheet has # lines and no header row after them");
    return;
  }
  const std::size_t at = *opening.header_at;
  sheet.separator = separator_of(text.substr(at, row_end(text, at) - at));
  Numbers numbers{sheet.separator};
  HashValues values = read_hash_lines(opening.hash_lines, sheet.separator, numbers, findings);

  CsvReader csv{text.substr(at), sheet.separator, opening.header_line};
  const auto header = csv.next();
  Columns columns = read_header(header, findings);
  sheet.layout = columns.layout;
  settle_unit(sheet, columns, values, findings);

  RowReader rows{sheet, columns, numbers, findings, options.any_speed, values.plan.has_value()};
  if (sheet.layout == SheetLayout::wide) rows.read_wide_names(header);
  for (auto row = csv.next(); !row.empty(); row = csv.next()) rows.read(row);
  rows.finish();
  place_names(sheet, values, findings);
  place_on_lattice(sheet, options, values, columns, rows, findings);
  check_spans(sheet, findings);

  sheet.decimal_mark = numbers.decimal_mark();
  sheet.title = std::move(values.title);
  sheet.date = std::move(values.date);
  sheet.place = std::move(values.place);
  sheet.archer = std::move(values.archer);
  sheet.accuracy = std::move(values.accuracy);
  sheet.check_standard = std::move(values.check_standard);
  sheet.margin = values.margin;
  sheet.plan = values.plan;
  sheet.ignored_lines = std::move(values.ignored);
  sheet.ignored_columns = std::move(columns.ignored);
}

}  // namespace

ReadResult read_sheet(std::string_view text, const SheetOptions& options) {
  Sheet sheet;
  if (options.display) sheet.display_step = DisplayStep{*options.display};
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  Findings findings;
  read_into(sheet, text, options, findings);
  ReadResult result;
  if (findings.empty())
    result.sheet = std::move(sheet);
  else
    result.problems = std::move(findings).in_file_order();
  return result;
}

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
                   std::to_string(sheet.setups[setup].excluded) + " excluded" +
                   (sheet.setups[setup].open > 0 ? ", " + std::to_string(sheet.setups[setup].open) + " open" : "")};
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
