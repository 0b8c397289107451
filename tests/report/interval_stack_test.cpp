#include <doctest/doctest.h>

#include <sstream>
#include <string>

#include <shotassay/document/document.hpp>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/html.hpp>
#include <shotassay/report/text.hpp>

using namespace shotassay;
using namespace shotassay::document;

namespace {

IntervalStackFigure figure(bool misses_marked) {
  return {
      .row_title = "student",
      .groups = {{"3 shots with each", 2.0, {{"1", 1.5, {-1.0, 4.0}}, {"2", 5.0, {2.5, 7.5}}, {"3", 2, {1.4, 2.0}}}},
                 {"5 shots with each", 2.0, {{"1", 2.5, {1.0, 4.0}}}},
                 {"none", 2.0, {}}},
      .misses_marked = misses_marked,
      .unit = "fps",
      .decimals = 1};
}

std::string page(const IntervalStackFigure& f) { return report::render_html(Document{{f}}, {.title = "t"}); }

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("interval stack: an interval whose limit falls on the truth holds it") {
  CHECK_FALSE(IntervalStackFigure::misses({1.5, 2.0}, 2.0));
  CHECK_FALSE(IntervalStackFigure::misses({2.0, 2.5}, 2.0));
  CHECK(IntervalStackFigure::misses({2.5, 7.5}, 2.0));
  CHECK(IntervalStackFigure::misses({-3.0, 1.9}, 2.0));
}

TEST_CASE("interval stack: a page marks the misses by a shape, in words and in the table") {
  const std::string html = page(figure(true));
  CHECK(count(html, "<path class=\"cross\"") == 2);  // the miss, and the legend's
  CHECK(html.find("3 shots with each: 3 intervals, give or take 0.3 to 2.5 fps, the truth at +2.0; 1 misses it.") !=
        std::string::npos);
  CHECK(html.find("5 shots with each: 1 interval, give or take 1.5 to 1.5 fps") != std::string::npos);
  CHECK(html.find("none misses it.") != std::string::npos);
  CHECK(count(html, ">missed</td>") == 1);
  CHECK(count(html, ">held</td>") == 3);
}

TEST_CASE("interval stack: where the reader is to find them nothing gives the misses away") {
  const std::string html = page(figure(false));
  for (const char* told : {"class=\"cross\"", "bar astray\"/>", "miss it", "misses it", ">missed</td>", ">held</td>"})
    CHECK_MESSAGE(html.find(told) == std::string::npos, told);
}

TEST_CASE("interval stack: a terminal shows each interval on a line and nothing beyond its width") {
  for (const int width : {24, 40, 80, 200}) {
    const std::string text = report::render_text(Document{{figure(true)}}, {.width = width});
    std::istringstream lines{text};
    for (std::string line; std::getline(lines, line);)
      CHECK_MESSAGE(static_cast<int>(display_width(line)) <= width, line);
    CHECK(count(text, "●") == 5);  // four gaps and the legend
    CHECK(count(text, "×") == 2);
  }
}

TEST_CASE("interval stack: nothing to show draws no axis") {
  CHECK(report::render_text(Document{{IntervalStackFigure{}}}, {}).empty());
  IntervalStackFigure empty{.row_title = "student", .groups = {{"none", 1.0, {}}}, .unit = "fps"};
  CHECK(page(empty).find("<svg") == std::string::npos);
}

TEST_CASE("page break: a page keeps what follows together, a terminal shows nothing") {
  const Document document{{Heading{"a"}, PageBreak{}, Heading{"b"}}};
  CHECK(report::render_html(document, {.title = "t"}).find("<div class=\"page-break\"></div>") != std::string::npos);
  CHECK(report::render_text(document, {}) == "a\nb\n");
}
