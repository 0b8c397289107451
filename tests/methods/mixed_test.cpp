#include <shotassay/methods/mixed.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/bow_means.hpp>

#include "support/bows.hpp"
#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

using namespace shotassay;

TEST_CASE("mixed: sixty designs agree with lme4 and lmerTest") {
  // data/reference/mixed.csv; both search and derivatives there are numerical, so five digits are asked.
  int zero = 0, unequal = 0;
  for (const auto& row : reference_table("mixed.csv")) {
    CAPTURE(row[0]);
    CAPTURE(row[1]);
    const std::vector<Sample> a = bows_in(row[0], 1), b = bows_in(row[1], 1);
    const MixedResult r = mixed(a, b);
    CHECK(r.difference == within(number_in(row[2]), 1e-5 * number_in(row[3])));
    CHECK(r.standard_error == digits(number_in(row[3]), 6));
    CHECK(r.t == within(number_in(row[5]), 1e-5 * (1 + std::abs(number_in(row[5])))));
    CHECK(r.satterthwaite == within(number_in(row[4]), 1e-4 * number_in(row[4])));
    CHECK(r.shot_sd == digits(number_in(row[8]), 6));
    CHECK(r.bow_sd == within(number_in(row[7]), 1e-5 * number_in(row[8])));
    CHECK(r.reml_criterion == digits(number_in(row[9]), 9));
    CHECK(r.bow_sd_zero == (row[10] == "1"));
    if (r.bow_sd_zero) {
      ++zero;
      CHECK(r.degrees_of_freedom == static_cast<double>(a.size() + b.size() - 2));
      CHECK(r.p_two_sided > number_in(row[6]));
    } else {
      CHECK(r.degrees_of_freedom == r.satterthwaite);
      CHECK(r.p_two_sided == within(number_in(row[6]), 1e-4 * number_in(row[6])));
    }
    for (const auto& kind : {a, b})
      for (const Sample& bow : kind) unequal += bow.size() != kind[0].size();
  }
  CHECK(zero >= 5);
  CHECK(unequal >= 50);
}

TEST_CASE("mixed: with equal shots, and bows that scatter, it is the t test of the bow averages") {
  // averages 2, 5 and 11, 12, 16 (two shots each, ± 1); s_m² = 18.5/3, worked out in reml_test.cpp
  const std::vector<Sample> a = {sample({1, 3}), sample({4, 6})},
                            b = {sample({10, 12}), sample({11, 13}), sample({15, 17})};
  const MixedResult r = mixed(a, b);
  const double se = std::sqrt(18.5 / 3 * (1.0 / 2 + 1.0 / 3));
  CHECK(r.difference == digits(9.5, 13));
  CHECK(r.standard_error == digits(se, 11));
  CHECK(r.degrees_of_freedom == digits(3, 9));
  CHECK(r.t == digits(9.5 / se, 11));
  // R: qt(0.975, 3), qt(0.9, 3)
  CHECK(r.interval.upper - 9.5 == digits(3.18244630528371 * se, 9));
  CHECK(mixed(a, b, ConfidenceLevel{0.8}).interval.upper - 9.5 == digits(1.63774435369621 * se, 9));
  CHECK(r.interval.lower + r.interval.upper == digits(19, 12));
  CHECK(r.bow_sd == digits(std::sqrt((2 * 18.5 / 3 - 2) / 2), 11));
  CHECK(r.shot_sd == digits(std::sqrt(2.0), 11));
  for (const double w : r.weights_a) CHECK(w == digits(0.5, 14));
  REQUIRE(r.weights_b.size() == 3);
  for (const double w : r.weights_b) CHECK(w == digits(1.0 / 3, 14));
  const BowMeansResult means = bow_means(a, b);
  CHECK_FALSE(means.floor_acted);
  CHECK(means.p_two_sided == digits(r.p_two_sided, 9));
}

TEST_CASE("mixed: a bow SD of zero keeps the degrees of freedom of the bows, and says what the formula would take") {
  // averages 5, 5 and 7, 7: nothing between bows. σ² = (8 + 8 + 8 + 8)/10 with 12 shots, SE = σ·√(1/6 + 1/6)
  const std::vector<Sample> a = {sample({3, 5, 7}), sample({3, 5, 7})}, b = {sample({5, 7, 9}), sample({5, 7, 9})};
  const MixedResult r = mixed(a, b);
  CHECK(r.bow_sd_zero);
  CHECK(r.bow_sd == 0);
  CHECK(r.degrees_of_freedom == 2);
  CHECK(r.satterthwaite == 10);
  const double se = std::sqrt(3.2 / 3);
  CHECK(r.standard_error == digits(se, 12));
  CHECK(r.p_two_sided == digits(2 * numerics::t_upper_tail(2 / se, 2), 10));
  CHECK(r.interval.half_width() == digits(4.30265272974946 * se, 9));  // R: qt(0.975, 2)
  CHECK(r.bow_sd_interval.lower == 0);
  // MSW = 4 on 8, n = 3, F taken as 1; R: qf(.025, 2, 8), qchisq(.025, 2)
  CHECK(r.bow_sd_interval.upper == digits(std::sqrt(2 * 4 * (1 - 0.0253981012241091) / (3 * 0.0506356159685798)), 9));
  CHECK(r.shot_sd_interval.lower < r.shot_sd);
  CHECK(r.shot_sd < r.shot_sd_interval.upper);
  CHECK(r.iterations > 0);
}

