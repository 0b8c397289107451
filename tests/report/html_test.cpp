#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include <shotassay/document/printable.hpp>
#include <shotassay/report/html.hpp>

#include "markup_reading.hpp"

using namespace shotassay;
using namespace shotassay::document;
using shotassay::report::render_html;

namespace {

std::string rendered(std::vector<Block> blocks) { return render_html({std::move(blocks)}, {.title = "A page"}); }

/// What holds for every page.
Element check_page(const std::string& html) {
  REQUIRE(html.starts_with("<!DOCTYPE html>\n<html lang=\""));
  REQUIRE(html.find('\0') == std::string::npos);
  for (const char* outside : {"http", "<script", "url(", "@import", "src=\"", "href", "<link", "<base", "<iframe"}) {
    INFO(outside);
    CHECK(html.find(outside) == std::string::npos);
  }
  Element root = read_markup(html);
  check_ids(root);
  CHECK(named(root, "h1").size() == 1);
  CHECK(named(root, "title").size() >= 1);
  for (const auto& e : all_of(root, [](const Element&) { return true; }))
    for (const auto& [key, value] : e.attributes) CHECK(!key.starts_with("on"));
  for (const auto& svg : named(root, "svg")) {
    CHECK(svg.attribute("role") == "img");
    CHECK(!named(svg, "title")[0].text.empty());
    CHECK(named(svg, "desc")[0].text.ends_with("."));
  }
  for (const auto& table : named(root, "table")) {
    const auto titles = named(table, "th");
    for (const auto& row : named(named(table, "tbody")[0], "tr")) {
      REQUIRE(row.children.size() == titles.size());
      // A row that becomes a list says by itself what its cells are.
      for (std::size_t i = 0; i < titles.size(); ++i) CHECK(row.children[i].attribute("data-label") == titles[i].text);
    }
  }
  return root;
}

Element page_of(std::vector<Block> blocks) { return check_page(rendered(std::move(blocks))); }

std::vector<std::vector<std::string>> cells_of(const Element& table) {
  std::vector<std::vector<std::string>> out;
  for (const auto& row : named(named(table, "tbody")[0], "tr")) {
    out.emplace_back();
    for (const auto& cell : row.children) out.back().push_back(cell.text);
  }
  return out;
}

FiringSheet sheet_of(std::size_t shots) {
  FiringSheet sheet{.title = "Firing sheet",
                    .particulars = {"display 1 fps · seed 7"},
                    .columns = {{"shot", true}, {"set-up"}, {"reading", true}},
                    .rows = {},
                    .remarks = {"archer", "place and date"},
                    .cautions = {"Never dry-fire."}};
  for (std::size_t i = 0; i < shots; ++i)
    sheet.rows.push_back({std::to_string(i + 1), i % 2 == 0 ? "14 strands" : "18 strands", ""});
  return sheet;
}

ShotFigure some_shots() {
  return {.rows = {{.label = "14 strands",
                    .steps = {190, 191, 191, 194},
                    .mean = 191.5,
                    .interval = Interval{188.8, 194.2}},
                   {.label = "18 strands", .steps = {188}, .mean = 188, .interval = std::nullopt}},
          .step = 1,
          .decimals = 0,
          .unit = "fps"};
}
IntervalFigure some_gaps() {
  return {.rows = {{.label = "18 against 14", .estimate = -3.5, .interval = {-7.25, 0.03}}},
          .margin = 2.0,
          .unit = "fps",
          .decimals = 1};
}
PowerCurveFigure some_power() {
  return {.points = {{2, 0.09}, {3, 0.27}, {8, 0.812}},
          .wanted = 0.8,
          .marked = 8,
          .x_label = "shots with each set-up",
          .title = "how often a true gap of 3 fps is found"};
}

BowFigure some_bows() {
  return {.kinds = {{.label = "14 strands",
                     .bows = {{.label = "first", .steps = {190, 191, 191}, .mean = 572 / 3.0}},
                     .mean = 572 / 3.0,
                     .interval = std::nullopt}},
          .step = 1,
          .decimals = 0,
          .unit = "fps"};
}
BudgetFigure some_budget() {
  return {.rows = {{"scale", 0.42, 0.76}, {"speed", 0.05, 0.0001}}, .combined = 0.51, .unit = "fps", .decimals = 2};
}

std::vector<Block> one_of_each() {
  return {Headline{"Said aloud.", Tone::resolved},
          Heading{"A heading"},
          Paragraph{"A paragraph.", Tone::caution},
          Points{{{"carried", "a range"}, {"", "a point"}}},
          Table{{{"set-up"}, {"average", true}, {""}}, {{"14 strands", "191.5", "<"}, {"18 strands", "188.0", ""}}},
          some_shots(),
          some_gaps(),
          some_power(),
          sheet_of(12),
          some_bows(),
          some_budget()};
}

/// A rule's declarations in a style sheet, by the text of its selector; the first after `from`.
std::string rule(const std::string& style, const std::string& selector, std::size_t from = 0) {
  const auto at = style.find(selector + " {", from);
  REQUIRE(at != std::string::npos);
  const auto open = style.find('{', at);
  return style.substr(open + 1, style.find('}', open) - open - 1);
}

std::map<std::string, std::string> properties(const std::string& declarations) {
  std::map<std::string, std::string> out;
  for (std::size_t at = declarations.find("--"); at != std::string::npos; at = declarations.find("--", at + 1)) {
    const auto colon = declarations.find(": ", at), end = declarations.find(';', at);
    out[declarations.substr(at, colon - at)] = declarations.substr(colon + 2, end - colon - 2);
  }
  return out;
}

/// Relative luminance of #rrggbb (WCAG 2.2, after IEC 61966-2-1).
double luminance(const std::string& color) {
  REQUIRE(color.size() == 7);
  const auto channel = [&](std::size_t at) {
    const double c = std::stoi(color.substr(at, 2), nullptr, 16) / 255.0;
    return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5);
}
double contrast(const std::string& a, const std::string& b) {
  const double x = luminance(a), y = luminance(b);
  return (std::max(x, y) + 0.05) / (std::min(x, y) + 0.05);
}

const std::vector<std::string> attacks{"\"><script>alert(1)</script>",
                                       "' onload='alert(1)",
                                       "</style><svg onload=alert(1)>",
                                       "</title></textarea><img src=x onerror=alert(1)>",
                                       "&lt;b&gt; &#x3c;script>",
                                       "]]><!-- -->",
                                       "\u202etxt.exe\u202c",
                                       "bell\x07 and escape \x1b[31m",
                                       "not UTF-8: \xff\xfe",
                                       "{{7*7}} ${7*7} javascript:alert(1)",
                                       "line\nbreak",
                                       "a\u00a0b"};

}  // namespace

