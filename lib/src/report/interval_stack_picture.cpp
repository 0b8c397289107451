#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "../document/formatted.hpp"
#include "drawing.hpp"
#include "figure_scale.hpp"
#include "gap_axis.hpp"
#include "interval_stack.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Range range_of(const IntervalStackFigure& figure) {
  Range range{0, 0};
  for (const auto& group : figure.groups) {
    if (group.rows.empty()) continue;
    range.low = std::min(range.low, group.truth);
    range.high = std::max(range.high, group.truth);
    for (const auto& row : group.rows) {
      range.low = std::min(range.low, row.interval.lower);
      range.high = std::max(range.high, row.interval.upper);
    }
  }
  if (range.high - range.low <= 0) range.high = range.low + 1;
  const double room = 0.04 * (range.high - range.low);
  return {range.low - room, range.high + room};
}

Picture picture_of(const IntervalStackFigure& figure) {
  Picture out{.name = "Intervals above each other, against the truth", .description = {}, .numbers = {}, .shapes = {}};
  std::size_t rows = 0;
  for (const auto& group : figure.groups) rows += group.rows.size();
  if (rows == 0) return nothing(std::move(out), "There is no interval to show.");
  const GapAxis axis{range_of(figure), figure.unit};
  const double left = axis.left(), right = axis.right();
  const auto place = [&](double x) { return axis.place(x); };
  const auto signed_number = [&](double x, double truth) {
    return (x > 0 ? "+" : "") + number_apart(x, figure.decimals, {0, truth});
  };
  // A large class shares the height of a page.
  const double pitch = std::clamp(216.0 / static_cast<double>(rows), 3.0, 14.0);
  const double dot = std::clamp(0.3 * pitch, 1.5, 4.0);

  out.numbers.columns = {{figure.row_title}, {"measured", true}, {"from", true}, {"to", true}};
  if (figure.misses_marked) out.numbers.columns.push_back({"the truth"});
  std::vector<std::string> sentences;
  Drawing drawing;
  struct Plot {
    double truth, from, to;
  };
  std::vector<Plot> plots;
  bool any_marked = false;
  for (const auto& group : figure.groups) {
    if (group.rows.empty()) continue;
    if (!plots.empty()) drawing.y += between_rows;
    drawing.paragraph(left, "name", group.label);
    const double top = drawing.y + 4;
    drawing.y = top + 0.5 * pitch + 2;
    std::size_t missing = 0;
    double narrowest = group.rows.front().interval.half_width(), widest = narrowest;
    for (const auto& row : group.rows) {
      const double x1 = place(row.interval.lower), x2 = place(row.interval.upper);
      const bool misses = IntervalStackFigure::misses(row.interval, group.truth);
      const bool marked = misses && figure.misses_marked;
      drawing.line(x1, drawing.y, x2, drawing.y, marked ? "bar astray" : "bar slim");
      drawing.dot(place(row.estimate), drawing.y, dot);
      if (marked) drawing.cross(right + 14, drawing.y, std::clamp(0.4 * pitch, 3.5, 5.0));
      missing += misses;
      any_marked |= marked;
      narrowest = std::min(narrowest, row.interval.half_width());
      widest = std::max(widest, row.interval.half_width());
      drawing.y += pitch;
      std::vector<std::string> cells{row.label, signed_number(row.estimate, group.truth),
                                     signed_number(row.interval.lower, group.truth),
                                     signed_number(row.interval.upper, group.truth)};
      if (figure.misses_marked) cells.emplace_back(misses ? "missed" : "held");
      if (figure.groups.size() > 1) cells[0] = group.label + ", " + cells[0];
      out.numbers.rows.push_back(std::move(cells));
    }
    drawing.y += 2 - 0.5 * pitch;
    plots.push_back({group.truth, top, drawing.y});
    std::string said =
        formatted("{}: {} interval{}, give or take {} to {} {}, the truth at {}", group.label, group.rows.size(),
                  group.rows.size() == 1 ? "" : "s", number(narrowest, figure.decimals),
                  number(widest, figure.decimals), figure.unit, signed_number(group.truth, group.truth));
    if (figure.misses_marked)
      said += missing == 0 ? "; none misses it" : formatted("; {} {} it", missing, missing == 1 ? "misses" : "miss");
    sentences.push_back(said + ".");
  }
  out.description = joined(sentences);

  drawing.behind([&] {
    for (const Plot& plot : plots) {
      drawing.line(place(0), plot.from, place(0), plot.to, "zero");
      if (plot.truth != 0.0) drawing.line(place(plot.truth), plot.from, place(plot.truth), plot.to, "limit");
    }
  });
  axis.draw(drawing);

  drawing.legend(
      [&](double x, double y) {
        drawing.line(std::max(x - 14, left), y, x + 14, y, "bar slim");
        drawing.dot(x, y, 4);
      },
      "the gap measured, in its interval");
  drawing.legend([&](double x, double y) { drawing.line(x, y - 10, x, y + 10, "zero"); }, "no gap");
  if (std::any_of(plots.begin(), plots.end(), [](const Plot& p) { return p.truth != 0.0; }))
    drawing.legend([&](double x, double y) { drawing.line(x, y - 12, x, y + 12, "limit"); }, "the true gap");
  if (any_marked)
    drawing.legend(
        [&](double x, double y) {
          drawing.line(std::max(x - 14, left), y, x, y, "bar astray");
          drawing.cross(x + 9, y, 5);
        },
        "the interval misses the truth");
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
