#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>
#include <optional>
#include <random>
#include <regex>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/narrative/comparison.hpp>
#include <shotassay/studies/compared_setups.hpp>

#include "narrative/reading.hpp"
#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();

Sheet plain_sheet() { return {}; }

ComparedSetup setup(std::string name, const std::vector<std::int64_t>& readings) {
  return {.name = std::move(name), .sample = sample(readings)};
}

/// A comparison of two set-ups whose interval is set here, so that only the words are tested.
Comparison made(std::optional<double> difference, Interval interval, std::optional<double> margin = std::nullopt) {
  Comparison c = compare({setup("14 strands", {190, 192, 191, 194}), setup("18 strands", {191, 193, 190, 195})},
                         {.margin = margin});
  GapOutcome& gap = c.gaps[0];
  gap.difference = difference;
  gap.methods[0].interval = interval;
  gap.verdict = verdict(interval, margin);
  if (margin) gap.position = margin_position(interval, *margin);
  return c;
}

std::string sentence(const Comparison& c, SpeedUnit printed = SpeedUnit::feet_per_second) {
  const Sheet sheet = plain_sheet();
  return blocks_of<Headline>(comparison_document({c, sheet, printed})).at(0).text;
}

/// A sheet read and compared.
struct Told {
  Sheet sheet;
  Comparison comparison;
  SpeedUnit printed = SpeedUnit::feet_per_second;

  explicit Told(const std::string& text, const ComparisonOptions& options = {}, SpeedUnit unit = {},
                const SheetOptions& reading = {})
      : sheet{*read_sheet(text, reading).sheet}, comparison{compare(compared_setups(sheet), options)}, printed{unit} {}

  ComparisonStory story() const { return {comparison, sheet, printed}; }
  std::vector<narrative::Note> notes() const { return comparison_notes(story()); }
  std::vector<std::string> codes() const {
    std::vector<std::string> out;
    for (const auto& note : notes()) out.push_back(note.code);
    return out;
  }
  std::string note(const std::string& code) const {
    std::string out;
    for (const auto& note : notes())
      if (note.code == code) out += (out.empty() ? "" : "\n") + note.text;
    return out;
  }
  Document document() const { return comparison_document(story()); }
};

using Codes = std::vector<std::string>;

std::string rows(const std::string& name, const std::vector<int>& readings, const std::string& more = "") {
  std::string out;
  for (const int r : readings) out += name + "," + std::to_string(r) + more + "\n";
  return out;
}

const std::string header = "setup,speed_fps\n";
const std::string spread_a = rows("A", {191, 193, 190, 192}), spread_b = rows("B", {194, 196, 197, 193});

}  // namespace

TEST_CASE("comparison sentence: faster and slower, without a margin and at each place beside one") {
  CHECK(sentence(made(3.4, {.lower = 2.2, .upper = 4.6})) ==
        "With 18 strands the arrows flew 3.4 fps faster than with 14 strands, give or take 1.2 fps.");
  CHECK(sentence(made(-3.4, {.lower = -4.6, .upper = -2.2})) ==
        "With 18 strands the arrows flew 3.4 fps slower than with 14 strands, give or take 1.2 fps.");
  CHECK(sentence(made(3.4, {.lower = 2.2, .upper = 4.6}, 2)) ==
        "With 18 strands the arrows flew 3.4 fps faster than with 14 strands, give or take 1.2 fps, by more than the "
        "margin of 2 fps.");
  CHECK(sentence(made(3.4, {.lower = 2.2, .upper = 4.6}, 2.5)) ==
        "With 18 strands the arrows flew 3.4 fps faster than with 14 strands, give or take 1.2 fps; whether by more "
        "than the margin of 2.5 fps stays open.");
  CHECK(sentence(made(3.4, {.lower = 2.2, .upper = 4.6}, 5)) ==
        "With 18 strands the arrows flew 3.4 fps faster than with 14 strands, give or take 1.2 fps, by less than the "
        "margin of 5 fps.");
  CHECK(sentence(made(-3.4, {.lower = -4.6, .upper = -2.2}, 5)) ==
        "With 18 strands the arrows flew 3.4 fps slower than with 14 strands, give or take 1.2 fps, by less than the "
        "margin of 5 fps.");
  CHECK(sentence(made(-3.4, {.lower = -4.6, .upper = -2.2}, 2)) ==
        "With 18 strands the arrows flew 3.4 fps slower than with 14 strands, give or take 1.2 fps, by more than the "
        "margin of 2 fps.");
  CHECK(sentence(made(-3.4, {.lower = -4.6, .upper = -2.2}, 3)) ==
        "With 18 strands the arrows flew 3.4 fps slower than with 14 strands, give or take 1.2 fps; whether by more "
        "than the margin of 3 fps stays open.");
}

TEST_CASE("comparison sentence: the same, within a margin that is named") {
  CHECK(sentence(made(0.25, {.lower = -0.4, .upper = 0.9}, 1)) ==
        "With 18 strands and with 14 strands the arrows flew the same within ±1 fps: the gap lies between 0.4 fps "
        "slower and 0.9 fps faster with 18 strands.");
  CHECK(
      sentence(made(0.45, {.lower = 0, .upper = 0.9}, 1)) ==
      "With 18 strands and with 14 strands the arrows flew the same within ±1 fps: the gap lies between no gap at all "
      "and 0.9 fps faster with 18 strands.");
}

TEST_CASE("comparison sentence: open, from one side of 0 to the other, or from 0 itself, or without limit") {
  CHECK(sentence(made(2.05, {.lower = -1.2, .upper = 5.3})) ==
        "These shots do not settle whether 18 strands or 14 strands is faster: 18 strands may be anything from 1.2 fps "
        "slower to 5.3 fps faster.");
  CHECK(sentence(made(2.05, {.lower = -1.2, .upper = 5.3}, 4)) ==
        "These shots do not settle whether 18 strands or 14 strands is faster: 18 strands may be anything from 1.2 fps "
        "slower to 5.3 fps faster.");
  CHECK(sentence(made(1, {.lower = 0, .upper = 2})) ==
        "These shots do not settle whether 18 strands or 14 strands is faster: 18 strands may be anything from no gap "
        "at all to 2.0 fps faster.");
  CHECK(sentence(made(1, {.lower = -no_limit, .upper = no_limit})) ==
        "These shots do not settle whether 18 strands or 14 strands is faster: 18 strands may be anything from any "
        "amount slower to any amount faster.");
}

TEST_CASE("comparison sentence: without an interval it says why") {
  const Comparison c = compare({setup("14 strands", {190, 192}), setup("18 strands", {195})});
  CHECK(sentence(c) == "No range can be given for the gap between 14 strands and 18 strands: 18 strands has one shot.");
}

TEST_CASE("comparison sentence: a limit beside 0 or beside the margin is never written as if it lay on it") {
  const std::string open =
      "These shots do not settle whether 18 strands or 14 strands is faster: 18 strands may be anything from ";
  CHECK(sentence(made(3, {.lower = -0.04, .upper = 6.04})) == open + "0.04 fps slower to 6.0 fps faster.");
  CHECK(sentence(made(3, {.lower = -0.0004, .upper = 6})) == open + "0.0004 fps slower to 6.0 fps faster.");
  CHECK(sentence(made(-0.25, {.lower = -2.04, .upper = 1.54}, 2)) == open + "2.04 fps slower to 1.5 fps faster.");
  CHECK(sentence(made(-0.25, {.lower = -2, .upper = 1.5}, 2)) == open + "2.0 fps slower to 1.5 fps faster.");
  CHECK(sentence(made(-0.23, {.lower = -1.96, .upper = 1.5}, 2)) ==
        "With 18 strands and with 14 strands the arrows flew the same within ±2 fps: the gap lies between 1.96 fps "
        "slower and 1.5 fps faster with 18 strands.");
  // On the wrong side of a margin that has more digits than the limit is given: 2.045 is beyond 2.04, 2.0 is not.
  // 2.045 is 2.04499… in a double, so two decimals would show the margin itself.
  CHECK(sentence(made(-0.25, {.lower = -2.045, .upper = 1.5}, 2.04)) == open + "2.045 fps slower to 1.5 fps faster.");
}

