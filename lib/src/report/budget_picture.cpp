#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "drawing.hpp"
#include "figure_scale.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const BudgetFigure& figure) {
  Picture out{.name = "What the uncertainty is made of", .description = {}, .numbers = {}, .shapes = {}};
  if (figure.rows.empty()) return nothing(std::move(out), "There is no input to show.");
  out.numbers = numbers_of(figure);
  const std::string unit = figure.unit.empty() ? "" : " " + figure.unit;
  const auto contribution = [&](const BudgetFigure::Row& row) {
    return number(row.contribution, figure.decimals) + unit;
  };

  std::string parts;
  Range shares{0, 1};
  for (const auto& row : figure.rows) {
    parts += (parts.empty() ? "" : "; ") + row.label + " " + share_text(row.share) + ", " + contribution(row);
    shares = {std::min(shares.low, row.share), std::max(shares.high, row.share)};
  }
  out.description = "Shares of the variance, and contributions: " + parts + ". The combined standard uncertainty is " +
                    number(figure.combined, figure.decimals) + unit + ".";

  Drawing drawing;
  const double left = border, right = page_width - border - letter;
  const auto place = [&](double share) {
    return left + (share - shares.low) / (shares.high - shares.low) * (right - left);
  };
  constexpr double thickness = 16;
  bool any_taken = false;
  std::vector<std::pair<double, double>> plots;
  for (const auto& row : figure.rows) {
    if (!plots.empty()) drawing.y += between_rows;
    drawing.paragraph(left, "name", row.label + ": " + share_text(row.share) + ", " + contribution(row));
    const bool taken = row.share < 0;
    any_taken |= taken;
    const double top = drawing.y + 4;
    drawing.bar(place(std::min(0.0, row.share)), place(std::max(0.0, row.share)), top + 4, thickness, taken);
    drawing.y = top + 4 + thickness + 4;
    plots.emplace_back(top, drawing.y);
  }
  const double axis = drawing.y + 2;
  const Ticks ticks = round_ticks({100 * shares.low, 100 * shares.high}, (right - left) / (2 * letter));
  drawing.behind([&] {
    for (const double x : ticks.values)
      for (const auto& [from, to] : plots)
        drawing.line(place(x / 100), from, place(x / 100), to, x == 0 ? "zero" : "grid");
  });
  drawing.line(left, axis, right, axis, "axis");
  for (const double x : ticks.values) {
    const std::string label = number(x, ticks.decimals) + " %";
    drawing.line(place(x / 100), axis, place(x / 100), axis + 6, "axis");
    drawing.text(inside(place(x / 100), label), axis + 26, "middle", "", label);
  }
  drawing.y = axis + 38;
  drawing.legend([&](double x, double y) { drawing.bar(x - 12, x + 16, y - 8, 16, false); }, "share of the variance");
  if (any_taken)
    drawing.legend([&](double x, double y) { drawing.bar(x - 12, x + 16, y - 8, 16, true); },
                   "taken from it, by a correlation");
  drawing.paragraph(left, "", "Combined standard uncertainty: " + number(figure.combined, figure.decimals) + unit);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