TEST_CASE("render_html: every kind of block stands on the page, in its order, in elements that are closed") {
  const Element page = page_of(one_of_each());
  CHECK(page.attribute("lang") == "en");
  CHECK(named(page, "h1")[0].text == "Said aloud.");
  CHECK(named(page, "h2")[0].text == "A heading");
  CHECK(classed(page, "p", "tone-caution")[0].text == "A paragraph.");
  CHECK(named(named(page, "ul")[0], "li")[0].text == " a range");
  CHECK(named(page, "strong")[0].text == "carried:");
  CHECK(named(named(page, "ul")[0], "li")[1].text == "a point");
  CHECK(cells_of(named(page, "table")[0]) ==
        std::vector<std::vector<std::string>>{{"14 strands", "191.5", "<"}, {"18 strands", "188.0", ""}});
  CHECK(named(page, "svg").size() == 5);
  CHECK(classed(page, "section", "sheet").size() == 1);
  std::vector<std::string> order;
  const Element main = named(page, "main")[0];
  for (const auto& e : main.children) order.push_back(e.name);
  CHECK(order == std::vector<std::string>{"p", "h1", "h2", "p", "ul", "table", "figure", "details", "figure", "details",
                                          "figure", "details", "section", "figure", "details", "figure", "details"});
}

TEST_CASE("render_html: the first headline is the page's heading; without one its title is") {
  const Element two = page_of({Headline{"First.", Tone::open}, Headline{"Second.", Tone::same}});
  CHECK(named(two, "h1")[0].text == "First.");
  CHECK(named(two, "h1")[0].has_class("headline"));
  CHECK(classed(two, "p", "headline")[0].text == "Second.");
  const Element none = page_of({Paragraph{"Text."}});
  CHECK(named(none, "h1")[0].text == "A page");
  CHECK(named(page_of({}), "h1")[0].text == "A page");
}

