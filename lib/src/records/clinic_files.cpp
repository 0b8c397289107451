#include <shotassay/records/clinic_files.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdint>
#include <map>
#include <span>
#include <system_error>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/records/csv.hpp>
#include <shotassay/records/csv_row.hpp>

#include "findings.hpp"
#include "opening.hpp"
#include "spelling.hpp"

namespace shotassay {

namespace {

constexpr std::string_view lesson_mark = "shotassay 1";
constexpr std::int64_t most_students = 60;

std::string number_text(double value) {
  std::array<char, 64> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value).ptr;
  return {buffer.data(), end};
}

std::optional<double> number(std::string_view text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !(value - value == 0.0)) return std::nullopt;
  return value;
}

std::optional<std::uint64_t> whole(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

/// Rows under a header, with `#` lines above it, of which every fault of writing is told.
class TableReader {
 public:
  TableReader(std::string_view text, std::span<const std::string_view> keys, std::span<const std::string_view> columns)
      : text_{text.starts_with("\xEF\xBB\xBF") ? text.substr(3) : text}, columns_{columns} {
    if (report_not_text(text_, findings_)) return;
    const Opening opening = find_header(text_);
    if (!opening.header_at) {
      findings_.report(0, nowhere, "", "",
                       opening.hash_lines.empty() ? "the file is empty" : "no row stands below the # lines",
                       ProblemKind::empty_file);
      return;
    }
    const std::string_view header = text_.substr(*opening.header_at);
    separator_ = separator_of(header.substr(0, row_end(header, 0)));
    for (const HashLine& line : opening.hash_lines) read_hash_line(line, keys);
    csv_.emplace(header, separator_, opening.header_line);
    read_header();
  }

  struct Value {
    std::string text;
    std::size_t line = 0;  ///< 0: not given
  };

  Findings& findings() { return findings_; }
  const std::vector<std::string>& ignored() const { return ignored_; }

  /// The value of a `#` line; one that is missing is reported.
  Value needed(const std::string& key, const std::string& why) {
    const auto found = values_.find(key);
    if (found != values_.end()) return found->second;
    if (readable()) findings_.report(0, nowhere, "", "", "the line \"# " + key + ": …\" is missing: " + why);
    return {};
  }

  bool readable() const { return csv_.has_value() && header_read_; }

  struct Row {
    std::size_t line;
    std::vector<std::string> cells;  ///< by the columns asked for
  };

  /// The next row that is not blank and has no fault of writing.
  std::optional<Row> next() {
    if (!readable()) return std::nullopt;
    for (auto cells = csv_->next(); !cells.empty(); cells = csv_->next()) {
      const auto blank = [](const Cell& c) { return !c.quoted && trimmed(c.text).empty(); };
      if (std::all_of(cells.begin(), cells.end(), blank)) continue;
      bool sound = true;
      for (std::size_t i = 0; i < cells.size(); ++i) sound &= report_fault(cells[i], i);
      while (cells.size() > width_ && blank(cells.back())) cells = cells.first(cells.size() - 1);
      if (cells.size() > width_ || cells.size() <= *std::max_element(at_.begin(), at_.end())) {
        findings_.report(cells[0].line, nowhere, "", "",
                         "this row has " + count_of(cells.size(), "cell") + ", the header " + std::to_string(width_));
        sound = false;
      }
      if (!sound) continue;
      Row row{cells[0].line, {}};
      for (const std::size_t i : at_) row.cells.emplace_back(trimmed(cells[i].text));
      return row;
    }
    return std::nullopt;
  }

  void report(const Row& row, std::size_t column, std::string message) {
    findings_.report(row.line, at_[column], std::string{columns_[column]}, row.cells[column], std::move(message));
  }

  /// The student of a row, each at most once.
  std::optional<int> student(const Row& row, std::size_t column) {
    const auto value = whole(row.cells[column]);
    if (!value || *value < 1 || *value > most_students) {
      report(row, column, "a student's number is a whole number from 1 to " + std::to_string(most_students));
      return std::nullopt;
    }
    const auto [known, added] = students_.try_emplace(static_cast<int>(*value), row.line);
    if (!added) {
      report(row, column, "line " + std::to_string(known->second) + " has this student already");
      return std::nullopt;
    }
    return static_cast<int>(*value);
  }

 private:
  void read_hash_line(const HashLine& line, std::span<const std::string_view> keys) {
    // A spreadsheet program may have put quotes round the line, and separators behind it.
    std::string_view content = trimmed(line.text);
    while (content.ends_with(separator_)) content = trimmed(content.substr(0, content.size() - 1));
    if (content.size() > 1 && content.starts_with('"') && content.ends_with('"'))
      content = content.substr(1, content.size() - 2);
    content = trimmed(content.substr(std::min<std::size_t>(1, content.size())));
    const auto colon = content.find(':');
    const std::string key{trimmed(content.substr(0, colon))};
    if (colon == std::string_view::npos || std::find(keys.begin(), keys.end(), key) == keys.end()) return;
    const std::string value{trimmed(content.substr(colon + 1))};
    const auto [known, added] = values_.try_emplace(key, Value{value, line.line});
    if (!added && known->second.text != value)
      findings_.report(line.line, 0, key, value,
                       "a second value: line " + std::to_string(known->second.line) + " says " +
                           quoted(known->second.text) + "; keep one of them");
  }

  void read_header() {
    const auto header = csv_->next();
    width_ = header.size();
    at_.assign(columns_.size(), nowhere);
    bool sound = true;
    for (std::size_t i = 0; i < header.size(); ++i) {
      sound &= report_fault(header[i], i);
      const auto name = trimmed(header[i].text);
      const auto same = [&](std::string_view column) { return folded_key(column) == folded_key(name); };
      const auto known = std::find_if(columns_.begin(), columns_.end(), same);
      if (known == columns_.end()) {
        if (!name.empty()) ignored_.emplace_back(shown(name));
        continue;
      }
      std::size_t& at = at_[static_cast<std::size_t>(known - columns_.begin())];
      if (at != nowhere) {
        findings_.report(header[i].line, i, std::string{*known}, name, "there is such a column already");
        sound = false;
      }
      at = i;
    }
    for (std::size_t c = 0; c < columns_.size(); ++c)
      if (at_[c] == nowhere) {
        findings_.report(header[0].line, nowhere, std::string{columns_[c]}, "", "this column is missing");
        sound = false;
      }
    header_read_ = sound;
  }

  bool report_fault(const Cell& cell, std::size_t at) {
    const char* message = nullptr;
    switch (cell.fault) {
      case CellFault::none:
        return true;
      case CellFault::unterminated_quote:
        message = "a quote opens here and is never closed";
        break;
      case CellFault::text_after_quote:
        message = "text behind a closing quote";
        break;
      case CellFault::quote_in_plain_cell:
        message = "a quote inside a cell that does not begin with one";
        break;
      case CellFault::control_character:
        message = "a control character: delete it";
        break;
    }
    findings_.report(cell.line, at, "column " + std::to_string(at + 1), cell.text, message);
    return false;
  }

  std::string_view text_;
  std::span<const std::string_view> columns_;
  Findings findings_;
  std::map<std::string, Value> values_;
  std::map<int, std::size_t> students_;
  char separator_ = ',';
  std::optional<CsvReader> csv_;
  bool header_read_ = false;
  std::size_t width_ = 0;
  std::vector<std::size_t> at_;
  std::vector<std::string> ignored_;
};

/// The mark of a lesson's file and its seed.
std::optional<std::uint64_t> read_mark_and_seed(TableReader& table, std::size_t* seed_line) {
  const auto mark = table.needed("clinic", "it says that a lesson wrote the file");
  if (mark.line != 0 && mark.text != lesson_mark)
    table.findings().report(mark.line, 0, "clinic", mark.text,
                            "not a lesson that can be read here: " + std::string{lesson_mark} + " can");
  const auto seed = table.needed("seed", "it says which lesson's answers these are");
  if (seed_line != nullptr) *seed_line = seed.line;
  if (seed.line == 0) return std::nullopt;
  const auto value = whole(seed.text);
  if (value && *value <= INT64_MAX) return value;
  table.findings().report(seed.line, 0, "seed", seed.text, "a seed is a whole number from 0, below 2^63");
  return std::nullopt;
}

constexpr std::array<std::string_view, 8> key_keys{"clinic",     "seed", "unit", "display",
                                                   "confidence", "gap",  "sd",   "speed"};
constexpr std::array<std::string_view, 5> key_columns{"student", "true_gap", "a", "b", "verdict"};
constexpr std::array<std::string_view, 2> answer_keys{"clinic", "seed"};
constexpr std::array<std::string_view, 2> answer_columns{"student", "faster"};

/// The whole of the key's `#` lines but seed and mark.
void read_key_values(TableReader& table, ClinicKey& key) {
  const std::string why = "make the lesson again with its seed";
  const auto unit = table.needed("unit", why);
  if (unit.text == name(SpeedUnit::metres_per_second)) key.unit = SpeedUnit::metres_per_second;
  if (unit.line != 0 && unit.text != name(key.unit))
    table.findings().report(unit.line, 0, "unit", unit.text, "write fps or m/s");
  const auto display = table.needed("display", why);
  if (display.line != 0) {
    const auto step = Decimal::parse(display.text);
    if (step && step->coefficient() > 0 && step->coefficient() <= 999'999'999)
      key.step = DisplayStep{*step};
    else
      table.findings().report(display.line, 0, "display", display.text,
                              "must be the display's step: a positive number such as 1 or 0.1");
  }
  const auto confidence = table.needed("confidence", why);
  if (confidence.line != 0) {
    const auto level = number(confidence.text);
    if (level && *level >= 0.5 && *level < 1.0)
      key.level = ConfidenceLevel{*level};
    else
      table.findings().report(confidence.line, 0, "confidence", confidence.text, "must be 0.5 or more and below 1");
  }
  for (const auto& [name, target] :
       {std::pair{"gap", &key.gap}, std::pair{"sd", &key.sd}, std::pair{"speed", &key.speed}}) {
    const auto given = table.needed(name, why);
    if (given.line == 0) continue;
    const auto value = number(given.text);
    if (value && *value > 0.0 && *value <= 1e9)
      *target = *value;
    else
      table.findings().report(given.line, 0, name, given.text, "must be a number above 0");
  }
}

/// Readings with blanks between them.
std::optional<Sample> readings(TableReader& table, const TableReader::Row& row, std::size_t column, DisplayStep step) {
  std::vector<std::int64_t> steps;
  std::string_view rest = trimmed(row.cells[column]);
  while (!rest.empty()) {
    const auto blank = std::min(rest.find(' '), rest.size());
    const std::string_view written = rest.substr(0, blank);
    rest = trimmed(rest.substr(blank));
    const auto value = Decimal::parse(written);
    const int decimals = value ? std::max(value->decimals(), step.size().decimals()) : 0;
    const auto fine = value ? value->with_decimals(decimals) : std::nullopt;
    const auto size = step.size().with_decimals(decimals);
    if (!fine || !size || fine->coefficient() % size->coefficient() != 0) {
      table.report(row, column,
                   quoted(written) +
                       (value ? " is off the display step of " + step.size().text() : std::string{" is not a number"}));
      return std::nullopt;
    }
    steps.push_back(fine->coefficient() / size->coefficient());
  }
  if (steps.size() < 2 || steps.size() > 1000) {
    table.report(row, column, "needs 2 to 1000 readings with blanks between them");
    return std::nullopt;
  }
  try {
    return Sample{std::move(steps), step};
  } catch (const DomainError&) {
    table.report(row, column, "readings too large for their display step");
    return std::nullopt;
  }
}

std::string readings_text(const Sample& sample) {
  std::string out;
  for (const std::int64_t s : sample.steps()) {
    const Decimal step = sample.step().size();
    out += (out.empty() ? "" : " ") + Decimal{s * step.coefficient(), step.decimals()}.text();
  }
  return out;
}

}  // namespace

