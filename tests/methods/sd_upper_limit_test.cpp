#include <shotassay/methods/sd_upper_limit.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/moments.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

double below(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

double chance_of(std::int64_t y, double sd, double phase) {
  return below((static_cast<double>(y) + 0.5 - phase) / sd) - below((static_cast<double>(y) - 0.5 - phase) / sd);
}

/// d = n·Σy² − (Σy)² of n rounded normal readings and its chances, by listing every multiset of readings within 7 SD.
std::map<std::int64_t, double> deviations_law(std::int64_t n, double sd, double phase) {
  std::map<std::int64_t, double> law;
  const auto high = static_cast<std::int64_t>(std::ceil(phase + 7 * sd));
  const auto list = [&](const auto& self, std::int64_t y, std::int64_t left, double chance, std::int64_t sum,
                        std::int64_t squares) -> void {
    if (left == 0) {
      law[n * squares - sum * sum] += chance;
      return;
    }
    if (y > high || chance < 1e-16) return;
    for (std::int64_t k = 0; k <= left; ++k) {
      self(self, y + 1, left - k, chance, sum + k * y, squares + k * y * y);
      chance *= chance_of(y, sd, phase) * static_cast<double>(left - k) / static_cast<double>(k + 1);
    }
  };
  list(list, static_cast<std::int64_t>(std::floor(phase - 7 * sd)), n, 1.0, 0, 0);
  return law;
}

double chance_up_to(const std::map<std::int64_t, double>& law, std::int64_t d) {
  double sum = 0;
  for (const auto& [value, chance] : law)
    if (value <= d) sum += chance;
  return sum;
}

/// One sample for each value of d that n readings up to `span` apart can have.
std::map<std::int64_t, Sample> samples_by_deviations(std::int64_t n, std::int64_t span) {
  std::map<std::int64_t, Sample> found;
  std::vector<std::int64_t> readings(static_cast<std::size_t>(n), 0);
  const auto fill = [&](const auto& self, std::size_t i, std::int64_t low) -> void {
    if (i == readings.size()) {
      const Sample x = sample(readings);
      found.try_emplace(static_cast<std::int64_t>(moments(x).scaled_deviations()), x);
      return;
    }
    for (readings[i] = low; readings[i] <= span; ++readings[i]) self(self, i + 1, readings[i]);
  };
  fill(fill, 1, 0);
  return found;
}

}  // namespace

TEST_CASE("sd_upper_limit: three equal readings, by hand") {
  // All equal is likeliest with the average in the middle of a cell: (2Φ(½/σ) − 1)³ for that cell, and a little for its
  // neighbours. The limit is where this falls to 0.2.
  const auto all_equal = [](double sd, double phase) {
    double sum = 0;
    for (std::int64_t y = -20; y <= 20; ++y) sum += std::pow(chance_of(y, sd, phase), 3);
    return sum;
  };
  const SdEstimate r = sd_upper_limit({sample({271, 271, 271})});
  CHECK(all_equal(r.upper, 0.0) == within(0.2, 1e-7));
  for (const double phase : {0.05, 0.2, 0.35, 0.5}) CHECK(all_equal(r.upper, phase) < 0.2);
  // Without the neighbours, as Φ(½/σ) = ½(1 + 0.2^⅓) = 0.792402 and Φ⁻¹ = 0.8148: σ = 0.6137, a little lower.
  CHECK(r.upper > 0.6137);
  CHECK(r.upper < 0.66);
  CHECK(r.exact);
  CHECK(r.degrees_of_freedom == 2);
  CHECK(r.sd_of_readings == 0.0);
  CHECK(r.sd_display_corrected == 0.0);
  CHECK(r.level.value() == 0.8);
  // The estimate: half of the phases and tests show three equal readings at this SD. Trapezoid rule over 400 phases.
  double average = 0;
  for (int i = 0; i < 400; ++i) average += all_equal(r.sd, i / 400.0) / 400.0;
  CHECK(average == within(0.5, 1e-6));
}

