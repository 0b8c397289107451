#include <shotassay/records/claim_table.hpp>

#include <algorithm>
#include <charconv>
#include <span>
#include <string_view>
#include <system_error>
#include <utility>

#include <shotassay/records/csv.hpp>

#include "columns.hpp"
#include "findings.hpp"
#include "numbers.hpp"
#include "opening.hpp"
#include "spelling.hpp"

namespace shotassay {

namespace {

constexpr std::size_t longest_row = std::size_t{1} << 16;
constexpr std::size_t block = std::size_t{1} << 17;
constexpr std::int64_t most_shots = 1000;

enum class Field : std::size_t {
  claim,
  shots_1,
  average_1,
  sd_1,
  low_1,
  high_1,
  spread_1,
  shots_2,
  average_2,
  sd_2,
  low_2,
  high_2,
  spread_2,
  display,
  margin,
  claims
};
constexpr std::array<std::string_view, 16> field_names = {
    "claim",     "shots_1", "average_1", "sd_1",   "low_1",    "high_1",  "spread_1", "shots_2",
    "average_2", "sd_2",    "low_2",     "high_2", "spread_2", "display", "margin",   "claims"};

constexpr std::size_t index(Field field) { return static_cast<std::size_t>(field); }
/// The field of set-up 0 or 1 that answers to one of the first.
constexpr Field of_setup(Field first, std::size_t setup) {
  return static_cast<Field>(index(first) + setup * (index(Field::shots_2) - index(Field::shots_1)));
}

bool blank(std::span<const Cell> row) {
  return std::all_of(row.begin(), row.end(),
                     [](const Cell& cell) { return cell.fault == CellFault::none && trimmed(cell.text).empty(); });
}

/// Which column of the table is which?
class Header {
 public:
  void read(std::span<const Cell> cells, Findings& findings) {
    places_.fill(nowhere);
    for (const Cell& cell : cells) names_.emplace_back(trimmed(cell.text));
    const auto report = [&](std::size_t i, std::string message) {
      findings.report(cells[i].line, i, shown_name(i), cells[i].text, std::move(message));
    };
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (cells[i].fault != CellFault::none) report(i, std::string{fault_message(cells[i].fault)});
      const auto first = std::find(names_.begin(), names_.end(), names_[i]);
      if (!names_[i].empty() && first != names_.begin() + static_cast<std::ptrdiff_t>(i))
        report(i, "the header has this name twice");
    }
    // First the exact names, so that a doubtful one never takes the place of a right one.
    std::vector<bool> settled(cells.size(), false);
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const auto known = std::find(field_names.begin(), field_names.end(), names_[i]);
      if (known == field_names.end()) continue;
      settled[i] = true;
      std::size_t& place = places_[static_cast<std::size_t>(known - field_names.begin())];
      if (place == nowhere) place = i;
    }
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (settled[i] || names_[i].empty()) continue;
      const auto likely = std::find_if(field_names.begin(), field_names.end(),
                                       [&](std::string_view known) { return resembles(names_[i], known); });
      if (likely == field_names.end())
        ignored_.push_back(names_[i]);
      else
        report(i, "not a column of a table of claims; if " + std::string{*likely} +
                      " is meant, write it so, otherwise choose a name less like it");
    }
    const bool figures =
        has(Field::average_1) || has(Field::sd_1) || has(Field::low_1) || has(Field::high_1) || has(Field::spread_1);
    if (!figures && findings.empty())
      findings.report(cells[0].line, nowhere, "average_1", "",
                      "a table of claims needs the column average_1, or another figure of set-up 1: sd_1, low_1, "
                      "high_1 or spread_1");
  }

  bool has(Field field) const { return place(field) != nowhere; }
  std::size_t place(Field field) const { return places_[index(field)]; }
  std::size_t size() const { return names_.size(); }
  bool named(std::size_t i) const { return !names_[i].empty(); }
  std::string shown_name(std::size_t i) const {
    return i < names_.size() && !names_[i].empty() ? shown(names_[i]) : "column " + std::to_string(i + 1);
  }
  const std::vector<std::string>& ignored() const { return ignored_; }

 private:
  std::array<std::size_t, field_names.size()> places_{};
  std::vector<std::string> names_, ignored_;
};

std::optional<std::int64_t> whole(std::string_view digits) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (error != std::errc{} || end != digits.data() + digits.size()) return std::nullopt;
  return value;
}

std::optional<ShotCount> shot_count(std::string_view text) {
  const std::size_t dots = text.find("..");
  const auto fewest = whole(trimmed(text.substr(0, dots)));
  const auto most = dots == std::string_view::npos ? fewest : whole(trimmed(text.substr(dots + 2)));
  if (!fewest || !most || *fewest < 1 || *most < *fewest || *most > most_shots) return std::nullopt;
  return ShotCount{*fewest, *most};
}

}  // namespace