TEST_CASE("comparison sentence: a gap and what is given or taken never add up to 0 or to the margin by rounding") {
  // 3.4 − 3.4 would be 0, and the interval leaves out 0.
  CHECK(sentence(made(3.4, {.lower = 0.04, .upper = 6.76})) ==
        "With 18 strands the arrows flew 3.40 fps faster than with 14 strands, give or take 3.36 fps.");
  // 3.4 + 1.6 would be the margin, and the interval lies inside it.
  CHECK(sentence(made(3.38, {.lower = 1.8, .upper = 4.96}, 5)) ==
        "With 18 strands the arrows flew 3.38 fps faster than with 14 strands, give or take 1.58 fps, by less than the "
        "margin of 5 fps.");
  // Many shots: what is too small for one decimal is written with more.
  const std::string small = sentence(made(0.031, {.lower = 0.011, .upper = 0.051}));
  CHECK(small.find("flew 0.031 fps faster") != std::string::npos);
  CHECK(small.find("give or take 0.020 fps") != std::string::npos);
}

TEST_CASE("comparison sentence: speeds in another unit are converted, the margin too") {
  // 3.4 fps = 1.03632 m/s, 1.2 fps = 0.36576 m/s, 5 fps = 1.524 m/s
  CHECK(sentence(made(3.4, {.lower = 2.2, .upper = 4.6}, 5), SpeedUnit::metres_per_second) ==
        "With 18 strands the arrows flew 1.04 m/s faster than with 14 strands, give or take 0.37 m/s, by less than the "
        "margin of 1.524 m/s.");
  CHECK(sentence(made(2.05, {.lower = -1.2, .upper = 5.3}), SpeedUnit::metres_per_second)
            .find("from 0.37 m/s slower to 1.62 m/s faster") != std::string::npos);
}

TEST_CASE("comparison sentence: names are shown harmless, a name like a formula in quotation marks") {
  const Comparison c = compare({setup("=1+1", {190, 192, 191}), setup("B\u202e", {195})});
  const std::string text = sentence(c);
  CHECK(text == "No range can be given for the gap between “=1+1” and B\\u202e: B\\u202e has one shot.");
}

TEST_CASE("comparison document: what the confidence means is said in tests, for one gap and for a family") {
  const Sheet sheet = plain_sheet();
  const auto said = [&](const Comparison& c) {
    return blocks_of<Paragraph>(comparison_document({c, sheet, SpeedUnit::feet_per_second})).at(0).text;
  };
  const std::vector<ComparedSetup> two{setup("A", {190, 192, 191}), setup("B", {195, 193, 197})};
  CHECK(said(compare(two)) ==
        "A range worked out this way holds the true gap in about 19 of 20 such tests (confidence 95 %).");
  CHECK(said(compare(two, {.level = ConfidenceLevel{0.9}})).find("in about 9 of 10 such tests (confidence 90 %)") !=
        std::string::npos);
  CHECK(said(compare(two, {.level = ConfidenceLevel{0.97333}})).find("in about 97.333 % of such tests") !=
        std::string::npos);
  auto three = two;
  three.push_back(setup("C", {190, 196, 193}));
  CHECK(said(compare(three)) ==
        "All 3 ranges, worked out this way, hold the true gaps together in about 19 of 20 such tests (confidence 95 % "
        "for the family of all pairs).");
}

TEST_CASE("comparison document: scope names what is carried; kinds of bow only by several bows of each") {
  const auto scope = [](const Told& told) {
    std::vector<std::string> out;
    for (const auto& points : blocks_of<Points>(told.document()))
      for (const auto& point : points.points)
        if (!point.lead.empty()) out.push_back(point.lead + ": " + point.text);
    return out;
  };
  const auto two = scope(Told{header + spread_a + spread_b});
  REQUIRE(two.size() == 3);
  CHECK(two[0] ==
        "carried: a range for the gap between A and B as they stood in this test, with these arrows, this archer "
        "and chronograph.");
  // R: hw <- function(k) qt(.975,k-1)*sqrt(2/(k-1))*exp(lgamma(k/2)-lgamma((k-1)/2))/sqrt(k); hw(2)/hw(4) is 4.89
  CHECK(two[1] ==
        "not carried: any other day: that needs the test on 4 days or more. From 2 the range is on average 5 times as "
        "wide as from 4.");
  CHECK(two[2].starts_with("not carried: kinds of bow or bowstring: the gap belongs to the single specimens shot."));
  CHECK(two[2].ends_with("With an SD between specimens that you state, --bow-sd or plan --kinds says how many."));
  const auto one_shot = scope(Told{header + spread_a + "B,195\n"});
  CHECK(one_shot[0] == "carried: the readings themselves, of A and B as they stood in this test; no range for a gap.");
  CHECK(one_shot[2].find("kinds of bow") != std::string::npos);
  const auto some = scope(Told{"setup,speed_fps,bow\nA,191,1\nA,193,2\nA,192,1\nB,195,3\nB,196,3\nB,193,3\n"});
  CHECK(some[2] ==
        "not carried: kinds of bow: all shots are taken together, each counting once, and the range knows shot scatter "
        "only. That needs a second bow of B.");
  const auto bows = scope(Told{"setup,speed_fps,bow\nA,191,1\nA,193,2\nA,192,1\nB,195,3\nB,196,4\nB,193,4\n"});
  REQUIRE(bows.size() == 2);
  CHECK(bows[0] ==
        "carried: a range for the gap between A and B as kinds of bow, as far as the bows were picked at random from "
        "them.");
}

TEST_CASE("comparison document: an open gap is followed by what would settle it, another verdict is not") {
  const auto settles = [](const Told& told) {
    const auto headings = blocks_of<Heading>(told.document());
    return std::any_of(headings.begin(), headings.end(),
                       [](const Heading& h) { return h.text == "What would settle it"; });
  };
  const Told open{header + spread_a + rows("B", {192, 190, 193, 194})};
  REQUIRE(open.comparison.gaps[0].verdict == Verdict::open);
  CHECK(settles(open));
  const auto& gap = open.comparison.gaps[0];
  REQUIRE(gap.next_tests.size() == 1);
  const std::string all = joined(texts_of(open.document()));
  CHECK(all.find("not as evidence about this one") != std::string::npos);
  CHECK(all.find("is found 8 times in 10") != std::string::npos);
  CHECK(all.find("takes about " + std::to_string(*gap.next_tests[0].shots) + " shots with each") != std::string::npos);
  const Told far{header + spread_a + rows("B", {221, 223, 220, 222})};
  REQUIRE(far.comparison.gaps[0].verdict == Verdict::faster);
  CHECK(!settles(far));
  const Told single{header + spread_a + "B,195\n"};
  CHECK(settles(single));
  CHECK(joined(texts_of(single.document())).find("wo or more shots with each set-up; three or more are better.") !=
        std::string::npos);
}

TEST_CASE("comparison document: where the display decides, no gap is promised to be found by shots like these") {
  const Told told{header + rows("A", {271, 271, 271}) + rows("B", {272, 272, 272})};
  REQUIRE(told.comparison.gaps[0].verdict == Verdict::open);
  const std::string all = joined(texts_of(told.document()));
  CHECK(all.find("the display is the limit") != std::string::npos);
  CHECK(all.find("is found 8 times") == std::string::npos);
}

