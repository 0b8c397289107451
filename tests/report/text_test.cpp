#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <random>
#include <regex>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>

using namespace shotassay;
using namespace shotassay::document;
using shotassay::report::render_text;
using shotassay::report::wrap;

namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines{""};
  for (const char c : text) {
    if (c == '\n')
      lines.emplace_back();
    else
      lines.back() += c;
  }
  REQUIRE(lines.back().empty());  // every line is ended
  lines.pop_back();
  return lines;
}

std::vector<std::string> characters(std::string_view text) {
  std::vector<std::string> out;
  while (!text.empty()) {
    const auto bytes = first_character(text).bytes;
    out.emplace_back(text.substr(0, bytes));
    text.remove_prefix(bytes);
  }
  return out;
}

/// What holds for every page.
void check_page(const std::string& text, int width) {
  CAPTURE(text);
  CAPTURE(width);
  for (const auto& line : lines_of(text)) {
    REQUIRE(display_width(line) <= static_cast<std::size_t>(width));
    REQUIRE((line.empty() || line.back() != ' '));
  }
}

std::string without(std::string text, char gone) {
  std::erase(text, gone);
  return text;
}

template <class Figure>
std::string drawn(Figure figure, int width = 80) {
  return render_text({{std::move(figure)}}, {.width = width});
}

/// Where the ticks of a figure stand, by the numbers below them.
std::map<double, int> ticks_of(const std::vector<std::string>& lines) {
  std::map<double, int> ticks;
  for (std::size_t i = 0; i + 1 < lines.size(); ++i) {
    const auto axis = characters(lines[i]), below = characters(lines[i + 1]);
    if (axis.size() < 3 || (axis[2] != "─" && axis[2] != "┴")) continue;
    if (lines[i].find("┤") != std::string::npos || lines[i].find("●") != std::string::npos) continue;
    for (std::size_t c = 0; c < axis.size(); ++c) {
      if (axis[c] != "┴" || c >= below.size() || below[c] == " ") continue;
      std::size_t from = c, to = c;
      while (from > 0 && below[from - 1] != " ") --from;
      while (to + 1 < below.size() && below[to + 1] != " ") ++to;
      std::string label;
      for (std::size_t k = from; k <= to; ++k) label += below[k] == "−" ? "-" : below[k] == "+" ? "" : below[k];
      std::size_t read = 0;
      const double value = std::stod(label, &read);
      CHECK(read == label.size());  // two labels run together would leave a rest, or a wrong number
      CHECK(ticks.count(value) == 0);
      ticks[value] = static_cast<int>(c);
    }
  }
  return ticks;
}

/// Columns of one character, line by line.
std::vector<std::pair<std::size_t, int>> places_of(const std::vector<std::string>& lines, const std::string& mark) {
  std::vector<std::pair<std::size_t, int>> out;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const auto line = characters(lines[i]);
    for (std::size_t c = 0; c < line.size(); ++c)
      if (line[c] == mark) out.emplace_back(i, static_cast<int>(c));
  }
  return out;
}

/// Column of a value, on the straight line through the two outermost ticks.
double column_of(const std::map<double, int>& ticks, double value) {
  const auto [v1, c1] = *ticks.begin();
  const auto [v2, c2] = *ticks.rbegin();
  return c1 + (value - v1) * (c2 - c1) / (v2 - v1);
}

ShotFigure::Row shots(std::string label, std::vector<std::int64_t> steps, std::optional<Interval> interval = {}) {
  double sum = 0;
  for (const auto s : steps) sum += static_cast<double>(s);
  const double mean = sum / static_cast<double>(steps.size());
  return {.label = std::move(label), .steps = std::move(steps), .mean = mean, .interval = interval};
}

ShotFigure figure_of(std::vector<ShotFigure::Row> rows, double step = 1, int decimals = 0) {
  return {.rows = std::move(rows), .step = step, .decimals = decimals, .unit = "fps"};
}

/// Dots above the average's line of a figure with one row and a label of one line.
std::vector<int> dot_columns(const std::vector<std::string>& lines) {
  std::vector<int> columns;
  for (const auto& [line, column] : places_of(lines, "●"))
    if (lines[line].find("a shot") == std::string::npos && lines[line].find("up to") == std::string::npos)
      columns.push_back(column);
  return columns;
}

}  // namespace

TEST_CASE("wrap: breaks at blanks, hangs further lines, and keeps the first indentation") {
  CHECK(wrap("one two three", 80) == "one two three\n");
  CHECK(wrap("one two three", 8) == "one two\nthree\n");
  CHECK(wrap("one two three", 7) == "one two\nthree\n");
  CHECK(wrap("one two three", 6) == "one\ntwo\nthree\n");
  CHECK(wrap("one two three", 9, 2) == "one two\n  three\n");
  CHECK(wrap("  one two three", 9, 4) == "  one two\n    three\n");
  CHECK(wrap("", 20) == "\n");
  CHECK(wrap("   ", 20) == "\n");
  CHECK(wrap("one   two", 20) == "one   two\n");
  CHECK(wrap("one   two", 8) == "one\ntwo\n");
}

