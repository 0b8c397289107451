#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include <shotassay/methods/bootstrap_law.hpp>

#include "methods/bootstrap_brute_force.hpp"
#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

/// Key of the law for one of the brute-force counts: whole steps above the lowest readings, over L instead of n_a·n_b.
std::int64_t law_key(std::int64_t key, const brute::Counts& counts, const ResampledStatistic& s, std::int64_t offset) {
  const std::int64_t over = counts.denominator / s.steps_apart();
  return (key - offset * counts.denominator) / over;
}

/// C(n, k) p^k (1−p)^(n−k).
long double binomial(std::int64_t n, std::int64_t k, long double p) {
  return std::exp(std::lgamma(static_cast<long double>(n + 1)) - std::lgamma(static_cast<long double>(k + 1)) -
                  std::lgamma(static_cast<long double>(n - k + 1)) + static_cast<long double>(k) * std::log(p) +
                  static_cast<long double>(n - k) * std::log(1 - p));
}

}  // namespace

TEST_CASE("bootstrap law: both tails equal an enumeration of all pairs of resamples, for 2 to 5 shots") {
  brute::Trials trials{3};
  for (std::size_t n_a = 2; n_a <= 5; ++n_a)
    for (std::size_t n_b = 2; n_b <= 5; ++n_b)
      for (const std::uint32_t span : {0U, 1U, 3U, 8U}) {
        const brute::Readings a = trials.readings(n_a, span), b = trials.readings(n_b, 4);
        const brute::Counts counts = brute::gap_counts(a, b);
        const Sample x = sample(a), y = sample(b);
        const BootstrapLaw law{x, y};
        const ResampledStatistic& s = law.statistic();
        const std::int64_t offset = y.low() - x.low();
        CHECK(s.observed() == law_key(counts.observed, counts, s, offset));
        CHECK(s.lowest() == law_key(counts.of.begin()->first, counts, s, offset));
        CHECK(s.highest() == law_key(counts.of.rbegin()->first, counts, s, offset));
        const double total = static_cast<double>(counts.total);
        std::int64_t up_to = 0;
        for (const auto& [key, count] : counts.of) {
          up_to += count;
          const std::int64_t k = law_key(key, counts, s, offset);
          // Whole numbers below 2^53 over their total: equal to one rounding.
          CHECK(law.lower_tail(k) == digits(static_cast<double>(up_to) / total, 15));
          CHECK(law.upper_tail(k) == digits(static_cast<double>(counts.total - up_to) / total, 15));
          CHECK(s.in_unit(k) == digits(counts.value(key), 15));
        }
      }
}

TEST_CASE("bootstrap law: keys below the lowest and above the highest have tails 0 and 1") {
  const BootstrapLaw law{sample({278, 280, 283}), sample({279, 281})};
  const ResampledStatistic& s = law.statistic();
  CHECK(law.lower_tail(s.lowest() - 1) == 0);
  CHECK(law.upper_tail(s.lowest() - 1) == 1);
  CHECK(law.lower_tail(s.lowest()) > 0);
  CHECK(law.lower_tail(s.highest()) == 1);
  CHECK(law.upper_tail(s.highest()) == 0);
  CHECK(law.lower_tail(INT64_MIN) == 0);
  CHECK(law.upper_tail(INT64_MAX) == 0);
}

TEST_CASE("bootstrap law: with 15 and 20 shots on two adjacent values the gap is a difference of binomials") {
  // a: 5 of 15 high, b: 8 of 20 high; L = 60, key = 3·S_b − 4·S_a. Beyond 13 shots: probabilities in place of counts.
  std::vector<std::int64_t> a(15, 280), b(20, 280);
  for (std::size_t i = 0; i < 5; ++i) a[i] = 281;
  for (std::size_t i = 0; i < 8; ++i) b[i] = 281;
  const BootstrapLaw law{sample(a), sample(b)};
  CHECK(law.statistic().steps_apart() == 60);
  CHECK(law.statistic().observed() == 3 * 8 - 4 * 5);
  for (std::int64_t key = -60; key <= 60; ++key) {
    long double lower = 0, upper = 0;
    for (std::int64_t p = 0; p <= 15; ++p)
      for (std::int64_t q = 0; q <= 20; ++q)
        (3 * q - 4 * p <= key ? lower : upper) += binomial(15, p, 5 / 15.0L) * binomial(20, q, 8 / 20.0L);
    // lgamma of 21 in long double is good to about 16 digits here.
    CHECK(law.lower_tail(key) == digits(static_cast<double>(lower), 12));
    CHECK(law.upper_tail(key) == digits(static_cast<double>(upper), 12));
  }
}