TEST_CASE("comparison document: four set-ups have their open pairs listed in one sentence") {
  const Told told{header + spread_a + rows("B", {192, 190, 193, 194}) + rows("C", {191, 190, 193, 193}) +
                  rows("D", {241, 243, 240, 242})};
  const auto headlines = blocks_of<Headline>(told.document());
  REQUIRE(headlines.size() == 4);  // three gaps with D, and the open ones together
  CHECK(headlines.back().text == "Which is faster stays open for 3 pairs: B or A, C or A and C or B.");
  CHECK(headlines.back().tone == Tone::open);
  CHECK(headlines[0].tone == Tone::resolved);
}

TEST_CASE("comparison document: whatever the readings, no −0.0, no \"no difference\", no numbers that are none") {
  std::mt19937_64 random{1};
  const Sheet sheet = plain_sheet();
  int verdicts[4] = {};
  for (int i = 0; i < 600; ++i) {
    const auto spread = static_cast<std::int64_t>(std::vector<int>{1, 2, 3, 8}[random() % 4]);
    std::vector<ComparedSetup> setups;
    for (const char* name : {"A", "B", "C"}) {
      std::vector<std::int64_t> readings;
      for (auto n = (random() % 8 == 0 ? 1 : 2) + random() % 5; n > 0; --n)
        readings.push_back(190 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(spread)));
      if (random() % 3 == 0)
        for (auto& r : readings) r += 6;
      setups.push_back(setup(name, readings));
      if (setups.size() == 2 && i % 2 == 0) break;
    }
    const std::optional<double> margin =
        i % 3 == 0 ? std::nullopt : std::optional{0.5 * static_cast<double>(1 + random() % 16)};
    const Comparison c = compare(setups, {.margin = margin, .methods = {Method::welch, Method::permutation}});
    const auto document =
        comparison_document({c, sheet, i % 5 == 0 ? SpeedUnit::metres_per_second : SpeedUnit::feet_per_second});
    const std::string all = joined(texts_of(document));
    CAPTURE(all);
    static const std::regex minus_zero{"(−|-)0(\\.0+)?([^0-9.]|$)"};
    CHECK(!std::regex_search(all, minus_zero));
    CHECK(all.find("no difference") == std::string::npos);
    CHECK(all.find("nan") == std::string::npos);
    CHECK(all.find(" inf") == std::string::npos);
    CHECK(all.find("kinds of bow") != std::string::npos);
    const auto headlines = blocks_of<Headline>(document);
    for (std::size_t k = 0; k < headlines.size(); ++k) {
      const GapOutcome& gap = c.gaps[k];
      ++verdicts[static_cast<int>(gap.verdict)];
      const bool says_same = headlines[k].text.find("the same within ±") != std::string::npos;
      CHECK(says_same == (gap.verdict == Verdict::same));
      if (says_same) CHECK(margin.has_value());
      const bool says_side = headlines[k].text.find("the arrows flew") != std::string::npos && !says_same;
      CHECK(says_side == (gap.verdict == Verdict::faster || gap.verdict == Verdict::slower));
      CHECK(headlines[k].text.find("flew 0.0 ") == std::string::npos);
      CHECK(headlines[k].text.find("give or take 0.0 ") == std::string::npos);
      CHECK(headlines[k].text.find("anything from 0.0 ") == std::string::npos);
    }
  }
  for (const int n : verdicts) CHECK(n > 10);
}

TEST_CASE("comparison notes: a plain sheet has one, on its display") {
  CHECK(Told{header + spread_a + spread_b}.codes() == Codes{"display_from_decimals"});
  CHECK(Told{header + spread_a + spread_b}.note("display_from_decimals") ==
        "The display is taken to show steps of 1 fps, the last decimal written.");
  CHECK(Told{"# display: 1\n" + header + spread_a + spread_b}.codes() == Codes{"display_from_sheet"});
  CHECK(Told{header + spread_a + spread_b, {}, {}, {.display = Decimal{5, 1}}}.note("display_from_option") ==
        "The display shows steps of 0.5 fps, as asked.");
}

TEST_CASE("comparison notes: unit assumed, unit converted") {
  // A wide sheet names no unit.
  const Told wide{"A,B\n191,194\n193,196\n190,197\n192,193\n"};
  CHECK(wide.codes() == Codes{"unit_assumed", "display_from_decimals"});
  const Told converted{header + spread_a + spread_b, {}, SpeedUnit::metres_per_second};
  CHECK(converted.codes() == Codes{"unit_converted", "display_from_decimals"});
  CHECK(converted.note("unit_converted") == "The sheet is in fps; speeds are shown in m/s.");
}

TEST_CASE("comparison notes: what a sheet holds and the comparison does not use") {
  const Told columns{"setup,speed_fps,wind,fletching\nA,191,,\nA,193,,\nA,190,,\nB,194,,\nB,196,,\nB,197,,\n"};
  CHECK(columns.codes() == Codes{"display_from_decimals", "unknown_columns"});
  CHECK(columns.note("unknown_columns") ==
        "Not used, for their names mean nothing to a shot sheet: columns wind and fletching.");
  const Told lines{"# weather: dry\n# just a remark\n" + header + spread_a + spread_b};
  CHECK(lines.codes() == Codes{"display_from_decimals", "unknown_lines"});
  CHECK(lines.note("unknown_lines").find("line 1 (weather)") != std::string::npos);
  const Told rounds{
      "setup,speed_fps,round,session\nA,191,1,1\nA,193,1,1\nA,190,2,2\nB,194,3,3\nB,196,4,4\nB,197,4,4\n"};
  CHECK(rounds.codes() == Codes{"display_from_decimals", "rounds_not_used", "sessions_not_used"});
}

TEST_CASE("comparison notes: every excluded shot is told, with its reading, place and reason") {
  const Told told{
      "setup,speed_fps,excluded\nA,191,\nA,193,\nA,140,\"hit the \"\"lip\"\"\"\nB,194,\nB,196,\nB,197,\nA,190,\n"};
  CHECK(told.codes() == Codes{"display_from_decimals", "excluded_shot"});
  CHECK(told.note("excluded_shot") == "Left out of A: 140 on line 4, \"hit the \"lip\"\".");
  // Not told where its set-up is not compared.
  const Sheet sheet =
      *read_sheet("setup,speed_fps,excluded\nA,191,\nA,193,\nB,194,\nB,196,\nC,196,wind\nC,197,\n").sheet;
  const Comparison c = compare(choose(compared_setups(sheet), {"A", "B"}));
  for (const auto& note : comparison_notes({c, sheet, SpeedUnit::feet_per_second})) CHECK(note.code != "excluded_shot");
}

TEST_CASE("comparison notes: set-ups without shots, with one, with equal ones") {
  const Told none{"setup,speed_fps,excluded\nA,191,\nA,193,\nA,190,\nB,194,wind\n"};
  CHECK(none.codes() == Codes{"display_from_decimals", "excluded_shot", "no_shots", "no_interval"});
  CHECK(none.note("no_shots") == "B has no shot left: every one is excluded.");
  const Told one{header + spread_a + "B,195\n"};
  CHECK(one.codes() == Codes{"display_from_decimals", "one_shot", "no_interval"});
  CHECK(one.note("no_interval") == "rounding_aware: B has one shot");
  const Told equal{header + rows("A", {271, 271, 271}) + rows("B", {274, 274, 274})};
  CHECK(equal.codes() == Codes{"display_from_decimals", "all_equal", "display_limits"});
  CHECK(equal.note("all_equal") ==
        "All readings are equal with A and B: the scatter is too small for this display, not 0. The range allows for "
        "that.");
}

