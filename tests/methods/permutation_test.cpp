#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <map>
#include <numeric>
#include <random>
#include <set>
#include <vector>

#include <shotassay/methods/permutation.hpp>

#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

using Readings = std::vector<std::int64_t>;

/// Every way to deal the pooled readings into groups of n_a and n_b, with the readings multiplied by `scale` and each
/// reading of b lowered by `shift` (in scaled units) first: how many have n_a·n_b·gap ≥, ≤ and |·| ≥ the observed one.
struct Counts {
  int all = 0, at_least = 0, at_most = 0, both = 0;
};

Counts enumerate(const Readings& a, const Readings& b, std::int64_t scale = 1, std::int64_t shift = 0) {
  Readings pool;
  for (const auto x : a) pool.push_back(x * scale);
  for (const auto x : b) pool.push_back(x * scale - shift);
  const auto n = pool.size(), n_a = a.size();
  const auto gap = [&](unsigned in_a) {
    std::int64_t sum_a = 0, sum_b = 0;
    for (std::size_t i = 0; i < n; ++i) ((in_a >> i) & 1U ? sum_a : sum_b) += pool[i];
    return sum_b * static_cast<std::int64_t>(n_a) - sum_a * static_cast<std::int64_t>(n - n_a);
  };
  const std::int64_t observed = gap((1U << n_a) - 1);
  Counts c;
  for (unsigned in_a = 0; in_a < (1U << n); ++in_a) {
    if (static_cast<std::size_t>(std::popcount(in_a)) != n_a) continue;
    const std::int64_t g = gap(in_a);
    ++c.all;
    c.at_least += g >= observed;
    c.at_most += g <= observed;
    c.both += std::abs(g) >= std::abs(observed);
  }
  return c;
}

/// Limits by trying every fraction m/j, j up to the smaller group, in the scale of lcm(1 … j) parts of a step.
/// p is a step function of the gap that jumps at those fractions only, and holds at the jump itself.
struct Limits {
  std::int64_t lower, upper;  ///< in 60ths of a step
  bool bounded;
};
constexpr std::int64_t parts = 60;  // divisible by 1 … 5

Limits limits_by_trial(const Readings& a, const Readings& b, double half_alpha) {
  const auto [a_low, a_high] = std::minmax_element(a.begin(), a.end());
  const auto [b_low, b_high] = std::minmax_element(b.begin(), b.end());
  std::set<std::int64_t> candidates;
  for (std::int64_t j = 1; j <= static_cast<std::int64_t>(std::min(a.size(), b.size())); ++j)
    for (std::int64_t m = j * (*b_low - *a_high - 1); m <= j * (*b_high - *a_low + 1); ++m)
      candidates.insert(parts / j * m);
  Limits found{0, 0, false};
  const double edge = half_alpha + 1e-12;
  bool any = false;
  for (const auto c : candidates) {
    const Counts n = enumerate(a, b, parts, c);
    const bool inside = n.at_least > edge * n.all && n.at_most > edge * n.all;
    if (inside && !any) found.lower = c;
    if (inside) found.upper = c;
    any = any || inside;
  }
  found.bounded = 1.0 <= edge * enumerate(a, b).all;
  return found;
}

/// Number of k-subsets of the pooled readings by sum, the textbook recurrence over one common lattice: a second
/// method for more shots than enumeration can take.
std::map<std::int64_t, double> pooled_subset_sums(const Readings& pool, std::size_t k) {
  std::vector<std::map<std::int64_t, double>> rows(k + 1);
  rows[0][0] = 1.0;
  for (const auto v : pool)
    for (std::size_t j = k; j >= 1; --j)
      for (const auto& [s, count] : rows[j - 1]) rows[j][s + v] += count;
  return rows[k];
}

Readings random_readings(std::mt19937& words, std::size_t n, std::int64_t low, unsigned span) {
  Readings r(n);
  for (auto& x : r) x = low + static_cast<std::int64_t>(words() % (span + 1));
  return r;
}

}  // namespace