TEST_CASE("bootstrap law: a quantile is the smallest key whose probability reaches p, at every p that occurs exactly") {
  const brute::Readings a{271, 273, 274, 270}, b{276, 274, 277, 275, 279};
  const brute::Counts counts = brute::gap_counts(a, b);
  const BootstrapLaw law{sample(a), sample(b)};
  const ResampledStatistic& s = law.statistic();
  const double total = static_cast<double>(counts.total);
  std::int64_t up_to = 0;
  for (const auto& [key, count] : counts.of) {
    const std::int64_t k = law_key(key, counts, s, 274 - 270);
    const double before = static_cast<double>(up_to) / total;
    up_to += count;
    const double p = static_cast<double>(up_to) / total;
    if (up_to == counts.total) break;
    CHECK(law.lower_quantile(p) == k);
    CHECK(law.lower_quantile(0.5 * (before + p)) == k);
    CHECK(law.upper_quantile(static_cast<double>(counts.total - up_to) / total) == k);
    CHECK(law.upper_quantile(1 - 0.5 * (before + p)) == k);
  }
}

TEST_CASE("bootstrap law: quantiles far in the tails are the ends of the law, not beyond them") {
  const BootstrapLaw law{sample({278, 280, 283}), sample({279, 281, 281})};
  const ResampledStatistic& s = law.statistic();
  // One pair of resamples in 27² is 1.4e-3 and above.
  for (const double p : {1e-4, 1e-12, 1e-15, 1e-300}) {
    CHECK(law.lower_quantile(p) == s.lowest());
    CHECK(law.upper_quantile(p) == s.highest());
  }
  // P(key* > key) ≤ 1 − tiny holds from the lowest key on: some probability lies on it.
  CHECK(law.upper_quantile(0.9999999) == s.lowest());
  CHECK(law.lower_quantile(0.9999999) == s.highest());
}

TEST_CASE("bootstrap law: its mean is the gap and its variance Σ(x−x̄)²/n² a group, to 13 digits") {
  brute::Trials trials{5};
  for (const auto& [n_a, n_b] : {std::pair<std::size_t, std::size_t>{5, 5}, {6, 9}, {10, 4}, {18, 23}}) {
    const BootstrapLaw law{sample(trials.readings(n_a, 9)), sample(trials.readings(n_b, 6))};
    const ResampledStatistic& s = law.statistic();
    // Mean and variance as sums of tails: Σ P(key* > k) and Σ (2k + 1)·P(key* > k), k counted from the lowest key.
    long double mean = 0, square = 0;
    for (std::int64_t k = 0; s.lowest() + k < s.highest(); ++k) {
      const long double tail = law.upper_tail(s.lowest() + k);
      mean += tail;
      square += static_cast<long double>(2 * k + 1) * tail;
    }
    const double observed = static_cast<double>(s.observed() - s.lowest());
    CHECK(static_cast<double>(mean) == digits(observed, 13));
    // Subtracting mean² costs the digits by which it exceeds the variance, here fewer than three of 16.
    CHECK(static_cast<double>(std::sqrt(square - mean * mean)) == digits(s.key_sd(), 13));
  }
}

TEST_CASE("bootstrap law: the far tail of 30 readings keeps its digits") {
  // One reading far out: the lowest sum has probability (1/30)^30 and must not drown in rounding.
  std::vector<std::int64_t> x;
  for (std::int64_t i = 0; i < 30; ++i) x.push_back(i == 0 ? 0 : 300 + i % 7);
  const BootstrapLaw law{sample(x)};
  CHECK(law.lower_tail(0) == digits(std::pow(1.0 / 30, 30), 13));
}

TEST_CASE("bootstrap law: a quantile far in the tail is found, not swallowed by the slack for ties") {
  std::vector<std::int64_t> x;
  for (std::int64_t i = 0; i < 30; ++i) x.push_back(i == 0 ? 0 : 300 + i % 7);
  const BootstrapLaw law{sample(x)};
  for (const double p : {1e-15, 1e-20, 1e-30}) {
    const std::int64_t low = law.lower_quantile(p);
    CHECK(law.lower_tail(low) >= p);
    CHECK(law.lower_tail(low - 1) < p);
    CHECK(low > law.statistic().lowest());
  }
}

