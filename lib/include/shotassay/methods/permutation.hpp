#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// Why a permutation result has an interval, or has none.
enum class PermutationInterval {
  found,
  too_few_arrangements,   ///< 1/C(N, n_a) > α/2: however far apart the readings, no gap can be left out
  no_scatter_in_readings  ///< both set-ups show one value each: arrangements of them say nothing about scatter
};

struct PermutationResult {
  double difference;     ///< mean(b) − mean(a): b against a
  double p_two_sided;    ///< share of arrangements with |gap| at least as large as the observed one
  double p_greater;      ///< share with a gap at least as large: small when b is faster
  double p_less;         ///< share with a gap at most as large: small when b is slower
  double arrangements;   ///< C(N, n_a)
  double smallest_p;     ///< 1/C(N, n_a): no one-sided p of these numbers of shots is smaller
  double highest_level;  ///< 1 − 2/C(N, n_a): the highest level at which these numbers of shots have an interval
  std::optional<Interval> interval;  ///< for the gap, at the level asked
  PermutationInterval interval_state;
  bool exact = true;  ///< every arrangement counted, none sampled
};

/// Permutation test of two means: how many of the ways to deal the readings to the two set-ups give such a gap?
///
///   p_greater = #{ arrangements with gap ≥ observed } / C(N, n_a)         N = n_a + n_b; ties count, the observed
///   interval  = { δ : p_greater and p_less of (a, b − δ) both > α/2 }     arrangement too, so p is never 0
///
/// An arrangement exchanges A out of a with as many readings B out of b. Its gap less the observed one has the sign of
/// ΣA − ΣB, and after a shift of b by −δ that of ΣA − ΣB + jδ, j = |A| = |B|. So p and interval come from two tables,
/// the number of j-subsets of a set-up with each sum: see SubsetSums.
///
/// Units     difference and interval in the samples' unit.
/// Requires  one display step for both; otherwise DomainError. One shot in a set-up is allowed.
/// Assumes   the readings exchangeable once the shift is taken off: equal spread and shape. Not checked here.
/// Exact     sums are whole numbers, counts exact doubles for N ≤ 56; beyond, p is good to 12 digits.
/// Budget    counted before anything is allocated; BudgetExceeded when over. NoAnswer when C(N, n_a) > 1e300, or
///           where the tables would take more than 1e15 bytes.
/// Source    Fisher (1935) [fisher1935]; interval by inversion: Ernst (2004) [ernst2004].
PermutationResult permutation(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                              WorkBudget budget = {});

/// What permutation() will spend on two such samples.
WorkCost permutation_cost(const Sample& a, const Sample& b);

namespace detail {

/// C(n, k) as a double: exact up to 2^53, infinite when out of range.
inline double combinations(std::size_t n, std::size_t k) {
  WideInteger whole = 1;
  double value = 1.0;
  for (std::size_t i = 1; i <= std::min(k, n - k); ++i) {
    // Each partial product is itself a binomial coefficient: whole while 128 bits hold it.
    if (whole < WideInteger{1} << 100) {
      whole = whole * static_cast<std::int64_t>(n - i + 1) / static_cast<std::int64_t>(i);
      value = static_cast<double>(whole);
    } else {
      value *= static_cast<double>(n - i + 1) / static_cast<double>(i);
    }
  }
  return value;
}

/// How many subsets of j readings have which sum, j = 1 … k; readings count from the lowest of the set-up.
///
///   c_j[s] ← c_j[s] + c_{j−1}[s − v]   for each reading v, j falling, so that a reading enters a subset once
class SubsetSums {
 public:
  SubsetSums(const Sample& sample, std::size_t largest_subset)
      : span_{sample.span()}, largest_subset_{largest_subset}, counts_(begin_of(largest_subset + 1), 0.0) {
    // Sorted, the sums of j of the first i readings lie between the j lowest and the j highest of those.
    std::vector<std::int64_t> readings(sample.steps().begin(), sample.steps().end());
    std::sort(readings.begin(), readings.end());
    std::vector<std::int64_t> below(readings.size() + 1, 0);
    for (std::size_t i = 0; i < readings.size(); ++i) {
      readings[i] -= sample.low();
      below[i + 1] = below[i] + readings[i];
    }
    counts_[0] = 1.0;
    for (std::size_t i = 0; i < readings.size(); ++i)
      for (std::size_t j = std::min(i + 1, largest_subset); j >= 1; --j) {
        const auto first = static_cast<std::size_t>(below[j - 1]);
        const auto last = static_cast<std::size_t>(below[i] - below[i - (j - 1)]);
        const double* from = counts_.data() + begin_of(j - 1);
        double* to = counts_.data() + begin_of(j) + readings[i];
        for (std::size_t s = first; s <= last; ++s) to[s] += from[s];
      }
    cumulative_ = counts_;
    for (std::size_t j = 0; j <= largest_subset; ++j)
      for (std::size_t s = begin_of(j) + 1; s < begin_of(j + 1); ++s) cumulative_[s] += cumulative_[s - 1];
  }

