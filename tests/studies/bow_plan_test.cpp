#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/bow_power.hpp>
#include <shotassay/studies/bow_plan.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

const BowPlanQuestion usual{.resolve = 3.0, .bow_sd = 1.0, .shot_sd = 1.2};

std::string refusal(const BowPlanQuestion& question) {
  try {
    bow_plan(question);
  } catch (const DomainError& reason) {
    return reason.what();
  }
  return "no DomainError";
}

/// The cheapest cell by trying them all; of equal costs the one with fewest bows, then fewest shots.
std::optional<BowCell> tried(const BowPlanQuestion& q, std::int64_t most_bows, std::int64_t most_shots) {
  std::optional<BowCell> best;
  for (std::int64_t k = 2; k <= most_bows; ++k)
    for (std::int64_t n = 1; n <= most_shots; ++n) {
      const double cost = 2.0 * static_cast<double>(k) * (q.costs.bow + static_cast<double>(n) * q.costs.shot);
      if (best && cost >= best->cost) continue;
      const BowDesign design{.bows = k, .shots = n, .bow_sd = q.bow_sd, .shot_sd = q.shot_sd, .step = q.step.value()};
      const double power = bow_power(q.resolve, design, q.level).power;
      if (power >= q.power.value()) best = BowCell{k, n, power, cost};
    }
  return best;
}

}  // namespace

TEST_CASE("bow plan: the grid holds R's powers of a pooled test of bow averages") {
  // R 4.2.2: power.t.test(n = k, delta = 3, sd = sqrt(1^2 + (1.2^2 + 1/12)/n), strict = TRUE)$power; no end: sd = 1
  struct Row {
    std::int64_t bows;
    double one, two, four, ten, limit;
  };
  const BowPlan p = bow_plan(usual);
  REQUIRE(p.shots_shown == std::vector<std::int64_t>{1, 2, 3, 4, 10});  // 3 is the answer
  for (const Row& r : {Row{2, 0.2016198696, 0.259438962, 0.308599621, 0.3508182134, 0.3874001285},
                       Row{3, 0.423326964, 0.554542045, 0.6532255093, 0.7270683992, 0.7825543871},
                       Row{4, 0.6084080141, 0.759132746, 0.8504650773, 0.905472733, 0.9389357455},
                       Row{5, 0.7441701174, 0.8774858609, 0.940543677, 0.9703382405, 0.9847017142},
                       Row{6, 0.8377683063, 0.9403959795, 0.9776625306, 0.9912945746, 0.9964460964}}) {
    CAPTURE(r.bows);
    const auto found =
        std::find_if(p.rows.begin(), p.rows.end(), [&](const BowPlan::Row& row) { return row.bows == r.bows; });
    REQUIRE(found != p.rows.end());
    REQUIRE(found->power.size() == 5);
    CHECK(found->power[0] == within(r.one, 1e-8));
    CHECK(found->power[1] == within(r.two, 1e-8));
    CHECK(found->power[3] == within(r.four, 1e-8));
    CHECK(found->power[4] == within(r.ten, 1e-8));
    CHECK(found->limit == within(r.limit, 1e-8));
  }
}

TEST_CASE("bow plan: the cheapest test by hand from R's grid, for a bow as dear as ten shots") {
  // Reaching 0.8 (R as above, for the shots between those of the grid: k = 3 at no end 0.783; k = 4 at n = 2 0.759,
  // n = 3 0.819; k = 5 at n = 1 0.744, n = 2 0.877; k = 6 at n = 1 0.838).
  //   4 bows, 3 shots: 2·4·(10 + 3) = 104    5 bows, 2 shots: 2·5·12 = 120    6 bows, 1 shot: 2·6·11 = 132
  const BowPlan p = bow_plan(usual);
  CHECK(p.cheapest.bows == 4);
  CHECK(p.cheapest.shots == 3);
  CHECK(p.cheapest.cost == 104.0);
  CHECK(p.cheapest.power == within(0.819382599901, 1e-9));
}

TEST_CASE("bow plan: dear shots make more bows worth it, dear bows more shots") {
  // The same three candidates. Shots as dear as bows: 4·(1 + 3) = 16, 5·(1 + 2) = 15, 6·(1 + 1) = 12, each twice.
  BowPlanQuestion q = usual;
  q.costs = {.bow = 1.0, .shot = 1.0};
  CHECK(bow_plan(q).cheapest.bows == 6);
  CHECK(bow_plan(q).cheapest.shots == 1);
  CHECK(bow_plan(q).cheapest.cost == 24.0);
  // Shots that cost nothing: the fewest bows that can do it, with the fewest shots that do.
  q.costs = {.bow = 7.0, .shot = 0.0};
  CHECK(bow_plan(q).cheapest.bows == 4);
  CHECK(bow_plan(q).cheapest.shots == 3);
  CHECK(bow_plan(q).cheapest.cost == 56.0);
  // Bows that cost nothing: 4·3 = 12, 5·2 = 10, 6·1 = 6 shots of each kind.
  q.costs = {.bow = 0.0, .shot = 2.5};
  CHECK(bow_plan(q).cheapest.bows == 6);
  CHECK(bow_plan(q).cheapest.cost == 30.0);
}