TEST_CASE("comparison notes: a pair of shots beside a larger group, and only then") {
  const Told pair{header + rows("A", {191, 194}) + spread_b};
  CHECK(pair.codes() == Codes{"display_from_decimals", "two_shots"});
  CHECK(pair.note("two_shots") ==
        "A has two shots beside B with 4: the range may be too short, and a third shot mends it.");
  CHECK(Told{header + rows("A", {191, 194}) + rows("B", {195, 198})}.codes() == Codes{"display_from_decimals"});
  CHECK(Told{header + rows("A", {191, 194, 197}) + spread_b}.codes() == Codes{"display_from_decimals"});
}

TEST_CASE("comparison notes: a family, with equal and unequal numbers of shots, and Holm's rule where it disagrees") {
  const Told three{header + spread_a + spread_b + rows("C", {191, 195, 192, 196})};
  CHECK(three.codes() == Codes{"display_from_decimals", "family"});
  CHECK(three.note("family").find("all 3 pairs of the 3 set-ups") != std::string::npos);
  const Told unequal{header + spread_a + spread_b + rows("C", {191, 195, 192})};
  CHECK(unequal.codes() == Codes{"display_from_decimals", "family", "family_unequal_shots"});
  Told disagrees = three;
  disagrees.comparison.gaps[1].holm_disagrees = true;
  CHECK(disagrees.note("holm_disagrees") ==
        "C against A: the range and Holm's p fall on different sides of the error rate; the range decides.");
  // A set-up of one shot makes no family.
  CHECK(Told{header + spread_a + spread_b + "C,195\n"}.note("family").empty());
}

TEST_CASE("comparison notes: methods asked for that have no answer, no finite limit, or only drawn resamples") {
  const Told none{header + rows("A", {271, 271, 271}) + rows("B", {274, 274, 274}), {.methods = {Method::welch}}};
  CHECK(none.note("no_interval") == "welch: both SDs are 0, so no width can be computed");
  CHECK(none.note("tight_readings").starts_with("welch: the readings of both set-ups span one display step or less"));
  // Every resample that draws one of two shots twice has SD 0, so the studentised law has infinite values.
  const Told infinite{header + rows("A", {271, 274}) + rows("B", {275, 279}), {.methods = {Method::bootstrap_t}}};
  CHECK(infinite.note("no_finite_limit").find("bootstrap_t: these readings give no finite limit") != std::string::npos);
  const Told drawn{header + spread_a + spread_b,
                   {.methods = {Method::bootstrap_percentile}, .sampled = MonteCarlo{.resamples = 1000, .seed = 3}}};
  CHECK(drawn.note("monte_carlo").find("1000 random resamples, not the exact law") != std::string::npos);
  CHECK(Told{header + spread_a + spread_b, {.methods = {Method::bootstrap_percentile}}}.note("monte_carlo").empty());
}

TEST_CASE("comparison notes: what a method asked for is worth at these shots, each method once") {
  const Told told{header + spread_a + spread_b + rows("C", {191, 194, 192, 193}),
                  {.methods = {Method::welch, Method::permutation}}};
  const std::string note = told.note("coverage");
  CHECK(!note.empty());
  // docs/methods/rounding_aware.md: 4 shots are nearest to 5, SDs of 1.3 to 1.8 steps to 1 or 2.
  CHECK(note.find("5 with each set-up") != std::string::npos);
  for (const std::string& line : {note.substr(0, note.find('\n'))}) {
    CHECK(line.find("welch") != std::string::npos);
    CHECK(line.find("welch", line.find("welch") + 1) == std::string::npos);
  }
  CHECK(Told{header + spread_a + spread_b}.note("coverage").empty());
  CHECK(Told{header + rows("A", {191, 194}) + rows("B", {195, 198}), {.methods = {Method::welch}}}
            .note("coverage")
            .empty());
}

TEST_CASE("comparison notes: tight readings under a method that does not know of rounding, and not under the default") {
  const Told tight{header + rows("A", {271, 272, 271}) + spread_b, {.methods = {Method::welch}}};
  CHECK(tight.note("tight_readings").starts_with("welch: the readings of one set-up span one display step or less"));
  CHECK(Told{header + rows("A", {271, 272, 271}) + spread_b}.note("tight_readings").empty());
  CHECK(Told{header + spread_a + spread_b, {.methods = {Method::welch}}}.note("tight_readings").empty());
}

TEST_CASE("comparison notes: codes are those that programs may rely on, and every note reaches the reader") {
  const Told told{header + rows("A", {271, 271, 271}) + rows("B", {274, 275, 274, 274}) + "C,280\n",
                  {.margin = 2.0, .methods = {Method::welch, Method::bootstrap_t}}};
  const auto texts = texts_of(told.document());
  for (const auto& note : told.notes()) {
    CHECK(!note.code.empty());
    CHECK(std::all_of(note.code.begin(), note.code.end(), [](char c) { return (c >= 'a' && c <= 'z') || c == '_'; }));
    CHECK(std::find(texts.begin(), texts.end(), note.text) != texts.end());
  }
}

TEST_CASE("comparison_data: the keys of the contract, in order") {
  const Told told{header + spread_a + spread_b + "C,199\n", {.margin = 2.0, .methods = {Method::welch}}};
  const Data data = comparison_data(told.story());
  CHECK(keys_of(data) == Codes{"unit", "display_step", "confidence", "setups", "gaps", "drift", "plan", "history"});
  CHECK(is_null(at(data, "drift")));
  CHECK(is_null(at(data, "plan")));
  CHECK(is_null(at(data, "history")));
  CHECK(text_at(data, "unit") == "fps");
  CHECK(number_at(data, "display_step") == 1);
  CHECK(number_at(data, "confidence") == 0.95);

  const auto& setups = list_at(data, "setups");
  REQUIRE(setups.size() == 3);
  const Codes setup_keys{"name", "shots",  "excluded",  "bows",     "mean",    "sd",    "min",
                         "max",  "spread", "all_equal", "interval", "methods", "budget"};
  for (const Data& s : setups) CHECK(keys_of(s) == setup_keys);
  CHECK(text_at(setups[0], "name") == "A");
  CHECK(number_at(setups[0], "shots") == 4);
  CHECK(number_at(setups[0], "mean") == 191.5);
  CHECK(number_at(setups[0], "sd") == digits(std::sqrt(5.0 / 3.0), 14));  // 191.5: deviations ½, 1½, 1½, ½
  CHECK(number_at(setups[0], "min") == 190);
  CHECK(number_at(setups[0], "max") == 193);
  CHECK(number_at(setups[0], "spread") == 3);
  CHECK(keys_of(at(setups[0], "interval")) == Codes{"method", "lower", "upper", "level"});
  CHECK(is_null(at(setups[2], "sd")));
  CHECK(is_null(at(setups[2], "interval")));

  const auto& gaps = list_at(data, "gaps");
  REQUIRE(gaps.size() == 3);
  const Codes gap_keys{"from",           "to",           "difference", "verdict",      "interval", "margin",
                       "methods",        "detectable",   "next_tests", "next_bows",    "any_day",  "blocking",
                       "tipping_bow_sd", "stated_kinds", "influence",  "equal_setups", "budget",   "scope"};
  for (const Data& g : gaps) CHECK(keys_of(g) == gap_keys);
  CHECK(text_at(gaps[0], "from") == "A");
  CHECK(text_at(gaps[0], "to") == "B");
  CHECK(number_at(gaps[0], "difference") == 3.5);
  CHECK(text_at(at(gaps[0], "interval"), "method") == "rounding_aware");
  CHECK(keys_of(at(gaps[0], "margin")) == Codes{"size", "position"});
  CHECK(keys_of(at(gaps[0], "detectable")) == Codes{"power", "gap"});
  CHECK(keys_of(at(gaps[0], "scope")) == Codes{"carried", "not_carried", "needs"});
  const auto& methods = list_at(gaps[0], "methods");
  REQUIRE(methods.size() == 2);
  CHECK(keys_of(methods[0]) == Codes{"method", "lower", "upper", "level", "difference", "standard_error",
                                     "degrees_of_freedom", "p_two_sided", "p_equivalence"});
  CHECK(keys_of(methods[1]) == Codes{"method", "lower", "upper", "level", "difference", "standard_error",
                                     "degrees_of_freedom", "t", "p_two_sided", "p_equivalence"});
  // No interval: nulls, and the words that say why stand in the notes.
  CHECK(is_null(at(gaps[1], "interval")));
  CHECK(is_null(at(at(gaps[1], "margin"), "position")));
  CHECK(is_null(at(gaps[1], "detectable")));
  CHECK(text_at(at(gaps[1], "scope"), "carried") == "readings");
  CHECK(text_at(gaps[1], "verdict") == "open");
}

