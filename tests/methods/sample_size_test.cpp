#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <shotassay/methods/sample_size.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;

TEST_CASE("sample_size: random questions agree with R's scan of the noncentral t integral") {
  // Rscript power_welch_tost.R --seed=1 --n=16 (R 4.2.2): smallest equal n, counted up from 2, and its power.
  struct Case {
    double gap, sd_a, sd_b, power, alpha;
    std::int64_t n;
    double reached;
  };
  // clang-format off
  const std::vector<Case> cases = {
      {3.076324805205639, 1.6455388524969734, 0.7605135159758055, 0.8, 0.1, 4, 0.8638727926975833},
      {4.56508487006438, 1.4074637118283568, 3.933240176081571, 0.8, 0.1, 7, 0.8329141073584011},
      {3.7403506934558655, 1.0146955957230515, 1.7395298991146504, 0.8, 0.1, 4, 0.9202536356292841},
      {2.424973094163889, 1.5043692689276247, 0.5248560160177063, 0.8, 0.01, 8, 0.8048654561825115},
      {2.0067747949499313, 1.470088276844252, 1.1651296997624712, 0.9, 0.05, 11, 0.9179601398614574},
      {2.3332595937141383, 1.012006680423989, 1.0281497921346987, 0.9, 0.1, 5, 0.9440354904327015},
      {1.187497373001916, 0.9835405612452963, 0.7621129659273826, 0.9, 0.01, 19, 0.9145096797459641},
      {3.3934378492911996, 1.8666866789619831, 1.8666866789619831, 0.8, 0.05, 7, 0.8693318948277577},
      {3.6366234373893884, 2.214065953397393, 2.214065953397393, 0.9, 0.05, 9, 0.9012941096919918},
      {3.135078457053053, 1.7256453413532804, 0.5869026554944642, 0.9, 0.1, 5, 0.9430234354409156},
      {4.203143506498571, 2.2782544257619235, 0.7196564718541142, 0.8, 0.01, 7, 0.8251077859183448},
      {1.893941754403515, 0.8908582493909862, 0.8908582493909862, 0.8, 0.01, 8, 0.8644590471522838},
      {5.252161382919382, 2.8715778251937616, 1.1282430120992233, 0.9, 0.05, 6, 0.9333476590957933},
      {3.2957110991886136, 0.7410181925534558, 2.255577220371608, 0.8, 0.1, 5, 0.8361344888889382},
      {2.8215616397367373, 2.546567593138566, 2.546567593138566, 0.9, 0.01, 27, 0.9131177839358233},
      {6.642438748238984, 2.4447180163868745, 2.7432841510595893, 0.9, 0.1, 4, 0.922363995587926},
  };
  // clang-format on
  REQUIRE(cases.size() == 16);
  for (const auto& c : cases) {
    const auto plan = sample_size({.smallest_difference = c.gap,
                                   .sd_a = c.sd_a,
                                   .sd_b = c.sd_b,
                                   .power = Power{c.power},
                                   .level = ConfidenceLevel::from_alpha(c.alpha)});
    CHECK(plan.shots_a == c.n);
    CHECK(plan.shots_b == c.n);
    CHECK(plan.power == within(c.reached, 1e-8));
    if (c.n > 2) CHECK(plan.power_one_less.value() < c.power);
    CHECK(plan.power_one_less.has_value() == (c.n > 2));
    CHECK(plan.one_more_holds);
    CHECK(plan.power_one_more > plan.power);
  }
}

