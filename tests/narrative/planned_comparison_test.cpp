#include <doctest/doctest.h>

#include <optional>
#include <string>
#include <vector>

#include <shotassay/narrative/comparison.hpp>
#include <shotassay/studies/compared_setups.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

using Texts = std::vector<std::string>;

/// A sheet that a plan wrote, fired in part or in full, and compared.
struct Told {
  Sheet sheet;
  Comparison comparison;
  std::optional<PlannedTest> planned;

  explicit Told(const std::string& text, const ComparisonOptions& options = {})
      : sheet{*read_sheet(text).sheet},
        comparison{compare(compared_setups(sheet), options)},
        planned{planned_test(sheet, options.level)} {}

  ComparisonStory story() const { return {comparison, sheet, sheet.unit, std::nullopt, planned}; }
  Texts codes() const {
    Texts out;
    for (const auto& note : comparison_notes(story())) out.push_back(note.code);
    return out;
  }
  std::string note(const std::string& code) const {
    std::string out;
    for (const auto& note : comparison_notes(story()))
      if (note.code == code) out += (out.empty() ? "" : "\n") + note.text;
    return out.empty() ? "no note" : out;
  }
  Texts cautions() const {
    Texts out;
    for (const Paragraph& p : blocks_of<Paragraph>(comparison_document(story())))
      if (p.tone == Tone::caution) out.push_back(p.text);
    return out;
  }
  Data plan() const { return at(comparison_data(story()), "plan"); }
};

std::string rows(const std::string& setup, const Texts& readings) {
  std::string out;
  for (const auto& r : readings) {
    const bool reading = !r.empty() && r.find_first_not_of("0123456789.") == std::string::npos;
    out += setup + "," + (reading ? r + "," : "," + r) + "\n";
  }
  return out;
}

std::string planned(int a, int b, const std::string& more = "") {
  return "# display: 1\n# plan: shotassay 1\n# planned shots: " + std::to_string(a) +
         " of A\n# planned shots: " + std::to_string(b) + " of B\n" + more + "setup,speed_fps,excluded\n";
}

const std::string a4 = rows("A", {"191", "193", "190", "192"}), b4 = rows("B", {"194", "196", "197", "193"});

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// The course of a test without the simulation behind it, so that only the words are tested.
StoppingError rate(double error_rate) {
  return {.error_rate = error_rate, .standard_error = 0.0024, .one_look = 0.05, .tests = 20'000, .seed = 1};
}

}  // namespace

TEST_CASE("planned comparison: a test as planned says that a plan wrote its sheet, and nothing of stopping") {
  const Told told{planned(4, 4) + a4 + b4};
  CHECK(told.codes() == Texts{"display_from_sheet", "plan_read"});
  CHECK(told.note("plan_read") == "The sheet comes from a plan for 4 shots with A and 4 shots with B.");
  CHECK(told.cautions().empty());
  // A sheet that no plan wrote has no such note.
  const Told plain{"# display: 1\nsetup,speed_fps\nA,191\nA,193\nB,194\nB,196\n"};
  CHECK(plain.codes() == Texts{"display_from_sheet"});
  CHECK(is_null(plain.plan()));
}

TEST_CASE("planned comparison: confidence, power and margin of the plan are told where the sheet has them") {
  const Told all{planned(4, 4, "# confidence: 0.9\n# power: 0.85\n# margin: 1.5\n") + a4 + b4,
                 {.level = ConfidenceLevel{0.9}, .margin = 1.5}};
  CHECK(all.note("plan_read") ==
        "The sheet comes from a plan for 4 shots with A and 4 shots with B, at confidence 90 %, power 85 % and margin "
        "1.5 fps.");
  CHECK(all.note("plan_overruled") == "no note");
  const Told power{planned(1, 4, "# power: 0.8\n") + rows("A", {"191"}) + b4};
  CHECK(power.note("plan_read") == "The sheet comes from a plan for 1 shot with A and 4 shots with B, at power 80 %.");
}

TEST_CASE("planned comparison: another confidence or margin than the plan's is told") {
  const std::string text = planned(4, 4, "# confidence: 0.95\n# margin: 1.5\n") + a4 + b4;
  const Told both{text, {.level = ConfidenceLevel{0.9}, .margin = 2.0}};
  CHECK(both.note("plan_overruled") ==
        "The confidence of 90 % was asked for in place of the plan's 95 %.\n"
        "The margin of 2 fps was asked for in place of the plan's 1.5 fps.");
  CHECK(Told{text, {.margin = 1.5}}.note("plan_overruled") == "no note");
  CHECK(Told{text}.note("plan_overruled") == "no note");
}