TEST_CASE("comparison_data: scope of one bow each never carries kinds of bow, and says what would") {
  for (const Told& told : {Told{header + spread_a + spread_b}, Told{header + spread_a + "B,195\n"},
                           Told{header + rows("A", {271, 271}) + rows("B", {272, 272})}}) {
    const Data data = comparison_data(told.story());
    const Data& scope = at(list_at(data, "gaps")[0], "scope");
    bool kinds = false, bows = false;
    for (const Data& name : list_at(scope, "not_carried"))
      kinds = kinds || std::get<std::string>(name.value()) == "kinds_of_bow";
    for (const Data& need : list_at(scope, "needs")) bows = bows || text_at(need, "code") == "several_bows";
    CHECK(kinds);
    CHECK(bows);
    CHECK(text_at(scope, "carried") != "kinds_of_bow");
  }
}

TEST_CASE("comparison_data: an infinite limit is null and has its note; without a margin there is none") {
  const Told told{header + rows("A", {271, 274}) + rows("B", {275, 279}), {.methods = {Method::bootstrap_t}}};
  const Data data = comparison_data(told.story());
  const auto& gap = list_at(data, "gaps")[0];
  CHECK(is_null(at(gap, "margin")));
  const auto& method = list_at(gap, "methods")[1];
  CHECK((is_null(at(method, "lower")) || is_null(at(method, "upper"))));
  CHECK(!told.note("no_finite_limit").empty());
}

TEST_CASE("comparison_data: speeds are in the unit printed, what has none is not touched") {
  const Told fps{header + spread_a + spread_b, {.margin = 2.0, .methods = {Method::welch}}};
  const Told mps{
      header + spread_a + spread_b, {.margin = 2.0, .methods = {Method::welch}}, SpeedUnit::metres_per_second};
  const Data f = comparison_data(fps.story()), m = comparison_data(mps.story());
  CHECK(text_at(m, "unit") == "m/s");
  const auto scaled = [](const Data& a, const Data& b, const std::string& key) {
    CHECK(number_at(b, key) == digits(0.3048 * number_at(a, key), 14));
  };
  scaled(f, m, "display_step");
  const auto &g = list_at(f, "gaps")[0], &h = list_at(m, "gaps")[0];
  scaled(g, h, "difference");
  scaled(at(g, "margin"), at(h, "margin"), "size");
  scaled(at(g, "detectable"), at(h, "detectable"), "gap");
  const auto &v = list_at(g, "methods")[1], &w = list_at(h, "methods")[1];
  for (const char* key : {"lower", "upper", "standard_error"}) scaled(v, w, key);
  for (const char* key : {"level", "degrees_of_freedom", "t", "p_two_sided", "p_equivalence"})
    CHECK(number_at(v, key) == number_at(w, key));
  for (const char* key : {"mean", "sd", "min", "max", "spread"})
    scaled(list_at(f, "setups")[0], list_at(m, "setups")[0], key);
}

namespace {

/// Three bows of each kind, two shots with each; averages by hand: A 191, 193, 192, B 187, 188, 186.
const std::string six_bows =
    "setup,bow,speed_fps\nA,1,190\nA,1,192\nA,2,193\nA,2,193\nA,3,191\nA,3,193\nB,4,187\nB,4,187\nB,5,188\nB,5,188\n"
    "B,6,185\nB,6,187\n";

}  // namespace

TEST_CASE("comparison document: with several bows of each kind the verdict speaks of the kinds and rests on the bows") {
  // Bow averages 191, 193, 192 and 187, 188, 186: spread 1 with 4 degrees of freedom, SE √(2/3) = 0.8165,
  // t(0.975; 4) = 2.776445: −5 ± 2.2670.
  const Told told{six_bows};
  const Data data = comparison_data(told.story());
  const Data& gap = list_at(data, "gaps")[0];
  CHECK(number_at(gap, "difference") == -5);
  CHECK(text_at(at(gap, "interval"), "method") == "bow_means");
  CHECK(number_at(at(gap, "interval"), "lower") == within(-5 - 2.776445 * std::sqrt(2.0 / 3.0), 1e-5));
  CHECK(text_at(gap, "verdict") == "slower");
  CHECK(text_at(at(gap, "scope"), "carried") == "kinds_of_bow");
  CHECK(blocks_of<Headline>(told.document())[0].text ==
        "With B the arrows flew 5.0 fps slower than with A, give or take 2.3 fps.");
  CHECK(joined(texts_of(told.document()))
            .find("The range speaks of the kinds: it rests on the averages of 3 and 3 bows, each bow counting once.") !=
        std::string::npos);
}

TEST_CASE(
    "comparison document: where bows decide, each stands with its shots and its average, and no shots without bows") {
  const Told told{six_bows};
  CHECK(blocks_of<ShotFigure>(told.document()).empty());
  const auto figures = blocks_of<BowFigure>(told.document());
  REQUIRE(figures.size() == 1);
  REQUIRE(figures[0].kinds.size() == 2);
  const std::vector<std::vector<double>> averages{{191, 193, 192}, {187, 188, 186}};
  for (std::size_t k = 0; k < 2; ++k) {
    const auto& kind = figures[0].kinds[k];
    REQUIRE(kind.bows.size() == 3);
    for (std::size_t b = 0; b < 3; ++b) {
      CHECK(kind.bows[b].mean == averages[k][b]);
      CHECK(kind.bows[b].steps.size() == 2);
    }
    CHECK_FALSE(kind.interval);
  }
  CHECK(figures[0].kinds[0].mean == 192);
  CHECK(figures[0].kinds[0].label == "A");
  CHECK(blocks_of<BowFigure>(Told{header + spread_a + spread_b}.document()).empty());
}

namespace {

/// Entries of docs/bibliography.md, without what makes them slanted.
std::vector<std::string> bibliography() {
  std::ifstream file{std::string{SHOTASSAY_SOURCE_DIR} + "/docs/bibliography.md"};
  REQUIRE(file);
  std::vector<std::string> entries;
  for (std::string line; std::getline(file, line);) {
    const auto text = line.find("]** ");
    if (text == std::string::npos) continue;
    line.erase(0, text + 4);
    std::erase(line, '*');
    entries.push_back(line);
  }
  return entries;
}

std::vector<std::string> under(const Document& document, const std::string& heading) {
  for (std::size_t i = 0; i + 1 < document.blocks.size(); ++i) {
    const auto* title = std::get_if<Heading>(&document.blocks[i]);
    if (!title || title->text != heading) continue;
    std::vector<std::string> texts;
    for (const auto& point : std::get<Points>(document.blocks[i + 1]).points)
      texts.push_back(point.lead.empty() ? point.text : point.lead + ": " + point.text);
    return texts;
  }
  return {};
}

}  // namespace

