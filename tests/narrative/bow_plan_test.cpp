#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

using Texts = std::vector<std::string>;

/// A plan whose numbers are set here, so that only the words are tested.
BowPlan made() {
  return {.question = {.resolve = 3.0, .bow_sd = 1.0, .shot_sd = 1.2},
          .cheapest = {4, 3, 0.819, 104.0},
          .detectable_gap = 2.92,
          .half_width = 1.98,
          .luck_of_two = 1.41,
          .one_in_three = 1.37,
          .shots_shown = {1, 3},
          .rows = {{2, {0.2, 0.29}, 0.387}, {4, {0.608, 0.819}, 0.939}, {5, {0.7996, 0.92}, 0.9995}}};
}

struct Told {
  BowPlan plan = made();
  SpeedUnit unit = SpeedUnit::feet_per_second;
  bool costs_entered = false;
  std::optional<PlannedFiring> firing = {};
  SdSource sd = {};

  BowPlanStory story() const { return {plan, unit, sd, costs_entered, firing}; }
  Document document() const { return plan_document(story()); }
  Texts paragraphs() const {
    Texts out;
    for (const Paragraph& p : blocks_of<Paragraph>(document())) out.push_back(p.text);
    return out;
  }
  Texts codes() const {
    Texts out;
    for (const auto& note : plan_notes(story())) out.push_back(note.code);
    return out;
  }
  std::string note(const std::string& code) const {
    for (const auto& note : plan_notes(story()))
      if (note.code == code) return note.text;
    return "no note";
  }
};

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("bow plan headline: bows of each kind, shots with each, and what they find") {
  Told told;
  CHECK(blocks_of<Headline>(told.document()).at(0).text ==
        "Shoot 4 bows of each kind, 3 shots with each bow: a true gap of 3 fps between the kinds is then found in 82 % "
        "of tests.");
  told.plan.cheapest.shots = 1;
  CHECK(contains(blocks_of<Headline>(told.document()).at(0).text, "4 bows of each kind, 1 shot with each bow:"));
}

TEST_CASE("bow plan: one bow of each kind is never enough, and says so in the second sentence") {
  const Told told;
  CHECK(told.paragraphs().at(0) ==
        "With one bow of each kind no number of shots is enough: of pairs of single bows from kinds that do not differ "
        "at all, one in three lies more than 1.4 fps apart.");
  CHECK(blocks_of<Paragraph>(told.document()).at(0).tone == Tone::caution);
  const Table grid = blocks_of<Table>(told.document()).at(0);
  CHECK(grid.rows.at(0) == Texts{"1", "never", "never", "never"});
}

TEST_CASE("bow plan: the size of the test, its cost, and whose costs they are") {
  Told told;
  CHECK(told.paragraphs().at(1) ==
        "That is 24 shots in all, the cheapest such test at a cost of 104, a bow counted as ten shots; your own costs "
        "may tell another. The range for the gap will be about ±2.0 fps on average.");
  told.costs_entered = true;
  told.plan.cheapest.cost = 104.25;
  CHECK(told.paragraphs().at(1) ==
        "That is 24 shots in all, the cheapest such test at a cost of 104.25. The range for the gap will be about ±2.0 "
        "fps on average.");
}

TEST_CASE("bow plan grid: bows down, shots across, the answer marked, no share rounded up to the power") {
  const Table grid = blocks_of<Table>(Told{}.document()).at(0);
  Texts titles;
  for (const auto& column : grid.columns) titles.push_back(column.title);
  CHECK(titles == Texts{"bows of each", "1 shot", "3 shots", "any"});
  REQUIRE(grid.rows.size() == 4);
  CHECK(grid.rows[1] == Texts{"2", "20 %", "29 %", "39 %"});
  CHECK(grid.rows[2] == Texts{"4", "61 %", "→ 82 %", "94 %"});
  CHECK(grid.rows[3] == Texts{"5", "79.96 %", "92 %", "more than 99.9 %"});
}