TEST_CASE("wrap: a word longer than the line is broken between characters, wide ones counted as two columns") {
  CHECK(wrap("abcdefghij", 4) == "abcd\nefgh\nij\n");
  CHECK(wrap("x abcdefghij", 4) == "x\nabcd\nefgh\nij\n");
  CHECK(wrap("弓弓弓弓弓", 4) == "弓弓\n弓弓\n弓\n");
  CHECK(wrap("弓弓弓弓弓", 5) == "弓弓\n弓弓\n弓\n");
  CHECK(wrap("a\u0308a\u0308a\u0308", 2) == "a\u0308a\u0308\na\u0308\n");  // a mark stays on its letter
}

TEST_CASE("wrap: a number keeps its unit on its line") {
  CHECK(wrap("about 3 fps", 9) == "about\n3 fps\n");
  CHECK(wrap("about 3 m/s.", 9) == "about\n3 m/s.\n");
  CHECK(wrap("in 81 % of tests", 6) == "in\n81 %\nof\ntests\n");
  CHECK(wrap("the fps shown", 8) == "the fps\nshown\n");  // no number before it
  CHECK(wrap("set 3 mps", 7) == "set 3\nmps\n");          // no unit of ours
  // Where a line holds the number or its unit and not both there is no way round it, and no blank is left at the end.
  CHECK(wrap("aaaaaaaaaa3 fps", 11) == "aaaaaaaaaa3\nfps\n");
  CHECK(wrap("aaaaaaaaaa3 fps", 12) == "aaaaaaaaaa3\nfps\n");
  CHECK(wrap("aaaaaaaaaa3 fps", 4) == "aaaa\naaaa\naa3\nfps\n");
}

TEST_CASE("wrap: at any width no line is wider, no character is lost and no number is parted from its unit") {
  std::mt19937_64 random{1};
  const std::vector<std::string> pieces{
      "shots",   "3 fps", "−2.25 m/s", "81 %",     "弓と矢",
      "a",       "give",  "Stränge",   "🏹🏹", "±0.5 fps,",
      "(95 %).", "14",    "n\u0303",   "or",       "averyveryverylongwordwithoutanyblank"};
  for (int i = 0; i < 600; ++i) {
    std::string text;
    std::vector<std::string> units;
    for (auto n = 1 + random() % 40; n > 0; --n) {
      const auto& piece = pieces[random() % pieces.size()];
      if (!text.empty()) text += ' ';
      text += piece;
      if (piece.find(' ') != std::string::npos) units.push_back(piece);
    }
    const int hanging = static_cast<int>(random() % 5);
    for (int width = 24; width <= 100; width += 1 + static_cast<int>(random() % 5)) {
      const std::string page = wrap(text, width, hanging);
      check_page(page, width);
      REQUIRE(without(without(page, '\n'), ' ') == without(text, ' '));
      std::string again = page;
      for (const auto& piece : units) {
        const auto at = again.find(piece);
        REQUIRE(at != std::string::npos);
        again.erase(at, piece.size());
      }
    }
  }
}

TEST_CASE("render_text: an empty line between blocks, none under a heading, none at the ends") {
  const Document document{{Headline{"Said aloud."}, Paragraph{"More."}, Heading{"A heading"}, Paragraph{"Below."},
                           Points{{{"", "first"}, {"", "second"}}}}};
  CHECK(render_text(document, {}) == "Said aloud.\n\nMore.\n\nA heading\nBelow.\n\n- first\n- second\n");
  CHECK(render_text({}, {}).empty());
}

TEST_CASE("render_text: leads stand beside their text on a wide page and before it on a narrow one") {
  const Document document{{Points{
      {{"carried", "a range for the gap between both as they stood in this test"}, {"not carried", "any other day"}}}}};
  CHECK(render_text(document, {.width = 60}) ==
        "carried      a range for the gap between both as they stood\n"
        "             in this test\n"
        "not carried  any other day\n");
  CHECK(render_text(document, {.width = 40}) ==
        "carried: a range for the gap between\n"
        "  both as they stood in this test\n"
        "not carried: any other day\n");
}

TEST_CASE("render_text: a table stands side by side where it fits, row by row where it does not") {
  const Document document{{Table{.columns = {{"shots with each"}, {"finds", true}, {"", false}},
                                 .rows = {{"5", "2.5 fps", "<"}, {"10", "11.5 fps", ""}}}}};
  CHECK(render_text(document, {.width = 30}) ==
        "shots with each     finds\n"
        "5                 2.5 fps  <\n"
        "10               11.5 fps\n");
  // 15 + 2 + 8 + 2 + 1 = 28 columns
  CHECK(render_text(document, {.width = 28}) == render_text(document, {.width = 30}));
  CHECK(render_text(document, {.width = 27}) ==
        "shots with each:\n"
        "5\n"
        "  finds  2.5 fps\n"
        "         <\n"
        "10\n"
        "  finds  11.5 fps\n");
}

