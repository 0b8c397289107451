#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include <shotassay/methods/bootstrap_t.hpp>

#include "methods/bootstrap_brute_force.hpp"
#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// s²/n of a resample, divisor n − 1, from its sum and sum of squares; exactly 0 when it is one reading n times.
double variance_of_mean(std::int64_t sum, std::int64_t squares, std::int64_t n) {
  const std::int64_t deviations = n * squares - sum * sum;
  return static_cast<double>(deviations) / static_cast<double>(n * n * (n - 1));
}

struct Drawn {
  double t;
  std::int64_t count;
};

/// t* of every resample, ascending.
struct AllT {
  std::vector<Drawn> values;
  std::int64_t total = 0;
  double estimate = 0, se = 0;

  void add(double gap, std::int64_t numerator, double variance, std::int64_t count) {
    double t = 0;
    if (numerator != 0)
      t = variance > 0 ? (gap - estimate) / std::sqrt(variance) : numerator > 0 ? infinity : -infinity;
    values.push_back({t, count});
    total += count;
  }
  /// Smallest t with a count of numerator/denominator or more up to it. Rounding may tell equal t* apart, by 1e-15.
  double quantile(std::int64_t numerator, std::int64_t denominator) {
    std::sort(values.begin(), values.end(), [](const Drawn& p, const Drawn& q) { return p.t < q.t; });
    std::int64_t up_to = 0;
    for (const Drawn& d : values)
      if ((up_to += d.count) * denominator >= numerator * total) return d.t;
    return infinity;
  }
  Interval interval(std::int64_t numerator, std::int64_t denominator) {
    return {estimate - quantile(denominator - numerator, denominator) * se,
            estimate - quantile(numerator, denominator) * se};
  }
};

AllT all_t(const brute::Readings& x) {
  const auto n = static_cast<std::int64_t>(x.size());
  std::int64_t squares = 0;
  for (const std::int64_t v : x) squares += v * v;
  const std::int64_t sum = brute::sum(x);
  AllT t;
  t.estimate = static_cast<double>(sum) / static_cast<double>(n);
  t.se = std::sqrt(variance_of_mean(sum, squares, n));
  for (const auto& [state, count] : brute::sums_and_squares(x))
    t.add(static_cast<double>(state.first) / static_cast<double>(n), state.first - sum,
          variance_of_mean(state.first, state.second, n), count);
  return t;
}

AllT all_t(const brute::Readings& a, const brute::Readings& b) {
  const auto n_a = static_cast<std::int64_t>(a.size()), n_b = static_cast<std::int64_t>(b.size());
  const auto squares = [](const brute::Readings& x) {
    std::int64_t q = 0;
    for (const std::int64_t v : x) q += v * v;
    return q;
  };
  const auto gap = [&](std::int64_t s_a, std::int64_t s_b) { return n_a * s_b - n_b * s_a; };
  const std::int64_t observed = gap(brute::sum(a), brute::sum(b));
  AllT t;
  t.estimate = static_cast<double>(observed) / static_cast<double>(n_a * n_b);
  t.se = std::sqrt(variance_of_mean(brute::sum(a), squares(a), n_a) + variance_of_mean(brute::sum(b), squares(b), n_b));
  const brute::SumsAndSquares of_a = brute::sums_and_squares(a), of_b = brute::sums_and_squares(b);
  for (const auto& [p, count_a] : of_a)
    for (const auto& [q, count_b] : of_b) {
      const std::int64_t g = gap(p.first, q.first);
      t.add(static_cast<double>(g) / static_cast<double>(n_a * n_b), g - observed,
            variance_of_mean(p.first, p.second, n_a) + variance_of_mean(q.first, q.second, n_b), count_a * count_b);
    }
  return t;
}

void check_interval(const BootstrapResult& r, const Interval& expected) {
  REQUIRE(r.interval.has_value());
  for (const auto& [ours, theirs] :
       {std::pair{r.interval->lower, expected.lower}, {r.interval->upper, expected.upper}}) {
    if (std::isinf(theirs))
      CHECK(ours == theirs);
    else
      CHECK(ours == within(theirs, 1e-12 * (1 + std::abs(theirs - r.estimate))));
  }
}

void check_against(AllT all, const BootstrapResult& r, std::int64_t numerator, std::int64_t denominator) {
  CHECK(r.estimate == within(all.estimate, 1e-12));
  CHECK(r.standard_error == digits(all.se, 13));
  CHECK(r.exact);
  CHECK_FALSE(r.bias_correction.has_value());
  CHECK_FALSE(r.resamples.has_value());
  check_interval(r, all.interval(numerator, denominator));
}