std::string clinic_key_text(const ClinicKey& key) {
  std::string out = "# clinic: " + std::string{lesson_mark} + "\n# seed: " + std::to_string(key.seed) +
                    "\n# unit: " + std::string{name(key.unit)} + "\n# display: " + key.step.size().text() +
                    "\n# confidence: " + number_text(key.level.value()) + "\n# gap: " + number_text(key.gap) +
                    "\n# sd: " + number_text(key.sd) + "\n# speed: " + number_text(key.speed) +
                    "\nstudent,true_gap,a,b,verdict\n";
  for (const ClinicKeyRow& row : key.rows) {
    const std::array<std::string, 4> cells{std::to_string(row.student), number_text(row.true_gap), readings_text(row.a),
                                           readings_text(row.b)};
    append_csv_row(out, std::array<std::string_view, 5>{cells[0], cells[1], cells[2], cells[3], row.verdict});
  }
  return out;
}

std::string blank_clinic_answers(const ClinicKey& key) {
  std::string out = "# clinic: " + std::string{lesson_mark} + "\n# seed: " + std::to_string(key.seed) +
                    "\n# write A or B or cannot tell\nstudent,faster\n";
  for (const ClinicKeyRow& row : key.rows) out += std::to_string(row.student) + ",\n";
  return out;
}

