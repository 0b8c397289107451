#include <algorithm>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/html.hpp>
#include <string_view>
#include <vector>

#include "../document/formatted.hpp"
#include "interval_stack.hpp"
#include "markup.hpp"
#include "page_style.hpp"
#include "picture.hpp"

namespace shotassay::report {

namespace {

using namespace document;

/// A running text: as it is in a terminal's lines, a unit or a percent sign is never parted from its number.
std::string running(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto rest = text.substr(i + 1);
    const bool after_digit = i > 0 && text[i - 1] >= '0' && text[i - 1] <= '9';
    const bool unit = rest.starts_with('%') || rest.starts_with("fps") || rest.starts_with("m/s");
    if (text[i] == ' ' && after_digit && unit)
      out += "\u00a0";
    else
      out += text[i];
  }
  return escaped(out);
}

std::string element(std::string_view name, std::string_view classes, std::string_view text) {
  const std::string attribute = classes.empty() ? "" : formatted(" class=\"{}\"", classes);
  return formatted("<{}{}>{}</{}>\n", name, attribute, running(text), name);
}

std::string_view tone_class(Tone tone) {
  switch (tone) {
    case Tone::resolved:
      return "tone-resolved";
    case Tone::same:
      return "tone-same";
    case Tone::open:
      return "tone-open";
    case Tone::caution:
      return "tone-caution";
    case Tone::plain:
      break;
  }
  return "";
}

std::size_t longest_word(std::string_view text) {
  std::size_t widest = 0;
  while (!text.empty()) {
    const auto blank = std::min(text.find(' '), text.size());
    widest = std::max(widest, display_width(text.substr(0, blank)));
    text.remove_prefix(std::min(text.size(), blank + 1));
  }
  return widest;
}

/// In a column of texts a longer word than this is broken.
constexpr std::size_t longest_unbroken = 24;

/// The least a cell can be squeezed to, in characters: a number is not broken, a text between its words.
std::size_t least_width(std::string_view text, bool in_one_line) {
  return in_one_line ? display_width(text) : std::min(longest_word(text), longest_unbroken);
}

/// Is any cell of the column written?
bool written(const std::vector<std::vector<std::string>>& rows, std::size_t column) {
  return std::any_of(rows.begin(), rows.end(), [column](const auto& row) { return !row[column].empty(); });
}

/// How a table behaves on a screen, as page_style() names it. Columns that a narrow screen hides do not count.
std::string_view table_class(const std::vector<Table::Column>& columns,
                             const std::vector<std::vector<std::string>>& rows, bool blanks_hidden) {
  constexpr std::size_t gap = 2, phone = 32, page = 76;  // characters
  std::size_t total = 0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (blanks_hidden && !written(rows, i)) continue;
    std::size_t width = least_width(columns[i].title, false);
    for (const auto& row : rows) width = std::max(width, least_width(row[i], columns[i].numeric || blanks_hidden));
    total += width + gap;
  }
  return total <= phone ? "" : total <= page ? "broad" : "vast";
}

class Renderer {
 public:
  void operator()(const Headline& h) {
    const std::string_view tone = tone_class(h.tone);
    body_ += element(titled_ ? "p" : "h1", formatted("headline{}{}", tone.empty() ? "" : " ", tone), h.text);
    titled_ = true;
  }
  void operator()(const Heading& h) { body_ += element("h2", "", h.text); }
  void operator()(const Paragraph& p) { body_ += element("p", tone_class(p.tone), p.text); }
  void operator()(const Points& p) {
    if (p.points.empty()) return;
    body_ += "<ul>\n";
    for (const auto& point : p.points) {
      const std::string lead = point.lead.empty() ? "" : "<strong>" + escaped(point.lead) + ":</strong> ";
      body_ += "<li>" + lead + running(point.text) + "</li>\n";
    }
    body_ += "</ul>\n";
  }
  void operator()(const Table& t) {
    if (t.columns.empty()) return;
    table(t.columns, t.rows, table_class(t.columns, t.rows, false), false);
  }
  void operator()(const ShotFigure& f) { drawn(f); }
  void operator()(const IntervalFigure& f) { drawn(f); }
  void operator()(const PowerCurveFigure& f) { drawn(f); }
  void operator()(const BowFigure& f) { drawn(f); }
  void operator()(const BudgetFigure& f) { drawn(f); }
  void operator()(const IntervalStackFigure& f) { drawn(f); }
  void operator()(const PageBreak&) { body_ += "<div class=\"page-break\"></div>\n"; }
  void operator()(const FiringSheet& sheet) {
    body_ += "<section class=\"sheet\">\n" + element("h2", "", sheet.title);
    for (const auto& line : sheet.particulars) body_ += element("p", "particulars", line);
    // Up to so many rows share the height of one page; more go on overleaf under the same head.
    constexpr std::size_t most_on_a_page = 40, on_further_pages = 26;
    const std::size_t rows =
        sheet.rows.size() <= most_on_a_page ? std::max<std::size_t>(1, sheet.rows.size()) : on_further_pages;
    body_ += formatted("<div style=\"--rows: {}; --room: {}mm\">\n", rows, room_for_rows(sheet));
    if (!sheet.columns.empty()) table(sheet.columns, sheet.rows, table_class(sheet.columns, sheet.rows, true), true);
    body_ += "</div>\n";
    list("remarks", sheet.remarks);
    list("cautions", sheet.cautions);
    body_ += "</section>\n";
  }

