#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>
#include <span>
#include <string>
#include <vector>

#include <shotassay/methods/propagation.hpp>
#include <shotassay/numerics/random.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

UncertainInput input(double x, double u, InputShape shape = InputShape::normal, double nu = infinite) {
  return {.name = "x", .estimate = x, .standard_uncertainty = u, .degrees_of_freedom = nu, .shape = shape};
}

double sum(std::span<const double> x) { return std::accumulate(x.begin(), x.end(), 0.0); }

bool same(const PropagationResult& a, const PropagationResult& b) {
  return a.estimate == b.estimate && a.standard_uncertainty == b.standard_uncertainty && a.symmetric == b.symmetric &&
         a.shortest == b.shortest && a.trials == b.trials && a.settled == b.settled && a.errors.lower == b.errors.lower;
}

std::string message_of(const auto& call) {
  try {
    call();
  } catch (const std::exception& error) {
    return error.what();
  }
  return "";
}

struct CoverageIntervals {
  Interval symmetric, shortest;
};

/// Of all values sorted. JCGM 101, 7.7.2: q = pM, r = (M − q)/2, both to the nearest whole number; y[0] is the
/// smallest.
CoverageIntervals of_sorted(std::vector<double> y, double level) {
  std::sort(y.begin(), y.end());
  const auto q = static_cast<std::size_t>(std::lround(level * static_cast<double>(y.size()))), left = y.size() - q;
  std::size_t best = 0;
  for (std::size_t i = 0; i + q < y.size(); ++i)
    if (y[i + q] - y[i] < y[best + q] - y[best]) best = i;
  return {{y[(left + 1) / 2 - 1], y[(left + 1) / 2 - 1 + q]}, {y[best], y[best + q]}};
}