TEST_CASE("permutation: {1,2,3} against {4,5,6} has p = 2/20, exactly") {
  const auto r = permutation(sample({1, 2, 3}), sample({4, 5, 6}));
  CHECK(r.difference == 3.0);
  CHECK(r.arrangements == 20.0);
  CHECK(r.p_two_sided == 2.0 / 20.0);
  CHECK(r.p_greater == 1.0 / 20.0);
  CHECK(r.p_less == 1.0);
  CHECK(r.smallest_p == 1.0 / 20.0);
  CHECK(r.exact);
}

TEST_CASE("permutation: tomato plants of Box, Hunter and Hunter have 154 of 462 arrangements as large") {
  const Published check{"bhh-tomato"};
  // Printed as x less y, ours is b against a: a is y.
  const auto r = permutation(check.readings("y"), check.readings("x"));
  CHECK(r.difference == check.expected("diff"));
  CHECK(r.arrangements == check.expected("total"));
  CHECK(r.p_greater * r.arrangements == within(check.value("ge"), 1e-10));  // a whole number through one division
  CHECK(r.p_greater == check.expected("p_greater"));
}

TEST_CASE("permutation: mice of Efron and Tibshirani have 1613 of 11440 arrangements as large") {
  // Published as treatment less control, ours is b against a: control is a.
  const Published check{"efron-mouse"};
  const auto r = permutation(check.readings("y"), check.readings("x"));
  CHECK(r.difference == check.expected("diff"));
  CHECK(r.arrangements == check.expected("perm_total"));
  CHECK(r.p_greater == check.expected("perm_p_greater"));
  CHECK(r.p_greater == check.value("perm_count_ge") / check.value("perm_total"));
}

