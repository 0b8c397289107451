#include "opening.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <system_error>
#include <utility>

#include <shotassay/records/csv.hpp>

namespace shotassay {

namespace {

enum class Key : std::size_t {
  title,
  date,
  display,
  accuracy,
  margin,
  place,
  archer,
  unit,
  check_standard,
  plan,
  confidence,
  power,
  seed,
  planned_shots
};
constexpr std::array<std::string_view, 14> key_names = {"title",      "date",   "display", "accuracy",       "margin",
                                                        "place",      "archer", "unit",    "check standard", "plan",
                                                        "confidence", "power",  "seed",    "planned shots"};

struct Value {
  std::string text;
  std::size_t line = 0;  ///< 0: the key is not given
};

struct Values {
  std::array<Value, key_names.size()> single;
  std::vector<Value> planned_shots;  ///< one line a set-up
};

struct Looks {
  bool whole_file;  ///< another kind of file, so that no line is at fault
  std::string like;
};

Looks what_it_looks_like(std::string_view bytes, std::size_t at, const std::string& wanted) {
  using namespace std::string_view_literals;
  if (bytes.starts_with("PK\x03\x04"sv))
    return {true,
            "a spreadsheet file (.xlsx, .ods) or another zip archive: in the spreadsheet program save the sheet as CSV "
            "in UTF-8"};
  if (bytes.starts_with("\xD0\xCF\x11\xE0"sv))
    return {true, "an old spreadsheet file (.xls): in the spreadsheet program save the sheet as CSV in UTF-8"};
  if (bytes.starts_with("%PDF"sv)) return {true, "a PDF file: " + wanted + " is CSV text in UTF-8"};
  const bool utf16_mark = bytes.starts_with("\xFF\xFE"sv) || bytes.starts_with("\xFE\xFF"sv);
  const auto head = bytes.substr(0, 64);
  const auto nuls = static_cast<std::size_t>(std::count(head.begin(), head.end(), '\0'));
  if (utf16_mark || (head.size() >= 4 && nuls * 3 > head.size() && nuls * 3 < 2 * head.size()))
    return {true, "text in UTF-16: save it as CSV in UTF-8"};
  if (bytes[at] == '\0') return {false, "a binary file, with a NUL byte here: " + wanted + " is CSV text in UTF-8"};
  return {false, "text in an older encoding, for this byte is not UTF-8: save it as CSV in UTF-8"};
}

std::size_t line_ends(std::string_view text) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < text.size(); ++i)
    if (text[i] == '\n' || (text[i] == '\r' && !text.substr(i + 1).starts_with('\n'))) ++count;
  return count;
}

/// Without blanks and separators at its end: a spreadsheet program fills every line up with separators.
std::string_view without_filling(std::string_view text, char separator) {
  text = trimmed(text);
  while (text.ends_with(separator)) text = trimmed(text.substr(0, text.size() - 1));
  return text;
}

