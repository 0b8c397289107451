#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "drawing.hpp"
#include "figure_scale.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const ShotFigure& figure) {
  Picture out{.name = "The shots, each a dot on the display's lattice", .description = {}, .numbers = {}, .shapes = {}};
  std::int64_t least = INT64_MAX, most = INT64_MIN;
  for (const auto& row : figure.rows)
    for (const auto s : row.steps) {
      least = std::min(least, s);
      most = std::max(most, s);
    }
  if (least > most) return nothing(std::move(out), "There is no shot to show.");

  // The intervals stay whole unless they are far wider than the shots, which would then be squeezed into a few points.
  double low = static_cast<double>(least) - 1, high = static_cast<double>(most) + 1;
  const double farthest_low = low - (high - low), farthest_high = high + (high - low);
  for (const auto& row : figure.rows)
    if (row.interval) {
      low = std::min(low, std::max(std::floor(row.interval->lower), farthest_low));
      high = std::max(high, std::min(std::ceil(row.interval->upper), farthest_high));
    }
  const double left = border, right = end_of_axis(figure.unit);
  const double a_step = (right - left) / (high - low);
  const auto place = [&](double step) { return left + (step - low) * a_step; };

  // Dots stand on the lattice; where it is too fine for them, neighbours of the same stack share their middle.
  const double radius = std::clamp(0.42 * a_step, 3.0, 7.0);
  const auto points = static_cast<std::int64_t>(std::max(1.0, std::ceil(2 * radius / a_step)));
  constexpr int tallest_stack = 10;
  std::vector<std::map<std::int64_t, int>> stacks;
  int tallest = 1;
  for (const auto& row : figure.rows) {
    stacks.emplace_back();
    for (const auto s : row.steps) tallest = std::max(tallest, ++stacks.back()[(s - least) / points]);
  }
  const int shots_a_dot = (tallest + tallest_stack - 1) / tallest_stack;

  const auto reading = [&](double steps) { return number(steps * figure.step, figure.decimals); };
  const auto average = [&](double steps) { return number(steps * figure.step, figure.decimals + 1); };
  out.numbers.columns = {{"set-up"}, {"readings"}, {"average", true}, {"from", true}, {"to", true}};
  std::vector<std::string> sentences;
  Drawing drawing;
  IntervalBar bars{.left = left, .right = right};
  std::vector<std::pair<double, double>> plots;  // from where to where the grid is drawn
  for (std::size_t r = 0; r < figure.rows.size(); ++r) {
    const auto& row = figure.rows[r];
    if (r > 0) drawing.y += between_rows;
    drawing.paragraph(left, "name", row.label);
    const double top = drawing.y;
    int height = 0;
    for (const auto& [stack, shots] : stacks[r]) height = std::max(height, (shots + shots_a_dot - 1) / shots_a_dot);
    const double ground = top + 10 + height * (2 * radius + 1);
    for (const auto& [stack, shots] : stacks[r]) {
      const double middle = static_cast<double>(least + stack * points) + static_cast<double>(points - 1) / 2;
      for (int dot = 0; dot * shots_a_dot < shots; ++dot)
        drawing.dot(place(middle), ground - radius - dot * (2 * radius + 1), radius);
    }
    const double centre = ground + 14;
    if (row.interval) bars.draw(drawing, place(row.interval->lower), place(row.interval->upper), centre);
    drawing.diamond(place(row.mean), centre);
    drawing.y = centre + 14;
    plots.emplace_back(top + 4, drawing.y);

    std::map<std::int64_t, int> counts;
    for (const auto s : row.steps) ++counts[s];
    std::string readings;
    for (const auto& [step, shots] : counts) {
      readings += (readings.empty() ? "" : ", ") + reading(static_cast<double>(step));
      if (shots > 1) readings += fmt::format(" ({} times)", shots);
    }
    std::string from, to;
    std::string said = row.label + ". Average " + average(row.mean) + " " + figure.unit;
    if (row.interval) {
      from = limit_text(row.interval->lower, average(row.interval->lower));
      to = limit_text(row.interval->upper, average(row.interval->upper));
      said += ", its interval from " + from + " to " + to;
    }
    if (!counts.empty())
      said += "; readings from " + reading(static_cast<double>(counts.begin()->first)) + " to " +
              reading(static_cast<double>(counts.rbegin()->first));
    sentences.push_back(said + ".");
    out.numbers.rows.push_back({row.label, readings, average(row.mean), from, to});
  }
  out.description = joined(sentences);

  const double axis = drawing.y + 4;
  std::int64_t every = 1;
  const double label = std::max(text_width(reading(low)), text_width(reading(high))) + 2 * letter;
  while (static_cast<double>(every) * a_step < label) every = next_round(every);
  std::vector<std::int64_t> ticks;
  for (auto s = static_cast<std::int64_t>(std::ceil(low / static_cast<double>(every))) * every;
       static_cast<double>(s) <= high; s += every)
    ticks.push_back(s);
  drawing.behind([&] {
    for (const auto s : ticks)
      for (const auto& [from, to] : plots)
        drawing.line(place(static_cast<double>(s)), from, place(static_cast<double>(s)), to, "grid");
  });
  drawing.line(left, axis, right, axis, "axis");
  for (const auto s : ticks) {
    const double x = place(static_cast<double>(s));
    const std::string text = reading(static_cast<double>(s));
    drawing.line(x, axis, x, axis + 6, "axis");
    drawing.text(inside(x, text), axis + 26, "middle", "", text);
  }
  drawing.text(page_width - border, axis + 6, "end", "soft", figure.unit);
  drawing.y = axis + 38;

  const bool any_interval =
      std::any_of(figure.rows.begin(), figure.rows.end(), [](const auto& row) { return row.interval.has_value(); });
  std::string dots = shots_a_dot > 1 ? fmt::format("up to {} shots", shots_a_dot) : "a shot";
  if (points > 1) dots += fmt::format("; a stack takes in {} display steps", points);
  drawing.legend([&](double x, double y) { drawing.dot(x, y, 6); }, dots);
  drawing.legend(
      [&](double x, double y) {
        if (any_interval) bars.draw(drawing, std::max(x - 14, left), x + 14, y);
        drawing.diamond(x, y);
      },
      any_interval ? "the average in its interval" : "the average");
  bars.legend(drawing);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
