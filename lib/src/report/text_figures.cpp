#include "text_figures.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>
#include <string_view>
#include <vector>

#include "../document/formatted.hpp"
#include "figure_scale.hpp"

namespace shotassay::report {

namespace {

using document::BowFigure;
using document::BudgetFigure;
using document::display_width;
using document::IntervalFigure;
using document::PowerCurveFigure;
using document::ShotFigure;

constexpr int indent = 2;

/// One line of single-width characters, each set on its own.
class Canvas {
 public:
  explicit Canvas(int columns) : cells_(static_cast<std::size_t>(std::max(1, columns)), " ") {}

  void set(int column, std::string_view character) {
    if (column >= 0 && column < static_cast<int>(cells_.size())) cells_[static_cast<std::size_t>(column)] = character;
  }
  /// Set only where nothing but a blank or a line stands.
  void set_between(int column, std::string_view character) {
    if (column < 0 || column >= static_cast<int>(cells_.size())) return;
    const std::string& there = cells_[static_cast<std::size_t>(column)];
    if (there == " " || there == "─") set(column, character);
  }
  void fill(int from, int to, std::string_view character) {
    for (int i = std::max(0, from); i <= to; ++i) set(i, character);
  }
  void fill_blank(int from, int to, std::string_view character) {
    for (int i = std::max(0, from); i <= std::min(to, static_cast<int>(cells_.size()) - 1); ++i)
      if (cells_[static_cast<std::size_t>(i)] == " ") set(i, character);
  }
  /// A text of single-width characters around a column, pushed inwards at the borders; left out where it would touch
  /// another one or does not fit, for half a number is a wrong number. Says whether it stands.
  bool centre(int column, std::string_view text) {
    const int length = static_cast<int>(display_width(text)), room = static_cast<int>(cells_.size());
    if (length > room) return false;
    int start = std::clamp(column - length / 2, 0, room - length);
    for (int i = std::max(0, start - 1); i < std::min(room, start + length + 1); ++i)
      if (cells_[static_cast<std::size_t>(i)] != " ") return false;
    while (!text.empty()) {
      const auto bytes = document::first_character(text).bytes;
      set(start++, text.substr(0, bytes));
      text.remove_prefix(bytes);
    }
    return true;
  }

  /// One line, ended, behind `start`.
  std::string line(const std::string& start = std::string(indent, ' ')) const {
    std::string out = start;
    for (const auto& cell : cells_) out += cell;
    out.erase(out.find_last_not_of(' ') + 1);
    return out + '\n';
  }

 private:
  std::vector<std::string> cells_;
};

struct Tick {
  int column;
  std::string label;
};

/// An axis with ticks, its unit behind it, and the labels below: two lines, unit_room(unit) wider than its columns.
std::string axis(int columns, const std::vector<Tick>& ticks, const std::string& unit) {
  Canvas line{columns}, labels{columns};
  line.fill(0, columns - 1, "─");
  for (const auto& tick : ticks) {
    line.set(tick.column, "┴");
    labels.centre(tick.column, tick.label);
  }
  std::string first = line.line();
  first.insert(first.size() - 1, " " + unit);
  return first + labels.line();
}

int unit_room(const std::string& unit) { return static_cast<int>(display_width(unit)) + 1; }

/// Which ends of the intervals drawn so far lie outside the drawing.
struct Cut {
  bool left = false, right = false;