TEST_CASE("sample_size_for_same: random questions agree with R's scan of the double integral") {
  // Rscript power_welch_tost.R --seed=1 --n=16: two one-sided tests at 0.05, hence level 0.9.
  struct Case {
    double margin, sd_a, sd_b, gap, power;
    std::int64_t n;
    double reached;
  };
  // clang-format off
  const std::vector<Case> cases = {
      {1.665068277146165, 1.6455388524969734, 0.7605135159758055, 0, 0.8, 12, 0.8351906966144739},
      {4.407843825007473, 1.4074637118283568, 3.933240176081571, 0, 0.8, 9, 0.8033842997027845},
      {2.2501329198192077, 1.0146955957230515, 1.7395298991146504, 0.45002658396384154, 0.8, 10, 0.8418218781613864},
      {1.6454140159620603, 1.5043692689276247, 0.5248560160177063, 0, 0.8, 10, 0.8411715631507906},
      {2.0202751327908195, 1.470088276844252, 1.1651296997624712, 0, 0.9, 11, 0.9261965699288417},
      {2.007710866700309, 1.012006680423989, 1.0281497921346987, 0.40154217334006187, 0.9, 8, 0.9058885722693796},
      {1.821048024898867, 0.9835405612452963, 0.7621129659273826, 0, 0.9, 7, 0.9496587982180751},
      {2.2924261929449146, 1.8666866789619831, 1.8666866789619831, 0.45848523858898294, 0.8, 15, 0.8243404190100216},
      {3.776720787695054, 2.214065953397393, 2.214065953397393, 0, 0.9, 9, 0.9284622398204618},
      {3.4204262537310774, 1.7256453413532804, 0.5869026554944642, 0, 0.9, 5, 0.9373137201100579},
      {3.0614220058695074, 2.2782544257619235, 0.7196564718541142, 0, 0.8, 7, 0.8371023135833079},
      {0.7808997730054359, 0.8908582493909862, 0.8908582493909862, 0, 0.8, 24, 0.8214034326955952},
      {2.9563242086345554, 2.8715778251937616, 1.1282430120992233, 0, 0.9, 13, 0.9012579413803358},
      {2.5710851072217147, 0.7410181925534558, 2.255577220371608, 0.514217021444343, 0.8, 10, 0.8059637241144118},
      {2.431942066538822, 2.546567593138566, 2.546567593138566, 0.4863884133077644, 0.9, 31, 0.9054578306009999},
      {2.739291903993425, 2.4447180163868745, 2.7432841510595893, 0.5478583807986851, 0.9, 26, 0.9097646031288349},
  };
  // clang-format on
  REQUIRE(cases.size() == 16);
  for (const auto& c : cases) {
    const auto plan = sample_size_for_same({.margin = c.margin,
                                            .sd_a = c.sd_a,
                                            .sd_b = c.sd_b,
                                            .true_gap = c.gap,
                                            .power = Power{c.power},
                                            .level = ConfidenceLevel::from_alpha(0.1)});
    CHECK(plan.shots_a == c.n);
    CHECK(plan.shots_b == c.n);
    CHECK(plan.power == within(c.reached, 1e-8));
    if (c.n > 2) CHECK(plan.power_one_less.value() < c.power);
  }
}

TEST_CASE("sample_size: with equal SDs Cohen's table is met or passed by one shot") {
  // Cohen tables the pooled test, rounded to the nearest n; Welch's ν ≤ 2n − 2 never needs fewer than the pooled test.
  for (const char* id : {"cohen-2.4.1-p80", "cohen-2.4.1-p95"}) {
    const Published check{id};
    for (const char* d : {"0.1", "0.2", "0.5", "0.8", "1.0", "1.4"}) {
      CAPTURE(d);
      const auto plan = sample_size(
          {.smallest_difference = std::stod(d), .sd_a = 1, .sd_b = 1, .power = Power{check.number("power")}});
      const double printed = check.value(std::string{"n_"} + d);
      CHECK(static_cast<double>(plan.shots_a) >= printed);
      CHECK(static_cast<double>(plan.shots_a) <= printed + 1);
    }
  }
}

TEST_CASE("sample_size: every smaller n falls short, one more holds, by trying them all") {
  for (const double gap : {0.7, 1.0, 1.9, 4.0}) {
    const auto plan = sample_size({.smallest_difference = gap, .sd_a = 1.0, .sd_b = 2.5, .power = Power{0.9}});
    for (std::int64_t n = 2; n < plan.shots_a; ++n) CHECK(welch_power(gap, {n, 1.0}, {n, 2.5}).power < 0.9);
    CHECK(welch_power(gap, {plan.shots_a, 1.0}, {plan.shots_a, 2.5}).power == within(plan.power, 1e-9));
    CHECK(plan.power >= 0.9);
    CHECK(plan.power_one_less.value() < 0.9);
    CHECK(plan.one_more_holds);
  }
}

TEST_CASE("sample_size: the bound that skips shots is never below the power it stands for") {
  const CriticalFactor critical{ConfidenceLevel{0.95}};
  const double least = critical(detail::most_degrees_of_freedom());
  for (const std::int64_t n1 : {2, 3, 5, 12, 60, 400})
    for (const std::int64_t n2 : {2, 4, 15, 90})
      for (const double sd : {0.2, 1.0, 4.0})
        for (const double lambda : {0.5, 2.0, 3.0, 5.0}) {
          const GroupDesign a{n1, 1.0}, b{n2, sd};
          const WelchPowerCurve curve{a, b, critical};
          const double bound = detail::power_bound(a, b, [&](double root_w) {
            return detail::fast_upper_tail(least * root_w - lambda) + detail::fast_upper_tail(least * root_w + lambda);
          });
          CHECK(bound >= curve.two_sided(lambda * curve.standard_error()).power);
          const double mu = lambda + 1.0;
          const double same = detail::power_bound(a, b, [&](double root_w) {
            const double room = mu - least * root_w;
            return std::max(0.0, 1.0 - 2.0 * detail::fast_upper_tail(room));
          });
          CHECK(same >= curve.equivalence(0.0, mu * curve.standard_error()).power);
        }
}