/// α/2 as a ratio, so that the enumeration compares whole numbers; its level.
constexpr std::pair<std::int64_t, std::int64_t> half_alphas[] = {{1, 40}, {1, 20}, {1, 10}, {1, 4}, {1, 9}, {2, 5}};
ConfidenceLevel level_of(std::int64_t numerator, std::int64_t denominator) {
  return ConfidenceLevel{1 - 2 * static_cast<double>(numerator) / static_cast<double>(denominator)};
}

}  // namespace

TEST_CASE("bootstrap t: the interval of a mean equals an enumeration of all resamples, for 2 to 6 shots") {
  brute::Trials trials{6};
  for (std::size_t n = 2; n <= 6; ++n)
    for (const std::uint32_t span : {1U, 2U, 4U, 9U, 40U}) {
      const brute::Readings x = trials.readings(n, span);
      if (sample(x).all_equal()) continue;
      const AllT all = all_t(x);
      for (const auto& [p, q] : half_alphas) check_against(all, bootstrap_t(sample(x), level_of(p, q)), p, q);
    }
}

TEST_CASE("bootstrap t: the interval of a gap equals an enumeration of all pairs of resamples, for 2 to 5 shots") {
  brute::Trials trials{7};
  for (std::size_t n_a = 2; n_a <= 5; ++n_a)
    for (std::size_t n_b = 2; n_b <= 5; ++n_b)
      for (const std::uint32_t span : {0U, 1U, 3U, 20U}) {
        const brute::Readings a = trials.readings(n_a, span), b = trials.readings(n_b, 6);
        if (sample(a).all_equal() && sample(b).all_equal()) continue;
        const AllT all = all_t(a, b);
        for (const auto& [p, q] : half_alphas)
          check_against(all, bootstrap_t(sample(a), sample(b), level_of(p, q)), p, q);
      }
}

TEST_CASE("bootstrap t: with more pairs of states than are sorted at once the quantile is still the enumerated one") {
  // Seven readings of distinct differences: 1716 states each, three million pairs.
  const brute::Readings a{0, 1, 4, 10, 18, 23, 25}, b{7, 9, 12, 20, 33, 41, 46};
  const AllT all = all_t(a, b);
  for (const auto& [p, q] : half_alphas) check_against(all, bootstrap_t(sample(a), sample(b), level_of(p, q)), p, q);
}

TEST_CASE("bootstrap t: many pairs of states on few values of t* end at the enumerated value") {
  // Two values each: 256 × 256 resamples have few distinct t*, and some of the levels fall exactly on them.
  const brute::Readings a{270, 270, 271, 271}, b{271, 271, 272, 272};
  const AllT all = all_t(a, b);
  for (const auto& [p, q] : half_alphas) check_against(all, bootstrap_t(sample(a), sample(b), level_of(p, q)), p, q);
}

TEST_CASE("bootstrap t: three different readings of one mean have no finite limit at 95 %") {
  // 3 of 27 resamples show one value: t* = −∞ or +∞ for the lowest and the highest, 1/27 = 3.7 % each, above 2.5 %.
  const BootstrapResult r = bootstrap_t(sample({278, 280, 283}));
  CHECK(r.interval == Interval{-infinity, infinity});
  CHECK_FALSE(r.reason.has_value());
  // At 90 % the lower tail of 5 % holds {278 ×3} and {280 ×3}: 280 lies below the mean as well, 2/27 = 7.4 %.
  // The upper tail holds {283 ×3} alone: t* = +∞ for the top 3.7 %, so the lower limit is finite.
  const BootstrapResult r90 = bootstrap_t(sample({278, 280, 283}), ConfidenceLevel{0.90});
  CHECK(r90.interval->upper == infinity);
  CHECK(std::isfinite(r90.interval->lower));
  CHECK(r90.interval->lower < r90.estimate);
}

TEST_CASE("bootstrap t: a resample without scatter at the estimate itself has t* = 0") {
  // {279, 280, 281}: t* is −∞ (1/27), below 0 (9/27), 0 (7/27 with {280 ×3}), above 0 (9/27), +∞ (1/27).
  // P(t* < 0) = 10/27 = 0.370 and P(t* ≤ 0) = 17/27 = 0.630: at 10 % both quantiles, 0.45 and 0.55, are 0, and at 24 %
  // too, 0.38 and 0.62, where {280 ×3} counts; at 30 % the lower one, 0.35, is negative.
  const Sample x = sample({279, 280, 281});
  CHECK(bootstrap_t(x, ConfidenceLevel{0.10}).interval == Interval{280, 280});
  CHECK(bootstrap_t(x, ConfidenceLevel{0.24}).interval == Interval{280, 280});
  CHECK(bootstrap_t(x, ConfidenceLevel{0.30}).interval->upper > 280);
}

