#include <doctest/doctest.h>

#include <shotassay/studies/clinic.hpp>

#include <cmath>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/best_of.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

using Steps = std::vector<std::int64_t>;

Steps steps(const Sample& sample) { return {sample.steps().begin(), sample.steps().end()}; }

double share(std::size_t count, std::size_t total) { return static_cast<double>(count) / static_cast<double>(total); }

/// Four and a half standard errors of a share: a chance of 7e-6 for each check, and the seeds are fixed.
double slack(double rate, double tests) { return 4.5 * std::sqrt(rate * (1.0 - rate) / tests); }

struct Expected {
  double gap;
  Steps a, b;
};

void check(const std::vector<ClinicTest>& tests, const std::vector<Expected>& expected) {
  REQUIRE(tests.size() == expected.size());
  for (std::size_t i = 0; i < tests.size(); ++i) {
    CHECK(tests[i].true_gap == expected[i].gap);
    CHECK(steps(tests[i].a) == expected[i].a);
    CHECK(steps(tests[i].b) == expected[i].b);
  }
}

}  // namespace

TEST_CASE("clinic: the tests of a class are the known answers of their seed") {
  // Python integers and scipy.special.ndtri: Philox4x32-10 by its definition (as in tests/numerics/random_test.cpp),
  // key = seed, counter (replicate, 0, block, 8). Class: u of replicate 0 sets the slower average to speed + (u − ½)
  // steps, then Fisher–Yates from the last student on; student i: replicate i, b faster if below(2) is 1, shots of A,
  // then of B, floor(x/step + ½).
  check(luck_tests({.students = 12, .seed = 7}), {{2, {189, 189, 189}, {193, 190, 190}},
                                                  {2, {192, 191, 190}, {193, 193, 191}},
                                                  {0, {189, 188, 190}, {191, 190, 192}},
                                                  {-2, {192, 193, 191}, {191, 188, 190}},
                                                  {0, {190, 191, 189}, {191, 189, 188}},
                                                  {-2, {192, 191, 192}, {189, 190, 190}},
                                                  {-2, {192, 190, 190}, {190, 189, 190}},
                                                  {0, {190, 192, 190}, {189, 191, 190}},
                                                  {0, {191, 190, 189}, {189, 187, 189}},
                                                  {0, {190, 188, 191}, {191, 190, 192}},
                                                  {-2, {189, 191, 191}, {190, 191, 186}},
                                                  {0, {192, 189, 191}, {187, 190, 191}}});
  check(luck_tests({.students = 5,
                    .seed = 11,
                    .shots = 4,
                    .speed = 58,
                    .gap = 0.6,
                    .sd = 0.4,
                    .step = DisplayStep{Decimal{1, 1}}}),
        {{0.6, {583, 577, 579, 581}, {581, 588, 591, 580}},
         {0.6, {581, 584, 577, 575}, {587, 586, 589, 583}},
         {-0.6, {585, 585, 589, 580}, {581, 580, 580, 579}},
         {0, {585, 574, 587, 587}, {581, 579, 578, 576}},
         {0, {577, 572, 584, 579}, {576, 583, 577, 585}}});
}

TEST_CASE("clinic: half of a class has no true gap, the larger half of an odd one has it") {
  for (const int students : {1, 2, 7, 12, 60}) {
    int alike = 0;
    for (const ClinicTest& test : luck_tests({.students = students, .seed = 3})) alike += test.true_gap == 0.0;
    CHECK(alike == students / 2);
  }
}

TEST_CASE("clinic: right, fooled and missed follow from what was said and what is true") {
  CHECK(outcome(Said::cannot_tell, 0.0) == Outcome::right);
  CHECK(outcome(Said::a, 0.0) == Outcome::fooled);
  CHECK(outcome(Said::b, 0.0) == Outcome::fooled);
  CHECK(outcome(Said::b, 2.0) == Outcome::right);
  CHECK(outcome(Said::a, 2.0) == Outcome::fooled);
  CHECK(outcome(Said::cannot_tell, 2.0) == Outcome::missed);
  CHECK(outcome(Said::a, -2.0) == Outcome::right);
  CHECK(outcome(Said::b, -2.0) == Outcome::fooled);
  CHECK(outcome(Said::cannot_tell, -2.0) == Outcome::missed);
}

