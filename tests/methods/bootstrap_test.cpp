#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include <shotassay/methods/bootstrap.hpp>

#include "methods/bootstrap_brute_force.hpp"
#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

/// α/2 as a ratio of whole numbers, so that the enumeration compares whole numbers.
struct HalfAlpha {
  std::int64_t numerator, denominator;

  ConfidenceLevel level() const {
    return ConfidenceLevel{1 - 2 * static_cast<double>(numerator) / static_cast<double>(denominator)};
  }
};
constexpr HalfAlpha half_alphas[] = {{1, 40}, {1, 20}, {1, 10}, {1, 4}, {1, 200}, {2, 27}};

/// Limits come from whole numbers and one division: a rounding or two of a value below 1000.
within near(double x) { return {x, 1e-12}; }

/// The three intervals by enumeration against ours.
template <class Percentile, class Basic, class Bca>
void check_against(const brute::Counts& counts, double centred_cubes, double centred_squares, Percentile percentile,
                   Basic basic, Bca bca) {
  for (const HalfAlpha& half : half_alphas) {
    const std::int64_t low = counts.quantile(half.numerator, half.denominator);
    const std::int64_t high = counts.quantile(half.denominator - half.numerator, half.denominator);
    const BootstrapResult p = percentile(half.level()), b = basic(half.level()), c = bca(half.level());
    CAPTURE(half.denominator);
    for (const BootstrapResult& r : {p, b, c}) {
      CHECK(r.estimate == near(counts.value(counts.observed)));
      CHECK(r.standard_error == near(counts.sd()));
      CHECK(r.exact);
      CHECK_FALSE(r.law_is_a_point);
      CHECK_FALSE(r.resamples.has_value());
      CHECK_FALSE(r.lower_range.has_value());
      CHECK_FALSE(r.upper_range.has_value());
    }
    REQUIRE(p.interval.has_value());
    CHECK(p.interval->lower == near(counts.value(low)));
    CHECK(p.interval->upper == near(counts.value(high)));
    REQUIRE(b.interval.has_value());
    CHECK(b.interval->lower == near(counts.value(2 * counts.observed - high)));
    CHECK(b.interval->upper == near(counts.value(2 * counts.observed - low)));

    const std::int64_t below = counts.at_most(counts.observed - 1), up_to = counts.at_most(counts.observed);
    const double z0 =
        numerics::normal_quantile(0.5 * static_cast<double>(below + up_to) / static_cast<double>(counts.total));
    const double a = centred_cubes / (6 * std::pow(centred_squares, 1.5));
    const double z =
        numerics::normal_quantile(1 - static_cast<double>(half.numerator) / static_cast<double>(half.denominator));
    const auto level = [&](double shift) { return numerics::normal_lower_tail(z0 + shift / (1 - a * shift)); };
    REQUIRE(c.interval.has_value());
    CHECK(*c.bias_correction == near(z0));
    CHECK(*c.acceleration == near(a));
    CHECK(c.interval->lower == near(counts.value(counts.quantile(level(z0 - z)))));
    CHECK(c.interval->upper == near(counts.value(counts.quantile(level(z0 + z)))));
  }
}

/// Σ(x − x̄)^k / n^k.
double centred_power(const brute::Readings& x, int k) {
  const double n = static_cast<double>(x.size()), mean = static_cast<double>(brute::sum(x)) / n;
  double s = 0;
  for (const std::int64_t v : x) s += std::pow((static_cast<double>(v) - mean) / n, k);
  return s;
}

}  // namespace

TEST_CASE("bootstrap: percentile, basic and BCa of a mean equal an enumeration of all resamples, for 2 to 6 shots") {
  brute::Trials trials{1};
  for (std::size_t n = 2; n <= 6; ++n)
    for (const std::uint32_t span : {1U, 2U, 4U, 9U, 9U, 9U}) {
      const brute::Readings x = trials.readings(n, span);
      const Sample s = sample(x);
      if (s.all_equal()) continue;
      check_against(
          brute::mean_counts(x), centred_power(x, 3), centred_power(x, 2),
          [&](ConfidenceLevel level) { return bootstrap_percentile(s, level); },
          [&](ConfidenceLevel level) { return bootstrap_basic(s, level); },
          [&](ConfidenceLevel level) { return bootstrap_bca(s, level); });
    }
}