TEST_CASE("bootstrap law: the cost is compared with the budget before anything is built") {
  const Sample wide = sample({0, 400'000, 900'000'000});
  // Some 4e17 products, ½·(9e8)²: were it built first, this test would not end.
  CHECK_THROWS_WITH_AS(
      BootstrapLaw{wide},
      doctest::Contains("bootstrap needs about 4.1e+17 operations and 6.2e+04 MiB; allowed are 1e+09 and "
                        "2.6e+02 MiB. Monte Carlo with a stated number of resamples would fit, or as "
                        "many readings that span at most "),
      BudgetExceeded);
  const Sample a = sample({280, 290, 285}), b = sample({281, 284});
  const WorkCost cost = bootstrap_law_cost(a, b);
  CHECK_NOTHROW(BootstrapLaw(a, b, {.operations = cost.operations, .bytes = cost.bytes}));
  CHECK_THROWS_AS(BootstrapLaw(a, b, {.operations = cost.operations - 1, .bytes = cost.bytes}), BudgetExceeded);
  CHECK_THROWS_AS(BootstrapLaw(a, b, {.operations = cost.operations, .bytes = cost.bytes - 1}), BudgetExceeded);
  CHECK(bootstrap_law_cost(a).operations < cost.operations);
}

TEST_CASE("bootstrap law: the span that is said to fit does fit, and one step more does not") {
  const WorkBudget budget{.operations = 1e5, .bytes = 1e6};
  std::string text;
  try {
    BootstrapLaw{sample({0, 5000, 10'000}), sample({0, 20, 30, 40}), budget};
  } catch (const BudgetExceeded& e) {
    text = e.what();
  }
  const std::string before = "span at most ";
  REQUIRE(text.find(before) != std::string::npos);
  const std::int64_t span = std::stoll(text.substr(text.find(before) + before.size()));
  const auto built = [&](std::int64_t r) {
    return BootstrapLaw{sample({0, 5, r}), sample({0, 20, 30, r}), budget}.statistic().steps_apart();
  };
  CHECK(built(span) == 12);
  CHECK_THROWS_AS(built(span + 1), BudgetExceeded);
}

TEST_CASE("bootstrap law: where no span fits, only Monte Carlo is offered") {
  CHECK_THROWS_WITH_AS(BootstrapLaw(sample({1, 9}), {.operations = 1, .bytes = 1}),
                       doctest::Contains("Monte Carlo with a stated number of resamples would fit."), BudgetExceeded);
}

TEST_CASE("bootstrap law: one shot, two display steps and keys beyond 62 bits are refused") {
  CHECK_THROWS_WITH_AS(BootstrapLaw{sample({280})}, "bootstrap: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS((BootstrapLaw{sample({280, 281}), sample({280})}),
                       "bootstrap: needs 2 or more shots in a group, got 1", DomainError);
  CHECK_THROWS_WITH_AS((BootstrapLaw{sample({280}), sample({280, 281})}),
                       "bootstrap: needs 2 or more shots in a group, got 1", DomainError);
  CHECK_THROWS_WITH_AS((BootstrapLaw{sample({280, 281}), decimal_sample({2801, 2813}, 1)}),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  std::vector<std::int64_t> a(31, 0), b(32, 0);
  a[0] = b[0] = 8'000'000'000'000'000;  // L = 992: keys up to 1.6e19
  CHECK_THROWS_WITH_AS(
      (ResampledStatistic{"bootstrap", sample(a), sample(b)}),
      "bootstrap: these shots and their span are too many for whole-number arithmetic, got 992 keys to a "
      "display step",
      DomainError);
}

TEST_CASE("bootstrap law: the acceleration of readings symmetric about their mean is exactly 0") {
  CHECK(ResampledStatistic("bootstrap", sample({277, 280, 283})).acceleration() == 0);
  CHECK(ResampledStatistic("bootstrap", sample({270, 270, 271, 271}), sample({277, 280, 283})).acceleration() == 0);
  // {0, 0, 3}: U = −1, −1, 2, ΣU² = 6, ΣU³ = 6; a = (6/27) / (6·(6/9)^{3/2}).
  CHECK(ResampledStatistic("bootstrap", sample({0, 0, 3})).acceleration() ==
        digits((6 / 27.0) / (6 * std::pow(6 / 9.0, 1.5)), 14));
}
