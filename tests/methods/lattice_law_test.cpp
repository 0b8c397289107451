#include <doctest/doctest.h>

#include <cstddef>
#include <cstdint>
#include <vector>

#include <shotassay/methods/lattice_law.hpp>

#include "methods/bootstrap_brute_force.hpp"
#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

using namespace shotassay;

TEST_CASE("lattice law: two draws from {0, 1} give sums 0, 1, 2 in 1, 2, 1 of 4 resamples") {
  const DrawSumLaw law = draw_sum_law(sample({271, 272}));
  CHECK(law.weight == std::vector<double>{1, 2, 1});
  CHECK(law.total == 4);
}

TEST_CASE("lattice law: counts equal an enumeration of all resamples for 2 to 7 shots") {
  brute::Trials trials{11};
  for (std::size_t n = 2; n <= 7; ++n)
    for (const std::uint32_t span : {0U, 1U, 2U, 5U, 9U}) {
      const brute::Readings x = trials.readings(n, span);
      const Sample s = sample(x);
      std::vector<double> counts(n * static_cast<std::size_t>(s.span()) + 1, 0.0);
      brute::for_each_resample(x, [&](std::int64_t sum, std::int64_t) {
        counts[static_cast<std::size_t>(sum - static_cast<std::int64_t>(n) * s.low())] += 1;
      });
      CAPTURE(n);
      CAPTURE(span);
      CHECK(draw_sum_law(s).weight == counts);
    }
}

TEST_CASE("lattice law: three readings have 27 resamples, 10 of them different in sum") {
  const Published check{"boot-exact-3"};
  const DrawSumLaw law = draw_sum_law(check.readings("y"));
  CHECK(law.total == check.expected("resamples"));
  std::size_t distinct = 0;
  for (const double w : law.weight) distinct += w > 0;
  CHECK(static_cast<double>(distinct) == check.expected("distinct"));
  CHECK(law.weight.front() / law.total == check.expected("p_lowest"));
}

TEST_CASE("lattice law: the counts of 13 shots are whole and add up to 13^13 exactly") {
  const DrawSumLaw law = draw_sum_law(sample({0, 3, 3, 4, 5, 5, 6, 7, 7, 8, 10, 11, 16}));
  double sum = 0;
  for (const double w : law.weight) {
    CHECK(w == static_cast<double>(static_cast<std::int64_t>(w)));
    sum += w;
  }
  CHECK(law.total == 302875106592253.0);  // 13^13
  CHECK(sum == law.total);
}

TEST_CASE("lattice law: beyond 13 shots half low and half high readings follow the binomial law to 13 digits") {
  for (const std::int64_t n : {14, 15, 31, 64}) {
    std::vector<std::int64_t> x;
    for (std::int64_t i = 0; i < n; ++i) x.push_back(i < 3 ? 281 : 280);
    const DrawSumLaw law = draw_sum_law(sample(x));
    CHECK(law.total == 1);
    // P(k) = C(n, k) (3/n)^k (1 − 3/n)^(n−k), up by its ratio from k = 0.
    const long double p = 3.0L / static_cast<long double>(n);
    long double expected = 1;
    for (std::int64_t i = 0; i < n; ++i) expected *= 1 - p;
    for (std::int64_t k = 0; k <= n; ++k) {
      // Relative, so the far tail of 1e-90 counts as well.
      CHECK(law.weight[static_cast<std::size_t>(k)] == digits(static_cast<double>(expected), 13));
      expected *= static_cast<long double>(n - k) / static_cast<long double>(k + 1) * p / (1 - p);
    }
  }
}

TEST_CASE("lattice law: the cost counts the products of squaring") {
  // n = 2, R = 3: one squaring of 4 terms, 4·5/2 products, and 4 for each of the 7 sums.
  CHECK(draw_sum_cost(2, 3, 4).operations == 10 + 4 * 7);
  // n = 3: one more draw, 7 terms × 2 distinct readings, 10 sums.
  CHECK(draw_sum_cost(3, 3, 2).operations == 10 + 14 + 4 * 10);
  CHECK(draw_sum_cost(3, 3, 2).bytes == 3 * 8 * 10);
  CHECK(draw_sum_cost(30, 0, 1).operations < 200);
}
