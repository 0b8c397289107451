#include <shotassay/methods/stopping_error.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <map>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/methods/rounding_aware.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

using namespace shotassay;

namespace {

/// How often |gap| > H with three shots of each of two like set-ups, summed over every outcome, average of 32 phases.
double exact_error_of_three(double sd) {
  struct Outcome {
    std::int64_t sum;
    std::size_t shape;
    double chance;
  };
  std::map<std::pair<std::int64_t, bool>, std::size_t> shapes;  // H sees squared deviations and tightness
  std::vector<std::vector<std::int64_t>> readings_of;
  std::vector<std::vector<double>> half_widths;
  double error = 0;
  for (int i = 0; i < 32; ++i) {
    const double phase = i / 32.0;
    const auto below = [&](std::int64_t y) {
      return 0.5 * std::erfc((phase + 0.5 - static_cast<double>(y)) / sd / std::sqrt(2.0));
    };
    const auto far = static_cast<std::int64_t>(std::ceil(6 * sd + 1));
    std::vector<Outcome> outcomes;
    for (std::int64_t x = -far; x <= far; ++x)
      for (std::int64_t y = x; y <= far; ++y)
        for (std::int64_t z = y; z <= far; ++z) {
          double chance = x == z ? 1 : x == y || y == z ? 3 : 6;
          for (const std::int64_t r : {x, y, z}) chance *= below(r + 1) - below(r);
          const auto deviations = static_cast<std::int64_t>(moments(sample({x, y, z})).scaled_deviations());
          const auto [shape, fresh] = shapes.try_emplace({deviations, z - x <= 1}, shapes.size());
          if (fresh) readings_of.push_back({x, y, z});
          outcomes.push_back({x + y + z, shape->second, chance});
        }
    if (half_widths.empty())
      for (const auto& a : readings_of) {
        half_widths.emplace_back();
        for (const auto& b : readings_of) half_widths.back().push_back(rounding_aware(sample(a), sample(b)).half_width);
      }
    for (const Outcome& a : outcomes)
      for (const Outcome& b : outcomes)
        if (std::abs(static_cast<double>(b.sum - a.sum)) / 3.0 > half_widths[a.shape][b.shape] + 1e-9)
          error += a.chance * b.chance / 32.0;
  }
  return error;
}

double four_errors(double share, std::uint64_t tests) {
  return 4.0 * std::sqrt(share * (1.0 - share) / static_cast<double>(tests));
}

}  // namespace

