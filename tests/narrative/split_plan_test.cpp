#include <doctest/doctest.h>

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

using Texts = std::vector<std::string>;

/// A plan whose numbers are set here, so that only the words are tested.
SplitPlan made(std::optional<double> resolve = std::nullopt) {
  const auto split = [&](std::int64_t from, double gap, double half_width, double share) {
    return Split{.from = from,
                 .to = 12 - from,
                 .detectable_gap = gap,
                 .half_width = half_width,
                 .chance = resolve ? std::optional{Chance{share, std::nullopt, 0.003}} : std::nullopt,
                 .by = ChanceBy::lattice};
  };
  return {.question = {.total_shots = 12, .sd = {1, 3}, .resolve = resolve},
          .best = split(4, 3.7513, 2.6, 0.611),
          .even = split(6, 4.3834, 2.9, 0.4955)};
}

struct Told {
  SplitPlan plan;
  std::array<std::string, 2> setups = {"A", "B"};
  SpeedUnit unit = SpeedUnit::feet_per_second;
  std::optional<PlannedFiring> firing = {};

  SplitStory story() const { return {plan, unit, setups, {}, firing}; }
  Document document() const { return plan_document(story()); }
  std::string headline() const { return blocks_of<Headline>(document()).at(0).text; }
  std::string paragraph(std::size_t i) const { return blocks_of<Paragraph>(document()).at(i).text; }
  Table table() const { return blocks_of<Table>(document()).at(0); }
};

bool contains(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("split headline: shots with each set-up and the gap they find") {
  CHECK(Told{made()}.headline() ==
        "Shoot 4 shots with A and 8 shots with B: they find a true gap of 3.75 fps 8 times in 10.");
  Told one{made(), {"14 strands", "18 strands"}};
  one.plan.question.power = Power{0.9};
  CHECK(one.headline() ==
        "Shoot 4 shots with 14 strands and 8 shots with 18 strands: they find a true gap of 3.75 fps 9 times in 10.");
}

TEST_CASE("split: what the even split loses, and that there is nothing to lose where it is the best") {
  CHECK(Told{made()}.paragraph(0) ==
        "Split evenly, 6 shots with A and 6 shots with B, the gap found is 4.38 fps instead of 3.75 fps.");
  Told even{made()};
  even.plan.best = even.plan.even;
  CHECK(even.paragraph(0) == "That is the even split: no other finds a smaller gap.");
  REQUIRE(even.table().rows.size() == 1);
  CHECK(even.table().rows[0].front() == "best");
}

TEST_CASE("split: the chance of the gap asked about is told for both") {
  const Told told{made(3.0)};
  CHECK(told.paragraph(1) == "A true gap of 3 fps is found in 61 % of tests, split evenly in 50 %.");
  Texts titles;
  for (const auto& column : told.table().columns) titles.push_back(column.title);
  CHECK(titles == Texts{"", "A", "B", "finds 3 fps", "gap found in 8 of 10", "range about"});
  REQUIRE(told.table().rows.size() == 2);
  CHECK(told.table().rows[0] == Texts{"best", "4", "8", "61 %", "3.75 fps", "±2.6 fps"});
  CHECK(told.table().rows[1] == Texts{"even", "6", "6", "50 %", "4.38 fps", "±2.9 fps"});
  // Without one, neither sentence nor column.
  CHECK(blocks_of<Paragraph>(Told{made()}.document()).size() == 1);
  CHECK(Told{made()}.table().rows[0] == Texts{"best", "4", "8", "3.75 fps", "±2.6 fps"});
}

TEST_CASE("split notes: SDs by set-up, how the chances were worked out, and whose gap it will be") {
  const Told told{made(), {"14 strands", "18 strands"}};
  Texts codes;
  for (const auto& note : plan_notes(told.story())) codes.push_back(note.code);
  CHECK(codes == Texts{"sd_entered", "method", "scope"});
  CHECK(contains(plan_notes(told.story())[0].text, "1 fps with 14 strands and 3 fps with 18 strands"));
  for (const auto& note : plan_notes(told.story())) CHECK(contains(joined(texts_of(told.document())), note.text));
  Told drawn{made(3.0)};
  drawn.plan.best.by = ChanceBy::simulation;
  drawn.plan.best.tests = 4'000;
  CHECK(contains(plan_notes(drawn.story())[1].text, "from 4000 simulated tests"));
  CHECK(plan_notes(drawn.story())[1].code == "monte_carlo");
  CHECK(contains(plan_notes(drawn.story())[1].text, "standard error of the chance told is 0.3 %"));
}

TEST_CASE("split: names are shown harmless, files are told, cautions stand at the end, another unit is kept to") {
  Told told{made(3.0), {"=1+1", "B\u202e"}, SpeedUnit::metres_per_second};
  PlannedFiring firing{};
  firing.shots.resize(12);
  firing.sheet = "split.csv";
  told.firing = firing;
  const std::string all = joined(texts_of(told.document()));
  CHECK(contains(all, "with “=1+1” and 8 shots with B\\u202e"));
  CHECK(!contains(all, "\u202e"));
  CHECK(!contains(all, "fps"));
  CHECK(told.table().columns[1].title == "“=1+1”");
  CHECK(told.paragraph(2) == "split.csv has 12 shots in firing order. Write each reading into it, then compare it.");
  CHECK(std::get<Points>(told.document().blocks.back()).points.size() == cautions().points.size());
}

TEST_CASE("plan_data of a split: the keys of the contract, the best split and the even one") {
  const Data data = plan_data(Told{made(3.0)}.story());
  CHECK(keys_of(data) == Texts{"unit", "question", "confidence", "power", "sd", "display_step", "method", "design",
                               "achieved", "table", "order"});
  CHECK(text_at(data, "question") == "split");
  CHECK(number_at(at(data, "sd"), "from") == 1.0);
  CHECK(number_at(at(data, "sd"), "to") == 3.0);
  CHECK(number_at(at(at(data, "design"), "from"), "shots") == 4);
  CHECK(number_at(at(at(data, "design"), "to"), "shots") == 8);
  CHECK(number_at(at(data, "design"), "total_shots") == 12);
  CHECK(keys_of(at(data, "achieved")) == Texts{"power", "detectable_gap", "half_width", "by", "monte_carlo_error"});
  CHECK(number_at(at(data, "achieved"), "power") == 0.611);
  CHECK(is_null(at(at(data, "achieved"), "monte_carlo_error")));
  REQUIRE(list_at(data, "table").size() == 2);
  CHECK(keys_of(list_at(data, "table")[0]) == Texts{"from", "to", "power", "detectable_gap", "half_width", "by"});
  CHECK(number_at(list_at(data, "table")[1], "from") == 6);
  CHECK(number_at(list_at(data, "table")[1], "power") == 0.4955);
  CHECK(is_null(at(data, "order")));

  SplitPlan bare = made();
  bare.best.by = ChanceBy::simulation;
  bare.question.how.interval = PlannedInterval::welch;
  const Data none = plan_data(Told{bare}.story());
  CHECK(is_null(at(at(none, "achieved"), "power")));
  CHECK(is_null(at(at(none, "achieved"), "monte_carlo_error")));
  CHECK(text_at(none, "method") == "welch");
  SplitPlan drawn = made(3.0);
  drawn.best.by = ChanceBy::simulation;
  CHECK(number_at(at(plan_data(Told{drawn}.story()), "achieved"), "monte_carlo_error") == 0.003);
}