TEST_CASE("permutation: fifty random pairs agree with R's full enumeration") {
  // Rscript permutation.R --seed=1 (R 4.2.2): combn over all arrangements, p confirmed there by two R packages.
  // x, y, arrangements, those with mean x − mean y ≥, ≤ and |·| ≥ the observed one.
  struct Case {
    Readings x, y;
    double all, at_least, at_most, both;
  };
  // clang-format off
  const std::vector<Case> cases = {
    {{268, 279}, {274, 275, 275, 272, 277}, 21, 15, 9, 17},
    {{284, 287, 284}, {282, 279, 286}, 20, 4, 18, 8},
    {{229, 228, 229, 227, 236, 235, 231}, {239, 230, 233, 233, 234, 232, 227, 229}, 6435, 5099, 1622, 3102},
    {{277, 278}, {277, 278, 280, 276}, 15, 10, 9, 15},
    {{243, 242, 243, 243}, {240, 239, 240, 239, 241, 240}, 210, 1, 210, 1},
    {{246, 246, 247, 246, 246, 245, 246, 246}, {242, 245, 242}, 165, 2, 165, 2},
    {{325, 329}, {334, 332, 337}, 10, 10, 1, 1},
    {{239, 238, 243, 237, 240}, {239, 239, 239}, 56, 29, 35, 49},
    {{218, 215, 216, 219}, {214, 215, 217, 217}, 70, 15, 62, 30},
    {{290, 293, 290}, {296, 286, 281, 291, 287, 278}, 84, 15, 73, 29},
    {{207, 209, 206, 205, 206}, {209, 207}, 21, 20, 5, 10},
    {{295, 295, 296, 295, 295, 296}, {299, 298, 299, 298, 299, 300, 298, 303}, 3003, 3003, 1, 1},
    {{217, 216, 217, 221, 220, 222}, {219, 214, 223}, 84, 43, 49, 84},
    {{330, 331, 329, 328, 329}, {329, 328, 328, 328}, 126, 13, 125, 16},
    {{240, 244, 246, 245, 244, 244, 241, 244}, {243, 240, 242, 245, 243, 243, 243}, 6435, 1580, 5382, 3089},
    {{240, 252, 246, 247}, {250, 250, 245, 242, 246, 249, 244}, 330, 195, 158, 311},
    {{250, 252, 249}, {249, 248}, 10, 2, 10, 3},
    {{236, 237}, {240, 241, 242, 240, 240, 241, 242, 240}, 45, 45, 1, 1},
    {{294, 294, 293, 295, 295, 293}, {298, 300, 302, 301, 301, 301, 300}, 1716, 1716, 1, 1},
    {{289, 290}, {294, 293, 293, 292, 293}, 21, 21, 1, 1},
    {{182, 182, 181, 184, 183, 182}, {187, 187, 186, 186, 186, 186, 187, 186}, 3003, 3003, 1, 1},
    {{328, 330, 333, 329, 326, 329}, {328, 329, 328}, 84, 31, 65, 53},
    {{300, 298, 302, 300, 299}, {304, 306, 305, 304}, 126, 126, 1, 2},
    {{200, 200, 200, 201, 200, 200, 201, 201}, {204, 202, 201}, 165, 165, 4, 4},
    {{315, 314, 317, 315}, {314, 312, 320, 316}, 70, 42, 35, 70},
    {{292, 289, 287, 292, 301, 294}, {292, 287, 305, 292, 292, 286, 292}, 1716, 852, 930, 1649},
    {{301, 301}, {304, 304, 305, 301, 304, 307}, 28, 28, 3, 4},
    {{221, 217}, {223, 223, 223, 222, 226, 221, 223, 219}, 45, 44, 3, 3},
    {{235, 243, 240}, {248, 244, 242, 247, 242, 243}, 84, 82, 4, 7},
    {{309, 306, 307, 302}, {304, 299, 316}, 35, 20, 17, 34},
    {{200, 199, 201}, {208, 207, 204}, 20, 20, 1, 2},
    {{292, 295, 291, 290, 295}, {293, 295, 292, 295, 292, 293, 293, 295}, 1287, 1104, 306, 537},
    {{255, 254, 254}, {256, 256, 255, 255, 255, 256, 257, 256}, 165, 165, 4, 4},
    {{220, 222, 220, 220, 214, 220, 220, 217}, {225, 215, 222, 223, 221, 219}, 3003, 2614, 523, 1008},
    {{227, 230, 230, 231}, {228, 225, 230}, 35, 8, 31, 12},
    {{270, 273, 270, 271, 271, 273, 272, 270}, {275, 272, 270, 270, 274, 269, 276}, 6435, 5496, 1342, 2572},
    {{280, 280, 280, 283, 279, 281}, {279, 289, 284, 272, 283, 283, 280}, 1716, 1179, 624, 1247},
    {{262, 263, 262, 261}, {259, 259}, 15, 1, 15, 1},
    {{205, 204, 205}, {201, 200, 202}, 20, 1, 20, 2},
    {{190, 189, 189, 191, 191}, {193, 196, 194, 195, 195, 195}, 462, 462, 1, 1},
    {{328, 326, 326, 327, 326, 327, 326, 326}, {327, 326, 323, 325, 326, 323}, 3003, 133, 2968, 154},
    {{223, 219, 222, 230, 228, 223, 238, 233}, {209, 229}, 45, 6, 40, 10},
    {{273, 271, 274, 271}, {269, 270, 268}, 35, 1, 35, 1},
    {{306, 306, 305, 304, 304, 306, 304}, {306, 306, 306, 307, 307, 306, 307}, 3432, 3432, 35, 70},
    {{229, 226, 230, 224, 230, 230, 224, 221}, {229, 229}, 45, 33, 15, 24},
    {{252, 251, 251, 250, 253, 250}, {255, 254, 252}, 84, 83, 3, 5},
    {{284, 283, 285, 284, 284, 284, 283, 283}, {284, 285, 284, 285, 282, 285, 283}, 6435, 5056, 2627, 5059},
    {{210, 211, 212, 211, 209, 213, 210}, {210, 217, 213, 212, 214}, 792, 774, 39, 61},
    {{245, 246, 247, 245, 242, 246, 247, 242}, {239, 242, 240}, 165, 3, 165, 3},
    {{227, 231, 226, 224, 231}, {221, 219}, 21, 1, 21, 1},
  };
  // clang-format on
  REQUIRE(cases.size() == 50);
  for (const auto& c : cases) {
    CAPTURE(c.x);
    CAPTURE(c.y);
    const auto r = permutation(sample(c.y), sample(c.x));  // b against a is x against y
    CHECK(r.arrangements == c.all);
    CHECK(r.p_greater == c.at_least / c.all);
    CHECK(r.p_less == c.at_most / c.all);
    CHECK(r.p_two_sided == c.both / c.all);
  }
}

