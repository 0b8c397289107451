#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_law.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/numerics/normal.hpp>

namespace shotassay {

/// How many resamples to draw in place of all, and how.
///
/// Requires  1000 ≤ resamples ≤ 10^8 (8 bytes each), threads ≥ 1; otherwise DomainError.
struct Resampling {
  std::uint64_t resamples;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< changes the time taken, no digit of the result
};

/// Values of a statistic over drawn resamples, sorted; the law puts 1/resamples on each.
///
/// q(p) is the value of rank ⌈p·resamples⌉, as in the exact law. The range of a limit holds the exact one 95 times in
/// 100 or more: the values of ranks ⌊Rp − zσ⌋ and ⌈Rp + zσ⌉ + 1, z = 1.96, σ = √(Rp(1 − p)), since the number of drawn
/// values up to q(p) is binomial. A rank outside 1 … R stands for the end of the law.
///
/// Requires  no value below `lowest` or above `highest`.
template <class Value>
class SortedResamples {
 public:
  SortedResamples(std::vector<Value> values, Value lowest, Value highest)
      : values_{std::move(values)}, lowest_{lowest}, highest_{highest} {
    if constexpr (std::is_integral_v<Value>) {
      const auto span = static_cast<std::uint64_t>(highest) - static_cast<std::uint64_t>(lowest);
      if (span < values_.size()) {
        sort_by_counting(static_cast<std::size_t>(span) + 1);
        return;
      }
    }
    std::sort(values_.begin(), values_.end());
  }

  std::uint64_t count() const { return values_.size(); }

  double lower_tail(Value v) const {
    return static_cast<double>(std::upper_bound(values_.begin(), values_.end(), v) - values_.begin()) / size();
  }
  double upper_tail(Value v) const {
    return static_cast<double>(values_.end() - std::upper_bound(values_.begin(), values_.end(), v)) / size();
  }

  /// Smallest drawn value with lower_tail(value) ≥ p.
  Value lower_quantile(double p) const {
    return ranked(std::max(1.0, std::ceil((p - BootstrapLaw::slack(p)) * size())));
  }
  /// Smallest drawn value with upper_tail(value) ≤ p.
  Value upper_quantile(double p) const {
    return ranked(std::max(1.0, size() - std::floor((p + BootstrapLaw::slack(p)) * size())));
  }

  /// Where the exact q(p) may lie; `noise` is the SD of one resample's share in the level, √(p(1 − p)) for a fixed p.
  std::pair<Value, Value> range(double p, double noise) const {
    const double reach = numerics::normal_upper_quantile(0.025) * noise * std::sqrt(size());
    return {ranked(std::floor(p * size() - reach)), ranked(std::ceil(p * size() + reach) + 1)};
  }

 private:
  double size() const { return static_cast<double>(values_.size()); }

  /// Few different whole numbers: three times as fast as comparing them.
  void sort_by_counting(std::size_t different) {
    std::vector<std::size_t> times(different);
    for (const Value v : values_) ++times[static_cast<std::size_t>(v - lowest_)];
    auto place = values_.begin();
    for (std::size_t i = 0; i < different; ++i)
      place = std::fill_n(place, times[i], static_cast<Value>(lowest_ + static_cast<Value>(i)));
  }

  Value ranked(double rank) const {
    if (rank < 1) return lowest_;
    if (rank > size()) return highest_;
    return values_[static_cast<std::size_t>(rank) - 1];
  }

  std::vector<Value> values_;
  Value lowest_, highest_;
};

/// The law of a resampled mean or gap, from resamples drawn at random.
///
/// Resample r reads its own random words (seed, r) only, and keys are whole numbers that are sorted: the same bytes for
/// any number of threads. Serves `bootstrap_percentile`, `bootstrap_basic` and `bootstrap_bca` like a BootstrapLaw.
///
/// Requires  what ResampledStatistic and Resampling require; otherwise DomainError.
/// Needs     8 bytes a resample, however wide the span.
class SampledBootstrapLaw {
 public:
  SampledBootstrapLaw(const Sample& x, Resampling how) : SampledBootstrapLaw{"bootstrap", x, how} {}
  SampledBootstrapLaw(const Sample& a, const Sample& b, Resampling how) : SampledBootstrapLaw{"bootstrap", a, b, how} {}
  SampledBootstrapLaw(const std::string& method, const Sample& x, Resampling how);
  SampledBootstrapLaw(const std::string& method, const Sample& a, const Sample& b, Resampling how);

  const ResampledStatistic& statistic() const { return statistic_; }
  std::uint64_t resamples() const { return keys_.count(); }