TEST_CASE("bow plan: no other numbers of bows and shots do it at a lower cost, by trying them all") {
  for (const double bow_sd : {0.3, 1.0, 2.5})
    for (const double shot_sd : {0.4, 2.0, 6.0})
      for (const BowCosts& costs : {BowCosts{}, BowCosts{1, 1}, BowCosts{200, 1}, BowCosts{0, 1}, BowCosts{1, 30}})
        for (const double power : {0.5, 0.8}) {
          if (power == 0.5 && shot_sd != 2.0) continue;
          CAPTURE(bow_sd);
          CAPTURE(shot_sd);
          CAPTURE(costs.bow);
          const BowPlanQuestion q{
              .resolve = 4.0, .bow_sd = bow_sd, .shot_sd = shot_sd, .costs = costs, .power = Power{power}};
          const BowCell found = bow_plan(q).cheapest;
          // Beyond 60 bows or 400 shots with each nothing is cheaper than what the smaller numbers reach.
          const auto best = tried(q, 60, 400);
          REQUIRE(best);
          CHECK(found.cost == best->cost);
          CHECK(found.bows == best->bows);
          CHECK(found.shots == best->shots);
          CHECK(found.power == best->power);
          CHECK(found.power >= power - 1e-8);
        }
}

TEST_CASE("bow plan: level, power and display step are those asked for") {
  BowPlanQuestion q = usual;
  q.level = ConfidenceLevel{0.99};
  q.power = Power{0.9};
  q.step = DisplayStep{Decimal{2, 0}};
  const BowPlan p = bow_plan(q);
  const BowDesign chosen{p.cheapest.bows, p.cheapest.shots, 1.0, 1.2, 2.0};
  CHECK(p.cheapest.power == bow_power(3.0, chosen, ConfidenceLevel{0.99}).power);
  CHECK(p.cheapest.power >= 0.9);
  CHECK(p.cheapest.cost == tried(q, 40, 100)->cost);
  // R: power.t.test(n = k, delta = 3, sd = sqrt(1 + (1.44 + 4/12)/n), sig.level = .01, strict = TRUE)
  const auto row = std::find_if(p.rows.begin(), p.rows.end(), [](const BowPlan::Row& r) { return r.bows == 5; });
  REQUIRE(row != p.rows.end());
  const auto at = std::find(p.shots_shown.begin(), p.shots_shown.end(), 2) - p.shots_shown.begin();
  CHECK(row->power[static_cast<std::size_t>(at)] == within(0.566051386136, 1e-9));
}

TEST_CASE("bow plan: gap and width are those of the test told") {
  const BowPlan p = bow_plan(usual);
  // σ_m² = 1 + (1.44 + 1/12)/3; R, k = 4: power.t.test(n = 4, power = .8, sd = sqrt(1 + (1.44 + 1/12)/3), strict =
  // TRUE, tol = 1e-12)$delta
  CHECK(p.detectable_gap == within(2.92336626298, 1e-7));
  // t(0.975; 6)·σ_m·√(2/4)·E[s], E[s] = √(2/6)·Γ(3.5)/Γ(3); R: qt(.975, 6)
  const double sigma = std::sqrt(1.0 + (1.44 + 1.0 / 12.0) / 3.0);
  const double mean_s = std::sqrt(2.0 / 6.0) * std::tgamma(3.5) / std::tgamma(3.0);
  CHECK(p.half_width == within(2.446911851 * sigma * std::sqrt(0.5) * mean_s, 1e-8));
}

TEST_CASE("bow plan: how far single bows of like kinds lie apart, which is why one of each kind is never enough") {
  // SD √2·σ_b; |N(0, 1)| is above Φ⁻¹(5/6) = 0.967421566 in one case of three.
  const BowPlan p = bow_plan({.resolve = 8.0, .bow_sd = 2.5, .shot_sd = 1.2});
  CHECK(p.luck_of_two == within(3.535533906, 1e-9));
  CHECK(p.one_in_three == within(3.535533906 * 0.967421566, 1e-8));
  for (const BowPlan::Row& r : p.rows) CHECK(r.bows >= 2);
}

