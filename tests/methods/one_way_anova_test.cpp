#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <shotassay/methods/one_way_anova.hpp>
#include <string>
#include <vector>

using shotassay::DomainError;
using shotassay::NoAnswer;
using shotassay::one_way_anova;
using shotassay::OneWayAnova;
using shotassay::Sample;

namespace {

/// NIST's rule for the SmLs sets: group centres base + 0.4 0.3 0.5 0.3 …, then a tenth below and above, alternately.
std::vector<Sample> smls(std::int64_t base, int shots) {
  std::vector<Sample> groups;
  for (const int offset : {4, 3, 5, 3, 5, 3, 5, 3, 5}) {
    const std::int64_t centre = base * 10 + offset;
    std::vector<std::int64_t> steps{centre};
    for (int i = 1; i < shots; i += 2) {
      steps.push_back(centre - 1);
      steps.push_back(centre + 1);
    }
    groups.push_back(decimal_sample(steps, 1));
  }
  return groups;
}

/// All digits NIST certifies; it prints 15, and a printed value is off by up to half a unit of the 15th.
void agrees(const OneWayAnova& r, const std::string& id) {
  CAPTURE(std::string{id});
  const Published certified{id};
  CHECK(r.between_df == certified.value("df_between"));
  CHECK(r.within_df == certified.value("df_within"));
  CHECK(r.between_squares == digits(certified.value("ss_between"), 14));
  CHECK(r.within_squares == digits(certified.value("ss_within"), 14));
  CHECK(r.between_mean_square == digits(certified.value("ms_between"), 14));
  CHECK(r.within_mean_square == digits(certified.value("ms_within"), 14));
  CHECK(r.f == digits(certified.value("F"), 14));
  CHECK(r.r_squared == digits(certified.value("r2"), 14));
  CHECK(std::sqrt(r.within_mean_square) == digits(certified.value("residual_sd"), 14));
}

}  // namespace

TEST_CASE("anova: the NIST certified sets to 14 digits, however large the mean") {
  agrees(one_way_anova(Published{"strd-anova-sirstv"}.groups("groups")), "strd-anova-sirstv");
  agrees(one_way_anova(smls(1, 21)), "strd-anova-smls01");
  agrees(one_way_anova(smls(1, 201)), "strd-anova-smls02");
  agrees(one_way_anova(smls(1, 2001)), "strd-anova-smls03");
  agrees(one_way_anova(smls(1'000'000, 21)), "strd-anova-smls04");
  agrees(one_way_anova(smls(1'000'000, 2001)), "strd-anova-smls06");
  agrees(one_way_anova(smls(1'000'000'000'000, 21)), "strd-anova-smls07");
  agrees(one_way_anova(smls(1'000'000'000'000, 2001)), "strd-anova-smls09");
}

TEST_CASE("anova: moving every reading by a million million leaves each figure the same to the last bit") {
  const OneWayAnova near = one_way_anova(smls(1, 201)), far = one_way_anova(smls(1'000'000'000'000, 201));
  CHECK(near.f == far.f);
  CHECK(near.between_squares == far.between_squares);
  CHECK(near.within_squares == far.within_squares);
}

TEST_CASE("anova: gear diameters and resistors of the NIST handbook") {
  for (const char* id : {"ehb-gear-anova", "ehb-7.4.3-anova"}) {
    CAPTURE(std::string{id});
    const Published check{id};
    const OneWayAnova r = one_way_anova(check.groups("groups"));
    CHECK(r.between_squares == check.expected("ss_between"));
    CHECK(r.within_squares == check.expected("ss_within"));
    CHECK(r.between_mean_square == check.expected("ms_between"));
    CHECK(r.within_mean_square == check.expected("ms_within"));
    CHECK(r.f == check.expected("F"));
  }
}

TEST_CASE("anova: Michelson's five runs of twenty") {
  const Published check{"morley-expt"};
  const auto column = reference_column("strd_michelso.csv");
  std::vector<Sample> runs;
  for (auto run = column.begin(); run != column.end(); run += 20) runs.push_back(sample_of({run, run + 20}, 3));
  CHECK(one_way_anova(runs).f == check.expected("F"));
}

TEST_CASE("anova: two set-ups by hand, where F is the square of the pooled t") {
  // 1 2 3 and 2 4 6: between = 3·3/6 · 2² = 6 on 1; within = 2 + 8 = 10 on 4; F = 6/2.5; t² = 2²/(2.5·(1/3 + 1/3))
  // = 2.4
  const std::vector<Sample> two{sample({1, 2, 3}), sample({2, 4, 6})};
  const OneWayAnova r = one_way_anova(two);
  CHECK(r.between_squares == 6);
  CHECK(r.within_squares == 10);
  CHECK(r.within_mean_square == 2.5);
  CHECK(r.f == digits(2.4, 15));
  CHECK(r.r_squared == digits(6.0 / 16, 15));
}

TEST_CASE("anova: the display step scales squares and leaves ratios alone") {
  const std::vector<Sample> whole{sample({1, 2, 3}), sample({2, 4, 6, 7})};
  const std::vector<Sample> tenth{decimal_sample({1, 2, 3}, 1), decimal_sample({2, 4, 6, 7}, 1)};
  const OneWayAnova a = one_way_anova(whole), b = one_way_anova(tenth);
  CHECK(b.f == a.f);
  CHECK(b.r_squared == a.r_squared);
  CHECK(b.between_squares == digits(a.between_squares / 100, 15));
  CHECK(b.within_mean_square == digits(a.within_mean_square / 100, 15));
}

TEST_CASE("anova: a set-up of one shot counts between, not within") {
  // 1 3 and 5: between = 2·1/3 · 3² = 6 on 1, within = 2 on 1, F = 3
  const std::vector<Sample> setups{sample({1, 3}), sample({5})};
  const OneWayAnova r = one_way_anova(setups);
  CHECK(r.f == digits(3.0, 15));
  CHECK(r.within_df == 1);
}

TEST_CASE("anova: no scatter within makes F infinite, no scatter at all has no answer") {
  const std::vector<Sample> apart{sample({271, 271}), sample({272, 272})};
  CHECK(std::isinf(one_way_anova(apart).f));
  CHECK(one_way_anova(apart).r_squared == 1);
  const std::vector<Sample> same{sample({271, 271}), sample({271, 271})};
  CHECK_THROWS_WITH_AS(one_way_anova(same), "one_way_anova: all readings are equal", NoAnswer);
  const std::vector<Sample> level{sample({270, 272}), sample({269, 273})};
  CHECK(one_way_anova(level).f == 0);
}

TEST_CASE("anova: too few set-ups, too few shots and mixed displays are refused with their numbers") {
  const std::vector<Sample> one{sample({1, 2})}, singles{sample({1}), sample({2})},
      mixed{sample({1, 2}), decimal_sample({10, 20}, 1)};
  CHECK_THROWS_WITH_AS(one_way_anova(one), "one_way_anova: needs 2 or more set-ups, got 1", DomainError);
  CHECK_THROWS_WITH_AS(one_way_anova(singles), "one_way_anova: needs more shots than set-ups, got 2 and 2",
                       DomainError);
  CHECK_THROWS_WITH_AS(one_way_anova(mixed), "two set-ups need one display step, got 1 and 0.1", DomainError);
}
