#include <shotassay/methods/bow_power.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"
#include "support/table.hpp"

using namespace shotassay;

TEST_CASE("bow_power: power and detectable gap agree with R's pooled t test of bow averages") {
  // R 4.2.2, sd = sqrt(bow_sd^2 + (shot_sd^2 + step^2/12)/shots):
  // power.t.test(n = bows, delta = gap, sd, strict = TRUE)$power, and the delta of power 0.8 by uniroot on it
  struct Case {
    BowDesign design;
    double gap, power, detectable;
  };
  const std::vector<Case> cases = {
      {{2, 3, 0.5, 1.5, 0}, 3, 0.387400128526, 5.6534892662},
      {{2, 5, 1, 1.5, 1}, 3, 0.295622624472, 6.8467155115},
      {{3, 3, 1, 1.5, 1}, 4, 0.782554387058, 4.0945230218},
      {{3, 1, 2, 1, 0}, 5, 0.546085440197, 6.8667238592},
      {{4, 5, 0.5, 1.5, 0.1}, 1.5, 0.565146438477, 1.9921189979},
      {{5, 10, 1, 2, 1}, 2, 0.647375111236, 2.4024673670},
      {{12, 4, 1.5, 1, 0}, 1.2, 0.427829510009, 1.8923257891},
      {{2, 100, 0.2, 1, 1}, 1, 0.635893797151, 1.2746497538},
  };
  for (const auto& c : cases) {
    CAPTURE(c.design.bows);
    CAPTURE(c.design.shots);
    const PowerResult r = bow_power(c.gap, c.design);
    CHECK(r.power == within(c.power, 1e-9));
    CHECK(r.error_estimate < 1e-9);
    CHECK(bow_power(-c.gap, c.design).power == r.power);
    CHECK(bow_detectable_gap(c.design) == digits(c.detectable, 8));
  }
}

TEST_CASE("bow_power: simulated tests of bow averages agree within four standard errors") {
  // bow_power.R: columns bows, shots, SD between bows, SD of shots, gap, tests, share found by t on bow averages
  const auto rows = reference_table("bow_power.csv");
  REQUIRE(rows.size() == 19);
  for (const auto& row : rows) {
    const BowDesign design{static_cast<std::int64_t>(number_in(row.at(0))),
                           static_cast<std::int64_t>(number_in(row.at(1))), number_in(row.at(2)), number_in(row.at(3))};
    CAPTURE(design.bows);
    CAPTURE(design.shots);
    CAPTURE(design.bow_sd);
    const double power = bow_power(number_in(row.at(4)), design).power;
    const double error = std::sqrt(power * (1 - power) / number_in(row.at(5)));
    CHECK(number_in(row.at(6)) == within(power, 4 * error));
  }
}

TEST_CASE("bow_power: two single shots and no scatter of bows, by hand") {
  // Two bows of each kind, one shot each, no display: four shots, ν = 2, SE = σ·√(2/2) = σ. With Student's t on 2
  // degrees of freedom in closed form, P(T > t) = ½(1 − t/√(2 + t²)): at gap 0 the test is exact.
  const BowDesign design{2, 1, 0.0, 1.5};
  CHECK(bow_average_sd(design) == 1.5);
  CHECK(bow_power(0.0, design).power == within(0.05, 1e-9));
  // Half-width on average t·SE·E[s], ν = 2: t = 0.95·√2/√(1 − 0.95²) = 4.302653, E[s] = √(π/4)
  const double t = 0.95 * std::numbers::sqrt2 / std::sqrt(1 - 0.95 * 0.95);
  CHECK(bow_expected_half_width(design) == digits(t * 1.5 * std::sqrt(std::numbers::pi / 4), 9));
}