TEST_CASE("sd_upper_limit: two readings one step apart, by hand") {
  // P(|d| ≤ 1) over the phases of a pair; the limit is the larger SD of the two extremes, cell's middle or edge, or of
  // a phase between.
  const SdEstimate r = sd_upper_limit({sample({271, 272})});
  double most = 0, average = 0;
  for (int i = 0; i < 200; ++i) {
    double near = 0;
    for (std::int64_t y = -60; y <= 60; ++y)
      for (std::int64_t z = y - 1; z <= y + 1; ++z)
        near += chance_of(y, r.upper, i / 200.0) * chance_of(z, r.upper, i / 200.0);
    most = std::max(most, near);
    double half = 0;
    for (std::int64_t y = -60; y <= 60; ++y)
      for (std::int64_t z = y - 1; z <= y + 1; ++z)
        half += chance_of(y, r.sd, i / 200.0) * chance_of(z, r.sd, i / 200.0);
    average += half / 200.0;
  }
  CHECK(most == within(0.2, 1e-6));
  CHECK(average == within(0.5, 1e-6));
  CHECK(r.sd_of_readings == digits(std::sqrt(0.5), 15));
  CHECK(r.sd_display_corrected == digits(std::sqrt(0.5 - 1.0 / 12.0), 15));
}

TEST_CASE("sd_upper_limit: just above each limit the level still holds, at every phase") {
  // Where a limit could fail: σ a hair above the limit of some outcome d, where the tests that show d or less all miss.
  for (const double level : {0.8, 0.95})
    for (const std::int64_t n : {3, 4, 5}) {
      int limits = 0;
      for (const auto& outcome : samples_by_deviations(n, 4)) {
        const auto d = outcome.first;
        const Sample& x = outcome.second;
        const SdEstimate r = sd_upper_limit({x}, ConfidenceLevel{level});
        const double sd = r.upper * (1 + 1e-6);
        if (sd > 1.6) break;
        ++limits;
        CAPTURE(n);
        CAPTURE(d);
        for (int i = 0; i <= 12; ++i) {
          CAPTURE(i);
          // Between the phases that the method tries a probability may be 1e-4 higher.
          CHECK(chance_up_to(deviations_law(n, sd, i / 24.0), d) <= 1 - level + 1e-4);
        }
      }
      CHECK(limits >= 1);
    }
}

TEST_CASE("sd_upper_limit: for a given SD the limits of all outcomes cover it as often as stated") {
  for (const std::int64_t n : {2, 3, 5})
    for (const double sd : {0.1, 0.25, 0.4, 0.6, 0.9, 1.3}) {
      std::map<std::int64_t, double> upper;
      for (const auto& [d, x] : samples_by_deviations(n, 8)) {
        upper[d] = sd_upper_limit({x}).upper;
        if (upper[d] > 1.5) break;  // larger deviations have larger limits
      }
      for (int i = 0; i <= 16; ++i) {
        double missed = 0;
        for (const auto& [d, chance] : deviations_law(n, sd, i / 32.0))
          if (upper.contains(d) && upper[d] < sd) missed += chance;
        CAPTURE(n);
        CAPTURE(sd);
        CAPTURE(i);
        CHECK(missed <= 0.2 + 1e-4);
      }
    }
}