TEST_CASE("render_text: no table is wider than its page at any width, wide characters and all") {
  const Table table{
      .columns = {{"set-up"}, {"gap", true}, {"from", true}, {"a title that is long by itself", true}},
      .rows = {{"弓弓弓弓 against 14 strands", "+3.4", "−1.0", "0.004"}, {"Stränge", "", "no finite limit", "1"}}};
  for (int width = 24; width <= 100; ++width) check_page(render_text({{table}}, {.width = width}), width);
  const std::string wide = render_text({{table}}, {.width = 200});
  const auto lines = lines_of(wide);
  REQUIRE(lines.size() == 3);
  for (const auto& line : lines) CHECK(display_width(line) == display_width(lines[0]));
}

TEST_CASE("render_text: a page narrower than 24 columns is drawn at 24") {
  const Document document{{Paragraph{"These shots do not settle whether one or the other is faster."}}};
  for (const int width : {23, 1, 0, -5})
    CHECK(render_text(document, {.width = width}) == render_text(document, {.width = 24}));
}

TEST_CASE("render_text: colours say nothing by themselves: without their codes the text is the same") {
  Document document;
  for (const Tone tone : {Tone::plain, Tone::resolved, Tone::same, Tone::open, Tone::caution}) {
    document.blocks.push_back(Headline{"With 18 strands the arrows flew 3.4 fps slower than with 14 strands.", tone});
    document.blocks.push_back(Paragraph{"A paragraph of more than one line on a narrow page.", tone});
  }
  document.blocks.push_back(Heading{"The shots"});
  document.blocks.push_back(figure_of({shots("A", {271, 272})}));
  for (const int width : {24, 40, 80}) {
    const std::string plain = render_text(document, {.width = width});
    const std::string colored = render_text(document, {.width = width, .color = true});
    CHECK(plain.find('\x1b') == std::string::npos);
    CHECK(std::regex_replace(colored, std::regex{"\x1b\\[[0-9;]*m"}, "") == plain);
    // A code never runs over a line end: what a pager or a log cuts stays readable.
    for (const auto& line : lines_of(colored))
      if (line.find('\x1b') != std::string::npos) CHECK(line.ends_with("\x1b[0m"));
  }
  CHECK(render_text({{Headline{"x", Tone::resolved}}}, {.color = true}) == "\x1b[1;36mx\x1b[0m\n");
  CHECK(render_text({{Headline{"x", Tone::same}}}, {.color = true}) == "\x1b[1;34mx\x1b[0m\n");
  CHECK(render_text({{Paragraph{"x", Tone::open}}}, {.color = true}) == "\x1b[33mx\x1b[0m\n");
  CHECK(render_text({{Paragraph{"x", Tone::plain}}}, {.color = true}) == "x\n");
}

TEST_CASE("shot figure: a small one stands as it is drawn here") {
  // Five columns a lattice point; the mean of 271, 271, 273 is 271.67, 3.3 columns right of 271's middle.
  CHECK(drawn(figure_of({shots("A", {271, 271, 273}, Interval{.lower = 270.4, .upper = 272.6})})) ==
        "  A\n"
        "         ●\n"
        "         ●         ●\n"
        "      ├─────┼────┤\n"
        "  ──┴────┴────┴────┴────┴── fps\n"
        "   270  271  272  273  274\n"
        "  ● a shot, ┼ the average in its interval\n");
}

TEST_CASE("shot figure: every dot stands in the column of its lattice value, ties above each other") {
  std::mt19937_64 random{3};
  for (int i = 0; i < 400; ++i) {
    const int width = std::vector<int>{24, 40, 80}[random() % 3];
    const std::int64_t low = static_cast<std::int64_t>(random() % 400) - 100;
    const std::int64_t reach = width == 24 ? 6 : width == 40 ? 20 : 40;
    std::vector<std::int64_t> steps;
    for (auto n = 1 + random() % 8; n > 0; --n) steps.push_back(low + static_cast<std::int64_t>(random()) % reach);
    const double step = std::vector<double>{1, 0.1, 0.3048}[random() % 3];
    const int decimals = step == 1 ? 0 : step == 0.1 ? 1 : 3;
    const auto lines = lines_of(drawn(figure_of({shots("A", steps)}, step, decimals), width));
    const auto ticks = ticks_of(lines);
    CAPTURE(lines);
    if (ticks.size() < 2) continue;
    std::map<int, int> heights;
    for (const int c : dot_columns(lines)) ++heights[c];
    std::map<int, int> expected;
    // Labels are rounded to 10^−decimals at most, a step is wider than that, so half a column tells the two apart.
    const double first = std::round(ticks.begin()->first / step), last = std::round(ticks.rbegin()->first / step);
    const double slope = (ticks.rbegin()->second - ticks.begin()->second) / (last - first);
    if (slope != std::round(slope)) continue;  // several lattice points in a column: tested below
    for (const auto s : steps)
      ++expected[static_cast<int>(std::lround(ticks.begin()->second + (static_cast<double>(s) - first) * slope))];
    REQUIRE(heights == expected);
  }
}

