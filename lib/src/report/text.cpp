#include "../document/formatted.hpp"
#include "interval_stack.hpp"
#include "text_figures.hpp"

#include <algorithm>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>

namespace shotassay::report {

namespace {

using namespace document;

int width_of(std::string_view text) { return static_cast<int>(display_width(text)); }

std::string blanks(int n) { return std::string(static_cast<std::size_t>(std::max(0, n)), ' '); }

/// The longest start of `word` that is at most `width` columns wide, at least one character.
std::size_t fitting(std::string_view word, int width) {
  std::size_t bytes = 0;
  int used = 0;
  while (bytes < word.size()) {
    const auto character = first_character(word.substr(bytes));
    used += width_of(word.substr(bytes, character.bytes));
    if (used > width && bytes > 0) break;
    bytes += character.bytes;
  }
  return bytes;
}

/// A unit or a percent sign is never parted from its number.
bool sticks(std::string_view word, std::string_view before) {
  if (before.empty() || before.back() < '0' || before.back() > '9') return false;
  return word.starts_with("%") || word.starts_with("fps") || word.starts_with("m/s");
}

/// A firing sheet without the columns that are left for handwriting.
Table written_columns(const FiringSheet& sheet) {
  Table table{.columns = {}, .rows = std::vector<std::vector<std::string>>(sheet.rows.size())};
  for (std::size_t i = 0; i < sheet.columns.size(); ++i) {
    const auto written = [i](const std::vector<std::string>& row) { return !row[i].empty(); };
    if (std::none_of(sheet.rows.begin(), sheet.rows.end(), written)) continue;
    table.columns.push_back(sheet.columns[i]);
    for (std::size_t r = 0; r < sheet.rows.size(); ++r) table.rows[r].push_back(sheet.rows[r][i]);
  }
  return table;
}

class Renderer {
 public:
  explicit Renderer(const TextOptions& options) : width_{std::max(24, options.width)}, color_{options.color} {}

  void operator()(const Headline& h) {
    gap();
    styled(wrap(h.text, width_), true, h.tone);
  }
  void operator()(const Heading& h) {
    gap();
    styled(wrap(h.text, width_), true, Tone::plain);
    after_heading_ = true;
  }
  void operator()(const Paragraph& p) {
    gap();
    styled(wrap(p.text, width_), false, p.tone);
  }
  void operator()(const Points& p) {
    gap();
    int lead = 0;
    for (const auto& point : p.points) lead = std::max(lead, width_of(point.lead));
    const bool beside = lead > 0 && lead <= width_ / 4 && width_ >= 60;
    for (const auto& point : p.points) {
      if (point.lead.empty())
        text_ += wrap("- " + point.text, width_, 2);
      else if (beside)
        text_ += wrap(point.lead + blanks(lead - width_of(point.lead)) + "  " + point.text, width_, lead + 2);
      else
        text_ += wrap(point.lead + ": " + point.text, width_, 2);
    }
  }
  void operator()(const Table& t) {
    if (t.columns.empty()) return;
    gap();
    std::vector<int> widths;
    for (const auto& column : t.columns) widths.push_back(width_of(column.title));
    for (const auto& row : t.rows)
      for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
    int total = -2;
    for (const int w : widths) total += w + 2;
    if (total <= width_)
      side_by_side(t, widths);
    else
      row_by_row(t);
  }
  void operator()(const ShotFigure& f) {
    gap();
    text_ += draw(f, width_);
  }
  void operator()(const IntervalFigure& f) {
    gap();
    text_ += draw(f, width_);
  }
  void operator()(const PowerCurveFigure& f) {
    gap();
    text_ += draw(f, width_);
  }
  void operator()(const BowFigure& f) {
    gap();
    text_ += draw(f, width_);
  }
  void operator()(const BudgetFigure& f) {
    if (!f.rows.empty()) (*this)(with_bars(f));
  }
  void operator()(const IntervalStackFigure& f) {
    gap();
    text_ += draw(f, width_);
  }
  void operator()(const PageBreak&) {}
  void operator()(const FiringSheet& sheet) {
    (*this)(Heading{sheet.title});
    const auto shots = sheet.rows.size();
    (*this)(Paragraph{formatted("{} {} in this order", shots, shots == 1 ? "shot" : "shots")});
    after_heading_ = true;
    (*this)(written_columns(sheet));
  }

  std::string text() && { return std::move(text_); }