TEST_CASE(
    "sd_upper_limit: pooled over set-ups with equal and unequal numbers the level holds at every pair of phases") {
  for (const std::int64_t m : {3, 4}) {
    const auto first = samples_by_deviations(3, 2), second = samples_by_deviations(m, 2);
    for (const auto& outcome : first)
      for (const auto& other : second) {
        const auto d = outcome.first, e = other.first;
        const Sample &x = outcome.second, &y = other.second;
        const SdEstimate r = sd_upper_limit({x, y});
        REQUIRE(r.exact);
        CHECK(r.degrees_of_freedom == static_cast<double>(3 + m - 2));
        const double sd = r.upper * (1 + 1e-6);
        if (sd > 1.2) continue;
        const std::int64_t seen = m * d + 3 * e;  // 3·m·Q, whole
        for (int i = 0; i <= 8; ++i) {
          const auto p = deviations_law(3, sd, i / 16.0);
          for (int k = 0; k <= 8; ++k) {
            double missed = 0;
            for (const auto& [v, chance] : deviations_law(m, sd, k / 16.0))
              if (seen >= 3 * v) missed += chance * chance_up_to(p, (seen - 3 * v) / m);
            CAPTURE(d);
            CAPTURE(e);
            CHECK(missed <= 0.2 + 1e-4);
          }
        }
      }
  }
}

TEST_CASE("sd_upper_limit: the estimate is too small in at most half of all tests, and just so") {
  for (const std::int64_t n : {2, 3, 5})
    for (const auto& outcome : samples_by_deviations(n, 2)) {
      const auto d = outcome.first;
      const Sample& x = outcome.second;
      const double sd = sd_upper_limit({x}).sd;
      double average = 0;
      for (int i = 0; i < 23; ++i) average += chance_up_to(deviations_law(n, sd, i / 23.0), d) / 23.0;
      CAPTURE(n);
      CAPTURE(d);
      CHECK(average == within(0.5, 1e-5));
    }
}

TEST_CASE("sd_upper_limit: the chance that it inverts falls as the SD grows, so there is one limit") {
  for (const std::int64_t n : {2, 4})
    for (const std::int64_t d :
         n == 2 ? std::vector<std::int64_t>{0, 1, 4} : std::vector<std::int64_t>{0, 3, 4, 8, 19}) {
      double before = 1 + 1e-12;
      for (double sd = 0.06; sd < 1.8; sd *= 1.13) {
        double most = 0;
        for (int i = 0; i <= 8; ++i) most = std::max(most, chance_up_to(deviations_law(n, sd, i / 16.0), d));
        CAPTURE(n);
        CAPTURE(d);
        CAPTURE(sd);
        CHECK(most <= before);
        before = most + 1e-12;
      }
    }
}

TEST_CASE("sd_upper_limit: the chi-square form is within one outcome of the sums") {
  // Outcomes lie on a lattice, of which a ball holds now a few points more, now a few less than its volume says; the
  // form, which knows the volume, stays between the next outcome's exact limit and that of the last but one.
  const auto by_deviations = samples_by_deviations(5, 9);
  std::vector<SdEstimate> exact, form;
  for (const auto& [d, x] : by_deviations) {
    if (d < 60 || d > 300) continue;
    exact.push_back(sd_upper_limit({x}));
    form.push_back(sd_upper_limit({x}, ConfidenceLevel{0.8}, {.operations = 10, .bytes = 10}));
    REQUIRE(exact.back().exact);
    CHECK_FALSE(form.back().exact);
  }
  REQUIRE(exact.size() > 30);
  for (std::size_t i = 2; i + 1 < exact.size(); ++i) {
    CAPTURE(i);
    CHECK(form[i].upper < exact[i + 1].upper);
    CHECK(form[i].upper > exact[i - 2].upper);
    CHECK(form[i].sd < exact[i + 1].sd);
    CHECK(form[i].sd > exact[i - 2].sd);
  }
}