  std::size_t largest_subset() const { return largest_subset_; }
  std::int64_t highest_sum(std::size_t j) const { return static_cast<std::int64_t>(j) * span_; }
  std::span<const double> row(std::size_t j) const { return row_of(counts_, j); }
  std::span<const double> cumulative(std::size_t j) const { return row_of(cumulative_, j); }

 private:
  /// Where row j begins: those before it are j sums of 0 and 1 … (0 + 1 + … + (j − 1))·span.
  std::size_t begin_of(std::size_t j) const { return j * (j - 1) / 2 * static_cast<std::size_t>(span_) + j; }
  std::span<const double> row_of(const std::vector<double>& rows, std::size_t j) const {
    return std::span{rows}.subspan(begin_of(j), begin_of(j + 1) - begin_of(j));
  }

  std::int64_t span_;
  std::size_t largest_subset_;
  std::vector<double> counts_;      ///< row after row
  std::vector<double> cumulative_;  ///< #{ subsets with sum ≤ s }
};

/// #{ (A, B) : |A| = |B| = j ≥ 1, ΣB − ΣA ≤ threshold(j) }, sums counted from the lowest reading of each set-up.
template <class Threshold>
double exchanges_at_most(const SubsetSums& a, const SubsetSums& b, const Threshold& threshold) {
  double count = 0.0;
  for (std::size_t j = 1; j <= a.largest_subset(); ++j) {
    const std::int64_t t = threshold(static_cast<std::int64_t>(j));
    const std::int64_t top_a = a.highest_sum(j), top_b = b.highest_sum(j);
    if (t < -top_a) continue;
    const std::span of_a = a.row(j), of_b = b.cumulative(j);
    // ΣB ≤ ΣA + t: none while the right side is negative, all of them from top_b on.
    const std::int64_t first = std::max<std::int64_t>(0, -t);
    const std::int64_t all_from = std::clamp<std::int64_t>(top_b - t, first, top_a + 1);
    // Four sums side by side: the order is fixed, and no addition waits for the one before it.
    std::array<double, 4> part{};
    for (std::int64_t s = first; s < all_from; s += 4) {
      const double* left = of_a.data() + s;
      const double* right = of_b.data() + (s + t);
      const std::size_t lanes = static_cast<std::size_t>(std::min<std::int64_t>(4, all_from - s));
      for (std::size_t lane = 0; lane < lanes; ++lane) part[lane] += left[lane] * right[lane];
    }
    count += (part[0] + part[1]) + (part[2] + part[3]);
    if (all_from <= top_a) {
      double rest = 0.0;
      for (std::int64_t x = all_from; x <= top_a; ++x) rest += of_a[static_cast<std::size_t>(x)];
      count += rest * of_b.back();
    }
  }
  return count;
}

/// Largest whole number not above p/q.   Requires  q > 0.
constexpr std::int64_t floor_division(std::int64_t p, std::int64_t q) { return p / q - (p % q < 0 ? 1 : 0); }

/// p/q, a gap in display steps, counted from the gap of the two lowest readings.
struct Fraction {
  std::int64_t numerator;
  std::int64_t denominator;
};

/// Smallest δ at which more than `needed` arrangements are at least as extreme: #{ΣB − ΣA ≤ ⌊jδ⌋} + 1 > needed.
///
/// The count rises at fractions m/j only. A bracket (fails, holds] is narrowed by bisection on m for j = 1, then by the
/// m/j inside it for each larger j: its ends are neighbours among all fractions of denominators below j, so at most one
/// (Farey).   Requires  1 ≤ needed < all arrangements.
inline Fraction lower_limit(const SubsetSums& a, const SubsetSums& b, double needed) {
  Fraction fails{-a.highest_sum(1) - 1, 1}, holds{b.highest_sum(1), 1};
  for (std::int64_t j = 1; j <= static_cast<std::int64_t>(a.largest_subset()); ++j) {
    std::int64_t low = floor_division(fails.numerator * j, fails.denominator);     // fails there: low/j ≤ fails
    std::int64_t high = -floor_division(-holds.numerator * j, holds.denominator);  // holds there: high/j ≥ holds
    const std::int64_t high_at_start = high, low_at_start = low;
    while (high - low > 1) {
      const std::int64_t middle = low + (high - low) / 2;
      const double count = 1.0 + exchanges_at_most(a, b, [&](std::int64_t i) { return floor_division(i * middle, j); });
      (count > needed ? high : low) = middle;
    }
    if (high < high_at_start) holds = {high, j};
    if (low > low_at_start) fails = {low, j};
  }
  return holds;
}

}  // namespace detail

inline WorkCost permutation_cost(const Sample& a, const Sample& b) {
  const auto k = static_cast<double>(std::min(a.size(), b.size()));
  const auto cells = [&](const Sample& x) { return 0.5 * k * (k + 1) * static_cast<double>(x.span()) + k + 1; };
  const double sweep = cells(a) + cells(b);
  // Three sweeps for the p-values; for each limit a bisection over the spans, then one for each j: see lower_limit.
  const double spans = static_cast<double>(a.span()) + static_cast<double>(b.span());
  const double sweeps = 3.0 + 2.0 * (std::log2(spans + 2.0) + 1.0 + k);
  return {.operations = static_cast<double>(a.size()) * cells(a) + static_cast<double>(b.size()) * cells(b) +
                        sweep * (sweeps + 2.0),
          .bytes = 2.0 * sizeof(double) * sweep};
}