TEST_CASE("bow plan notes: whose SD it is, how the chances were worked out, and whose gap it will be") {
  Told told;
  CHECK(told.codes() == Texts{"bow_sd_entered", "sd_entered", "method", "scope"});
  CHECK(told.note("bow_sd_entered").starts_with("SD between the true speeds of bows of one kind, as entered: 1 fps."));
  CHECK(contains(told.note("method"), "at confidence 95 %"));
  CHECK(contains(told.note("scope"), "picked at random from their kinds"));
  for (const auto& note : plan_notes(told.story())) CHECK(contains(joined(texts_of(told.document())), note.text));
  told.plan.question.shot_sd = 0.49;
  CHECK(told.codes() == Texts{"bow_sd_entered", "sd_entered", "method", "display_limits", "scope"});
  told.plan.question.step = DisplayStep{Decimal{1, 1}};
  told.plan.question.level = ConfidenceLevel{0.9};
  CHECK(told.codes() == Texts{"bow_sd_entered", "sd_entered", "method", "scope"});
  CHECK(contains(told.note("method"), "at confidence 90 %"));
}

TEST_CASE("bow plan: the sheet that was written is told, cautions stand at the end, another unit is kept to") {
  Told told;
  CHECK(std::get<Points>(told.document().blocks.back()).points.size() == cautions().points.size());
  const std::size_t before = told.paragraphs().size();
  PlannedFiring firing{};
  firing.shots.resize(24);
  firing.sheet = "kinds.csv";
  firing.with_bows = true;
  told.firing = firing;
  REQUIRE(told.paragraphs().size() == before + 1);
  CHECK(told.paragraphs().at(2) ==
        "kinds.csv has 24 shots in firing order. Write each reading into it, then compare it.");
  told.unit = SpeedUnit::metres_per_second;
  CHECK(!contains(joined(texts_of(told.document())), "fps"));
}

TEST_CASE("plan_data of bows: the keys of the contract, no number of shots for one bow of each kind") {
  const Told told;
  const Data data = plan_data(told.story());
  CHECK(keys_of(data) == Texts{"unit", "question", "confidence", "power", "sd", "display_step", "method", "design",
                               "achieved", "one_bow_of_each", "table", "order"});
  CHECK(text_at(data, "question") == "bows");
  CHECK(text_at(data, "method") == "bow_means");
  CHECK(number_at(at(data, "sd"), "bow") == 1.0);
  CHECK(number_at(at(data, "sd"), "from") == 1.2);
  CHECK(number_at(at(data, "sd"), "to") == 1.2);
  CHECK(number_at(at(at(data, "design"), "from"), "bows") == 4);
  CHECK(number_at(at(at(data, "design"), "to"), "shots") == 3);
  CHECK(number_at(at(data, "design"), "total_shots") == 24);
  const Data achieved = at(data, "achieved");
  CHECK(keys_of(achieved) == Texts{"power", "detectable_gap", "half_width", "cost", "monte_carlo_error"});
  CHECK(number_at(achieved, "power") == 0.819);
  CHECK(number_at(achieved, "cost") == 104.0);
  const Data one = at(data, "one_bow_of_each");
  CHECK(keys_of(one) == Texts{"gap_sd", "one_in_three", "enough_shots"});
  CHECK(number_at(one, "gap_sd") == 1.41);
  CHECK(number_at(one, "one_in_three") == 1.37);
  CHECK(is_null(at(one, "enough_shots")));
  // Each row of two shown numbers of shots and their limit.
  const auto& table = list_at(data, "table");
  REQUIRE(table.size() == 9);
  CHECK(number_at(table[4], "bows") == 4);
  CHECK(number_at(table[4], "shots") == 3);
  CHECK(number_at(table[4], "power") == 0.819);
  CHECK(is_null(at(table[5], "shots")));
  CHECK(number_at(table[5], "power") == 0.939);
  CHECK(is_null(at(data, "order")));
}