TEST_CASE("permutation: p-values of all small set-ups are those of full enumeration") {
  std::mt19937 words{1};  // the sequence of mt19937 is fixed by the standard
  for (std::size_t n_a = 1; n_a <= 5; ++n_a)
    for (std::size_t n_b = 1; n_b <= 5; ++n_b)
      for (int repeat = 0; repeat < 40; ++repeat) {
        const auto a = random_readings(words, n_a, 0, 1 + static_cast<unsigned>(repeat) % 9);
        const auto b = random_readings(words, n_b, static_cast<std::int64_t>(words() % 9) - 4, 6);
        CAPTURE(a);
        CAPTURE(b);
        const Counts c = enumerate(a, b);
        const auto r = permutation(sample(a), sample(b));
        CHECK(r.arrangements == c.all);
        CHECK(r.p_greater == static_cast<double>(c.at_least) / c.all);
        CHECK(r.p_less == static_cast<double>(c.at_most) / c.all);
        CHECK(r.p_two_sided == static_cast<double>(c.both) / c.all);
      }
}

TEST_CASE("permutation: intervals of all small set-ups are those found by trying every fraction m/j") {
  std::mt19937 words{2};
  for (std::size_t n_a = 1; n_a <= 5; ++n_a)
    for (std::size_t n_b = 1; n_b <= 5; ++n_b)
      for (const double level : {0.5, 0.8, 0.9, 0.95}) {
        const auto a = random_readings(words, n_a, 0, 4);
        const auto b = random_readings(words, n_b, static_cast<std::int64_t>(words() % 7) - 3, 3);
        if (sample(a).all_equal() && sample(b).all_equal()) continue;
        CAPTURE(a);
        CAPTURE(b);
        CAPTURE(level);
        const Limits expected = limits_by_trial(a, b, 0.5 * (1.0 - level));
        const auto r = permutation(sample(a), sample(b), ConfidenceLevel{level});
        REQUIRE(r.interval.has_value() == expected.bounded);
        if (!expected.bounded) continue;
        // m/j and its 60ths are both the nearest double of one rational number.
        CHECK(r.interval->lower == static_cast<double>(expected.lower) / parts);
        CHECK(r.interval->upper == static_cast<double>(expected.upper) / parts);
      }
}

TEST_CASE("permutation: at a limit p exceeds α/2, just outside it does not") {
  // Shifting b by a whole number of 1/840 steps on a display of 840 times finer steps: 840 is divisible by 1 … 8.
  std::mt19937 words{3};
  for (int repeat = 0; repeat < 6; ++repeat) {
    const auto a = random_readings(words, 7, 0, 6), b = random_readings(words, 8, 2, 7);
    const auto r = permutation(sample(a), sample(b));
    REQUIRE(r.interval.has_value());
    const auto finer_p = [&](std::int64_t shift) {
      Readings fine_a, fine_b;
      for (const auto x : a) fine_a.push_back(840 * x);
      for (const auto x : b) fine_b.push_back(840 * x - shift);
      return permutation(sample(fine_a), sample(fine_b));
    };
    const auto lower = std::llround(840 * r.interval->lower), upper = std::llround(840 * r.interval->upper);
    CHECK(finer_p(lower).p_greater > 0.025);
    CHECK(finer_p(lower - 1).p_greater <= 0.025);
    CHECK(finer_p(upper).p_less > 0.025);
    CHECK(finer_p(upper + 1).p_less <= 0.025);
  }
}