TEST_CASE("bow_power: at no gap it is the error rate, whatever the design and the level") {
  for (const std::int64_t bows : {2, 3, 10})
    for (const double bow_sd : {0.0, 0.5, 4.0})
      for (const double alpha : {0.2, 0.05, 0.01}) {
        const BowDesign design{bows, 5, bow_sd, 1.5, 1.0};
        const auto level = ConfidenceLevel::from_alpha(alpha);
        CHECK(bow_power(0.0, design, level).power == within(alpha, 1e-9));
        CHECK(bow_power_limit(0.0, design, level) == within(alpha, 1e-9));
      }
}

TEST_CASE("bow_power: the display adds step²/12 to a shot's variance") {
  // A step of √12 adds 1: shots of SD √3 become shots of SD 2.
  const BowDesign rounded{3, 4, 1.0, std::sqrt(3.0), std::sqrt(12.0)}, plain{3, 4, 1.0, 2.0};
  CHECK(bow_average_sd(rounded) == digits(std::sqrt(1.0 + 4.0 / 4.0), 14));
  CHECK(bow_power(3, rounded).power == within(bow_power(3, plain).power, 1e-12));
  CHECK(bow_power(3, rounded).power < bow_power(3, {3, 4, 1.0, std::sqrt(3.0)}).power);
}

