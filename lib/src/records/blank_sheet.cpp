#include <shotassay/records/blank_sheet.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <map>
#include <string_view>
#include <system_error>

#include <shotassay/core/errors.hpp>
#include <shotassay/records/csv.hpp>
#include <shotassay/records/csv_row.hpp>

#include "columns.hpp"
#include "findings.hpp"
#include "names.hpp"
#include "opening.hpp"
#include "spelling.hpp"

namespace shotassay {

namespace {

[[noreturn]] void refuse(const std::string& why) { throw DomainError{"blank_sheet: " + why}; }

/// C0, DEL and, in UTF-8, C1.
bool has_control_character(std::string_view text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if (byte < 0x20 || byte == 0x7F) return true;
    if (byte == 0xC2 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xA0) return true;
  }
  return false;
}

void check_text(std::string_view kind, std::string_view text) {
  const std::string named = std::string{kind} + " " + quoted(text);
  if (first_not_text(text)) refuse(named + " is not UTF-8 text");
  if (has_control_character(text)) refuse(named + " has a control character or a line end in it");
  if (trimmed(text).size() != text.size()) refuse(named + " has a blank at its end or its start");
}

void check_name(std::string_view kind, std::string_view name) {
  check_text(kind, name);
  if (const std::string_view sign = formula_sign(name); !sign.empty())
    refuse(std::string{kind} + " " + quoted(name) + " begins with " + std::string{sign} +
           ", so that a spreadsheet program would take it for a formula");
}

/// Names of one kind, no two of which read_sheet would take for one mistyped.
class NamesOfKind {
 public:
  explicit NamesOfKind(std::string_view kind) : kind_{kind} {}

  void add(const std::string& name) {
    if (name.empty()) return;
    const auto entry = names_.find_or_add(name, 0, 0);
    if (entry.clash)
      refuse(std::string{kind_} + " " + quoted(name) + " differs from " + quoted(*entry.clash) +
             " only in case, blanks or invisible characters");
    check_name(kind_, name);
  }

 private:
  std::string_view kind_;
  Names names_;
};

struct SetUpRows {
  std::size_t counted = 0;
  std::size_t with_bow = 0;  ///< of those counted
  bool check_standard = false;
};

/// The rows of each set-up, by first appearance.
struct Rows {
  std::vector<std::string> names;
  std::map<std::string, SetUpRows, std::less<>> of;
};

Rows checked_rows(const PlannedSheet& plan) {
  if (plan.shots.empty()) refuse("needs a shot, got none");
  NamesOfKind setups{"set-up"}, bows{"bow"}, rounds{"round"}, arrows{"arrow"};
  Rows rows;
  std::int64_t last = 0;
  for (const PlannedShot& shot : plan.shots) {
    if (shot.order <= last)
      refuse("firing orders rise from 1, got " + std::to_string(shot.order) + " after " + std::to_string(last));
    last = shot.order;
    if (shot.setup.empty()) refuse("shot " + std::to_string(shot.order) + " has no set-up");
    setups.add(shot.setup);
    bows.add(shot.bow);
    rounds.add(shot.round);
    arrows.add(shot.arrow);
    if (shot.check_standard != (shot.setup == plan.check_standard))
      refuse("shot " + std::to_string(shot.order) + " of " + quoted(shot.setup) + " is " +
             (shot.check_standard ? "" : "not ") + "flagged as a check standard's, whose name is " +
             quoted(plan.check_standard));
    const auto [entry, added] = rows.of.try_emplace(shot.setup);
    if (added) rows.names.push_back(shot.setup);
    entry->second.check_standard = shot.check_standard;
    if (shot.warm_up) continue;
    ++entry->second.counted;
    if (!shot.bow.empty()) ++entry->second.with_bow;
  }
  for (const auto& [name, setup] : rows.of) {
    if (setup.counted == 0) refuse("set-up " + quoted(name) + " has no shot but warm-ups");
    if (setup.with_bow != 0 && setup.with_bow != setup.counted)
      refuse("set-up " + quoted(name) + " has a bow for " + std::to_string(setup.with_bow) + " of " +
             count_of(setup.counted, "shot") + ": name the bow of every one or of none");
  }
  if (!plan.check_standard.empty() && !rows.of.contains(plan.check_standard))
    refuse("check standard " + quoted(plan.check_standard) + " has no shot");
  return rows;
}

/// The shortest digits that read back as the same number.
std::string number_text(std::string_view what, double value) {
  std::array<char, 512> buffer{};
  const auto [end, error] =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed);
  std::string text{buffer.data(), error == std::errc{} ? end : buffer.data()};
  const auto read = Decimal::parse(text);
  if (!read || read->value() != value || !(value > 0))
    refuse(std::string{what} + " must be positive and of at most 18 digits, got " + text);
  return text;
}