TEST_CASE("permutation: counts agree with the pooled subset-sum recurrence at 12 + 16 shots") {
  std::mt19937 words{4};
  const auto a = random_readings(words, 12, 270, 9), b = random_readings(words, 16, 272, 8);
  Readings pool = a;
  pool.insert(pool.end(), b.begin(), b.end());
  const auto observed = std::accumulate(a.begin(), a.end(), std::int64_t{0});
  const auto total = std::accumulate(pool.begin(), pool.end(), std::int64_t{0});
  // N·s − k·T: the deviation of a's sum, as a whole number; a small sum of a is a large gap.
  const auto deviation = [&](std::int64_t s) { return 28 * s - 12 * total; };
  double all = 0, at_least = 0, at_most = 0, both = 0;
  for (const auto& [s, count] : pooled_subset_sums(pool, 12)) {
    all += count;
    if (s <= observed) at_least += count;
    if (s >= observed) at_most += count;
    if (std::abs(deviation(s)) >= std::abs(deviation(observed))) both += count;
  }
  const auto r = permutation(sample(a), sample(b));
  CHECK(all == 30421755.0);  // 28!/(12!·16!)
  CHECK(r.arrangements == all);
  CHECK(r.p_greater == at_least / all);
  CHECK(r.p_less == at_most / all);
  CHECK(r.p_two_sided == both / all);
}

TEST_CASE("permutation: the tables of two set-ups hold every arrangement once") {
  // Vandermonde: Σ_j C(n_a, j)·C(n_b, j) = C(n_a + n_b, n_a), so the row sums must give C(N, n_a).
  const auto a = sample({3, 1, 4, 1, 5, 9}), b = sample({2, 6, 5, 3});
  const detail::SubsetSums of_a{a, 4}, of_b{b, 4};
  const double binomial_a[] = {1, 6, 15, 20, 15}, binomial_b[] = {1, 4, 6, 4, 1};
  double all = 0;
  for (std::size_t j = 0; j <= 4; ++j) {
    CHECK(of_a.cumulative(j).back() == binomial_a[j]);
    CHECK(of_b.cumulative(j).back() == binomial_b[j]);
    all += of_a.cumulative(j).back() * of_b.cumulative(j).back();
  }
  CHECK(all == 210.0);
  CHECK(detail::combinations(10, 6) == 210.0);
  CHECK(detail::combinations(56, 28) == 7648690600760440.0);  // 56!/28!², below 2^53
}

TEST_CASE("permutation: p_greater and p_less add to 1 plus the share of ties") {
  std::mt19937 words{5};
  for (int repeat = 0; repeat < 20; ++repeat) {
    const auto a = random_readings(words, 5, 0, 5), b = random_readings(words, 4, 1, 4);
    const Counts c = enumerate(a, b);
    const auto r = permutation(sample(a), sample(b));
    const int ties = c.at_least + c.at_most - c.all;
    CHECK(ties >= 1);
    CHECK(r.p_greater + r.p_less == within(1.0 + static_cast<double>(ties) / c.all, 4e-16));
  }
}

TEST_CASE("permutation: shifting every reading, or b alone, moves nothing but the gap") {
  const Readings a{271, 273, 274, 270, 272}, b{276, 274, 277, 275, 279, 273};
  const auto plain = permutation(sample(a), sample(b));
  const auto moved = [](Readings x, std::int64_t by) {
    for (auto& v : x) v += by;
    return sample(x);
  };
  const auto together = permutation(moved(a, -4000000000000), moved(b, -4000000000000));
  CHECK(together.p_two_sided == plain.p_two_sided);
  CHECK(together.p_greater == plain.p_greater);
  CHECK(together.interval == plain.interval);
  const auto alone = permutation(sample(a), moved(b, 60));  // limits are multiples of 1/60
  CHECK(alone.p_greater == plain.smallest_p);
  CHECK(alone.interval->lower == digits(plain.interval->lower + 60, 15));
  CHECK(alone.interval->upper == digits(plain.interval->upper + 60, 15));
  const auto far = permutation(sample(a), moved(b, 4000000000000000));
  CHECK(far.p_less == 1.0);
  CHECK(far.p_greater == plain.smallest_p);
}

