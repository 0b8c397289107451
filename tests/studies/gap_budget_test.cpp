#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/sensitivity.hpp>
#include <shotassay/studies/gap_budget.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

constexpr auto fps = SpeedUnit::feet_per_second;

/// Budgets whose law of propagation is looked at, not their trials.
const GapBudgetOptions few_trials{.most_trials = 100'000};

std::vector<ComparedSetup> strings() {
  return {{.name = "14 strands", .sample = sample({192, 191, 193, 192, 190})},
          {.name = "18 strands", .sample = sample({187, 186, 188, 187, 188})}};
}

double contribution(const ComparedBudget& b, const std::string& input) {
  for (std::size_t i = 0; i < b.stated.inputs.size(); ++i)
    if (b.stated.inputs[i].known.name == input) return b.answer.budget.contributions[i].contribution;
  FAIL("no input ", input);
  return 0.0;
}

MeasuredValue value(double x) {
  return {.mean = x, .low = x, .high = x, .rows = 1, .resolution = 0.1, .standard_uncertainty = 0.1 / std::sqrt(12.0)};
}

GapEstimate estimate(const GapOutcome& gap) {
  const MethodOutcome& m = gap.deciding();
  return {*gap.difference, *m.standard_error, *m.degrees_of_freedom, m.interval->half_width()};
}

}  // namespace

TEST_CASE("stated_accuracy: a share, a speed, and nothing else") {
  const auto share = stated_accuracy("0.5 %", fps);
  REQUIRE(share);
  CHECK(share->relative == digits(0.005, 15));
  CHECK(share->absolute == 0.0);
  CHECK(stated_accuracy(" ±0.5%", fps)->relative == digits(0.005, 15));
  CHECK(stated_accuracy("+/- 1 fps", fps)->absolute == 1.0);
  CHECK(stated_accuracy("0.3048 m/s", fps)->absolute == digits(1.0, 15));  // a foot is 0.3048 m
  CHECK(stated_accuracy("2", fps)->absolute == 2.0);
  for (const char* bad : {"", "good", "0 %", "-1 fps", "100 %", "1 mph", "0.5 % or so", "nan", "inf"})
    CHECK_MESSAGE(!stated_accuracy(bad, fps), bad);
}

TEST_CASE("gap_budget: of the gap as shot it is Welch's standard error, degrees of freedom and interval") {
  const auto setups = strings();
  const Comparison c = compare(setups);
  const ComparedBudget b = gap_budget(setups, c.gaps[0], {}, c.level, fps, few_trials);
  // Deviations from the averages 191.6 and 187.2: squares sum to 5.2 and 2.8; s² = 1.3 and 0.7; V = 0.26 and 0.14.
  const double u = std::sqrt(0.26 + 0.14);
  CHECK(b.answer.budget.estimate == digits(187.2 - 191.6, 13));
  CHECK(b.answer.budget.standard_uncertainty == digits(u, 12));
  CHECK(b.answer.budget.degrees_of_freedom == digits(0.4 * 0.4 / (0.26 * 0.26 / 4 + 0.14 * 0.14 / 4), 9));
  CHECK(b.answer.budget.interval.lower == digits(c.gaps[0].deciding().interval->lower, 9));
  CHECK(b.answer.budget.interval.upper == digits(c.gaps[0].deciding().interval->upper, 9));
  CHECK(b.stated.inputs.size() == 2);
  REQUIRE(b.answer.monte_carlo);
  CHECK(b.answer.monte_carlo->trials == few_trials.most_trials);
  CHECK_FALSE(b.answer.monte_carlo->settled);
}

TEST_CASE("gap_budget: a scale error nearly cancels in the gap and counts in full in a speed; an offset cancels") {
  const auto setups = strings();
  const Comparison c = compare(setups);
  GapBudgetOptions how = few_trials;
  how.known.accuracy = StatedAccuracy{.relative = 0.005};
  const double u = 0.005 / std::sqrt(3.0);
  CHECK(contribution(gap_budget(setups, c.gaps[0], {}, c.level, fps, how), "chronograph scale") == digits(4.4 * u, 9));
  const ComparedBudget speed = speed_budget(setups[0], c.level, fps, how);
  CHECK(contribution(speed, "chronograph scale") == digits(191.6 * u, 9));
  CHECK(speed.answer.budget.standard_uncertainty == digits(std::hypot(191.6 * u, std::sqrt(0.26)), 9));
  how.known.accuracy = StatedAccuracy{.absolute = 1.0};
  CHECK(contribution(gap_budget(setups, c.gaps[0], {}, c.level, fps, how), "chronograph offset") == within(0.0, 1e-9));
  CHECK(contribution(speed_budget(setups[0], c.level, fps, how), "chronograph offset") ==
        digits(1.0 / std::sqrt(3.0), 9));
}

TEST_CASE("gap_budget: rounding is an input where readings span one step; three equal ones leave ± half a step") {
  const std::vector<ComparedSetup> setups{{.name = "a", .sample = sample({190, 190, 190})},
                                          {.name = "b", .sample = sample({195, 193, 197, 194})}};
  const Comparison c = compare(setups);
  const ComparedBudget b = gap_budget(setups, c.gaps[0], {}, c.level, fps, few_trials);
  CHECK(b.stated.inputs.size() == 3);
  CHECK(contribution(b, "rounding, a") == digits(0.5 / std::sqrt(3.0), 9));
  CHECK(contribution(b, "shots, a") == digits(std::sqrt(1.0 / 12.0 / 3.0), 9));  // not below what the display hides
}