  /// What the arrow heads of these ends mean, for the legend.
  std::string legend() const {
    if (!left && !right) return {};
    return std::string{"; "} + (left ? "<" : "") + (left && right ? " and " : "") + (right ? ">" : "") +
           ": the interval goes on beyond the drawing";
  }
};

/// Draws lower ├──●──┤ upper; an end outside the canvas, or without a limit, becomes an arrow head.
void bar(Canvas& canvas, int columns, double from, double to, double estimate, std::string_view mark, Cut& cut) {
  const int last = columns - 1;
  const int left = from < 0 ? 0 : static_cast<int>(std::lround(std::min<double>(from, last)));
  const int right = to > last ? last : static_cast<int>(std::lround(std::max(to, 0.0)));
  canvas.fill_blank(left, right, "─");  // 0 and the margin stay visible in it
  const bool cut_left = from < -0.5;
  const bool cut_right = to > last + 0.5;
  canvas.set(left, cut_left ? "<" : "├");
  canvas.set(right, cut_right ? ">" : "┤");
  canvas.set(static_cast<int>(std::lround(estimate)), mark);
  cut.left |= cut_left;
  cut.right |= cut_right;
}

/// Shots above the lattice with their average below, or an average alone.
struct DotRow {
  std::string label;
  std::vector<std::int64_t> steps;
  double mean;
  std::optional<Interval> interval;
  std::string_view mark;  ///< of the average
};

struct DotPlot {
  std::vector<DotRow> rows;
  double step;
  int decimals;
  std::string unit;
  std::string averages;  ///< what their marks mean, for the legend
  int tallest_stack;     ///< beyond it a dot stands for several shots
};

std::string draw(const DotPlot& plot, int width) {
  std::int64_t low = INT64_MAX, high = INT64_MIN;
  for (const auto& row : plot.rows)
    for (const auto s : row.steps) {
      low = std::min(low, s);
      high = std::max(high, s);
    }
  if (low > high) return {};
  --low;
  ++high;
  // At most five columns a lattice point, an odd number so that a dot has a middle; or several points a column.
  const int room = std::max(8, width - indent - unit_room(plot.unit));
  const std::int64_t span = high - low + 1;
  const int each = span * 5 <= room ? 5 : span * 3 <= room ? 3 : 1;
  const std::int64_t points = (span + room - 1) / room;
  const int columns = each > 1 ? static_cast<int>(span) * each : static_cast<int>((span + points - 1) / points);
  const int middle_of_each = each / 2;
  const auto place = [&](double step) {
    const double offset = step - static_cast<double>(low);
    // A column of several points begins half a step below the first of them.
    return each > 1 ? offset * each + middle_of_each : std::floor((offset + 0.5) / static_cast<double>(points));
  };

  std::vector<std::vector<int>> counts;
  int most = 1;
  for (const auto& row : plot.rows) {
    counts.emplace_back(static_cast<std::size_t>(columns), 0);
    for (const auto s : row.steps)
      most = std::max(most, ++counts.back()[static_cast<std::size_t>(place(static_cast<double>(s)))]);
  }
  const int shots_a_dot = (most + plot.tallest_stack - 1) / plot.tallest_stack;

  std::string out;
  Cut cut;
  for (std::size_t r = 0; r < plot.rows.size(); ++r) {
    const auto& row = plot.rows[r];
    out += wrap(std::string(indent, ' ') + row.label, width, indent);
    int tallest = 0;
    for (const int c : counts[r]) tallest = std::max(tallest, (c + shots_a_dot - 1) / shots_a_dot);
    for (int level = tallest; level >= 1; --level) {
      Canvas canvas{columns};
      for (int c = 0; c < columns; ++c)
        if (counts[r][static_cast<std::size_t>(c)] > (level - 1) * shots_a_dot) canvas.set(c, "●");
      out += canvas.line();
    }
    Canvas canvas{columns};
    if (row.interval)
      bar(canvas, columns, place(row.interval->lower), place(row.interval->upper), place(row.mean), row.mark, cut);
    else
      canvas.set(static_cast<int>(std::lround(place(row.mean))), row.mark);
    out += canvas.line();
  }

  std::vector<Tick> ticks;
  const auto label = [&](std::int64_t s) { return number(static_cast<double>(s) * plot.step, plot.decimals); };
  const auto widest = static_cast<std::int64_t>(std::max(display_width(label(low)), display_width(label(high)))) + 2;
  std::int64_t every = 1;
  while (every * each < widest * points) every = next_round(every);
  std::int64_t first = low / every * every;
  if (first < low) first += every;
  for (std::int64_t s = first; s <= high; s += every)
    ticks.push_back({static_cast<int>(place(static_cast<double>(s))), label(s)});
  out += axis(columns, ticks, plot.unit);
  std::string legend = shots_a_dot > 1 ? formatted("● up to {} shots", shots_a_dot) : "● a shot";
  legend += ", " + plot.averages;
  const auto has_interval = [](const DotRow& row) { return row.interval.has_value(); };
  if (std::any_of(plot.rows.begin(), plot.rows.end(), has_interval)) legend += " in its interval";
  legend += cut.legend();
  if (points > 1) legend += formatted("; a column is {} display steps wide", points);
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

}  // namespace

std::string draw(const ShotFigure& figure, int width) {
  if (figure.rows.empty()) return {};
  DotPlot plot{.rows = {},
               .step = figure.step,
               .decimals = figure.decimals,
               .unit = figure.unit,
               .averages = "┼ the average",
               .tallest_stack = 8};
  for (const auto& row : figure.rows) plot.rows.push_back({row.label, row.steps, row.mean, row.interval, "┼"});
  return draw(plot, width);
}

std::string draw(const BowFigure& figure, int width) {
  if (figure.kinds.empty()) return {};
  DotPlot plot{.rows = {},
               .step = figure.step,
               .decimals = figure.decimals,
               .unit = figure.unit,
               .averages = "┼ the average of a bow, ◆ that of a kind",
               .tallest_stack = 3};
  for (const auto& kind : figure.kinds) {
    plot.rows.push_back({said_of(figure, kind), {}, kind.mean, kind.interval, "◆"});
    for (const auto& bow : kind.bows)
      plot.rows.push_back({"  " + said_of(figure, bow), bow.steps, bow.mean, std::nullopt, "┼"});
  }
  return draw(plot, width);
}

document::Table with_bars(const BudgetFigure& figure) {
  constexpr double columns = 20;
  document::Table table = numbers_of(figure);
  table.columns.push_back({""});
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    std::string bar;
    if (i < figure.rows.size())
      for (long k = std::lround(columns * std::clamp(figure.rows[i].share, 0.0, 1.0)); k > 0; --k) bar += "█";
    table.rows[i].push_back(std::move(bar));
  }
  return table;
}

std::string draw(const IntervalFigure& figure, int width) {
  if (figure.rows.empty()) return {};
  const Range range = range_of(figure);
  const int columns = std::max(12, std::min(width, 100) - indent - unit_room(figure.unit));
  const auto place = [&](double x) { return (x - range.low) / (range.high - range.low) * (columns - 1); };
  std::vector<Tick> ticks;
  const auto [values, decimals] = round_ticks(range, columns - 1);
  for (const double x : values)
    ticks.push_back({static_cast<int>(std::lround(place(x))), (x > 0 ? "+" : "") + number(x, decimals)});

  std::string out;
  Cut cut;
  for (const auto& row : figure.rows) {
    if (!row.label.empty()) out += wrap(std::string(indent, ' ') + row.label, width, indent);
    Canvas canvas{columns};
    bar(canvas, columns, std::isfinite(row.interval.lower) ? place(row.interval.lower) : -1.0,
        std::isfinite(row.interval.upper) ? place(row.interval.upper) : columns, place(row.estimate), "●", cut);
    // 0 and the margin show through the bar, not through its ends or the estimate.
    canvas.set_between(static_cast<int>(std::lround(place(0.0))), "│");
    if (figure.margin)
      for (const double m : {-*figure.margin, *figure.margin})
        canvas.set_between(static_cast<int>(std::lround(place(m))), ":");
    out += canvas.line();
  }
  out += axis(columns, ticks, figure.unit);
  std::string legend = "│ no gap, ● the gap measured";
  if (figure.margin) legend += ", : the margin";
  legend += cut.legend();
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

std::string draw(const PowerCurveFigure& figure, int width) {
  if (figure.points.empty()) return {};
  std::int64_t low = figure.points.front().shots, high = figure.points.back().shots;
  if (figure.marked) {
    low = std::min(low, *figure.marked);
    high = std::max(high, *figure.marked);
  }
  // A number of shots has one to five columns, or a column has several of them.
  constexpr int rows = 8;
  const std::string wanted_label = figure.wanted ? percent_asked(*figure.wanted) : "";
  const int labels = static_cast<int>(std::max(wanted_label.size(), percent(1).size())) + 1;
  const int room = std::max(8, std::min(width, 100) - indent - labels - 1);
  const std::int64_t span = high - low + 1;
  const int each = static_cast<int>(std::clamp<std::int64_t>(room / span, 1, 5));
  const int columns = static_cast<int>(std::min<std::int64_t>(span * each, room));
  const auto column_of = [&](std::int64_t shots) {
    if (span * each <= room) return static_cast<int>(shots - low) * each + each / 2;
    return static_cast<int>(static_cast<double>(shots - low) * (columns - 1) / static_cast<double>(span - 1));
  };

  // Row 0 is the axis. A power short of the wanted one stands below its line, however little is missing.
  const auto row_of = [](double power) { return static_cast<int>(std::lround(std::clamp(power, 0.0, 1.0) * rows)); };
  const int wanted_row = figure.wanted ? std::max(1, row_of(*figure.wanted)) : 0;
  const auto row_of_point = [&](double power) {
    const int row = row_of(power);
    if (!figure.wanted) return row;
    return power < *figure.wanted ? std::min(row, wanted_row - 1) : std::max(row, wanted_row);
  };

  std::vector<Canvas> plot(rows + 1, Canvas{columns});
  plot[0].fill(0, columns - 1, "─");
  if (figure.wanted) plot[static_cast<std::size_t>(wanted_row)].fill(0, columns - 1, "╌");
  Canvas numbers{columns};
  const auto tick = [&](std::int64_t shots) {
    if (numbers.centre(column_of(shots), std::to_string(shots))) plot[0].set(column_of(shots), "┴");
  };
  if (figure.marked) {
    for (std::size_t row = 1; row <= rows; ++row) plot[row].set(column_of(*figure.marked), "┊");
    tick(*figure.marked);  // before the others, for a label that finds no room is left out
  }
  tick(low);
  std::int64_t every = 1;
  const auto between = static_cast<int>(std::to_string(high).size()) + 2;
  while (column_of(low + every) - column_of(low) < between && every < span) every = next_round(every);
  for (std::int64_t shots = (low + every - 1) / every * every; shots <= high; shots += every) tick(shots);
  std::optional<double> power_at_mark;
  for (const auto& point : figure.points) {
    const bool is_marked = figure.marked && point.shots == *figure.marked;
    if (is_marked) power_at_mark = point.power;
    if (is_marked || !figure.marked || column_of(point.shots) != column_of(*figure.marked))
      plot[static_cast<std::size_t>(row_of_point(point.power))].set(column_of(point.shots), is_marked ? "◆" : "●");
  }

  std::string out;
  if (!figure.title.empty()) out += wrap(std::string(indent, ' ') + figure.title, width, indent);
  for (int row = rows; row >= 0; --row) {
    std::string label;
    if (row == 0 || row == rows / 2 || row == rows) label = percent(static_cast<double>(row) / rows);
    if (figure.wanted && row == wanted_row) label = wanted_label;
    const std::string before(static_cast<std::size_t>(indent + labels) - 1 - label.size(), ' ');
    const std::string edge = row == 0 ? "└" : label.empty() ? "│" : "┤";
    out += plot[static_cast<std::size_t>(row)].line(before + label + ' ' + edge);
  }
  const std::string below(static_cast<std::size_t>(indent + labels) + 1, ' ');
  out += numbers.line(below);
  if (!figure.x_label.empty()) {
    const bool fits = static_cast<int>(display_width(figure.x_label)) <= room;
    out += wrap((fits ? below : std::string(indent, ' ')) + figure.x_label, width, indent);
  }
  std::string legend = "● share of tests";
  if (power_at_mark)
    legend += formatted(", ◆ on ┊ {} at {}", percent(*power_at_mark, figure.wanted), *figure.marked);
  else if (figure.marked)
    legend += formatted(", ┊ at {}", *figure.marked);
  if (figure.wanted) legend += ", ╌ asked for";
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

}  // namespace shotassay::report