/// The set-ups in the order to compare them.
std::vector<std::string> in_order_of(const PlannedSheet& plan, const Rows& rows) {
  std::vector<std::string> names;
  const auto add = [&](const std::string& name) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  };
  for (const auto& name : plan.setups) {
    if (!rows.of.contains(name)) refuse("set-up " + quoted(name) + " has no shot");
    add(name);
  }
  for (const auto& name : rows.names) add(name);
  return names;
}

void append_hash_lines(std::string& out, const PlannedSheet& plan, const Rows& rows) {
  const auto line = [&](std::string_view key, std::string_view value) {
    const std::string text = std::string{"# "}.append(key).append(value.empty() ? ":" : ": ").append(value);
    append_csv_row(out, std::array{std::string_view{text}});
  };
  line("title", plan.title);
  // Left to be filled in: a key without a value counts as not given.
  for (const auto key : {"date", "place", "archer"}) line(key, "");
  line("display", plan.display_step.size().text());
  if (plan.margin) line("margin", number_text("margin", *plan.margin));
  line("plan", plan_mark);
  line("confidence", number_text("confidence", plan.confidence.value()));
  line("power", number_text("power", plan.power.value()));
  for (const auto& name : in_order_of(plan, rows))
    if (const SetUpRows& setup = rows.of.at(name); !setup.check_standard)
      line("planned shots", std::to_string(setup.counted) + " of " + name);
  line("seed", std::to_string(plan.seed));
  if (!plan.check_standard.empty()) line("check standard", plan.check_standard);
}

}  // namespace

std::string blank_sheet(const PlannedSheet& plan) {
  check_text("title", plan.title);
  const Rows rows = checked_rows(plan);
  const auto any = [&](auto member) {
    return std::any_of(plan.shots.begin(), plan.shots.end(),
                       [&](const PlannedShot& s) { return !(s.*member).empty(); });
  };
  std::vector<Column> columns = {Column::order, Column::round, Column::setup};
  if (any(&PlannedShot::bow)) columns.push_back(Column::bow);
  if (any(&PlannedShot::arrow)) columns.push_back(Column::arrow);
  columns.push_back(plan.unit == SpeedUnit::feet_per_second ? Column::speed_fps : Column::speed_mps);
  columns.insert(columns.end(), {Column::draw_weight_lbf, Column::excluded, Column::note});

  std::string out;
  append_hash_lines(out, plan, rows);
  std::vector<std::string_view> cells;
  for (const Column column : columns) cells.push_back(name(column));
  append_csv_row(out, cells);
  for (const PlannedShot& shot : plan.shots) {
    const std::string order = std::to_string(shot.order);
    cells.clear();
    for (const Column column : columns) {
      cells.push_back(column == Column::order      ? std::string_view{order}
                      : column == Column::round    ? std::string_view{shot.round}
                      : column == Column::setup    ? std::string_view{shot.setup}
                      : column == Column::bow      ? std::string_view{shot.bow}
                      : column == Column::arrow    ? std::string_view{shot.arrow}
                      : column == Column::excluded ? shot.warm_up ? warm_up_reason : std::string_view{}
                      : column == Column::note ? std::string_view{shot.set_up_anew ? "set up anew" : ""}
                                                   : std::string_view{});
    }
    append_csv_row(out, cells);
  }
  return out;
}

}  // namespace shotassay