TEST_CASE("sd_upper_limit: between half a step and one the chi-square form stays on the safe side") {
  // Some forty readings, as the form is for: the estimate within 1.5 %, the limit above the exact one by no more than
  // the half that was added to q raises it, ½·½/q, and 1 %.
  for (const std::int64_t wide : {2, 4, 6, 9}) {
    std::vector<std::int64_t> a, b;
    for (std::int64_t i = 0; i < 20; ++i) {
      a.push_back(i < wide ? 270 : i < 12 ? 271 : i < 20 - wide / 2 ? 272 : 273);
      b.push_back(i < 4 ? 281 : i < 20 - wide ? 280 : 279);
    }
    const std::vector<Sample> pilot{sample(a), sample(b)};
    const SdEstimate exact = sd_upper_limit(pilot, ConfidenceLevel{0.8}, {.operations = 1e12, .bytes = 1e9});
    const SdEstimate form = sd_upper_limit(pilot, ConfidenceLevel{0.8}, {.operations = 10, .bytes = 10});
    REQUIRE(exact.exact);
    CHECK_FALSE(form.exact);
    CHECK(exact.sd > 0.5);
    CHECK(exact.sd < 1.0);
    CHECK(form.sd == within(exact.sd, 0.015 * exact.sd));
    const double q = exact.sd_of_readings * exact.sd_of_readings * 38.0;
    CHECK(form.upper > exact.upper);
    CHECK(form.upper < exact.upper * (1.01 + 0.25 / q));
  }
}

TEST_CASE("sd_upper_limit: with an SD of many steps it is the classical limit") {
  // s² of 10, 20, 35, 44, 17 hundred steps: mean 25.2, Σ(y − ȳ)² = 774.8. R 4.2.2:
  // sqrt(774.8e4/qchisq(c(.5, .2, .05), 4) - 1/12)
  const Sample x = sample({1000, 2000, 3500, 4400, 1700});
  const SdEstimate r = sd_upper_limit({x}), surer = sd_upper_limit({x}, ConfidenceLevel{0.95});
  CHECK_FALSE(r.exact);
  CHECK(r.sd == digits(1519.283857087893, 12));
  CHECK(r.upper == digits(2167.773446456892, 12));
  CHECK(surer.upper == digits(3301.753240873950, 12));
  CHECK(r.sd_of_readings == digits(std::sqrt(774.8e4 / 4), 14));
  // Median-unbiased against plain s: √(ν/χ²(½; ν)), 1.20 at ν = 2, 1.09 at ν = 4, 1.04 at ν = 9.
  CHECK(r.sd / r.sd_of_readings == within(1.09, 0.005));
  const SdEstimate three = sd_upper_limit({sample({1000, 2000, 3500})});
  CHECK(three.sd / three.sd_of_readings == within(1.20, 0.005));
  const SdEstimate ten = sd_upper_limit({sample({1000, 2000, 3500, 4400, 1700, 900, 2800, 2100, 1500, 3000})});
  CHECK(ten.sd / ten.sd_of_readings == within(1.04, 0.005));
}

TEST_CASE("sd_upper_limit: results scale with the step, and neither level of the readings nor order matters") {
  const SdEstimate whole = sd_upper_limit({sample({271, 272, 271}), sample({273, 275, 274, 276, 272})});
  const SdEstimate tenths =
      sd_upper_limit({decimal_sample({2732, 2753, 2743, 2762, 2722}, 1), decimal_sample({2, 3, 2}, 1)});
  CHECK(tenths.exact == false);
  const SdEstimate same = sd_upper_limit({decimal_sample({73, 75, 74, 76, 72}, 1), decimal_sample({2, 3, 2}, 1)});
  CHECK(same.sd == digits(0.1 * whole.sd, 12));
  CHECK(same.upper == digits(0.1 * whole.upper, 12));
  CHECK(same.sd_of_readings == digits(0.1 * whole.sd_of_readings, 12));
  CHECK(same.sd_display_corrected == digits(0.1 * whole.sd_display_corrected, 12));
  CHECK(whole.degrees_of_freedom == 6);
}

TEST_CASE("sd_upper_limit: set-ups with one shot add nothing") {
  const SdEstimate r = sd_upper_limit({sample({5}), sample({271, 272, 271}), sample({999})});
  const SdEstimate alone = sd_upper_limit({sample({271, 272, 271})});
  CHECK(r.sd == alone.sd);
  CHECK(r.upper == alone.upper);
  CHECK(r.degrees_of_freedom == 2);
}

