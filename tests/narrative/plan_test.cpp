#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

using Texts = std::vector<std::string>;

Chance chance(double average) { return {average, std::nullopt, 0.0}; }

/// A plan whose numbers are set here, so that only the words are tested.
Plan made(const PlanGoal& goal, std::optional<std::int64_t> shots = std::nullopt) {
  const bool asked = !std::holds_alternative<std::monostate>(goal);
  const auto row = [&](std::int64_t n, double share, double gap, double half_width) {
    return PlanRow{.shots = n,
                   .chance = asked ? std::optional{chance(share)} : std::nullopt,
                   .detectable_gap = gap,
                   .half_width = half_width,
                   .by = ChanceBy::lattice};
  };
  const PlanRow five = row(5, 0.831, 3.14, 2.24);
  return {.answer = !shots  ? PlanAnswer::shots
                    : asked ? PlanAnswer::chance
                            : PlanAnswer::gap,
          .question = {.goal = goal, .shots = shots, .sd = {1.5, 1.5}},
          .achieved = five,
          .table = {row(4, 0.642, 3.9, 2.8), five, row(6, 0.9987, 2.76, 1.94)},
          .curve = {{2, 0.1}, {4, 0.642}, {5, 0.831}, {6, 0.9987}},
          .one_less = shots ? std::nullopt : std::optional{chance(0.642)},
          .more_can_miss = false,
          .overshot = Overshot::neither,
          .at_upper = {},
          .upper_out_of_reach = false};
}

/// A plan and its story, which only points at it.
struct Told {
  Plan plan;
  SpeedUnit unit = SpeedUnit::feet_per_second;
  SdSource sd = {};
  std::optional<PlannedFiring> firing = {};
  std::array<std::string, 2> setups = {"A", "B"};

  PlanStory story() const { return {plan, unit, setups, sd, firing}; }
  Document document() const { return plan_document(story()); }
  Data data() const { return plan_data(story()); }
  std::string headline() const { return blocks_of<Headline>(document()).at(0).text; }
  Texts paragraphs() const {
    Texts out;
    for (const Paragraph& p : blocks_of<Paragraph>(document())) out.push_back(p.text);
    return out;
  }
  std::string all() const { return joined(texts_of(document())); }
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

SdSource pilot(double sd_of_readings = 1.4) {
  return {.origin = SdOrigin::sheet,
          .sheet = "earlier.csv",
          .estimate = SdEstimate{.sd = 1.5,
                                 .sd_of_readings = sd_of_readings,
                                 .sd_display_corrected = 1.37,
                                 .degrees_of_freedom = 5,
                                 .upper = 2.13,
                                 .level = ConfidenceLevel{0.8},
                                 .exact = true},
          .sheet_shots = {3, 4}};
}

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

PlannedShot shot(std::int64_t order, const std::string& setup) {
  PlannedShot s;
  s.order = order;
  s.setup = setup;
  return s;
}

PlannedFiring of(std::vector<PlannedShot> shots) {
  PlannedFiring firing{};
  firing.shots = std::move(shots);
  return firing;
}

}  // namespace

TEST_CASE("plan headline: how many shots, for each thing that a test can achieve") {
  CHECK(Told{made(FindGap{3})}.headline() ==
        "Shoot 5 shots with each of the two set-ups: a true gap of 3 fps is then found in 83 % of tests, with 4 shots "
        "each in 64 %.");
  CHECK(Told{made(NarrowRange{2})}.headline() ==
        "Shoot 5 shots with each of the two set-ups: the gap is then known to ±2 fps or closer in 83 % of tests, with "
        "4 shots each in 64 %.");
  CHECK(Told{made(ShowSame{3})}.headline() ==
        "Shoot 5 shots with each of the two set-ups: two set-ups without a gap are then shown to differ by less than "
        "3 fps in 83 % of tests, with 4 shots each in 64 %.");
  CHECK(contains(Told{made(ShowSame{3, -0.5})}.headline(), "two set-ups 0.5 fps apart are then shown"));
}

