#include "sheet_table.hpp"

#include <algorithm>
#include <map>
#include <shotassay/document/printable.hpp>

#include "../document/formatted.hpp"
#include "wording.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

/// A page is read by people: of a sheet that is longer it has the beginning, and says so.
constexpr std::size_t most_rows = 2000;

struct Row {
  std::int64_t order;
  std::size_t line;
  std::uint32_t setup;
  Label session, bow, round, arrow;
  std::string reading, why_not;
};

class SheetTable {
 public:
  explicit SheetTable(const ComparisonStory& story) : story_{story}, sheet_{story.sheet} {
    for (const Shot& s : sheet_.shots) add(s, s.reading.text(), "");
    for (const ExcludedShot& s : sheet_.excluded)
      add(s, s.reading ? s.reading->text() : "", "left out: " + printable(s.reason));
    for (const OpenShot& s : sheet_.open) add(s, "", "not fired yet");
    std::stable_sort(rows_.begin(), rows_.end(), [](const Row& a, const Row& b) { return a.order < b.order; });
    std::vector<std::size_t> lines;
    for (const Row& r : rows_) lines.push_back(r.line);
    std::sort(lines.begin(), lines.end());
    lines_ambiguous_ = std::adjacent_find(lines.begin(), lines.end()) != lines.end();
  }

  Points head() const {
    Points points;
    const auto add = [&](const std::string& lead, const std::string& text) {
      if (!text.empty()) points.points.push_back({lead, printable(text)});
    };
    add("title", sheet_.title);
    add("date", sheet_.date);
    add("place", sheet_.place);
    add("archer", sheet_.archer);
    add("chronograph's accuracy", sheet_.accuracy);
    add("display step", sheet_.display_step.size().text() + " " + std::string{name(sheet_.unit)});
    if (sheet_.margin) add("margin", sheet_.margin->text() + " " + std::string{name(sheet_.unit)});
    if (sheet_.plan && sheet_.plan->seed) add("seed of the firing order", std::to_string(*sheet_.plan->seed));
    return points;
  }

  Table table() const {
    Table table;
    column(table, "shot", true, [](const Row& r) { return std::to_string(r.order); });
    column(table, "session", false, [&](const Row& r) { return label(r.session); });
    column(table, "set-up", false, [&](const Row& r) { return shown_name(sheet_.setups[r.setup].name); });
    column(table, "bow", false, [&](const Row& r) { return label(r.bow); });
    column(table, "round", false, [&](const Row& r) { return label(r.round); });
    column(table, "arrow", false, [&](const Row& r) { return label(r.arrow); });
    column(table, "reading, " + std::string{name(sheet_.unit)}, true, [](const Row& r) { return r.reading; });
    if (!lines_ambiguous_) {
      measured(table, "draw weight, lbf", sheet_.draw_weight_lbf);
      measured(table, "arrow, gr", sheet_.arrow_mass_gr);
      measured(table, "draw length, in", sheet_.draw_length_in);
    }
    column(table, "not counted", false, [](const Row& r) { return r.why_not; });
    if (!lines_ambiguous_) {
      std::map<std::size_t, std::string> notes;
      for (const auto& note : sheet_.notes) notes[note.line] = printable(note.text);
      column(table, "note", false, [&](const Row& r) { return found(notes, r.line); });
    }
    return table;
  }

  std::size_t rows() const { return rows_.size(); }

  /// Notes and measured values are known by their line; rows of several sheets may share one.
  bool leaves_something_out() const {
    return lines_ambiguous_ && !(sheet_.notes.empty() && sheet_.draw_weight_lbf.empty() &&
                                 sheet_.arrow_mass_gr.empty() && sheet_.draw_length_in.empty());
  }

 private:
  template <class AnyShot>
  void add(const AnyShot& s, const std::string& reading, std::string why_not) {
    if (why_not.empty()) why_not = not_compared(s.setup);
    rows_.push_back({.order = s.order,
                     .line = s.line,
                     .setup = s.setup,
                     .session = s.session,
                     .bow = s.bow,
                     .round = s.round,
                     .arrow = s.arrow,
                     .reading = reading,
                     .why_not = std::move(why_not)});
  }

  std::string not_compared(std::uint32_t setup) const {
    if (sheet_.setups[setup].check_standard) return "check standard";
    const auto& compared = story_.comparison.setups;
    const bool taken = std::any_of(compared.begin(), compared.end(),
                                   [&](const SetupOutcome& s) { return s.name == sheet_.setups[setup].name; });
    return taken ? "" : "set-up not compared here";
  }

  std::string label(Label index) const { return index == 0 ? "" : shown_name(sheet_.label(index)); }

  static std::string found(const std::map<std::size_t, std::string>& texts, std::size_t line) {
    const auto at = texts.find(line);
    return at == texts.end() ? "" : at->second;
  }

  /// A column that has anything in it.
  template <class Cell>
  void column(Table& table, const std::string& title, bool numeric, Cell cell) const {
    std::vector<std::string> cells;
    for (std::size_t i = 0; i < std::min(most_rows, rows_.size()); ++i) cells.push_back(cell(rows_[i]));
    if (std::all_of(cells.begin(), cells.end(), [](const std::string& text) { return text.empty(); })) return;
    table.columns.push_back({title, numeric});
    table.rows.resize(cells.size());
    for (std::size_t i = 0; i < cells.size(); ++i) table.rows[i].push_back(std::move(cells[i]));
  }

  void measured(Table& table, const std::string& title, const std::vector<Measurement>& values) const {
    std::map<std::size_t, std::string> texts;
    for (const auto& m : values) texts[m.line] = m.value.text();
    column(table, title, true, [&](const Row& r) { return found(texts, r.line); });
  }

  const ComparisonStory& story_;
  const Sheet& sheet_;
  std::vector<Row> rows_;
  bool lines_ambiguous_ = false;  ///< two rows of one line: of several sheets, or of a wide one
};

}  // namespace

void show_sheet(const ComparisonStory& story, Document& out) {
  const SheetTable sheet{story};
  out.blocks.push_back(Heading{"The sheet, as read"});
  out.blocks.push_back(sheet.head());
  if (sheet.rows() > most_rows)
    out.blocks.push_back(Paragraph{formatted("The first {} of {} rows.", most_rows, sheet.rows())});
  if (sheet.leaves_something_out())
    out.blocks.push_back(Paragraph{"Notes and measured values stand in the sheets themselves."});
  out.blocks.push_back(sheet.table());
}

}  // namespace shotassay::narrative
