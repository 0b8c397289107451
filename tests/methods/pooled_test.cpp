#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <shotassay/methods/pooled.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::NoAnswer;
using shotassay::pooled;
using shotassay::PooledResult;
using shotassay::Sample;

TEST_CASE("pooled: a pair worked by hand") {
  // 1 2 3 and 2 4 6: s_p² = (2 + 8)/4 = 2.5, se² = 2.5·(1/3 + 1/3) = 5/3, ν = 4, t = 2/√(5/3)
  const PooledResult r = pooled(sample({1, 2, 3}), sample({2, 4, 6}));
  CHECK(r.difference == 2);
  CHECK(r.pooled_sd == digits(std::sqrt(2.5), 15));
  CHECK(r.standard_error == digits(std::sqrt(5.0 / 3), 15));
  CHECK(r.t == digits(2 / std::sqrt(5.0 / 3), 15));
  CHECK(r.degrees_of_freedom == 4);
}

TEST_CASE("pooled: US against Japanese cars of the NIST handbook") {
  const Published check{"ehb-auto83b-pooled"};
  const Sample us = sample_of(reference_column("nist_auto83b.csv", "us"));
  const Sample jp = sample_of(reference_column("nist_auto83b.csv", "jp"));
  const PooledResult r = pooled(jp, us);  // published: us minus jp
  CHECK(r.t == check.expected("t"));
  CHECK(r.degrees_of_freedom == check.value("df"));
  CHECK(r.pooled_sd == check.expected("sp"));
  CHECK(r.interval.lower == check.expected("lo"));
  CHECK(r.interval.upper == check.expected("hi"));
  CHECK(r.interval.half_width() / r.standard_error == check.expected("t_crit"));
}

TEST_CASE("pooled: sixty random pairs agree with R") {
  for (const auto& row : reference_table("welch.csv")) {
    CAPTURE(row[2]);
    CAPTURE(row[3]);
    const int decimals = static_cast<int>(number_in(row[0]));
    const double step = std::pow(10.0, -decimals);
    const PooledResult r = pooled(decimal_sample(steps_in(row[2]), decimals),
                                  decimal_sample(steps_in(row[3]), decimals), ConfidenceLevel{number_in(row[1])});
    CHECK(r.t == within(number_in(row[10]), 1e-11 * (1 + std::abs(r.t))));
    CHECK(r.degrees_of_freedom == number_in(row[11]));
    CHECK(r.standard_error == digits(number_in(row[12]) * step, 12));
    CHECK(r.p_two_sided == digits(number_in(row[13]), 10));
    CHECK(r.interval.lower == within(number_in(row[14]) * step, 1e-10 * r.interval.half_width()));
    CHECK(r.interval.upper == within(number_in(row[15]) * step, 1e-10 * r.interval.half_width()));
  }
}

TEST_CASE("pooled: as Tukey's method in a family, and as Kramer's where the groups differ in size") {
  for (const std::string id : {"tukey-equal-n", "tukey-kramer"}) {
    const Published check{id};
    const auto groups = check.groups("groups");
    const std::string names = "123";
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = i + 1; j < 3; ++j) {
        const std::string pair{names[i], names[j]};
        CAPTURE(id);
        CAPTURE(pair);
        const PooledResult r = pooled(groups, j, i);  // published: i minus j
        CHECK(r.p_two_sided == check.expected("p_" + pair));
        if (pair == "12") {
          CHECK(r.interval.lower == check.expected("lo_12"));
          CHECK(r.interval.upper == check.expected("hi_12"));
        }
      }
  }
}

TEST_CASE("pooled: four groups of the NIST handbook, limits good to its two decimals") {
  // The page works with q = 4.05 to two decimals; half-widths there are 2.09.
  const Published check{"ehb-7.4.7-tukey"};
  const auto groups = check.groups("groups");
  const std::string names = "1234";
  for (const std::string pair : {"21", "31", "14", "23", "34"}) {
    CAPTURE(pair);
    const PooledResult r = pooled(groups, names.find(pair[1]), names.find(pair[0]));
    CHECK(r.interval.lower == check.expected("lo_" + pair));
    CHECK(r.interval.upper == check.expected("hi_" + pair));
  }
}