TEST_CASE("clinic: averages name the larger one, the tool the one its interval supports") {
  const ClinicTest slightly{sample({190, 191, 192}), sample({191, 192, 193}), 0.0};
  CHECK(averages_say(slightly) == Said::b);
  CHECK(tool_says(slightly, ConfidenceLevel{0.95}).said == Said::cannot_tell);
  const ClinicTest clearly{sample({200, 201, 202}), sample({190, 191, 192}), 0.0};
  CHECK(averages_say(clearly) == Said::a);
  CHECK(tool_says(clearly, ConfidenceLevel{0.95}).said == Said::a);
  const ClinicTest even{sample({190, 192}), sample({191, 191}), 0.0};
  CHECK(averages_say(even) == Said::cannot_tell);
}

TEST_CASE("clinic: a long series agrees with the exact power, and with the exact chance of equal averages") {
  const ClinicQuestion q{.seed = 5};
  constexpr std::uint64_t tests = 40'000;
  const LuckSeries s = luck_series(q, tests);
  CHECK(s.tool.alike.tests() + s.tool.apart.tests() == tests);
  const auto alike = static_cast<double>(s.tool.alike.tests()), apart = static_cast<double>(s.tool.apart.tests());
  CHECK(alike / tests == within(0.5, slack(0.5, tests)));
  const RoundingAwarePower power{{3, 1.2}, {3, 1.2}, q.step};
  const double error = power.finds(0.0).average, found = power.finds(2.0).average;
  CHECK(share(s.tool.alike.fooled, s.tool.alike.tests()) == within(error, slack(error, alike)));
  CHECK(share(s.tool.apart.right + s.tool.apart.fooled, s.tool.apart.tests()) == within(found, slack(found, apart)));
  CHECK(s.tool.alike.missed == 0);
  // Convolved in numpy, averaged over 64 phases: sums of 3 + 3 readings of SD 1.2 are equal in 0.13195 of tests without
  // a gap; with a gap of 2 in 0.01842, and the larger average is the slower one's in 0.01539.
  CHECK(share(s.averages.alike.right, s.averages.alike.tests()) == within(0.13195, slack(0.13195, alike)));
  CHECK(share(s.averages.apart.missed, s.averages.apart.tests()) == within(0.01842, slack(0.01842, apart)));
  CHECK(share(s.averages.apart.fooled, s.averages.apart.tests()) == within(0.01539, slack(0.01539, apart)));
}

TEST_CASE("clinic: intervals of classes hold the truth and find the gap as often as the exact ones") {
  const std::vector<std::int64_t> sizes{3, 10};
  constexpr int classes = 300, students = 20;
  for (std::size_t k = 0; k < sizes.size(); ++k) {
    double missed = 0, found = 0, found_squared = 0;
    for (std::uint64_t seed = 1; seed <= classes; ++seed) {
      const SizeOfTest size = tests_of_sizes({.students = students, .seed = seed}, sizes)[k];
      CHECK(size.gaps.size() == students);
      missed += static_cast<double>(size.miss);
      found += static_cast<double>(size.found);
      found_squared += static_cast<double>(size.found) * static_cast<double>(size.found);
    }
    // Students of a class share a place between two readings, so the error is that between classes.
    const double mean = found / classes, variance = (found_squared - classes * mean * mean) / (classes - 1);
    const double expected =
        RoundingAwarePower{{sizes[k], 1.2}, {sizes[k], 1.2}, DisplayStep{{1, 0}}}.finds(2.0).average;
    CHECK(mean / students == within(expected, 4.5 * std::sqrt(variance / classes) / students));
    // docs/methods/rounding_aware.md: coverage of 93.5 % or more at the worst phase, and near 97 % with three shots.
    CHECK(missed / (classes * students) < 0.065 + slack(0.065, classes * students));
    CHECK(missed / (classes * students) > 0.02);
  }
}

