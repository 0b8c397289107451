#include <shotassay/methods/bow_means.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/welch.hpp>

#include "support/bows.hpp"
#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

using namespace shotassay;

namespace {

/// p where halving on α stopped: close to 1 it cannot tell 1 − 1e-15 from 1.
within p_of(const std::string& text) { return {number_in(text), 1e-9 * number_in(text) + 1e-14}; }

}  // namespace

TEST_CASE("bow_means: eighty designs agree with the interval written out in R, p found there by halving") {
  int floors = 0, bounds = 0, types = 0;
  for (const auto& row : reference_table("bow_means.csv")) {
    CAPTURE(row[1]);
    CAPTURE(row[2]);
    const ConfidenceLevel level{number_in(row[0])};
    const std::vector<Sample> a = bows_in(row[1]), b = bows_in(row[2]);
    const auto agrees = [&](const auto& r, std::size_t at) {
      CHECK(r.difference == within(number_in(row[at]), 1e-11));
      CHECK(r.standard_error == digits(number_in(row[at + 1]), 11));
      CHECK(r.degrees_of_freedom == digits(number_in(row[at + 2]), 11));
      CHECK(r.sampling == digits(number_in(row[at + 3]), 10));
      CHECK(r.sampling_with_rounding == digits(number_in(row[at + 4]), 10));
      CHECK(r.display_bound == within(number_in(row[at + 5]), 1e-10 * (1 + number_in(row[at + 5]))));
      CHECK(r.half_width == std::max({r.sampling, r.sampling_with_rounding, r.display_bound}));
      CHECK(r.interval.lower == within(r.difference - r.half_width, 1e-12));
      CHECK(r.interval.upper == within(r.difference + r.half_width, 1e-12));
      CHECK(r.p_two_sided == p_of(row[at + 6]));
    };
    const BowMeansResult r = bow_means(a, b, level);
    agrees(r, 3);
    CHECK(r.floor_acted == (row[10] == "1"));
    const BowMeansWelchResult w = bow_means_welch(a, b, level);
    agrees(w, 11);
    CHECK((w.floor_acted_a || w.floor_acted_b) == (row[18] == "1"));
    const double margin = number_in(row[19]);
    CHECK(bow_means_p_equivalence(a, b, margin) == p_of(row[20]));
    CHECK(bow_means_welch_p_equivalence(a, b, margin) == p_of(row[21]));
    floors += r.floor_acted;
    bounds += r.decided_by == RoundingTerm::display_bound;
    types += r.decided_by == RoundingTerm::sampling_and_rounding;
  }
  CHECK(floors >= 10);
  CHECK(bounds >= 10);
  CHECK(types >= 3);
}

TEST_CASE("bow_means: three bows against two by hand, the t test of their averages") {
  // averages 272, 275 | 278, 281, 277; squares 4.5 + 26/3 on 3; V = 4/3 (s² = 4, n = 3) for each bow
  const std::vector<Sample> a = {sample({270, 272, 274}), sample({273, 275, 277})},
                            b = {sample({276, 278, 280}), sample({279, 281, 283}), sample({275, 277, 279})};
  const BowMeansResult r = bow_means(a, b);
  const double variance = (4.5 + 26.0 / 3) / 3;
  CHECK(r.variance_of_bow_averages == digits(variance, 13));
  CHECK(r.floor == digits(4.0 / 3, 13));
  CHECK_FALSE(r.floor_acted);
  CHECK(r.difference == digits(836.0 / 3 - 273.5, 12));
  const double se = std::sqrt(variance * (1.0 / 2 + 1.0 / 3));
  CHECK(r.standard_error == digits(se, 13));
  CHECK(r.degrees_of_freedom == 3);
  CHECK(r.t == digits((836.0 / 3 - 273.5) / se, 12));
  CHECK(r.half_width == digits(3.18244630528371 * se, 12));  // R: qt(0.975, 3)
  CHECK(r.decided_by == RoundingTerm::sampling);
  CHECK(r.p_two_sided == digits(2 * numerics::t_upper_tail(r.t, 3), 13));
  CHECK(r.a.average == digits(273.5, 14));
  CHECK(r.a.weight == 0.5);
  CHECK(r.b.weight == digits(1.0 / 3, 15));
  REQUIRE(r.b.bows.size() == 3);
  CHECK(r.b.bows[1].average == 281);
  CHECK(r.b.bows[1].shots == 3);
  CHECK(*r.b.bows[1].sd == digits(2, 14));
  CHECK(r.a.variance_of_bow_averages == digits(4.5, 14));
  CHECK(r.b.floor == digits(4.0 / 3, 14));
}