TEST_CASE("bootstrap t: the standard error has divisor n − 1 in each group") {
  // {0, 2}: s² = 2, s²/n = 1. {0, 0, 3}: s² = 3, s²/n = 1.
  CHECK(bootstrap_t(sample({0, 2})).standard_error == digits(1, 15));
  CHECK(bootstrap_t(sample({0, 2}), sample({0, 0, 3})).standard_error == digits(std::sqrt(2.0), 15));
  CHECK(bootstrap_t(decimal_sample({0, 2}, 1), decimal_sample({0, 0, 3}, 1)).standard_error ==
        digits(std::sqrt(2.0) / 10, 15));
}

TEST_CASE("bootstrap t: adding 7 to b adds 7 to both limits, exchanging the groups mirrors them") {
  const Sample a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 275, 279, 276}),
               c = sample({283, 281, 284, 282, 286, 283});
  const ConfidenceLevel level{0.9371};
  const BootstrapResult r = bootstrap_t(a, b, level), shifted = bootstrap_t(a, c, level),
                        swapped = bootstrap_t(b, a, level);
  check_interval(shifted, {r.interval->lower + 7, r.interval->upper + 7});
  check_interval(swapped, {-r.interval->upper, -r.interval->lower});
}

TEST_CASE("bootstrap t: beyond 13 shots the law in probabilities meets a sum over binomials") {
  // 16 readings, 6 of them one step higher: t* rises with the number k of high ones drawn, so its quantile belongs to
  // R's qbinom(c(.025, .975), 16, 6/16) = 2 10.
  std::vector<std::int64_t> x(16, 280);
  for (std::size_t i = 0; i < 6; ++i) x[i] = 281;
  const auto t = [](double k) { return (k - 6) / 16 / std::sqrt((k - k * k / 16) / 15 / 16); };
  const double se = std::sqrt((6 - 36 / 16.0) / 15 / 16);
  const BootstrapResult r = bootstrap_t(sample(x));
  check_interval(r, {280 + 6 / 16.0 - t(10) * se, 280 + 6 / 16.0 - t(2) * se});
}

TEST_CASE("bootstrap t: readings that are all equal have no standard error and no interval") {
  const Sample a = sample({271, 271, 271}), b = sample({274, 274}), c = sample({274, 275});
  for (const BootstrapResult& r : {bootstrap_t(a), bootstrap_t(a, b)}) {
    CHECK(r.standard_error == 0);
    CHECK(r.law_is_a_point);
    CHECK(r.reason == NoBootstrapInterval::law_is_a_point);
    CHECK_FALSE(r.interval.has_value());
  }
  CHECK(bootstrap_t(a, b).estimate == 3);
  CHECK(bootstrap_t(a, c).interval.has_value());
}

TEST_CASE("bootstrap t: mistakes are refused and a budget is kept before anything is built") {
  CHECK_THROWS_WITH_AS(bootstrap_t(sample({280})), "bootstrap_t: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_t(sample({280, 281}), sample({280})),
                       "bootstrap_t: needs 2 or more shots in a group, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_t(sample({280, 281}), decimal_sample({2801, 2813}, 1)),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  std::vector<std::int64_t> x;
  for (std::int64_t i = 0; i < 20; ++i) x.push_back(i * i * 1000);
  // Multisets of 20 readings of 20 kinds: C(39, 19) = 6.9e10.
  CHECK_THROWS_WITH_AS(bootstrap_t(sample(x)),
                       doctest::Contains("Monte Carlo with a stated number of resamples would fit, or as many readings "
                                         "that span at most "),
                       BudgetExceeded);
  CHECK_THROWS_WITH_AS(bootstrap_t(sample(x), sample(x)), doctest::Contains("bootstrap_t needs about "),
                       BudgetExceeded);
  const Sample a = sample({280, 290, 285}), b = sample({281, 284});
  const WorkCost one = bootstrap_t_cost(a), two = bootstrap_t_cost(a, b);
  const ConfidenceLevel level{0.95};
  CHECK_NOTHROW(bootstrap_t(a, level, {.operations = one.operations, .bytes = one.bytes}));
  CHECK_NOTHROW(bootstrap_t(a, b, level, {.operations = two.operations, .bytes = two.bytes}));
  CHECK_THROWS_AS(bootstrap_t(a, level, {.operations = one.operations - 1, .bytes = one.bytes}), BudgetExceeded);
  CHECK_THROWS_AS(bootstrap_t(a, b, level, {.operations = two.operations, .bytes = two.bytes - 1}), BudgetExceeded);
}

TEST_CASE("bootstrap t: the number of states is never above its bound") {
  brute::Trials trials{9};
  for (std::size_t n = 2; n <= 7; ++n)
    for (const std::uint32_t span : {0U, 1U, 2U, 3U, 6U, 15U, 1000U}) {
      const brute::Readings x = trials.readings(n, span);
      const Sample s = sample(x);
      CHECK(static_cast<double>(brute::sums_and_squares(x).size()) <=
            detail::scatter_states(static_cast<double>(n), static_cast<double>(s.span())));
    }
}