TEST_CASE("sample_size: the quicker bounds are never below the power they stand for, and close to it") {
  const CriticalFactor critical{ConfidenceLevel{0.95}}, one_sided{ConfidenceLevel{0.95}, Sides::one};
  const double most = detail::most_degrees_of_freedom();
  for (const std::int64_t n1 : {2, 3, 5, 12, 60, 400})
    for (const std::int64_t n2 : {2, 4, 15, 90})
      for (const double sd : {0.2, 1.0, 4.0})
        for (const double lambda : {0.5, 2.0, 3.0, 5.0}) {
          const GroupDesign a{n1, 1.0}, b{n2, sd};
          const double nu = static_cast<double>(n1 + n2 - 2);
          const WelchPowerCurve two{a, b, critical}, one{a, b, one_sided};
          const double of_two = two.two_sided(lambda * two.standard_error()).power;
          const double of_one = one.one_sided(lambda * one.standard_error()).power;
          CHECK(detail::taylor_bound(a, b, critical(most), lambda, Sides::two) >= of_two);
          CHECK(detail::taylor_bound(a, b, one_sided(most), lambda, Sides::one) >= of_one);
          CHECK(detail::least_scale_bound(a, b, critical(nu), lambda, Sides::two) >= of_two - 1e-10);
          CHECK(detail::least_scale_bound(a, b, one_sided(nu), lambda, Sides::one) >= of_one - 1e-10);
        }
  // R 4.2.2: power.t.test(n = 60, delta = 0.5, sd = 1, strict = TRUE)$power = 0.775265889
  const double lambda = 0.5 * std::sqrt(30.0);
  CHECK(detail::least_scale_bound({60, 1}, {60, 1}, critical(118), lambda, Sides::two) == within(0.775265889, 2e-9));
  CHECK(detail::taylor_bound({60, 1}, {60, 1}, critical(most), lambda, Sides::two) < 0.79);
}

TEST_CASE("sample_size: SDs near the ends of a double's range change nothing") {
  for (const double unit : {1e-160, 1e160}) {
    const auto plan = sample_size({.smallest_difference = 3 * unit, .sd_a = 1.2 * unit, .sd_b = 1.2 * unit});
    CHECK(plan.shots_a == 5);
    CHECK(plan.power == within(sample_size({.smallest_difference = 3, .sd_a = 1.2, .sd_b = 1.2}).power, 1e-12));
  }
}

TEST_CASE("sample_size: a dip of power after the first n that holds is told") {
  // Low power and unequal SDs. R 4.2.2, welch_power(4, 1, 20, n, n, .05, 2) of power_welch_tost.R: 0.066247475241 at
  // n = 2, 0.059035577503 at n = 3.
  const auto plan = sample_size({.smallest_difference = 4, .sd_a = 1, .sd_b = 20, .power = Power{0.0625}});
  CHECK(plan.shots_a == 2);
  CHECK(plan.power == within(0.066247475241, 1e-9));
  CHECK(plan.power_one_more == within(0.059035577503, 1e-9));
  CHECK_FALSE(plan.one_more_holds);
  CHECK_FALSE(plan.power_one_less.has_value());
}

TEST_CASE("sample_size: a ratio of shots is kept, whichever set-up is the larger") {
  const auto plan = sample_size({.smallest_difference = 3, .sd_a = 1, .sd_b = 3, .power = Power{0.8}, .ratio = 2.5});
  CHECK(plan.shots_b == std::llround(2.5 * static_cast<double>(plan.shots_a)));
  CHECK(plan.power >= 0.8);
  for (std::int64_t n = 2; n < plan.shots_a; ++n)
    CHECK(welch_power(3, {n, 1}, {std::llround(2.5 * static_cast<double>(n)), 3}).power < 0.8);
  const auto turned = sample_size({.smallest_difference = -3, .sd_a = 3, .sd_b = 1, .power = Power{0.8}, .ratio = 0.4});
  CHECK(turned.shots_a == plan.shots_b);
  CHECK(turned.shots_b == plan.shots_a);
  CHECK(turned.power == within(plan.power, 1e-9));
}