TEST_CASE("pooled: intervals of the resistors without a family, each pair with the SD of all three") {
  // Two set-ups use Student's t on their own shots; the handbook's three pool ν = 12: compare half-widths by q/√2 =
  // t·c.
  const Published check{"ehb-7.4.3-ci"};
  const auto groups = check.groups("groups");
  const PooledResult r = pooled(groups, 0, 2);
  CHECK(r.degrees_of_freedom == 12);
  // The handbook's limits are those of one pair, with t(0.975; 12) = 2.178812829667228 (R: qt(0.975, 12)); ours hold
  // for all three pairs and are longer.
  const double lower = r.difference - 2.178812829667228 * r.standard_error;
  CHECK(lower == check.expected("lo_31"));
  CHECK(r.interval.lower < lower);
}

TEST_CASE("pooled: a third set-up lends its degrees of freedom, even one of a single shot its place in the family") {
  const std::vector<Sample> three{sample({1, 2, 3}), sample({2, 4, 6}), sample({7, 9})};
  // squares 2 + 8 + 2 = 12 on 8 − 3 = 5
  CHECK(pooled(three, 0, 1).pooled_sd == digits(std::sqrt(12.0 / 5), 15));
  CHECK(pooled(three, 0, 1).degrees_of_freedom == 5);
  const std::vector<Sample> single{sample({1, 2, 3}), sample({2, 4, 6}), sample({7})};
  CHECK(pooled(single, 0, 2).degrees_of_freedom == 4);
  CHECK(pooled(single, 0, 2).difference == 5);
}

TEST_CASE("pooled: shifting, swapping and scaling") {
  const Sample a = sample({271, 274, 272}), b = sample({275, 279, 276, 274});
  const PooledResult ab = pooled(a, b), ba = pooled(b, a);
  CHECK(ba.t == digits(-ab.t, 15));
  CHECK(ba.interval.lower == digits(-ab.interval.upper, 14));
  const PooledResult far =
      pooled(sample({1'000'271, 1'000'274, 1'000'272}), sample({1'000'275, 1'000'279, 1'000'276, 1'000'274}));
  CHECK(far.t == ab.t);
  CHECK(far.interval == ab.interval);
  const PooledResult tenth = pooled(decimal_sample({271, 274, 272}, 1), decimal_sample({275, 279, 276, 274}, 1));
  CHECK(tenth.p_two_sided == digits(ab.p_two_sided, 14));
  CHECK(tenth.pooled_sd == digits(ab.pooled_sd / 10, 15));
  CHECK(tenth.interval.upper == digits(ab.interval.upper / 10, 14));
}

TEST_CASE("pooled: no scatter anywhere has no answer") {
  CHECK_THROWS_WITH_AS(pooled(sample({271, 271}), sample({274, 274})),
                       "pooled: every SD is 0, so no width can be computed", NoAnswer);
}

TEST_CASE("pooled: wrong set-ups, too few shots and mixed displays are refused") {
  const std::vector<Sample> two{sample({271, 272}), sample({274, 275})};
  CHECK_THROWS_WITH_AS(pooled(two, 0, 2), "pooled: needs two different set-ups out of 2", DomainError);
  CHECK_THROWS_WITH_AS(pooled(two, 2, 0), "pooled: needs two different set-ups out of 2", DomainError);
  CHECK_THROWS_WITH_AS(pooled(two, 1, 1), "pooled: needs two different set-ups out of 2", DomainError);
  CHECK_THROWS_WITH_AS(pooled(std::vector<Sample>{}, 0, 1), "pooled: needs two different set-ups out of 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(pooled(sample({271}), sample({274})), "pooled: needs more shots than set-ups, got 2 and 2",
                       DomainError);
  CHECK_THROWS_WITH_AS(pooled(sample({271, 272}), decimal_sample({2740, 2751}, 1)),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
}
