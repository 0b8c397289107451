#include <doctest/doctest.h>

#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/clinic.hpp>

#include <string>
#include <vector>

#include "narrative/reading.hpp"
#include "support/samples.hpp"

using namespace shotassay;
using namespace shotassay::narrative;

namespace {

const Lesson& made() {
  static const Lesson lesson_of_four = lesson({.students = 4, .seed = 7});
  return lesson_of_four;
}

LessonStory story() {
  return {made(), SpeedUnit::feet_per_second, "", "evening", {{"key.csv", "the same for the tally"}}};
}

bool has(const document::Document& document, const std::string& text) {
  return joined(texts_of(document)).find(text) != std::string::npos;
}

ToldTest told(int student, double gap, Sample a, Sample b, std::optional<Said> eye) {
  const ClinicTest test{std::move(a), std::move(b), gap};
  return {student, test, tool_says(test, ConfidenceLevel{0.95}), eye};
}

struct Told {
  ClassTally tally;
  ClinicKey key;
  LuckSeries series;
  explicit Told(std::vector<ToldTest> tests) : tally{class_tally(std::move(tests))}, series{} {
    key.gap = 2;
    key.sd = 1.2;
    key.speed = 190;
    for (const auto& t : tally.tests) key.rows.push_back({t.student, t.test.true_gap, t.test.a, t.test.b, "A"});
    series = luck_series({.seed = 7}, 1000);
  }
  TallyStory story() const { return {tally, key, series, {}}; }
};

}  // namespace

TEST_CASE("clinic handouts: a page a student, with its readings in the order shot, and no answer") {
  const document::Document out = luck_handouts(story());
  CHECK(blocks_of<document::PageBreak>(out).size() == 3);
  const auto figures = blocks_of<document::ShotFigure>(out);
  REQUIRE(figures.size() == 4);
  CHECK(figures[0].rows[0].label.starts_with("A: "));
  for (const auto& figure : figures)
    for (const auto& row : figure.rows) CHECK_FALSE(row.interval);
  for (const char* leak : {"true gap of", "Tool", "tool", "range", "right", "fooled"})
    CHECK_MESSAGE(!has(out, leak), leak);
}

TEST_CASE("clinic handouts: what is to be counted is not counted for the class") {
  const document::Document out = sizes_handout(story());
  const auto stacks = blocks_of<document::IntervalStackFigure>(out);
  REQUIRE(stacks.size() == 1);
  CHECK_FALSE(stacks[0].misses_marked);
  REQUIRE(stacks[0].groups.size() == 4);
  CHECK(stacks[0].groups[3].label == "20 shots with each");
  CHECK(stacks[0].groups[3].rows.size() == 4);
  CHECK(has(out, "____ of 4"));
  CHECK(blocks_of<document::IntervalStackFigure>(projector_page(story()))[0].misses_marked);
}

TEST_CASE("clinic handouts: whoever is told to shoot reads the cautions") {
  for (const document::Document& out : {fooling_handout(story()), projector_page(story())})
    for (const auto& caution : cautions().points) CHECK_MESSAGE(has(out, caution.text), caution.text);
}

TEST_CASE("clinic handouts: the displays show every shot, without an SD") {
  const document::Document out = displays_handout(story());
  const auto tables = blocks_of<document::Table>(out);
  REQUIRE(tables.size() == 2);
  CHECK(tables[0].rows.size() == 6);
  CHECK_FALSE(has(out, "SD"));
  CHECK(has(projector_page(story()), "Equal readings are not an SD of 0"));
}

TEST_CASE("clinic projector: no word is used before it is shown, and open is not the same") {
  const auto texts = texts_of(projector_page(story()));
  const std::string all = joined(texts);
  CHECK(all.find("SD says how far") < all.find("SD of 0"));
  CHECK(all.find("p-value") == std::string::npos);
  CHECK(all.find("“Open” is not “no difference”") != std::string::npos);
}

TEST_CASE("clinic key: the truth of every test stands in it") {
  const auto tables = blocks_of<document::Table>(lesson_key(story()));
  REQUIRE(tables.size() == 2);
  REQUIRE(tables[0].rows.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    const double gap = made().luck[i].true_gap;
    CHECK(tables[0].rows[i][1] == (gap == 0.0 ? "no gap" : gap > 0.0 ? "B faster" : "A faster"));
  }
}

