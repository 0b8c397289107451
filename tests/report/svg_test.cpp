#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/report/svg.hpp>

#include "markup_reading.hpp"

using namespace shotassay;
using namespace shotassay::document;
using shotassay::report::render_svg;

namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();

double at(const Element& e, const std::string& key) {
  INFO("attribute ", key, " of ", e.name);
  char* end = nullptr;
  const std::string text = e.attribute(key);
  const double value = std::strtod(text.c_str(), &end);
  REQUIRE(!text.empty());
  REQUIRE(*end == '\0');
  return value;
}

/// A label as a number: with our minus sign, without a plus or a percent sign.
std::optional<double> value_of(std::string label) {
  const std::string minus = "−";
  if (label.starts_with(minus)) label = "-" + label.substr(minus.size());
  if (label.ends_with(" %")) label.resize(label.size() - 2);
  char* end = nullptr;
  const double value = std::strtod(label.c_str(), &end);
  if (label.empty() || *end != '\0') return std::nullopt;
  return value;
}

/// A straight line through two points: value → place.
struct Scale {
  double value1, place1, value2, place2;
  double operator()(double value) const { return place1 + (value - value1) * (place2 - place1) / (value2 - value1); }
};

/// The scale that the centred labels below an axis tell. Those at the borders may be pushed inwards, so the ticks above
/// them count: in the order drawn, each tick stands before its label.
Scale across(const Element& svg) {
  std::vector<std::pair<double, double>> places;
  for (std::size_t i = 1; i < svg.children.size(); ++i) {
    const Element& label = svg.children[i];
    const Element& tick = svg.children[i - 1];
    if (label.name != "text" || label.attribute("text-anchor") != "middle") continue;
    REQUIRE(tick.has_class("axis"));
    CHECK(tick.attribute("x1") == tick.attribute("x2"));
    CHECK(std::abs(at(label, "x") - at(tick, "x1")) < 30);
    const auto value = value_of(label.text);
    REQUIRE(value);
    places.emplace_back(*value, at(tick, "x1"));
  }
  REQUIRE(places.size() >= 2);
  std::sort(places.begin(), places.end());
  return {places.front().first, places.front().second, places.back().first, places.back().second};
}

/// What holds for every picture.
Element check_picture(const std::string& svg) {
  CAPTURE(svg);
  CHECK(svg.find("<script") == std::string::npos);
  CHECK(svg.find("href") == std::string::npos);
  CHECK(svg.find("url(") == std::string::npos);
  CHECK(svg.find("@import") == std::string::npos);
  CHECK(svg.find("nan") == std::string::npos);
  CHECK(svg.find("inf\"") == std::string::npos);
  std::string namespaces = svg;
  const std::string its_own = "xmlns=\"http://www.w3.org/2000/svg\"";
  REQUIRE(namespaces.find(its_own) != std::string::npos);
  namespaces.erase(namespaces.find(its_own), its_own.size());
  CHECK(namespaces.find("http") == std::string::npos);

  Element root = read_markup(svg);
  CHECK(root.name == "svg");
  CHECK(root.attribute("role") == "img");
  CHECK(root.attribute("viewBox") == "0 0 " + root.attribute("width") + " " + root.attribute("height"));
  check_ids(root);
  REQUIRE(named(root, "title").size() == 1);
  REQUIRE(named(root, "desc").size() == 1);
  CHECK(!named(root, "title")[0].text.empty());
  CHECK(named(root, "desc")[0].text.ends_with("."));  // sentences
  // Nothing is drawn outside.
  const double width = at(root, "width"), height = at(root, "height");
  for (const auto& [x, y, name] : std::vector<std::array<std::string, 3>>{
           {"x1", "y1", "line"}, {"x2", "y2", "line"}, {"cx", "cy", "circle"}, {"x", "y", "text"}})
    for (const auto& e : named(root, name)) {
      CHECK(at(e, x) >= 0);
      CHECK(at(e, x) <= width);
      CHECK(at(e, y) >= 0);
      CHECK(at(e, y) <= height);
    }
  return root;
}