TEST_CASE("comparison page: every method that it shows is explained once, its sources are those of the bibliography") {
  ComparisonOptions all{.margin = 2.0, .bow_sd = 1.0};
  for (const MethodName& m : method_names)
    if (m.method < Method::round_paired) all.methods.push_back(m.method);
  auto by_bows = all;
  by_bows.bow_sd = {};
  by_bows.methods.insert(by_bows.methods.end(), {Method::bow_means_welch, Method::mixed});
  const std::string third = rows("C", {190, 192, 195, 191});
  const auto known = bibliography();
  REQUIRE(known.size() > 20);
  std::set<std::string> explained, said;
  for (const Told& told : {Told{header + spread_a + spread_b, all}, Told{six_bows, by_bows},
                           Told{header + spread_a + spread_b + third, all}}) {
    const Document page = comparison_page(told.story());
    const auto sources = under(page, "Sources");
    REQUIRE(!sources.empty());
    CHECK(std::set<std::string>(sources.begin(), sources.end()).size() == sources.size());
    for (const auto& source : sources) {
      CAPTURE(source);
      CHECK(std::find(known.begin(), known.end(), source) != known.end());
      said.insert(source);
    }
    std::set<std::string> here;
    for (const auto& text : under(page, "How this was worked out")) {
      CHECK(here.insert(text.substr(0, text.find(':'))).second);
      CHECK(text.ends_with(")"));  // its sources
      // What is named in brief is named in full below.
      for (const auto& year : {"1908", "1947"})
        if (text.find(year) != std::string::npos)
          CHECK(std::any_of(sources.begin(), sources.end(),
                            [&](const auto& s) { return s.find(year) != std::string::npos; }));
    }
    for (const GapOutcome& gap : told.comparison.gaps)
      for (const MethodOutcome& m : gap.methods) CHECK((!m.interval || here.count(std::string{name(m.method)}) == 1));
    explained.insert(here.begin(), here.end());
  }
  for (const MethodName& m : method_names)
    if (m.method != Method::round_paired && m.method != Method::session_gaps && m.method != Method::moderated)
      CHECK(explained.count(std::string{m.name}) == 1);
  CHECK(explained.count("Holm's p") == 1);
  CHECK(explained.count("the same within the margin") == 1);
}

TEST_CASE("comparison page: somebody who is told to shoot is told how to do it safely, another is not") {
  const auto cautioned = [](const Told& told) {
    return !under(comparison_page(told.story()), "Before you shoot").empty();
  };
  const Told open{header + rows("A", {191, 193, 190, 192}) + rows("B", {190, 193, 191, 189})};
  CHECK(cautioned(open));
  CHECK_FALSE(cautioned(Told{header + rows("A", {191, 193, 190, 192}) + rows("B", {201, 203, 200, 202})}));
  CHECK(under(open.document(), "Before you shoot").empty());
}

TEST_CASE("comparison page: the sheet is whole: every row in firing order, as written, with why it does not count") {
  const Told told{
      "# title: Two strings\n# archer: A. N.\n# check standard: ref\nsetup,order,round,speed_fps,excluded,note\n"
      "A,2,1,191.0,,\nB,1,1,195.5,,gusty\nA,3,2,193.0,,\nB,4,2,,string came off,\nA,5,3,192.0,arrow <b>,\n"
      "B,6,3,196.0,,\nref,7,,200.0,,\nC,8,,190.0,,\nC,9,,191.0,,\n"};
  Comparison two = compare(choose(compared_setups(told.sheet), {"A", "B"}));
  const Document page = comparison_page({two, told.sheet, told.printed});
  CHECK(under(page, "The sheet, as read") == Codes{"title: Two strings", "archer: A. N.", "display step: 0.1 fps"});
  const Table table = blocks_of<Table>(page).back();
  Codes titles;
  for (const auto& column : table.columns) titles.push_back(column.title);
  CHECK(titles == Codes{"shot", "set-up", "round", "reading, fps", "not counted", "note"});
  CHECK(table.rows == std::vector<Codes>{{"1", "B", "1", "195.5", "", "gusty"},
                                         {"2", "A", "1", "191.0", "", ""},
                                         {"3", "A", "2", "193.0", "", ""},
                                         {"4", "B", "2", "", "left out: string came off", ""},
                                         {"5", "A", "3", "192.0", "left out: arrow <b>", ""},
                                         {"6", "B", "3", "196.0", "", ""},
                                         {"7", "ref", "", "200.0", "check standard", ""},
                                         {"8", "C", "", "190.0", "set-up not compared here", ""},
                                         {"9", "C", "", "191.0", "set-up not compared here", ""}});
}

TEST_CASE("comparison page: of a sheet too long to be read it has the first rows, and says so") {
  std::string text = header;
  for (int i = 0; i < 1001; ++i) text += "A,191\nB,19" + std::to_string(3 + i % 2) + "\n";
  const Document page = comparison_page(Told{text}.story());
  CHECK(blocks_of<Table>(page).back().rows.size() == 2000);
  const auto texts = texts_of(page);
  CHECK(std::find(texts.begin(), texts.end(), "The first 2000 of 2002 rows.") != texts.end());
}

TEST_CASE("comparison document: open kinds name bows, not shots, that would settle it") {
  const Told told{"setup,bow,speed_fps\nA,1,190\nA,2,194\nB,3,189\nB,4,193\n"};
  const std::string all = joined(texts_of(told.document()));
  CHECK(all.find("These bows do not settle whether B or A is faster") != std::string::npos);
  // Spread √8 = 2.83. R: n <- 2; while (power.t.test(n=n, delta=1, sd=sqrt(8), strict=TRUE)$power < .8) n <- n+1; 127
  CHECK(all.find("If bows differ as these did, 125 more bows of each kind (127 in all), 1 shot with each, find a true "
                 "gap of 1.0 fps 8 times in 10.") != std::string::npos);
  CHECK(all.find("counting once.") != std::string::npos);
}

TEST_CASE("comparison document: bows of unequal shots are said to count once each, and how many shots they had") {
  const Told told{"setup,bow,speed_fps\nA,1,190\nA,1,191\nA,1,192\nA,2,194\nB,3,189\nB,4,193\nB,4,194\n"};
  CHECK(joined(texts_of(told.document()))
            .find("averages of 2 and 2 bows, each bow counting once, whatever its shots: 1 to 3 of them.") !=
        std::string::npos);
  const Data data = comparison_data(told.story());
  const Data& bows = at(list_at(list_at(data, "gaps")[0], "methods")[0], "replicates");
  CHECK(number_at(bows, "least_shots") == 1);
  CHECK(number_at(bows, "most_shots") == 3);
}

TEST_CASE("comparison document: with a margin open kinds name the bows for both gaps and for sameness") {
  // Spread √8. R: 9 for a gap of 4, by power.t.test as above; for sameness within 4 by integral (scope_test.cpp): 11.
  const Told told{"setup,bow,speed_fps\nA,1,190\nA,2,194\nB,3,189\nB,4,193\n", {.margin = 4.0}};
  const std::string all = joined(texts_of(told.document()));
  CHECK(all.find("If bows differ as these did, 7 more bows of each kind (9 in all), 1 shot with each, find a true gap "
                 "of 4.0 fps 8 times in 10; 125 more (127 in all) one of 1.0 fps; ") != std::string::npos);
  CHECK(all.find(" show the two to lie within ±4 fps of each other if they do not differ.") != std::string::npos);
}