TEST_CASE("stopping_error: one look has the interval's own error rate, summed over every outcome") {
  for (const double sd : {0.3, 0.6, 1.0}) {
    CAPTURE(sd);
    const double exact = exact_error_of_three(sd);
    const StoppingError r = stopping_error({3}, sd, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 200'000);
    CHECK(r.error_rate == within(exact, four_errors(exact, 200'000)));
    CHECK(r.one_look == r.error_rate);
  }
}

TEST_CASE("stopping_error: many looks agree with a simulation written anew") {
  // stopping_error.py: columns SD in steps, looks, level, tests, share stopped, share at the last look
  const auto rows = reference_table("stopping_error.csv");
  REQUIRE(rows.size() == 10);
  for (const auto& row : rows) {
    CAPTURE(row.at(0));
    CAPTURE(row.at(1));
    const std::uint64_t tests = 100'000;
    const StoppingError r = stopping_error(steps_in(row.at(1)), number_in(row.at(0)), DisplayStep{{1, 0}},
                                           ConfidenceLevel{number_in(row.at(2))}, tests, 7);
    // Of the difference of the two simulations: theirs is three times as long.
    const double stopped = number_in(row.at(4)), last = number_in(row.at(5));
    CHECK(r.error_rate == within(stopped, std::sqrt(4.0 / 3.0) * four_errors(stopped, tests)));
    CHECK(r.one_look == within(last, std::sqrt(4.0 / 3.0) * four_errors(last, tests)));
    CHECK(r.standard_error == digits(std::sqrt(r.error_rate * (1 - r.error_rate) / 1e5), 12));
  }
}

TEST_CASE("stopping_error: many shots and equal steps between looks give the published table") {
  // Armitage, McPherson & Rowe (1969), 5 % and known variance: 2 looks 8.3 %, 5 looks 14.2 %. From memory. 100 shots of
  // each set-up know their variance nearly; four standard errors and half of the last printed digit.
  const StoppingError two = stopping_error({100, 200}, 50, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 20'000);
  CHECK(two.error_rate == within(0.083, four_errors(0.083, 20'000) + 0.0005));
  const StoppingError five =
      stopping_error({100, 200, 300, 400, 500}, 50, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 20'000);
  CHECK(five.error_rate == within(0.142, four_errors(0.142, 20'000) + 0.0005));
  CHECK(five.one_look == within(0.05, four_errors(0.05, 20'000)));
}

TEST_CASE("stopping_error: another look never lowers the error rate, and the last look alone stays what it was") {
  // The same seed shoots the same shots, so this holds test by test.
  const StoppingError one = stopping_error({10}, 1.5), few = stopping_error({5, 10}, 1.5),
                      many = stopping_error({3, 4, 5, 6, 7, 8, 9, 10}, 1.5);
  CHECK(one.error_rate < few.error_rate);
  CHECK(few.error_rate < many.error_rate);
  CHECK(one.one_look == few.one_look);
  CHECK(one.one_look == many.one_look);
  CHECK(one.one_look == one.error_rate);
}

TEST_CASE("stopping_error: only the SD in display steps matters") {
  const StoppingError whole = stopping_error({3, 6}, 2.0), tenths = stopping_error({3, 6}, 0.2, DisplayStep{{1, 1}});
  CHECK(whole.error_rate == tenths.error_rate);
  CHECK(stopping_error({3, 6}, 0.2).error_rate != whole.error_rate);
}

TEST_CASE("stopping_error: a display that hides all scatter never tells like set-ups apart") {
  // SD of a hundredth of a step: readings are equal or, at an edge, adjacent; the gap stays within the display's bound
  // in all but few tests, whatever the number of looks.
  CHECK(stopping_error({3, 4, 5, 6, 7, 8, 9, 10}, 0.01).error_rate < 0.002);
}

TEST_CASE("stopping_error: the same call gives the same result, another seed another, a higher level a lower rate") {
  const StoppingError r = stopping_error({3, 5, 8}, 1.0), again = stopping_error({3, 5, 8}, 1.0);
  CHECK(r.error_rate == again.error_rate);
  CHECK(r.one_look == again.one_look);
  CHECK(r.tests == 20'000);
  CHECK(r.seed == 1);
  const StoppingError other = stopping_error({3, 5, 8}, 1.0, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 20'000, 2);
  CHECK(other.seed == 2);
  CHECK(other.error_rate != r.error_rate);
  CHECK(other.error_rate == within(r.error_rate, std::sqrt(2.0) * four_errors(r.error_rate, 20'000)));
  const StoppingError strict = stopping_error({3, 5, 8}, 1.0, DisplayStep{{1, 0}}, ConfidenceLevel{0.99});
  CHECK(strict.error_rate < r.error_rate);
  CHECK(stopping_error({3, 5}, 1.0, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 1'000).tests == 1'000);
}

TEST_CASE("stopping_error: calls without sense are refused with what was got") {
  CHECK_THROWS_WITH_AS(stopping_error({}, 1.0), "stopping_error: needs 1 to 1000 looks, got 0", DomainError);
  CHECK_THROWS_AS(stopping_error(std::vector<std::int64_t>(1001, 3), 1.0), DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({1, 5}, 1.0),
                       "stopping_error: looks must come after 2 to 10000 shots with each set-up, got 1", DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({5, 10'001}, 1.0),
                       "stopping_error: looks must come after 2 to 10000 shots with each set-up, got 10001",
                       DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({3, 5, 5}, 1.0),
                       "stopping_error: each look needs more shots than the one before, got 5 and then 5", DomainError);
  CHECK_THROWS_AS(stopping_error({3, 8, 5}, 1.0), DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({3}, 0.0),
                       "stopping_error: needs an SD above 0 and of at most a million display steps, got 0.000000 steps",
                       DomainError);
  CHECK_THROWS_AS(stopping_error({3}, NAN), DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({3}, 20.0, DisplayStep{{1, 6}}),
                       "stopping_error: needs an SD above 0 and of at most a million display steps, got "
                       "20000000.000000 steps",
                       DomainError);
  CHECK_THROWS_WITH_AS(stopping_error({3}, 1.0, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 999),
                       "stopping_error: needs 1000 to 10000000 tests, got 999", DomainError);
  CHECK_THROWS_AS(stopping_error({3}, 1.0, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 10'000'001), DomainError);
}