TEST_CASE("sd_upper_limit: more equal readings lower it, more scatter and a higher level raise it") {
  double before = HUGE_VAL;
  for (const std::size_t n : {2U, 3U, 5U, 8U, 20U}) {
    const SdEstimate r = sd_upper_limit({sample(std::vector<std::int64_t>(n, 271))});
    CHECK(r.upper < before);
    CHECK(r.sd > 0.0);
    CHECK(r.sd < r.upper);
    before = r.upper;
  }
  double last = 0, estimate = 0;
  for (const auto& [d, x] : samples_by_deviations(4, 5)) {
    const SdEstimate r = sd_upper_limit({x});
    CHECK(r.upper > last);
    CHECK(r.sd > estimate);
    last = r.upper;
    estimate = r.sd;
  }
  last = 0;
  for (const double level : {0.5, 0.7, 0.8, 0.9, 0.95, 0.99}) {
    const SdEstimate r = sd_upper_limit({sample({271, 272, 271, 271})}, ConfidenceLevel{level});
    CHECK(r.upper > last);
    CHECK(r.upper >= r.sd);
    last = r.upper;
  }
}

TEST_CASE("sd_upper_limit: no set-up with two shots has no answer") {
  const char* const reason =
      "sd_upper_limit: no set-up has two shots or more, so nothing shows how shots scatter; fire one set-up at least "
      "twice, better five times";
  CHECK_THROWS_WITH_AS(sd_upper_limit({sample({271}), sample({275})}), reason, NoAnswer);
  CHECK_THROWS_WITH_AS(sd_upper_limit({}), reason, NoAnswer);
}

TEST_CASE("sd_upper_limit: over the budget an SD below half a step is refused, a larger one goes by chi-square") {
  const WorkBudget small{.operations = 1e4, .bytes = 1e9}, narrow{.operations = 1e12, .bytes = 100};
  const Sample fine = sample({271, 271, 271, 271, 272});  // q = 0.8, χ²(½; 4) = 3.36: a variance of 0.24 < ¼ + 1/12
  for (const WorkBudget& budget : {small, narrow}) {
    CHECK_THROWS_WITH_AS(sd_upper_limit({fine}, ConfidenceLevel{0.8}, budget),
                         doctest::Contains("sd_upper_limit needs about"), BudgetExceeded);
    CHECK_THROWS_WITH_AS(sd_upper_limit({fine}, ConfidenceLevel{0.8}, budget),
                         doctest::Contains("Fewer readings, or set-ups with equal numbers of shots, would fit."),
                         BudgetExceeded);
    CHECK_FALSE(sd_upper_limit({sample({271, 276, 273, 270, 279})}, ConfidenceLevel{0.8}, budget).exact);
  }
  // Numbers of shots without a common multiple: the pooled sum cannot be listed.
  std::vector<Sample> odd;
  for (const std::size_t n : {11U, 13U, 17U, 19U, 23U, 29U}) {
    std::vector<std::int64_t> readings(n, 271);
    readings[0] = 272;
    odd.push_back(sample(readings));
  }
  CHECK_THROWS_AS(sd_upper_limit(odd), BudgetExceeded);
  CHECK_THROWS_AS(sd_upper_limit(odd, ConfidenceLevel{0.8}, {.operations = 1e300, .bytes = 1e300}), BudgetExceeded);
}

TEST_CASE("sd_upper_limit: mixed displays and levels below one half are refused") {
  CHECK_THROWS_WITH_AS(sd_upper_limit({sample({271, 272}), decimal_sample({271, 272}, 1)}),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  CHECK_THROWS_WITH_AS(sd_upper_limit({sample({271, 272})}, ConfidenceLevel{0.4}),
                       "sd_upper_limit: needs a one-sided level of 0.5 or more, got 0.400000", DomainError);
}
