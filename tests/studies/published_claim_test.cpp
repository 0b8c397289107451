#include <doctest/doctest.h>

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/studies/published_claim.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

PublishedSetup setup(const std::string& name, std::int64_t shots, const char* average, const char* sd = nullptr) {
  PublishedSetup s{.reported = {.name = name, .figures = {.shots = shots}}};
  s.reported.figures.average = Decimal::parse(average);
  if (sd != nullptr) s.reported.figures.sd = Decimal::parse(sd);
  return s;
}

PublishedClaim claim(const PublishedSetup& a, const PublishedSetup& b) { return {.setups = {a, b}}; }

std::vector<std::optional<std::int64_t>> shots(const ClaimNeeds& needs) {
  std::vector<std::optional<std::int64_t>> list;
  for (const ClaimNeed& n : needs.shots) list.push_back(n.shots);
  return list;
}

}  // namespace

TEST_CASE("published_audit: shots needed for the printed gap, for each usual scatter") {
  const auto found = published_audit(claim(setup("a", 3, "281"), setup("b", 3, "284")));
  REQUIRE(found.needs.size() == 1);
  CHECK(!found.needs[0].chronographs);
  CHECK(found.needs[0].shots[0].shooter->name == "machine");
  // R: power.t.test(delta = 3, sd = sqrt(s^2 + 1/12), power = .8)$n is 3.199 for s = 1 and 8.203 for s = 2. For s = 0.4
  // Welch's test, simulated in R 4e5 times (seed 1), finds the gap in 0.517 of tests with two shots, 0.995 with three.
  CHECK(shots(found.needs[0]) == std::vector<std::optional<std::int64_t>>{3, 4, 9});
}

TEST_CASE("published_audit: reading sets give the scatter where an SD was printed, once where it is one") {
  const auto one = published_audit(claim(setup("a", 5, "187.2", "0.8"), setup("b", 5, "190.2", "0.8"))).needs[0];
  REQUIRE(one.shots.size() == 4);
  CHECK(one.shots[3].origin == ShotSdOrigin::least_of_sets);
  CHECK(one.shots[3].sd_from == digits(std::sqrt(0.7), 13));  // 186 187 187 188 188: squares of deviations sum to 2.8
  // No scatter was seen: the display hides up to 1/√12 of a step.
  const auto none = published_audit(claim(setup("a", 3, "281", "0.0"), setup("b", 3, "284", "1.0"))).needs[0];
  CHECK(none.shots[3].sd_from == digits(std::sqrt(1.0 / 12), 14));
  CHECK(none.shots[3].sd_to == digits(1.0, 14));
}

TEST_CASE("published_audit: nothing is needed for no gap, and sameness asks for other shots") {
  CHECK(published_audit(claim(setup("a", 3, "281"), setup("b", 3, "281"))).needs[0].shots.empty());
  PublishedClaim same = claim(setup("a", 3, "281"), setup("b", 3, "281"));
  same.options.margin = 3.0;
  same.options.claimed = Verdict::same;
  const auto needs = published_audit(same).needs[0];
  CHECK(*needs.same_within == 3.0);
  REQUIRE(needs.shots.size() == 3);
  for (const ClaimNeed& n : needs.shots) CHECK(n.shots.has_value());
}

TEST_CASE("published_audit: two chronographs may differ by z times their joint uncertainty, and no shots are named") {
  PublishedClaim two = claim(setup("a", 3, "281"), setup("b", 3, "284"));
  two.setups[0].reported.accuracy = two.setups[1].reported.accuracy = 0.02;
  const auto needs = published_audit(two).needs[0];
  CHECK(needs.shots.empty());
  // Rectangular, ±2 % of each; z = 1.959963984540054 of the normal tables.
  CHECK(*needs.chronographs == digits(1.959963984540054 * 0.02 * std::hypot(281.0, 284.0) / std::sqrt(3.0), 13));
}

TEST_CASE("published_audit: a best reading is the highest of the readings, and lies above the average by luck") {
  PublishedSetup best{.reported = {.name = "a", .figures = {.shots = 10}}, .best = Decimal::parse("284")};
  const auto found = published_audit({.setups = {best}});
  REQUIRE(found.setups[0].best.size() == 3);
  CHECK(found.setups[0].best[1].added == within(1.53875, 1e-5));  // Teichroew (1956), from memory
  best.reported.most_shots = 12;                                  // best of how many is not known
  CHECK(published_audit({.setups = {best}}).setups[0].best.empty());
}

TEST_CASE("published_audit: energy and momentum against mass and speed") {
  PublishedSetup a = setup("a", 3, "300");
  a.energy = Decimal::parse("69.93");
  CHECK(published_audit({.setups = {a}}).setups[0].no_energy == "needs the arrow's mass and a speed");
  a.arrow_mass = Decimal::parse("350");
  const auto found = published_audit({.setups = {a}}).setups[0];
  CHECK(found.energy->verdict == FigureVerdict::reproduced);  // 350·300²/450436.68 = 69.93
  CHECK(!found.momentum);
  CHECK(published_audit({.setups = {a}, .unit = SpeedUnit::metres_per_second}).setups[0].no_energy ==
        "is checked in grains, fps and ft·lbf only");
}

TEST_CASE(
    "published_audit: the second speed is brought to the first's conditions, and a printed digit is rectangular") {
  PublishedSetup a = setup("a", 5, "190"), b = setup("b", 5, "196");
  a.draw_weight = Decimal::parse("38.0");
  b.draw_weight = Decimal::parse("40.0");
  const auto found = published_audit(claim(a, b));
  REQUIRE(found.common_gap);
  // v′ = v − 2·(v + v′)/2/(2·39): v′ = v·(1 − 1/78)/(1 + 1/78) = 196·77/79
  CHECK(found.common_gap->gap == digits(196.0 * 77 / 79 - 190, 11));
  CHECK(found.common_gap->standard_uncertainty > 0.0);
  CHECK(!published_audit(claim(setup("a", 5, "190"), setup("b", 5, "196"))).common_gap);
}
