#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <limits>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenth{Decimal{1, 1}};
const ConfidenceLevel level95{0.95};

}  // namespace

TEST_CASE("simulate_half_width: mean and share agree with every outcome counted, within four standard errors") {
  struct Case {
    GroupDesign a, b;
    double level;
  };
  for (const Case& c : {Case{{3, 0.2}, {3, 0.2}, 0.95}, Case{{4, 0.6}, {7, 1.2}, 0.8}, Case{{7, 1.2}, {2, 0.4}, 0.95},
                        Case{{12, 0.05}, {12, 3.0}, 0.99}}) {
    CAPTURE(c.a.sd);
    const ConfidenceLevel level{c.level};
    const RoundingAwarePower counted{c.a, c.b, whole, level, {.operations = 1e10, .bytes = 1e9}};
    const double width = counted.mean_half_width();
    const SimulatedWidth drawn = simulate_half_width(width, c.a, c.b, whole, level, {.tests = 50'000});
    CHECK(drawn.mean == within(width, 4.0 * drawn.mean_error));
    CHECK(drawn.at_most == within(counted.half_width_at_most(width), 4.0 * drawn.at_most_error));
  }
}

TEST_CASE("simulate_half_width: nothing is narrower than 0, everything narrower than a width without end") {
  const GroupDesign g{5, 1.0};
  CHECK(simulate_half_width(0.0, g, g, whole, level95, {.tests = 1'000}).at_most == 0.0);
  const SimulatedWidth all =
      simulate_half_width(std::numeric_limits<double>::infinity(), g, g, whole, level95, {.tests = 1'000});
  CHECK(all.at_most == 1.0);
  CHECK(all.at_most_error > 0.0);
}

TEST_CASE("simulate_half_width: only lengths in display steps matter, threads change no digit, seeds do") {
  const auto width = [](double unit, DisplayStep step, std::uint64_t seed, unsigned threads) {
    return simulate_half_width(1.5 * unit, {5, 0.75 * unit}, {6, 1.25 * unit}, step, level95,
                               {.tests = 20'000, .seed = seed, .threads = threads});
  };
  const SimulatedWidth first = width(1.0, whole, 1, 1);
  CHECK(width(1.0, whole, 1, 3).mean == first.mean);
  CHECK(width(1.0, whole, 1, 3).at_most == first.at_most);
  CHECK(width(1.0, whole, 2, 1).mean != first.mean);
  // 0.075/0.1 may differ from 0.75 in its last bit, and move a reading of 220 000 over its edge.
  CHECK(width(0.1, tenth, 1, 1).mean == within(0.1 * first.mean, 1e-5));
  CHECK(width(0.1, tenth, 1, 1).mean_error == digits(0.1 * first.mean_error, 3));
}

TEST_CASE("simulate_half_width: refuses what is no width, no design and no number of tests") {
  const GroupDesign g{5, 1.0};
  for (const double width : {-0.1, std::nan("")})
    CHECK_THROWS_AS(simulate_half_width(width, g, g, whole, level95, {}), DomainError);
  CHECK_THROWS_AS(simulate_half_width(1.0, {1, 1.0}, g, whole, level95, {}), DomainError);
  CHECK_THROWS_AS(simulate_half_width(1.0, g, {5, 0.0}, whole, level95, {}), DomainError);
  CHECK_THROWS_WITH_AS(simulate_half_width(1.0, g, g, whole, level95, {.tests = 999}),
                       "rounding_aware_power: tests must be 1000 to 100000000, got 999", DomainError);
  CHECK_THROWS_WITH_AS(simulate_half_width(1.0, g, g, whole, level95, {.threads = 0}),
                       "rounding_aware_power: threads must be 1 or more, got 0", DomainError);
}