TEST_CASE("bow_means: bow averages as single readings give the pooled and Welch's t, when those scatter enough") {
  const std::vector<Sample> a = bows_in("272/275/281"), b = bows_in("278/284");
  const PooledResult t = pooled(sample({272, 275, 281}), sample({278, 284}));
  const BowMeansResult r = bow_means(a, b);
  CHECK(r.p_two_sided == digits(t.p_two_sided, 12));
  CHECK(r.interval.lower == within(t.interval.lower, 1e-11));
  const WelchResult w = welch(sample({272, 275, 281}), sample({278, 284}));
  const BowMeansWelchResult v = bow_means_welch(a, b);
  CHECK(v.degrees_of_freedom == digits(w.degrees_of_freedom, 12));
  CHECK(v.p_two_sided == digits(w.p_two_sided, 12));
  CHECK(v.interval.upper == within(w.interval.upper, 1e-11));
}

TEST_CASE("bow_means: averages that agree by chance are not taken to be more certain than their shots") {
  // both averages of each kind alike; s² = 4 with each bow of three shots, so V = 4/3
  const std::vector<Sample> a = {sample({3, 5, 7}), sample({3, 5, 7})}, b = {sample({5, 7, 9}), sample({5, 7, 9})};
  const BowMeansResult r = bow_means(a, b);
  CHECK(r.variance_of_bow_averages == 0);
  CHECK(r.floor_acted);
  CHECK(r.standard_error == digits(std::sqrt(4.0 / 3), 13));
  CHECK(r.half_width == digits(4.30265272974946 * std::sqrt(4.0 / 3), 12));  // R: qt(0.975, 2)
  CHECK(r.p_two_sided > 0.1);
  const BowMeansWelchResult w = bow_means_welch(a, b);
  CHECK(w.floor_acted_a);
  CHECK(w.floor_acted_b);
  CHECK(w.degrees_of_freedom == digits(2, 13));
}

TEST_CASE("bow_means_welch: each kind has its own floor") {
  const std::vector<Sample> a = {sample({3, 5, 7}), sample({3, 5, 7})}, b = {sample({5, 7, 9}), sample({15, 17, 19})};
  const BowMeansWelchResult w = bow_means_welch(a, b);
  CHECK(w.floor_acted_a);
  CHECK_FALSE(w.floor_acted_b);
  // v = (4/3)/2 and 50/2
  const double u2 = 2.0 / 3 + 25;
  CHECK(w.standard_error == digits(std::sqrt(u2), 13));
  CHECK(w.degrees_of_freedom == digits(u2 * u2 / (4.0 / 9 + 625), 13));
}

TEST_CASE("bow_means: a bow of one shot takes the variance within the others, or the display's where there is none") {
  // V: two bows of three shots, s² = 4: 4/3 each; two of one shot: pooled 16/4 = 4 each; floor (8/3 + 8)/4
  const BowMeansResult r = bow_means(bows_in("3 5 7/5"), bows_in("5 7 9/7"));
  CHECK(r.floor == digits((8.0 / 3 + 8) / 4, 14));
  CHECK_FALSE(r.a.bows[1].sd.has_value());
  const BowMeansResult single = bow_means(bows_in("3/3"), bows_in("9/9"));
  CHECK(single.floor == digits(1.0 / 12, 14));
  CHECK(single.floor_acted);
  // Two equal shots: V = ¼/2; three: 1/12/3. Tenths are a tenth of that, squared.
  CHECK(bow_means(bows_in("3 3/5 5"), bows_in("9 9/12 12")).floor == digits(0.125, 14));
  CHECK(bow_means(bows_in("3 3 3/5 5 5", 1), bows_in("9 9 9/12 12 12", 1)).floor == digits(0.01 / 36, 13));
}