std::vector<std::string> legend_of(const Element& svg) {
  std::vector<std::string> out;
  for (const auto& e : named(svg, "text"))
    if (e.has_class("soft") && e.attribute("text-anchor").empty()) out.push_back(e.text);
  return out;
}

std::string description_of(const Element& svg) { return named(svg, "desc")[0].text; }

ShotFigure shots(std::vector<ShotFigure::Row> rows) {
  return {.rows = std::move(rows), .step = 1, .decimals = 0, .unit = "fps"};
}

PowerCurveFigure curve(std::vector<PowerCurveFigure::Point> points) {
  return {.points = std::move(points),
          .wanted = 0.8,
          .marked = 8,
          .x_label = "shots with each set-up",
          .title = "how often a true gap of 3 fps is found"};
}

}  // namespace

TEST_CASE("svg of shots: every shot is a dot above its lattice value, ties stand above each other") {
  const std::vector<std::int64_t> steps{190, 191, 191, 194, 191};
  const Element svg = check_picture(
      render_svg(shots({{.label = "14 strands", .steps = steps, .mean = 191.4, .interval = Interval{190.1, 192.7}}})));
  const Scale scale = across(svg);
  auto dots = named(svg, "circle");
  REQUIRE(dots.size() == steps.size() + 1);  // the last one stands in the legend
  dots.pop_back();
  std::map<double, std::vector<double>> stacks;
  for (const auto& dot : dots) stacks[at(dot, "cx")].push_back(at(dot, "cy"));
  REQUIRE(stacks.size() == 3);
  auto stack = stacks.begin();
  for (const auto& [value, ties] : std::map<double, std::size_t>{{190, 1}, {191, 3}, {194, 1}}) {
    CHECK(std::abs(stack->first - scale(value)) < 0.01);
    CHECK(stack->second.size() == ties);
    ++stack;
  }
  // Three ties do not cover each other, and all stacks stand on one ground.
  auto tied = std::next(stacks.begin())->second;
  std::sort(tied.begin(), tied.end());
  const double radius = at(dots[0], "r");
  CHECK(tied[1] - tied[0] >= 2 * radius);
  CHECK(tied[2] - tied[1] >= 2 * radius);
  CHECK(tied[2] == stacks.begin()->second[0]);
}

TEST_CASE("svg of shots: average and interval stand where the axis says") {
  const Element svg = check_picture(render_svg(
      shots({{.label = "A", .steps = {190, 191, 191, 194}, .mean = 191.5, .interval = Interval{190.1, 192.9}}})));
  const Scale scale = across(svg);
  const auto bars = classed(svg, "line", "bar");
  REQUIRE(bars.size() == 6);  // line and two ends, and again in the legend
  CHECK(std::abs(at(bars[0], "x1") - scale(190.1)) < 0.01);
  CHECK(std::abs(at(bars[0], "x2") - scale(192.9)) < 0.01);
  const auto means = classed(svg, "path", "mean");
  REQUIRE(means.size() == 2);
  CHECK(means[0].attribute("d").starts_with("M"));
  CHECK(std::abs(std::strtod(means[0].attribute("d").c_str() + 1, nullptr) - scale(191.5)) < 0.01);
  CHECK(classed(svg, "path", "end").empty());
  CHECK(legend_of(svg) == std::vector<std::string>{"a shot", "the average in its interval"});
}

TEST_CASE("svg of shots: the text alternative has the readings, the average and the interval") {
  const Element svg = check_picture(
      render_svg({.rows = {{.label = "A", .steps = {814, 816}, .mean = 815.04, .interval = Interval{-no_limit, 819}},
                           {.label = "B", .steps = {813}, .mean = 813, .interval = std::nullopt}},
                  .step = 0.1,
                  .decimals = 1,
                  .unit = "m/s"}));
  CHECK(description_of(svg) ==
        "A. Average 81.50 m/s, its interval from no finite limit to 81.90; readings from 81.4 to 81.6. "
        "B. Average 81.30 m/s; readings from 81.3 to 81.3.");
}