TEST_CASE("render_html: title and language are the caller's") {
  const Element page = check_page(render_html({}, {.title = "Zwei Sehnen", .language = "de"}));
  CHECK(page.attribute("lang") == "de");
  CHECK(named(page, "title")[0].text == "Zwei Sehnen");
}

TEST_CASE("render_html: a text from outside is shown, never obeyed, wherever it stands") {
  for (const std::string& attack : attacks) {
    CAPTURE(attack);
    auto sheet = sheet_of(2);
    sheet.title = attack;
    sheet.particulars = sheet.remarks = sheet.cautions = {attack};
    sheet.columns[0].title = attack;
    sheet.rows[0][1] = attack;
    auto shots = some_shots();
    shots.rows[0].label = shots.unit = attack;
    auto gaps = some_gaps();
    gaps.rows[0].label = gaps.unit = attack;
    auto power = some_power();
    power.title = power.x_label = attack;
    auto bows = some_bows();
    bows.kinds[0].label = bows.kinds[0].bows[0].label = bows.unit = attack;
    auto budget = some_budget();
    budget.rows[0].label = budget.unit = attack;
    const std::string html =
        render_html({{Headline{attack}, Heading{attack}, Paragraph{attack}, Points{{{attack, attack}}},
                      Table{{{attack}}, {{attack}}}, shots, gaps, power, sheet, bows, budget}},
                    {.title = attack, .language = attack});
    const Element page = check_page(html);
    // The elements are those of the same page with harmless texts.
    std::set<std::string> names;
    for (const auto& e : all_of(page, [](const Element&) { return true; })) names.insert(e.name);
    for (const char* foreign : {"script", "img", "textarea", "b"}) CHECK(names.count(foreign) == 0);
    const std::string shown = printable(attack);
    CHECK(page.attribute("lang") == shown);
    CHECK(named(page, "title")[0].text == shown);
    CHECK(named(page, "h1")[0].text == shown);
    CHECK(named(page, "h2")[0].text == shown);
    CHECK(cells_of(named(page, "table")[0]) == std::vector<std::vector<std::string>>{{shown}});
    CHECK(named(named(page, "svg")[2], "title")[0].text == shown);
    for (const char* unseen : {"\u202e", "\u202c", "\x07", "\x1b", "\xff"})
      CHECK(html.find(unseen) == std::string::npos);
  }
}

TEST_CASE("render_html: every figure is followed by its numbers in a table") {
  const Element page = page_of({some_shots(), some_gaps(), some_power(), some_bows(), some_budget()});
  const auto details = named(page, "details");
  REQUIRE(details.size() == 5);
  CHECK(cells_of(details[3]) ==
        std::vector<std::vector<std::string>>{{"14 strands", "all together", "", "190.7"},
                                              {"14 strands", "first", "190, 191 (2 times)", "190.7"}});
  CHECK(cells_of(details[4]) == std::vector<std::vector<std::string>>{{"scale", "0.42", "76 %"},
                                                                      {"speed", "0.05", "below 0.1 %"},
                                                                      {"combined", "0.51", "100 %"}});
  CHECK(named(details[4], "th")[1].text == "contribution, fps");
  CHECK(cells_of(details[0]) ==
        std::vector<std::vector<std::string>>{{"14 strands", "190, 191 (2 times), 194", "191.5", "188.8", "194.2"},
                                              {"18 strands", "188", "188.0", "", ""}});
  // +0.03 is above 0 and says so, though tenths would not show it; 7.25 is a tie, which goes to the even digit.
  CHECK(cells_of(details[1]) == std::vector<std::vector<std::string>>{{"18 against 14", "−3.5", "−7.2", "+0.03"}});
  CHECK(cells_of(details[2]) == std::vector<std::vector<std::string>>{{"2", "9 %"}, {"3", "27 %"}, {"8", "81 %"}});
  CHECK(named(details[2], "th")[0].text == "shots with each set-up");
}

TEST_CASE("render_html: a figure or a table with nothing in it leaves no trace") {
  const Element page = page_of({ShotFigure{}, IntervalFigure{}, PowerCurveFigure{}, BowFigure{}, BudgetFigure{},
                                Table{}, Points{}, Headline{"Said."}});
  CHECK(named(page, "svg").empty());
  CHECK(named(page, "details").empty());
  CHECK(named(page, "table").empty());
  CHECK(named(page, "ul").empty());
}

