#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/welch.hpp>
#include <string>
#include <vector>

using shotassay::centred;
using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::Family;
using shotassay::Interval;
using shotassay::margin_position;
using shotassay::MarginPosition;
using shotassay::p_equivalence;
using shotassay::rounding_aware;
using shotassay::rounding_aware_p_equivalence;
using shotassay::Sample;
using shotassay::welch;

TEST_CASE("equivalence: Michelson's runs 4 and 5 are the same within 50 km/s by the classical rule, not within 30") {
  const Published check{"tost-michelson-4-5"};
  const auto r =
      welch(check.readings("y"), check.readings("x"), ConfidenceLevel{0.9});  // published: first minus second
  CHECK(r.difference == check.expected("diff"));
  CHECK(r.standard_error == check.expected("se"));
  CHECK(r.degrees_of_freedom == check.expected("df"));
  CHECK(r.interval.lower == check.expected("lo"));
  CHECK(r.interval.upper == check.expected("hi"));
  for (const double margin : {30.0, 50.0}) {
    const std::string m = std::to_string(static_cast<int>(margin));
    CHECK(p_equivalence(r.difference, r.standard_error, r.degrees_of_freedom, margin) == check.expected("p_" + m));
    CHECK((margin_position(r.interval, margin) == MarginPosition::inside) == (check.value("same_" + m) == 1));
  }
}

TEST_CASE("equivalence: an interval lies inside, beyond or across") {
  CHECK(margin_position({-0.5, 0.9}, 1) == MarginPosition::inside);
  CHECK(margin_position({0.2, 0.9}, 1) == MarginPosition::inside);
  CHECK(margin_position({1.5, 2}, 1) == MarginPosition::beyond);
  CHECK(margin_position({-3, -1.2}, 1) == MarginPosition::beyond);
  CHECK(margin_position({0.5, 1.5}, 1) == MarginPosition::across);
  CHECK(margin_position({-1.5, 0.5}, 1) == MarginPosition::across);
  CHECK(margin_position({-4, 4}, 1) == MarginPosition::across);
}

TEST_CASE("equivalence: a limit exactly on the margin is neither inside nor beyond") {
  CHECK(margin_position({-1, 0.5}, 1) == MarginPosition::across);
  CHECK(margin_position({-0.5, 1}, 1) == MarginPosition::across);
  CHECK(margin_position({1, 2}, 1) == MarginPosition::across);
  CHECK(margin_position({-2, -1}, 1) == MarginPosition::across);
  CHECK(margin_position({0.5, std::nextafter(1.0, 0.0)}, 1) == MarginPosition::across);
  CHECK(margin_position({std::nextafter(1.0, 2.0), 2}, 1) == MarginPosition::across);
}

TEST_CASE("equivalence: tenths that touch in decimal touch in binary, whichever way their sum was rounded") {
  // k tenths plus (m − k) tenths are m tenths; in doubles the sum may come out one bit above or below.
  int above = 0, below = 0;
  for (int m = 1; m <= 60; ++m)
    for (int k = 0; k < m; ++k) {
      const double gap = 0.1 * k, half = 0.1 * (m - k), margin = m / 10.0;
      above += gap + half > margin;
      below += gap + half < margin;
      CAPTURE(m);
      CAPTURE(k);
      CHECK(margin_position(centred(gap, half), margin) == MarginPosition::across);
      CHECK(margin_position(centred(-gap, half), margin) == MarginPosition::across);
    }
  CHECK(above > 0);
  CHECK(below > 0);
  CHECK(margin_position(centred(0.3, 0.7), 1.0) == MarginPosition::across);
  CHECK(margin_position(centred(0.3, 0.69), 1.0) == MarginPosition::inside);
}

TEST_CASE("equivalence: an interval without an end is never inside") {
  const double infinite = std::numeric_limits<double>::infinity();
  CHECK(margin_position({-infinite, 0.5}, 1) == MarginPosition::across);
  CHECK(margin_position({-0.5, infinite}, 1) == MarginPosition::across);
  CHECK(margin_position({}, 1) == MarginPosition::across);
  CHECK(margin_position({2, infinite}, 1) == MarginPosition::beyond);
  CHECK(margin_position({-infinite, -2}, 1) == MarginPosition::beyond);
  CHECK(margin_position({1, infinite}, 1) == MarginPosition::across);
}

TEST_CASE("equivalence: a margin that is not positive is refused") {
  const Sample a = sample({271, 272, 273});
  for (const double bad : {0.0, -1.0, std::numeric_limits<double>::quiet_NaN()}) {
    CHECK_THROWS_WITH_AS(margin_position({-1, 1}, bad), doctest::Contains("equivalence margin must be positive, got"),
                         DomainError);
    CHECK_THROWS_AS(p_equivalence(0, 1, 4, bad), DomainError);
    CHECK_THROWS_AS(rounding_aware_p_equivalence(a, a, bad), DomainError);
  }
  CHECK_THROWS_WITH_AS(p_equivalence(0, 0, 4, 1), "p_equivalence: standard error must be positive", DomainError);
}