TEST_CASE("svg of shots: an interval far wider than the shots ends in arrow heads, which the legend explains") {
  for (const Interval interval : {Interval{100, 400}, Interval{}}) {
    const Element svg =
        check_picture(render_svg(shots({{.label = "A", .steps = {271, 272}, .mean = 271.5, .interval = interval}})));
    CHECK(classed(svg, "path", "end").size() == 3);
    CHECK(legend_of(svg).back() == "the interval goes on beyond the drawing");
  }
  // Up to the width of the shots again on each side the drawing is widened instead.
  const Element svg = check_picture(
      render_svg(shots({{.label = "A", .steps = {271, 272}, .mean = 271.5, .interval = Interval{268, 275}}})));
  CHECK(classed(svg, "path", "end").empty());
}

TEST_CASE("svg of shots: a crowd is drawn to scale and a fine lattice in stacks, and both are said") {
  std::vector<std::int64_t> crowd(95, 271);
  crowd.push_back(273);
  const Element svg =
      check_picture(render_svg(shots({{.label = "A", .steps = crowd, .mean = 271, .interval = std::nullopt}})));
  // 95 ties in ten dots of up to ten shots, the single one in a dot of its own, one dot in the legend
  CHECK(named(svg, "circle").size() == 10 + 1 + 1);
  CHECK(legend_of(svg)[0] == "up to 10 shots");

  std::vector<std::int64_t> fine;
  for (std::int64_t i = 0; i < 1000; ++i) fine.push_back(i);
  const Element binned =
      check_picture(render_svg(shots({{.label = "A", .steps = fine, .mean = 500, .interval = std::nullopt}})));
  const auto said = legend_of(binned);
  const auto steps_a_stack = std::stoll(said[0].substr(said[0].find("takes in ") + 9));
  CHECK(steps_a_stack > 1);
  const Scale scale = across(binned);
  auto dots = named(binned, "circle");
  dots.pop_back();
  // A dot is at most half a stack from the readings it stands for.
  for (const auto& dot : dots) {
    const double k = std::floor((at(dot, "cx") - scale(0)) / (scale(static_cast<double>(steps_a_stack)) - scale(0)));
    const double middle = k * static_cast<double>(steps_a_stack) + static_cast<double>(steps_a_stack - 1) / 2;
    CHECK(std::abs(at(dot, "cx") - scale(middle)) < 0.01);
  }
}