TEST_CASE("plan headline: what so many shots find, and how often they reach what was asked") {
  CHECK(Told{made({}, 5)}.headline() ==
        "5 shots with each of the two set-ups find a true gap of 3.1 fps 8 times in 10; a smaller one is missed more "
        "often.");
  CHECK(Told{made(FindGap{3}, 5)}.headline() ==
        "5 shots with each of the two set-ups find a true gap of 3 fps in 83 % of tests.");
  CHECK(Told{made(NarrowRange{2}, 5)}.headline() ==
        "5 shots with each of the two set-ups tell the gap to ±2 fps or closer in 83 % of tests.");
  CHECK(Told{made(ShowSame{3}, 5)}.headline() ==
        "5 shots with each of the two set-ups show two set-ups without a gap to differ by less than 3 fps in 83 % of "
        "tests.");
}

TEST_CASE("plan headline: two shots have no fewer beside them, nor have hundreds") {
  Plan fewest = made(FindGap{3});
  fewest.one_less = std::nullopt;
  CHECK(Told{fewest}.headline().ends_with("found in 83 % of tests."));
  Plan many = made(FindGap{3});
  many.achieved.shots = 200;
  CHECK(contains(Told{many}.headline(), ", with 199 shots each in 64 %"));
  many.achieved.shots = 201;
  CHECK(Told{many}.headline().ends_with("found in 83 % of tests."));
}

TEST_CASE("plan headline: a share that misses the power is never rounded up to it") {
  const auto less = [](double share) {
    Plan p = made(FindGap{3});
    p.one_less = chance(share);
    const std::string text = Told{p}.headline();
    return text.substr(text.find("each in ") + 8);
  };
  CHECK(less(0.796) == "79.6 %.");
  CHECK(less(0.7996) == "79.96 %.");  // one decimal would say 80.0 %
  CHECK(less(0.79996) == "79.996 %.");
  CHECK(less(0.7999999) == "79.99999 %.");
  CHECK(less(0.799999995) == "just under 80 %.");
  CHECK(less(0.794) == "79 %.");
  CHECK(less(0.8) == "80 %.");
  CHECK(less(0.80000000001) == "80 %.");
}

TEST_CASE("plan: a detectable gap is never called an accuracy, and \"open\" never \"no difference\"") {
  for (const PlanGoal& goal : {PlanGoal{}, {FindGap{3}}, {NarrowRange{2}}, {ShowSame{3}}})
    for (const std::optional<std::int64_t> shots : {std::optional<std::int64_t>{}, {5}}) {
      if (std::holds_alternative<std::monostate>(goal) && !shots) continue;
      const std::string all = Told{made(goal, shots)}.all();
      CHECK(!contains(all, "ccura"));
      CHECK(contains(all, "±2.2 fps on average"));
      CHECK(!contains(all, "nan"));
      for (std::size_t i = all.find("no difference"); i != std::string::npos; i = all.find("no difference", i + 1))
        CHECK(all.substr(0, i).ends_with("not \""));
    }
}

TEST_CASE("plan: what the verdict will be where the goal is missed") {
  CHECK(
      Told{made(FindGap{3}, 5)}.paragraphs().at(0) ==
      "The range for the gap will be about ±2.2 fps on average. Were the gap really 3 fps, the verdict would still be "
      "\"open\" in 17 % of tests: \"open\" is not \"no difference\".");
  CHECK(Told{made({}, 5)}.paragraphs().at(0) ==
        "The range for the gap will be about ±2.2 fps on average. An \"open\" verdict after such a test is not \"no "
        "difference\": a smaller gap may well be there.");
  CHECK(contains(Told{made(NarrowRange{2})}.paragraphs().at(0), "How narrow it comes out is partly luck"));
  const std::string same = Told{made(ShowSame{3})}.paragraphs().at(0);
  CHECK(contains(same, "Shown: the whole range lies inside ±3 fps."));
  CHECK(contains(same, "not shown is not \"different\""));
  CHECK(contains(Told{made(ShowSame{3, 1})}.paragraphs().at(0), "for there is a gap"));
}

