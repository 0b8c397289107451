#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/numerics/random.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

const ConfidenceLevel level95{0.95};

void check_same(const BootstrapResult& one, const BootstrapResult& other) {
  CHECK(one.estimate == other.estimate);
  CHECK(one.standard_error == other.standard_error);
  CHECK(one.interval == other.interval);
  CHECK(one.bias_correction == other.bias_correction);
  CHECK(one.lower_range == other.lower_range);
  CHECK(one.upper_range == other.upper_range);
  CHECK(one.resamples == other.resamples);
}

}  // namespace

TEST_CASE("bootstrap monte carlo: every drawn share is within 5 standard errors of the exact probability") {
  const Sample samples[] = {sample({271, 273, 274, 270, 272}), sample({276, 274, 277, 279}),
                            sample({280, 281, 280, 279, 280, 283, 280, 281, 280, 278, 281}), sample({270, 279, 272})};
  constexpr double resamples = 200'000;
  const auto compare = [](const BootstrapLaw& exact, const SampledBootstrapLaw& drawn) {
    CHECK(drawn.resamples() == 200'000);
    const ResampledStatistic& s = exact.statistic();
    for (std::int64_t key = s.lowest(); key < s.highest(); ++key) {
      const double p = exact.lower_tail(key);
      // Some 500 keys: 5 standard errors are left once in 3000 such tests; the seed is fixed. Half a resample for p ≈
      // 0.
      const double allowed = 5 * std::sqrt(p * (1 - p) / resamples) + 5 / resamples;
      CHECK(std::abs(drawn.lower_tail(key) - p) < allowed);
      CHECK(drawn.lower_tail(key) + drawn.upper_tail(key) == digits(1, 15));
    }
    CHECK(drawn.lower_tail(s.lowest() - 1) == 0);
    CHECK(drawn.upper_tail(s.highest()) == 0);
  };
  const Resampling how{.resamples = 200'000, .seed = 17, .threads = 2};
  for (const Sample& a : samples) {
    compare(BootstrapLaw{a}, SampledBootstrapLaw{a, how});
    for (const Sample& b : samples) compare(BootstrapLaw{a, b}, SampledBootstrapLaw{a, b, how});
  }
}

TEST_CASE("bootstrap monte carlo: two groups with the same readings are drawn independently") {
  const Sample a = sample({271, 273, 274, 270, 272});
  // Were the words shared, every resampled gap would be 0.
  const Interval drawn = *bootstrap_percentile(a, a, level95, Resampling{.resamples = 20'000}).interval;
  CHECK(drawn.lower < -1);
  CHECK(drawn.upper > 1);
}

TEST_CASE("bootstrap monte carlo: the limits' ranges hold the exact limits, 95 times in 100 or more") {
  const Sample a = sample({2712, 2731, 2740, 2705, 2722, 2768}), b = sample({2760, 2743, 2771, 2792, 2758});
  const ConfidenceLevel level{0.9};
  const BootstrapResult exact[] = {bootstrap_percentile(a, b, level), bootstrap_basic(a, b, level),
                                   bootstrap_bca(a, b, level), bootstrap_t(a, b, level)};
  constexpr int seeds = 200;
  int held[4][2] = {};
  for (int seed = 1; seed <= seeds; ++seed) {
    const Resampling how{.resamples = 2000, .seed = static_cast<std::uint64_t>(seed)};
    const BootstrapResult drawn[] = {bootstrap_percentile(a, b, level, how), bootstrap_basic(a, b, level, how),
                                     bootstrap_bca(a, b, level, how), bootstrap_t(a, b, level, how)};
    for (int m = 0; m < 4; ++m) {
      held[m][0] += drawn[m].lower_range->contains(exact[m].interval->lower);
      held[m][1] += drawn[m].upper_range->contains(exact[m].interval->upper);
      CHECK(drawn[m].lower_range->contains(drawn[m].interval->lower));
      CHECK(drawn[m].upper_range->contains(drawn[m].interval->upper));
      CHECK(drawn[m].lower_range->half_width() > 0);
      CHECK_FALSE(drawn[m].exact);
      CHECK(drawn[m].resamples == 2000);
      CHECK(drawn[m].estimate == exact[m].estimate);
      CHECK(drawn[m].standard_error == exact[m].standard_error);
    }
  }
  // 0.95·200 = 190 less 4 standard errors of √(200·0.95·0.05) = 3.1.
  for (const auto& limits : held)
    for (const int count : limits) CHECK(count >= 177);
}

TEST_CASE("bootstrap monte carlo: BCa limits vary from seed to seed as much as their ranges say") {
  // SD of the level the lower limit stands at, over seeds, against the noise that widens the range.
  const Sample a = sample({2712, 2731, 2740, 2705, 2722, 2768, 2850}), b = sample({2760, 2743, 2771, 2792, 2758});
  const BootstrapLaw law{a, b};
  const ConfidenceLevel level{0.8};
  double sum = 0, squares = 0, range = 0;
  constexpr int seeds = 200;
  for (int seed = 1; seed <= seeds; ++seed) {
    const BootstrapResult r = bootstrap_bca(a, b, level, {.resamples = 2000, .seed = static_cast<std::uint64_t>(seed)});
    const auto at = [&](double limit) {
      return law.lower_tail(law.statistic().observed() +
                            static_cast<std::int64_t>(std::llround(
                                (limit - r.estimate) * static_cast<double>(law.statistic().steps_apart()))));
    };
    const double p = at(r.interval->lower);
    sum += p;
    squares += p * p;
    range += at(r.lower_range->upper) - at(r.lower_range->lower);
  }
  const double sd = std::sqrt(squares / seeds - sum * sum / seeds / seeds);
  // The range is 2 × 1.96 standard errors wide, and the SD of 200 seeds is known to 5 %.
  CHECK(range / seeds == within(2 * 1.96 * sd, 0.2 * 2 * 1.96 * sd));
}

TEST_CASE("bootstrap monte carlo: 1, 2 and 7 threads give the same result, another seed another") {
  const Sample a = sample({2712, 2731, 2740, 2705, 2722, 2768}), b = sample({2760, 2743, 2771, 2792, 2758});
  const Resampling one{.resamples = 5001, .seed = 3, .threads = 1};
  for (const unsigned threads : {2U, 7U}) {
    const Resampling many{.resamples = 5001, .seed = 3, .threads = threads};
    check_same(bootstrap_percentile(a, level95, one), bootstrap_percentile(a, level95, many));
    check_same(bootstrap_percentile(a, b, level95, one), bootstrap_percentile(a, b, level95, many));
    check_same(bootstrap_basic(a, level95, one), bootstrap_basic(a, level95, many));
    check_same(bootstrap_basic(a, b, level95, one), bootstrap_basic(a, b, level95, many));
    check_same(bootstrap_bca(a, level95, one), bootstrap_bca(a, level95, many));
    check_same(bootstrap_bca(a, b, level95, one), bootstrap_bca(a, b, level95, many));
    check_same(bootstrap_t(a, level95, one), bootstrap_t(a, level95, many));
    check_same(bootstrap_t(a, b, level95, one), bootstrap_t(a, b, level95, many));
  }
  const ResampledStatistic s{"bootstrap", a, b};
  CHECK(detail::drawn_keys("bootstrap", s, &a, b, one) ==
        detail::drawn_keys("bootstrap", s, &a, b, {.resamples = 5001, .seed = 3, .threads = 7}));
  CHECK(detail::drawn_keys("bootstrap", s, &a, b, one) !=
        detail::drawn_keys("bootstrap", s, &a, b, {.resamples = 5001, .seed = 4, .threads = 1}));
  // More resamples keep those drawn before.
  const auto more = detail::drawn_keys("bootstrap", s, &a, b, {.resamples = 6000, .seed = 3, .threads = 2});
  const auto fewer = detail::drawn_keys("bootstrap", s, &a, b, one);
  CHECK(std::equal(fewer.begin(), fewer.end(), more.begin()));
}

TEST_CASE("bootstrap monte carlo: each reading of 2 to 40 is drawn equally often") {
  // One reading is 1 and the others 0, so the key tells how often that one was drawn.
  for (const std::size_t n : {2U, 3U, 5U, 7U, 16U, 40U}) {
    double pulls = 0;
    std::vector<double> drawn(n, 0);
    for (std::size_t i = 0; i < n; ++i) {
      std::vector<std::int64_t> x(n, 0);
      x[i] = 1;
      const Sample one_marked = sample(x);
      const ResampledStatistic s{"bootstrap", one_marked};
      for (const std::int64_t count : detail::drawn_keys("bootstrap", s, nullptr, one_marked, {.resamples = 20'000}))
        drawn[i] += static_cast<double>(count);
      pulls += drawn[i];
    }
    // The same words each time, so the n counts add up to all draws.
    CHECK(pulls == 20'000.0 * static_cast<double>(n));
    const double p = 1 / static_cast<double>(n), sd = std::sqrt(pulls * p * (1 - p));
    for (const double count : drawn) CHECK(std::abs(count - pulls * p) < 5 * sd);
  }
}

TEST_CASE("bootstrap monte carlo: the draws of a word are the digits of one bounded whole number") {
  // k draws from n readings share one number below n^k ≤ 2^28; the last number of a resample may be used in part.
  for (const auto& [n, k] : {std::pair<std::uint32_t, int>{2, 28}, {3, 17}, {5, 12}, {10, 8}, {40, 5}, {700, 2}}) {
    std::vector<std::int64_t> x;
    for (std::uint32_t i = 0; i < n; ++i) x.push_back(std::int64_t{i} * i);
    std::uint32_t outcomes = 1;
    for (int i = 0; i < k; ++i) outcomes *= n;
    const Sample readings = sample(x);
    const auto keys = detail::drawn_keys("bootstrap", ResampledStatistic{"bootstrap", readings}, nullptr, readings,
                                         {.resamples = 1000, .seed = 0x1234567890ULL});
    for (std::uint64_t r = 0; r < keys.size(); ++r) {
      numerics::ReplicateStream words{0x1234567890ULL, r, numerics::RandomPurpose::bootstrap_to};
      std::int64_t sum = 0;
      for (std::uint32_t left = n; left > 0;) {
        std::uint32_t number = words.below(outcomes);
        for (std::uint32_t place = outcomes / n; place > 0 && left > 0; place /= n, --left) {
          sum += x[number / place];
          number %= place;
        }
      }
      CHECK(keys[r] == sum);
    }
  }
}

TEST_CASE("bootstrap monte carlo: quantiles and ranges of sorted values by rank") {
  std::vector<int> values;
  for (int i = 1000; i > 0; --i) values.push_back(i);
  const SortedResamples<int> s{values, -5, 2000};
  CHECK(s.count() == 1000);
  CHECK(s.lower_quantile(0.025) == 25);
  CHECK(s.lower_quantile(0.0251) == 26);
  CHECK(s.upper_quantile(0.025) == 975);
  CHECK(s.upper_quantile(0.0249) == 976);
  CHECK(s.lower_quantile(1e-9) == 1);
  CHECK(s.upper_quantile(1e-9) == 1000);
  CHECK(s.upper_quantile(0.99999) == 1);
  CHECK(s.lower_tail(250) == 0.25);
  CHECK(s.upper_tail(250) == 0.75);
  // 1.959964·√(0.025·0.975·1000) = 9.6765…: ranks ⌊15.3⌋ and ⌈34.7⌉ + 1
  CHECK(s.range(0.025, std::sqrt(0.025 * 0.975)) == std::pair{15, 36});
  // ranks below 1 and above 1000 are the ends of the law
  CHECK(s.range(0.001, std::sqrt(0.001 * 0.999)) == std::pair{-5, 4});
  CHECK(s.range(0.999, std::sqrt(0.001 * 0.999)) == std::pair{997, 2000});
}

TEST_CASE("bootstrap monte carlo: whole numbers that are counted come out as those that are compared") {
  // The same values, for limits near enough to count them and too far; the negatives, ties and both ends are among
  // them.
  std::vector<std::int64_t> values;
  for (std::int64_t i = 0; i < 1000; ++i) values.push_back(i * i % 37 - 20);
  values[3] = -21;
  values[900] = 978;
  const SortedResamples<std::int64_t> counted{values, -21, 978}, compared{values, -22, 978};
  std::sort(values.begin(), values.end());
  for (std::size_t rank = 1; rank <= values.size(); ++rank) {
    const double p = static_cast<double>(rank) / 1000;
    CHECK(counted.lower_quantile(p) == values[rank - 1]);
    CHECK(compared.lower_quantile(p) == values[rank - 1]);
  }
}

TEST_CASE("bootstrap monte carlo: the studentised interval of three readings has no finite limit here either") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  const BootstrapResult r = bootstrap_t(sample({278, 280, 283}), level95, Resampling{.resamples = 10'000});
  CHECK(r.interval == Interval{-infinity, infinity});
}

TEST_CASE("bootstrap monte carlo: readings that are all equal give no interval") {
  const Sample a = sample({271, 271, 271}), b = sample({274, 274});
  const Resampling how{.resamples = 1000};
  for (const BootstrapResult& r : {bootstrap_percentile(a, level95, how), bootstrap_basic(a, b, level95, how),
                                   bootstrap_bca(a, b, level95, how), bootstrap_t(a, b, level95, how)}) {
    CHECK_FALSE(r.interval.has_value());
    CHECK_FALSE(r.lower_range.has_value());
    CHECK(r.reason == NoBootstrapInterval::law_is_a_point);
    CHECK_FALSE(r.exact);
  }
}

TEST_CASE("bootstrap monte carlo: a span far over any exact budget is answered") {
  const Sample wide = sample({0, 400'000'000, 900'000'000'000, 7});
  CHECK_THROWS_AS(bootstrap_percentile(wide), BudgetExceeded);
  const BootstrapResult r = bootstrap_percentile(wide, level95, Resampling{.resamples = 10'000});
  REQUIRE(r.interval.has_value());
  // All four draws below the wide one: (3/4)^4 = 0.32, so the lower limit is among them; the upper has two to four wide
  // ones.
  CHECK(r.interval->lower < 4e8 + 1);
  CHECK(r.interval->upper > 4e11);
  CHECK(bootstrap_t(wide, wide, level95, Resampling{.resamples = 1000}).interval.has_value());
}

TEST_CASE("bootstrap monte carlo: too few or too many resamples and no thread are refused, in the method's name") {
  const Sample a = sample({280, 281}), one = sample({280});
  CHECK_THROWS_WITH_AS(bootstrap_percentile(a, level95, Resampling{.resamples = 999}),
                       "bootstrap_percentile: resamples must be 1000 to 100000000, got 999", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_basic(a, a, level95, Resampling{.resamples = 100'000'001}),
                       "bootstrap_basic: resamples must be 1000 to 100000000, got 100000001", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_bca(a, level95, Resampling{.resamples = 0}),
                       "bootstrap_bca: resamples must be 1000 to 100000000, got 0", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_t(a, level95, Resampling{.resamples = 1000, .threads = 0}),
                       "bootstrap_t: threads must be 1 or more, got 0", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_t(a, one, level95, Resampling{.resamples = 1000}),
                       "bootstrap_t: needs 2 or more shots in a group, got 1", DomainError);
  CHECK_THROWS_WITH_AS(bootstrap_bca(one, level95, Resampling{.resamples = 1000}),
                       "bootstrap_bca: needs 2 or more shots, got 1", DomainError);
}