TEST_CASE("clinic: the displays show the same shots, and equal readings on the coarsest") {
  const std::vector<SeenThrough> seen = through_displays({.seed = 7});
  REQUIRE(seen.size() == 3);
  CHECK(seen[0].step.size().text() == "0.1");
  CHECK(seen[1].step.size().text() == "1");
  CHECK(seen[2].step.size().text() == "5");
  // The Python of the known answers: the class of seed 7 has the slower average at 189.80182504611324, its second draw
  // (replicate 1, purpose 11) is the first whose three shots with A read alike on steps of 5.
  CHECK(steps(seen[0].a) == Steps{1890, 1906, 1888});
  CHECK(steps(seen[0].b) == Steps{1918, 1909, 1932});
  CHECK(seen[2].a.all_equal());
  // Σ(Φ((k + ½)s) − Φ((k − ½)s))³ about that average, scipy.stats.norm.cdf
  CHECK(seen[0].all_equal == digits(0.0006377430405126241, 10));
  CHECK(seen[1].all_equal == digits(0.06028473491706188, 11));
  CHECK(seen[2].all_equal == digits(0.8852663340461057, 11));
  for (const auto member : {&SeenThrough::a, &SeenThrough::b})
    for (std::size_t i = 0; i < 3; ++i) {
      const double fine = 0.1 * static_cast<double>((seen[0].*member).steps()[i]);
      for (const std::size_t k : {std::size_t{1}, std::size_t{2}}) {
        const double step = seen[k].step.value();
        const double coarse = step * static_cast<double>((seen[k].*member).steps()[i]);
        CHECK(std::abs(coarse - fine) <= 0.5 * step + 0.05 + 1e-9);
      }
    }
  // The interval of equal readings is as wide as the display leaves it: half a step for the all-equal group alone.
  CHECK(seen[2].gap.half_width >= 0.5 * 5.0);
}

TEST_CASE("clinic: a display too coarse or too fine to show equal readings still shows the first draw") {
  const std::vector<SeenThrough> seen = through_displays({.sd = 400, .step = DisplayStep{Decimal{1, 1}}});
  CHECK_FALSE(seen[2].a.all_equal());
  CHECK(seen[2].all_equal < 1e-4);
}

TEST_CASE("clinic: leaving out the most convenient shot agrees with a simulation written anew") {
  // numpy, 200 000 tests each, tests/cli/rounded_tests.py for the half-width:
  // 5 shots, SD 1.2: 0.1516 (standard error 0.0008); 3 shots, SD 0.5: 0.0040 (0.00014)
  constexpr std::uint64_t tests = 20'000;
  const LeavingOut five = leaving_out(5, 1.2, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, tests, 2);
  CHECK(five.standard_error == within(std::sqrt(0.1516 * (1 - 0.1516) / tests), 2e-4));
  CHECK(five.one_left_out == within(0.1516, 4.5 * std::hypot(five.standard_error, 0.0008)));
  const double exact = RoundingAwarePower{{5, 1.2}, {5, 1.2}, DisplayStep{{1, 0}}}.finds(0.0).average;
  CHECK(five.none_left_out == within(exact, slack(exact, tests)));
  CHECK(five.gain == digits(best_of_normal(5).expected / 4 * 1.2, 14));
  const LeavingOut three = leaving_out(3, 0.5, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, tests, 2);
  CHECK(three.one_left_out == within(0.0040, 4.5 * std::hypot(three.standard_error, 0.00014)));
  CHECK(leaving_out(5, 1.2, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}, 1000, 2).one_left_out ==
        leaving_out(5, 12.0, DisplayStep{{10, 0}}, ConfidenceLevel{0.95}, 1000, 2).one_left_out);
}

TEST_CASE("clinic: one bow of each kind errs as often as a simulation written anew") {
  // numpy, 400 000 tests (100 000 with 30 shots), gap of the two bows N(0, 2·bow_sd²):
  const auto error = [](std::int64_t shots, double sd, double bow_sd) {
    return one_bow(shots, sd, bow_sd, DisplayStep{{1, 0}}, ConfidenceLevel{0.95}).error_rate;
  };
  CHECK(error(3, 1.2, 1.2) == within(0.1779, 1e-3 + 4.5 * 0.0006));
  CHECK(error(30, 1.2, 1.2) == within(0.7131, 3e-3 + 4.5 * 0.0014));
  CHECK(error(10, 0.5, 1.0) == within(0.6748, 1e-3 + 4.5 * 0.0007));
  // Bows that do not differ leave the test's own error rate.
  const double own = RoundingAwarePower{{5, 1.2}, {5, 1.2}, DisplayStep{{1, 0}}}.finds(0.0).average;
  CHECK(error(5, 1.2, 1e-3) == within(own, 1e-4));
}