TEST_CASE("comparison document: a gap that the display hides asks for a smaller step, and names no number of shots") {
  const Told told{header + rows("A", {271, 271, 271, 272}) + rows("B", {272, 271, 271, 271, 272}), {.margin = 0.3}};
  REQUIRE(told.comparison.gaps[0].verdict == Verdict::open);
  const std::string all = joined(texts_of(told.document()));
  CHECK(all.find("A true gap of 0.3 fps takes a smaller display step, for this one hides much of it, or many shots") !=
        std::string::npos);
  CHECK(all.find("within ±0.3 fps of each other takes a smaller display step, ") != std::string::npos);
  const Data data = comparison_data(told.story());
  const Data& need = list_at(at(list_at(data, "gaps")[0], "scope"), "needs")[0];
  CHECK(text_at(need, "code") == "finer_display");
  CHECK(text_at(need, "text") ==
        "a chronograph that shows a smaller step, to find a true gap of 0.3 fps 8 times in 10");
}

TEST_CASE("comparison document: an open gap with a margin names the shots for sameness as well") {
  const Told told{header + spread_a + rows("B", {192, 190, 193, 194}), {.margin = 2.0}};
  REQUIRE(told.comparison.gaps[0].verdict == Verdict::open);
  const auto& needs = told.comparison.gaps[0].needs;
  const auto same = std::find_if(needs.begin(), needs.end(), [](const Need& n) { return n.same_within.has_value(); });
  REQUIRE(same != needs.end());
  CHECK(joined(texts_of(told.document()))
            .find("To show that two which do not differ lie within ±2 fps of each other takes about " +
                  std::to_string(*same->shots) + " shots with each") != std::string::npos);
}

TEST_CASE("comparison_data: each need has its numbers, null where there are none") {
  const Codes keys{"code",  "text", "claim",     "gap",      "same_within",  "power",
                   "shots", "bows", "more_bows", "sessions", "more_sessions"};
  const Told told{header + spread_a + rows("B", {192, 190, 193, 194}), {.margin = 2.0}};
  const Data data = comparison_data(told.story());
  const auto& needs = list_at(at(list_at(data, "gaps")[0], "scope"), "needs");
  Codes codes;
  for (const Data& need : needs) {
    CHECK(keys_of(need) == keys);
    codes.push_back(text_at(need, "code"));
  }
  CHECK(codes == Codes{"more_shots", "more_shots", "more_shots", "several_days", "several_bows"});
  CHECK(number_at(needs[0], "gap") == 2);
  CHECK(number_at(needs[0], "power") == 0.8);
  CHECK(is_null(at(needs[0], "same_within")));
  CHECK(text_at(needs[0], "claim") == "setups_today");
  CHECK(text_at(needs[0], "text") == std::to_string(static_cast<int>(number_at(needs[0], "shots"))) +
                                         " shots with each set-up find a true gap of 2.0 fps 8 times in 10");
  CHECK(number_at(needs[1], "gap") == 1);
  CHECK(is_null(at(needs[2], "gap")));
  CHECK(number_at(needs[2], "same_within") == 2);
  CHECK(number_at(needs[3], "sessions") == 4);
  CHECK(number_at(needs[3], "more_sessions") == 3);
  CHECK(is_null(at(needs[3], "power")));
  CHECK(is_null(at(needs[4], "bows")));
  CHECK(text_at(needs[4], "claim") == "kinds_of_bow");
}

TEST_CASE("comparison notes: rounds that both set-ups share are used, and what they gained or cost is told") {
  const Told told{"setup,round,speed_fps\nA,1,191\nB,1,188\nB,2,187\nA,2,190\nA,3,193\nB,3,190\n"};
  CHECK(told.codes() == Codes{"display_from_decimals", "rounds"});
  CHECK(told.note("rounds").starts_with("Round by round, 3 rounds, the gap is −3.0 fps, from "));
  CHECK(told.note("rounds").find("The rounds gained: ±") != std::string::npos);
}

TEST_CASE("comparison notes: the drift over the firing order, and what another order would have made of it") {
  // One step down a shot within each set-up: orders 1, 4 and 2, 3 of readings 194, 191 and 190, 189.
  const Told told{"order,setup,speed_fps\n1,A,194\n2,B,190\n3,B,189\n4,A,191\n"};
  CHECK(told.note("drift").starts_with("Over the firing order the readings drift by −1.00 fps a shot, from "));
  CHECK(told.note("drift").find("In the order shot that adds 0.00 fps to the gap; had all shots with A come before all "
                                "with B, it would have added −2.00 fps.") != std::string::npos);
}

TEST_CASE("comparison document: sessions carry any other day, or say that they do not") {
  const Told two{
      "setup,session,speed_fps\nA,sat,191\nA,sat,193\nB,sat,187\nB,sat,188\nA,sun,190\nA,sun,192\nB,sun,188\n"
      "B,sun,189\n"};
  const std::string all = joined(texts_of(two.document()));
  CHECK(all.find("any other day: one gap a session, 2 sessions: from ") != std::string::npos);
  CHECK(all.find("so it stays open for other days. If days differ as these did, ") != std::string::npos);
  CHECK(all.find(" 8 times in 10. So few know little of how days differ.") != std::string::npos);
  const Data data = comparison_data(two.story());
  CHECK(text_at(list_at(data, "gaps")[0], "any_day") == "open");
}

TEST_CASE("comparison document: the tipping SD between specimens, and what a stated one makes of the kinds") {
  const Told told{header + rows("A", {191, 192, 190, 193}) + rows("B", {187, 186, 188, 187}), {.bow_sd = 2.5}};
  const Data data = comparison_data(told.story());
  const Data& gap = list_at(data, "gaps")[0];
  const double u = number_at(list_at(gap, "methods")[0], "standard_error"), z = 1.959963984540054;
  // |gap| = z·√(2σ_b² + u²), solved for σ_b.
  const double tipping = std::sqrt(((4.5 / z) * (4.5 / z) - u * u) / 2.0);
  CHECK(number_at(gap, "tipping_bow_sd") == within(tipping, 1e-9));
  const std::string all = joined(texts_of(told.document()));
  CHECK(all.find("Were the SD between specimens of one kind 1.5 fps or more, the gap could be nothing but that.") !=
        std::string::npos);
  CHECK(all.find("with the SD between specimens that was stated, not measured, the gap between the kinds lies from ") !=
        std::string::npos);
  CHECK(all.find(" is the stated figure. With that SD ") != std::string::npos);
  CHECK(all.find("--bow-sd") == std::string::npos);
}

namespace {

/// A comparison with earlier sheets beside it, named old0.csv and so on.
struct ToldWithHistory {
  std::vector<Sheet> earlier;
  std::vector<std::string> names;
  Told told;

  ToldWithHistory(const std::string& text, const std::vector<std::string>& older, const ComparisonOptions& more = {})
      : earlier{read(older)}, names{named(older.size())}, told{text, with(text, more)} {}

  ComparisonStory story() const {
    return {.comparison = told.comparison,
            .sheet = told.sheet,
            .printed = told.printed,
            .earlier = earlier,
            .earlier_names = names};
  }
  std::string note(const std::string& code) const {
    std::string out;
    for (const auto& note : comparison_notes(story()))
      if (note.code == code) out += (out.empty() ? "" : "\n") + note.text;
    return out;
  }
  std::string words() const { return joined(texts_of(comparison_document(story()))); }

 private:
  static std::vector<Sheet> read(const std::vector<std::string>& texts) {
    std::vector<Sheet> out;
    for (const auto& text : texts) out.push_back(*read_sheet(text).sheet);
    return out;
  }
  static std::vector<std::string> named(std::size_t count) {
    std::vector<std::string> out;
    for (std::size_t i = 0; i < count; ++i) out.push_back("old" + std::to_string(i) + ".csv");
    return out;
  }
  ComparisonOptions with(const std::string& text, ComparisonOptions options) const {
    const Sheet sheet = *read_sheet(text).sheet;
    options.methods.push_back(Method::moderated);
    options.history = shot_history(earlier, sheet.unit, sheet.display_step);
    return options;
  }
};

const std::string three_shots = header + rows("A", {191, 192, 190}) + rows("B", {189, 186, 189});

/// Strings of 190, 191, 192, 193, the SD of each √(5/3) = 1.29.
std::string alike(int count) {
  std::string out;
  for (int i = 0; i < count; ++i) out += rows("S" + std::to_string(i), {190, 191, 192, 193});
  return out;
}

}  // namespace

