#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "../document/formatted.hpp"
#include "drawing.hpp"
#include "figure_scale.hpp"
#include "gap_axis.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const IntervalFigure& figure) {
  Picture out{.name = "The gap in its interval, against no gap", .description = {}, .numbers = {}, .shapes = {}};
  if (figure.margin) out.name += " and the margin";
  if (figure.rows.empty()) return nothing(std::move(out), "There is no interval to show.");
  const GapAxis axis{range_of(figure), figure.unit};
  const double left = axis.left(), right = axis.right();
  const auto place = [&](double x) { return axis.place(x); };
  const double margin = figure.margin.value_or(0);
  const auto signed_number = [&](double x) {
    return limit_text(x, (x > 0 ? "+" : "") + number_apart(x, figure.decimals, {0, margin, -margin}));
  };
  const std::string margin_text = figure.margin ? "±" + formatted("{:.6g}", margin) + " " + figure.unit : std::string{};

  out.numbers.columns = {{"gap"}, {"measured", true}, {"from", true}, {"to", true}};
  std::vector<std::string> sentences;
  Drawing drawing;
  IntervalBar bars{.left = left, .right = right};
  std::vector<std::pair<double, double>> plots;
  for (const auto& row : figure.rows) {
    if (!plots.empty()) drawing.y += between_rows;
    drawing.paragraph(left, "name", row.label);
    const double top = drawing.y + 4, centre = top + 18;
    bars.draw(drawing, place(row.interval.lower), place(row.interval.upper), centre);
    drawing.dot(place(row.estimate), centre, 7);
    drawing.y = centre + 18;
    plots.emplace_back(top, drawing.y);

    const std::string measured = signed_number(row.estimate), from = signed_number(row.interval.lower),
                      to = signed_number(row.interval.upper);
    sentences.push_back((row.label.empty() ? "" : row.label + ". ") + "Measured " + measured + " " + figure.unit +
                        ", the interval from " + from + " to " + to + ".");
    out.numbers.rows.push_back({row.label, measured, from, to});
  }
  if (figure.margin) sentences.push_back("The margin is " + margin_text + ".");
  out.description = joined(sentences);

  drawing.behind([&] {
    for (const auto& [from, to] : plots) {
      if (figure.margin) {
        drawing.band(place(-margin), from, place(margin), to);
        for (const double m : {-margin, margin}) drawing.line(place(m), from, place(m), to, "limit");
      }
      drawing.line(place(0), from, place(0), to, "zero");
    }
  });
  axis.draw(drawing);

  drawing.legend([&](double x, double y) { drawing.line(x, y - 10, x, y + 10, "zero"); }, "no gap");
  drawing.legend(
      [&](double x, double y) {
        bars.draw(drawing, std::max(x - 14, left), x + 14, y);
        drawing.dot(x, y, 7);
      },
      "the gap measured, in its interval");
  if (figure.margin)
    drawing.legend([&](double x, double y) { drawing.line(x, y - 12, x, y + 12, "limit"); },
                   "the margin, " + margin_text);
  bars.legend(drawing);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