TEST_CASE("planned comparison: shots still open are told before the verdict is repeated") {
  const Told two{planned(4, 4) + a4 + rows("B", {"194", "196", "", ""})};
  REQUIRE(two.cautions().size() == 1);
  CHECK(two.cautions()[0] == "The planned test is not finished: 2 shots are still open, 2 with B.");
  CHECK(two.note("open_shots") == "Planned and not shot yet: 2 with B.");
  const Told one{planned(4, 4) + rows("A", {"191", "193", "190", ""}) + b4};
  CHECK(one.cautions().at(0) == "The planned test is not finished: 1 shot is still open, 1 with A.");
  const Told both{planned(4, 4) + rows("A", {"191", "193", "190", ""}) + rows("B", {"194", "196", "", ""})};
  CHECK(both.cautions().at(0) == "The planned test is not finished: 3 shots are still open, 1 with A and 2 with B.");
  CHECK(both.note("open_shots") == "Planned and not shot yet: 1 with A and 2 with B.");
}

TEST_CASE("planned comparison: a set-up without a reading yet is told apart from one whose shots are all excluded") {
  const Told open{planned(2, 2) + rows("A", {"191", "193"}) + rows("B", {"", ""})};
  CHECK(open.note("no_shots") == "B has no reading yet.");
  const Told excluded{planned(2, 2) + rows("A", {"191", "193"}) + rows("B", {"wind", "wind"})};
  CHECK(excluded.note("no_shots") == "B has no shot left: every one is excluded.");
  // Some excluded, some open: readings may yet come.
  const Told mixed{planned(2, 2) + rows("A", {"191", "193"}) + rows("B", {"wind", ""})};
  CHECK(mixed.note("no_shots") == "B has no reading yet.");
}

TEST_CASE(
    "planned comparison: who stopped early learns what that does to the error rate, with the figure's own error") {
  Told told{planned(5, 5) + a4 + rows("A", {""}) + rows("B", {"194", "196", "", "", ""})};
  REQUIRE(told.planned->stopping);
  told.planned->stopping = rate(0.136);
  CHECK(told.note("stopped_early") ==
        "Fewer shots are here than planned. Who looks after every shot from 2 with each and stops at the first gap "
        "found, at 5 at the latest, is wrong in 14 % of tests of like set-ups, where 5 % are allowed (20000 simulated "
        "tests, standard error 0.2 %, seed 1). The confidence holds only if the number of shots was not chosen by "
        "looking.");
  told.planned->stopping = rate(0.03);
  CHECK(contains(told.note("stopped_early"), "is wrong in 3 % of tests"));
  CHECK(told.note("stopped_early")
            .ends_with("With scatter this small beside the display's step the range is wide enough to bear that."));
  CHECK(told.note("went_on") == "no note");
}

TEST_CASE(
    "planned comparison: who went on learns the same, beside the verdict too where more is at stake than allowed") {
  Told told{planned(3, 3) + a4 + b4};
  REQUIRE(told.planned->course == Course::went_on);
  REQUIRE(told.planned->stopping);
  told.planned->stopping = rate(0.08);
  CHECK(
      told.note("went_on") ==
      "More shots were fired than planned. Who goes on from 3 with each because the verdict is open, looks after "
      "every further shot up to 4 and stops at the first gap found is wrong in 8 % of tests of like set-ups, where "
      "5 % are allowed (20000 simulated tests, standard error 0.2 %, seed 1). The confidence holds only if the number "
      "of shots was not chosen by looking.");
  REQUIRE(told.cautions().size() == 1);
  CHECK(told.cautions()[0] ==
        "More shots than planned. If you went on because it was open, the 19 of 20 does not hold: of tests without any "
        "gap about 8 % end in a false verdict so, not 5 %.");
  told.planned->stopping = rate(0.03);
  CHECK(told.cautions().at(0) == "More shots than planned.");
  told.planned->stopping = std::nullopt;
  CHECK(told.cautions().at(0) == "More shots than planned.");
  CHECK(told.note("went_on") ==
        "More shots were fired than planned: a test that goes on until it looks right errs more often than its "
        "confidence says.");
}

TEST_CASE("planned comparison: where no figure can be given the warning stands without one") {
  const Told told{planned(4, 4) + a4 + rows("B", {"194", "", "", ""})};
  REQUIRE(!told.planned->stopping);
  CHECK(told.note("stopped_early") ==
        "Fewer shots are here than planned: a test that stops when it looks right errs more often than its confidence "
        "says.");
}

