#pragma once
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// Law of the sum of n draws with replacement from n readings, in display steps above n times the lowest reading.
///
/// Accuracy  each weight keeps its relative accuracy (sums of products of non-negative numbers); for n ≤ 13 the weights
///           are whole numbers of resamples below 2^53, so exact.
struct DrawSumLaw {
  std::vector<double> weight;  ///< weight[s] / total is the probability of the sum s; size n·R + 1
  double total = 1;            ///< n^n for n ≤ 13, else 1
};

/// How likely is each sum of n draws? The n-fold convolution of the reading frequencies, by repeated squaring.
///
/// Cost   draw_sum_cost(n, R, distinct readings), which the caller compares with a budget first.
/// Needs  nothing more than a sample; all readings equal give the one sum 0.
DrawSumLaw draw_sum_law(const Sample& x);

/// Multiplications and bytes of draw_sum_law for n draws from readings that span R steps: O(n²R²).
WorkCost draw_sum_cost(double shots, double span, double distinct_readings);

// ---- computation ----

namespace lattice {

/// How often each distinct reading occurs, in ascending order; `steps_above` the lowest one.
struct ReadingCount {
  std::int64_t steps_above;
  double count;
};

inline std::vector<ReadingCount> reading_counts(const Sample& x) {
  std::vector<std::int64_t> sorted(x.steps().begin(), x.steps().end());
  std::sort(sorted.begin(), sorted.end());
  std::vector<ReadingCount> counts;
  counts.reserve(sorted.size());
  for (const std::int64_t reading : sorted) {
    const std::int64_t above = reading - x.low();
    if (counts.empty() || counts.back().steps_above != above)
      counts.push_back({above, 1});
    else
      counts.back().count += 1;
  }
  return counts;
}

/// Counts of resamples stay whole numbers below 2^53 up to 13^13.
inline constexpr std::size_t most_shots_with_exact_counts = 13;

/// w ⋆ w with each unordered pair taken once: half the products of a general convolution.
inline void square(const std::vector<double>& w, std::vector<double>& out) {
  const std::size_t n = w.size();
  out.assign(2 * n - 1, 0.0);
  for (std::size_t i = 0; i < n; ++i) {
    const double wi = w[i];
    if (wi == 0.0) continue;
    double* const row = out.data() + i;
    row[i] += wi * wi;
    const double twice = 2 * wi;
    for (std::size_t j = i + 1; j < n; ++j) row[j] += twice * w[j];
  }
}

/// w ⋆ (one more draw).
inline void add_draw(const std::vector<double>& w, const std::vector<ReadingCount>& draw, double unit,
                     std::vector<double>& out) {
  out.assign(w.size() + static_cast<std::size_t>(draw.back().steps_above), 0.0);
  for (const auto& [above, count] : draw) {
    double* const row = out.data() + above;
    const double factor = count * unit;
    for (std::size_t j = 0; j < w.size(); ++j) row[j] += factor * w[j];
  }
}

/// The binary digit below n's highest one, as a power of two; 0 for n = 1.
inline std::size_t second_digit(std::size_t n) {
  std::size_t digit = 1;
  while (digit <= n / 2) digit *= 2;
  return digit / 2;
}

}  // namespace lattice

inline WorkCost draw_sum_cost(double shots, double span, double distinct_readings) {
  const auto n = static_cast<std::size_t>(shots);
  double products = 0, terms = 1;
  for (std::size_t digit = lattice::second_digit(n); digit > 0; digit /= 2) {
    const double length = terms * span + 1;
    products += 0.5 * length * (length + 1);
    terms *= 2;
    if (n & digit) {
      products += (terms * span + 1) * distinct_readings;
      terms += 1;
    }
  }
  // Two arrays while squaring, then the law beside its two running sums.
  return {.operations = products + 4 * (shots * span + 1), .bytes = 3 * sizeof(double) * (shots * span + 1)};
}

inline DrawSumLaw draw_sum_law(const Sample& x) {
  const std::vector<lattice::ReadingCount> draw = lattice::reading_counts(x);
  const std::size_t n = x.size();
  const bool whole = n <= lattice::most_shots_with_exact_counts;
  const double unit = whole ? 1.0 : 1.0 / static_cast<double>(n);

  DrawSumLaw law;
  law.weight.assign(static_cast<std::size_t>(x.span()) + 1, 0.0);
  for (const auto& [above, count] : draw) law.weight[static_cast<std::size_t>(above)] = count * unit;
  std::vector<double> next;
  next.reserve(n * static_cast<std::size_t>(x.span()) + 1);
  for (std::size_t digit = lattice::second_digit(n); digit > 0; digit /= 2) {
    lattice::square(law.weight, next);
    law.weight.swap(next);
    if (n & digit) {
      lattice::add_draw(law.weight, draw, unit, next);
      law.weight.swap(next);
    }
  }
  if (whole)
    for (std::size_t i = 0; i < n; ++i) law.total *= static_cast<double>(n);
  return law;
}

}  // namespace shotassay