TEST_CASE("sample_size: one side needs fewer shots, a family more") {
  const SampleSizeQuestion two{.smallest_difference = 2, .sd_a = 1.5, .sd_b = 1.5};
  SampleSizeQuestion one = two, family = two;
  one.sides = Sides::one;
  family.family = Family{4};
  const auto plan = sample_size(two);
  const auto one_sided = sample_size(one);
  CHECK(one_sided.shots_a < plan.shots_a);
  CHECK(welch_power(2, {one_sided.shots_a, 1.5}, {one_sided.shots_b, 1.5}, ConfidenceLevel{0.95}, Sides::one).power >=
        0.8);
  CHECK(one_sided.power_one_less.value() < 0.8);
  // A gap on the wrong side is no success of one side; with little power there would be many such.
  one.smallest_difference = 0.3;
  one.power = Power{0.08};
  const std::int64_t n = sample_size(one).shots_a;
  const auto at = [](std::int64_t shots) {
    return welch_power(0.3, {shots, 1.5}, {shots, 1.5}, ConfidenceLevel{0.95}, Sides::one).power;
  };
  CHECK(n > 2);
  for (std::int64_t fewer = 2; fewer < n; ++fewer) CHECK(at(fewer) < 0.08);
  CHECK(at(n) >= 0.08);
  const auto of_four = sample_size(family);
  CHECK(of_four.shots_a > plan.shots_a);
  CHECK(of_four.power == within(welch_power(2, {of_four.shots_a, 1.5}, {of_four.shots_b, 1.5}, ConfidenceLevel{0.95},
                                            Sides::two, Family{4})
                                    .power,
                                1e-8));
  const SameSizeQuestion same{.margin = 3, .sd_a = 1.5, .sd_b = 1.5};
  SameSizeQuestion same_family = same;
  same_family.family = Family{4};
  CHECK(sample_size_for_same(same_family).shots_a > sample_size_for_same(same).shots_a);
}

TEST_CASE("sample_size: beyond 10 000 shots there is no answer, and what would help is said") {
  CHECK_THROWS_WITH_AS(
      sample_size({.smallest_difference = 0.01, .sd_a = 1, .sd_b = 2}),
      "sample_size: more than 10000 shots in a set-up would be needed to find a gap of 0.01 with SDs of 1 "
      "and 2 and power 0.8; a smaller SD, a finer display or a larger smallest gap would help",
      NoAnswer);
  CHECK_THROWS_WITH_AS(
      sample_size_for_same({.margin = 0.01, .sd_a = 1, .sd_b = 2}),
      "sample_size_for_same: more than 10000 shots in a set-up would be needed to show two set-ups the "
      "same within 0.01 with SDs of 1 and 2 and power 0.8; a smaller SD, a finer display or a wider "
      "margin would help",
      NoAnswer);
  // The last numbers tried are close to the limit, not short of it: λ = (1.96 + 0.8416) needs n = 2·(2.8016/gap)².
  const auto plan = sample_size({.smallest_difference = 0.0398, .sd_a = 1, .sd_b = 1});
  CHECK(plan.shots_a > 9900);
  CHECK(plan.shots_a <= 10'000);
}

TEST_CASE("sample_size: questions without sense are refused with what was got") {
  CHECK_THROWS_WITH_AS(sample_size({.smallest_difference = 0, .sd_a = 1, .sd_b = 1}),
                       "sample_size: needs a smallest difference other than 0", DomainError);
  CHECK_THROWS_WITH_AS(sample_size({.smallest_difference = NAN, .sd_a = 1, .sd_b = 1}),
                       "sample_size: needs a finite gap, got nan", DomainError);
  CHECK_THROWS_WITH_AS(sample_size({.smallest_difference = 1, .sd_a = -1, .sd_b = 1}),
                       "sample_size: needs a positive SD, got -1.000000", DomainError);
  CHECK_THROWS_WITH_AS(sample_size({.smallest_difference = 1, .sd_a = 1, .sd_b = 0}),
                       "sample_size: needs a positive SD, got 0.000000", DomainError);
  CHECK_THROWS_WITH_AS(sample_size({.smallest_difference = 1, .sd_a = 1, .sd_b = 1, .ratio = 0}),
                       "sample_size: needs a ratio of shots from 0.01 to 100, got 0.000000", DomainError);
  CHECK_THROWS_AS(sample_size({.smallest_difference = 1, .sd_a = 1, .sd_b = 1, .ratio = 101}), DomainError);
  CHECK_THROWS_WITH_AS(sample_size_for_same({.margin = 2, .sd_a = 1, .sd_b = 1, .true_gap = -2}),
                       "sample_size_for_same: a true gap of 2 does not lie inside the margin of 2", DomainError);
  CHECK_THROWS_WITH_AS(sample_size_for_same({.margin = -2, .sd_a = 1, .sd_b = 1}),
                       "sample_size_for_same: needs a positive margin, got -2.000000", DomainError);
  CHECK_THROWS_WITH_AS(sample_size_for_same({.margin = 2, .sd_a = 1, .sd_b = 1, .true_gap = NAN}),
                       "sample_size_for_same: needs a finite gap, got nan", DomainError);
}
