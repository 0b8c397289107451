#pragma once
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <map>
#include <random>
#include <utility>
#include <vector>

/// Bootstrap by writing out all n^n resamples: the slow oracle of the exact methods.
namespace brute {

using Readings = std::vector<std::int64_t>;

/// Calls visit(sum, sum of squares) for each of the n^n resamples, an odometer of n wheels.
template <class Visit>
void for_each_resample(const Readings& x, Visit visit) {
  std::vector<std::size_t> wheel(x.size(), 0);
  for (;;) {
    std::int64_t sum = 0, squares = 0;
    for (const std::size_t i : wheel) {
      sum += x[i];
      squares += x[i] * x[i];
    }
    visit(sum, squares);
    std::size_t k = 0;
    while (k < wheel.size() && ++wheel[k] == x.size()) wheel[k++] = 0;
    if (k == wheel.size()) return;
  }
}

using SumsAndSquares = std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t>;

inline SumsAndSquares sums_and_squares(const Readings& x) {
  SumsAndSquares counts;
  for_each_resample(x, [&](std::int64_t s, std::int64_t q) { ++counts[{s, q}]; });
  return counts;
}

/// Values of the statistic as whole numbers over one denominator, with how many resamples give each.
struct Counts {
  std::map<std::int64_t, std::int64_t> of;
  std::int64_t denominator = 1;
  std::int64_t total = 0;
  std::int64_t observed = 0;

  double value(std::int64_t key) const { return static_cast<double>(key) / static_cast<double>(denominator); }

  /// Smallest key with count up to it ≥ total·numerator/denominator, in whole numbers.
  std::int64_t quantile(std::int64_t numerator, std::int64_t over) const {
    std::int64_t up_to = 0;
    for (const auto& [key, count] : of)
      if ((up_to += count) * over >= numerator * total) return key;
    return of.rbegin()->first;
  }
  /// The same for a level that is no ratio; a share within 1e-13 counts as reached.
  std::int64_t quantile(double p) const {
    std::int64_t up_to = 0;
    for (const auto& [key, count] : of)
      if (static_cast<double>(up_to += count) >= (p - 1e-13) * static_cast<double>(total)) return key;
    return of.rbegin()->first;
  }
  std::int64_t at_most(std::int64_t key) const {
    std::int64_t up_to = 0;
    for (const auto& [k, count] : of)
      if (k <= key) up_to += count;
    return up_to;
  }
  double sd() const {
    long double mean = 0, square = 0;
    for (const auto& [key, count] : of) mean += static_cast<long double>(key) * static_cast<long double>(count);
    mean /= static_cast<long double>(total);
    for (const auto& [key, count] : of) {
      const long double d = static_cast<long double>(key) - mean;
      square += d * d * static_cast<long double>(count);
    }
    return static_cast<double>(std::sqrt(square / static_cast<long double>(total))) / static_cast<double>(denominator);
  }
};

inline std::int64_t sum(const Readings& x) {
  std::int64_t s = 0;
  for (const std::int64_t v : x) s += v;
  return s;
}

inline Counts mean_counts(const Readings& x) {
  Counts c{.of = {}, .denominator = static_cast<std::int64_t>(x.size()), .total = 0, .observed = sum(x)};
  for_each_resample(x, [&](std::int64_t s, std::int64_t) {
    ++c.of[s];
    ++c.total;
  });
  return c;
}

/// mean(b) − mean(a) over n_a·n_b, not over their least common multiple.
inline Counts gap_counts(const Readings& a, const Readings& b) {
  const auto n_a = static_cast<std::int64_t>(a.size()), n_b = static_cast<std::int64_t>(b.size());
  const Counts p = mean_counts(a), q = mean_counts(b);
  Counts c{.of = {}, .denominator = n_a * n_b, .total = p.total * q.total, .observed = n_a * sum(b) - n_b * sum(a)};
  for (const auto& [s_a, count_a] : p.of)
    for (const auto& [s_b, count_b] : q.of) c.of[n_a * s_b - n_b * s_a] += count_a * count_b;
  return c;
}

/// Readings for trials: raw words of the Mersenne Twister, whose sequence the C++ standard fixes.
class Trials {
 public:
  explicit Trials(std::uint32_t seed) : words_{seed} {}

  /// n readings in 270 … 270 + span.
  Readings readings(std::size_t n, std::uint32_t span) {
    Readings x;
    for (std::size_t i = 0; i < n; ++i) x.push_back(270 + static_cast<std::int64_t>(words_() % (span + 1)));
    return x;
  }

 private:
  std::mt19937 words_;
};

}  // namespace brute