/// The rows of the text as it comes in, and what they say.
class ClaimTableReader::Rows {
 public:
  explicit Rows(ByteSource& source) : source_{source} {
    refill();
    if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;
    Findings findings;
    read_header(findings);
    problems_ = std::move(findings).in_file_order();
  }

  const std::vector<Problem>& problems() const { return problems_; }
  const Header& header() const { return header_; }
  char separator() const { return separator_; }
  std::optional<char> decimal_mark() const {
    return numbers_.any_fraction() ? std::optional{numbers_.decimal_mark()} : std::nullopt;
  }

  std::optional<ClaimRow> next() {
    if (!problems_.empty()) return std::nullopt;
    while (next_row())
      if (row_.too_long || !blank(row_.cells)) return claim();
    return std::nullopt;
  }

 private:
  struct Row {
    std::size_t line = 0;
    std::string_view text = {};
    std::span<const Cell> cells = {};
    bool too_long = false;  ///< and passed over
  };

  /// More text behind what is not yet used up.
  void refill() {
    reader_.reset();
    text_.erase(0, std::exchange(at_, 0));
    const std::size_t wanted = text_.size() + block;
    while (text_.size() < wanted && !ended_) {
      const std::size_t before = text_.size();
      text_.resize(wanted);
      const std::size_t got = source_.read(text_.data() + before, wanted - before);
      text_.resize(before + got);
      ended_ = got == 0;
    }
  }

  void read_header(Findings& findings) {
    do {
      const std::string_view rest = std::string_view{text_}.substr(at_);
      const std::string_view row = rest.substr(0, row_end(rest, 0));
      if (report_not_text(row, findings, "a table of claims")) return;
      separator_ = separator_of(row);
      reader_.reset();
      if (!next_row()) return findings.report(0, 0, "", "", "the file is empty", ProblemKind::empty_file);
      if (row_.too_long) return findings.report(row_.line, 0, "", "", too_long());
    } while (blank(row_.cells));
    numbers_ = Numbers{separator_};
    header_.read(row_.cells, findings);
  }

  static std::string too_long() { return "this row is longer than " + std::to_string(longest_row) + " bytes"; }

  /// Puts the next row into row_, whose cells hold until the next call; false after the last.
  bool next_row() {
    for (;;) {
      if (!reader_) {
        reader_.emplace(std::string_view{text_}.substr(at_), separator_, line_);
        reader_start_ = at_;
      }
      row_ = {.line = line_, .cells = reader_->next()};
      const std::size_t end = reader_start_ + reader_->position();
      // A row that ends with the text so far may go on, and so may one with an open quote.
      const bool open = !row_.cells.empty() && row_.cells.back().fault == CellFault::unterminated_quote;
      if (!ended_ && (end == text_.size() || open) && text_.size() - at_ <= longest_row) {
        refill();
        continue;
      }
      if (row_.cells.empty()) return false;
      if (end - at_ > longest_row) {
        row_ = {.line = line_, .too_long = true};
        skip_line();
        return true;
      }
      row_.text = std::string_view{text_}.substr(at_, end - at_);
      line_ += line_ends(row_.text);
      at_ = end;
      return true;
    }
  }