TEST_CASE("permutation: swapping the set-ups swaps the sides and turns the interval") {
  const auto a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 275, 279, 273, 274});
  const auto ab = permutation(a, b, ConfidenceLevel{0.9}), ba = permutation(b, a, ConfidenceLevel{0.9});
  CHECK(ab.difference == -ba.difference);
  CHECK(ab.p_greater == ba.p_less);
  CHECK(ab.p_less == ba.p_greater);
  CHECK(ab.p_two_sided == ba.p_two_sided);
  CHECK(ab.interval->lower == -ba.interval->upper);
  CHECK(ab.interval->upper == -ba.interval->lower);
}

TEST_CASE("permutation: the order of the shots does not matter") {
  CHECK(permutation(sample({5, 1, 3, 3}), sample({9, 2, 4})).p_two_sided ==
        permutation(sample({1, 3, 3, 5}), sample({2, 4, 9})).p_two_sided);
}

TEST_CASE("permutation: 3 + 3 shots never give a 95 % interval, 4 + 4 do") {
  const auto three = permutation(sample({271, 272, 273}), sample({274, 276, 279}));
  CHECK_FALSE(three.interval.has_value());
  CHECK(three.interval_state == PermutationInterval::too_few_arrangements);
  CHECK(three.highest_level == 0.9);  // 1 − 2/20
  CHECK(three.p_two_sided == 0.1);
  // 1/C(8, 4) = 1/70 < 0.025
  const auto four = permutation(sample({271, 272, 273, 273}), sample({274, 276, 279, 275}));
  CHECK(four.interval_state == PermutationInterval::found);
  CHECK(four.interval.has_value());
}

TEST_CASE("permutation: the highest level itself has an interval, though 1 − 0.9 is not 0.1 in binary") {
  const auto a = sample({271, 272, 274}), b = sample({275, 277, 276});
  const auto r = permutation(a, b, ConfidenceLevel{0.9});
  REQUIRE(r.interval.has_value());
  // More than one of 20 arrangements is needed: the second smallest jump of #{ΣB − ΣA ≤ jδ} is the first pair,
  // the least of the mean differences of equal subsets: {274} and {275} differ by 1. Likewise {271}, {277} by 6.
  CHECK(r.interval->lower == 1.0);
  CHECK(r.interval->upper == 6.0);
  CHECK_FALSE(permutation(a, b, ConfidenceLevel{0.91}).interval.has_value());
  CHECK(permutation(a, b, ConfidenceLevel::from_alpha(0.1)).interval == r.interval);
}

TEST_CASE("permutation: two set-ups of one value each have a p but no interval, never one of width 0") {
  const auto r = permutation(sample({271, 271, 271, 271}), sample({274, 274, 274, 274}));
  CHECK(r.p_two_sided == 2.0 / 70.0);
  CHECK_FALSE(r.interval.has_value());
  CHECK(r.interval_state == PermutationInterval::no_scatter_in_readings);
  const auto one_scatters = permutation(sample({271, 271, 271, 271}), sample({274, 274, 275, 274}));
  CHECK(one_scatters.interval_state == PermutationInterval::found);
  const auto same = permutation(sample({271, 271}), sample({271, 271, 271}));
  CHECK(same.difference == 0.0);
  CHECK(same.p_two_sided == 1.0);
}

TEST_CASE("permutation: with unequal numbers p and interval may disagree, either way") {
  // One tail of 56 arrangements: 1 is rarer than 0.025, 2 are not. Both tails: 2 are rarer than 0.05, 3 are not.
  const auto interval_only = permutation(sample({2, 2, 2}), sample({3, 6, 6, 7, 10}));
  CHECK(interval_only.p_two_sided == 3.0 / 56.0);
  CHECK(interval_only.p_greater == 1.0 / 56.0);
  CHECK_FALSE(interval_only.interval->contains(0.0));
  const auto p_only = permutation(sample({1, 4, 6}), sample({6, 7, 7, 8, 10}));
  CHECK(p_only.p_two_sided == 2.0 / 56.0);
  CHECK(p_only.p_greater == 2.0 / 56.0);
  CHECK(p_only.interval->contains(0.0));
}

