#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/studies/verdict.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenth{Decimal{1, 1}};
const ConfidenceLevel level95{0.95};

/// The readings of one set-up in whole steps, from the stream's next shots.
Sample drawn(numerics::ReplicateStream& shots, GroupDesign group, double centre, std::int64_t above) {
  std::vector<std::int64_t> readings;
  for (std::int64_t i = 0; i < group.shots; ++i)
    readings.push_back(above + static_cast<std::int64_t>(std::floor(centre + group.sd * shots.normal() + 0.5)));
  return {std::move(readings), whole};
}

}  // namespace

TEST_CASE("simulated tests are those drawn one by one, in integers, and judged by rounding_aware") {
  struct Case {
    GroupDesign a, b;
    double gap, margin, width;
  };
  // In the last three n(8.3σ + 3) is near 2²⁶, above it, and far above: beyond, n times a sum of squares is rounded.
  for (const Case& c : {Case{{3, 0.7}, {4, 0.5}, 1.7, 3.0, 1.5}, Case{{2, 0.2}, {2, 1.1}, -0.4, 5.0, 3.0},
                        Case{{10, 0.3}, {7, 2.5}, 2.25, 4.0, 2.0}, Case{{31, 4.0}, {30, 3.0}, -2.6, 5.0, 1.8},
                        Case{{5, 0.01}, {6, 0.02}, 0.5, 1.5, 0.7}, Case{{8, 1e6}, {9, 1.2e6}, 1e6, 3e6, 1e6},
                        Case{{20, 3e7}, {3, 1.0}, 2e7, 4e7, 3e7}, Case{{2, 9e8}, {3, 8e8}, 1e9, 4e9, 1e10}}) {
    CAPTURE(c.a.sd);
    CAPTURE(c.b.sd);
    constexpr std::uint64_t tests = 2'000, seed = 11, strata = 16;
    const double above = std::floor(c.gap), part = c.gap - above;
    std::uint64_t found = 0, same = 0, narrow = 0;
    double widths_at_gap = 0, widths = 0;
    for (std::uint64_t i = 0; i < tests; ++i) {
      const auto judged = [&](double centre_a, double centre_b) {
        numerics::ReplicateStream shots{seed, i, numerics::RandomPurpose::simulated_shots};
        const Sample a = drawn(shots, c.a, centre_a, 0);
        return rounding_aware(a, drawn(shots, c.b, centre_b, static_cast<std::int64_t>(above)), level95);
      };
      numerics::ReplicateStream place{seed, i, numerics::RandomPurpose::grid_phase};
      const double first = place.uniform(), second = place.uniform();
      const double phase = (static_cast<double>(i % strata) + first) / strata;
      const RoundingAwareResult at_gap = judged(phase, phase + part);
      const Verdict v = verdict(at_gap.interval);
      if (v == Verdict::faster || v == Verdict::slower) ++found;
      if (margin_position(at_gap.interval, c.margin) == MarginPosition::inside) ++same;
      widths_at_gap += at_gap.half_width;
      const double width = judged(first, second).half_width;
      if (width <= c.width) ++narrow;
      widths += width;
    }
    const SimulatedPower power =
        simulate_rounding_aware(c.gap, c.margin, c.a, c.b, whole, level95, {.tests = tests, .seed = seed});
    CHECK(power.finds.average == within(static_cast<double>(found) / tests, 1e-12));
    CHECK(power.same->average == within(static_cast<double>(same) / tests, 1e-12));
    CHECK(power.mean_half_width == digits(widths_at_gap / tests, 10));
    const SimulatedWidth width = simulate_half_width(c.width, c.a, c.b, whole, level95, {.tests = tests, .seed = seed});
    CHECK(width.at_most == within(static_cast<double>(narrow) / tests, 1e-12));
    CHECK(width.mean == digits(widths / tests, 10));
  }
}

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
