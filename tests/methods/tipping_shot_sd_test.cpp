#include <shotassay/methods/tipping_shot_sd.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include <shotassay/methods/welch.hpp>

#include "support/close.hpp"

using namespace shotassay;

TEST_CASE("tipping_shot_sd: a gap of 3 from three shots each") {
  // R: 3/(qt(.975, 4)*sqrt(2/3))
  const auto sd = tipping_shot_sd(3, 3, 3);
  REQUIRE(sd);
  CHECK(*sd == digits(1.32335935880606, 14));
  CHECK(*tipping_shot_sd(-3, 3, 3) == *sd);
}

TEST_CASE("tipping_shot_sd: unequal numbers of shots, level and family") {
  // 3 and 5 shots: ν = (8/15)²/(1/18 + 1/100) = 256/59; R: 3/(qt(.975, 256/59)*sqrt(8/15))
  CHECK(*tipping_shot_sd(3, 3, 5) == digits(1.52543056849003, 14));
  CHECK(*tipping_shot_sd(3, 5, 3) == digits(*tipping_shot_sd(3, 3, 5), 14));
  // R: qt(.95, 4) = 2.13184678632665
  CHECK(*tipping_shot_sd(3, 3, 3, ConfidenceLevel{0.9}) == digits(3 / (2.13184678632665 * std::sqrt(2.0 / 3)), 13));
  const double q = Family{3}.factor(0.05, 4);
  CHECK(*tipping_shot_sd(3, 3, 3, ConfidenceLevel{0.95}, Family{3}) == digits(3 / (q * std::sqrt(2.0 / 3)), 13));
}

TEST_CASE("tipping_shot_sd: plain Welch leaves out 0 just below it and takes it in just above") {
  for (const double gap : {0.3, 3.0, -12.0})
    for (const std::int64_t n : {2, 3, 10})
      for (const std::int64_t m : {2, 4, 30}) {
        const double s = *tipping_shot_sd(gap, n, m);
        const auto interval = [&](double sd) {
          return welch(GroupSummary{0, sd, n}, GroupSummary{gap, sd, m}).interval;
        };
        CHECK(!interval(s * (1 - 1e-12)).contains(0));
        CHECK(interval(s * (1 + 1e-12)).contains(0));
      }
}

TEST_CASE("tipping_shot_sd: of a printed gap and of what it may stand for") {
  const auto r = tipping_shot_sd(3, {7.0 / 3, 11.0 / 3}, 3, 3);
  CHECK(*r.at_printed == *tipping_shot_sd(3, 3, 3));
  CHECK(*r.lowest == *tipping_shot_sd(7.0 / 3, 3, 3));
  CHECK(*r.highest == *tipping_shot_sd(11.0 / 3, 3, 3));
  const auto slower = tipping_shot_sd(-3, {-11.0 / 3, -7.0 / 3}, 3, 3);
  CHECK(*slower.lowest == *r.lowest);
  CHECK(*slower.highest == *r.highest);
}

TEST_CASE("tipping_shot_sd: absent for no gap, and from below where the gap may be none") {
  CHECK(!tipping_shot_sd(0, 3, 3));
  const auto r = tipping_shot_sd(1, {-0.5, 2.5}, 3, 3);
  CHECK(!r.lowest);
  CHECK(*r.highest == *tipping_shot_sd(2.5, 3, 3));
  CHECK(!tipping_shot_sd(1, {0, 2}, 3, 3).lowest);
  CHECK(!tipping_shot_sd(0, {-1, 1}, 3, 3).at_printed);
}

TEST_CASE("tipping_shot_sd: refusals") {
  CHECK_THROWS_WITH_AS(tipping_shot_sd(3, 1, 3), "tipping_shot_sd: needs 2 or more shots in a set-up, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(tipping_shot_sd(3, 3, 0), "tipping_shot_sd: needs 2 or more shots in a set-up, got 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(tipping_shot_sd(std::numeric_limits<double>::infinity(), 3, 3),
                       "tipping_shot_sd: the gap must be a number", DomainError);
  CHECK_THROWS_WITH_AS(tipping_shot_sd(3, Interval{2, 1}, 3, 3),
                       "tipping_shot_sd: needs a range of gaps, got 2.000000 to 1.000000", DomainError);
}
