#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <optional>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/plan.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep tenth{Decimal{1, 1}};

double power_of(double gap, double sd, std::int64_t shots, ConfidenceLevel level = ConfidenceLevel{0.95}) {
  return welch_power(gap, {shots, sd}, {shots, sd}, level).power;
}

}  // namespace

TEST_CASE("plan: the display's step adds its variance of step²/12 to that of the shots") {
  // √(1.5² + 1/12) = √(28/12), √(0.9² + 0.01/12)
  CHECK(plan({.resolve = 3.0, .shots = std::nullopt, .sd = 1.5}).sd_of_readings == digits(std::sqrt(28.0 / 12.0), 15));
  CHECK(plan({.resolve = 3.0, .shots = std::nullopt, .sd = 0.9, .display_step = tenth}).sd_of_readings ==
        digits(std::sqrt(0.81 + 0.01 / 12.0), 15));
}

TEST_CASE("plan: shots for a gap are the fewest that reach the power, and one fewer does not") {
  for (const double gap : {0.8, 1.5, 3.0})
    for (const double wanted : {0.5, 0.8, 0.9})
      for (const double level : {0.8, 0.95}) {
        const Plan p = plan({.resolve = gap,
                             .shots = std::nullopt,
                             .sd = 1.2,
                             .power = Power{wanted},
                             .level = ConfidenceLevel{level}});
        const double sd = std::sqrt(1.44 + 1.0 / 12.0);
        CHECK(p.answer == PlanAnswer::shots);
        CHECK(power_of(gap, sd, p.achieved.shots, ConfidenceLevel{level}) >= wanted - 2e-9);
        REQUIRE(p.power_one_less.has_value() == (p.achieved.shots > 2));
        if (p.achieved.shots > 2) {
          const double less = power_of(gap, sd, p.achieved.shots - 1, ConfidenceLevel{level});
          CHECK(less < wanted);
          CHECK(*p.power_one_less == within(less, 2e-9));
        }
        CHECK(p.more_can_miss == (power_of(gap, sd, p.achieved.shots + 1, ConfidenceLevel{level}) < wanted - 1e-9));
        REQUIRE(p.achieved.power.has_value());
        CHECK(*p.achieved.power == within(power_of(gap, sd, p.achieved.shots, ConfidenceLevel{level}), 2e-9));
      }
}

TEST_CASE("plan: shots alone ask for the gap they find, shots and a gap for the power") {
  const double sd = std::sqrt(2.25 + 1.0 / 12.0);
  const Plan gap = plan({.resolve = std::nullopt, .shots = 5, .sd = 1.5});
  CHECK(gap.answer == PlanAnswer::gap);
  CHECK(gap.achieved.shots == 5);
  CHECK(!gap.achieved.power.has_value());
  CHECK(!gap.power_one_less.has_value());
  CHECK(!gap.more_can_miss);
  CHECK(power_of(gap.achieved.detectable_gap, sd, 5) == within(0.8, 4e-9));

  const Plan power = plan({.resolve = 3.0, .shots = 5, .sd = 1.5, .power = Power{0.9}});
  CHECK(power.answer == PlanAnswer::power);
  CHECK(power.achieved.shots == 5);
  CHECK(*power.achieved.power == within(power_of(3.0, sd, 5), 2e-9));
  CHECK(power_of(power.achieved.detectable_gap, sd, 5) == within(0.9, 4e-9));
  CHECK(!power.power_one_less.has_value());
}