TEST_CASE("mixed: intervals for the SDs are the roots of those for the variances, at the level asked") {
  const std::vector<Sample> a = {sample({1, 3}), sample({4, 6})},
                            b = {sample({10, 12}), sample({11, 13}), sample({15, 17})};
  // SSW = 10 on 5; R: qchisq(c(.95,.05), 5) = 11.0704976935164, 1.14547622606177
  const MixedResult r = mixed(a, b, ConfidenceLevel{0.9});
  CHECK(r.shot_sd_interval.lower == digits(std::sqrt(10 / 11.0704976935164), 10));
  CHECK(r.shot_sd_interval.upper == digits(std::sqrt(10 / 1.14547622606177), 10));
  // SSB = 2·18.5 on 3, F = (37/3)/2; lower SSB(1 − F_u/F)/(2 χ²_u); R: qf(c(.95,.05), 3, 5), qchisq(c(.95,.05), 3)
  const double f = 37.0 / 6;
  CHECK(r.bow_sd_interval.lower == digits(std::sqrt(37 * (1 - 5.40945131805649 / f) / (2 * 7.81472790325118)), 8));
  CHECK(r.bow_sd_interval.upper == digits(std::sqrt(37 * (1 - 0.110945245903393 / f) / (2 * 0.351846317749271)), 9));
}

TEST_CASE(
    "mixed: turning the kinds round turns the sign, adding to every reading changes nothing, a step only the unit") {
  const std::vector<Sample> a = bows_in("2811 2789/2747 2819 2801", 1), b = bows_in("2841 2842/2864 2861 2855/2862", 1);
  const MixedResult r = mixed(a, b), back = mixed(b, a);
  CHECK(back.difference == digits(-r.difference, 12));
  CHECK(back.p_two_sided == digits(r.p_two_sided, 10));
  CHECK(back.weights_a == r.weights_b);
  const MixedResult shifted = mixed(bows_in("1000002811 1000002789/1000002747 1000002819 1000002801", 1),
                                    bows_in("1000002841 1000002842/1000002864 1000002861 1000002855/1000002862", 1));
  CHECK(shifted.difference == digits(r.difference, 13));
  CHECK(shifted.degrees_of_freedom == digits(r.degrees_of_freedom, 12));
  const MixedResult whole = mixed(bows_in("2811 2789/2747 2819 2801"), bows_in("2841 2842/2864 2861 2855/2862"));
  CHECK(whole.bow_sd == digits(10 * r.bow_sd, 12));
  CHECK(whole.shot_sd_interval.upper == digits(10 * r.shot_sd_interval.upper, 12));
  CHECK(whole.p_two_sided == digits(r.p_two_sided, 12));
  // eleven shots, two kinds: nine readings' worth of density
  CHECK(whole.reml_criterion == within(r.reml_criterion + 18 * std::log(10.0), 1e-9));
}

TEST_CASE("mixed: of three kinds a pair has one spread with the third, and the factor of the family") {
  const std::vector<std::vector<Sample>> kinds = {{sample({1, 3}), sample({4, 6})},
                                                  {sample({10, 12}), sample({11, 13})},
                                                  {sample({7, 9}), sample({12, 14}), sample({5, 7})}};
  const MixedResult r = mixed(kinds, 0, 1);
  // averages 2, 5; 11, 12; 8, 13, 6: squares 4.5 + 0.5 + 26 on 4, equal shots
  const double se = std::sqrt(31.0 / 4);
  CHECK(r.difference == digits(8, 12));
  CHECK(r.standard_error == digits(se, 10));
  CHECK(r.degrees_of_freedom == digits(4, 9));
  CHECK(r.p_two_sided == digits(Family{3}.p_two_sided(8 / se, 4), 8));
  CHECK(r.interval.half_width() == digits(Family{3}.factor(0.05, 4) * se, 8));
  CHECK(mixed(kinds, 1, 0).difference == digits(-8, 12));
  CHECK_THROWS_WITH_AS(mixed(kinds, 0, 3), "mixed: needs two different kinds out of 3", DomainError);
  CHECK_THROWS_AS(mixed(kinds, 1, 1), DomainError);
}

TEST_CASE("mixed: data that do not tell bows from shots are refused with the reason") {
  const std::vector<Sample> two = {sample({1, 3}), sample({4, 6})}, one = {sample({1, 3})}, none;
  CHECK_THROWS_WITH_AS(mixed(two, one),
                       "mixed: with one bow of a kind nothing tells how bows of that kind differ; two or more bows of "
                       "each kind are needed for a claim about kinds",
                       NoAnswer);
  CHECK_THROWS_WITH_AS(mixed(none, two), "mixed: needs bows of each kind, got a kind without any", DomainError);
  const std::vector<Sample> single = {sample({1}), sample({4})};
  CHECK_THROWS_WITH_AS(mixed(single, single),
                       "mixed: with one shot a bow, shots and bows cannot be told apart; bow_means answers", NoAnswer);
  const std::vector<Sample> equal = {sample({1, 1}), sample({4, 4})};
  CHECK_THROWS_WITH_AS(mixed(equal, equal),
                       "mixed: with no bow do the readings differ, so nothing tells the SD of shots; bow_means answers",
                       NoAnswer);
  const std::vector<Sample> tenths = {decimal_sample({10, 30}, 1), decimal_sample({41, 60}, 1)};
  CHECK_THROWS_AS(mixed(two, tenths), DomainError);
}
