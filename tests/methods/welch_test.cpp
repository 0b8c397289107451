#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <shotassay/methods/welch.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::Family;
using shotassay::GroupSummary;
using shotassay::NoAnswer;
using shotassay::Sample;
using shotassay::welch;
using shotassay::WelchResult;

TEST_CASE("welch: a pair worked by hand has 50/17 degrees of freedom") {
  // 1 2 3 and 2 4 6: s² = 1 and 4, n = 3 each; se² = 1/3 + 4/3 = 5/3; ν = (5/3)² / ((1/9 + 16/9)/2) = 50/17
  const WelchResult r = welch(sample({1, 2, 3}), sample({2, 4, 6}));
  CHECK(r.difference == 2);
  CHECK(r.standard_error == digits(std::sqrt(5.0 / 3), 15));
  CHECK(r.t == digits(2 / std::sqrt(5.0 / 3), 15));
  CHECK(r.degrees_of_freedom == digits(50.0 / 17, 15));
}

TEST_CASE("welch: US against Japanese cars, from the readings of the NIST handbook") {
  const Published check{"ehb-auto83b-welch"};
  const Sample us = sample_of(reference_column("nist_auto83b.csv", "us"));
  const Sample jp = sample_of(reference_column("nist_auto83b.csv", "jp"));
  const WelchResult r = welch(jp, us);  // published: us minus jp
  CHECK(r.t == check.expected("t"));
  CHECK(r.degrees_of_freedom == check.expected("df"));
}

TEST_CASE("welch: Student's sleep data as two groups") {
  const Published check{"sleep-welch"};
  const WelchResult r = welch(check.readings("y"), check.readings("x"));  // published: first minus second
  CHECK(r.t == check.expected("t"));
  CHECK(r.degrees_of_freedom == check.expected("df"));
  CHECK(r.p_two_sided == check.expected("p"));
  CHECK(r.interval.lower == check.expected("lo"));
  CHECK(r.interval.upper == check.expected("hi"));
}

TEST_CASE("welch: unequal groups, the smaller with the larger variance") {
  const Published check{"welch-ex2"};
  const WelchResult r = welch(check.readings("y"), check.readings("x"));
  CHECK(r.t == check.expected("t"));
  CHECK(r.degrees_of_freedom == check.expected("df"));
  CHECK(r.p_two_sided == check.expected("p"));
}

TEST_CASE("welch: printed means, SDs and numbers of shots are enough") {
  for (const std::string id : {"welch-summary-auto83b", "welch-summary-281-284"}) {
    CAPTURE(id);
    const Published check{id};
    const auto mean = check.numbers("mean"), sd = check.numbers("sd"), n = check.numbers("n");
    const GroupSummary first{mean[0], sd[0], static_cast<std::int64_t>(n[0])};
    const GroupSummary second{mean[1], sd[1], static_cast<std::int64_t>(n[1])};
    const WelchResult r = welch(second, first);  // published: first minus second
    CHECK(r.difference == check.expected("diff"));
    CHECK(r.standard_error == check.expected("se"));
    CHECK(r.t == check.expected("t"));
    CHECK(r.degrees_of_freedom == check.expected("df"));
    CHECK(r.p_two_sided == check.expected("p"));
    CHECK(r.interval.lower == check.expected("lo"));
    CHECK(r.interval.upper == check.expected("hi"));
  }
}

TEST_CASE("welch: sixty random pairs agree with R") {
  // data/reference/welch.R: differences of means keep about 12 digits there, p and limits follow.
  for (const auto& row : reference_table("welch.csv")) {
    CAPTURE(row[2]);
    CAPTURE(row[3]);
    const int decimals = static_cast<int>(number_in(row[0]));
    const double step = std::pow(10.0, -decimals);
    const WelchResult r = welch(decimal_sample(steps_in(row[2]), decimals), decimal_sample(steps_in(row[3]), decimals),
                                ConfidenceLevel{number_in(row[1])});
    CHECK(r.t == within(number_in(row[4]), 1e-11 * (1 + std::abs(r.t))));
    CHECK(r.degrees_of_freedom == digits(number_in(row[5]), 12));
    CHECK(r.standard_error == digits(number_in(row[6]) * step, 12));
    CHECK(r.p_two_sided == digits(number_in(row[7]), 10));
    CHECK(r.interval.lower == within(number_in(row[8]) * step, 1e-10 * r.interval.half_width()));
    CHECK(r.interval.upper == within(number_in(row[9]) * step, 1e-10 * r.interval.half_width()));
  }
}

TEST_CASE("welch: a million more on every shot leaves t, ν and the interval as they were, to the last bit") {
  const WelchResult near = welch(sample({271, 274, 272}), sample({275, 279, 276, 274}));
  const WelchResult far =
      welch(sample({1'000'271, 1'000'274, 1'000'272}), sample({1'000'275, 1'000'279, 1'000'276, 1'000'274}));
  CHECK(far.t == near.t);
  CHECK(far.degrees_of_freedom == near.degrees_of_freedom);
  CHECK(far.interval == near.interval);
}

TEST_CASE("welch: swapping the set-ups turns the sign and nothing else") {
  const Sample a = sample({271, 274, 272}), b = sample({275, 279, 276, 274});
  const WelchResult ab = welch(a, b), ba = welch(b, a);
  CHECK(ba.difference == -ab.difference);
  CHECK(ba.t == -ab.t);
  CHECK(ba.degrees_of_freedom == digits(ab.degrees_of_freedom, 15));
  CHECK(ba.p_two_sided == digits(ab.p_two_sided, 14));
  CHECK(ba.interval.lower == digits(-ab.interval.upper, 14));
  CHECK(ba.interval.upper == digits(-ab.interval.lower, 14));
}

