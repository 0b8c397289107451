#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <shotassay/methods/drift.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::drift;
using shotassay::NoAnswer;
using shotassay::OrderedShots;

TEST_CASE("drift: NIST's linear regression Norris, as one set-up") {
  // NIST StRD Norris [nist-strd]; x in tenths is a whole number, so the slope there is a tenth of the certified one.
  const Published norris{"strd-lin-norris"};
  std::vector<std::int64_t> order;
  for (const double x : norris.numbers("x")) order.push_back(std::llround(10 * x));
  const auto r = drift({{norris.readings("y"), order}});
  CHECK(10 * r.slope == norris.expected("b1"));
  CHECK(10 * r.standard_error == norris.expected("se1"));
  CHECK(r.residual_sd == norris.expected("sigma"));
  CHECK(r.t * r.t == norris.expected("F"));
  CHECK(r.degrees_of_freedom == 34);
  CHECK_FALSE(r.floor_acted);
  CHECK_FALSE(r.false_gap.has_value());
  CHECK_FALSE(r.false_gap_as_shot.has_value());
}

TEST_CASE("drift: two and three set-ups agree with R's lm(reading ~ setup + order)") {
  // m <- lm(y ~ factor(s) + x); coef(summary(m))["x", ]; summary(m)$sigma; m$df; confint(m)["x", ]
  // y = 281,283,282,280, 284,286,285,283,287  s = 1,1,1,1, 2,2,2,2,2  x = 1,4,5,8, 2,3,6,7,9
  const auto two =
      drift({{sample({281, 283, 282, 280}), {1, 4, 5, 8}}, {sample({284, 286, 285, 283, 287}), {2, 3, 6, 7, 9}}});
  CHECK(two.slope == digits(0.017182130584186, 12));
  CHECK(two.standard_error == digits(0.20713793035538, 12));
  CHECK(two.t == digits(0.082950189541367, 12));
  CHECK(two.p_two_sided == digits(0.93658930861049, 12));
  CHECK(two.residual_sd == digits(1.5802329928113, 12));
  CHECK(two.degrees_of_freedom == 6);
  CHECK(two.interval.lower == digits(-0.48966612602405, 12));
  CHECK(two.interval.upper == digits(0.52403038719242, 12));
  // 9 shots: halves 4.5 apart; as shot, mean places 18/4 and 27/5 are 0.9 apart
  CHECK(two.false_gap->value == digits(4.5 * 0.017182130584186, 12));
  CHECK(two.false_gap->interval.lower == digits(4.5 * -0.48966612602405, 12));
  CHECK(two.false_gap->interval.upper == digits(4.5 * 0.52403038719242, 12));
  CHECK(two.false_gap_as_shot->value == digits(0.9 * 0.017182130584186, 12));
  CHECK(two.false_gap_as_shot->interval.lower == digits(0.9 * -0.48966612602405, 12));
  CHECK(two.false_gap_as_shot->interval.upper == digits(0.9 * 0.52403038719242, 12));

  // y = 281.4,283.1,282.2,280.9, 284.3,286.0,285.5, 279.1,280.2,280.8  s = 1,1,1,1,2,2,2,3,3,3
  // x = 1,6,7,12, 2,5,8, 3,4,9
  const auto three = drift({{decimal_sample({2814, 2831, 2822, 2809}, 1), {1, 6, 7, 12}},
                            {decimal_sample({2843, 2860, 2855}, 1), {2, 5, 8}},
                            {decimal_sample({2791, 2802, 2808}, 1), {3, 4, 9}}});
  CHECK(three.slope == digits(0.051839464882945, 12));
  CHECK(three.standard_error == digits(0.096124710820245, 12));
  CHECK(three.p_two_sided == digits(0.60909803156368, 12));
  CHECK(three.residual_sd == digits(0.9596436923936, 12));
  CHECK(three.degrees_of_freedom == 6);
  CHECK(three.interval.lower == digits(-0.183369229211, 11));
  CHECK(three.interval.upper == digits(0.28704815897689, 12));
  CHECK_FALSE(three.false_gap.has_value());
}

TEST_CASE("drift: a straight creep by hand, and what it does to a gap in two orders") {
  // a 271 273 at places 1 2, b 274 276 at 3 4: slope 2, nothing left over, Σ(x − x̄)² = ½ + ½, ν = 4 − 2 − 1
  const auto r = drift({{sample({271, 273}), {1, 2}}, {sample({274, 276}), {3, 4}}});
  CHECK(r.slope == 2);
  CHECK(r.residual_sd == 0);
  CHECK(r.floor_acted);
  CHECK(r.standard_error == digits(std::sqrt(1.0 / 12), 15));  // step²/12 stands in for a residual variance of 0
  CHECK(r.degrees_of_freedom == 1);
  CHECK(r.false_gap->value == 4);          // 2 per shot, halves 2 apart: all of the gap of 3 and more
  CHECK(r.false_gap_as_shot->value == 4);  // it was shot in halves
  // the same creep shot A-B-B-A: mean places of a and b are both 2½, so it added nothing, and certainly nothing
  const auto turned = drift({{sample({271, 277}), {1, 4}}, {sample({274, 276}), {2, 3}}});
  CHECK(turned.slope == 2);
  CHECK(turned.false_gap->value == 4);
  CHECK(turned.false_gap_as_shot->value == 0);
  CHECK(turned.false_gap_as_shot->interval.lower == 0);
  CHECK(turned.false_gap_as_shot->interval.upper == 0);
  // b before a: the creep took from the gap of b against a
  CHECK(drift({{sample({274, 276}), {3, 4}}, {sample({271, 273}), {1, 2}}}).false_gap_as_shot->value == -4);
}