  static std::size_t line_ends(std::string_view text) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < text.size(); ++i)
      if (text[i] == '\n' || (text[i] == '\r' && !text.substr(i + 1).starts_with('\n'))) ++count;
    return count;
  }

  void skip_line() {
    for (;;) {
      const std::size_t end = text_.find_first_of("\r\n", at_);
      // Whether a CR at the very end has its LF is not known yet.
      if (end != std::string::npos && (end + 1 < text_.size() || ended_)) {
        at_ = end + (std::string_view{text_}.substr(end).starts_with("\r\n") ? 2 : 1);
        ++line_;
        break;
      }
      at_ = std::min(end, text_.size());
      if (ended_) break;
      refill();
    }
    reader_.reset();
  }

  /// What the row says.
  ClaimRow claim() {
    Findings findings;
    ClaimRow claim{.line = row_.line};
    if (row_.too_long) {
      findings.report(row_.line, 0, "", "", too_long());
    } else if (const auto at = first_not_text(row_.text)) {
      findings.report(row_.line, 0, "", row_.text.substr(*at, 8),
                      "bytes that are not text in UTF-8: save the table as CSV in UTF-8", ProblemKind::not_text);
    } else if (check_cells(findings)) {
      read_cells(claim, findings);
    }
    claim.problems = std::move(findings).in_file_order();
    return claim;
  }

  void report(Findings& findings, std::size_t i, std::string_view found, std::string message) const {
    const Cell& cell = row_.cells[std::min(i, row_.cells.size() - 1)];
    findings.report(cell.line, i, header_.shown_name(i), found, std::move(message));
  }

  /// False when nobody knows which cell belongs where.
  bool check_cells(Findings& findings) const {
    const auto cells = row_.cells;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      if (cells[i].fault != CellFault::none)
        report(findings, i, cells[i].text, std::string{fault_message(cells[i].fault)});
      else if (i < header_.size() && !header_.named(i) && !trimmed(cells[i].text).empty())
        report(findings, i, cells[i].text, "text in a column without a name: name it in the header");
    }
    if (cells.size() == header_.size()) return true;
    if (cells.back().fault == CellFault::unterminated_quote) return false;
    const std::string counts =
        "this row has " + count_of(cells.size(), "cell") + ", the header " + std::to_string(header_.size());
    if (cells.size() < header_.size()) {
      report(findings, cells.size(), "", counts + ": an empty cell needs its separator too");
      return true;
    }
    report(
        findings, header_.size(), cells[header_.size()].text,
        counts + (separator_ == ',' ? ": a cell with a comma in it needs quotes, a decimal comma is written as a point"
                                    : ": a cell with a separator in it needs quotes"));
    return false;
  }

  /// Trimmed; empty where the table or the row lacks it, or its writing is at fault.
  std::string_view text_of(Field field) const {
    const std::size_t i = header_.place(field);
    return i < row_.cells.size() && row_.cells[i].fault == CellFault::none ? trimmed(row_.cells[i].text)
                                                                           : std::string_view{};
  }

  std::optional<Decimal> number(Field field, Findings& findings) {
    const std::string_view text = text_of(field);
    if (text.empty()) return std::nullopt;
    auto [value, complaint] = numbers_.read(text, row_.line);
    if (!complaint.empty()) report(findings, header_.place(field), text, std::move(complaint));
    return value;
  }

  /// One that may not be negative, or not 0 either.
  std::optional<Decimal> size(Field field, bool zero_allowed, Findings& findings) {
    const auto value = number(field, findings);
    if (!value || value->coefficient() > 0 || (zero_allowed && value->coefficient() == 0)) return value;
    report(findings, header_.place(field), text_of(field),
           zero_allowed ? "must not be negative" : "must be greater than 0; leave the cell empty where there is none");
    return std::nullopt;
  }

  void read_cells(ClaimRow& claim, Findings& findings) {
    claim.name = text_of(Field::claim);
    for (std::size_t s = 0; s < 2; ++s) {
      ClaimedSetup& setup = claim.setups[s];
      const Field shots = of_setup(Field::shots_1, s);
      if (const std::string_view text = text_of(shots); !text.empty()) {
        setup.shots = shot_count(text);
        if (!setup.shots)
          report(
              findings, header_.place(shots), text,
              "write a whole number of shots from 1 to " + std::to_string(most_shots) + ", or a range such as 3..10");
      }
      setup.average = number(of_setup(Field::average_1, s), findings);
      setup.sd = size(of_setup(Field::sd_1, s), true, findings);
      setup.low = number(of_setup(Field::low_1, s), findings);
      setup.high = number(of_setup(Field::high_1, s), findings);
      setup.spread = size(of_setup(Field::spread_1, s), true, findings);
    }
    claim.display = size(Field::display, false, findings);
    if (claim.display && claim.display->coefficient() > 999'999'999)
      report(findings, header_.place(Field::display), text_of(Field::display),
             "a display step has nine digits at most");
    claim.margin = size(Field::margin, false, findings);
    if (const std::string_view text = text_of(Field::claims); !text.empty()) {
      constexpr std::array<std::string_view, 3> words = {"faster", "same", "slower"};
      const auto word = std::find(words.begin(), words.end(), text);
      if (word == words.end())
        report(findings, header_.place(Field::claims), text, "write faster, same or slower: set-up 2 against set-up 1");
      else
        claim.word = static_cast<ClaimWord>(word - words.begin());
    }
  }

  ByteSource& source_;
  std::string text_;
  std::size_t at_ = 0;    ///< where the next row begins
  std::size_t line_ = 1;  ///< of that
  bool ended_ = false;
  std::optional<CsvReader> reader_;
  std::size_t reader_start_ = 0;
  char separator_ = ',';
  Row row_;
  Header header_;
  Numbers numbers_{','};
  std::vector<Problem> problems_;
};

ClaimTableReader::ClaimTableReader(ByteSource& source) : rows_{std::make_unique<Rows>(source)} {}
ClaimTableReader::~ClaimTableReader() = default;

const std::vector<Problem>& ClaimTableReader::problems() const { return rows_->problems(); }
const std::vector<std::string>& ClaimTableReader::ignored_columns() const { return rows_->header().ignored(); }
char ClaimTableReader::separator() const { return rows_->separator(); }
std::optional<char> ClaimTableReader::decimal_mark() const { return rows_->decimal_mark(); }
bool ClaimTableReader::has_column(std::string_view name) const {
  const auto known = std::find(field_names.begin(), field_names.end(), name);
  return known != field_names.end() && rows_->header().has(static_cast<Field>(known - field_names.begin()));
}
std::optional<ClaimRow> ClaimTableReader::next() { return rows_->next(); }

}  // namespace shotassay
