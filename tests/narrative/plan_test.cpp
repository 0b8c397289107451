#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

/// A plan whose numbers are set here, so that only the words are tested.
Plan made(PlanAnswer answer) {
  PlanQuestion question{.resolve = 3.0, .shots = std::nullopt, .sd = 1.5};
  if (answer == PlanAnswer::gap) question.resolve = std::nullopt;
  if (answer != PlanAnswer::shots) question.shots = 5;
  const bool asked = answer != PlanAnswer::gap;
  const PlanRow row{
      .shots = 5, .power = asked ? std::optional{0.762} : std::nullopt, .detectable_gap = 3.14, .half_width = 2.24};
  const PlanRow other{
      .shots = 6, .power = asked ? std::optional{0.9987} : std::nullopt, .detectable_gap = 2.76, .half_width = 1.94};
  return {.answer = answer,
          .question = question,
          .sd_of_readings = 1.527525,
          .achieved = row,
          .table = {row, other},
          .power_one_less = answer == PlanAnswer::shots ? std::optional{0.64} : std::nullopt,
          .more_can_miss = false,
          .display_limits = false};
}

std::vector<std::string> codes(const Plan& plan) {
  std::vector<std::string> out;
  for (const auto& note : plan_notes({plan, SpeedUnit::feet_per_second})) out.push_back(note.code);
  return out;
}

Document document_of(const Plan& plan, SpeedUnit unit = SpeedUnit::feet_per_second) {
  return plan_document({plan, unit});
}

std::string headline(const Plan& plan) { return blocks_of<Headline>(document_of(plan)).at(0).text; }

}  // namespace

TEST_CASE("plan_document: how many shots") {
  CHECK(
      headline(made(PlanAnswer::shots)) ==
      "Shoot 5 shots with each of the two set-ups: a true gap of 3 fps is then found in 76 % of tests; with 4 it would "
      "be 64 %.");
  Plan fewest = made(PlanAnswer::shots);
  fewest.power_one_less = std::nullopt;
  CHECK(headline(fewest) ==
        "Shoot 5 shots with each of the two set-ups: a true gap of 3 fps is then found in 76 % of tests.");
}

TEST_CASE("plan_document: what gap so many shots find, and how often they find a given one") {
  CHECK(headline(made(PlanAnswer::gap)) ==
        "5 shots with each of the two set-ups find a true gap of 3.1 fps 8 times in 10; a smaller one is missed more "
        "often.");
  CHECK(headline(made(PlanAnswer::power)) ==
        "5 shots with each of the two set-ups find a true gap of 3 fps in 76 % of tests.");
}

TEST_CASE("plan_document: an open verdict is told not to be \"no difference\", whatever was asked") {
  for (const PlanAnswer answer : {PlanAnswer::shots, PlanAnswer::gap, PlanAnswer::power}) {
    const auto paragraphs = blocks_of<Paragraph>(document_of(made(answer)));
    REQUIRE(paragraphs.size() == 1);
    CHECK(paragraphs[0].text.find("not \"no difference\"") != std::string::npos);
    CHECK(paragraphs[0].text.find("±2.2 fps") != std::string::npos);
  }
  CHECK(blocks_of<Paragraph>(document_of(made(PlanAnswer::power)))[0].text.find("in 24 % of tests") !=
        std::string::npos);
}

TEST_CASE("plan_document: the table has a row for each number of shots and marks the answer's") {
  const auto table = blocks_of<Table>(document_of(made(PlanAnswer::power))).at(0);
  REQUIRE(table.columns.size() == 5);
  CHECK(table.columns[0].title == "shots with each");
  CHECK(table.columns[1].title == "finds 3 fps");
  CHECK(table.columns[2].title == "finds 8 times in 10");
  CHECK(table.columns[3].title == "range about");
  REQUIRE(table.rows.size() == 2);
  CHECK(table.rows[0] == std::vector<std::string>{"5", "76 %", "3.1 fps", "±2.2 fps", "<"});
  CHECK(table.rows[1] == std::vector<std::string>{"6", "99.9 %", "2.8 fps", "±1.9 fps", ""});
  const auto bare = blocks_of<Table>(document_of(made(PlanAnswer::gap))).at(0);
  CHECK(bare.rows[0] == std::vector<std::string>{"5", "3.1 fps", "±2.2 fps", "<"});
  CHECK(bare.columns.size() == bare.rows[0].size());
}

TEST_CASE("plan_document: speeds stand in the unit asked for, decimals follow the display") {
  Plan p = made(PlanAnswer::gap);
  p.question.display_step = DisplayStep{Decimal{1, 1}};
  CHECK(blocks_of<Headline>(document_of(p, SpeedUnit::metres_per_second))[0].text.find("3.14 m/s") !=
        std::string::npos);
  CHECK(joined(texts_of(document_of(p, SpeedUnit::metres_per_second))).find("fps") == std::string::npos);
}