 private:
  /// An empty line before every block but the first and the one under a heading.
  void gap() {
    if (!text_.empty() && !after_heading_) text_ += '\n';
    after_heading_ = false;
  }

  void styled(const std::string& lines, bool strong, Tone tone) {
    std::string code = strong ? "1" : "";
    const auto add = [&](const char* c) { code += code.empty() ? c : std::string{";"} + c; };
    if (tone == Tone::resolved) add("36");
    if (tone == Tone::same) add("34");
    if (tone == Tone::open || tone == Tone::caution) add("33");
    if (!color_ || code.empty()) {
      text_ += lines;
      return;
    }
    std::size_t start = 0;
    while (start < lines.size()) {
      const auto end = lines.find('\n', start);
      text_ += "\x1b[" + code + "m" + lines.substr(start, end - start) + "\x1b[0m\n";
      start = end + 1;
    }
  }

  void side_by_side(const Table& t, const std::vector<int>& widths) {
    const auto line = [&](auto cell) {
      std::string out;
      for (std::size_t i = 0; i < t.columns.size(); ++i) {
        const std::string& text = cell(i);
        const std::string pad = blanks(widths[i] - width_of(text));
        if (i > 0) out += "  ";
        out += t.columns[i].numeric ? pad + text : text + pad;
      }
      out.erase(out.find_last_not_of(' ') + 1);
      text_ += out + '\n';
    };
    line([&](std::size_t i) -> const std::string& { return t.columns[i].title; });
    for (const auto& row : t.rows) line([&](std::size_t i) -> const std::string& { return row[i]; });
  }

  /// Too wide for the page: each row by itself, its first cell above the others; the title of the first cells on top.
  void row_by_row(const Table& t) {
    int lead = 0;
    for (std::size_t i = 1; i < t.columns.size(); ++i) lead = std::max(lead, width_of(t.columns[i].title));
    lead = std::min(lead, width_ / 2);
    if (!t.columns[0].title.empty()) text_ += wrap(t.columns[0].title + ":", width_, 2);
    for (const auto& row : t.rows) {
      text_ += wrap(row[0], width_, 2);
      for (std::size_t i = 1; i < row.size(); ++i) {
        if (row[i].empty()) continue;
        const std::string& title = t.columns[i].title;
        text_ += wrap("  " + title + blanks(lead - width_of(title)) + "  " + row[i], width_, 4);
      }
    }
  }

  int width_;
  bool color_;
  bool after_heading_ = false;
  std::string text_;
};

}  // namespace

std::string wrap(const std::string& text, int width, int hanging) {
  std::string out,
      line =
          blanks(static_cast<int>(text.find_first_not_of(' ') == std::string::npos ? 0 : text.find_first_not_of(' ')));
  bool fresh = true;  // nothing but indentation on the line
  std::string_view rest = text;
  rest.remove_prefix(line.size());
  int pending = 0;  // blanks before the next word
  while (!rest.empty()) {
    auto blank = rest.find(' ');
    auto next = blank == std::string_view::npos ? blank : rest.find_first_not_of(' ', blank);
    while (next != std::string_view::npos && sticks(rest.substr(next), rest.substr(0, blank))) {
      blank = rest.find(' ', next);
      next = blank == std::string_view::npos ? blank : rest.find_first_not_of(' ', blank);
    }
    std::string_view word = rest.substr(0, blank);
    while (!word.empty()) {
      const int used = width_of(line), wanted = width_of(word);
      if (used + (fresh ? 0 : pending) + wanted <= width) {
        if (!fresh) line += blanks(pending);
        line += word;
        word = {};
        fresh = false;
      } else if (fresh) {
        // A number and its unit are parted only where a line cannot hold both.
        const auto bytes = std::min(fitting(word, width - used), word.find(' '));
        out += line + std::string{word.substr(0, bytes)} + '\n';
        word.remove_prefix(std::min(word.size(), word.find_first_not_of(' ', bytes)));
        line = blanks(hanging);
      } else {
        out += line + '\n';
        line = blanks(hanging);
        fresh = true;
      }
    }
    if (next == std::string_view::npos) break;
    pending = static_cast<int>(next - blank);
    rest.remove_prefix(next);
  }
  if (!fresh || out.empty()) out += line + '\n';
  return out;
}

std::string render_text(const Document& document, const TextOptions& options) {
  Renderer renderer{options};
  for (const auto& block : document.blocks) std::visit(renderer, block);
  return std::move(renderer).text();
}

}  // namespace shotassay::report