TEST_CASE("shot figure: the average stands at its place between the lattice values") {
  for (const int width : {40, 80})
    for (const auto& steps : {std::vector<std::int64_t>{271, 272, 273, 272}, std::vector<std::int64_t>{-3, 5, 1},
                              std::vector<std::int64_t>{100, 125, 131}}) {
      const auto figure = figure_of({shots("A", steps)});
      const auto lines = lines_of(drawn(figure, width));
      const auto ticks = ticks_of(lines);
      REQUIRE(ticks.size() >= 2);
      const auto marks = places_of(lines, "┼");
      REQUIRE(marks.size() == 2);  // the other one stands in the legend
      CHECK(std::abs(marks[0].second - column_of(ticks, figure.rows[0].mean)) <= 0.5001);
    }
}

TEST_CASE("shot figure: two rows share one axis") {
  const auto lines = lines_of(drawn(figure_of({shots("A", {271, 271}), shots("B", {274, 274, 274})})));
  const auto ticks = ticks_of(lines);
  const auto dots = places_of(lines, "●");
  REQUIRE(dots.size() == 2 + 3 + 1);  // the last one stands in the legend
  for (std::size_t i = 0; i < 5; ++i) CHECK(dots[i].second == ticks.at(i < 2 ? 271 : 274));
}

TEST_CASE("shot figure: more than eight ties are drawn to scale, and the scale is said") {
  const auto heights = [](std::size_t ties) {
    const std::string page = drawn(figure_of({shots("A", std::vector<std::int64_t>(ties, 271))}));
    return std::pair{dot_columns(lines_of(page)).size(), page};
  };
  CHECK(heights(8).first == 8);
  CHECK(heights(8).second.find("● a shot,") != std::string::npos);
  CHECK(heights(9).first == 5);  // two shots a dot, the last one half used
  CHECK(heights(9).second.find("● up to 2 shots,") != std::string::npos);
  CHECK(heights(16).first == 8);
  CHECK(heights(17).first == 6);  // three a dot
  CHECK(heights(17).second.find("● up to 3 shots,") != std::string::npos);
  CHECK(heights(100'000).first == 8);
  // One shot beside a crowd is still seen.
  std::vector<std::int64_t> crowd(1000, 271);
  crowd.push_back(275);
  const auto lines = lines_of(drawn(figure_of({shots("A", crowd)})));
  const auto columns = dot_columns(lines);
  CHECK(std::count(columns.begin(), columns.end(), ticks_of(lines).at(275)) == 1);
}

TEST_CASE("shot figure: a lattice wider than the page is binned, the bin is said, and every dot lies in its bin") {
  std::mt19937_64 random{4};
  for (int i = 0; i < 300; ++i) {
    const int width = std::vector<int>{24, 40, 80}[random() % 3];
    const auto reach = static_cast<std::int64_t>(std::vector<std::int64_t>{200, 5000, 1'000'000}[random() % 3]);
    std::vector<std::int64_t> steps{0, reach};
    for (int n = 0; n < 5; ++n)
      steps.push_back(static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(reach)));
    const std::string page = drawn(figure_of({shots("A", steps)}), width);
    check_page(page, width);
    std::smatch match;
    const std::string joined = std::regex_replace(page, std::regex{"\n +"}, " ");
    REQUIRE(std::regex_search(joined, match, std::regex{"a column is ([0-9]+) display steps wide"}));
    const auto bin = std::stoll(match[1]);
    // Two borders of one step: the page's columns hold reach + 3 lattice points, the first at −1.
    const int columns = width - 2 - 4;
    CHECK(bin == (reach + 3 + columns - 1) / columns);
    auto dots = dot_columns(lines_of(page));
    std::sort(dots.begin(), dots.end());
    dots.erase(std::unique(dots.begin(), dots.end()), dots.end());
    std::vector<int> expected;
    for (const auto s : steps) expected.push_back(2 + static_cast<int>((s + 1) / bin));
    std::sort(expected.begin(), expected.end());
    expected.erase(std::unique(expected.begin(), expected.end()), expected.end());
    CHECK(dots == expected);
    for (const auto& [value, column] : ticks_of(lines_of(page)))
      CHECK(column == 2 + static_cast<int>(std::floor((value + 1) / static_cast<double>(bin))));
  }
}

TEST_CASE("shot figure: a lattice of 10^12 steps is drawn at once, in little text") {
  const auto start = std::chrono::steady_clock::now();
  const std::string page = drawn(figure_of({shots("A", {0, 1'000'000'000'000}, Interval{.lower = -3e12, .upper = 4e12}),
                                            shots("B", {500'000'000'000, -9'000'000'000'000'000})}));
  CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds{2});
  CHECK(page.size() < 4000);
  check_page(page, 80);
}