TEST_CASE("bootstrap: percentile, basic and BCa of a gap equal an enumeration of all pairs of resamples") {
  brute::Trials trials{2};
  for (std::size_t n_a = 2; n_a <= 5; ++n_a)
    for (std::size_t n_b = 2; n_b <= 5; ++n_b)
      for (const std::uint32_t span : {0U, 1U, 3U, 9U}) {
        const brute::Readings a = trials.readings(n_a, span), b = trials.readings(n_b, 6);
        const Sample x = sample(a), y = sample(b);
        if (x.all_equal() && y.all_equal()) continue;
        check_against(
            brute::gap_counts(a, b), centred_power(b, 3) - centred_power(a, 3),
            centred_power(b, 2) + centred_power(a, 2),
            [&](ConfidenceLevel level) { return bootstrap_percentile(x, y, level); },
            [&](ConfidenceLevel level) { return bootstrap_basic(x, y, level); },
            [&](ConfidenceLevel level) { return bootstrap_bca(x, y, level); });
      }
}

TEST_CASE("bootstrap: the 27 resamples of three readings give the enumerated limits") {
  const Published check{"boot-exact-3"};
  const Sample y = check.readings("y");
  const BootstrapResult r95 = bootstrap_percentile(y), r90 = bootstrap_percentile(y, ConfidenceLevel{0.90});
  CHECK(r95.standard_error == check.expected("se"));
  CHECK(r95.interval->lower == check.expected("lo95"));
  CHECK(r95.interval->upper == check.expected("hi95"));
  CHECK(r90.interval->lower == check.expected("lo90"));
  CHECK(r90.interval->upper == check.expected("hi90"));
}

TEST_CASE("bootstrap: limits of sixteen readings agree with a million resamples drawn by another program") {
  const Published check{"boot-16values"};
  const BootstrapLaw law{check.readings("y")};
  const Interval percentile = *bootstrap_percentile(law).interval, basic = *bootstrap_basic(law).interval,
                 bca = *bootstrap_bca(law).interval;
  CHECK(percentile.lower == check.expected("perc_lo"));
  CHECK(percentile.upper == check.expected("perc_hi"));
  CHECK(basic.lower == check.expected("basic_lo"));
  CHECK(basic.upper == check.expected("basic_hi"));
  CHECK(bca.lower == check.expected("bca_lo"));
  CHECK(bca.upper == check.expected("bca_hi"));
}

TEST_CASE("bootstrap: the acceleration of a gap is the two-sample jackknife value") {
  const Published check{"efron-mouse-accel"};
  // The source takes x minus y.
  const BootstrapResult r = bootstrap_bca(check.readings("y"), check.readings("x"));
  CHECK(*r.acceleration == check.expected("accel"));
  CHECK(*bootstrap_bca(check.readings("x"), check.readings("y")).acceleration == -*r.acceleration);
}

TEST_CASE("bootstrap: 60 random cases agree with the same laws computed in R") {
  // data/reference/bootstrap_exact.jsonl: made by bootstrap_exact.R beside it; its gaps are x minus y.
  std::ifstream in{SHOTASSAY_SOURCE_DIR "/data/reference/bootstrap_exact.jsonl"};
  REQUIRE(in);
  int cases = 0;
  for (std::string line; std::getline(in, line);) {
    const auto json = nlohmann::json::parse(line);
    ++cases;
    const auto x = json.at("x").get<std::vector<std::int64_t>>();
    const bool gap = json.at("kind") == "gap2";
    const BootstrapLaw law =
        gap ? BootstrapLaw{sample(json.at("y").get<std::vector<std::int64_t>>()), sample(x)} : BootstrapLaw{sample(x)};
    const auto& out = json.at("out");
    const auto number = [&](const char* name) { return out.at(name).get<double>(); };
    const auto limits = [&](const char* name, const BootstrapResult& r) {
      CAPTURE(line);
      CAPTURE(name);
      CHECK(r.interval->lower == near(out.at(name).at(0).get<double>()));
      CHECK(r.interval->upper == near(out.at(name).at(1).get<double>()));
    };
    const ConfidenceLevel level95{0.95}, level90{0.90};
    const ResampledStatistic& s = law.statistic();
    CHECK(s.estimate() == near(number("theta")));
    CHECK(s.standard_error() == digits(number("se"), 12));
    CHECK(law.lower_tail(s.observed() - 1) == digits(number("p_lt"), 12));
    CHECK(law.lower_tail(s.observed()) - law.lower_tail(s.observed() - 1) == digits(number("p_eq"), 12));
    if (gap) {
      // P(gap* ≤ 0): key 0 lies L·(low of y − low of x) above the keys' own origin.
      const std::int64_t zero = static_cast<std::int64_t>(
          std::llround(static_cast<double>(s.observed()) - s.estimate() * static_cast<double>(s.steps_apart())));
      CHECK(law.lower_tail(zero) == digits(number("p_le0"), 12));
    }
    limits("pct95", bootstrap_percentile(law, level95));
    limits("pct90", bootstrap_percentile(law, level90));
    limits("bca95_mid", bootstrap_bca(law, level95));
    limits("bca90_mid", bootstrap_bca(law, level90));
    CHECK(*bootstrap_bca(law, level95).acceleration == within(number("accel"), 1e-13));
  }
  CHECK(cases == 60);
}