TEST_CASE("equivalence: p by hand with one degree of freedom") {
  // difference 1, se 1, margin 2: P(T > 1) = 1/4 for Cauchy's law; at the margin 1/2, beyond it more
  CHECK(p_equivalence(1, 1, 1, 2) == digits(0.25, 13));
  CHECK(p_equivalence(-1, 1, 1, 2) == digits(0.25, 13));
  CHECK(p_equivalence(2, 1, 1, 2) == digits(0.5, 13));
  CHECK(p_equivalence(3, 1, 1, 2) == digits(0.75, 13));
}

TEST_CASE("equivalence: p is the smallest α whose 1 − 2α interval lies inside, for a pair and for a family") {
  const Sample a = sample({271, 274, 272, 270}), b = sample({272, 275, 271, 273, 273});
  for (const int k : {2, 3, 5})
    for (const double margin : {2.0, 4.0, 7.0}) {
      const Family family{k};
      const auto r = welch(a, b, ConfidenceLevel{0.95}, family);
      const double p = p_equivalence(r.difference, r.standard_error, r.degrees_of_freedom, margin, family);
      CAPTURE(k);
      CAPTURE(margin);
      REQUIRE(p > 0);
      REQUIRE(p < 0.5);
      const auto at = [&](double alpha) {
        return margin_position(welch(a, b, ConfidenceLevel::from_alpha(2 * alpha), family).interval, margin);
      };
      CHECK(at(p * 1.0001) == MarginPosition::inside);
      CHECK(at(p * 0.9999) != MarginPosition::inside);
    }
}

TEST_CASE("equivalence: with rounded readings p is the smallest α whose 1 − 2α interval lies inside") {
  const std::vector<std::vector<Sample>> pairs{{sample({271, 271, 271}), sample({272, 271, 271})},
                                               {sample({271, 271, 271}), sample({271, 271, 271})},
                                               {sample({271, 274, 272, 270}), sample({272, 275, 271, 273})},
                                               {sample({271, 272}), sample({271, 271, 272})},
                                               {sample({271, 271}), sample({271, 274, 272})}};
  for (const auto& pair : pairs)
    for (const int k : {2, 4})
      for (const double margin : {1.5, 3.0, 6.0}) {
        const Family family{k};
        const double p = rounding_aware_p_equivalence(pair[0], pair[1], margin, family);
        CAPTURE(margin);
        CAPTURE(k);
        CAPTURE(p);
        const auto at = [&](double alpha) {
          return margin_position(
              rounding_aware(pair[0], pair[1], ConfidenceLevel::from_alpha(2 * alpha), family).interval, margin);
        };
        if (p == 1) {
          CHECK(at(0.4999) != MarginPosition::inside);
          continue;
        }
        CHECK(p <= 0.5);
        if (p < 0.49) CHECK(at(p * 1.001) == MarginPosition::inside);
        CHECK(at(p * 0.999) != MarginPosition::inside);
      }
}

TEST_CASE("equivalence: where the display alone reaches the margin no α will do, in thirds and tenths of a step too") {
  const Sample same = sample({271, 271, 271});
  CHECK(rounding_aware_p_equivalence(same, same, 1) == 1);  // ½ + ½
  CHECK(rounding_aware_p_equivalence(same, same, 1.01) < 1);
  CHECK(rounding_aware_p_equivalence(same, sample({272, 272, 272}), 2) == 1);
  // gap 4/3, open 1/6 + 1/6, margin 5/3: in doubles 5/3 − 4/3 is above 1/6 + 1/6
  const Sample low = sample({271, 271, 272}), high = sample({272, 273, 273});
  CHECK(5.0 / 3 - 4.0 / 3 > 1.0 / 6 + 1.0 / 6);
  CHECK(rounding_aware_p_equivalence(low, high, 5.0 / 3) == 1);
  CHECK(rounding_aware_p_equivalence(low, high, 5.0 / 3 + 1e-6) < 0.5);
  for (int m = 1; m <= 60; ++m) {
    CAPTURE(m);
    const Sample a = decimal_sample({2710, 2710, 2710}, 1);
    const Sample b = decimal_sample({2709 + m, 2709 + m, 2709 + m}, 1);  // gap m − 1 steps, open 1 step
    CHECK(rounding_aware_p_equivalence(a, b, m / 10.0) == 1);
  }
}

TEST_CASE("equivalence: mixed displays are refused") {
  CHECK_THROWS_WITH_AS(rounding_aware_p_equivalence(sample({271, 272}), decimal_sample({2710, 2720}, 1), 1),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
}