TEST_CASE("render_html: texts have the contrast of WCAG AA in light and dark and on paper, marks that of graphics") {
  const std::string style = named(page_of({}), "style")[0].text;
  const auto dark_at = style.find("prefers-color-scheme: dark");
  const auto light = properties(rule(style, ":root"));
  const auto dark = properties(rule(style, ":root", dark_at));
  REQUIRE(light.size() == dark.size());
  auto paper = light;
  for (const auto& [name, color] : properties(rule(style, ":root", style.find("@media print")))) paper[name] = color;
  CHECK(paper.at("--paper") == "#ffffff");
  for (const auto& scheme : {light, dark, paper}) {
    for (const char* text : {"--ink", "--soft"}) {
      CAPTURE(text);
      CHECK(contrast(scheme.at(text), scheme.at("--paper")) >= 4.5);
    }
    CHECK(contrast(scheme.at("--ink"), scheme.at("--band")) >= 4.5);
    for (const char* mark : {"--fact", "--mark", "--limit", "--edge"}) {
      CAPTURE(mark);
      CHECK(contrast(scheme.at(mark), scheme.at("--paper")) >= 3.0);
    }
    for (const char* mark : {"--fact", "--limit"}) CHECK(contrast(scheme.at(mark), scheme.at("--band")) >= 3.0);
  }
  // No colour is used that is not one of these.
  const auto schemes = style.find(".figure {");
  CHECK(style.find('#', schemes) == std::string::npos);
  CHECK(style.find("rgb") == std::string::npos);
  for (std::size_t at = style.find("var(--"); at != std::string::npos; at = style.find("var(--", at + 1)) {
    const std::string name = style.substr(at + 4, style.find(')', at) - at - 4);
    CAPTURE(name);
    CHECK((light.count(name) == 1 || name == "--rows" || name == "--room"));
  }
}

TEST_CASE("render_html: a tone has a line of its own kind, not only a colour") {
  const Element page = page_of({Headline{"a", Tone::resolved}, Headline{"b", Tone::same}, Headline{"c", Tone::open},
                                Headline{"d", Tone::caution}, Headline{"e"}});
  CHECK(named(page, "h1")[0].attribute("class") == "headline tone-resolved");
  CHECK(classed(page, "p", "headline")[3].attribute("class") == "headline");
  const std::string style = named(page, "style")[0].text;
  const auto line = [&](const std::string& tone) {
    const std::string declarations = rule(style, "." + tone);
    const auto at = declarations.find("border-left-style: ");
    return at == std::string::npos ? "solid" : declarations.substr(at + 19, declarations.find(';', at) - at - 19);
  };
  CHECK(line("tone-resolved") == "solid");
  CHECK(line("tone-same") == "double");
  CHECK(line("tone-open") == "dashed");
  CHECK(line("tone-caution") == "dotted");
}

TEST_CASE("render_html: a table becomes lists where a screen is too narrow for it, by the room that its cells need") {
  const auto kind = [](std::vector<std::string> cells, bool numeric) {
    Table table{.columns = {}, .rows = {cells}};
    for (std::size_t i = 0; i < cells.size(); ++i) table.columns.push_back({"x", numeric});
    return named(page_of({table}), "table")[0].attribute("class");
  };
  CHECK(kind({std::string(14, '1'), std::string(14, '1')}, true) == "");  // 14 + 2 + 14 + 2 = 32 characters
  CHECK(kind({std::string(14, '1'), std::string(15, '1')}, true) == "broad");
  CHECK(kind({std::string(36, '1'), std::string(36, '1')}, true) == "broad");  // 76
  CHECK(kind({std::string(36, '1'), std::string(37, '1')}, true) == "vast");
  CHECK(kind({"words are broken between each other", "so they need little room"}, false) == "");
  CHECK(kind({"弓弓弓弓弓弓弓", "12345678901234"}, false) == "");  // seven wide characters take fourteen
  CHECK(kind({"弓弓弓弓弓弓弓弓", "12345678901234"}, false) == "broad");
}

TEST_CASE("render_html: a word without end may be broken in its cell, a number never") {
  const std::string word(200, 'w');
  const Element page = page_of({Table{{{"name"}, {"n", true}}, {{word, "1"}}}});
  const auto cells = named(page, "td");
  CHECK(cells[0].has_class("long"));
  CHECK(cells[1].attribute("class") == "number");
  CHECK(named(page, "table")[0].attribute("class") == "");  // 24 + 2 + 1 + 2
}

