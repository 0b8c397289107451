#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "../document/formatted.hpp"
#include "drawing.hpp"
#include "figure_scale.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const PowerCurveFigure& figure) {
  Picture out{.name = figure.title, .description = {}, .numbers = {}, .shapes = {}};
  if (out.name.empty()) out.name = "Power against the number of shots";
  if (figure.points.empty()) return nothing(std::move(out), "There is no power curve to show.");
  std::int64_t low = figure.points.front().shots, high = figure.points.back().shots;
  std::optional<double> power_at_mark;
  if (figure.marked) {
    low = std::min(low, *figure.marked);
    high = std::max(high, *figure.marked);
  }
  if (low == high) ++high;

  out.numbers.columns = {{figure.x_label.empty() ? "shots" : figure.x_label, true}, {"share of tests", true}};
  for (const auto& point : figure.points) {
    out.numbers.rows.push_back({std::to_string(point.shots), percent(point.power, figure.wanted)});
    if (figure.marked && point.shots == *figure.marked) power_at_mark = point.power;
  }

  std::string said = "Share of tests, by the number of " + out.numbers.columns[0].title + ": ";
  const auto say = [&](const PowerCurveFigure::Point& point) {
    said += formatted("{} at {}", percent(point.power, figure.wanted), point.shots);
  };
  say(figure.points.front());
  if (power_at_mark && *figure.marked != figure.points.front().shots && *figure.marked != figure.points.back().shots) {
    said += ", ";
    say({.shots = *figure.marked, .power = *power_at_mark});
  }
  if (figure.points.size() > 1) {
    said += ", ";
    say(figure.points.back());
  }
  said += ".";
  if (figure.marked) said += formatted(" Marked: {}.", *figure.marked);
  if (figure.wanted) said += " Asked for: " + percent_asked(*figure.wanted) + ".";
  out.description = said;

  Drawing drawing;
  drawing.paragraph(border, "name", figure.title);
  const std::string wanted_label = figure.wanted ? percent_asked(*figure.wanted) : "";
  const double left = std::max(text_width(wanted_label), text_width("100 %")) + 8, right = page_width - border - 8;
  const double top = drawing.y + 12, bottom = top + 220;
  const auto across = [&](std::int64_t shots) {
    return left + 12 + static_cast<double>(shots - low) / static_cast<double>(high - low) * (right - left - 12);
  };
  const auto up = [&](double power) { return bottom - std::clamp(power, 0.0, 1.0) * (bottom - top); };

  for (const double share : {0.0, 0.25, 0.5, 0.75, 1.0}) {
    drawing.line(left, up(share), right, up(share), share == 0 ? "axis" : "grid");
    const bool covered = figure.wanted && std::abs(up(share) - up(*figure.wanted)) < 20;
    if (share != 0.25 && share != 0.75 && !covered)
      drawing.text(left - 8, up(share) + 6, "end", "soft", percent(share));
  }
  if (figure.wanted) {
    drawing.line(left, up(*figure.wanted), right, up(*figure.wanted), "limit");
    drawing.text(left - 8, up(*figure.wanted) + 6, "end", "", wanted_label);
  }

  // Labels that keep apart; that of the mark stands, whatever it costs the others.
  const double label = text_width(std::to_string(high)) + letter;
  std::int64_t every = 1;
  while (across(low + every) - across(low) < label) every = next_round(every);
  std::vector<std::int64_t> ticks;
  const auto add = [&](std::int64_t shots) {
    const auto touches = [&](std::int64_t other) { return std::abs(across(shots) - across(other)) < label; };
    if (std::none_of(ticks.begin(), ticks.end(), touches)) ticks.push_back(shots);
  };
  if (figure.marked) add(*figure.marked);
  add(low);
  for (std::int64_t shots = (low + every - 1) / every * every; shots <= high; shots += every) add(shots);
  for (const auto shots : ticks) {
    const std::string text = std::to_string(shots);
    drawing.line(across(shots), bottom, across(shots), bottom + 6, "axis");
    drawing.text(inside(across(shots), text), bottom + 26, "middle", figure.marked == shots ? "name" : "", text);
  }
  if (figure.marked) drawing.line(across(*figure.marked), top, across(*figure.marked), bottom, "pointer");

  std::vector<std::pair<double, double>> curve;
  for (const auto& point : figure.points) curve.emplace_back(across(point.shots), up(point.power));
  drawing.polyline(curve);
  const double closest = (right - left) / static_cast<double>(high - low);
  for (const auto& [x, y] : curve) drawing.dot(x, y, std::clamp(0.4 * closest, 2.0, 5.0));
  if (power_at_mark) drawing.diamond(across(*figure.marked), up(*power_at_mark));
  drawing.y = bottom + 34;
  drawing.paragraph(left, "", figure.x_label);
  drawing.y += 6;

  drawing.legend([&](double x, double y) { drawing.dot(x, y, 5); }, "share of tests");
  if (figure.marked)
    drawing.legend(
        [&](double x, double y) {
          drawing.line(x - 8, y - 12, x - 8, y + 12, "pointer");
          if (power_at_mark) drawing.diamond(x + 6, y);
        },
        (power_at_mark ? percent(*power_at_mark, figure.wanted) + " " : "") + formatted("at {}", *figure.marked));
  if (figure.wanted)
    drawing.legend([&](double x, double y) { drawing.line(x - 12, y, x + 16, y, "limit"); },
                   "asked for: " + wanted_label);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