TEST_CASE("plan: the worst place of the true speeds is told where it is worse by two hundredths or more") {
  Plan p = made(FindGap{3}, 5);
  const auto warning = [&](double worst) {
    p.achieved.chance->worst_phase = worst;
    for (const Paragraph& text : blocks_of<Paragraph>(Told{p}.document()))
      if (text.tone == Tone::caution) return text.text;
    return std::string{"none"};
  };
  CHECK(warning(0.82) == "none");
  CHECK(warning(0.7) ==
        "83 % is an average over where the true speeds fall between two readings. They may fall so that it is 70 %; a "
        "finer display cures that.");
  p.achieved.chance = std::nullopt;
  CHECK(contains(Told{made({}, 5)}.all(), "8 times in 10"));
}

TEST_CASE("plan: what a larger SD would mean, told of a pilot with its confidence") {
  Plan p = made(FindGap{3});
  p.question.upper_sd = PlanSds{2.13, 2.13};
  const auto caution = [&](const SdSource& sd) {
    for (const Paragraph& text : blocks_of<Paragraph>(Told{.plan = p, .sd = sd}.document()))
      if (text.tone == Tone::caution) return text.text;
    return std::string{"none"};
  };
  const SdSource assumed{.origin = SdOrigin::assumed, .shooter = shooter_named("fingers")};
  PlanRow upper = p.achieved;
  upper.shots = 9;
  upper.chance = chance(0.823);
  p.at_upper = upper;
  CHECK(
      caution(pilot()) ==
      "To be on the safe side shoot 9 with each. So few shots do not pin the SD down: it may be as large as 2.13 fps, "
      "and then it takes that many (82 % of tests). In 8 of 10 such pilots the true SD is not above the limit found "
      "so.");
  CHECK(caution(assumed) ==
        "To be on the safe side shoot 9 with each. The SD is assumed: it may well be 2.13 fps, and then it takes that "
        "many (82 % of tests).");
  p.at_upper->shots = 5;
  CHECK(caution(assumed) == "The SD is assumed: it may well be 2.13 fps, and the same number of shots would do.");
  p.at_upper->shots = 4;
  CHECK(contains(caution(assumed), "and then 4 with each would do: a little more scatter helps"));
  // Below half a display step a larger SD is not on the safe side.
  p.question.sd = {0.3, 0.3};
  p.at_upper->shots = 9;
  CHECK(caution(assumed) ==
        "The SD is assumed: it may well be 2.13 fps, and then it takes 9 with each (82 % of tests).");
}

TEST_CASE("plan: of a larger SD the chance, or the gap, of the shots given; and none where no number was found") {
  const auto caution = [](Plan p) {
    p.question.upper_sd = PlanSds{2.13, 1.0};
    if (!p.upper_out_of_reach) {
      p.at_upper = p.achieved;
      p.at_upper->detectable_gap = 4.27;
      if (p.at_upper->chance) p.at_upper->chance = chance(0.555);
    }
    const Told told{.plan = p, .sd = {.origin = SdOrigin::assumed, .shooter = shooter_named("fingers")}};
    return told.paragraphs().at(1);
  };
  CHECK(caution(made(FindGap{3}, 5)) ==
        "The SD is assumed: it may well be 2.13 fps, and then these shots do so in 56 % of tests.");
  CHECK(caution(made({}, 5)) ==
        "The SD is assumed: it may well be 2.13 fps, and then these shots find 4.3 fps 8 times in 10.");
  Plan out = made(FindGap{3});
  out.upper_out_of_reach = true;
  // Not "there is none": a search may have ended by its cost.
  CHECK(caution(out) ==
        "The SD is assumed: it may well be 2.13 fps, and then no number of shots was found that would do.");
}