TEST_CASE("planned comparison: shots left out for a cause may be made up for, and that is no going on") {
  const Told told{planned(4, 4) + a4 + rows("B", {"194", "lip", "197", "193"})};
  CHECK(
      told.note("shots_left_out") ==
      "Planned shots were left out, so that fewer count: with B 3 of 4. To keep to the plan fire as many more and add "
      "their rows; that is not going on longer.");
  CHECK(told.note("stopped_early") == "no note");
  const Told made_up{planned(4, 4) + a4 + rows("B", {"194", "lip", "197", "193", "195"})};
  CHECK(made_up.note("shots_left_out") == "no note");
  CHECK(made_up.note("went_on") == "no note");
}

TEST_CASE("planned comparison: a check standard watches the conditions, and is in no gap") {
  const Told told{planned(2, 2, "# check standard: club bow\n") + rows("club bow", {"170", "171"}) +
                  rows("A", {"191", "193"}) + rows("B", {"194", "196"})};
  CHECK(told.note("check_standard") ==
        "Shots of the check standard club bow watch the conditions; they are in no gap.");
  REQUIRE(told.comparison.gaps.size() == 1);
  const Data data = comparison_data(told.story());
  for (const Data& setup : list_at(data, "setups")) CHECK(text_at(setup, "name") != "club bow");
  const Data plan = told.plan();
  for (const Data& setup : list_at(plan, "setups")) CHECK(text_at(setup, "name") != "club bow");
  // Also on a sheet that no plan wrote.
  const Told plain{"# check standard: club bow\nsetup,speed_fps\nclub bow,170\nA,191\nA,193\nB,194\nB,196\n"};
  CHECK(contains(plain.note("check_standard"), "club bow"));
}

TEST_CASE("planned comparison: every note reaches the reader, and names are shown harmless") {
  const Told told{
      "# display: 1\n# plan: shotassay 1\n# planned shots: 3 of A\u202e\n# planned shots: 3 of B\n"
      "setup,speed_fps\nA\u202e,191\nA\u202e,193\nA\u202e,\nB,194\nB,196\nB,\n"};
  const std::string all = joined(texts_of(comparison_document(told.story())));
  CHECK(!contains(all, "\u202e"));
  CHECK(contains(told.note("plan_read"), "3 shots with A\\u202e and 3 shots with B"));
  CHECK(contains(told.cautions().at(0), "1 with A\\u202e and 1 with B"));
  for (const auto& note : comparison_notes(told.story())) CHECK(contains(all, note.text));
}

TEST_CASE("comparison_data of a plan: course, set-ups and what stopping does") {
  Told told{planned(5, 4) + a4 + rows("A", {""}) + rows("B", {"194", "lip", "197", "193"})};
  const Data plan = told.plan();
  CHECK(keys_of(plan) == Texts{"course", "setups", "stopping"});
  CHECK(text_at(plan, "course") == "unfinished");
  REQUIRE(list_at(plan, "setups").size() == 2);
  const Data& a = list_at(plan, "setups")[0];
  const Data& b = list_at(plan, "setups")[1];
  CHECK(keys_of(a) == Texts{"name", "planned", "analysed", "excluded", "open"});
  CHECK(text_at(a, "name") == "A");
  CHECK(number_at(a, "planned") == 5);
  CHECK(number_at(a, "analysed") == 4);
  CHECK(number_at(a, "excluded") == 0);
  CHECK(number_at(a, "open") == 1);
  CHECK(number_at(b, "analysed") == 3);
  CHECK(number_at(b, "excluded") == 1);
  REQUIRE(told.planned->stopping);
  told.planned->stopping = rate(0.136);
  const Data stopping = at(told.plan(), "stopping");
  CHECK(keys_of(stopping) == Texts{"error_rate", "standard_error", "from_shots", "to_shots", "tests", "seed"});
  CHECK(number_at(stopping, "error_rate") == 0.136);
  CHECK(number_at(stopping, "standard_error") == 0.0024);
  CHECK(number_at(stopping, "from_shots") == 2);
  CHECK(number_at(stopping, "to_shots") == 5);
  CHECK(number_at(stopping, "tests") == 20'000);
  CHECK(number_at(stopping, "seed") == 1);
}

TEST_CASE("comparison_data of a plan: as planned or gone on, a set-up the plan does not know, no figure") {
  const Told as_planned{planned(4, 4) + a4 + b4};
  CHECK(text_at(as_planned.plan(), "course") == "as_planned");
  CHECK(is_null(at(as_planned.plan(), "stopping")));
  const Told went_on{planned(4, 4) + a4 + b4 + rows("B", {"195"}) + rows("C", {"201", "203"})};
  CHECK(text_at(went_on.plan(), "course") == "went_on");
  CHECK(is_null(at(went_on.plan(), "stopping")));
  const Data plan = went_on.plan();
  REQUIRE(list_at(plan, "setups").size() == 3);
  CHECK(text_at(list_at(plan, "setups")[2], "name") == "C");
  CHECK(is_null(at(list_at(plan, "setups")[2], "planned")));
}