TEST_CASE("permutation: decimals are compared as written, so 0.1-step ties stay ties") {
  // 0.1 + 0.2 ≠ 0.3 in binary; in display steps {1,2} and {3,0} tie.
  const auto whole = permutation(sample({1, 2, 8}), sample({3, 0, 9}), ConfidenceLevel{0.9});
  const auto tenths = permutation(decimal_sample({1, 2, 8}, 1), decimal_sample({3, 0, 9}, 1), ConfidenceLevel{0.9});
  CHECK(whole.p_two_sided == tenths.p_two_sided);
  CHECK(tenths.difference == 1.0 / 3.0 / 10.0);
  CHECK(tenths.interval->upper == digits(whole.interval->upper / 10.0, 15));
}

TEST_CASE("permutation: 30 + 30 shots, beyond exact doubles, agree with the hypergeometric law") {
  // Readings 0 and 1: the sum of a k-subset is hypergeometric, so p has a closed form.
  Readings a(30, 0), b(30, 0);
  for (std::size_t i = 0; i < 10; ++i) a[i] = 1;
  for (std::size_t i = 0; i < 19; ++i) b[i] = 1;
  // Python: from math import comb; sum(comb(29,x)*comb(31,30-x) for x in range(0,11))/comb(60,30)
  const auto r = permutation(sample(a), sample(b));
  CHECK(r.p_greater == digits(0.018943606447641745, 12));
  CHECK(r.p_two_sided == digits(2 * 0.018943606447641745, 12));
}

TEST_CASE("permutation: over its budget it stops, with the cost and what would fit") {
  const auto a = decimal_sample({1, 500000000}, 5), b = decimal_sample({2, 700000000}, 5);
  // Tables of j = 1 and 2 over spans of 5e8 and 7e8: 3 × 12e8 = 3.6e9 cells, two tables of 8 bytes each = 5.5e4 MiB.
  // Filling: 2 × 3.6e9. Sweeps: 3 + 2(log2(12e8) + 1 + 2) + 2 to accumulate = 71.3 × 3.6e9. Together 2.6e11.
  CHECK_THROWS_WITH_AS(
      permutation(a, b),
      "permutation: counting every arrangement of 2 and 2 shots needs about 2.6e+11 operations and "
      "5.5e+04 MiB; allowed are 1e+09 and 2.6e+02 MiB. Fewer shots, a coarser display step or a larger "
      "budget would fit; sampling arrangements is another method.",
      BudgetExceeded);
  const auto small_a = sample({1, 2, 4}), small_b = sample({2, 3, 3});
  const WorkCost cost = permutation_cost(small_a, small_b);
  CHECK_NOTHROW(permutation(small_a, small_b, ConfidenceLevel{0.9}, {cost.operations, cost.bytes}));
  CHECK_THROWS_AS(permutation(small_a, small_b, ConfidenceLevel{0.9}, {cost.operations - 1, cost.bytes}),
                  BudgetExceeded);
  CHECK_THROWS_AS(permutation(small_a, small_b, ConfidenceLevel{0.9}, {cost.operations, cost.bytes - 1}),
                  BudgetExceeded);
}

TEST_CASE("permutation: more arrangements than a double holds are no answer, not a NaN") {
  const auto a = sample(Readings(600, 1)), b = sample(Readings(600, 1));
  CHECK_THROWS_WITH_AS(permutation(a, b, ConfidenceLevel{0.95}, {1e12, 1e12}),
                       "permutation: 600 and 600 shots have more than 1e300 arrangements, too many to count", NoAnswer);
}

TEST_CASE("permutation: readings too far apart for any memory are no answer, whatever is allowed") {
  Readings far(45, -8'911'470'567'009'445);
  far.back() = 8'911'470'567'009'446;  // 1035 times this span wraps in 64 bits
  const auto a = sample(far);
  CHECK_THROWS_WITH_AS(
      permutation(a, a, ConfidenceLevel{0.95}, {HUGE_VAL, HUGE_VAL}),
      "permutation: readings so far apart need more than 1e15 bytes of counts, more than any machine has", NoAnswer);
}

TEST_CASE("permutation: two display steps are refused") {
  CHECK_THROWS_WITH_AS(permutation(sample({1, 2}), decimal_sample({1, 2}, 1)),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
}