TEST_CASE("bootstrap: 20 shots, half of them one step higher, have the limits of a binomial law") {
  std::vector<std::int64_t> x(20, 280);
  for (std::size_t i = 0; i < 10; ++i) x[i] = 281;
  const Sample s = sample(x);
  // R: qbinom(c(.025, .975), 20, .5) = 6 14; qbinom(c(.1, .9), 20, .5) = 7 13
  CHECK(bootstrap_percentile(s).interval->lower == near(280 + 6 / 20.0));
  CHECK(bootstrap_percentile(s).interval->upper == near(280 + 14 / 20.0));
  CHECK(bootstrap_percentile(s, ConfidenceLevel{0.8}).interval->lower == near(280 + 7 / 20.0));
  CHECK(bootstrap_percentile(s, ConfidenceLevel{0.8}).interval->upper == near(280 + 13 / 20.0));
  // Symmetric: no bias, no acceleration, so BCa is the percentile interval.
  CHECK(*bootstrap_bca(s).bias_correction == within(0, 1e-15));
  CHECK(*bootstrap_bca(s).acceleration == 0);
  CHECK(bootstrap_bca(s).interval == bootstrap_percentile(s).interval);
}

TEST_CASE("bootstrap: a law built once gives the results of each function on its own") {
  const Sample a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 279});
  const BootstrapLaw mean{a}, gap{a, b};
  for (const double value : {0.8, 0.95, 0.99}) {
    const ConfidenceLevel level{value};
    CHECK(bootstrap_percentile(mean, level).interval == bootstrap_percentile(a, level).interval);
    CHECK(bootstrap_percentile(gap, level).interval == bootstrap_percentile(a, b, level).interval);
    CHECK(bootstrap_basic(mean, level).interval == bootstrap_basic(a, level).interval);
    CHECK(bootstrap_basic(gap, level).interval == bootstrap_basic(a, b, level).interval);
    CHECK(bootstrap_bca(mean, level).interval == bootstrap_bca(a, level).interval);
    CHECK(bootstrap_bca(gap, level).interval == bootstrap_bca(a, b, level).interval);
  }
}

TEST_CASE("bootstrap: adding 7 to every shot of b adds 7 to the gap and to each limit") {
  const Sample a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 275, 279, 276, 276}),
               c = sample({283, 281, 284, 282, 286, 283, 283});
  const auto check = [](const BootstrapResult& before, const BootstrapResult& after) {
    CHECK(after.estimate == near(before.estimate + 7));
    CHECK(after.interval->lower == near(before.interval->lower + 7));
    CHECK(after.interval->upper == near(before.interval->upper + 7));
    CHECK(after.standard_error == before.standard_error);
    CHECK(after.bias_correction == before.bias_correction);
    CHECK(after.acceleration == before.acceleration);
  };
  check(bootstrap_percentile(a, b), bootstrap_percentile(a, c));
  check(bootstrap_basic(a, b), bootstrap_basic(a, c));
  check(bootstrap_bca(a, b), bootstrap_bca(a, c));
}

TEST_CASE("bootstrap: exchanging the groups mirrors the interval at levels that no probability meets exactly") {
  const Sample a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 279});
  const ConfidenceLevel level{0.9371};
  const auto check = [](const BootstrapResult& one, const BootstrapResult& other) {
    CHECK(one.interval->lower == near(-other.interval->upper));
    CHECK(one.interval->upper == near(-other.interval->lower));
    CHECK(one.estimate == -other.estimate);
  };
  check(bootstrap_percentile(a, b, level), bootstrap_percentile(b, a, level));
  check(bootstrap_basic(a, b, level), bootstrap_basic(b, a, level));
  check(bootstrap_bca(a, b, level), bootstrap_bca(b, a, level));
}

TEST_CASE("bootstrap: readings of a tenth have a tenth of everything that has a unit") {
  const Sample whole_a = sample({2712, 2731, 2740}), whole_b = sample({2760, 2744});
  const Sample a = decimal_sample({2712, 2731, 2740}, 1), b = decimal_sample({2760, 2744}, 1);
  const BootstrapResult w = bootstrap_bca(whole_a, whole_b), r = bootstrap_bca(a, b);
  CHECK(r.estimate == digits(w.estimate / 10, 15));
  CHECK(r.standard_error == digits(w.standard_error / 10, 15));
  CHECK(r.interval->lower == digits(w.interval->lower / 10, 15));
  CHECK(r.interval->upper == digits(w.interval->upper / 10, 15));
  CHECK(r.acceleration == w.acceleration);
}