TEST_CASE("plan: the table holds small numbers and those around the answer, each row worked out for itself") {
  const auto shots_in = [](const Plan& p) {
    std::vector<std::int64_t> shots;
    for (const PlanRow& r : p.table) shots.push_back(r.shots);
    return shots;
  };
  const Plan small = plan({.resolve = std::nullopt, .shots = 2, .sd = 1.5});
  CHECK(shots_in(small) == std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10});
  const Plan seven = plan({.resolve = 2.0, .shots = 7, .sd = 1.5});
  CHECK(shots_in(seven) == std::vector<std::int64_t>{2, 3, 4, 5, 6, 7, 8, 10, 14});
  CHECK(shots_in(plan({.resolve = std::nullopt, .shots = 30, .sd = 1.5})) ==
        std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10, 15, 20, 29, 30, 31, 60});
  // Twice the answer is left out beyond what is planned.
  CHECK(shots_in(plan({.resolve = std::nullopt, .shots = 10'000, .sd = 1.5})) ==
        std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10, 15, 20, 9'999, 10'000});

  const double sd = std::sqrt(2.25 + 1.0 / 12.0);
  for (const PlanRow& r : seven.table) {
    CAPTURE(r.shots);
    CHECK(*r.power == within(power_of(2.0, sd, r.shots), 2e-9));
    CHECK(r.detectable_gap == within(detectable_gap({r.shots, sd}, {r.shots, sd}), 1e-9));
  }
  for (std::size_t i = 1; i < seven.table.size(); ++i) {
    CHECK(seven.table[i].detectable_gap < seven.table[i - 1].detectable_gap);
    CHECK(seven.table[i].half_width < seven.table[i - 1].half_width);
  }
  for (const PlanRow& r : small.table) CHECK(!r.power.has_value());
}

TEST_CASE("plan: half of the interval's width is its average over all tests") {
  // E[t(0.975; ν)·√(s_a²/n + s_b²/n)] with SciPy 1.10: trapezoid rule, step 0.02, in the logs of both chi variables
  // z = e^y, y from −34 to 4, weight z^ν·exp(−z²/2)·2^(1−ν/2)/Γ(ν/2), of stdtrit(ν(A, B), 0.975)·√(A + B),
  // A = σ²z²/(n·(n − 1)). Halving the step changes no digit printed. Simulated in R with set.seed(1), 400 000 tests:
  // 6.948 (SE 0.0074), 2.4740 (SE 0.0015), 1.7599 (SE 0.0007).
  struct Case {
    std::int64_t shots;
    double sd, half_width;
  };
  for (const Case c : {Case{2, 1, 6.94979726519}, Case{3, 1, 2.47298809497}, Case{5, 1.2, 1.75962026332},
                       Case{10, 2, 1.8667274641}, Case{40, 1, 0.443917370307}}) {
    CAPTURE(c.shots);
    const WelchPowerCurve curve{{c.shots, c.sd}, {c.shots, c.sd}, CriticalFactor{ConfidenceLevel{0.95}}};
    // stdtrit is good to 3e-9 relative.
    CHECK(curve.expected_half_width() == within(c.half_width, 1e-8 * c.half_width));
  }
  // The plan's own: SD of the readings √(1.2² − 1/12 + 1/12) = 1.2.
  CHECK(plan({.resolve = std::nullopt, .shots = 5, .sd = std::sqrt(1.44 - 1.0 / 12.0)}).achieved.half_width ==
        within(1.75962026332, 2e-8));
}

TEST_CASE("expected_half_width: unequal designs and another level agree with the same double sum") {
  // As above with both designs: (n_a, σ_a), (n_b, σ_b), level.
  const auto half_width = [](GroupDesign a, GroupDesign b, double level) {
    return WelchPowerCurve{a, b, CriticalFactor{ConfidenceLevel{level}}}.expected_half_width();
  };
  CHECK(half_width({2, 1}, {3, 1}, 0.95) == within(4.51712443955, 5e-8));
  CHECK(half_width({3, 1}, {8, 2.5}, 0.95) == within(2.4316150598, 2.5e-8));
  CHECK(half_width({8, 2.5}, {3, 1}, 0.95) == within(2.4316150598, 2.5e-8));
  CHECK(half_width({4, 0.5}, {4, 3}, 0.95) == within(4.32983812399, 4.5e-8));
  CHECK(half_width({2, 1}, {2, 1}, 0.8) == within(2.15432920001, 2.5e-8));
  CHECK(half_width({5, 1.2}, {5, 1.2}, 0.8) == within(1.04668691654, 1.1e-8));
  CHECK(half_width({3, 100}, {8, 250}, 0.95) == within(243.16150598, 2.5e-6));
}

TEST_CASE("plan: an SD below three quarters of a step is marked: there the figures are too hopeful") {
  CHECK(plan({.resolve = std::nullopt, .shots = 5, .sd = 0.74}).display_limits);
  CHECK(!plan({.resolve = std::nullopt, .shots = 5, .sd = 0.75}).display_limits);
  CHECK(!plan({.resolve = std::nullopt, .shots = 5, .sd = 0.08, .display_step = tenth}).display_limits);
  CHECK(plan({.resolve = std::nullopt, .shots = 5, .sd = 0.07, .display_step = tenth}).display_limits);
}

TEST_CASE("plan: a question that is none is refused with what is missing") {
  CHECK_THROWS_WITH_AS(plan({.resolve = std::nullopt, .shots = std::nullopt, .sd = 1}),
                       "plan: needs a gap to resolve, a number of shots, or both", DomainError);
  for (const double sd : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()})
    CHECK_THROWS_WITH_AS(
        plan({.resolve = 3.0, .shots = std::nullopt, .sd = sd}),
        "plan: the SD must be positive; a display that repeats itself hides scatter, it does not end it", DomainError);
  for (const std::int64_t shots : {-3, 0, 1, 10'001})
    CHECK_THROWS_WITH_AS(plan({.resolve = std::nullopt, .shots = shots, .sd = 1}),
                         ("plan: shots must be 2 to 10000 with each set-up, got " + std::to_string(shots)).c_str(),
                         DomainError);
  CHECK_THROWS_AS(plan({.resolve = 3.0, .shots = std::nullopt, .sd = 1, .power = Power{0.05}}), DomainError);
  CHECK_THROWS_WITH_AS(plan({.resolve = 3.0, .shots = std::nullopt, .sd = 1, .power = Power{0.04}}),
                       "plan: a power of 0.040000 is no more than chance alone finds; it must be above the error rate",
                       DomainError);
}

TEST_CASE("plan: a gap below a tenth of the display step is refused, a tenth itself is not") {
  CHECK_THROWS_WITH_AS(plan({.resolve = 0.09, .shots = 5, .sd = 1}),
                       "plan: a gap below a tenth of the display step of 1 is beyond what the display can tell",
                       DomainError);
  CHECK_THROWS_WITH_AS(plan({.resolve = 0.009, .shots = 5, .sd = 1, .display_step = tenth}),
                       "plan: a gap below a tenth of the display step of 0.1 is beyond what the display can tell",
                       DomainError);
  for (const double gap : {0.0, -3.0, std::nan("")})
    CHECK_THROWS_AS(plan({.resolve = gap, .shots = 5, .sd = 1}), DomainError);
  CHECK_NOTHROW(plan({.resolve = 0.1, .shots = 5, .sd = 1}));
}

TEST_CASE("plan: more shots than anybody fires is no answer, and says what would help") {
  CHECK_THROWS_AS(plan({.resolve = 0.1, .shots = std::nullopt, .sd = 10}), NoAnswer);
  try {
    plan({.resolve = 0.1, .shots = std::nullopt, .sd = 10});
  } catch (const NoAnswer& reason) {
    const std::string text = reason.what();
    CHECK(text.find("more than 10000 shots") != std::string::npos);
    CHECK(text.find("would help") != std::string::npos);
  }
}
