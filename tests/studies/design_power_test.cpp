#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/studies/design_power.hpp>
#include <shotassay/studies/verdict.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenth{Decimal{1, 1}};
const ConfidenceLevel level95{0.95};

double with_display(double sd, double step) { return std::sqrt(sd * sd + step * step / 12.0); }

WelchPowerCurve curve(GroupDesign a, GroupDesign b, double step = 1.0, ConfidenceLevel level = level95) {
  return {{a.shots, with_display(a.sd, step)}, {b.shots, with_display(b.sd, step)}, CriticalFactor{level}};
}

/// Options under which this design is worked out in the way asked for.
DesignPowerOptions by_lattice() { return {.budget = {.operations = 1e12, .bytes = 1e10}, .cheap = 1e12}; }
DesignPowerOptions by_integral() { return {.budget = {.operations = 0.0}, .cheap = 0.0}; }
DesignPowerOptions by_tests(std::uint64_t tests = 20'000) { return {.simulation = {.tests = tests}, .simulate = true}; }

/// Tests drawn here, each analysed by the interval that `compare` gives. Display steps of 1. Of the widths, which are
/// those of no gap in particular, the phases of the two set-ups are independent.
struct Drawn {
  double finds = 0, same = 0, narrow = 0, half_width = 0, half_width_error = 0;
  int tests;

  Drawn(GroupDesign a, GroupDesign b, double gap, double margin, double width, int n) : tests{n} {
    std::mt19937_64 random{1};
    const auto uniform = [&] { return (static_cast<double>(random() >> 11) + 0.5) * 0x1p-53; };
    const auto normal = [&] {
      return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
    };
    double squares = 0;
    for (int i = 0; i < tests; ++i) {
      const double phase = uniform(), other = uniform();
      std::vector<std::int64_t> from, to, apart;
      for (std::int64_t k = 0; k < a.shots; ++k) from.push_back(std::llround(200.0 + phase + a.sd * normal()));
      for (std::int64_t k = 0; k < b.shots; ++k) {
        const double scatter = b.sd * normal();
        to.push_back(std::llround(200.0 + phase + gap + scatter));
        apart.push_back(std::llround(200.0 + other + scatter));
      }
      const Interval interval = rounding_aware(sample(from), sample(to), level95).interval;
      const double half = rounding_aware(sample(from), sample(apart), level95).interval.half_width();
      finds += verdict(interval) != Verdict::open ? 1 : 0;
      same += margin_position(interval, margin) == MarginPosition::inside ? 1 : 0;
      narrow += half <= width ? 1 : 0;
      half_width += half;
      squares += half * half;
    }
    for (double* share : {&finds, &same, &narrow, &half_width}) *share /= tests;
    half_width_error = std::sqrt((squares / tests - half_width * half_width) / tests);
  }

  /// Four standard errors of a share, one success and one failure more counted so that none is 0.
  double four(double share) const {
    const double p = (share * tests + 1.0) / (tests + 2.0);
    return 4.0 * std::sqrt(p * (1.0 - p) / tests);
  }
};

}  // namespace