TEST_CASE("gap_budget: re-setting counts once for each set-up") {
  const auto setups = strings();
  const Comparison c = compare(setups);
  GapBudgetOptions how = few_trials;
  how.known.setting_sd = 0.8;
  const ComparedBudget b = gap_budget(setups, c.gaps[0], {}, c.level, fps, how);
  CHECK(b.answer.budget.standard_uncertainty == digits(std::sqrt(0.4 + 2 * 0.64), 12));
}

TEST_CASE("gap_budget: with equal set-ups its estimate and uncertainty are those of the equalised gap") {
  const auto setups = strings();
  const Comparison c = compare(setups);
  const auto check = [&](double mass_from, double mass_to, const EqualSetupsOptions& how) {
    SetupMeasurements from{}, to{};
    from.average_speed = 191.6;
    to.average_speed = 187.2;
    from.draw_weight = value(38.6);
    to.draw_weight = value(38.0);
    from.arrow_mass = value(mass_from);
    to.arrow_mass = value(mass_to);
    from.draw_length = value(28.1);
    to.draw_length = value(28.0);
    const EqualisedGap equal = equalised_gap(from, to, estimate(c.gaps[0]), how);
    REQUIRE(equal.equalised);
    const ComparedBudget b = gap_budget(setups, c.gaps[0], equal, c.level, fps, few_trials);
    CHECK(b.answer.budget.estimate == digits(equal.equalised->gap, 11));
    CHECK(b.answer.budget.standard_uncertainty == digits(equal.equalised->standard_uncertainty, 8));
    CHECK(b.answer.budget.degrees_of_freedom == digits(equal.equalised->degrees_of_freedom, 7));
    return b;
  };
  const ComparedBudget same = check(352.1, 352.1, {});
  // Half the speed over the draw weight, at the mean of both set-ups, times 0.6 lbf, known to 20 %.
  CHECK(contribution(same, "speed per lbf") == digits(0.2 * 189.4 / (2 * 38.3) * 0.6, 9));
  check(352.1, 348.0, {.arrows = ArrowMatch::neither});
  check(386.0, 380.0, {});  // 10 grains per pound with both
  check(386.0, 381.0,
        {.arrows = ArrowMatch::same_grains_per_pound,
         .per_lbf = entered_sensitivity(0.5, 0.1),
         .per_grain = entered_sensitivity(-0.2, 0.02)});
}

TEST_CASE("gap_budget: where bows decide, their averages are the readings, and setting up is in their spread") {
  const auto with_bows = [](const std::string& name, std::initializer_list<std::int64_t> readings) {
    ComparedSetup s{.name = name, .sample = sample(readings), .bows = 2};
    for (std::size_t i = 0; i < s.sample->size(); ++i) s.places.push_back({.bow = i < 2 ? 1u : 2u});
    return s;
  };
  const std::vector<ComparedSetup> setups{with_bows("a", {190, 192, 196, 194}), with_bows("b", {200, 202, 199, 201})};
  const Comparison c = compare(setups);
  REQUIRE(c.gaps[0].claim == Claim::kinds_of_bow);
  GapBudgetOptions how = few_trials;
  how.known.setting_sd = 5.0;
  const ComparedBudget b = gap_budget(setups, c.gaps[0], {}, c.level, fps, how);
  CHECK(b.stated.inputs.size() == 1);
  // Bow averages 191, 195 and 201, 200: pooled variance (8 + 0.5)/2, each average of two bows.
  CHECK(b.answer.budget.estimate == digits(200.5 - 193.0, 12));
  CHECK(b.answer.budget.standard_uncertainty == digits(std::sqrt(4.25 * (0.5 + 0.5)), 12));
  CHECK(b.answer.budget.degrees_of_freedom == digits(2.0, 12));
  const ComparedBudget speed = speed_budget(setups[0], c.level, fps, how);
  CHECK(speed.stated.inputs.size() == 1);
  CHECK(speed.answer.budget.estimate == digits(193.0, 12));
  CHECK(speed.answer.budget.standard_uncertainty == digits(std::sqrt(8.0 / 2), 12));
  CHECK(speed.answer.budget.degrees_of_freedom == 1.0);
}

TEST_CASE("gap_budget: all speeds in the unit printed") {
  const auto setups = strings();
  const Comparison c = compare(setups);
  GapBudgetOptions how = few_trials;
  how.printed = SpeedUnit::metres_per_second;
  how.known.setting_sd = 1.0;
  const ComparedBudget b = gap_budget(setups, c.gaps[0], {}, c.level, fps, how);
  CHECK(b.stated.unit == "m/s");
  CHECK(b.answer.budget.estimate == digits(-4.4 * 0.3048, 12));
  CHECK(b.answer.budget.standard_uncertainty == digits(0.3048 * std::sqrt(0.4 + 2.0), 12));
}

TEST_CASE("speed_budget and gap_budget: one shot has no budget") {
  const std::vector<ComparedSetup> setups{{.name = "a", .sample = sample({190})},
                                          {.name = "b", .sample = sample({195, 193})}};
  CHECK_THROWS_AS(speed_budget(setups[0], ConfidenceLevel{0.95}, fps, {}), NoAnswer);
  const Comparison c = compare(setups);
  CHECK_THROWS_AS(gap_budget(setups, c.gaps[0], {}, c.level, fps, few_trials), NoAnswer);
}