TEST_CASE("clinic: the lesson holds what its parts give") {
  const ClinicQuestion q{.students = 4, .seed = 9};
  const Lesson made = lesson(q);
  CHECK(made.luck.size() == 4);
  CHECK(made.sizes.size() == 4);
  CHECK(made.fooling.like.true_gap == 0.0);
  CHECK(made.fooling.like.a.size() == 10);
  REQUIRE(made.fooling.looks.size() == 5);
  for (const Looks& look : made.fooling.looks) {
    std::vector<std::int64_t> after;
    for (std::int64_t shots = look.first; shots <= look.last; ++shots) after.push_back(shots);
    CHECK(look.error.error_rate == stopping_error(after, 1.2, q.step, q.level, 20'000, 9).error_rate);
  }
  CHECK(made.fooling.best[3].gain == digits(1.2 * 1.538752730835172856, 12));
  CHECK(lesson(q).fooling.leaving_out.one_left_out == made.fooling.leaving_out.one_left_out);
}

TEST_CASE("clinic: a tally counts eyes and tool by the truth, and those without an answer apart") {
  const auto told = [](int student, double gap, Sample a, Sample b, std::optional<Said> eye) {
    const ClinicTest test{std::move(a), std::move(b), gap};
    return ToldTest{student, test, tool_says(test, ConfidenceLevel{0.95}), eye};
  };
  const ClassTally t = class_tally({told(1, 0, sample({190, 191, 192}), sample({191, 192, 193}), Said::b),
                                    told(2, 0, sample({190, 191, 192}), sample({200, 201, 202}), Said::cannot_tell),
                                    told(3, 2, sample({190, 191, 192}), sample({200, 201, 202}), Said::b),
                                    told(4, -2, sample({190, 191, 192}), sample({191, 192, 193}), Said::b),
                                    told(5, 2, sample({190, 191, 192}), sample({191, 192, 193}), std::nullopt)});
  CHECK(t.unanswered == 1);
  CHECK(t.eye.alike.right == 1);
  CHECK(t.eye.alike.fooled == 1);
  CHECK(t.eye.apart.right == 1);
  CHECK(t.eye.apart.fooled == 1);
  CHECK(t.eye.apart.tests() == 2);
  CHECK(t.tool.apart.missed == 2);
  CHECK(t.tool_answered.apart.missed == 1);
  CHECK(t.tool_answered.alike.fooled == 1);
}

TEST_CASE("clinic: a question that cannot be drawn is refused, each part with what was got") {
  CHECK_THROWS_WITH_AS(luck_tests({.students = 0}), "clinic: a class has 1 to 60 students, got 0.000000", DomainError);
  CHECK_THROWS_AS(luck_tests({.students = 61}), DomainError);
  CHECK_THROWS_WITH_AS(luck_tests({.shots = 1}), "clinic: a test has 2 to 20 shots with each, got 1.000000",
                       DomainError);
  CHECK_THROWS_AS(luck_tests({.shots = 21}), DomainError);
  CHECK_THROWS_AS(luck_tests({.gap = 0}), DomainError);
  CHECK_THROWS_AS(luck_tests({.sd = 0.09}), DomainError);
  CHECK_THROWS_AS(luck_tests({.sd = std::nan("")}), DomainError);
  CHECK_THROWS_AS(luck_tests({.speed = 0}), DomainError);
  CHECK_THROWS_AS(luck_series({}, 10'000'001), DomainError);
  const DisplayStep one{{1, 0}};
  const ConfidenceLevel level{0.95};
  CHECK_THROWS_AS(leaving_out(2, 1, one, level, 1000, 1), DomainError);
  CHECK_THROWS_AS(leaving_out(3, 0, one, level, 1000, 1), DomainError);
  CHECK_THROWS_AS(leaving_out(3, 1, one, level, 999, 1), DomainError);
  CHECK_THROWS_AS(one_bow(1, 1, 1, one, level), DomainError);
  CHECK_THROWS_AS(one_bow(3, 1, 0, one, level), DomainError);
}
