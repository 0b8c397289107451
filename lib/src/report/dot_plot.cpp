#include "dot_plot.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "../document/formatted.hpp"
#include "figure_scale.hpp"

namespace shotassay::report {

std::string DotPlot::reading(double steps) const { return number(steps * step, decimals); }

std::string DotPlot::average_text(double steps) const { return number(steps * step, decimals + 1); }

std::string DotPlot::readings(const std::vector<std::int64_t>& steps) const {
  std::map<std::int64_t, int> counts;
  for (const auto s : steps) ++counts[s];
  std::string text;
  for (const auto& [value, shots] : counts) {
    text += (text.empty() ? "" : ", ") + reading(static_cast<double>(value));
    if (shots > 1) text += formatted(" ({} times)", shots);
  }
  return text;
}

std::string DotPlot::sentence(const DotRow& row) const {
  std::string said = "Average " + average_text(row.mean) + " " + unit;
  if (row.interval)
    said += ", its interval from " + limit_text(row.interval->lower, average_text(row.interval->lower)) + " to " +
            limit_text(row.interval->upper, average_text(row.interval->upper));
  if (!row.steps.empty()) {
    const auto [low, high] = std::minmax_element(row.steps.begin(), row.steps.end());
    said += "; readings from " + reading(static_cast<double>(*low)) + " to " + reading(static_cast<double>(*high));
  }
  return said + ".";
}

namespace {

/// Many small rows, each with a line of its own above it, would make a picture too tall for a page: where their names
/// are short, they stand beside the dots. 0 where they do not.
double room_for_names(const std::vector<DotRow>& rows) {
  constexpr int few = 8;
  int small = 0;
  double widest = 0;
  for (const auto& row : rows) {
    if (!row.small) continue;
    ++small;
    widest = std::max(widest, text_width(document::printable(row.name)));
  }
  return small > few && widest < page_width / 4 ? widest + letter : 0;
}

}  // namespace

void draw_dots(Drawing& drawing, const DotPlot& plot) {
  const auto& rows = plot.rows;
  std::int64_t least = INT64_MAX, most = INT64_MIN;
  for (const auto& row : rows)
    for (const auto s : row.steps) {
      least = std::min(least, s);
      most = std::max(most, s);
    }

  // The intervals stay whole unless they are far wider than the shots, which would then be squeezed into a few points.
  double low = static_cast<double>(least) - 1, high = static_cast<double>(most) + 1;
  const double farthest_low = low - (high - low), farthest_high = high + (high - low);
  for (const auto& row : rows)
    if (row.interval) {
      low = std::min(low, std::max(std::floor(row.interval->lower), farthest_low));
      high = std::max(high, std::min(std::ceil(row.interval->upper), farthest_high));
    }
  const double names = room_for_names(rows);
  const double left = border + names, right = end_of_axis(plot.unit);
  const double a_step = (right - left) / (high - low);
  const auto place = [&](double step) { return left + (step - low) * a_step; };

  // Dots stand on the lattice; where it is too fine for them, neighbours of the same stack share their middle.
  const bool any_small = std::any_of(rows.begin(), rows.end(), [](const auto& row) { return row.small; });
  const double radius = std::clamp(0.42 * a_step, 3.0, any_small ? 5.0 : 7.0);
  const auto points = static_cast<std::int64_t>(std::max(1.0, std::ceil(2 * radius / a_step)));
  std::vector<std::map<std::int64_t, int>> stacks;
  int tallest = 1;
  for (const auto& row : rows) {
    stacks.emplace_back();
    for (const auto s : row.steps) tallest = std::max(tallest, ++stacks.back()[(s - least) / points]);
  }
  const int shots_a_dot = (tallest + plot.tallest_stack - 1) / plot.tallest_stack;

  IntervalBar bars{.left = left, .right = right};
  std::vector<std::pair<double, double>> plots;  // from where to where the grid is drawn
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const auto& row = rows[r];
    const bool named_beside = row.small && names > 0;
    if (r > 0) drawing.y += row.small ? 2 : between_rows;
    if (!named_beside) drawing.paragraph(border, row.small ? "soft" : "name", row.label);
    const double top = drawing.y;
    int height = 0;
    for (const auto& [stack, shots] : stacks[r]) height = std::max(height, (shots + shots_a_dot - 1) / shots_a_dot);
    const double ground = top + (height > 0 ? 10 + height * (2 * radius + 1) : 0);
    for (const auto& [stack, shots] : stacks[r]) {
      const double middle = static_cast<double>(least + stack * points) + static_cast<double>(points - 1) / 2;
      for (int dot = 0; dot * shots_a_dot < shots; ++dot)
        drawing.dot(place(middle), ground - radius - dot * (2 * radius + 1), radius);
    }
    const double half = row.small ? small_mark : large_mark;
    const double centre = ground + half + 6;
    if (row.interval) bars.draw(drawing, place(row.interval->lower), place(row.interval->upper), centre);
    drawing.diamond(place(row.mean), centre, half);
    drawing.y = centre + half + 6;
    if (named_beside) drawing.text(border, (top + drawing.y) / 2 + 8, "start", "soft", row.name);
    plots.emplace_back(top + 4, drawing.y);
  }

  const double axis = drawing.y + 4;
  std::int64_t every = 1;
  const double label = std::max(text_width(plot.reading(low)), text_width(plot.reading(high))) + 2 * letter;
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
    const std::string text = plot.reading(static_cast<double>(s));
    drawing.line(x, axis, x, axis + 6, "axis");
    drawing.text(inside(x, text), axis + 26, "middle", "", text);
  }
  drawing.text(page_width - border, axis + 6, "end", "soft", plot.unit);
  drawing.y = axis + 38;

  const bool any_interval =
      std::any_of(rows.begin(), rows.end(), [](const auto& row) { return row.interval.has_value(); });
  std::string dots = shots_a_dot > 1 ? formatted("up to {} shots", shots_a_dot) : "a shot";
  if (points > 1) dots += formatted("; a stack takes in {} display steps", points);
  drawing.legend([&](double x, double y) { drawing.dot(x, y, any_small ? 5 : 6); }, dots);
  if (any_small) drawing.legend([&](double x, double y) { drawing.diamond(x, y, small_mark); }, plot.small_average);
  drawing.legend(
      [&](double x, double y) {
        if (any_interval) bars.draw(drawing, std::max(x - 14, left), x + 14, y);
        drawing.diamond(x, y);
      },
      plot.average + (any_interval ? " in its interval" : ""));
  bars.legend(drawing);
}

}  // namespace shotassay::report