TEST_CASE("plan table: a column for the goal, a row for each number of shots, the answer's marked") {
  const auto table_of = [](const Plan& p) { return blocks_of<Table>(Told{p}.document()).at(0); };
  const Table gap = table_of(made(FindGap{3}));
  REQUIRE(gap.columns.size() == 5);
  CHECK(gap.columns[0].title == "shots with each");
  CHECK(gap.columns[1].title == "finds 3 fps");
  CHECK(gap.columns[2].title == "gap found in 8 of 10");
  CHECK(gap.columns[3].title == "range about");
  REQUIRE(gap.rows.size() == 3);
  CHECK(gap.rows[0] == Texts{"4", "64 %", "3.9 fps", "±2.8 fps", ""});
  CHECK(gap.rows[1] == Texts{"5", "83 %", "3.1 fps", "±2.2 fps", "the answer"});
  CHECK(gap.rows[2] == Texts{"6", "99.9 %", "2.8 fps", "±1.9 fps", ""});
  CHECK(table_of(made(FindGap{3}, 5)).rows[1].back() == "as asked");
  CHECK(table_of(made(NarrowRange{2})).columns[1].title == "within ±2 fps");
  CHECK(table_of(made(ShowSame{2.5})).columns[1].title == "same ±2.5 fps");
  const Table bare = table_of(made({}, 5));
  REQUIRE(bare.columns.size() == 4);
  CHECK(bare.rows[1] == Texts{"5", "3.1 fps", "±2.2 fps", "as asked"});
}

TEST_CASE("plan table: a share that falls with more shots is explained, and only then") {
  Plan p = made(FindGap{3});
  CHECK(!contains(Told{p}.all(), "no misprint"));
  p.table[2].chance = chance(0.8295);
  CHECK(contains(Told{p}.all(), "no misprint"));
  p.table[2].chance = chance(0.8305);
  CHECK(!contains(Told{p}.all(), "no misprint"));
}

TEST_CASE("plan curve: its points, the power asked, the answer and what is counted") {
  const auto curve_of = [](const Plan& p) { return blocks_of<PowerCurveFigure>(Told{p}.document()).at(0); };
  const PowerCurveFigure c = curve_of(made(FindGap{3}));
  REQUIRE(c.points.size() == 4);
  CHECK(c.points[1].shots == 4);
  CHECK(c.points[1].power == 0.642);
  CHECK(c.wanted == std::optional{0.8});
  CHECK(c.marked == std::optional<std::int64_t>{5});
  CHECK(c.x_label == "shots with each set-up");
  CHECK(c.title == "Share of tests that find a true gap of 3 fps");
  CHECK(curve_of(made({}, 5)).title == "Share of tests that find a true gap of 3.1 fps");
  CHECK(curve_of(made(NarrowRange{2})).title == "Share of tests that tell the gap to ±2 fps or closer");
  CHECK(curve_of(made(ShowSame{2, 1})).title ==
        "Share of tests that show two set-ups 1 fps apart to differ by less than 2 fps");
}

TEST_CASE("plan notes: what a plan rests on, and warnings only where they apply") {
  CHECK(Told{made(FindGap{3})}.codes() == Texts{"sd_entered", "method", "scope"});
  Plan p = made(FindGap{3});
  p.question.sd = {1.5, 0.74};
  CHECK(Told{p}.codes() == Texts{"sd_entered", "method", "display_limits", "scope"});
  p.question.sd = {0.75, 1.5};
  CHECK(Told{p}.codes() == Texts{"sd_entered", "method", "scope"});
  p.question.how.step = DisplayStep{Decimal{1, 1}};
  p.question.sd = {0.074, 1.5};
  CHECK(Told{p}.codes() == Texts{"sd_entered", "method", "display_limits", "scope"});
  p = made(FindGap{3});
  p.more_can_miss = true;
  p.overshot = Overshot::to;
  CHECK(Told{p}.codes() == Texts{"sd_entered", "method", "more_can_miss", "more_on_one_side", "scope"});
  CHECK(contains(Told{p}.note("more_on_one_side"), "Many more shots with B alone, 50 say, would find the gap less"));
  p.overshot = Overshot::from;
  CHECK(contains(Told{p}.note("more_on_one_side"), "Many more shots with A alone"));
  p.achieved.shots = 4'000;
  CHECK(contains(Told{p}.note("more_on_one_side"), "10000 say"));
  for (const auto& note : plan_notes(Told{p}.story())) CHECK(contains(Told{p}.all(), note.text));
  PlannedFiring costly{};
  costly.change = Change::costly;
  CHECK(Told{.plan = made(FindGap{3}), .firing = costly}.codes() ==
        Texts{"sd_entered", "method", "re_setting", "scope"});
}

