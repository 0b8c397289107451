#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <vector>

using shotassay::Decimal;
using shotassay::DisplayStep;
using shotassay::DomainError;
using shotassay::mean_difference;
using shotassay::Moments;
using shotassay::moments;
using shotassay::require_one_lattice;
using shotassay::Sample;
using shotassay::WideInteger;

TEST_CASE("display step: it is positive and at most nine digits long") {
  CHECK(DisplayStep{Decimal{1, 1}}.value() == 0.1);
  CHECK(DisplayStep{Decimal{999'999'999, 0}}.value() == 999'999'999.0);
  CHECK_THROWS_WITH_AS(DisplayStep(Decimal(0, 2)),
                       "display step must be positive and at most nine digits long, got 0.00", DomainError);
  CHECK_THROWS_WITH_AS(DisplayStep(Decimal(-5, 1)),
                       "display step must be positive and at most nine digits long, got -0.5", DomainError);
  CHECK_THROWS_WITH_AS(DisplayStep(Decimal(1'000'000'000, 0)),
                       "display step must be positive and at most nine digits long, got 1000000000", DomainError);
}

TEST_CASE("display step: steps over a divisor are scaled in one division") {
  const DisplayStep tenth{Decimal{1, 1}};
  CHECK(tenth.times(2717) == 271.7);     // 2717 × 0.1 in doubles is 271.70000000000005
  CHECK(tenth.times(8, 3) == 8.0 / 30);  // 8/3 of 0.1 = 8/30
  CHECK(DisplayStep{Decimal{25, 2}}.times(-3) == -0.75);
}

TEST_CASE("sample: low, high and span are found in any order") {
  const Sample s = sample({274, 271, 279, 272});
  CHECK(s.low() == 271);
  CHECK(s.high() == 279);
  CHECK(s.span() == 8);
  CHECK(s.size() == 4);
  CHECK(s.steps()[1] == 271);
  CHECK_FALSE(s.all_equal());
  CHECK(sample({271, 271}).all_equal());
  CHECK(sample({271}).all_equal());
  CHECK(sample({-3, 2}).span() == 5);
}

TEST_CASE("sample: no readings is the caller's mistake") {
  CHECK_THROWS_WITH_AS(sample(std::vector<std::int64_t>{}), "Sample: needs at least one reading", DomainError);
}

TEST_CASE("sample: readings that would overflow exact sums are refused, with the step") {
  const std::string message = "Sample: readings too large for their display step of 0.01";
  CHECK_NOTHROW(decimal_sample({9'000'000'000'000'000}, 2));
  CHECK_NOTHROW(decimal_sample({-9'000'000'000'000'000, 9'000'000'000'000'000}, 2));
  CHECK_THROWS_WITH_AS(decimal_sample({9'000'000'000'000'002}, 2), message.c_str(), DomainError);
  CHECK_THROWS_WITH_AS(decimal_sample({-9'000'000'000'000'002}, 2), message.c_str(), DomainError);
  CHECK_THROWS_WITH_AS(decimal_sample({INT64_MIN, INT64_MAX}, 2), message.c_str(), DomainError);
  // n × span ≤ 6.5e18: 400 readings that span 1.8e16 are 7.2e18, 300 are 5.4e18.
  std::vector<std::int64_t> wide(400, -9'000'000'000'000'000);
  wide.back() = 9'000'000'000'000'000;
  CHECK_THROWS_WITH_AS(decimal_sample(wide, 2), message.c_str(), DomainError);
  wide.erase(wide.begin(), wide.begin() + 100);
  CHECK_NOTHROW(decimal_sample(wide, 2));
}

TEST_CASE("moments: at the limit of what a sample holds the sums are still exact") {
  // 150 readings at each end ±9e15: nQ − S² with x − offset = 0 or L = 1.8e16 is 300·150·L² − 150²·L² = 22500·L².
  std::vector<std::int64_t> ends(150, -9'000'000'000'000'000);
  ends.insert(ends.end(), 150, 9'000'000'000'000'000);
  const Moments m = moments(decimal_sample(ends, 0));
  const WideInteger square = WideInteger{18'000'000'000'000'000} * 18'000'000'000'000'000;
  CHECK((m.scaled_deviations() == square * 22500));
  CHECK((m.total() == 0));
  CHECK(m.mean() == 0.0);
  CHECK(m.variance() == doctest::Approx(81e30 * 300.0 / 299.0).epsilon(1e-15));
}

TEST_CASE("moments: mean and variance of a hand-worked sample") {
  // 2 4 6: offset 2, deviations 0 2 4, S = 6, Q = 20, nQ − S² = 24, s² = 24/6 = 4
  const Moments m = moments(sample({4, 2, 6}));
  CHECK(m.n == 3);
  CHECK(m.offset == 2);
  CHECK((m.sum == 6));
  CHECK((m.squares == 20));
  CHECK((m.total() == 12));
  CHECK(m.variance() == 4.0);
  CHECK(mean_difference(moments(sample({1, 2})), m) == 2.5);
  CHECK(mean_difference(m, moments(sample({1, 2}))) == -2.5);
}

TEST_CASE("one lattice: equal steps written differently are one step, others are refused") {
  const Sample whole = sample({271, 272});
  const Sample tenths{{271, 272}, DisplayStep{Decimal{10, 1}}};
  CHECK_NOTHROW(require_one_lattice(whole, tenths));
  CHECK_THROWS_WITH_AS(require_one_lattice(whole, decimal_sample({2710}, 1)),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
}