TEST_CASE("comparison document: a history is told with and without, and does not touch the sentence") {
  const ToldWithHistory told{three_shots, {header + alike(12)}};
  // s̃² = (36·5/3 + 4·2)/40 = 1.7, ν = 40; t(0.975; 40) = 2.0210754 (R: qt(.975, 40)); half-width 2.1516
  const std::string words = told.words();
  CHECK(words.find("How shots scatter is better known with 12 earlier strings of shots (48 shots on 1 sheet).") !=
        std::string::npos);
  CHECK(words.find("without them: ±3.5 fps, from −6.5 to +0.5 fps") != std::string::npos);
  CHECK(words.find("with them: ±2.2 fps, from −5.2 to −0.8 fps") != std::string::npos);
  CHECK(words.find("By the second range B would be slower. The verdict rests on the first range, whatever the second "
                   "says.") != std::string::npos);
  CHECK(words.starts_with(joined({texts_of(Told{three_shots}.document()).front()})));
  CHECK(
      told.note("history") ==
      "The history, 12 strings of 48 shots on 1 sheet, gives an SD of 1.29 fps with a weight of 36 degrees of freedom; "
      "these shots show 1.41 fps on 4.");
  CHECK(told.note("history_assumed").starts_with("Assumed of the history, for no number shows it: the same shooter"));
  for (const char* code : {"history_set_aside", "history_few", "history_wild", "history_left_out", "history_all_equal",
                           "history_unit_assumed", "history_display", "history_display_limits"})
    CHECK(told.note(code).empty());
  CHECK(Told{three_shots}.note("history").empty());
}

TEST_CASE("comparison document: by the range with a history two may be the same within the margin, still open") {
  const ToldWithHistory told{
      header + rows("A", {191, 192, 190}) + rows("B", {192, 189, 192}), {header + alike(12)}, {.margin = 3.0}};
  CHECK(told.words().find("By the second range the two would be the same within the margin. The verdict rests") !=
        std::string::npos);
}

TEST_CASE("comparison document: a history set aside is said to add nothing") {
  const ToldWithHistory told{header + rows("A", {185, 191, 197}) + rows("B", {182, 188, 194}), {header + alike(9)}};
  const std::string words = told.words();
  CHECK(words.find("Nothing: these shots scatter more than 9 earlier strings of shots (36 shots on 1 sheet) allow, so "
                   "the history was set aside.") != std::string::npos);
  CHECK(words.find("these shots alone, one SD: ±") != std::string::npos);
  CHECK(words.find("with them") == std::string::npos);
  CHECK(told.note("history_set_aside") ==
        "The history is set aside and counts for nothing: where one fits, shots scatter as much as these only in less "
        "than 0.1 % of tests.");
  CHECK(told.note("history_assumed").empty());
  CHECK(told.note("history_few").starts_with("A history of 9 strings is short"));
}

TEST_CASE("comparison document: three set-ups have their ranges with and without in a table") {
  const ToldWithHistory told{three_shots + rows("C", {190, 192, 193}), {header + alike(12)}};
  const auto tables = blocks_of<Table>(comparison_document(told.story()));
  const auto table = std::find_if(tables.begin(), tables.end(),
                                  [](const Table& t) { return t.columns.front().title == "range in fps"; });
  REQUIRE(table != tables.end());
  REQUIRE(table->rows.size() == 3);
  CHECK(table->rows[0][0] == "B against A");
  CHECK(told.words().find("The verdicts rest on the ranges without them, whatever the others say.") !=
        std::string::npos);
}

TEST_CASE("comparison notes: what a history leaves out, lifts or assumes is told") {
  const std::string wild = "setup,speed_fps,bow,session\nW,150,1,May\nW,190,1,May\nW,230,1,May\n";
  const ToldWithHistory told{three_shots, {header + alike(5), wild}};
  CHECK(
      told.note("history_wild") ==
      "Left out of the history: W, bow 1, session May, on old1.csv. The SD of its 3 shots is 40.00 fps, too unlike the "
      "other strings.");
  CHECK(told.note("history").starts_with("The history, 5 strings of 20 shots on 1 sheet,"));
  const Data data = at(comparison_data(told.story()), "history");
  CHECK(keys_of(data) == Codes{"strings", "shots", "sheets", "prior_sd", "prior_degrees_of_freedom",
                               "degrees_of_freedom_of_strings", "wild", "single_shots", "all_equal"});
  CHECK(number_at(data, "strings") == 5);
  CHECK(number_at(data, "prior_degrees_of_freedom") == 15);
  CHECK(text_at(at(data, "wild"), "sheet") == "old1.csv");
  CHECK(text_at(at(data, "wild"), "bow") == "1");
  CHECK(number_at(at(data, "wild"), "sd") == digits(40.0, 14));

  const ToldWithHistory odd{three_shots,
                            {"setup,speed_fps,excluded\nA,190,\nA,192,\nB,188,\nB,188,\nC,187,\nC,189,\nC,150,short\n"
                             "C,151,short\nD,200,\nE,200,\n",
                             "A,B\n190.0,191.5\n192.0,190.5\n"}};
  CHECK(odd.note("history_left_out") ==
        "Left out of the history: 2 shots that the sheets exclude and 2 strings of one shot, where no scatter shows.");
  CHECK(odd.note("history_all_equal").starts_with("Of the history's strings 1 shows equal readings only;"));
  CHECK(odd.note("history_unit_assumed") ==
        "No unit is said by old1.csv; fps was assumed. A line \"# unit: m/s\" says otherwise.");
  CHECK(odd.note("history_display").starts_with("Earlier displays showed other steps: old1.csv (0.1 fps)."));
}

TEST_CASE("comparison notes: the pair whose range the display sets is named, history or not") {
  std::string strings;
  for (int i = 0; i < 12; ++i) strings += rows("S" + std::to_string(i), {190, 190, 190, 191});
  const ToldWithHistory quiet{
      header + rows("A", {271, 271, 271, 271, 271, 271}) + rows("B", {274, 274, 274, 274, 274, 274}),
      {header + strings}};
  const ToldWithHistory scattered{three_shots, {header + strings}};
  CHECK(scattered.note("history_display_limits").empty());
  CHECK(quiet.note("history_display_limits") ==
        "B against A: the display, not the scatter, sets the width of the range with the history too; no history "
        "narrows that.");
}

TEST_CASE("comparison document: where only one of several pairs has a range, it is named in the table") {
  const ToldWithHistory told{three_shots + "C,200\n", {header + alike(12)}};
  const auto tables = blocks_of<Table>(comparison_document(told.story()));
  const auto table = std::find_if(tables.begin(), tables.end(),
                                  [](const Table& t) { return t.columns.front().title == "range in fps"; });
  REQUIRE(table != tables.end());
  REQUIRE(table->rows.size() == 1);
  CHECK(table->rows[0] == std::vector<std::string>{"B against A", "−6.5", "+0.5", "−5.2", "−0.8"});
}

TEST_CASE("comparison notes: a sheet of a history without a name is counted") {
  ToldWithHistory told{three_shots, {header + alike(5) + rows("W", {150, 190, 230})}};
  told.names.clear();
  CHECK(told.note("history_wild").find("on earlier sheet 1.") != std::string::npos);
}