TEST_CASE("plan notes: the SD, where it comes from and what the display adds to it") {
  // √(1.5² + 1/12) = 1.5275, √(0.9² + 1/12) = 0.9452, in tenths √(1.5² + 0.01/12) = 1.50028
  Told told{made(FindGap{3})};
  CHECK(
      told.note("sd_entered") ==
      "Shot SD, as entered: 1.5 fps with both set-ups. The display is said to show steps of 1 fps; with that rounding "
      "the scatter counts as 1.53 fps.");
  told.sd.display_entered = false;
  CHECK(contains(told.note("sd_entered"), "The display is taken to show steps of 1 fps"));
  told.sd.display_entered = true;
  told.plan.question.sd = {1.5, 0.9};
  told.setups = {"14 strands", "18 strands"};
  CHECK(told.note("sd_entered") ==
        "Shot SD, as entered: 1.5 fps with 14 strands and 0.9 fps with 18 strands. The display is said to show steps "
        "of 1 fps; with that rounding the scatter counts as 1.53 and 0.95 fps.");
  told.plan.question.how.step = DisplayStep{Decimal{1, 1}};
  CHECK(
      contains(told.note("sd_entered"), "steps of 0.1 fps; with that rounding the scatter counts as 1.500 and 0.900"));

  const SdSource assumed{.origin = SdOrigin::assumed, .shooter = shooter_named("machine")};
  CHECK(Told{.plan = made(FindGap{3}), .sd = assumed}.note("sd_assumed") ==
        "Shot SD, assumed and not measured: 1.5 fps with both set-ups, for a shooting machine, 0.4 fps or less as a "
        "rule and up to 0.9. That is common practice without a source; a few shots of your own tell more. The display "
        "is said to show steps of 1 fps; with that rounding the scatter counts as 1.53 fps.");
  CHECK(Told{.plan = made(FindGap{3}), .sd = pilot()}.note("sd_from_sheet") ==
        "Shot SD from the 3 + 4 shots of earlier.csv: 1.50 fps, taken as the same with both set-ups; with confidence "
        "80 % it is not above 2.13 fps. The display is said to show steps of 1 fps; with that rounding the scatter "
        "counts as 1.53 fps.");
  const std::string equal = Told{.plan = made(FindGap{3}), .sd = pilot(0.0)}.note("sd_from_sheet");
  CHECK(
      equal.starts_with("All readings of earlier.csv (3 + 4 shots) are equal: the scatter is smaller than its display "
                        "shows. An SD of 1.50 fps stands in"));
  CHECK(contains(equal, "it is not above 2.13 fps"));
}

