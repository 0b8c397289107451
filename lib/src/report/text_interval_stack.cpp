#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>
#include <string>
#include <vector>

#include "interval_stack.hpp"

namespace shotassay::report {

using document::display_width;
using document::IntervalStackFigure;

namespace {

constexpr int indent = 2;

/// Single-width characters, each set on its own.
class Line {
 public:
  explicit Line(int columns) : cells_(static_cast<std::size_t>(columns), " ") {}

  void set(int column, const char* character) {
    if (column >= 0 && column < static_cast<int>(cells_.size())) cells_[static_cast<std::size_t>(column)] = character;
  }
  /// A text around a column, left out where it would touch another one.
  bool centre(int column, const std::string& ascii_or_minus) {
    const int length = static_cast<int>(display_width(ascii_or_minus)), room = static_cast<int>(cells_.size());
    const int start = std::clamp(column - length / 2, 0, std::max(0, room - length));
    if (length > room) return false;
    for (int i = std::max(0, start - 1); i < std::min(room, start + length + 1); ++i)
      if (cells_[static_cast<std::size_t>(i)] != " ") return false;
    int at = start;
    for (std::string_view rest = ascii_or_minus; !rest.empty();) {
      const auto bytes = document::first_character(rest).bytes;
      cells_[static_cast<std::size_t>(at++)] = std::string{rest.substr(0, bytes)};
      rest.remove_prefix(bytes);
    }
    return true;
  }
  std::string text() const {
    std::string out;
    for (const auto& cell : cells_) out += cell;
    return out;
  }

 private:
  std::vector<std::string> cells_;
};

std::string ended(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line + '\n';
}

}  // namespace

std::string draw(const IntervalStackFigure& figure, int width) {
  int labels = 0;
  bool any = false, any_truth = false, any_miss = false;
  for (const auto& group : figure.groups)
    for (const auto& row : group.rows) {
      any = true;
      any_truth |= group.truth != 0.0;
      any_miss |= figure.misses_marked && IntervalStackFigure::misses(row.interval, group.truth);
      labels = std::max(labels, static_cast<int>(display_width(row.label)));
    }
  if (!any) return {};
  const bool labelled = labels > 0 && 10 * labels <= 3 * width;
  const int before = indent + (labelled ? labels + 1 : 0);
  const int behind = std::max(2, static_cast<int>(display_width(figure.unit)) + 1);
  const int columns = std::max(12, std::min(width, 100) - before - behind);
  const Range range = range_of(figure);
  const auto place = [&](double x) {
    return static_cast<int>(std::lround((x - range.low) / (range.high - range.low) * (columns - 1)));
  };
  const std::string blank(static_cast<std::size_t>(before), ' ');

  std::string out;
  for (const auto& group : figure.groups) {
    if (group.rows.empty()) continue;
    out += wrap(std::string(indent, ' ') + group.label, width, indent);
    for (const auto& row : group.rows) {
      Line line{columns};
      const int from = place(row.interval.lower), to = place(row.interval.upper);
      for (int c = from + 1; c < to; ++c) line.set(c, "─");
      line.set(place(0.0), "│");
      if (group.truth != 0.0) line.set(place(group.truth), ":");
      line.set(from, "├");
      line.set(to, "┤");
      line.set(place(row.estimate), "●");
      const bool miss = figure.misses_marked && IntervalStackFigure::misses(row.interval, group.truth);
      std::string start = blank;
      if (labelled)
        start = std::string(indent, ' ') + row.label +
                std::string(static_cast<std::size_t>(before - indent) - display_width(row.label), ' ');
      out += ended(start + line.text() + (miss ? " ×" : ""));
    }
  }
  Line axis{columns}, numbers{columns};
  for (int c = 0; c < columns; ++c) axis.set(c, "─");
  const auto [values, decimals] = round_ticks(range, columns - 1);
  for (const double x : values)
    if (numbers.centre(place(x), (x > 0 ? "+" : "") + number(x, decimals))) axis.set(place(x), "┴");
  out += ended(blank + axis.text() + " " + figure.unit) + ended(blank + numbers.text());
  std::string legend = "│ no gap, ● the gap measured";
  if (any_truth) legend += ", : the true gap";
  if (any_miss) legend += ", × misses the truth";
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

}  // namespace shotassay::report
