#include <doctest/doctest.h>

#include <cmath>
#include <optional>

#include <shotassay/methods/bow_power.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/bow_plan.hpp>
#include <shotassay/studies/plan.hpp>
#include <shotassay/studies/scope.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep fine{Decimal{1, 2}};  // scatter of hundreds of steps: no lattice to count, and none needed
const ConfidenceLevel usual{0.95};

}  // namespace

TEST_CASE("GapsAsked: a gap below a display step is asked about as a step, its sign does not matter") {
  CHECK(GapsAsked{0.2, whole, {}}.seen == 1.0);
  CHECK(GapsAsked{-3.5, whole, {}}.seen == 3.5);
  CHECK(GapsAsked{0.2, DisplayStep{Decimal{1, 1}}, {}}.seen == 0.2);
}

TEST_CASE("shots_needed: the margin, the gap seen and sameness, each with the fewest shots that reach 0.8") {
  const double a = 1.2, b = 1.7;
  for (const int setups : {2, 3}) {
    const auto needs = shots_needed({1.4, whole, 2.5}, {5, a}, {4, b}, fine, usual, Family{setups});
    REQUIRE(needs.size() == 3);
    CHECK(*needs[0].gap == 2.5);
    CHECK(*needs[1].gap == 1.4);
    CHECK(!needs[2].gap);
    CHECK(*needs[2].same_within == 2.5);
    for (const Need& need : needs) {
      CHECK(need.code == NeedCode::more_shots);
      CHECK(need.claim == Claim::setups_today);
      CHECK(*need.power == 0.8);
      REQUIRE(need.shots);
      const auto power = [&](std::int64_t n) {
        return need.gap ? welch_power(*need.gap, {n, a}, {n, b}, usual, Sides::two, Family{setups}).power
                        : welch_equivalence_power(0.0, *need.same_within, {n, a}, {n, b}, usual, Family{setups}).power;
      };
      CHECK(power(*need.shots) >= 0.8 - 2e-9);
      CHECK(power(*need.shots - 1) < 0.8);
    }
  }
}

TEST_CASE("shots_needed: with little scatter, as many as plan finds for the interval that decides") {
  // SDs of readings whose SD before the display is 0.55, 0.4 and 0.2 steps. Welch's interval would have 7, 6 and 4.
  for (const double before : {0.55, 0.4, 0.2}) {
    const double sd = std::sqrt(before * before + 1.0 / 12.0);
    const auto needs = shots_needed({1.0, whole, 1.2}, {5, sd}, {5, sd}, whole, usual, Family{});
    const Plan find = plan({.goal = FindGap{1.0}, .sd = {before, before}});
    const Plan same = plan({.goal = ShowSame{1.2}, .sd = {before, before}});
    REQUIRE(needs.size() == 3);
    CHECK(needs[1].shots == find.achieved.shots);
    CHECK(needs[2].shots == same.achieved.shots);
  }
}

TEST_CASE("shots_needed: what the display hides takes a finer display, and no number of shots is named") {
  // Readings all equal: an SD of a tenth of a step before the display. A gap of 0.6 steps shows as 0 or 1 step, and
  // whichever, every shot says the same; a finding would need H < 1, and two all-equal set-ups have H = 1 at least.
  const double sd = std::sqrt(1.0 / 12.0);
  const auto needs = shots_needed({1.0, whole, 0.6}, {5, sd}, {5, sd}, whole, usual, Family{});
  REQUIRE(needs.size() == 3);
  CHECK(needs[0].code == NeedCode::finer_display);
  CHECK(!needs[0].shots);
  CHECK(*needs[0].gap == 0.6);
}

TEST_CASE("shots_needed: a margin as large as the gap is named once, without one there is no sameness") {
  CHECK(shots_needed({2.0, whole, 2.0}, {5, 1}, {5, 1}, whole, usual, Family{}).size() == 2);
  CHECK(shots_needed({2.0, whole, {}}, {5, 1}, {5, 1}, whole, usual, Family{}).size() == 1);
}

TEST_CASE("shots_needed: out of reach is absent, and never a number that is not one") {
  // 2·(1.96 + 0.84)²·300² shots and more
  for (const Need& need : shots_needed({1.0, whole, 1.5}, {5, 300}, {5, 300}, whole, usual, Family{})) {
    CHECK(!need.shots);
    CHECK(need.asks_for_numbers());
  }
}

TEST_CASE("sessions_needed: after one session four, and how much wider the range from two would be") {
  const Need need = sessions_needed(usual);
  CHECK(need.code == NeedCode::several_days);
  CHECK(need.claim == Claim::setups_any_day);
  CHECK(*need.sessions == 4);
  CHECK(*need.more_sessions == 3);
  // 7.168708358575 and 1.466022105976 SDs: R as in session_power_test.cpp
  CHECK(*need.two_sessions_wider == digits(7.168708358575 / 1.466022105976, 11));
  CHECK(!need.asks_for_numbers());
}