bool has(const std::string& text, const char* part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("propagation: sums of four in Supplement 1, 9.2.2 to 9.2.4") {
  struct Case {
    const char* id;
    InputShape shape;
    double last_u, digits_off;
  };
  // The printed values are good to half a unit of their last digit (the check's tolerance); the trials may add as much
  // as they settle to, half of half a unit of the second digit of u.
  for (const Case& c :
       {Case{"s1-9.2.2", InputShape::normal, 1, 0.025}, Case{"s1-9.2.3", InputShape::rectangular, 1, 0.025},
        Case{"s1-9.2.4", InputShape::rectangular, 10, 0.25}}) {
    CAPTURE(c.id);
    const Published check{c.id};
    const std::vector<UncertainInput> x{input(0, 1, c.shape), input(0, 1, c.shape), input(0, 1, c.shape),
                                        input(0, c.last_u, c.shape)};
    const auto r = propagation(sum, x, {}, ConfidenceLevel{0.95}, {.tolerance_share = 0.5, .seed = 3, .threads = 2});
    REQUIRE(r.settled);
    CHECK(r.tolerance == digits(c.digits_off, 9));  // u of 2.0 has its second digit at 0.1, of 10.1 at 1
    const auto near = [&](const char* name) {
      return within(check.value(name), check.expected(name).tolerance + r.tolerance);
    };
    CHECK(*r.estimate == within(0.0, r.tolerance));
    CHECK(*r.standard_uncertainty == near("u"));
    CHECK(r.symmetric.lower == near("lo"));
    CHECK(r.symmetric.upper == near("hi"));
  }
}

TEST_CASE("propagation: the mass calibration of Supplement 1, 9.3, where the law of propagation gives 0.054") {
  const Published check{"s1-9.3"};
  const std::vector<UncertainInput> x{input(100000, 0.050), input(1.234, 0.020),
                                      input(1.2, 0.1 / std::sqrt(3.0), InputShape::rectangular),
                                      input(8000, 1000 / std::sqrt(3.0), InputShape::rectangular),
                                      input(8000, 50 / std::sqrt(3.0), InputShape::rectangular)};
  const auto mass = [](std::span<const double> v) {
    return (v[0] + v[1]) * (1 + (v[2] - 1.2) * (1 / v[3] - 1 / v[4])) - 100000;
  };
  // The check's tolerances are four standard errors of a million trials.
  const auto r = propagation(mass, x, {}, ConfidenceLevel{0.95},
                             {.tolerance_share = 0.2, .most_trials = 1'000'000, .seed = 5, .threads = 2});
  CHECK(r.trials == 1'000'000);
  CHECK_FALSE(r.settled);  // 0.0001 takes more than that
  CHECK(*r.estimate == check.expected("mean"));
  CHECK(*r.standard_uncertainty == check.expected("u"));
  CHECK(r.symmetric.lower == check.expected("lo"));
  CHECK(r.symmetric.upper == check.expected("hi"));
  CHECK(r.errors.lower < 0.0003);
}

TEST_CASE("propagation: draws each distribution, judged by exact quantiles") {
  struct Case {
    UncertainInput x;
    double u, upper;  ///< SD, and the 97.5 % point of x
  };
  // upper: rectangular √3·0.95; triangular √6(1 − √0.05); arcsine √2·sin(0.475π);
  // t(8) qt(.975, 8) = 2.306004 with SD √(8/6); t(40.5) qt(.975, 40.5) = 2.020298 with SD √(40.5/38.5)
  const Case cases[] = {{input(0, 1, InputShape::normal), 1.0, 1.959964},
                        {input(0, 1, InputShape::rectangular), 1.0, std::sqrt(3.0) * 0.95},
                        {input(0, 1, InputShape::triangular), 1.0, std::sqrt(6.0) * (1 - std::sqrt(0.05))},
                        {input(0, 1, InputShape::arcsine), 1.0, std::sqrt(2.0) * std::sin(0.475 * 3.14159265358979)},
                        {input(0, 1, InputShape::t, 8), std::sqrt(8.0 / 6), 2.306004},
                        {input(0, 1, InputShape::t, 4.5), std::sqrt(4.5 / 2.5), 2.658912},  // qt(.975, 4.5)
                        {input(0, 1, InputShape::normal, 8), std::sqrt(8.0 / 6), 2.306004},
                        {input(0, 1, InputShape::t, 40.5), std::sqrt(40.5 / 38.5), 2.020298},
                        // Limits are exact, whatever the degrees of freedom of u.
                        {input(0, 1, InputShape::rectangular, 3), 1.0, std::sqrt(3.0) * 0.95}};
  for (const Case& c : cases) {
    const auto r = propagation(sum, std::vector{c.x}, {}, ConfidenceLevel{0.95},
                               {.tolerance_share = 0.4, .most_trials = 200'000, .seed = 11, .threads = 2});
    CAPTURE(c.upper);
    // Five standard errors: one check in two million is off by so much.
    CHECK(*r.standard_uncertainty == within(c.u, 5 * *r.errors.standard_uncertainty + 1e-9));
    CHECK(r.symmetric.upper == within(c.upper, 5 * r.errors.upper + 1e-6));
    CHECK(r.symmetric.lower == within(-c.upper, 5 * r.errors.lower + 1e-6));
  }
}

TEST_CASE("propagation: linear models of mixed inputs agree with quantiles from characteristic functions") {
  // 2·N(0.3; 0.5) − U(−1, 1) + arcsine(−0.5, 0.5): 0.6 ± the root y of
  //   ½ + ∫ e^(−w²/2) (sin w)/w J₀(w/2) sin(wy)/w dw / π = 0.975,  by mpmath's quad and findroot: 2.3583096
  const std::vector<UncertainInput> x{input(0.3, 0.5), input(0, 1 / std::sqrt(3.0), InputShape::rectangular),
                                      input(0, 0.5 / std::sqrt(2.0), InputShape::arcsine)};
  const auto r = propagation([](std::span<const double> v) { return 2 * v[0] - v[1] + v[2]; }, x, {},
                             ConfidenceLevel{0.95}, {.tolerance_share = 0.5, .seed = 2, .threads = 2});
  CHECK(*r.standard_uncertainty == within(std::sqrt(1 + 1.0 / 3 + 0.125), 5 * *r.errors.standard_uncertainty));
  CHECK(r.symmetric.lower == within(0.6 - 2.358310, 5 * r.errors.lower));
  CHECK(r.symmetric.upper == within(0.6 + 2.358310, 5 * r.errors.upper));
}

TEST_CASE("propagation: correlated inputs are drawn together, so that they cancel in a difference") {
  const std::vector<UncertainInput> x{input(5, 3), input(1, 4), input(0, 1)};
  const auto difference = [](std::span<const double> v) { return v[0] - v[1]; };
  const auto of = [&](double r) {
    const std::vector<Correlation> link{{0, 1, r}};
    return propagation(difference, x, link, ConfidenceLevel{0.95}, {.most_trials = 100'000, .seed = 4});
  };
  for (const double r : {-1.0, -0.5, 0.0, 0.8, 1.0}) {
    const auto result = of(r);
    CAPTURE(r);
    CHECK(*result.standard_uncertainty ==
          within(std::sqrt(25 - 24 * r), 5 * *result.errors.standard_uncertainty + 1e-9));
    CHECK(*result.estimate == within(4.0, 5 * *result.errors.estimate + 1e-9));
  }
}

TEST_CASE("propagation: the impedance of the GUM, H.2, from correlated inputs") {
  // V, I, phi with u and r as Table H.2 prints them; R = 127.732 with u = 0.071, X with 0.295 and Z with 0.236.
  const Published check{"gum-h2"};
  const std::vector<UncertainInput> x{input(4.999, 0.0032), input(19.661e-3, 0.0095e-3), input(1.04446, 0.00075)};
  const std::vector<Correlation> r{{0, 1, -0.36}, {0, 2, 0.86}, {1, 2, -0.65}};
  const auto z = propagation([](std::span<const double> v) { return v[0] / v[1]; }, x, r, ConfidenceLevel{0.95},
                             {.seed = 1, .threads = 2});
  // The printed u and r carry two digits: u(Z) moves by up to 2 % with them.
  CHECK(*z.standard_uncertainty == within(check.value("uZ"), 0.02 * check.value("uZ") + 2 * z.tolerance));
  CHECK(*z.estimate == within(check.value("Z"), 0.01));
}

TEST_CASE("propagation: same seed, same bytes, for any number of threads; another seed differs") {
  const std::vector<UncertainInput> x{input(350, 0.3, InputShape::triangular), input(300, 1.2, InputShape::t, 5)};
  const auto energy = [](std::span<const double> v) { return v[0] * v[1] * v[1] / 450436.68; };
  const auto with = [&](unsigned threads, std::uint64_t seed) {
    return propagation(energy, x, {}, ConfidenceLevel{0.95},
                       {.most_trials = 150'000, .seed = seed, .threads = threads});
  };
  const auto one = with(1, 7);
  for (const unsigned threads : {2u, 3u, 16u}) CHECK(same(one, with(threads, 7)));
  CHECK_FALSE(same(one, with(1, 8)));
}

TEST_CASE("propagation: both intervals are those of all trials drawn one by one and sorted") {
  for (const double level : {0.95, 0.6, 0.3, 0.01}) {
    CAPTURE(level);
    for (const std::uint64_t seed : {1u, 2u, 3u}) {
      const auto cube = [](std::span<const double> v) { return v[0] * v[0] * v[0]; };
      const auto r = propagation(cube, std::vector{input(0.5, 1)}, {}, ConfidenceLevel{level},
                                 {.tolerance_share = 1e-9, .most_trials = 100'000, .seed = seed});
      std::vector<double> y;
      for (std::uint64_t trial = 0; trial < 100'000; ++trial) {
        const double z = numerics::ReplicateStream{seed, trial, numerics::RandomPurpose::propagation}.normal();
        y.push_back((0.5 + z) * (0.5 + z) * (0.5 + z));
      }
      const auto [symmetric, shortest] = of_sorted(y, level);
      CHECK(r.symmetric == symmetric);
      CHECK(r.shortest == shortest);
    }
  }
  // All on one side of the mode, and the mode at the end: the shortest interval starts at the smallest value.
  const auto falling = [](std::span<const double> v) { return -std::log(v[0]); };
  const std::vector<UncertainInput> half{input(0.5, 0.5 / std::sqrt(3.0), InputShape::rectangular)};
  const auto r =
      propagation(falling, half, {}, ConfidenceLevel{0.95}, {.tolerance_share = 1e-9, .most_trials = 100'000});
  std::vector<double> y;
  for (std::uint64_t trial = 0; trial < 100'000; ++trial) {
    const double u = numerics::ReplicateStream{1, trial, numerics::RandomPurpose::propagation}.uniform();
    y.push_back(-std::log(0.5 + half[0].standard_uncertainty * (std::sqrt(3.0) * (2 * u - 1))));
  }
  CHECK(r.shortest == of_sorted(y, 0.95).shortest);
  CHECK(r.shortest.lower == *std::min_element(y.begin(), y.end()));
}

TEST_CASE("propagation: both intervals hold where few of the values tell what the others are") {
  // Which values can be ends is told by every 97th or so. Here those lie below, above, or on both sides of all others;
  // then values that rise, fall, or come in four sizes only.
  constexpr std::size_t trials = 100'000, told = 1024;
  std::vector<std::vector<double>> all(6, std::vector<double>(trials));
  for (std::size_t i = 0; i < trials; ++i) {
    const double u = numerics::ReplicateStream{9, i, numerics::RandomPurpose::clinic}.uniform();
    for (std::size_t k = 0; k < 3; ++k) all[k][i] = u;
    all[3][i] = static_cast<double>(i);
    all[4][i] = -static_cast<double>(i);
    all[5][i] = std::floor(4.0 * u);
  }
  for (std::size_t i = 0; i < told; ++i) {
    const std::size_t at = i * trials / told;
    all[0][at] -= 1000.0;
    all[1][at] += 1000.0;
    all[2][at] += i % 2 == 0 ? 1000.0 : -1000.0;
  }
  for (const std::vector<double>& y : all)
    for (const double level : {0.95, 0.5, 0.2, 0.99}) {
      CAPTURE(y[1]);
      CAPTURE(level);
      std::size_t next = 0;
      const auto r = propagation([&](std::span<const double>) { return y[next++]; }, std::vector{input(0, 1)}, {},
                                 ConfidenceLevel{level}, {.tolerance_share = 1e-9, .most_trials = trials});
      REQUIRE(next == trials);
      const auto [symmetric, shortest] = of_sorted(y, level);
      CHECK(r.symmetric == symmetric);
      CHECK(r.shortest == shortest);
    }
}

TEST_CASE("propagation: the shortest interval of a skew result is shorter, and lies nearer to its mode") {
  // y = x², x normal about 0: the mode is 0, so the shortest 95 % interval starts there and ends at χ²(0.95; 1)
  // = 3.841.
  const auto square = [](std::span<const double> v) { return v[0] * v[0]; };
  const auto r = propagation(square, std::vector{input(0, 1)}, {}, ConfidenceLevel{0.95},
                             {.settled_by = CoverageKind::shortest, .seed = 6, .threads = 2});
  REQUIRE(r.settled);
  CHECK(r.shortest.lower == within(0.0, 1e-3));
  CHECK(r.shortest.upper == within(3.841459, 5 * r.errors.upper));
  // qchisq(c(.025, .975), 1) = 0.0009820691, 5.023886
  CHECK(r.symmetric.lower == within(0.00098, 2e-4));
  CHECK(r.symmetric.upper == within(5.023886, 0.1));
  CHECK(r.shortest.half_width() < r.symmetric.half_width());
}

TEST_CASE("propagation: an average of three readings has no u, one of two no average either, and both a range") {
  const auto of = [](double nu) {
    return propagation(sum, std::vector{input(10, 1, InputShape::t, nu)}, {}, ConfidenceLevel{0.95},
                       {.most_trials = 400'000, .seed = 9, .threads = 2});
  };
  const auto three = of(2), two = of(1), four = of(3);
  CHECK_FALSE(three.standard_uncertainty.has_value());
  CHECK_FALSE(three.errors.standard_uncertainty.has_value());
  CHECK(three.estimate.has_value());
  CHECK(three.symmetric.upper == within(10 + 4.302653, 5 * three.errors.upper));  // qt(.975, 2)
  CHECK_FALSE(two.estimate.has_value());
  CHECK_FALSE(two.errors.estimate.has_value());
  CHECK(two.symmetric.upper == within(10 + 12.7062, 5 * two.errors.upper));  // qt(.975, 1)
  CHECK(four.standard_uncertainty.has_value());
}

TEST_CASE("propagation: settles to what was asked, with more trials for more digits, and says when it did not") {
  const std::vector<UncertainInput> x{input(0, 0.9), input(0, 0.8, InputShape::rectangular)};
  const auto with = [&](PropagationOptions how) { return propagation(sum, x, {}, ConfidenceLevel{0.9}, how); };
  const auto one = with({.significant_digits = 1}), two = with({.significant_digits = 2}),
             fifth = with({.significant_digits = 2, .tolerance_share = 0.2});
  CHECK(one.tolerance == digits(0.5, 12));  // u = 1.2
  CHECK(two.tolerance == digits(0.05, 12));
  CHECK(fifth.tolerance == digits(0.01, 12));
  CHECK(one.trials == 100'000);  // ten blocks, the least
  CHECK(fifth.trials > two.trials);
  for (const auto& r : {one, two, fifth}) {
    CHECK(r.settled);
    CHECK(2 * r.errors.lower <= r.tolerance);
    CHECK(2 * r.errors.upper <= r.tolerance);
    CHECK(2 * *r.errors.standard_uncertainty <= r.tolerance);
    CHECK(2 * *r.errors.estimate <= r.tolerance);
  }
  const auto cut = with({.significant_digits = 2, .tolerance_share = 0.01, .most_trials = 100'000});
  CHECK_FALSE(cut.settled);
  CHECK(cut.trials == 100'000);
}

TEST_CASE("propagation: blocks grow with the level, so that the tails hold a hundred trials") {
  const auto r = propagation(sum, std::vector{input(0, 1)}, {}, ConfidenceLevel{0.999},
                             {.significant_digits = 1, .seed = 1, .threads = 2});
  CHECK(r.trials == 1'000'000);                                      // ten blocks of 100/0.001
  CHECK(r.symmetric.upper == within(3.290527, 5 * r.errors.upper));  // qnorm(.9995)
}

TEST_CASE("propagation: a model without a value at some draw is refused, with the inputs that it cannot take") {
  std::vector<UncertainInput> x{input(1, 1)};
  x[0].name = "length";
  const auto root = [](std::span<const double> v) { return std::sqrt(v[0]); };
  const std::string one = message_of([&] { propagation(root, x, {}, ConfidenceLevel{0.95}, {.threads = 1}); });
  CHECK(has(one, "no finite value"));
  CHECK(has(one, "length = -"));
  CHECK(one == message_of([&] { propagation(root, x, {}, ConfidenceLevel{0.95}, {.threads = 3}); }));
  const auto thrower = [](std::span<const double> v) -> double {
    if (v[0] > 3) throw NoAnswer{"model: too long"};
    return v[0];
  };
  CHECK_THROWS_AS(propagation(thrower, x, {}, ConfidenceLevel{0.95}, {.threads = 2}), NoAnswer);
  CHECK(
      has(message_of([&] { propagation([](std::span<const double>) { return 4.0; }, x); }), "the same in every trial"));
}

TEST_CASE("propagation: what cannot be is refused") {
  const std::vector<UncertainInput> x{input(0, 1)};
  const auto with = [&](PropagationOptions how, double level = 0.95) {
    return message_of([&] { propagation(sum, x, {}, ConfidenceLevel{level}, how); });
  };
  CHECK(has(with({.significant_digits = 0}), "must be 1 or 2, got 0"));
  CHECK(has(with({.significant_digits = 3}), "must be 1 or 2, got 3"));
  CHECK(has(with({.tolerance_share = 0}), "at most 1"));
  CHECK(has(with({.tolerance_share = 1.5}), "at most 1"));
  CHECK(has(with({.most_trials = 99'999}), "trials must be 100000 to 100000000"));
  CHECK(has(with({.most_trials = 100'000'001}), "got 100000001"));
  CHECK(has(with({.threads = 0}), "threads must be 1 or more"));
  CHECK(has(with({}, 0.99991), "at most 0.9999"));
  CHECK_THROWS_AS(propagation(sum, std::vector<UncertainInput>{}), DomainError);
  const std::vector<UncertainInput> three{input(0, 1), input(0, 1), input(0, 1)};
  const std::vector<Correlation> contradiction{{0, 1, 0.9}, {0, 2, 0.9}, {1, 2, -0.9}};
  CHECK_THROWS_AS(propagation(sum, three, contradiction), DomainError);
}