TEST_CASE("bootstrap: readings that are all equal give no interval, never one of width 0") {
  const Sample a = sample({271, 271, 271}), b = sample({274, 274}), c = sample({274, 275});
  for (const BootstrapResult& r : {bootstrap_percentile(a), bootstrap_basic(a), bootstrap_bca(a)}) {
    CHECK(r.estimate == 271);
    CHECK(r.standard_error == 0);
    CHECK(r.law_is_a_point);
    CHECK_FALSE(r.interval.has_value());
    CHECK(r.reason == NoBootstrapInterval::law_is_a_point);
    CHECK_FALSE(r.acceleration.has_value());
  }
  for (const BootstrapResult& r : {bootstrap_percentile(a, b), bootstrap_basic(a, b), bootstrap_bca(a, b)}) {
    CHECK(r.estimate == 3);
    CHECK(r.reason == NoBootstrapInterval::law_is_a_point);
    CHECK_FALSE(r.interval.has_value());
  }
  // One group with scatter is enough for a law that is no point.
  for (const BootstrapResult& r : {bootstrap_percentile(a, c), bootstrap_basic(a, c), bootstrap_bca(a, c)}) {
    CHECK_FALSE(r.law_is_a_point);
    CHECK_FALSE(r.reason.has_value());
    CHECK(r.interval == Interval{3, 4});
  }
}

TEST_CASE("bootstrap: BCa has no answer where its correction turns over") {
  // One high reading of twelve: a = 0.14…, so 1 − a(z₀ + z) ≤ 0 from z ≈ 7 on.
  const Sample skewed = sample({0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 9});
  const BootstrapResult r = bootstrap_bca(skewed, ConfidenceLevel::from_alpha(1e-14));
  CHECK_FALSE(r.interval.has_value());
  CHECK(r.reason == NoBootstrapInterval::bca_denominator_not_positive);
  CHECK(r.acceleration.has_value());
  CHECK(r.bias_correction.has_value());
  CHECK(bootstrap_bca(skewed).interval.has_value());
  // The mirror image turns over at the lower limit.
  const Sample mirrored = sample({9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 9, 0});
  CHECK(bootstrap_bca(mirrored, ConfidenceLevel::from_alpha(1e-14)).reason ==
        NoBootstrapInterval::bca_denominator_not_positive);
}

TEST_CASE("bootstrap: BCa limits at extreme levels are ends of the law") {
  const BootstrapResult r = bootstrap_bca(sample({278, 280, 283}), ConfidenceLevel::from_alpha(1e-13));
  CHECK(r.interval == Interval{278, 283});
}

namespace {

/// A law in which no resample lies on one side of the estimate.
struct LopsidedLaw {
  ResampledStatistic of{"bootstrap", sample({278, 280, 283})};
  double share_below;

  const ResampledStatistic& statistic() const { return of; }
  double lower_tail(std::int64_t) const { return share_below; }
  double upper_tail(std::int64_t) const { return 1 - share_below; }
  std::int64_t lower_quantile(double) const { return of.lowest(); }
  std::int64_t upper_quantile(double) const { return of.highest(); }
};

}  // namespace

TEST_CASE("bootstrap: BCa has no answer when no resample lies on one side of the estimate") {
  for (const double share : {0.0, 1.0}) {
    const BootstrapResult r = bootstrap_bca(LopsidedLaw{.share_below = share});
    CHECK_FALSE(r.interval.has_value());
    CHECK(r.reason == NoBootstrapInterval::bias_correction_infinite);
    CHECK_FALSE(r.bias_correction.has_value());
  }
}

TEST_CASE("bootstrap: mistakes and budgets name the method asked") {
  const Sample one = sample({280}), two = sample({280, 281});
  CHECK_THROWS_WITH_AS(bootstrap_percentile(one), "bootstrap_percentile: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_basic(one), "bootstrap_basic: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_bca(one), "bootstrap_bca: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_percentile(two, one), "bootstrap_percentile: needs 2 or more shots in a group, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_basic(one, two), "bootstrap_basic: needs 2 or more shots in a group, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_bca(two, one), "bootstrap_bca: needs 2 or more shots in a group, got 1", DomainError);
  const WorkBudget none{.operations = 0, .bytes = 0};
  const ConfidenceLevel level{0.95};
  const auto over = [](const char* method) {
    return doctest::Contains((std::string{method} + " needs about").c_str());
  };
  CHECK_THROWS_WITH_AS(bootstrap_percentile(two, level, none), over("bootstrap_percentile"), BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_percentile(two, two, level, none), over("bootstrap_percentile"), BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_basic(two, level, none), over("bootstrap_basic"), BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_basic(two, two, level, none), over("bootstrap_basic"), BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_bca(two, level, none), over("bootstrap_bca"), BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_bca(two, two, level, none), over("bootstrap_bca"), BudgetExceeded);
}