TEST_CASE("plan_notes: what a plan rests on, and the two warnings only where they apply") {
  CHECK(codes(made(PlanAnswer::shots)) == std::vector<std::string>{"sd_entered", "method", "scope"});
  Plan p = made(PlanAnswer::shots);
  p.display_limits = true;
  CHECK(codes(p) == std::vector<std::string>{"sd_entered", "method", "display_limits", "scope"});
  p.display_limits = false;
  p.more_can_miss = true;
  CHECK(codes(p) == std::vector<std::string>{"sd_entered", "method", "more_can_miss", "scope"});
  const auto notes = plan_notes({p, SpeedUnit::feet_per_second});
  CHECK(notes[0].text.find("a shot SD of 1.5 fps in both set-ups, as entered") != std::string::npos);
  CHECK(notes[0].text.find("steps of 1 fps add to it: 1.53 fps") != std::string::npos);
  CHECK(notes[1].text.find("confidence 95 %") != std::string::npos);
  CHECK(notes.back().text.find("kinds of bow or bowstring, several of each are needed") != std::string::npos);
}

TEST_CASE("plan_document: notes and cautions are all shown to the person who will shoot") {
  const Plan p = made(PlanAnswer::shots);
  const auto texts = texts_of(document_of(p));
  for (const auto& note : plan_notes({p, SpeedUnit::feet_per_second}))
    CHECK(std::find(texts.begin(), texts.end(), note.text) != texts.end());
  for (const auto& caution : cautions().points)
    CHECK(std::find(texts.begin(), texts.end(), caution.text) != texts.end());
}

TEST_CASE("cautions: each thing that is said wherever somebody is told to shoot") {
  std::string all;
  for (const auto& caution : cautions().points) all += caution.text + " ";
  for (const char* said : {"Never dry-fire", "Inspect every arrow", "minimum arrow mass", "bolt limits override",
                           "qualified technician", "backstop", "nobody forward of the line", "eye protection",
                           "Stop when tired", "Range rules and local law come first"})
    CHECK(all.find(said) != std::string::npos);
}

TEST_CASE("plan_data: the keys of the contract, in order, and null where nothing was asked") {
  const Plan p = made(PlanAnswer::power);
  const Data data = plan_data({p, SpeedUnit::metres_per_second});
  CHECK(keys_of(data) == std::vector<std::string>{"unit", "question", "confidence", "power", "sd", "display_step",
                                                  "method", "design", "achieved", "table", "order"});
  CHECK(text_at(data, "unit") == "m/s");
  CHECK(text_at(data, "question") == "power");
  CHECK(number_at(data, "confidence") == 0.95);
  CHECK(number_at(data, "power") == 0.8);
  CHECK(keys_of(at(data, "sd")) == std::vector<std::string>{"from", "to", "bow", "origin"});
  CHECK(number_at(at(data, "sd"), "to") == 1.5);
  CHECK(is_null(at(at(data, "sd"), "bow")));
  CHECK(text_at(at(data, "sd"), "origin") == "entered");
  CHECK(keys_of(at(data, "design")) == std::vector<std::string>{"from", "to", "total_shots"});
  CHECK(number_at(at(at(data, "design"), "from"), "bows") == 1);
  CHECK(number_at(at(at(data, "design"), "to"), "shots") == 5);
  CHECK(number_at(at(data, "design"), "total_shots") == 10);
  CHECK(keys_of(at(data, "achieved")) ==
        std::vector<std::string>{"power", "detectable_gap", "half_width", "monte_carlo_error"});
  CHECK(number_at(at(data, "achieved"), "power") == 0.762);
  CHECK(number_at(at(data, "achieved"), "detectable_gap") == 3.14);
  CHECK(is_null(at(at(data, "achieved"), "monte_carlo_error")));
  CHECK(is_null(at(data, "order")));
  REQUIRE(list_at(data, "table").size() == 2);
  CHECK(keys_of(list_at(data, "table")[0]) ==
        std::vector<std::string>{"shots", "power", "detectable_gap", "half_width"});
  CHECK(number_at(list_at(data, "table")[1], "half_width") == 1.94);

  CHECK(text_at(plan_data({made(PlanAnswer::shots), SpeedUnit::feet_per_second}), "question") == "shots");
  const Plan gap = made(PlanAnswer::gap);
  const Data of_gap = plan_data({gap, SpeedUnit::feet_per_second});
  CHECK(text_at(of_gap, "question") == "gap");
  CHECK(is_null(at(at(of_gap, "achieved"), "power")));
  CHECK(is_null(at(list_at(of_gap, "table")[0], "power")));
}