TEST_CASE("shot figure: an interval wider than the drawing ends in arrow heads, one without limit too") {
  for (const Interval interval :
       {Interval{.lower = 100, .upper = 400}, Interval{.lower = -no_limit, .upper = no_limit}}) {
    const auto lines = lines_of(drawn(figure_of({shots("A", {271, 272}, interval)})));
    CHECK(lines[2].find("<") != std::string::npos);
    CHECK(lines[2].find(">") != std::string::npos);
    CHECK(lines[2].find("├") == std::string::npos);
    CHECK(lines[2].find("┤") == std::string::npos);
    CHECK(lines[5] == "  ● a shot, ┼ the average in its interval; < and >: the interval goes on beyond");
    CHECK(lines[6] == "  the drawing");
  }
}

TEST_CASE("figures: the legend explains the arrow heads that are drawn, and no others") {
  const auto legend = [](Interval first, Interval second) {
    const auto lines = lines_of(drawn(figure_of({shots("A", {271, 272}, first), shots("B", {271}, second)}), 100));
    return lines.back();
  };
  const Interval whole{270.5, 272.5};
  CHECK(legend(whole, whole) == "  ● a shot, ┼ the average in its interval");
  CHECK(legend(whole, {100, 272}) ==
        "  ● a shot, ┼ the average in its interval; <: the interval goes on beyond the drawing");
  CHECK(legend({271, 400}, whole) ==
        "  ● a shot, ┼ the average in its interval; >: the interval goes on beyond the drawing");
  CHECK(legend({271, 400}, {100, 272}) ==
        "  ● a shot, ┼ the average in its interval; < and >: the interval goes on beyond the drawing");
  const auto gap_legend = [](Interval interval) {
    return lines_of(drawn(IntervalFigure{.rows = {{.label = "", .estimate = 1, .interval = interval}},
                                         .margin = std::nullopt,
                                         .unit = "fps"},
                          100))
        .back();
  };
  CHECK(gap_legend({-1, 3}) == "  │ no gap, ● the gap measured");
  CHECK(gap_legend({.lower = -1, .upper = no_limit}) ==
        "  │ no gap, ● the gap measured; >: the interval goes on beyond the drawing");
}

TEST_CASE("shot figure: the legend speaks of intervals when any row has one") {
  CHECK(drawn(figure_of({shots("A", {271})})).find("interval") == std::string::npos);
  CHECK(drawn(figure_of({shots("A", {271}), shots("B", {271, 275}, Interval{.lower = 270, .upper = 276})}))
            .find("┼ the average in its interval") != std::string::npos);
}

TEST_CASE("shot figure: a long label is wrapped, an empty figure is empty") {
  check_page(drawn(figure_of({shots("a label that is longer than the page it stands on, by far", {271})}), 24), 24);
  CHECK(drawn(figure_of({})).empty());
}

TEST_CASE("bow figure: a small one stands as it is drawn here: a kind's average above its bows") {
  const BowFigure figure{.kinds = {{.label = "A",
                                    .bows = {{.label = "one", .steps = {190, 190, 192}, .mean = 572 / 3.0},
                                             {.label = "two", .steps = {193}, .mean = 193}},
                                    .mean = 191.8,
                                    .interval = std::nullopt}},
                         .step = 1,
                         .decimals = 0,
                         .unit = "fps"};
  // 189 to 194 in five columns each, indented by two: the middle of 190 is column 9.
  CHECK(render_text({{figure}}, {.width = 60}) ==
        "  A: average of 2 bows 191.8 fps\n"
        "                  ◆\n"
        "    one: 3 shots, average 190.7 fps\n"
        "         ●\n"
        "         ●         ●\n"
        "            ┼\n"
        "    two: 1 shot, average 193.0 fps\n"
        "                        ●\n"
        "                        ┼\n"
        "  ──┴────┴────┴────┴────┴────┴── fps\n"
        "   189  190  191  192  193  194\n"
        "  ● a shot, ┼ the average of a bow, ◆ that of a kind\n");
  CHECK(render_text({{BowFigure{}}}, {.width = 60}).empty());
}