  double lower_tail(std::int64_t key) const { return keys_.lower_tail(key); }
  double upper_tail(std::int64_t key) const { return keys_.upper_tail(key); }
  std::int64_t lower_quantile(double p) const { return keys_.lower_quantile(p); }
  std::int64_t upper_quantile(double p) const { return keys_.upper_quantile(p); }
  std::pair<std::int64_t, std::int64_t> quantile_range(double p, double noise) const { return keys_.range(p, noise); }

 private:
  ResampledStatistic statistic_;
  SortedResamples<std::int64_t> keys_;
};

/// The four intervals from drawn resamples: `exact` is false, `resamples` says how many, `lower_range` and
/// `upper_range` how far the limits may be off. Same requirements, units and sources as the exact ones; no budget.
///
/// With BCa the range covers the error of z₀ as well; with too few resamples z₀ may be infinite, and no interval
/// exists.
BootstrapResult bootstrap_percentile(const Sample& x, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_percentile(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_basic(const Sample& x, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_basic(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_bca(const Sample& x, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_bca(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_t(const Sample& x, ConfidenceLevel level, Resampling how);
BootstrapResult bootstrap_t(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how);

namespace detail {

/// Keys of the drawn resamples, in the order drawn. `a` is null for one mean.
std::vector<std::int64_t> drawn_keys(const std::string& method, const ResampledStatistic& statistic, const Sample* a,
                                     const Sample& b, Resampling how);

/// Their t*, in the order drawn.
std::vector<double> drawn_t(const std::string& method, const ResampledStatistic& statistic, const Studentiser& by,
                            const Sample* a, const Sample& b, Resampling how);

inline BootstrapResult sampled_t(const ResampledStatistic& s, const Studentiser& by, const Sample* a, const Sample& b,
                                 ConfidenceLevel level, Resampling how) {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  const double scatter = (a ? scatter_of(*a, by.weight_a) : 0.0) + scatter_of(b, by.weight_b);
  BootstrapResult r = studentised_result(s, by, scatter);
  const SortedResamples<double> t{drawn_t("bootstrap_t", s, by, a, b, how), -infinity, infinity};
  r.exact = false;
  r.resamples = t.count();
  if (r.reason) return r;
  const double tail = 0.5 * level.alpha(), noise = std::sqrt(tail * (1 - tail));
  r.interval = studentised_limits(r, t.lower_quantile(tail), t.upper_quantile(tail));
  const auto range = [&](double p) {
    const auto [low, high] = t.range(p, noise);
    return studentised_limits(r, low, high);
  };
  r.lower_range = range(1 - tail);
  r.upper_range = range(tail);
  return r;
}

}  // namespace detail

inline SampledBootstrapLaw::SampledBootstrapLaw(const std::string& method, const Sample& x, Resampling how)
    : statistic_{method, x},
      keys_{detail::drawn_keys(method, statistic_, nullptr, x, how), statistic_.lowest(), statistic_.highest()} {}

inline SampledBootstrapLaw::SampledBootstrapLaw(const std::string& method, const Sample& a, const Sample& b,
                                                Resampling how)
    : statistic_{method, a, b},
      keys_{detail::drawn_keys(method, statistic_, &a, b, how), statistic_.lowest(), statistic_.highest()} {}

inline BootstrapResult bootstrap_percentile(const Sample& x, ConfidenceLevel level, Resampling how) {
  return bootstrap_percentile(SampledBootstrapLaw{"bootstrap_percentile", x, how}, level);
}
inline BootstrapResult bootstrap_percentile(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how) {
  return bootstrap_percentile(SampledBootstrapLaw{"bootstrap_percentile", a, b, how}, level);
}
inline BootstrapResult bootstrap_basic(const Sample& x, ConfidenceLevel level, Resampling how) {
  return bootstrap_basic(SampledBootstrapLaw{"bootstrap_basic", x, how}, level);
}
inline BootstrapResult bootstrap_basic(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how) {
  return bootstrap_basic(SampledBootstrapLaw{"bootstrap_basic", a, b, how}, level);
}
inline BootstrapResult bootstrap_bca(const Sample& x, ConfidenceLevel level, Resampling how) {
  return bootstrap_bca(SampledBootstrapLaw{"bootstrap_bca", x, how}, level);
}
inline BootstrapResult bootstrap_bca(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how) {
  return bootstrap_bca(SampledBootstrapLaw{"bootstrap_bca", a, b, how}, level);
}
inline BootstrapResult bootstrap_t(const Sample& x, ConfidenceLevel level, Resampling how) {
  const ResampledStatistic s{"bootstrap_t", x};
  return detail::sampled_t(s, detail::studentiser(s, x), nullptr, x, level, how);
}
inline BootstrapResult bootstrap_t(const Sample& a, const Sample& b, ConfidenceLevel level, Resampling how) {
  const ResampledStatistic s{"bootstrap_t", a, b};
  return detail::sampled_t(s, detail::studentiser(s, a, b), &a, b, level, how);
}

}  // namespace shotassay