TEST_CASE("sessions_needed: with the SD of the sessions' gaps, as R's one-sample t has it") {
  // R: few <- function(gap, sd) { n <- 2; while (power.t.test(n=n, delta=gap, sd=sd, type="one.sample",
  //   strict=TRUE)$power < .8) n <- n+1; n }: few(3.9, .52) is 3, few(1, 1) is 10, few(.5, 1) is 34
  const auto needs = sessions_needed({1.0, DisplayStep{Decimal{1, 1}}, 0.5}, 1.0, 2, usual);
  REQUIRE(needs.size() == 2);
  CHECK(*needs[0].gap == 0.5);
  CHECK(*needs[0].sessions == 34);
  CHECK(*needs[0].more_sessions == 32);
  CHECK(*needs[1].gap == 1.0);
  CHECK(*needs[1].sessions == 10);
  const auto few = sessions_needed({-3.9, whole, {}}, 0.52, 4, usual);
  CHECK(*few[0].sessions == 3);
  CHECK(*few[0].more_sessions == 0);
  CHECK(!sessions_needed({1.0, whole, {}}, 200.0, 2, usual)[0].sessions);
  // At 15 % confidence chance alone finds more than 8 in 10.
  CHECK(!sessions_needed({1.0, whole, {}}, 1.0, 2, ConfidenceLevel{0.15})[0].power);
}

TEST_CASE("bows_needed with a stated SD: the cheapest test that finds the gap, ten shots a bow; none is cheaper") {
  const double shot_sd = 1.3, before = std::sqrt(shot_sd * shot_sd - 1.0 / 12.0);
  const auto needs = bows_needed({3.0, whole, 5.0}, {.bow_sd = 1.0, .shot_sd = shot_sd}, whole, usual);
  REQUIRE(needs.size() == 2);
  for (const Need& need : needs) {
    CHECK(need.code == NeedCode::several_bows);
    CHECK(need.claim == Claim::kinds_of_bow);
    REQUIRE(need.bows);
    CHECK(*need.more_bows == *need.bows - 1);
    const auto power = [&](std::int64_t bows, std::int64_t shots) {
      return bow_power(*need.gap, {bows, shots, 1.0, before, 1.0}).power;
    };
    CHECK(power(*need.bows, *need.shots) >= 0.8 - 1e-8);
    const std::int64_t cost = *need.bows * (10 + *need.shots);
    for (std::int64_t bows = 2; bows * 11 < cost; ++bows)
      for (std::int64_t shots = 1; bows * (10 + shots) < cost; ++shots) CHECK(power(bows, shots) < 0.8);
  }
}

TEST_CASE("bows_needed with a stated SD: the same numbers as bow_plan; beyond its reach absent, below it not asked") {
  const BowPlan plan = bow_plan({.resolve = 2.0, .bow_sd = 1.5, .shot_sd = 1.0});
  const auto needs =
      bows_needed({2.0, whole, {}}, {.bow_sd = 1.5, .shot_sd = std::sqrt(1.0 + 1.0 / 12.0)}, whole, usual);
  CHECK(*needs[0].bows == plan.cheapest.bows);
  CHECK(*needs[0].shots == plan.cheapest.shots);
  const auto far = bows_needed({1.0, whole, {}}, {.bow_sd = 50.0, .shot_sd = 1.0}, whole, usual);
  REQUIRE(far.size() == 1);
  CHECK(!far[0].bows);
  // A margin of a hundredth of a step is no gap that such a display can tell.
  CHECK(bows_needed({2.0, whole, 0.01}, {.bow_sd = 1.0, .shot_sd = 1.0}, whole, usual).size() == 1);
  // Readings that are all equal: an answer, by what rounding alone may hide.
  CHECK(bows_needed({2.0, whole, {}}, {.bow_sd = 1.0, .shot_sd = std::sqrt(1.0 / 12.0)}, whole, usual)[0].bows);
}

TEST_CASE("bows_needed with the spread seen: as R's t test has it, and the integral of two one-sided ones") {
  // R: n <- 2; while (power.t.test(n=n, delta=1.5, sd=1, strict=TRUE)$power < .8) n <- n+1: 9; delta=1, level .9: 14
  // same <- function(m, sd, a) { f <- function(k) { nu <- 2*(k-1); se <- sd*sqrt(2/k); c <- qt(1-a/2, nu);
  //   integrate(function(s) (pnorm(m/se-c*s)-pnorm(c*s-m/se))*2*nu*s*dchisq(nu*s^2, nu), 0, m/se/c)$value }
  //   k <- 2; while (f(k) < .8) k <- k+1; k }: same(1.5, 1, .05) is 11
  const auto needs = bows_needed({1.0, whole, 1.5}, {.bows = 3, .shots = 4, .spread = 1.0}, usual);
  REQUIRE(needs.size() == 3);
  CHECK(*needs[0].gap == 1.5);
  CHECK(*needs[0].bows == 9);
  CHECK(*needs[0].more_bows == 6);
  CHECK(*needs[0].shots == 4);
  CHECK(*needs[2].same_within == 1.5);
  CHECK(*needs[2].bows == 11);
  CHECK(*bows_needed({1.0, whole, {}}, {.bows = 3, .shots = 4, .spread = 1.0}, ConfidenceLevel{0.9})[0].bows == 14);
  // power.t.test(n=2, delta=3, sd=.4, strict=TRUE)$power is above 0.8: no more bows than there are
  const auto few = bows_needed({3.0, whole, {}}, {.bows = 3, .shots = 1, .spread = 0.4}, usual);
  CHECK(*few[0].bows == 2);
  CHECK(*few[0].more_bows == 0);
  const auto far = bows_needed({1.0, whole, {}}, {.bows = 3, .shots = 1, .spread = 40.0}, usual);
  CHECK(!far[0].bows);
  CHECK(!far[0].shots);
}