TEST_CASE("render_html: a unit or a percent sign stays with its number in running text") {
  const Element page = page_of({Headline{"A gap of 3 fps in 81 % of tests, at 80.5 m/s, 3 shots, x fps."},
                                Points{{{"carried", "3 fps"}}}, Table{{{"gap"}}, {{"3 fps"}}}});
  CHECK(named(page, "h1")[0].text == "A gap of 3\u00a0fps in 81\u00a0% of tests, at 80.5\u00a0m/s, 3 shots, x fps.");
  CHECK(named(page, "li")[0].text == " 3\u00a0fps");
  CHECK(cells_of(named(page, "table")[0])[0][0] == "3 fps");
}

TEST_CASE("render_html: a firing sheet has every shot in order, room to write, remarks and cautions") {
  const Element page = page_of({sheet_of(12)});
  const Element sheet = classed(page, "section", "sheet")[0];
  CHECK(named(sheet, "h2")[0].text == "Firing sheet");
  CHECK(classed(sheet, "p", "particulars")[0].text == "display 1\u00a0fps · seed 7");
  const auto cells = cells_of(sheet);
  REQUIRE(cells.size() == 12);
  for (std::size_t i = 0; i < 12; ++i)
    CHECK(cells[i] == std::vector<std::string>{std::to_string(i + 1), i % 2 == 0 ? "14 strands" : "18 strands", ""});
  const auto titles = named(sheet, "th");
  CHECK(titles[0].attribute("class") == "number written");
  CHECK(titles[1].attribute("class") == "written");
  CHECK(titles[2].attribute("class") == "number blank");
  CHECK(named(classed(sheet, "ul", "remarks")[0], "li").size() == 2);
  CHECK(named(classed(sheet, "ul", "cautions")[0], "li")[0].text == "Never dry-fire.");
}

TEST_CASE("render_html: up to 40 rows of a firing sheet share one page, more go on overleaf in rows of one height") {
  const auto rows = [](std::size_t shots) {
    const Element page = page_of({sheet_of(shots)});
    CHECK(cells_of(classed(page, "section", "sheet")[0]).size() == shots);
    const std::string style = named(classed(page, "section", "sheet")[0], "div")[0].attribute("style");
    return style.substr(0, style.find(';'));
  };
  CHECK(rows(0) == "--rows: 1");
  CHECK(rows(1) == "--rows: 1");
  CHECK(rows(40) == "--rows: 40");
  CHECK(rows(41) == "--rows: 26");
  CHECK(rows(300) == "--rows: 26");
  const std::string style = named(page_of({}), "style")[0].text;
  const auto print = style.find("@page");
  CHECK(rule(style, ".sheet", print).find("break-before: page") != std::string::npos);
  CHECK(rule(style, "\ntr").find("break-inside: avoid") != std::string::npos);
  CHECK(rule(style, "\nfigure").find("break-inside: avoid") != std::string::npos);
}

TEST_CASE("render_html: the rows of a firing sheet leave the room that its other texts take") {
  const auto room = [](const FiringSheet& sheet) {
    const Element page = page_of({sheet});
    const std::string style = named(classed(page, "section", "sheet")[0], "div")[0].attribute("style");
    const auto at = style.find("--room: ");
    REQUIRE(at != std::string::npos);
    REQUIRE(style.ends_with("mm"));
    return std::stoi(style.substr(at + 8));
  };
  auto sheet = sheet_of(40);
  const int least = room(sheet);
  CHECK(least < 250);
  CHECK(least > 190);
  sheet.cautions.push_back("Stop when tired.");  // one line of 8.5 pt
  CHECK(least - room(sheet) >= 3);
  CHECK(least - room(sheet) <= 4);
  sheet.cautions.back() = std::string(250, 'x');  // three lines
  CHECK(least - room(sheet) >= 11);
  sheet.remarks.resize(6, "label");  // four more, two on a line
  CHECK(least - room(sheet) >= 26);
  sheet.particulars.resize(2, "one line");
  CHECK(least - room(sheet) >= 30);
  sheet.particulars.resize(200, "one line");  // hopeless on one page: rows that can still be written in, more pages
  CHECK(room(sheet) == 125);
}

TEST_CASE("render_html: the same document gives the same bytes") {
  CHECK(rendered(one_of_each()) == rendered(one_of_each()));
}