TEST_CASE("budget figure: its numbers with a bar for each share, none for what is taken away") {
  const BudgetFigure figure{
      .rows = {{"scale", 0.42, 0.75}, {"speed", 0.246, -0.12}, {"mass", 0.05, 0.0001}, {"n", 0, 0}},
      .combined = 0.5139,
      .unit = "fps",
      .decimals = 2};
  CHECK(render_text({{figure}}, {.width = 80}) ==
        "input     contribution, fps        share\n"
        "scale                  0.42         75 %  ███████████████\n"
        "speed                  0.25        −12 %\n"
        "mass                   0.05  below 0.1 %\n"
        "n                      0.00          0 %\n"
        "combined               0.51        100 %\n");
  CHECK(render_text(
            {{BudgetFigure{.rows = {{"a", 164, 1.4}, {"b", 6, -0.0001}}, .combined = 155, .unit = "", .decimals = -1}}},
            {.width = 80}) ==
        "input     contribution      share\n"
        "a                  160      140 %  ████████████████████\n"
        "b                   10  about 0 %\n"
        "combined           160      100 %\n");
  CHECK(render_text({{BudgetFigure{}}}, {.width = 80}).empty());
}

TEST_CASE("interval figure: a small one stands as it is drawn here: 0, margin and ends in their places") {
  IntervalFigure figure{.rows = {{.label = "B against A", .estimate = 1, .interval = {.lower = -1, .upper = 3}}},
                        .margin = 2.0,
                        .unit = "fps"};
  const auto lines = lines_of(drawn(figure, 40));
  const auto ticks = ticks_of(lines);
  REQUIRE(ticks.size() >= 3);
  const auto at = [&](double x) { return column_of(ticks, x); };
  const auto near = [&](const std::string& mark, double x) {
    for (const auto& [line, column] : places_of(lines, mark))
      if (line == 1 && std::abs(column - at(x)) <= 1.001) return true;
    return false;
  };
  CHECK(lines[0] == "  B against A");
  CHECK(near("├", -1));
  CHECK(near("┤", 3));
  CHECK(near("●", 1));
  CHECK(near("│", 0));  // inside the interval and still seen
  CHECK(near(":", 2));
  CHECK(near(":", -2));
  CHECK(lines[lines.size() - 2] == "  │ no gap, ● the gap measured, : the");
  CHECK(lines.back() == "  margin");
}

TEST_CASE("interval figure: ends and estimates stand where the ticks say") {
  std::mt19937_64 random{5};
  std::normal_distribution<double> normal;
  for (int i = 0; i < 500; ++i) {
    const double scale = std::pow(10.0, static_cast<double>(random() % 9) - 4.0);
    const double estimate = scale * normal(random), half = scale * std::abs(normal(random)) + 0.01 * scale;
    IntervalFigure figure{
        .rows = {{.label = "", .estimate = estimate, .interval = {.lower = estimate - half, .upper = estimate + half}}},
        .margin = i % 2 == 0 ? std::nullopt : std::optional{scale},
        .unit = "m/s"};
    for (const int width : {40, 80}) {
      const std::string page = drawn(figure, width);
      check_page(page, width);
      const auto lines = lines_of(page);
      const auto ticks = ticks_of(lines);
      if (ticks.size() < 2) continue;
      CAPTURE(page);
      const auto left = places_of(lines, "├"), right = places_of(lines, "┤");
      // Both the tick and the mark are rounded to a column, so they may differ by one.
      if (left.size() == 1) CHECK(std::abs(left[0].second - column_of(ticks, estimate - half)) <= 2.0);
      if (right.size() == 1) CHECK(std::abs(right[0].second - column_of(ticks, estimate + half)) <= 2.0);
      CHECK(std::abs(places_of(lines, "●")[0].second - column_of(ticks, estimate)) <= 2.0);
    }
  }
}

TEST_CASE("interval figure: an end without a limit is an arrow head at the border") {
  IntervalFigure figure{.rows = {{.label = "", .estimate = 1, .interval = {.lower = -no_limit, .upper = 3}},
                                 {.label = "", .estimate = 1, .interval = {.lower = 0.5, .upper = no_limit}},
                                 {.label = "", .estimate = 0, .interval = {}}},
                        .margin = std::nullopt,
                        .unit = "fps"};
  const auto lines = lines_of(drawn(figure, 40));
  CHECK(characters(lines[0])[2] == "<");
  CHECK(lines[0].find(">") == std::string::npos);
  CHECK(characters(lines[1]).back() == ">");
  CHECK(characters(lines[1]).size() == 40 - 4);
  CHECK(lines[1].find("<") == std::string::npos);
  CHECK(characters(lines[2])[2] == "<");
  CHECK(characters(lines[2]).back() == ">");
}

TEST_CASE("interval figure: nothing but zeros, and numbers beyond the page's decimals, still give a page") {
  for (const double size : {0.0, 1e-300, 1e-17, 1e-9, 1e9, 1e15, 1e300})
    for (const int width : {24, 40, 80}) {
      const std::string page =
          drawn(IntervalFigure{.rows = {{.label = "", .estimate = size, .interval = {.lower = -size, .upper = size}}},
                               .margin = std::nullopt,
                               .unit = "fps"},
                width);
      check_page(page, width);
      const auto lines = lines_of(page);
      for (const auto& [value, column] : ticks_of(lines)) CHECK(std::abs(value) <= 1.1 * size + (size == 0 ? 1.1 : 0));
    }
}