TEST_CASE("bow_means: a display that shows each kind one number leaves a whole step open") {
  const std::vector<Sample> a = bows_in("271 271 271/271 271 271/271 271 271"),
                            b = bows_in("272 272 272/272 272 272/272 272 272");
  const BowMeansResult r = bow_means(a, b);
  CHECK(r.decided_by == RoundingTerm::display_bound);
  CHECK(r.half_width == 1);
  CHECK(r.p_two_sided == 1);
  CHECK(r.interval == Interval{.lower = 0, .upper = 2});
  CHECK(bow_means_welch(a, b).half_width == 1);
  // A gap of three steps is beyond it: p from S(0) and S(T), both far below 1.
  CHECK(bow_means(a, bows_in("274 274 274/274 274 274/274 274 274")).p_two_sided < 0.01);
}

TEST_CASE("bow_means: one kind all equal, the other not, has the one-sided bound") {
  // a all 271: h = ½; b averages 272, 272⅓: not beyond one step, h_b = |272.1667 − 272.5| = ⅓
  const BowMeansResult r = bow_means(bows_in("271 271 271/271 271 271"), bows_in("272 272 272/272 272 273"));
  // s_m² = (1/18)/2; V: 1/36 three times, (1/3)/3; floor = (3/36 + 1/9)/4 = 7/144
  const double v = 7.0 / 144 / 2;
  CHECK(r.floor_acted);
  CHECK(r.display_bound == digits(std::max(5.0 / 6, 0.5 + 2.91998558035372 * std::sqrt(v)), 12));  // R: qt(0.95, 2)
}

TEST_CASE("bow_means: of three kinds, the pair has one spread with the third and the factor of the family") {
  const std::vector<std::vector<Sample>> kinds = {bows_in("1 3/4 6"), bows_in("10 12/11 13"), bows_in("7 9/12 14/5 7")};
  // averages 2, 5; 11, 12; 8, 13, 6: squares 4.5 + 0.5 + 26 on 4
  const BowMeansResult r = bow_means(kinds, 0, 1);
  const double se = std::sqrt(31.0 / 4);
  CHECK(r.degrees_of_freedom == 4);
  CHECK(r.standard_error == digits(se, 13));
  CHECK(r.half_width == digits(Family{3}.factor(0.05, 4) * se, 11));
  CHECK(r.p_two_sided == digits(Family{3}.p_two_sided(8 / se, 4), 11));
  CHECK(bow_means(kinds, 1, 0).difference == digits(-8, 14));
  CHECK(bow_means(kinds, 2, 1).b.average == digits(11.5, 14));
  CHECK_THROWS_WITH_AS(bow_means(kinds, 0, 3), "bow_means: needs two different kinds out of 3", DomainError);
  CHECK_THROWS_AS(bow_means(kinds, 1, 1), DomainError);
  const std::vector<std::vector<Sample>> lone = {bows_in("1 3/4 6")};
  CHECK_THROWS_AS(bow_means(lone, 0, 1), DomainError);
  // Welch's in a family: q(1 − α; 3, ν)/√2 in place of t
  const BowMeansWelchResult w = bow_means_welch(kinds[0], kinds[1], ConfidenceLevel{0.95}, Family{3});
  CHECK(w.half_width == digits(Family{3}.factor(0.05, w.degrees_of_freedom) * w.standard_error, 11));
  CHECK(bow_means_welch_p_equivalence(kinds[0], kinds[1], 40, Family{3}) >
        bow_means_welch_p_equivalence(kinds[0], kinds[1], 40));
}

TEST_CASE("bow_means: more shots with one bow do not make that bow count more") {
  const BowMeansResult r = bow_means(bows_in("10 12/20 22"), bows_in("30 32/40 42"));
  const BowMeansResult more = bow_means(bows_in("10 12 10 12 10 12 10 12 10 12/20 22"), bows_in("30 32/40 42"));
  CHECK(more.difference == digits(r.difference, 14));
  CHECK(more.p_two_sided == digits(r.p_two_sided, 13));
}