TEST_CASE("clinic lesson: the answer names the folder, its files, the next step and the seed") {
  const document::Document out = lesson_document(story());
  CHECK(has(out, "The lesson for 4 students lies in evening."));
  CHECK(has(out, "key.csv: the same for the tally"));
  CHECK(has(out, "shotassay clinic tally evening/answers.csv"));
  CHECK(has(out, "seed 7"));
  LessonStory from_sheet = story();
  from_sheet.sheet = "club\x1b.csv";
  CHECK(joined(texts_of(lesson_document(from_sheet))).find("that of club\\x1b.csv") != std::string::npos);
}

TEST_CASE("clinic tally: the headline counts eyes where there was no gap, beside the tool in the same tests") {
  const Told two{{told(1, 0, sample({190, 191, 192}), sample({191, 192, 193}), Said::b),
                  told(2, 0, sample({190, 191, 192}), sample({190, 191, 192}), Said::cannot_tell),
                  told(3, 0, sample({190, 191, 192}), sample({200, 201, 202}), std::nullopt),
                  told(4, -2, sample({193, 191, 192}), sample({191, 190, 189}), Said::a)}};
  const document::Document out = tally_document(two.story());
  CHECK(has(out, "Where there was no gap, eyes saw one in 1 of 2 tests; the tool in none of 2."));
  CHECK(has(out, "Where the true gap was 2 fps, eyes named the right one in 1 of 1 tests"));
  CHECK(has(out, "1 student gave no answer"));
  CHECK(has(out, "A class of 3 is a small sample"));
  const auto stacks = blocks_of<document::IntervalStackFigure>(out);
  REQUIRE(stacks.size() == 1);
  CHECK(stacks[0].groups[0].rows[0].label == "1 B: fooled");
  CHECK(stacks[0].groups[0].rows[1].label == "2 ?: right");
  CHECK(stacks[0].groups[0].rows[2].label == "3 no answer");
  // A is the faster one: its gap of +2 against B is drawn to the right, with the interval turned round.
  CHECK(stacks[0].groups[1].rows[0].estimate == 2.0);
  CHECK(stacks[0].groups[1].rows[0].interval.lower == -two.tally.tests[3].tool.result.interval.upper);
}

TEST_CASE("clinic tally: without answers, or without tests of a kind, it says so and counts nothing") {
  const Told none{{told(1, 0, sample({190, 191}), sample({191, 192}), std::nullopt)}};
  CHECK(has(tally_document(none.story()), "No student has given an answer yet."));
  CHECK(blocks_of<document::Table>(tally_document(none.story())).empty());
  const Told gap{{told(1, 2, sample({190, 191, 190}), sample({192, 193, 193}), Said::b)}};
  CHECK(has(tally_document(gap.story()), "Where there was a gap, eyes named the right one in 1 of 1 tests"));
  const auto data = tally_data(none.story());
  CHECK(number_at(data, "unanswered") == 1);
  CHECK(is_null(at(list_at(data, "tests")[0], "eye")));
}

TEST_CASE("clinic series: the table counts averages and tool by the truth; a step tells the newest test") {
  const ClinicQuestion q{.seed = 3};
  const LuckSeries series = luck_series(q, 50);
  const SeriesStory s{q, SpeedUnit::feet_per_second, series};
  const auto tables = blocks_of<document::Table>(series_document(s));
  REQUIRE(tables.size() == 1);
  CHECK(tables[0].rows[0][1] == std::to_string(series.averages.alike.tests()));
  CHECK(tables[0].rows[3][4] == std::to_string(series.tool.apart.missed));
  const document::Document step = series_step(s, {sample({190, 191, 190}), sample({192, 193, 193}), 2.0});
  CHECK(has(step, "Test 50"));
  CHECK(has(step, "averages: B is faster"));
  CHECK(has(step, "truth: B is faster by 2 fps"));
  const LuckSeries nothing = luck_series(q, 0);
  CHECK(has(series_document({q, SpeedUnit::feet_per_second, nothing}), "No test without a true gap"));
}