TEST_CASE("power curve: a small one stands as it is drawn here") {
  // Eight rows above the axis: 0.09 · 8 = 0.7 is row 1, 0.37 row 3, 0.62 row 5, 0.76 short of the wanted 0.8 row 5 and
  // not 6, 0.85 and 0.91 row 7. Seven numbers of shots, five columns each.
  const PowerCurveFigure figure{.points = {{2, 0.09}, {3, 0.37}, {4, 0.62}, {5, 0.76}, {6, 0.85}, {7, 0.91}},
                                .wanted = 0.8,
                                .marked = 6,
                                .x_label = "shots with each set-up",
                                .title = "how often a true gap of 3 fps is found"};
  CHECK(drawn(figure, 60) ==
        "  how often a true gap of 3 fps is found\n"
        "  100 % ┤                      ┊\n"
        "        │                      ◆    ●\n"
        "   80 % ┤╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌┊╌╌╌╌╌╌╌\n"
        "        │            ●    ●    ┊\n"
        "   50 % ┤                      ┊\n"
        "        │       ●              ┊\n"
        "        │                      ┊\n"
        "        │  ●                   ┊\n"
        "    0 % └──┴────┴────┴────┴────┴────┴──\n"
        "           2    3    4    5    6    7\n"
        "         shots with each set-up\n"
        "  ● share of tests, ◆ on ┊ 85 % at 6, ╌ asked for\n");
}

TEST_CASE("power curve: a power short of the one asked for stands below its line, one that reaches it does not") {
  for (const double wanted : {0.05, 0.5, 0.8, 0.9, 0.95, 0.99, 0.999}) {
    const PowerCurveFigure figure{.points = {{2, std::nextafter(wanted, 0.0)}, {3, wanted}},
                                  .wanted = wanted,
                                  .marked = std::nullopt,
                                  .x_label = "shots",
                                  .title = ""};
    const auto lines = lines_of(drawn(figure));
    CAPTURE(lines);
    std::size_t line = 0;
    while (lines[line].find("╌") == std::string::npos) ++line;
    const auto dots = places_of(lines, "●");
    REQUIRE(dots.size() == 3);  // the last one stands in the legend
    CHECK(dots[0].first == line);
    CHECK(dots[1].first == line + 1);
    CHECK(dots[0].second > dots[1].second);
    CHECK(lines[line].find(" % ┤") != std::string::npos);
  }
}

TEST_CASE("power curve: every point stands over its number of shots, on the nearest of eight rows") {
  std::mt19937_64 random{7};
  for (int i = 0; i < 200; ++i) {
    const int width = std::vector<int>{24, 40, 80}[random() % 3];
    PowerCurveFigure figure{.points = {}, .wanted = {}, .marked = {}, .x_label = "shots", .title = ""};
    const auto first = static_cast<std::int64_t>(2 + random() % 5);
    const auto count = static_cast<std::int64_t>(2 + random() % 14);
    for (std::int64_t n = first; n < first + count; ++n)
      figure.points.push_back({n, static_cast<double>(random() % 1000) / 1000});
    const auto lines = lines_of(drawn(figure, width));
    CAPTURE(lines);
    const auto ticks = [&] {
      std::map<double, int> out;
      const auto axis = characters(lines[8]), below = characters(lines[9]);
      for (std::size_t c = 0; c < axis.size(); ++c) {
        if (axis[c] != "┴" && axis[c] != "●") continue;
        std::size_t from = c;
        if (c >= below.size() || below[c] == " ") continue;
        while (from > 0 && below[from - 1] != " ") --from;
        std::string label;
        for (std::size_t k = from; k < below.size() && below[k] != " "; ++k) label += below[k];
        out[std::stod(label)] = static_cast<int>(c);
      }
      return out;
    }();
    if (ticks.size() < 2) continue;
    std::map<int, std::size_t> rows;
    for (const auto& [line, column] : places_of(lines, "●"))
      if (line <= 8) rows[column] = line;
    REQUIRE(rows.size() == figure.points.size());
    for (const auto& point : figure.points) {
      const int column = static_cast<int>(std::lround(column_of(ticks, static_cast<double>(point.shots))));
      REQUIRE(rows.count(column) == 1);
      CHECK(std::abs(8 - static_cast<double>(rows[column]) - 8 * point.power) <= 0.5001);
    }
  }
}