  std::string page(const HtmlOptions& options) && {
    return formatted(
        "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n"
        "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
        "<title>{}</title>\n<style>\n{}{}</style>\n</head>\n<body>\n<main{}>\n{}{}</main>\n</body>\n</html>\n",
        escaped(options.language), escaped(options.title), figure_style(), page_style(),
        options.numbers_on_paper ? "" : " class=\"without-numbers\"",
        element(titled_ ? "p" : "h1", "page-title", options.title), body_);
  }

 private:
  void list(std::string_view classes, const std::vector<std::string>& texts) {
    if (texts.empty()) return;
    body_ += formatted("<ul class=\"{}\">\n", classes);
    for (const auto& text : texts) body_ += element("li", "", text);
    body_ += "</ul>\n";
  }

  /// `to_fill_in` tells columns for handwriting from those that are written.
  void table(const std::vector<Table::Column>& columns, const std::vector<std::vector<std::string>>& rows,
             std::string_view kind, bool to_fill_in) {
    std::vector<std::string> classes;
    for (std::size_t i = 0; i < columns.size(); ++i) {
      std::string names = columns[i].numeric ? " number" : "";
      if (to_fill_in) names += written(rows, i) ? " written" : " blank";
      const auto broken = [&](const auto& row) {
        return (to_fill_in ? display_width(row[i]) : longest_word(row[i])) > longest_unbroken;
      };
      if (!columns[i].numeric && std::any_of(rows.begin(), rows.end(), broken)) names += " long";
      classes.push_back(names.empty() ? "" : " class=\"" + names.substr(1) + "\"");
    }
    body_ += kind.empty() ? "<table>\n" : formatted("<table class=\"{}\">\n", kind);
    body_ += "<thead>\n<tr>";
    for (std::size_t i = 0; i < columns.size(); ++i)
      body_ += formatted("<th scope=\"col\"{}>{}</th>", classes[i], escaped(columns[i].title));
    body_ += "</tr>\n</thead>\n<tbody>\n";
    for (const auto& row : rows) {
      body_ += "<tr>";
      for (std::size_t i = 0; i < row.size(); ++i) {
        const std::string label =
            columns[i].title.empty() ? "" : formatted(" data-label=\"{}\"", escaped(columns[i].title));
        body_ += formatted("<td{}{}>{}</td>", classes[i], label, escaped(row[i]));
      }
      body_ += "</tr>\n";
    }
    body_ += "</tbody>\n</table>\n";
  }

  template <class Figure>
  void drawn(const Figure& f) {
    if (!is_empty(f)) figure(picture_of(f));
  }

  void figure(const Picture& picture) {
    body_ += "<figure>\n" + embedded(picture, formatted("figure-{}", ++figures_)) + "</figure>\n";
    body_ += "<details>\n<summary>The figure in numbers</summary>\n";
    // A long and slim table goes on beside itself.
    const bool beside = picture.numbers.columns.size() == 2 && picture.numbers.rows.size() > 8;
    if (beside) body_ += "<div class=\"beside\">\n";
    (*this)(picture.numbers);
    if (beside) body_ += "</div>\n";
    body_ += "</details>\n";
  }

  std::string body_;
  bool titled_ = false;
  int figures_ = 0;
};

}  // namespace

std::string render_html(const Document& document, const HtmlOptions& options) {
  Renderer renderer;
  for (const auto& block : document.blocks) std::visit(renderer, block);
  return std::move(renderer).page(options);
}

}  // namespace shotassay::report