TEST_CASE("bow_means: adding 1e9 to every reading changes nothing, a step only the unit") {
  const BowMeansResult r = bow_means(bows_in("11 13 14/21 22"), bows_in("32 33/41 42 47"));
  const BowMeansResult far = bow_means(bows_in("1000000011 1000000013 1000000014/1000000021 1000000022"),
                                       bows_in("1000000032 1000000033/1000000041 1000000042 1000000047"));
  CHECK(far.difference == digits(r.difference, 14));
  CHECK(far.p_two_sided == digits(r.p_two_sided, 13));
  const BowMeansResult tenth = bow_means(bows_in("11 13 14/21 22", 1), bows_in("32 33/41 42 47", 1));
  CHECK(tenth.half_width == digits(r.half_width / 10, 13));
  CHECK(tenth.variance_of_bow_averages == digits(r.variance_of_bow_averages / 100, 13));
  CHECK(tenth.a.average == digits(r.a.average / 10, 14));
  CHECK(tenth.p_two_sided == digits(r.p_two_sided, 13));
}

TEST_CASE("bow_means: p and interval tell the same, whichever term decides") {
  for (const char* b : {"272 272/272 272", "272 272/272 273", "272 273/273 273", "273 274/273 272", "273 273/273 273",
                        "274 274/276 276", "274 277/270 276"})
    for (const double alpha : {0.3, 0.1, 0.05, 0.01}) {
      CAPTURE(b);
      const std::vector<Sample> x = bows_in("271 271/271 271"), y = bows_in(b);
      const auto level = ConfidenceLevel::from_alpha(alpha);
      const BowMeansResult r = bow_means(x, y, level);
      CHECK((r.p_two_sided < alpha) == !r.interval.contains(0));
      const BowMeansWelchResult w = bow_means_welch(x, y, level);
      CHECK((w.p_two_sided < alpha) == !w.interval.contains(0));
    }
}

TEST_CASE("bow_means: equivalence is 1 when the gap, or what the display leaves open, reaches the margin") {
  const std::vector<Sample> a = bows_in("271 271 271/271 271 271"), b = bows_in("272 272 272/272 272 272");
  CHECK(bow_means_p_equivalence(a, b, 2) == 1);  // 2 − 1 = E
  CHECK(bow_means_p_equivalence(a, b, 1) == 1);
  CHECK(bow_means_p_equivalence(a, b, 4) < 0.05);
  CHECK(bow_means_welch_p_equivalence(a, b, 2) == 1);
  CHECK_THROWS_WITH_AS(bow_means_p_equivalence(a, b, 0), "equivalence margin must be positive, got 0.000000",
                       DomainError);
  CHECK_THROWS_AS(bow_means_welch_p_equivalence(a, b, std::nan("")), DomainError);
}

TEST_CASE("bow_means: one bow of a kind carries no claim about the kind") {
  const std::vector<Sample> two = bows_in("1 3/4 6"), one = bows_in("1 3 4 7 6"), none;
  const char* reason =
      ": with one bow of a kind nothing tells how bows of that kind differ; two or more bows of each kind are needed "
      "for a claim about kinds";
  CHECK_THROWS_WITH_AS(bow_means(one, two), (std::string{"bow_means"} + reason).c_str(), NoAnswer);
  CHECK_THROWS_WITH_AS(bow_means(two, one), (std::string{"bow_means"} + reason).c_str(), NoAnswer);
  CHECK_THROWS_WITH_AS(bow_means_welch(two, one), (std::string{"bow_means_welch"} + reason).c_str(), NoAnswer);
  CHECK_THROWS_AS(bow_means_p_equivalence(two, one, 1), NoAnswer);
  CHECK_THROWS_AS(bow_means_welch_p_equivalence(one, two, 1), NoAnswer);
  CHECK_THROWS_WITH_AS(bow_means(two, none), "bow_means: needs bows of each kind, got a kind without any", DomainError);
  CHECK_THROWS_WITH_AS(bow_means_welch(none, two), "bow_means_welch: needs bows of each kind, got a kind without any",
                       DomainError);
  CHECK_THROWS_WITH_AS(bow_means(two, bows_in("1 3/4 6", 1)), "two set-ups need one display step, got 1 and 0.1",
                       DomainError);
}