TEST_CASE("bow_power: shots without end leave the scatter of bows") {
  const BowDesign design{3, 5, 1.0, 1.5, 1.0};
  // R 4.2.2: power.t.test(n = 3, delta = 3, sd = 1, strict = TRUE)$power
  CHECK(bow_power_limit(3.0, design) == within(0.782554387058, 1e-9));
  BowDesign many = design;
  double before = 0.0;
  for (const std::int64_t shots : {1, 2, 5, 50, 5'000}) {
    many.shots = shots;
    const double power = bow_power(3.0, many).power;
    CHECK(power > before);
    CHECK(power < bow_power_limit(3.0, design));
    CHECK(bow_detectable_gap(many) > bow_detectable_gap_limit(design));
    before = power;
  }
  many.shots = 1'000'000'000'000;
  CHECK(bow_power(3.0, many).power == within(bow_power_limit(3.0, design), 1e-8));
  CHECK(bow_detectable_gap(many) == digits(bow_detectable_gap_limit(design), 7));
  // Like bows: shots find any gap at last.
  const BowDesign like{2, 5, 0.0, 1.5};
  CHECK(bow_power_limit(1e-9, like) == 1.0);
  CHECK(bow_detectable_gap_limit(like) == 0.0);
  // R 4.2.2: power.t.test(n = 2, delta = 3, sd = 2, sig.level = .2, strict = TRUE)$power
  CHECK(bow_power_limit(-3.0, {2, 1, 2.0, 1.0}, ConfidenceLevel{0.8}) == within(0.466418551314, 1e-9));
}

TEST_CASE("bow_power: a detectable gap has the power asked, and scales with the SDs") {
  for (const double power : {0.3, 0.8, 0.95}) {
    const BowDesign design{4, 3, 0.7, 1.2, 0.1};
    const double gap = bow_detectable_gap(design, Power{power}, ConfidenceLevel{0.9});
    CHECK(bow_power(gap, design, ConfidenceLevel{0.9}).power == within(power, 2e-9));
    const BowDesign scaled{4, 3, 7.0, 12.0, 1.0};
    CHECK(bow_detectable_gap(scaled, Power{power}, ConfidenceLevel{0.9}) == digits(10 * gap, 9));
  }
  CHECK_THROWS_WITH_AS(bow_detectable_gap({2, 3, 1, 1}, Power{0.04}),
                       doctest::Contains("power 0.040000 is reached without any gap"), DomainError);
  CHECK_THROWS_AS(bow_detectable_gap_limit({2, 3, 0, 1}, Power{0.04}), DomainError);
}

TEST_CASE("bow_power: half of the interval's width on average is t·SE·E[s]") {
  // E[s] = √(2/ν)·Γ((ν+1)/2)/Γ(ν/2)
  for (const std::int64_t bows : {2, 4, 30}) {
    const BowDesign design{bows, 6, 1.1, 1.5, 1.0};
    const double nu = 2.0 * static_cast<double>(bows) - 2.0;
    const double mean_s = std::sqrt(2.0 / nu) * std::exp(std::lgamma(0.5 * nu + 0.5) - std::lgamma(0.5 * nu));
    const double se = std::sqrt(2.0 * (1.21 + (2.25 + 1.0 / 12.0) / 6.0) / static_cast<double>(bows));
    CHECK(bow_expected_half_width(design) == digits(numerics::t_upper_quantile(0.025, nu) * se * mean_s, 9));
    CHECK(bow_expected_half_width(design, ConfidenceLevel{0.8}) ==
          digits(numerics::t_upper_quantile(0.1, nu) * se * mean_s, 9));
  }
}

TEST_CASE("fewest_shots: the first number of shots that reaches the power, by trying them all") {
  int found = 0;
  for (const std::int64_t bows : {2, 3, 5})
    for (const double bow_sd : {0.0, 0.3, 1.0})
      for (const double gap : {1.5, -3.0, 8.0}) {
        CAPTURE(bows);
        CAPTURE(bow_sd);
        CAPTURE(gap);
        std::int64_t by_hand = 0;
        for (std::int64_t n = 1; n <= 60 && by_hand == 0; ++n)
          if (bow_power(gap, {bows, n, bow_sd, 1.5, 1.0}).power >= 0.8) by_hand = n;
        const auto fewest = fewest_shots({.gap = gap, .bows = bows, .bow_sd = bow_sd, .shot_sd = 1.5, .step = 1.0});
        if (by_hand > 0) {
          CHECK(fewest == by_hand);
          ++found;
        } else {
          CHECK((!fewest || *fewest > 60));
        }
      }
  CHECK(found >= 15);
}

TEST_CASE("fewest_shots: absent when the scatter of bows alone hides the gap, and beyond 10 000 shots") {
  const BowShotsQuestion hopeless{.gap = 3, .bows = 2, .bow_sd = 1, .shot_sd = 1.5};
  CHECK(bow_power_limit(3, {2, 1, 1, 1.5}) < 0.8);
  CHECK_FALSE(fewest_shots(hopeless).has_value());
  // 3 bows and no scatter between them: λ = gap/(σ·√(2/(3n))), so a tenth of the gap takes a hundred times the shots.
  const BowShotsQuestion few{.gap = 0.5, .bows = 3, .bow_sd = 0, .shot_sd = 1.5};
  const auto shots = fewest_shots(few);
  REQUIRE(shots.has_value());
  BowShotsQuestion many = few;
  many.gap = 0.05;
  const auto hundredfold = fewest_shots(many);
  REQUIRE(hundredfold.has_value());
  CHECK(*hundredfold <= 100 * *shots);
  CHECK(*hundredfold > 100 * (*shots - 1));
  many.gap = 0.005;
  CHECK(bow_power_limit(0.005, {3, 1, 0, 1.5}) == 1.0);
  CHECK_FALSE(fewest_shots(many).has_value());
}

TEST_CASE("fewest_shots: higher power and level take more shots") {
  const BowShotsQuestion question{.gap = 3, .bows = 5, .bow_sd = 0.5, .shot_sd = 3};
  BowShotsQuestion surer = question, stricter = question;
  surer.power = Power{0.95};
  stricter.level = ConfidenceLevel{0.99};
  CHECK(fewest_shots(surer).value() > fewest_shots(question).value());
  CHECK(fewest_shots(stricter).value() > fewest_shots(question).value());
}

TEST_CASE("bow_gap_sd: two single bows of like kinds lie √2 bow SDs apart") {
  CHECK(bow_gap_sd(1.0) == std::numbers::sqrt2);
  CHECK(bow_gap_sd(0.0) == 0.0);
  // The variance of a difference of two independent averages, shots without end.
  CHECK(bow_gap_sd(2.5) == digits(std::sqrt(2 * 2.5 * 2.5), 15));
  CHECK_THROWS_WITH_AS(bow_gap_sd(-1.0), "bow_gap_sd: needs an SD between bows of 0 or more, got -1.000000",
                       DomainError);
  CHECK_THROWS_AS(bow_gap_sd(NAN), DomainError);
}

TEST_CASE("bow_power: one bow of each kind is refused with the reason") {
  const BowDesign one{1, 50, 1.0, 1.5};
  const char* const reason =
      "bow_power: with one bow of each kind no number of shots tells how bows of a kind differ; needs 2 or more bows "
      "of "
      "each kind";
  CHECK_THROWS_WITH_AS(bow_power(3, one), reason, DomainError);
  CHECK_THROWS_WITH_AS(bow_power_limit(3, one), reason, DomainError);
  CHECK_THROWS_WITH_AS(bow_power_limit(0, one), reason, DomainError);
  CHECK_THROWS_WITH_AS(bow_detectable_gap(one), reason, DomainError);
  CHECK_THROWS_WITH_AS(bow_detectable_gap_limit(one), reason, DomainError);
  CHECK_THROWS_WITH_AS(bow_expected_half_width(one), reason, DomainError);
  CHECK_THROWS_WITH_AS(fewest_shots({.gap = 3, .bows = 1, .bow_sd = 1, .shot_sd = 1}), reason, DomainError);
  CHECK(bow_average_sd(one) == digits(std::sqrt(1 + 2.25 / 50), 14));  // its average is as good as any
}

TEST_CASE("bow_power: designs without sense are refused with what was got") {
  CHECK_THROWS_WITH_AS(bow_power(3, {0, 5, 1, 1}), "bow_power: needs 2 to 10000000 bows of each kind, got 0",
                       DomainError);
  CHECK_THROWS_AS(bow_power(3, {10'000'001, 5, 1, 1}), DomainError);
  CHECK_THROWS_WITH_AS(bow_power(3, {2, 0, 1, 1}), "bow_power: needs 1 or more shots with each bow, got 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(bow_power(3, {2, 5, -1, 1}), "bow_power: needs an SD between bows of 0 or more, got -1.000000",
                       DomainError);
  CHECK_THROWS_AS(bow_power(3, {2, 5, NAN, 1}), DomainError);
  CHECK_THROWS_WITH_AS(bow_power(3, {2, 5, 1, 0}), "bow_power: needs a positive SD of shots, got 0.000000",
                       DomainError);
  CHECK_THROWS_AS(bow_power(3, {2, 5, 1, HUGE_VAL}), DomainError);
  CHECK_THROWS_WITH_AS(bow_power(3, {2, 5, 1, 1, -0.5}), "bow_power: needs a display step of 0 or more, got -0.500000",
                       DomainError);
  CHECK_THROWS_AS(bow_power(3, {2, 5, 1, 1, NAN}), DomainError);
  CHECK_THROWS_WITH_AS(bow_power(NAN, {2, 5, 1, 1}), "bow_power: needs a finite gap, got nan", DomainError);
  CHECK_THROWS_AS(bow_power_limit(HUGE_VAL, {2, 5, 1, 1}), DomainError);
  CHECK_THROWS_WITH_AS(fewest_shots({.gap = 0, .bows = 2, .bow_sd = 1, .shot_sd = 1}),
                       "fewest_shots: needs a gap other than 0", DomainError);
  CHECK_THROWS_AS(fewest_shots({.gap = NAN, .bows = 2, .bow_sd = 1, .shot_sd = 1}), DomainError);
  CHECK_THROWS_AS(fewest_shots({.gap = 1, .bows = 2, .bow_sd = 1, .shot_sd = -1}), DomainError);
  CHECK_THROWS_AS(fewest_shots({.gap = 1, .bows = 2, .bow_sd = 1, .shot_sd = 1, .power = Power{0.03}}), DomainError);
}