TEST_CASE("design power: on the lattice, chances and widths are those of tests drawn and analysed one by one") {
  struct Case {
    GroupDesign a, b;
    double gap, margin, width;
  };
  for (const Case& c : {Case{{3, 0.3}, {3, 0.3}, 1.5, 2.0, 1.2}, Case{{4, 0.6}, {6, 1.2}, 2.0, 4.0, 2.0},
                        Case{{6, 3.0}, {4, 1.2}, 4.0, 6.0, 4.0}, Case{{5, 1.2}, {5, 1.2}, 1.0, 3.0, 1.8}}) {
    CAPTURE(c.a.sd);
    CAPTURE(c.b.sd);
    const Drawn drawn{c.a, c.b, c.gap, c.margin, c.width, 20'000};
    const DesignPower design{c.a, c.b, by_lattice()};
    REQUIRE(design.by() == ChanceBy::lattice);
    const Chance finds = design.finds(c.gap), same = design.same(c.gap, c.margin), narrow = design.narrow(c.width);
    CHECK(finds.average == within(drawn.finds, drawn.four(drawn.finds)));
    CHECK(same.average == within(drawn.same, drawn.four(drawn.same)));
    CHECK(narrow.average == within(drawn.narrow, drawn.four(drawn.narrow)));
    CHECK(design.half_width() == within(drawn.half_width, 4.0 * drawn.half_width_error));
    REQUIRE(finds.worst_phase);
    CHECK(*finds.worst_phase <= finds.average);
    CHECK(finds.error <= 1e-8);
    REQUIRE(same.worst_phase);
    CHECK(!narrow.worst_phase);
  }
}

TEST_CASE("design power: by the integral, chances and widths come within 0.003 of tests drawn one by one") {
  const GroupDesign a{8, 3.0}, b{10, 5.0};
  const Drawn drawn{a, b, 5.0, 9.0, 4.2, 40'000};
  const DesignPower design{a, b, by_integral()};
  REQUIRE(design.by() == ChanceBy::quadrature);
  CHECK(design.finds(5.0).average == within(drawn.finds, drawn.four(drawn.finds) + 0.003));
  CHECK(design.same(5.0, 9.0).average == within(drawn.same, drawn.four(drawn.same) + 0.003));
  CHECK(design.narrow(4.2).average == within(drawn.narrow, drawn.four(drawn.narrow) + 0.003));
  CHECK(design.half_width() == within(drawn.half_width, 4.0 * drawn.half_width_error + 0.003 * drawn.half_width));
  CHECK(!design.finds(5.0).worst_phase);
}

TEST_CASE("design power: each way hands SDs, shots, step, level, gap and margin on to its method") {
  const GroupDesign a{6, 0.25}, b{9, 0.4};
  const ConfidenceLevel level{0.9};
  // Other arguments than the ones meant would change every figure by far more than the last digits.
  {
    DesignPowerOptions how = by_lattice();
    how.step = tenth;
    how.level = level;
    const DesignPower design{a, b, how};
    REQUIRE(design.by() == ChanceBy::lattice);
    const RoundingAwarePower lattice{a, b, tenth, level, how.budget};
    CHECK(design.finds(0.5).average == lattice.finds(0.5).average);
    CHECK(design.finds(0.5).worst_phase == lattice.finds(0.5).worst_phase);
    CHECK(design.finds(0.5).error == lattice.finds(0.5).error);
    CHECK(design.same(0.1, 0.6).average == lattice.same(0.1, 0.6).average);
    CHECK(design.narrow(0.4).average == lattice.half_width_at_most(0.4));
    CHECK(design.half_width() == lattice.mean_half_width());
  }
  {
    DesignPowerOptions how = by_integral();
    how.step = tenth;
    how.level = level;
    const DesignPower design{a, b, how};
    REQUIRE(design.by() == ChanceBy::quadrature);
    const WelchPowerCurve integral = curve(a, b, 0.1, level);
    CHECK(design.finds(0.5).average == digits(integral.two_sided(0.5).power, 12));
    CHECK(design.finds(0.5).error == integral.two_sided(0.5).error_estimate);
    CHECK(design.same(0.1, 0.6).average == digits(integral.equivalence(0.1, 0.6).power, 12));
    CHECK(design.narrow(0.4).average == digits(integral.half_width_at_most(0.4), 12));
    CHECK(design.half_width() == digits(integral.expected_half_width(), 12));
    CHECK(design.detectable_gap(Power{0.7}) == digits(detectable_gap(integral, Power{0.7}), 9));
  }
  {
    DesignPowerOptions how = by_tests();
    how.step = tenth;
    how.level = level;
    how.simulation.seed = 7;
    const DesignPower design{a, b, how};
    REQUIRE(design.by() == ChanceBy::simulation);
    const SimulatedPower tests = simulate_rounding_aware(0.5, std::nullopt, a, b, tenth, level, how.simulation);
    CHECK(design.finds(0.5).average == tests.finds.average);
    CHECK(design.finds(0.5).worst_phase == tests.finds.worst_phase);
    CHECK(design.finds(0.5).error == tests.finds.error);
    const SimulatedPower margin = simulate_rounding_aware(0.1, 0.6, a, b, tenth, level, how.simulation);
    CHECK(design.same(0.1, 0.6).average == margin.same->average);
    CHECK(design.same(0.1, 0.6).error == margin.same->error);
    const SimulatedWidth width = simulate_half_width(0.4, a, b, tenth, level, how.simulation);
    CHECK(design.narrow(0.4).average == width.at_most);
    CHECK(design.narrow(0.4).error == width.at_most_error);
    CHECK(design.half_width() == width.mean);
  }
}

TEST_CASE("design power: Welch's plain interval is planned for by the integral, SciPy's double sum agrees") {
  // Trapezoid rule, step 0.02, in the logs of both chi variables (SciPy 1.10: stdtrit, norm.sf), SDs √(σ² + 1/12).
  // Halving the step changes no digit printed.
  const DesignPower design{{4, 1.0}, {3, 3.0}, {.interval = PlannedInterval::welch}};
  CHECK(design.by() == ChanceBy::quadrature);
  CHECK(design.finds(6.0).average == within(0.5299895419, 1e-8));
  CHECK(DesignPower{{3, 1.0}, {30, 3.0}, {.interval = PlannedInterval::welch}}.finds(6.0).average ==
        within(0.9973614992, 1e-8));
}

TEST_CASE("design power: Welch's plain interval is never counted nor drawn") {
  DesignPowerOptions how = by_lattice();
  how.interval = PlannedInterval::welch;
  CHECK(DesignPower{{3, 0.3}, {3, 0.3}, how}.by() == ChanceBy::quadrature);
  how.simulate = true;
  CHECK(DesignPower{{3, 0.3}, {3, 0.3}, how}.by() == ChanceBy::quadrature);
}

TEST_CASE("design power: it is counted up to the cheap cost, one operation above by the integral where that agrees") {
  const GroupDesign fits{10, 3.0};
  REQUIRE(quadrature_suffices(fits, fits, whole));
  const double cost = rounding_aware_power_cost(fits, fits, whole).operations;
  const double below = std::nextafter(cost, 0.0);
  const WorkBudget much{.operations = 1e12, .bytes = 1e10};
  const auto by = [&](const DesignPowerOptions& how) { return DesignPower{fits, fits, how}.by(); };
  CHECK(by({.budget = much, .cheap = cost}) == ChanceBy::lattice);
  CHECK(by({.budget = much, .cheap = below}) == ChanceBy::quadrature);
  // Over the budget, in operations or in memory, cheap or not.
  CHECK(by({.budget = {.operations = cost, .bytes = 1e10}, .cheap = cost}) == ChanceBy::lattice);
  CHECK(by({.budget = {.operations = below, .bytes = 1e10}, .cheap = cost}) == ChanceBy::quadrature);
  const double bytes = rounding_aware_power_cost(fits, fits, whole).bytes;
  CHECK(by({.budget = {.operations = 1e12, .bytes = bytes}, .cheap = cost}) == ChanceBy::lattice);
  CHECK(by({.budget = {.operations = 1e12, .bytes = std::nextafter(bytes, 0.0)}, .cheap = cost}) ==
        ChanceBy::quadrature);
  CHECK(by({.budget = much, .cheap = cost, .simulate = true}) == ChanceBy::simulation);
}

TEST_CASE("design power: where the integral does not agree it is counted up to the budget, and drawn above it") {
  const GroupDesign grainy{10, 0.5};
  REQUIRE(!quadrature_suffices(grainy, grainy, whole));
  const double cost = rounding_aware_power_cost(grainy, grainy, whole).operations;
  const double bytes = rounding_aware_power_cost(grainy, grainy, whole).bytes;
  const auto by = [&](WorkBudget budget) { return DesignPower{grainy, grainy, {.budget = budget, .cheap = 0.0}}.by(); };
  CHECK(by({.operations = cost, .bytes = bytes}) == ChanceBy::lattice);
  CHECK(by({.operations = std::nextafter(cost, 0.0), .bytes = bytes}) == ChanceBy::simulation);
  CHECK(by({.operations = cost, .bytes = std::nextafter(bytes, 0.0)}) == ChanceBy::simulation);
}

TEST_CASE("design power: the integral answers only where both set-ups fit it") {
  const GroupDesign fits{10, 3.0}, grainy{10, 0.5};
  const DesignPowerOptions no_lattice = by_integral();
  CHECK(DesignPower{fits, fits, no_lattice}.by() == ChanceBy::quadrature);
  CHECK(DesignPower{grainy, fits, no_lattice}.by() == ChanceBy::simulation);
  CHECK(DesignPower{fits, grainy, no_lattice}.by() == ChanceBy::simulation);
  // An SD of 0.5 is five steps of a finer display, of which ten shots have their fill.
  DesignPowerOptions finer = no_lattice;
  finer.step = tenth;
  CHECK(DesignPower{{10, 0.5}, {10, 0.5}, finer}.by() == ChanceBy::quadrature);
}

TEST_CASE("design power: in tenths everything is that of whole steps, scaled") {
  DesignPowerOptions tenths = by_lattice();
  tenths.step = tenth;
  const DesignPower coarse{{4, 0.6}, {5, 1.2}, by_lattice()}, fine{{4, 0.06}, {5, 0.12}, tenths};
  // 0.06/0.1 and 0.6 differ in their last bit.
  CHECK(fine.finds(0.2).average == digits(coarse.finds(2.0).average, 9));
  CHECK(fine.same(0.03, 0.3).average == digits(coarse.same(0.3, 3.0).average, 9));
  CHECK(fine.half_width() == digits(0.1 * coarse.half_width(), 9));
  CHECK(fine.detectable_gap(Power{0.8}) == within(0.1 * coarse.detectable_gap(Power{0.8}), 1e-5));
}

TEST_CASE("design power: the detectable gap is found with the power asked, a gap smaller by a thousandth less often") {
  for (const double sd : {0.1, 0.3, 0.6, 1.2, 3.0})
    for (const std::int64_t shots : {2, 3, 5, 8})
      for (const double power : {0.2, 0.5, 0.8, 0.95}) {
        CAPTURE(sd);
        CAPTURE(shots);
        CAPTURE(power);
        const DesignPower design{{shots, sd}, {shots, sd}, by_lattice()};
        const double gap = design.detectable_gap(Power{power});
        CHECK(gap > 0.0);
        CHECK(design.finds(gap).average == within(power, 1.1e-6));
        CHECK(design.finds(gap * 0.999).average < power);
      }
}

TEST_CASE("design power: the detectable gap of uneven set-ups and at another level has the power asked") {
  for (const double level : {0.5, 0.8, 0.99})
    for (const auto& [a, b] :
         {std::pair{GroupDesign{3, 0.3}, GroupDesign{8, 3.0}}, {{8, 0.3}, {3, 3.0}}, {{2, 1.2}, {5, 0.2}}}) {
      CAPTURE(level);
      DesignPowerOptions how = by_lattice();
      how.level = ConfidenceLevel{level};
      const DesignPower design{a, b, how};
      CHECK(design.finds(design.detectable_gap(Power{0.8})).average == within(0.8, 1.1e-6));
    }
}

TEST_CASE("design power: with hardly any scatter the detectable gap is the display's, not 0") {
  // Two set-ups whose shots all fall on one value each are told apart from 2 steps of difference on or not at all
  // (rounding_aware: the bound of ±1 step is never left out), so the gap found with power p lies between 1 and 2 steps
  // and a little more: the difference of two roundings of μ and μ + δ is 2 in a share δ − 1 of the phases.
  for (const double power : {0.25, 0.5, 0.8}) {
    const DesignPower design{{5, 0.01}, {5, 0.01}, by_lattice()};
    const double gap = design.detectable_gap(Power{power});
    CAPTURE(power);
    CHECK(gap == within(1.0 + power, 0.05));
    CHECK(design.finds(gap).average == within(power, 1e-4));
  }
}

TEST_CASE("design power: a drawn detectable gap reaches the power within a quarter of a standard error") {
  for (const double sd : {0.2, 0.6, 2.0}) {
    CAPTURE(sd);
    const DesignPower drawn{{6, sd}, {6, sd}, by_tests()}, counted{{6, sd}, {6, sd}, by_lattice()};
    const double gap = drawn.detectable_gap(Power{0.8});
    // Standard error of a share of 0.8 in 20 000 tests: √(0.8·0.2/20000) = 0.0028; by sixteenths of the phase a little
    // less.
    CHECK(drawn.finds(gap).average == within(0.8, 0.25 * 0.0029));
    CHECK(counted.finds(gap).average == within(0.8, 4.25 * 0.0029));
  }
}

TEST_CASE("design power: a drawn width is that of the lattice, also where the display hides most of the scatter") {
  // The integral knows of no tight readings: with an SD of 0.1 it would tell t(0.975; 17)·√((0.01 + 1/12)(1/12 + 1/9)),
  // 0.28, where the range is never narrower than the display lets it be.
  for (const double sd : {0.1, 0.3, 0.6, 2.0}) {
    CAPTURE(sd);
    const DesignPower drawn{{12, sd}, {9, sd}, by_tests()}, counted{{12, sd}, {9, sd}, by_lattice()};
    const double width = counted.half_width();
    const Chance narrow = drawn.narrow(width);
    CHECK(narrow.average == within(counted.narrow(width).average, 4.0 * narrow.error));
    // The standard deviation of a width is below its mean, so the mean of 20 000 has a standard error below 0.71 %.
    CHECK(drawn.half_width() == within(width, 4.0 * 0.0071 * width));
    CHECK(!narrow.worst_phase);
    CHECK(narrow.error > 0.0);
    CHECK(narrow.error <= std::sqrt(0.25 / 20'000));
  }
}

TEST_CASE("design power: seeds and numbers of tests change a drawn chance, threads do not") {
  const GroupDesign g{6, 0.6};
  DesignPowerOptions how = by_tests();
  const auto finds = [&] { return DesignPower{g, g, how}.finds(1.0); };
  const Chance first = finds();
  how.simulation.threads = 2;
  CHECK(finds().average == first.average);
  how.simulation.seed = 2;
  CHECK(finds().average != first.average);
  how.simulation.seed = 1;
  how.simulation.tests = 80'000;
  // Four times the tests halve the standard error, but for what it owes to the share drawn.
  CHECK(finds().error == within(0.5 * first.error, 0.03 * first.error));
}

TEST_CASE("design power: as many tests are drawn as asked for, fewer where nobody asked and shots are many") {
  const auto tests = [](std::int64_t from, std::int64_t to, bool asked, std::uint64_t allowed = 100'000) {
    DesignPowerOptions how{.budget = {.operations = 0.0}, .simulation = {.tests = allowed}, .simulate = asked};
    const DesignPower design{{from, 0.3}, {to, 0.3}, how};
    REQUIRE(design.by() == ChanceBy::simulation);
    return design.tests();
  };
  CHECK(tests(20, 30, false) == 100'000);  // 5 million shots
  CHECK(tests(50, 50, false) == 100'000);
  CHECK(tests(100, 60, false) == 62'500);  // ten million shots
  CHECK(tests(100, 60, false, 5'000) == 5'000);
  CHECK(tests(10'000, 10'000, false) == 1'000);
  CHECK(tests(100, 60, true) == 100'000);
  // The standard error is that of the tests drawn: at most 1/(2√n), and above a third of it for a chance in the middle.
  const double error = DesignPower{{100, 0.3}, {60, 0.3}, {.budget = {.operations = 0.0}}}.finds(0.4).error;
  CHECK(error <= 0.5 / std::sqrt(62'500.0));
  CHECK(error >= 0.17 / std::sqrt(62'500.0));
}

TEST_CASE("design power: a design that is none is refused") {
  CHECK_THROWS_AS((DesignPower{{1, 1.0}, {3, 1.0}, {}}), DomainError);
  CHECK_THROWS_AS((DesignPower{{3, 1.0}, {3, 0.0}, {}}), DomainError);
  CHECK_THROWS_AS((DesignPower{{3, std::nan("")}, {3, 1.0}, {}}), DomainError);
  CHECK_THROWS_AS((DesignPower{{3, 1.0}, {3, 1.0}, {}}.finds(std::numeric_limits<double>::infinity())), DomainError);
  CHECK_THROWS_AS((DesignPower{{3, 1.0}, {3, 1.0}, {}}.same(0.0, 0.0)), DomainError);
  for (const DesignPowerOptions& how : {by_lattice(), by_integral(), by_tests()})
    CHECK_THROWS_AS((DesignPower{{10, 3.0}, {10, 3.0}, how}.detectable_gap(Power{0.04})), DomainError);
}