TEST_CASE("power curve: the marked number is labelled, whatever stands beside it; off the curve no power is invented") {
  for (const std::int64_t most : {3, 9, 30, 400, 9999})
    for (const std::int64_t marked : {std::int64_t{2}, most / 2 + 1, most, most + 7})
      for (const int width : {24, 40, 80}) {
        PowerCurveFigure figure{
            .points = {}, .wanted = 0.8, .marked = marked, .x_label = "shots with each set-up", .title = "a title"};
        for (std::int64_t n = 2; n <= most; ++n) figure.points.push_back({n, 1.0 - 1.0 / static_cast<double>(n)});
        const std::string page = drawn(figure, width);
        check_page(page, width);
        const auto lines = lines_of(page);
        const auto labels = lines[10];
        CHECK((" " + labels + " ").find(" " + std::to_string(marked) + " ") != std::string::npos);
        CHECK(places_of(lines, "◆").size() == (marked <= most ? 2 : 0));  // in the drawing and in the legend
      }
}

TEST_CASE("power curve: legend and labels follow what is drawn") {
  PowerCurveFigure figure{.points = {{2, 0.1}, {4, 0.79996}}, .wanted = {}, .marked = {}, .x_label = "", .title = ""};
  CHECK(lines_of(drawn(figure)).back() == "  ● share of tests");
  figure.marked = 3;
  CHECK(lines_of(drawn(figure)).back() == "  ● share of tests, ┊ at 3");
  figure.marked = 4;
  figure.wanted = 0.8;  // 79.996 is not 80
  CHECK(lines_of(drawn(figure)).back() == "  ● share of tests, ◆ on ┊ 79.996 % at 4, ╌ asked for");
  figure.wanted = 0.9995;
  CHECK(lines_of(drawn(figure))[0].starts_with("  99.95 % ┤"));
  CHECK(drawn(PowerCurveFigure{}).empty());
}

TEST_CASE("firing sheet: on a terminal its title, the number of shots and the columns that are written") {
  FiringSheet sheet{.title = "Firing sheet",
                    .particulars = {"display 1 fps"},
                    .columns = {{"shot", true}, {"reading", true}, {"set-up"}, {"remark"}},
                    .rows = {{"1", "", "14 strands", ""}, {"2", "", "18 strands", ""}},
                    .remarks = {"archer"},
                    .cautions = {"Never dry-fire."}};
  CHECK(render_text({{Paragraph{"Before."}, sheet, Paragraph{"After."}}}, {}) ==
        "Before.\n"
        "\n"
        "Firing sheet\n"
        "2 shots in this order\n"
        "shot  set-up\n"
        "   1  14 strands\n"
        "   2  18 strands\n"
        "\n"
        "After.\n");
  sheet.rows.pop_back();
  CHECK(render_text({{sheet}}, {}).find("1 shot in this order\n") != std::string::npos);
  for (int width = 24; width <= 100; ++width) check_page(render_text({{sheet}}, {.width = width}), width);
}

TEST_CASE("figures: whatever the numbers, no line is wider than the page and none ends in a blank") {
  std::mt19937_64 random{6};
  std::normal_distribution<double> normal;
  for (int i = 0; i < 3000; ++i) {
    const int width = std::vector<int>{24, 40, 80}[random() % 3];
    const auto span = static_cast<std::int64_t>(std::pow(10.0, static_cast<double>(random() % 130) / 10.0)) + 1;
    const auto low = static_cast<std::int64_t>(normal(random) * 1000);
    std::vector<ShotFigure::Row> rows;
    for (auto k = 1 + random() % 3; k > 0; --k) {
      std::vector<std::int64_t> steps;
      for (auto n = 1 + random() % 20; n > 0; --n)
        steps.push_back(low + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(span)));
      rows.push_back(shots("set-up 弓 " + std::to_string(k) + ": 5 shots, average 281.4 fps", steps));
      const double half = std::abs(normal(random)) * static_cast<double>(span);
      if (random() % 2 == 0)
        rows.back().interval = Interval{.lower = rows.back().mean - half, .upper = rows.back().mean + half};
    }
    const double step = std::pow(10.0, -static_cast<double>(random() % 4));
    const std::string page = drawn(figure_of(rows, step, static_cast<int>(random() % 4)), width);
    check_page(page, width);

    IntervalFigure figure{.rows = {}, .margin = std::nullopt, .unit = random() % 2 == 0 ? "fps" : "m/s"};
    const double scale = std::pow(10.0, static_cast<double>(random() % 12) - 5.0);
    for (auto k = 1 + random() % 3; k > 0; --k) {
      const double estimate = scale * normal(random);
      figure.rows.push_back({.label = k == 2 ? "" : "18 strands against 14 strands: +3.4 fps",
                             .estimate = estimate,
                             .interval = {.lower = random() % 5 == 0 ? -no_limit : estimate - scale,
                                          .upper = random() % 5 == 0 ? no_limit : estimate + scale}});
    }
    if (random() % 2 == 0) figure.margin = scale * std::abs(normal(random)) + 1e-9;
    const std::string other = drawn(figure, width);
    check_page(other, width);
    ticks_of(lines_of(other));
    CHECK(other.find("−0 ") == std::string::npos);
    CHECK(other.find("-") == other.find("set-up"));  // a minus sign is a minus sign
  }
}