TEST_CASE("plan notes: whose chances, and how they were worked out") {
  Told told{made(FindGap{3})};
  CHECK(told.note("method").starts_with(
      "Chances are those of the range that compare gives at confidence 95 %, counted over all readings"));
  CHECK(!contains(told.note("method"), "worst"));
  told.plan.achieved.chance->worst_phase = 0.7;
  CHECK(contains(told.note("method"), "for the answer 70 % at the worst of them."));
  told.plan.achieved.chance->worst_phase = 0.829;
  CHECK(!contains(told.note("method"), "worst"));  // 83 % both
  told.plan.achieved.by = ChanceBy::quadrature;
  told.plan.question.how.level = ConfidenceLevel{0.9};
  CHECK(told.note("method").starts_with(
      "Chances are those of the range that compare gives at confidence 90 %. With scatter of so many display steps"));
  told.plan.question.how.interval = PlannedInterval::welch;
  CHECK(told.note("method").starts_with("Chances are those of Welch's plain range at confidence 90 %, computed"));
  told.plan.question.how.interval = PlannedInterval::rounding_aware;
  told.plan.achieved.by = ChanceBy::simulation;
  told.plan.question.how.simulation = {.tests = 100'000, .seed = 7};
  told.plan.achieved.tests = 20'000;  // drawn, not those that were allowed
  told.plan.achieved.chance->error = 0.0028;
  CHECK(told.note("monte_carlo") ==
        "Chances are those of the range that compare gives at confidence 90 %, from 20000 simulated tests, seed 7; the "
        "standard error of the chance told is 0.28 %.");
  CHECK(told.note("method") == "no note");
  told.plan.achieved.chance = std::nullopt;
  told.plan.answer = PlanAnswer::gap;
  told.plan.question.goal = std::monostate{};
  CHECK(told.note("monte_carlo").ends_with("seed 7."));
}

TEST_CASE("plan: the files that were written are told, with what is in them") {
  Told told{made(FindGap{3})};
  const auto said = [&] {
    const Texts paragraphs = told.paragraphs();
    return paragraphs.size() == 2 ? std::string{"nothing"} : paragraphs.at(1);
  };
  CHECK(said() == "nothing");
  told.firing = of({shot(1, "A"), shot(2, "B")});
  CHECK(said() == "nothing");
  told.firing->sheet = "sheet.csv";
  CHECK(said() == "sheet.csv has 2 shots in firing order. Write each reading into it, then compare it.");
  told.firing->page = "plan.html";
  CHECK(said() ==
        "sheet.csv has 2 shots in firing order. Write each reading into it, then compare it. plan.html is a page with "
        "this plan and a firing sheet to print.");
  told.firing->sheet.clear();
  CHECK(said() == "plan.html is a page with this plan and a firing sheet to print.");
  told.firing->sheet = "=sheet.csv";
  told.firing->page.clear();
  PlannedShot warm = shot(0, "A"), check = shot(3, "club bow");
  warm.warm_up = true;
  check.check_standard = true;
  told.firing->shots.push_back(warm);
  told.firing->shots.push_back(check);
  told.firing->with_bows = true;
  CHECK(said() ==
        "“=sheet.csv” has 4 shots in firing order: 2 that count, 1 warm-up and 1 of the check standard. Write each "
        "reading into it, then compare it.");
}

TEST_CASE("plan: names and files are shown harmless") {
  Told told{made(FindGap{3})};
  told.plan.question.sd = {1.5, 0.9};
  told.plan.overshot = Overshot::from;
  told.setups = {"=1+1", "B\u202e"};
  told.sd = pilot();
  told.sd.sheet = "pilot\x1b[2J.csv";
  const std::string all = told.all();
  CHECK(contains(all, "with “=1+1” alone"));
  CHECK(contains(Told{.plan = told.plan, .setups = told.setups}.all(), "with “=1+1” and 0.9 fps with B\\u202e"));
  CHECK(all.find('\x1b') == std::string::npos);
  CHECK(!contains(all, "\u202e"));
}

TEST_CASE("plan: speeds stand in the unit planned in, decimals follow the display") {
  Told told{.plan = made({}, 5), .unit = SpeedUnit::metres_per_second};
  told.plan.question.how.step = DisplayStep{Decimal{1, 1}};
  CHECK(contains(told.headline(), "a true gap of 3.14 m/s"));
  CHECK(!contains(told.all(), "fps"));
  CHECK(text_at(told.data(), "unit") == "m/s");
}

TEST_CASE("plan: scope is always told, kinds of bow are never promised, and the cautions stand at the end") {
  const Told told{made(FindGap{3})};
  CHECK(contains(told.note("scope"), "belong to the two specimens shot"));
  const auto last = std::get<Points>(told.document().blocks.back());
  CHECK(last.points.size() == cautions().points.size());
  CHECK(last.points.at(0).text == cautions().points.at(0).text);
  Texts headings;
  for (const Heading& h : blocks_of<Heading>(told.document())) headings.push_back(h.text);
  CHECK(headings == Texts{"Other numbers of shots", "What this rests on", "Before you shoot"});
}

TEST_CASE("cautions: each thing that is said wherever somebody is told to shoot") {
  std::string all;
  for (const auto& caution : cautions().points) all += caution.text + " ";
  for (const char* said : {"Never dry-fire", "Inspect every arrow", "minimum arrow mass", "bolt limits override",
                           "qualified technician", "backstop", "nobody forward of the line", "eye protection",
                           "Stop when tired", "Range rules and local law come first"})
    CHECK(all.find(said) != std::string::npos);
}

TEST_CASE("plan_data: the keys of the contract, in order, and null where there is nothing") {
  const Told told{made(FindGap{3}, 5)};
  const Data data = told.data();
  CHECK(keys_of(data) == Texts{"unit", "question", "confidence", "power", "sd", "display_step", "method", "design",
                               "achieved", "at_upper_sd", "upper_sd_out_of_reach", "table", "curve", "order"});
  CHECK(text_at(data, "unit") == "fps");
  CHECK(text_at(data, "question") == "power");
  CHECK(number_at(data, "confidence") == 0.95);
  CHECK(number_at(data, "power") == 0.8);
  CHECK(number_at(data, "display_step") == 1.0);
  CHECK(text_at(data, "method") == "rounding_aware");
  const Data& sd = at(data, "sd");
  CHECK(keys_of(sd) == Texts{"from", "to", "bow", "origin", "upper"});
  CHECK(number_at(sd, "from") == 1.5);
  CHECK(is_null(at(sd, "bow")));
  CHECK(text_at(sd, "origin") == "entered");
  CHECK(is_null(at(sd, "upper")));
  const Data& design = at(data, "design");
  CHECK(keys_of(design) == Texts{"from", "to", "total_shots"});
  CHECK(number_at(at(design, "from"), "bows") == 1);
  CHECK(number_at(at(design, "to"), "shots") == 5);
  CHECK(number_at(design, "total_shots") == 10);
  const Data& achieved = at(data, "achieved");
  CHECK(keys_of(achieved) == Texts{"power", "power_worst_phase", "power_one_less", "detectable_gap", "half_width", "by",
                                   "monte_carlo_error"});
  CHECK(number_at(achieved, "power") == 0.831);
  CHECK(is_null(at(achieved, "power_worst_phase")));
  CHECK(is_null(at(achieved, "power_one_less")));
  CHECK(number_at(achieved, "detectable_gap") == 3.14);
  CHECK(number_at(achieved, "half_width") == 2.24);
  CHECK(text_at(achieved, "by") == "lattice");
  CHECK(is_null(at(achieved, "monte_carlo_error")));
  CHECK(is_null(at(data, "at_upper_sd")));
  CHECK(std::get<bool>(at(data, "upper_sd_out_of_reach").value()) == false);
  REQUIRE(list_at(data, "table").size() == 3);
  CHECK(keys_of(list_at(data, "table")[0]) == Texts{"shots", "power", "detectable_gap", "half_width", "by"});
  CHECK(number_at(list_at(data, "table")[2], "half_width") == 1.94);
  REQUIRE(list_at(data, "curve").size() == 4);
  CHECK(keys_of(list_at(data, "curve")[0]) == Texts{"shots", "power"});
  CHECK(number_at(list_at(data, "curve")[1], "power") == 0.642);
  CHECK(is_null(at(data, "order")));
}

TEST_CASE("plan_data: each question has its name, each way of working out its word") {
  const auto question = [](const PlanGoal& goal, std::optional<std::int64_t> shots) {
    return text_at(Told{made(goal, shots)}.data(), "question");
  };
  CHECK(question(FindGap{3}, std::nullopt) == "shots");
  CHECK(question(NarrowRange{2}, std::nullopt) == "interval");
  CHECK(question(ShowSame{2}, std::nullopt) == "same");
  CHECK(question({}, 5) == "gap");
  CHECK(question(NarrowRange{2}, 5) == "power");
  CHECK(is_null(at(at(Told{made({}, 5)}.data(), "achieved"), "power")));
  CHECK(is_null(at(list_at(Told{made({}, 5)}.data(), "table")[0], "power")));
  Told told{made(FindGap{3})};
  CHECK(number_at(at(told.data(), "achieved"), "power_one_less") == 0.642);
  told.plan.achieved.chance = Chance{0.83, 0.7, 0.004};
  told.plan.achieved.by = ChanceBy::simulation;
  told.plan.question.how.interval = PlannedInterval::welch;
  CHECK(number_at(at(told.data(), "achieved"), "power_worst_phase") == 0.7);
  CHECK(number_at(at(told.data(), "achieved"), "monte_carlo_error") == 0.004);
  CHECK(text_at(at(told.data(), "achieved"), "by") == "simulation");
  CHECK(text_at(told.data(), "method") == "welch");
  told.plan.achieved.by = ChanceBy::quadrature;
  CHECK(text_at(at(told.data(), "achieved"), "by") == "quadrature");
  CHECK(is_null(at(at(told.data(), "achieved"), "monte_carlo_error")));
}

TEST_CASE("plan_data: the larger SD with its confidence where a pilot gave it, and its answer") {
  Told told{.plan = made(FindGap{3}), .sd = pilot()};
  told.plan.question.upper_sd = PlanSds{2.13, 2.13};
  told.plan.at_upper = told.plan.achieved;
  told.plan.at_upper->shots = 9;
  const Data sd = at(told.data(), "sd");
  CHECK(text_at(sd, "origin") == "sheet");
  const Data upper = at(at(told.data(), "sd"), "upper");
  CHECK(keys_of(upper) == Texts{"sd", "confidence", "degrees_of_freedom"});
  CHECK(number_at(upper, "sd") == 2.13);
  CHECK(number_at(upper, "confidence") == 0.8);
  CHECK(number_at(upper, "degrees_of_freedom") == 5);
  CHECK(number_at(at(told.data(), "at_upper_sd"), "shots") == 9);
  told.sd = {.origin = SdOrigin::assumed, .shooter = shooter_named("release")};
  CHECK(text_at(at(told.data(), "sd"), "origin") == "assumed");
  CHECK(is_null(at(at(at(told.data(), "sd"), "upper"), "confidence")));
  told.plan.at_upper = std::nullopt;
  told.plan.upper_out_of_reach = true;
  CHECK(is_null(at(told.data(), "at_upper_sd")));
  CHECK(std::get<bool>(at(told.data(), "upper_sd_out_of_reach").value()));
}

TEST_CASE("plan_data: the order of the shots, with what each is") {
  Told told{made(FindGap{3})};
  PlannedShot warm = shot(1, "A"), check = shot(2, "club bow"), counts = shot(3, "B");
  warm.warm_up = true;
  check.check_standard = true;
  check.round = "start";
  counts.round = "1";
  counts.bow = "B, bow 1";
  counts.arrow = "7";
  told.firing = of({warm, check, counts});
  const Data data = told.data();
  const auto& order = list_at(data, "order");
  REQUIRE(order.size() == 3);
  const auto is = [](const Data& d, const char* key) { return std::get<bool>(at(d, key).value()); };
  CHECK(number_at(order[0], "order") == 1);
  CHECK(is(order[0], "warm_up"));
  CHECK(!is(order[0], "check_standard"));
  CHECK(is_null(at(order[0], "round")));
  CHECK(is_null(at(order[0], "bow")));
  CHECK(text_at(order[1], "setup") == "club bow");
  CHECK(is(order[1], "check_standard"));
  CHECK(text_at(order[1], "round") == "start");
  CHECK(text_at(order[2], "bow") == "B, bow 1");
  CHECK(text_at(order[2], "arrow") == "7");
  CHECK(!is(order[2], "warm_up"));
}
