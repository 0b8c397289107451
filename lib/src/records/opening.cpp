#include "opening.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <shotassay/records/csv.hpp>

namespace shotassay {

namespace {

enum class Key : std::size_t { title, date, display, accuracy, margin, place, archer, unit };
constexpr std::array<std::string_view, 8> key_names = {"title",  "date",  "display", "accuracy",
                                                       "margin", "place", "archer",  "unit"};

struct Value {
  std::string text;
  std::size_t line = 0;  ///< 0: the key is not given
};
using Values = std::array<Value, key_names.size()>;

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

/// The line as it was before a spreadsheet program split it into cells; absent when its quotes do not match.
std::optional<std::string> as_one_cell(std::string_view line, char separator) {
  if (!trimmed(line).starts_with('"')) return std::string{line};
  CsvReader csv{line.substr(line.find('"')), separator};
  std::string joined;
  bool first = true;
  for (const Cell& cell : csv.next()) {
    if (cell.fault == CellFault::unterminated_quote || cell.fault == CellFault::text_after_quote) return std::nullopt;
    if (!std::exchange(first, false)) joined += separator;
    joined += cell.text;
  }
  return joined;
}

/// Without blanks and separators at its end: a spreadsheet program fills every line up with separators.
std::string_view without_filling(std::string_view text, char separator) {
  text = trimmed(text);
  while (text.ends_with(separator)) text = trimmed(text.substr(0, text.size() - 1));
  return text;
}

bool has_control_character(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char c) { return (static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F; });
}

void collect(const HashLine& line, char separator, Values& values, std::vector<IgnoredLine>& ignored,
             Findings& findings) {
  const auto text = as_one_cell(line.text, separator);
  if (!text)
    return findings.report(line.line, 0, "", line.text.substr(0, line.text.find_first_of("\r\n")),
                           "the quotes of this # line do not match: write it without quotes");
  const std::string_view rest = without_filling(*text, separator).substr(1);
  if (has_control_character(rest))
    return findings.report(line.line, 0, "", rest, "control characters or a line end in a # line: delete them");
  const std::size_t colon = rest.find(':');
  if (colon == std::string_view::npos) {
    ignored.push_back({line.line, "", std::string{trimmed(rest)}});
    return;
  }
  const std::string_view key = trimmed(rest.substr(0, colon)), value = trimmed(rest.substr(colon + 1));
  if (const auto known = std::find(key_names.begin(), key_names.end(), key); known != key_names.end()) {
    Value& kept = values[static_cast<std::size_t>(known - key_names.begin())];
    if (value.empty()) return;  // a line left to be filled in
    if (kept.line == 0)
      kept = {std::string{value}, line.line};
    else if (kept.text != value)
      findings.report(
          line.line, 0, std::string{key}, value,
          "a second value: line " + std::to_string(kept.line) + " says " + quoted(kept.text) + "; keep one of them");
    return;
  }
  for (const auto known : key_names)
    if (resembles(key, known))
      return findings.report(line.line, 0, shown(key), value,
                             "not a key of a shot sheet; if " + quoted(known) + " is meant, write it so");
  ignored.push_back({line.line, std::string{key}, std::string{value}});
}

}  // namespace

bool report_not_text(std::string_view text, Findings& findings) {
  const auto at = first_not_text(text);
  if (!at) return false;
  const auto [whole_file, like] = what_it_looks_like(text, *at);
  findings.report(whole_file ? 0 : line_ends(text.substr(0, *at)) + 1, 0, "", text.substr(whole_file ? 0 : *at, 8),
                  "this is not CSV text; it looks like " + like, ProblemKind::not_text);
  return true;
}

Opening find_header(std::string_view text) {
  Opening opening;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::string_view start = text.substr(std::min(text.find_first_not_of(" \t", at), text.size()));
    // A spreadsheet program puts quotes round a line that has a quote or a separator in it.
    const bool in_quotes = start.starts_with("\"#");
    std::size_t end = in_quotes ? row_end(text, at) : std::min(text.find_first_of("\r\n", at), text.size());
    const std::string_view content = text.substr(at, end - at);
    if (!in_quotes && end < text.size()) end += text.substr(end).starts_with("\r\n") ? 2 : 1;
    if (in_quotes || start.starts_with('#')) {
      opening.hash_lines.push_back({content, opening.header_line});
    } else if (content.find_first_not_of(" \t,;") != std::string_view::npos) {
      opening.header_at = at;
      break;
    }
    opening.header_line += in_quotes ? line_ends(text.substr(at, end - at)) : 1;
    at = end;
  }
  return opening;
}

HashValues read_hash_lines(const std::vector<HashLine>& lines, char separator, Numbers& numbers, Findings& findings) {
  HashValues read;
  Values values;
  for (const auto& line : lines) collect(line, separator, values, read.ignored, findings);

  const auto given = [&](Key key) -> const Value& { return values[static_cast<std::size_t>(key)]; };
  const auto report = [&](Key key, std::string message) {
    findings.report(given(key).line, 0, std::string{key_names[static_cast<std::size_t>(key)]}, given(key).text,
                    std::move(message));
  };
  const auto positive = [&](Key key) -> std::optional<Decimal> {
    if (given(key).line == 0) return std::nullopt;
    const auto [value, complaint] = numbers.read(given(key).text, given(key).line);
    if (!complaint.empty()) report(key, complaint);
    if (!value || value->coefficient() > 0) return value;
    report(key, "must be greater than 0");
    return std::nullopt;
  };

  read.title = given(Key::title).text;
  read.date = given(Key::date).text;
  read.place = given(Key::place).text;
  read.archer = given(Key::archer).text;
  read.accuracy = given(Key::accuracy).text;
  read.margin = positive(Key::margin);
  read.display = positive(Key::display);
  read.display_line = given(Key::display).line;
  if (read.display && read.display->coefficient() > 1'000'000'000) {
    report(Key::display, "a display step has nine digits at most");
    read.display.reset();
  }
  read.unit_line = given(Key::unit).line;
  for (const SpeedUnit unit : {SpeedUnit::feet_per_second, SpeedUnit::metres_per_second})
    if (given(Key::unit).text == name(unit)) read.unit = unit;
  if (read.unit_line != 0 && !read.unit) report(Key::unit, "not a unit of a shot sheet: write fps or m/s");
  return read;
}

}  // namespace shotassay