TEST_CASE("svg of shots: a lattice of 10^12 steps is drawn in little text") {
  const std::string svg = render_svg(
      shots({{.label = "A", .steps = {0, 1'000'000'000'000}, .mean = 5e11, .interval = Interval{-3e12, 4e12}},
             {.label = "B", .steps = {-9'000'000'000'000'000}, .mean = -9e15, .interval = std::nullopt}}));
  check_picture(svg);
  CHECK(svg.size() < 20'000);
}

TEST_CASE("svg of gaps: estimates, ends, 0 and the margin stand where the axis says") {
  const Element svg = check_picture(render_svg(IntervalFigure{
      .rows = {{.label = "B against A", .estimate = 1.25, .interval = {-1, 3.5}}}, .margin = 2.0, .unit = "fps"}));
  const Scale scale = across(svg);
  const auto bars = classed(svg, "line", "bar");
  REQUIRE(bars.size() == 6);
  CHECK(std::abs(at(bars[0], "x1") - scale(-1)) < 0.01);
  CHECK(std::abs(at(bars[0], "x2") - scale(3.5)) < 0.01);
  CHECK(std::abs(at(named(svg, "circle")[0], "cx") - scale(1.25)) < 0.01);
  CHECK(std::abs(at(classed(svg, "line", "zero")[0], "x1") - scale(0)) < 0.01);
  const auto margins = classed(svg, "line", "limit");
  REQUIRE(margins.size() == 3);
  CHECK(std::abs(at(margins[0], "x1") - scale(-2)) < 0.01);
  CHECK(std::abs(at(margins[1], "x1") - scale(2)) < 0.01);
  CHECK(legend_of(svg) ==
        std::vector<std::string>{"no gap", "the gap measured, in its interval", "the margin, ±2 fps"});
  CHECK(description_of(svg) == "B against A. Measured +1.2 fps, the interval from −1.0 to +3.5. The margin is ±2 fps.");
}

TEST_CASE("svg of gaps: an end without a limit is an arrow head, and has no number") {
  const Element svg = check_picture(
      render_svg(IntervalFigure{.rows = {{.label = "", .estimate = 1, .interval = {.lower = -2, .upper = no_limit}}},
                                .margin = std::nullopt,
                                .unit = "m/s"}));
  CHECK(classed(svg, "path", "end").size() == 2);  // and the legend's
  CHECK(description_of(svg) == "Measured +1.0 m/s, the interval from −2.0 to no finite limit.");
  CHECK(legend_of(svg).back() == "the interval goes on beyond the drawing");
}

TEST_CASE("svg of gaps: a number beside 0 or the margin is written on its side of it") {
  const auto said = [](double lower, double upper, int decimals) {
    return description_of(
        check_picture(render_svg(IntervalFigure{.rows = {{.label = "", .estimate = 1, .interval = {lower, upper}}},
                                                .margin = 2.0,
                                                .unit = "fps",
                                                .decimals = decimals})));
  };
  CHECK(said(0.004, 1.99996, 1) == "Measured +1.0 fps, the interval from +0.004 to +1.99996. The margin is ±2 fps.");
  CHECK(said(-0.04, 2.02, 1) == "Measured +1.0 fps, the interval from −0.04 to +2.02. The margin is ±2 fps.");
  CHECK(said(0, 2, 1) == "Measured +1.0 fps, the interval from 0.0 to +2.0. The margin is ±2 fps.");
  CHECK(said(-2.0004, 2.4, 2) == "Measured +1.00 fps, the interval from −2.0004 to +2.40. The margin is ±2 fps.");
}

TEST_CASE("svg of power: every point, the wanted level and the mark stand where the axes say") {
  const std::vector<PowerCurveFigure::Point> points{{2, 0.09}, {5, 0.55}, {8, 0.81}, {20, 0.995}};
  const Element svg = check_picture(render_svg(curve(points)));
  const Scale x = across(svg);
  std::vector<std::pair<double, double>> levels;  // share in percent, place
  for (const auto& label : named(svg, "text"))
    if (label.attribute("text-anchor") == "end") levels.emplace_back(*value_of(label.text), at(label, "y") - 6);
  std::sort(levels.begin(), levels.end());
  REQUIRE(levels.size() == 4);
  const Scale y{levels.front().first, levels.front().second, levels.back().first, levels.back().second};
  CHECK(levels.front().first == 0);
  CHECK(levels.back().first == 100);
  auto dots = named(svg, "circle");
  REQUIRE(dots.size() == points.size() + 1);
  for (std::size_t i = 0; i < points.size(); ++i) {
    CHECK(std::abs(at(dots[i], "cx") - x(static_cast<double>(points[i].shots))) < 0.01);
    CHECK(std::abs(at(dots[i], "cy") - y(100 * points[i].power)) < 0.01);
  }
  CHECK(std::abs(at(classed(svg, "line", "limit")[0], "y1") - y(80)) < 0.01);
  CHECK(std::abs(at(classed(svg, "line", "pointer")[0], "x1") - x(8)) < 0.01);
  CHECK(classed(svg, "path", "mean").size() == 2);
  CHECK(legend_of(svg) == std::vector<std::string>{"share of tests", "81 % at 8", "asked for: 80 %"});
  CHECK(description_of(svg) ==
        "Share of tests, by the number of shots with each set-up: 9 % at 2, 81 % at 8, 99.5 % at 20. Marked: 8. "
        "Asked for: 80 %.");
  CHECK(named(svg, "title")[0].text == "how often a true gap of 3 fps is found");
}

TEST_CASE("svg of power: a power just short of the one asked for is not written as it") {
  const auto said = [](double power) { return legend_of(check_picture(render_svg(curve({{2, 0.1}, {8, power}}))))[1]; };
  CHECK(said(0.8) == "80 % at 8");
  CHECK(said(0.796) == "79.6 % at 8");
  CHECK(said(0.79996) == "79.996 % at 8");
  CHECK(said(0.794) == "79 % at 8");
  CHECK(said(0.0004) == "less than 0.1 % at 8");
  CHECK(said(0.012) == "1.2 % at 8");
  CHECK(said(0.9996) == "more than 99.9 % at 8");
  CHECK(said(1) == "100 % at 8");
  CHECK(said(0) == "0 % at 8");
}

TEST_CASE("svg of power: without a level, a mark or a title, with a single point or a mark off the curve") {
  PowerCurveFigure bare{.points = {{2, 0.1}, {3, 0.3}}, .wanted = {}, .marked = {}, .x_label = "", .title = ""};
  const Element svg = check_picture(render_svg(bare));
  CHECK(legend_of(svg) == std::vector<std::string>{"share of tests"});
  CHECK(classed(svg, "line", "limit").empty());
  CHECK(classed(svg, "line", "pointer").empty());
  CHECK(named(svg, "title")[0].text == "Power against the number of shots");

  bare.points = {{5, 0.4}};
  CHECK(named(check_picture(render_svg(bare)), "circle").size() == 2);

  bare.marked = 9;  // no power is known there: the place is shown, no number invented
  const Element off = check_picture(render_svg(bare));
  CHECK(legend_of(off) == std::vector<std::string>{"share of tests", "at 9"});
  CHECK(classed(off, "path", "mean").empty());
  const Scale scale = across(off);
  CHECK(std::abs(at(classed(off, "line", "pointer")[0], "x1") - scale(9)) < 0.01);

  bare.wanted = 0.999;
  bare.points = {{2, 0.5}, {9, 0.99}};
  const Element high = check_picture(render_svg(bare));
  std::vector<std::string> levels;
  for (const auto& label : named(high, "text"))
    if (label.attribute("text-anchor") == "end") levels.push_back(label.text);
  CHECK(levels == std::vector<std::string>{"0 %", "50 %", "99.9 %"});  // 100 % would stand on it
}

TEST_CASE("svg of power: labels of the axis keep apart, however many shots") {
  for (const std::int64_t most : {3, 12, 47, 400, 9999}) {
    std::vector<PowerCurveFigure::Point> points;
    for (std::int64_t n = 2; n <= most; n += 1 + most / 100) points.push_back({n, 0.5});
    for (const std::int64_t marked : {std::int64_t{2}, most / 2 + 1, most}) {
      auto figure = curve(points);
      figure.marked = marked;
      const Element svg = check_picture(render_svg(figure));
      std::vector<std::pair<double, double>> labels;  // from, to, digits 13 wide
      bool mark_labelled = false;
      for (const auto& label : named(svg, "text")) {
        if (label.attribute("text-anchor") != "middle") continue;
        const double half = 6.5 * static_cast<double>(label.text.size());
        labels.emplace_back(at(label, "x") - half, at(label, "x") + half);
        mark_labelled |= label.text == std::to_string(marked);
      }
      std::sort(labels.begin(), labels.end());
      for (std::size_t i = 1; i < labels.size(); ++i) CHECK(labels[i].first > labels[i - 1].second);
      CHECK(mark_labelled);
    }
  }
}

TEST_CASE("svg of bows: shots, the averages of bows and of kinds stand where the axis says, kinds above their bows") {
  const BowFigure figure{.kinds = {{.label = "A",
                                    .bows = {{.label = "one", .steps = {190, 192, 192}, .mean = 574 / 3.0},
                                             {.label = "two", .steps = {194}, .mean = 194}},
                                    .mean = (574 / 3.0 + 194) / 2,
                                    .interval = Interval{190, 195}},
                                   {.label = "B",
                                    .bows = {{.label = "three", .steps = {187, 189}, .mean = 188}},
                                    .mean = 188,
                                    .interval = std::nullopt}},
                         .step = 1,
                         .decimals = 0,
                         .unit = "fps"};
  const Element svg = check_picture(render_svg(figure));
  const Scale scale = across(svg);
  const auto dots = named(svg, "circle");
  REQUIRE(dots.size() == 6 + 1);
  const std::vector<double> shots{190, 192, 192, 194, 187, 189};
  for (std::size_t i = 0; i < shots.size(); ++i) CHECK(std::abs(at(dots[i], "cx") - scale(shots[i])) < 0.01);
  const auto means = classed(svg, "path", "mean");
  REQUIRE(means.size() == 5 + 2);
  const std::vector<double> averages{(574 / 3.0 + 194) / 2, 574 / 3.0, 194, 188, 188};
  for (std::size_t i = 0; i < averages.size(); ++i)
    CHECK(std::abs(std::strtod(means[i].attribute("d").c_str() + 1, nullptr) - scale(averages[i])) < 0.01);
  const auto bars = classed(svg, "line", "bar");
  REQUIRE(bars.size() == 6);
  CHECK(std::abs(at(bars[0], "x1") - scale(190)) < 0.01);
  CHECK(std::abs(at(bars[0], "x2") - scale(195)) < 0.01);
  CHECK(legend_of(svg) == std::vector<std::string>{"one: 3 shots, average 191.3 fps", "two: 1 shot, average 194.0 fps",
                                                   "three: 2 shots, average 188.0 fps", "a shot",
                                                   "the average of a bow", "the average of a kind in its interval"});
  CHECK(description_of(svg) ==
        "A. Average 192.7 fps, its interval from 190.0 to 195.0. one. Average 191.3 fps; readings from 190 to 192. "
        "two. Average 194.0 fps; readings from 194 to 194. B. Average 188.0 fps. three. Average 188.0 fps; readings "
        "from 187 to 189.");
}

TEST_CASE("svg of bows: many of them have their names beside the dots, which keeps the picture on a page") {
  const auto drawn = [](int bows, const std::string& name) {
    BowFigure figure{.kinds = {{.label = "A", .bows = {}, .mean = 190, .interval = std::nullopt}},
                     .step = 1,
                     .decimals = 0,
                     .unit = "fps"};
    for (int i = 0; i < bows; ++i)
      figure.kinds[0].bows.push_back({.label = name + std::to_string(i), .steps = {189, 191}, .mean = 190});
    return check_picture(render_svg(figure));
  };
  CHECK(legend_of(drawn(8, "a"))[0] == "a0: 2 shots, average 190.0 fps");
  const Element many = drawn(9, "a");
  CHECK(legend_of(many)[0] == "a0");
  CHECK(legend_of(many)[8] == "a8");
  CHECK(at(many, "height") < at(drawn(8, "a"), "height"));
  // Dots begin behind the names, and stand where the axis says.
  const Scale scale = across(many);
  for (std::size_t i = 0; i < 18; ++i) {
    const double x = at(named(many, "circle")[i], "cx");
    CHECK(x > 40);
    CHECK(std::abs(x - scale(i % 2 == 0 ? 189 : 191)) < 0.01);
  }
  CHECK(legend_of(drawn(9, "a bow with a long name "))[0].starts_with("a bow with a long name 0: 2 shots"));
}

TEST_CASE(
    "svg of a budget: every bar is as long as its share, what is taken away stands hollow on the other side of 0") {
  const Element svg =
      check_picture(render_svg(BudgetFigure{.rows = {{"scale", 0.42, 0.9}, {"speed", 0.2, -0.15}, {"mass", 0.3, 0.25}},
                                            .combined = 0.5139,
                                            .unit = "ft·lbf",
                                            .decimals = 2}));
  const Scale scale = across(svg);
  const auto bars = classed(svg, "rect", "share"), taken = classed(svg, "rect", "taken");
  REQUIRE(bars.size() == 2 + 1);  // and the legend's
  REQUIRE(taken.size() == 1 + 1);
  const auto spans = [&](const Element& bar, double from, double to) {
    CHECK(std::abs(at(bar, "x") - scale(from)) < 0.01);
    CHECK(std::abs(at(bar, "x") + at(bar, "width") - scale(to)) < 0.01);
  };
  spans(bars[0], 0, 90);
  spans(bars[1], 0, 25);
  spans(taken[0], -15, 0);
  std::vector<std::string> names;
  for (const auto& text : classed(svg, "text", "name")) names.push_back(text.text);
  CHECK(names ==
        std::vector<std::string>{"scale: 90 %, 0.42 ft·lbf", "speed: −15 %, 0.20 ft·lbf", "mass: 25 %, 0.30 ft·lbf"});
  CHECK(legend_of(svg) == std::vector<std::string>{"share of the variance", "taken from it, by a correlation"});
  CHECK(description_of(svg) ==
        "Shares of the variance, and contributions: scale 90 %, 0.42 ft·lbf; speed −15 %, 0.20 ft·lbf; mass 25 %, 0.30 "
        "ft·lbf. The combined standard uncertainty is 0.51 ft·lbf.");
}

TEST_CASE("svg of a document: its first figure that has anything to show, or none") {
  const ShotFigure some = shots({{.label = "A", .steps = {271}, .mean = 271, .interval = std::nullopt}});
  CHECK(report::render_main_figure({{Headline{"Said."}, IntervalFigure{}, some, curve({{2, 0.1}})}}) ==
        render_svg(some));
  CHECK_FALSE(report::render_main_figure({{Headline{"Said."}, Table{}, ShotFigure{}}}));
  CHECK_FALSE(report::render_main_figure({}));
}

TEST_CASE("svg: labels from outside are text, never markup, and are broken into lines that fit") {
  const std::string attack = "\"><script>alert(1)</script>' onload='x & \u202e]]>";
  const Element svg =
      check_picture(render_svg(shots({{.label = attack, .steps = {271}, .mean = 271, .interval = std::nullopt}})));
  CHECK(description_of(svg).starts_with("\"><script>alert(1)</script>' onload='x & \\u202e]]>. Average"));
  const std::string label = "WWWWWWWW MMMMMMMM WWWWWWWW MMMMMMMM WWWWWWWW MMMMMMMM iiii iiii";
  const Element wide =
      check_picture(render_svg(shots({{.label = label, .steps = {271}, .mean = 271, .interval = std::nullopt}})));
  std::string lines;
  for (const auto& line : classed(wide, "text", "name")) {
    // These are the widest letters, 22 each at most: three words of eight never fit into 560.
    CHECK(std::count(line.text.begin(), line.text.end(), 'W') + std::count(line.text.begin(), line.text.end(), 'M') <=
          16);
    lines += (lines.empty() ? "" : " ") + line.text;
  }
  CHECK(lines == label);
}

TEST_CASE("svg: a figure with nothing in it says so") {
  CHECK(description_of(check_picture(render_svg(shots({})))) == "There is no shot to show.");
  CHECK(description_of(check_picture(render_svg(IntervalFigure{}))) == "There is no interval to show.");
  CHECK(description_of(check_picture(render_svg(PowerCurveFigure{}))) == "There is no power curve to show.");
}

TEST_CASE("svg: the same figure gives the same bytes") {
  const auto figure = curve({{2, 0.1}, {8, 0.81}});
  CHECK(render_svg(figure) == render_svg(figure));
}