ClinicKeyResult read_clinic_key(std::string_view text) {
  TableReader table{text, key_keys, key_columns};
  ClinicKey key;
  if (const auto seed = read_mark_and_seed(table, nullptr)) key.seed = *seed;
  read_key_values(table, key);
  // Readings are looked at in the light of the display's step: without it there is nothing to say of them.
  const bool step_known = table.findings().empty();
  while (const auto row = table.next()) {
    const auto student = table.student(*row, 0);
    const auto gap = number(row->cells[1]);
    if (!gap) table.report(*row, 1, "is not a number");
    if (!step_known) continue;
    auto a = readings(table, *row, 2, key.step), b = readings(table, *row, 3, key.step);
    if (student && gap && a && b) key.rows.push_back({*student, *gap, std::move(*a), std::move(*b), row->cells[4]});
  }
  if (table.findings().empty() && key.rows.empty())
    table.findings().report(0, nowhere, "", "", "no student stands in it", ProblemKind::empty_file);
  if (!table.findings().empty()) return {std::nullopt, std::move(table.findings()).in_file_order()};
  return {std::move(key), {}};
}

ClinicAnswersResult read_clinic_answers(std::string_view text) {
  TableReader table{text, answer_keys, answer_columns};
  ClinicAnswers answers;
  if (const auto seed = read_mark_and_seed(table, &answers.seed_line)) answers.seed = *seed;
  while (const auto row = table.next()) {
    const auto student = table.student(*row, 0);
    const std::string said = folded_key(row->cells[1]);
    std::optional<ClinicAnswer> faster;
    if (said == "a")
      faster = ClinicAnswer::a;
    else if (said == "b")
      faster = ClinicAnswer::b;
    else if (said == "cannottell")
      faster = ClinicAnswer::cannot_tell;
    else if (!row->cells[1].empty())
      table.report(*row, 1, "write A, B or cannot tell; leave it empty where no answer was given");
    if (student) answers.rows.push_back({*student, faster, row->line});
  }
  if (!table.findings().empty()) return {std::nullopt, std::move(table.findings()).in_file_order()};
  answers.ignored_columns = table.ignored();
  return {std::move(answers), {}};
}

std::vector<Problem> answers_against_key(const ClinicAnswers& answers, const ClinicKey& key) {
  Findings findings;
  if (answers.seed != key.seed)
    findings.report(answers.seed_line, 0, "seed", std::to_string(answers.seed),
                    "these are answers to another lesson: the key's seed is " + std::to_string(key.seed));
  for (const ClinicAnswerRow& row : answers.rows) {
    const auto same = [&](const ClinicKeyRow& k) { return k.student == row.student; };
    if (std::none_of(key.rows.begin(), key.rows.end(), same))
      findings.report(row.line, 0, "student", std::to_string(row.student), "the key has no such student");
  }
  return std::move(findings).in_file_order();
}

}  // namespace shotassay