TEST_CASE("welch: a step of a tenth scales lengths and leaves t, ν and p alone") {
  const WelchResult whole = welch(sample({2710, 2741, 2722}), sample({2755, 2793, 2764}));
  const WelchResult tenth = welch(decimal_sample({2710, 2741, 2722}, 1), decimal_sample({2755, 2793, 2764}, 1));
  CHECK(tenth.t == whole.t);
  CHECK(tenth.degrees_of_freedom == whole.degrees_of_freedom);
  CHECK(tenth.p_two_sided == whole.p_two_sided);
  CHECK(tenth.difference == digits(whole.difference / 10, 15));
  CHECK(tenth.standard_error == digits(whole.standard_error / 10, 15));
  CHECK(tenth.interval.lower == digits(whole.interval.lower / 10, 14));
  CHECK(tenth.interval.upper == digits(whole.interval.upper / 10, 14));
}

TEST_CASE("welch: readings and their summary give the same result") {
  // 1 2 3 has mean 2 and SD 1; 2 4 6 mean 4 and SD 2
  const WelchResult r = welch(sample({1, 2, 3}), sample({2, 4, 6}), ConfidenceLevel{0.9});
  const WelchResult s = welch(GroupSummary{2, 1, 3}, GroupSummary{4, 2, 3}, ConfidenceLevel{0.9});
  CHECK(r.t == digits(s.t, 15));
  CHECK(r.degrees_of_freedom == digits(s.degrees_of_freedom, 15));
  CHECK(r.interval.lower == digits(s.interval.lower, 13));
}

TEST_CASE("welch: with one variance 0 the other group's degrees of freedom are the whole") {
  const WelchResult r = welch(sample({271, 271, 271}), sample({272, 274, 276, 277, 271}));
  CHECK(r.degrees_of_freedom == 4);
  CHECK(welch(sample({272, 274, 276}), sample({271, 271})).degrees_of_freedom == 2);
}

TEST_CASE("welch: with both variances 0 there is no answer, not an interval of width 0") {
  CHECK_THROWS_WITH_AS(welch(sample({271, 271, 271}), sample({274, 274})),
                       "welch: both SDs are 0, so no width can be computed", NoAnswer);
  CHECK_THROWS_WITH_AS(welch(GroupSummary{271, 0, 3}, GroupSummary{274, 0, 3}),
                       "welch: both SDs are 0, so no width can be computed", NoAnswer);
}

TEST_CASE("welch: one shot, mixed displays and impossible summaries are refused with what was got") {
  CHECK_THROWS_WITH_AS(welch(sample({271}), sample({274, 275})), "welch: needs 2 or more shots in a group, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(welch(sample({271, 272}), sample({274})), "welch: needs 2 or more shots in a group, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(welch(sample({271, 272}), decimal_sample({2740, 2751}, 1)),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  CHECK_THROWS_WITH_AS(welch(GroupSummary{1, 1, 0}, GroupSummary{2, 1, 3}),
                       "welch: needs 2 or more shots in a group, got 0", DomainError);
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinite = std::numeric_limits<double>::infinity();
  for (const GroupSummary& bad : {GroupSummary{1, -1, 3}, GroupSummary{1, nan, 3}, GroupSummary{1, infinite, 3},
                                  GroupSummary{nan, 1, 3}, GroupSummary{infinite, 1, 3}}) {
    CHECK_THROWS_WITH_AS(welch(bad, GroupSummary{2, 1, 3}),
                         doctest::Contains("welch: needs a finite mean and an SD of 0 or more"), DomainError);
    CHECK_THROWS_AS(welch(GroupSummary{2, 1, 3}, bad), DomainError);
  }
}

TEST_CASE("welch: SDs of any size keep t and ν") {
  for (const double scale : {1e-120, 1e-60, 1e60, 1e120}) {
    const WelchResult r = welch(GroupSummary{281 * scale, scale, 3}, GroupSummary{284 * scale, 2 * scale, 3});
    CHECK(r.t == digits(3 / std::sqrt(5.0 / 3), 13));
    CHECK(r.degrees_of_freedom == digits(50.0 / 17, 14));
  }
}

TEST_CASE("welch: as Games and Howell in a family, groups of equal and of unequal size") {
  const char* const names = "1234";
  for (const std::string id : {"gh-equal-n", "gh-unequal-n"}) {
    const Published check{id};
    const auto groups = check.groups("groups");
    const Family family{static_cast<int>(groups.size())};
    for (std::size_t i = 0; i < groups.size(); ++i)
      for (std::size_t j = i + 1; j < groups.size(); ++j) {
        const std::string pair{names[i], names[j]};
        CAPTURE(id);
        CAPTURE(pair);
        const WelchResult r = welch(groups[j], groups[i], ConfidenceLevel{0.95}, family);  // published: i minus j
        CHECK(r.p_two_sided == check.expected("p_" + pair));
        if (id == "gh-equal-n" && i == 0) {
          CHECK(r.interval.lower == check.expected("lo_" + pair));
          CHECK(r.interval.upper == check.expected("hi_" + pair));
        }
      }
  }
}