inline PermutationResult permutation(const Sample& a, const Sample& b, ConfidenceLevel level, WorkBudget budget) {
  require_one_lattice(a, b);
  const WorkCost cost = permutation_cost(a, b);
  require_within(
      "permutation: counting every arrangement of " + std::to_string(a.size()) + " and " + std::to_string(b.size()) +
          " shots",
      cost, budget,
      "Fewer shots, a coarser display step or a larger budget would fit; sampling arrangements is another method.");
  const std::size_t k = std::min(a.size(), b.size()), all_shots = a.size() + b.size();
  const double arrangements = detail::combinations(all_shots, k);
  if (!(cost.bytes <= 1e15))
    throw NoAnswer{"permutation: readings so far apart need more than 1e15 bytes of counts, more than any machine has"};
  if (!(arrangements <= 1e300))
    throw NoAnswer{"permutation: " + std::to_string(a.size()) + " and " + std::to_string(b.size()) +
                   " shots have more than 1e300 arrangements, too many to count"};

  const detail::SubsetSums sums_a{a, k}, sums_b{b, k};
  const Moments of_a = moments(a), of_b = moments(b);
  // Gap of the two lowest readings: raw ΣB − ΣA = j·shift + (ΣB − ΣA counted from the lowest).
  const std::int64_t shift = b.low() - a.low();
  // A threshold beyond every sum of row j does as well as any further one, and fits 64 bits.
  const auto clamped = [&](WideInteger t, std::int64_t j) {
    const auto rows = static_cast<std::size_t>(j);
    const WideInteger low = -WideInteger{sums_a.highest_sum(rows)} - sums_b.highest_sum(rows) - 1;
    return static_cast<std::int64_t>(std::clamp<WideInteger>(t, low, -low));
  };
  const double at_least = 1.0 + detail::exchanges_at_most(sums_a, sums_b, [&](std::int64_t j) {
                            return clamped(-WideInteger{j} * shift, j);
                          });
  const double at_most = 1.0 + detail::exchanges_at_most(
                                   sums_b, sums_a, [&](std::int64_t j) { return clamped(WideInteger{j} * shift, j); });

  // n_a·n_b·gap, a whole number D. An exchange changes it by N(ΣA − ΣB); the other tail begins where that reaches −2D.
  const WideInteger scaled_gap = of_b.total() * of_a.n - of_a.total() * of_b.n;
  double both_tails = arrangements;
  if (scaled_gap != 0) {
    const WideInteger magnitude = scaled_gap > 0 ? scaled_gap : -scaled_gap;
    const WideInteger turn = (2 * magnitude + (of_a.n + of_b.n - 1)) / (of_a.n + of_b.n);  // ⌈2|D|/N⌉
    both_tails =
        scaled_gap > 0
            ? at_least + detail::exchanges_at_most(
                             sums_b, sums_a, [&](std::int64_t j) { return clamped(WideInteger{j} * shift - turn, j); })
            : at_most + detail::exchanges_at_most(
                            sums_a, sums_b, [&](std::int64_t j) { return clamped(-WideInteger{j} * shift - turn, j); });
  }
  // Beyond N = 56 the counts are rounded sums and could exceed their total in the last digit.
  const auto share = [&](double count) { return std::min(1.0, count / arrangements); };
  PermutationResult result{.difference = a.step().times(scaled_gap, WideInteger{of_a.n} * of_b.n),
                           .p_two_sided = share(both_tails),
                           .p_greater = share(at_least),
                           .p_less = share(at_most),
                           .arrangements = arrangements,
                           .smallest_p = 1.0 / arrangements,
                           .highest_level = 1.0 - 2.0 / arrangements,
                           .interval = std::nullopt,
                           .interval_state = PermutationInterval::found};

  // p > α/2 with slack: 1 − level is rounded to 1.1e-16, counts beyond N = 56 to 1e-12 of themselves.
  const double half_alpha = 0.5 * level.alpha();
  const double needed = arrangements * (half_alpha + std::max(1e-12 * half_alpha, 2e-16));
  if (1.0 > needed) {
    result.interval_state = PermutationInterval::too_few_arrangements;
  } else if (a.all_equal() && b.all_equal()) {
    result.interval_state = PermutationInterval::no_scatter_in_readings;
  } else {
    const detail::Fraction lower = detail::lower_limit(sums_a, sums_b, needed);
    const detail::Fraction upper = detail::lower_limit(sums_b, sums_a, needed);  // mirrored: δ and −δ
    const auto in_unit = [&](WideInteger numerator, std::int64_t denominator) {
      return a.step().times(WideInteger{shift} * denominator + numerator, denominator);
    };
    result.interval = Interval{.lower = in_unit(lower.numerator, lower.denominator),
                               .upper = in_unit(-WideInteger{upper.numerator}, upper.denominator)};
  }
  return result;
}

}  // namespace shotassay