/// The line as it was before a spreadsheet program split it into cells and filled it up; absent when its quotes do not
/// match. A separator at the end of what is quoted is text.
std::optional<std::string> as_one_cell(std::string_view line, char separator) {
  if (!trimmed(line).starts_with('"')) return std::string{without_filling(line, separator)};
  CsvReader csv{line.substr(line.find('"')), separator};
  auto cells = csv.next();
  while (cells.size() > 1 && cells.back().fault == CellFault::none && trimmed(cells.back().text).empty())
    cells = cells.first(cells.size() - 1);
  std::string joined;
  bool first = true;
  for (const Cell& cell : cells) {
    if (cell.fault == CellFault::unterminated_quote || cell.fault == CellFault::text_after_quote) return std::nullopt;
    if (!std::exchange(first, false)) joined += separator;
    joined += cell.text;
  }
  return std::string{trimmed(joined)};
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
  const std::string_view rest = std::string_view{*text}.substr(1);
  if (has_control_character(rest))
    return findings.report(line.line, 0, "", rest, "control characters or a line end in a # line: delete them");
  const std::size_t colon = rest.find(':');
  if (colon == std::string_view::npos) {
    ignored.push_back({line.line, "", std::string{trimmed(rest)}});
    return;
  }
  const std::string_view key = trimmed(rest.substr(0, colon)), value = trimmed(rest.substr(colon + 1));
  if (const auto known = std::find(key_names.begin(), key_names.end(), key); known != key_names.end()) {
    const auto index = static_cast<std::size_t>(known - key_names.begin());
    if (value.empty()) return;  // a line left to be filled in
    if (static_cast<Key>(index) == Key::planned_shots)
      return values.planned_shots.push_back({std::string{value}, line.line});
    Value& kept = values.single[index];
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

constexpr std::string_view name(Key key) { return key_names[static_cast<std::size_t>(key)]; }

/// Digits alone, of what 64 bits hold.
std::optional<std::uint64_t> whole(std::string_view digits) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  if (error != std::errc{} || end != digits.data() + digits.size()) return std::nullopt;
  return value;
}

/// "6 of 14 strands": the number first, so that the name may be any text.
std::optional<PlannedShots> planned_shots(const Value& value) {
  const std::string_view text = value.text;
  const std::size_t digits = std::min(text.find_first_not_of("0123456789"), text.size());
  const auto count = whole(text.substr(0, digits));
  std::string_view rest = trimmed(text.substr(digits));
  if (!count || *count == 0 || !rest.starts_with("of") || rest.size() == text.size() - digits) return std::nullopt;
  rest.remove_prefix(2);
  const std::string_view setup = trimmed(rest);
  if (setup.empty() || setup.size() == rest.size()) return std::nullopt;
  return PlannedShots{.line = value.line, .text = value.text, .count = *count, .setup = std::string{setup}};
}

/// What the lines of a plan say, or that they stand in a sheet without one.
void read_plan(const Values& values, Numbers& numbers, HashValues& read, Findings& findings) {
  const auto given = [&](Key key) -> const Value& { return values.single[static_cast<std::size_t>(key)]; };
  const auto report = [&](Key key, const Value& value, std::string message) {
    findings.report(value.line, 0, std::string{name(key)}, value.text, std::move(message));
  };
  const Value& mark = given(Key::plan);
  if (mark.line == 0) {
    const std::string stray =
        "stands only in a sheet that a plan wrote, with the line \"# plan: " + std::string{plan_mark} +
        "\": add that line, or delete this one";
    for (const Key key : {Key::confidence, Key::power, Key::seed})
      if (given(key).line != 0) report(key, given(key), stray);
    for (const Value& value : values.planned_shots) report(Key::planned_shots, value, stray);
    return;
  }
  if (mark.text != plan_mark)
    report(Key::plan, mark, "not a plan that can be read here: " + std::string{plan_mark} + " can");
  read.plan = SheetPlan{.line = mark.line};

  const auto probability = [&](Key key) -> std::optional<double> {
    if (given(key).line == 0) return std::nullopt;
    const auto [value, complaint] = numbers.read(given(key).text, given(key).line);
    if (!complaint.empty()) report(key, given(key), complaint);
    if (!value) return std::nullopt;
    // 0.999999999999999999 is 1 as a double
    if (value->value() > 0 && value->value() < 1) return value->value();
    report(key, given(key), "must lie between 0 and 1, such as 0.95");
    return std::nullopt;
  };
  if (const auto level = probability(Key::confidence)) read.plan->confidence = ConfidenceLevel{*level};
  if (const auto power = probability(Key::power)) read.plan->power = Power{*power};
  if (given(Key::seed).line != 0) {
    read.plan->seed = whole(given(Key::seed).text);
    if (!read.plan->seed) report(Key::seed, given(Key::seed), "a seed is a whole number from 0, below 2^64");
  }
  for (const Value& value : values.planned_shots) {
    if (auto planned = planned_shots(value))
      read.planned.push_back(std::move(*planned));
    else
      report(Key::planned_shots, value,
             "write a whole number from 1 and the set-up's name, such as \"6 of 14 strands\"");
  }
}

}  // namespace

bool report_not_text(std::string_view text, Findings& findings, const std::string& wanted) {
  const auto at = first_not_text(text);
  if (!at) return false;
  const auto [whole_file, like] = what_it_looks_like(text, *at, wanted);
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

  const auto given = [&](Key key) -> const Value& { return values.single[static_cast<std::size_t>(key)]; };
  const auto report = [&](Key key, std::string message) {
    findings.report(given(key).line, 0, std::string{name(key)}, given(key).text, std::move(message));
  };
  // A plan writes points. A spreadsheet program that turns those of the readings into commas leaves # lines alone.
  Numbers plan_numbers{separator};
  Numbers& hash_numbers = given(Key::plan).line != 0 ? plan_numbers : numbers;
  const auto positive = [&](Key key) -> std::optional<Decimal> {
    if (given(key).line == 0) return std::nullopt;
    const auto [value, complaint] = hash_numbers.read(given(key).text, given(key).line);
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
  read.check_standard = given(Key::check_standard).text;
  read.check_standard_line = given(Key::check_standard).line;
  read_plan(values, hash_numbers, read, findings);
  return read;
}

}  // namespace shotassay
