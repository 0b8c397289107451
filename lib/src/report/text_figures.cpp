#include "text_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>
#include <string_view>
#include <vector>

namespace shotassay::report {

namespace {

using document::display_width;
using document::IntervalFigure;
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
  /// another one or does not fit, for half a number is a wrong number.
  void centre(int column, std::string_view text) {
    const int length = static_cast<int>(display_width(text)), room = static_cast<int>(cells_.size());
    if (length > room) return;
    int start = std::clamp(column - length / 2, 0, room - length);
    for (int i = std::max(0, start - 1); i < std::min(room, start + length + 1); ++i)
      if (cells_[static_cast<std::size_t>(i)] != " ") return;
    while (!text.empty()) {
      const auto bytes = document::first_character(text).bytes;
      set(start++, text.substr(0, bytes));
      text.remove_prefix(bytes);
    }
  }

  std::string line() const {
    std::string out(indent, ' ');
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

/// Draws lower ├──●──┤ upper; an end outside the canvas, or without a limit, becomes an arrow head.
void bar(Canvas& canvas, int columns, double from, double to, double estimate, std::string_view mark) {
  const int last = columns - 1;
  const int left = from < 0 ? 0 : static_cast<int>(std::lround(std::min<double>(from, last)));
  const int right = to > last ? last : static_cast<int>(std::lround(std::max(to, 0.0)));
  canvas.fill_blank(left, right, "─");  // 0 and the margin stay visible in it
  canvas.set(left, from < -0.5 ? "<" : "├");
  canvas.set(right, to > last + 0.5 ? ">" : "┤");
  canvas.set(static_cast<int>(std::lround(estimate)), mark);
}

/// 1, 2, 5, 10, 20, 50, … : the one after `n`.
std::int64_t next_round(std::int64_t n) {
  std::int64_t power = 1;
  while (n >= 10 * power) power *= 10;
  const std::int64_t digit = n / power;
  return power * (digit < 2 ? 2 : digit < 5 ? 5 : 10);
}

std::string number(double x, int decimals) {
  std::string text = fmt::format("{:.{}f}", x, decimals);
  if (text.front() != '-') return text;
  text.erase(0, 1);
  return text.find_first_not_of("0.") == std::string::npos ? text : "−" + text;
}

}  // namespace

std::string draw(const ShotFigure& figure, int width) {
  if (figure.rows.empty()) return {};
  std::int64_t low = INT64_MAX, high = INT64_MIN;
  for (const auto& row : figure.rows)
    for (const auto s : row.steps) {
      low = std::min(low, s);
      high = std::max(high, s);
    }
  --low;
  ++high;
  // At most five columns a lattice point, an odd number so that a dot has a middle; or several points a column.
  const int room = std::max(8, width - indent - unit_room(figure.unit));
  const std::int64_t span = high - low + 1;
  const int each = span * 5 <= room ? 5 : span * 3 <= room ? 3 : 1;
  const std::int64_t points = (span + room - 1) / room;
  const int columns = each > 1 ? static_cast<int>(span) * each : static_cast<int>((span + points - 1) / points);
  const auto place = [&](double step) {
    const double offset = step - static_cast<double>(low);
    // A column of several points begins half a step below the first of them.
    return each > 1 ? offset * each + each / 2 : std::floor((offset + 0.5) / static_cast<double>(points));
  };

  // Dots of at most eight rows; beyond that a dot stands for several shots.
  std::vector<std::vector<int>> counts;
  int most = 1;
  for (const auto& row : figure.rows) {
    counts.emplace_back(static_cast<std::size_t>(columns), 0);
    for (const auto s : row.steps)
      most = std::max(most, ++counts.back()[static_cast<std::size_t>(place(static_cast<double>(s)))]);
  }
  const int shots_a_dot = (most + 7) / 8;

  std::string out;
  for (std::size_t r = 0; r < figure.rows.size(); ++r) {
    const auto& row = figure.rows[r];
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
      bar(canvas, columns, place(row.interval->lower), place(row.interval->upper), place(row.mean), "┼");
    else
      canvas.set(static_cast<int>(std::lround(place(row.mean))), "┼");
    out += canvas.line();
  }

  std::vector<Tick> ticks;
  const auto label = [&](std::int64_t s) { return number(static_cast<double>(s) * figure.step, figure.decimals); };
  const auto widest = static_cast<std::int64_t>(std::max(display_width(label(low)), display_width(label(high)))) + 2;
  std::int64_t every = 1;
  while (every * each < widest * points) every = next_round(every);
  std::int64_t first = low / every * every;
  if (first < low) first += every;
  for (std::int64_t s = first; s <= high; s += every)
    ticks.push_back({static_cast<int>(place(static_cast<double>(s))), label(s)});
  out += axis(columns, ticks, figure.unit);
  std::string legend = "● a shot";
  if (shots_a_dot > 1) legend = fmt::format("● up to {} shots", shots_a_dot);
  legend += ", ┼ the average";
  const auto has_interval = [](const ShotFigure::Row& row) { return row.interval.has_value(); };
  if (std::any_of(figure.rows.begin(), figure.rows.end(), has_interval)) legend += " in its interval";
  if (points > 1) legend += fmt::format("; a column is {} display steps wide", points);
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

std::string draw(const IntervalFigure& figure, int width) {
  if (figure.rows.empty()) return {};
  double low = 0, high = 0;
  const auto include = [&](double x) {
    if (std::isfinite(x)) {
      low = std::min(low, x);
      high = std::max(high, x);
    }
  };
  for (const auto& row : figure.rows) {
    include(row.interval.lower);
    include(row.interval.upper);
    include(row.estimate);
  }
  if (figure.margin) {
    include(*figure.margin);
    include(-*figure.margin);
  }
  if (high - low <= 0) high = low + 1;
  const double pad = 0.04 * (high - low);
  low -= pad;
  high += pad;
  const int columns = std::max(12, std::min(width, 100) - indent - unit_room(figure.unit));
  const auto place = [&](double x) { return (x - low) / (high - low) * (columns - 1); };

  // Ticks at 1, 2 or 5 times a power of ten, the closest that keep their labels apart.
  const double power = std::pow(10.0, std::floor(std::log10((high - low) / columns)));
  const int decimals_of_power = static_cast<int>(-std::floor(std::log10(power) + 1e-9));
  std::int64_t multiple = 1;
  double every = power;
  int decimals = 0;
  for (;; multiple = next_round(multiple), every = power * static_cast<double>(multiple)) {
    decimals = std::max(0, decimals_of_power);
    for (std::int64_t m = multiple; m % 10 == 0 && decimals > 0; m /= 10) --decimals;
    const std::size_t longest =
        std::max(display_width(number(low, decimals)), display_width(number(high, decimals))) + 1;
    if (place(low + every) >= static_cast<double>(longest + 2)) break;
  }
  std::vector<Tick> ticks;
  for (auto k = static_cast<std::int64_t>(std::ceil(low / every)); static_cast<double>(k) * every <= high; ++k) {
    const double x = static_cast<double>(k) * every;
    ticks.push_back({static_cast<int>(std::lround(place(x))), (k > 0 ? "+" : "") + number(x, decimals)});
  }

  std::string out;
  for (const auto& row : figure.rows) {
    if (!row.label.empty()) out += wrap(std::string(indent, ' ') + row.label, width, indent);
    Canvas canvas{columns};
    bar(canvas, columns, std::isfinite(row.interval.lower) ? place(row.interval.lower) : -1.0,
        std::isfinite(row.interval.upper) ? place(row.interval.upper) : columns, place(row.estimate), "●");
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
  return out + wrap(std::string(indent, ' ') + legend, width, indent);
}

}  // namespace shotassay::report
