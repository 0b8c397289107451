#include <doctest/doctest.h>

#include <cstdint>
#include <vector>

#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"

using namespace shotassay;

TEST_CASE("detectable_gap: random designs agree with R's root of the noncentral t integral") {
  // Rscript power_welch_tost.R --seed=1 --n=16 (R 4.2.2): uniroot on the integral, aimed at 1e-8 in power. Where the
  // power is 0.8 or 0.9 it changes by 0.1 or more for a relative change of 1 in the gap: 1e-7 of the gap.
  // R's noncentral t is an approximation beyond 37.6, so the gap above 100 is SciPy's brentq on the sum described in
  // welch_power_test.cpp, step 0.02.
  struct Case {
    GroupDesign a, b;
    double power, alpha, gap;
  };
  // clang-format off
  const std::vector<Case> cases = {
      {{10, 1.6455388524969734}, {5, 0.7605135159758055}, 0.8, 0.1, 1.6447115591971482},
      {{6, 1.4074637118283568}, {6, 3.933240176081571}, 0.8, 0.1, 4.802561379822993},
      {{6, 1.0146955957230515}, {6, 1.7395298991146504}, 0.8, 0.1, 2.2597786098546857},
      {{7, 1.5043692689276247}, {5, 0.5248560160177063}, 0.8, 0.01, 2.7212904872022716},
      {{8, 1.470088276844252}, {9, 1.1651296997624712}, 0.9, 0.05, 2.289391546926325},
      {{3, 1.012006680423989}, {7, 1.0281497921346987}, 0.9, 0.1, 2.7097520836768845},
      {{9, 0.9835405612452963}, {8, 0.7621129659273826}, 0.9, 0.01, 1.8751989675653535},
      {{7, 1.8666866789619831}, {2, 1.8666866789619831}, 0.8, 0.05, 13.48724385781231},
      {{3, 2.214065953397393}, {11, 2.214065953397393}, 0.9, 0.05, 7.825451169171303},
      {{3, 1.7256453413532804}, {11, 0.5869026554944642}, 0.9, 0.1, 4.74771148337336},
      {{8, 2.2782544257619235}, {9, 0.7196564718541142}, 0.8, 0.01, 3.639692259079429},
      {{7, 0.8908582493909862}, {7, 0.8908582493909862}, 0.8, 0.01, 1.9386058198970093},
      {{8, 2.8715778251937616}, {4, 1.1282430120992233}, 0.9, 0.05, 4.248928481122818},
      {{12, 0.7410181925534558}, {8, 2.255577220371608}, 0.8, 0.1, 2.2526116045764155},
      {{2, 2.546567593138566}, {8, 2.546567593138566}, 0.9, 0.01, 114.11338133781004},
      {{12, 2.4447180163868745}, {4, 2.7432841510595893}, 0.9, 0.1, 5.481955723284561},
  };
  // clang-format on
  REQUIRE(cases.size() == 16);
  for (const auto& c : cases) {
    const double gap = detectable_gap(c.a, c.b, Power{c.power}, ConfidenceLevel::from_alpha(c.alpha));
    CHECK(gap == within(c.gap, 1e-7 * c.gap));
    CHECK(welch_power(gap, c.a, c.b, ConfidenceLevel::from_alpha(c.alpha)).power == within(c.power, 2e-9));
  }
}

TEST_CASE("detectable_gap: with a fixed critical value it is the minimum detectable difference of the pooled test") {
  // R 4.2.2: uniroot(function(d) pt(k, 18, d*sqrt(5), lower=F) + pt(-k, 18, d*sqrt(5)) - .9, c(1, 3), tol=1e-13)$root
  // with k = qt(.975, 18); power.t.test(n=10, power=.9, strict=TRUE, tol=1e-13) says the same.
  const GroupDesign g{10, 1.0};
  const double factor = numerics::t_upper_quantile(0.025, 18);
  const WelchPowerCurve pooled{g, g, [&](double) { return factor; }};
  CHECK(detectable_gap(pooled, Power{0.9}) == digits(1.5336920238046, 10));
}

TEST_CASE("detectable_gap: one side and every power lead back to the power asked") {
  const GroupDesign a{4, 1.2}, b{6, 0.8}, pair{2, 1.0};
  for (const double power : {0.06, 0.3, 0.5, 0.8, 0.95, 0.999, 0.9999999}) {
    CHECK(welch_power(detectable_gap(a, b, Power{power}), a, b).power == within(power, 2e-9));
    const double one = detectable_gap(a, b, Power{power}, ConfidenceLevel{0.95}, Sides::one);
    CHECK(welch_power(one, a, b, ConfidenceLevel{0.95}, Sides::one).power == within(power, 2e-9));
  }
  CHECK(welch_power(detectable_gap(pair, pair), pair, pair).power == within(0.8, 2e-9));
}

TEST_CASE("detectable_gap: scales with the SDs, falls with shots, rises with level, power and family") {
  const GroupDesign a{5, 1.0}, b{7, 2.0}, wide_a{5, 1000.0}, wide_b{7, 2000.0}, more{20, 2.0};
  const double gap = detectable_gap(a, b);
  CHECK(detectable_gap(b, a) == digits(gap, 9));
  CHECK(detectable_gap(wide_a, wide_b) == digits(1000.0 * gap, 9));
  CHECK(detectable_gap(a, more) < gap);
  CHECK(detectable_gap(a, b, Power{0.9}) > gap);
  CHECK(detectable_gap(a, b, Power{0.8}, ConfidenceLevel{0.99}) > gap);
  CHECK(detectable_gap(a, b, Power{0.8}, ConfidenceLevel{0.95}, Sides::one) < gap);
  CHECK(detectable_gap(a, b, Power{0.8}, ConfidenceLevel{0.95}, Sides::two, Family{3}) > gap);
}

TEST_CASE("detectable_gap: a power that chance alone reaches is refused, and one next to 1") {
  const GroupDesign g{10, 1.0};
  // R 4.2.2, power_welch_tost.R: welch_power(0, 1, 1, 10, 10, .2, 2) = 0.198361717
  CHECK_THROWS_WITH_AS(detectable_gap(g, g, Power{0.15}, ConfidenceLevel{0.8}),
                       "detectable_gap: power 0.150000 is reached without any gap: by chance alone 0.198362 of the "
                       "intervals leave out 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(detectable_gap(g, g, Power{1.0 - 1e-8}),
                       "detectable_gap: needs a power of at most 0.9999999, as powers are computed to 1e-9",
                       DomainError);
  CHECK_THROWS_AS(detectable_gap(g, {1, 1.0}), DomainError);
}