TEST_CASE(
    "bow plan: the grid has the small numbers of bows and those about the answer, the answer's shots among them") {
  const BowPlan p = bow_plan({.resolve = 1.5, .bow_sd = 1.0, .shot_sd = 1.2});
  std::vector<std::int64_t> bows;
  for (const BowPlan::Row& r : p.rows) {
    bows.push_back(r.bows);
    CHECK(r.power.size() == p.shots_shown.size());
    for (std::size_t i = 0; i < r.power.size(); ++i) {
      CHECK(r.power[i] < r.limit);
      if (i > 0) CHECK(r.power[i] > r.power[i - 1]);
      if (r.bows == p.cheapest.bows && p.shots_shown[i] == p.cheapest.shots) CHECK(r.power[i] == p.cheapest.power);
    }
  }
  const std::int64_t k = p.cheapest.bows;
  REQUIRE(k > 7);
  CHECK(bows == std::vector<std::int64_t>{2, 3, 4, 5, 6, k - 1, k, k + 1});
  CHECK(std::is_sorted(p.shots_shown.begin(), p.shots_shown.end()));
  for (const std::int64_t n : {std::int64_t{1}, std::int64_t{2}, std::int64_t{4}, std::int64_t{10}, p.cheapest.shots})
    CHECK(std::count(p.shots_shown.begin(), p.shots_shown.end(), n) == 1);
  // Two bows of each kind can be the answer; one of each kind is then not looked at.
  const BowPlan two = bow_plan({.resolve = 100.0, .bow_sd = 1.0, .shot_sd = 1.2});
  CHECK(two.cheapest.bows == 2);
  CHECK(two.cheapest.shots == 1);
  CHECK(two.rows.front().bows == 2);
}

TEST_CASE("bow plan: more than a thousand bows of each kind are no answer, a thousand are") {
  // Bows alone, normal law: k = 2σ²(2.801585/gap)², plus z²/4 ≈ 1 for Student's t: gap 0.126 → 988.8, 0.125 → 1004.6.
  const BowPlan p = bow_plan({.resolve = 0.126, .bow_sd = 1.0, .shot_sd = 0.001, .step = DisplayStep{Decimal{1, 3}}});
  CHECK(p.cheapest.bows == 990);  // R, power.t.test(n, delta = .126, sd = 1, strict = TRUE): 989 0.79971, 990 0.80011
  const std::string reason =
      "more than 1000 bows of each kind, or more than 10000 shots with each kind, would be needed; a larger gap, or "
      "kinds whose bows are more alike, would help";
  for (const double gap : {0.125, 0.1}) {
    CAPTURE(gap);
    CHECK_THROWS_WITH_AS(bow_plan({.resolve = gap, .bow_sd = 1.0, .shot_sd = 1.2}), reason.c_str(), NoAnswer);
  }
  // A shot SD so large that shots decide: 2·(36² + 1/12)·(2.801585/gap)² with each kind, however they are dealt to
  // bows, 10 176 for a gap of 1.414 and 9 888 for 1.4344.
  BowPlanQuestion q{.resolve = 1.414, .bow_sd = 0.001, .shot_sd = 36.0};
  CHECK_THROWS_WITH_AS(bow_plan(q), reason.c_str(), NoAnswer);
  q.resolve = 1.4344;
  const BowPlan many = bow_plan(q);
  CHECK(many.cheapest.bows * many.cheapest.shots <= 10'000);
  CHECK(many.cheapest.power >= 0.8 - 1e-8);
}

TEST_CASE("bow plan: a question that is none is refused with what is missing") {
  const auto with = [](auto change) {
    BowPlanQuestion q = usual;
    change(q);
    return refusal(q);
  };
  for (const double gap : {0.09, 0.0, -3.0, std::nan(""), infinity})
    CHECK(with([&](BowPlanQuestion& q) { q.resolve = gap; }) ==
          "a gap below a tenth of the display step of 1 is beyond what the display can tell");
  CHECK(with([](BowPlanQuestion& q) {
          q.step = DisplayStep{Decimal{1, 1}};
          q.resolve = 0.009;
        }) == "a gap below a tenth of the display step of 0.1 is beyond what the display can tell");
  for (const double sd : {0.0, -1.0, std::nan(""), infinity}) {
    CHECK(with([&](BowPlanQuestion& q) { q.bow_sd = sd; }) ==
          "the SD between bows must be more than 0; no two bows are quite alike");
    CHECK(with([&](BowPlanQuestion& q) { q.shot_sd = sd; }) == "the SD of a shot must be more than 0");
  }
  CHECK(with([](BowPlanQuestion& q) { q.power = Power{0.05}; }) ==
        "the power asked is no more than what chance alone finds");
  for (const BowCosts& costs : {BowCosts{0, 0}, BowCosts{-1, 1}, BowCosts{1, -1}, BowCosts{std::nan(""), 1},
                                BowCosts{1, std::nan("")}, BowCosts{infinity, 1}, BowCosts{1, infinity}})
    CHECK(with([&](BowPlanQuestion& q) { q.costs = costs; }) == "costs must be 0 or more, and one of them more than 0");
}