TEST_CASE("drift: equal readings have slope 0 with a width, never a width of 0") {
  const auto r = drift({{sample({271, 271, 271}), {1, 4, 5}}, {sample({274, 274, 274}), {2, 3, 6}}});
  CHECK(r.slope == 0);
  CHECK(r.p_two_sided == 1);
  CHECK(r.floor_acted);
  CHECK(r.interval.half_width() > 0);
  CHECK(r.false_gap->interval.half_width() == digits(3 * r.interval.half_width(), 14));
}

TEST_CASE("drift: a higher level widens the interval by the quantiles' ratio") {
  // ν = 6, mpmath: t(0.975) = 2.446911851144969971, t(0.995) = 3.707428021324779824 (R's qt is off by 3e-11 there)
  const std::vector<OrderedShots> shots = {{sample({281, 283, 282, 280}), {1, 4, 5, 8}},
                                           {sample({284, 286, 285, 283, 287}), {2, 3, 6, 7, 9}}};
  CHECK(drift(shots, ConfidenceLevel{0.99}).interval.half_width() / drift(shots).interval.half_width() ==
        digits(3.707428021324779824 / 2.446911851144969971, 12));
}

TEST_CASE("drift: levels of set-ups, far places and tenths of a step change the slope by their factor alone") {
  const auto plain = drift({{sample({281, 283, 282, 280}), {1, 4, 5, 8}}, {sample({284, 286, 285}), {2, 3, 6}}});
  const auto moved = drift({{sample({1'000'281, 1'000'283, 1'000'282, 1'000'280}), {1001, 1004, 1005, 1008}},
                            {sample({84, 86, 85}), {1002, 1003, 1006}}});
  CHECK(moved.slope == plain.slope);
  CHECK(moved.standard_error == plain.standard_error);
  CHECK(moved.interval == plain.interval);
  CHECK(moved.false_gap_as_shot->value == plain.false_gap_as_shot->value);
  const auto tenth =
      drift({{decimal_sample({281, 283, 282, 280}, 1), {1, 4, 5, 8}}, {decimal_sample({284, 286, 285}, 1), {2, 3, 6}}});
  CHECK(tenth.slope == digits(plain.slope / 10, 15));
  CHECK(tenth.standard_error == digits(plain.standard_error / 10, 15));
  CHECK(tenth.residual_sd == digits(plain.residual_sd / 10, 15));
  CHECK(tenth.t == plain.t);
  CHECK(tenth.p_two_sided == plain.p_two_sided);
  CHECK(tenth.false_gap->value == digits(plain.false_gap->value / 10, 14));
}

TEST_CASE("drift: a set-up with one shot has its level and tells nothing of the slope") {
  const auto with = drift({{sample({281, 283, 282, 280}), {1, 4, 5, 8}}, {sample({290}), {2}}});
  const auto without = drift({{sample({281, 283, 282, 280}), {1, 4, 5, 8}}});
  CHECK(with.slope == without.slope);
  CHECK(with.standard_error == without.standard_error);
  CHECK(with.degrees_of_freedom == without.degrees_of_freedom);
}

TEST_CASE("drift: what cannot be asked is refused, with what was got") {
  CHECK_THROWS_WITH_AS(drift({}), "drift: needs a set-up with shots, got none", DomainError);
  CHECK_THROWS_WITH_AS(drift({{sample({271, 272, 273}), {1, 2}}}),
                       "drift: needs a place in the firing order for each reading, got 2 for 3", DomainError);
  CHECK_THROWS_WITH_AS(drift({{sample({271, 272}), {1, 2}}, {decimal_sample({2731, 2732}, 1), {3, 4}}}),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  CHECK_THROWS_WITH_AS(drift({{sample({271, 272}), {1, 2}}}), "drift: needs 3 or more shots with 1 set-up, got 2",
                       NoAnswer);
  CHECK_THROWS_WITH_AS(drift({{sample({271, 272}), {1, 2}}, {sample({273}), {3}}}),
                       "drift: needs 4 or more shots with 2 set-ups, got 3", NoAnswer);
  CHECK_THROWS_WITH_AS(drift({{sample({271, 272}), {1, 1}}, {sample({273, 274}), {2, 2}}}),
                       "drift: within each set-up all shots have one place in the firing order, so no slope shows",
                       NoAnswer);
}
