#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/lattice_law.hpp>
#include <shotassay/numerics/normal.hpp>

namespace shotassay {

/// The statistic that is resampled, a mean or a gap, as one whole number: its key.
///
///   gap of a and b:  key = (L/n_b)·S_b − (L/n_a)·S_a,  L = lcm(n_a, n_b)      one mean:  key = S,  L = n
///
/// S are sums of readings above the lowest of their group, in display steps. Keys rise by 1/L of a step.
///
/// Requires  n ≥ 2 in each group, one display step for both, L·R within 62 bits; otherwise DomainError, in the name of
///           the method asked.
class ResampledStatistic {
 public:
  ResampledStatistic(const std::string& method, const Sample& x);
  ResampledStatistic(const std::string& method, const Sample& a, const Sample& b);  ///< mean(b) − mean(a)

  std::int64_t observed() const { return observed_; }
  std::int64_t lowest() const { return lowest_; }            ///< of any resample
  std::int64_t highest() const { return highest_; }          ///< of any resample
  std::int64_t factor_a() const { return factor_a_; }        ///< L/n_a; 0 for one mean
  std::int64_t factor_b() const { return factor_b_; }        ///< L/n_b
  std::int64_t steps_apart() const { return denominator_; }  ///< L, keys to one display step

  bool all_equal() const { return lowest_ == highest_; }  ///< each group shows one value: every resample is the same
  DisplayStep step() const { return step_; }

  /// A key in the samples' unit.
  double in_unit(std::int64_t key) const { return step_.times(offset_ + key, denominator_); }
  double estimate() const { return in_unit(observed_); }

  /// SD of the statistic over all resamples, in keys: L·√( Σ_g Σ(x − x̄)²/n_g² ).
  double key_sd() const { return key_sd_; }
  double standard_error() const { return key_sd_ / static_cast<double>(denominator_) * step_.value(); }

  /// Σ_g ΣU³/n_g³ ÷ 6(Σ_g ΣU²/n_g²)^{3/2}, U the centred readings, sign turned for a.   Requires  !all_equal().
  double acceleration() const { return cubes_ / (6 * squares_ * std::sqrt(squares_)); }

 private:
  void add_group(const Sample& group, int sign);
  void finish(const std::string& method);

  std::int64_t factor_a_ = 0, factor_b_ = 1, denominator_ = 1, observed_ = 0, lowest_ = 0, highest_ = 0;
  WideInteger wide_observed_ = 0, wide_lowest_ = 0, wide_highest_ = 0, offset_ = 0;
  double squares_ = 0, cubes_ = 0, key_sd_ = 0;
  DisplayStep step_;
};

/// How likely is each value of a resampled mean, or of a resampled gap? All n^n (or n_a^n_a·n_b^n_b) resamples,
/// counted.
///
/// Built once, it serves `bootstrap_percentile`, `bootstrap_basic` and `bootstrap_bca`. The law of the gap is never
/// written out: P(key ≤ m) is one pass over the sums of a with a pointer into the running sums of b.
///
/// Requires  what ResampledStatistic requires, else DomainError; work within the budget, else BudgetExceeded.
/// Accuracy  relative 1e-14 in either tail; for n ≤ 13 the counts of each group are exact.
class BootstrapLaw {
 public:
  explicit BootstrapLaw(const Sample& x, WorkBudget budget = {}) : BootstrapLaw{"bootstrap", x, budget} {}
  BootstrapLaw(const Sample& a, const Sample& b, WorkBudget budget = {}) : BootstrapLaw{"bootstrap", a, b, budget} {}
  BootstrapLaw(const std::string& method, const Sample& x, WorkBudget budget);
  BootstrapLaw(const std::string& method, const Sample& a, const Sample& b, WorkBudget budget);

  const ResampledStatistic& statistic() const { return statistic_; }

  double lower_tail(std::int64_t key) const;  ///< P(key* ≤ key)
  double upper_tail(std::int64_t key) const;  ///< P(key* > key), from the tail

  /// q(p): the smallest key with P(key* ≤ key) ≥ p.   Requires 0 < p < 1.
  std::int64_t lower_quantile(double p) const;
  /// q(1 − p): the smallest key with P(key* > key) ≤ p.   Requires 0 < p < 1.
  std::int64_t upper_quantile(double p) const;

  /// P(key* = key) may meet p exactly: a probability counts as reached when it is short by less than this.
  static double slack(double p) { return std::min(1e-14, 1e-3 * p); }

 private:
  void build(const Sample* a, const Sample& b);
  template <bool Lower>
  double sweep(std::int64_t key) const;
  template <class Reached>
  std::int64_t smallest(double guess, Reached reached) const;

  ResampledStatistic statistic_;
  std::vector<double> weight_a_;           ///< of each sum of a; {1} for one mean
  std::vector<double> below_a_, above_a_;  ///< running sums: of the sums < s, of the sums ≥ s
  std::vector<double> below_b_, above_b_;  ///< the same for b
  double total_ = 1;
};

/// What a BootstrapLaw will spend on n readings that span R steps, a group each. `distinct` readings, at most R + 1.
WorkCost bootstrap_law_cost(const Sample& x);
WorkCost bootstrap_law_cost(const Sample& a, const Sample& b);

namespace detail {

inline void require_two_shots(const std::string& method, const Sample& group, bool one_of_two) {
  if (group.size() < 2)
    throw DomainError{method + ": needs 2 or more shots" + (one_of_two ? " in a group" : "") + ", got " +
                      std::to_string(group.size())};
}

/// Largest span in steps for which cost(span) keeps within the budget; 0 when none does.
template <class Cost>
double largest_span(Cost cost, WorkBudget budget) {
  const auto fits = [&](double span) {
    const WorkCost c = cost(span);
    return c.operations <= budget.operations && c.bytes <= budget.bytes;
  };
  double low = 0, high = 1;
  while (high < 1e16 && fits(high)) high = 2 * (low = high);
  while (high - low > 1) {
    const double middle = std::floor(0.5 * (low + high));
    (fits(middle) ? low : high) = middle;
  }
  return low;
}

inline std::string what_would_fit(double span) {
  const std::string sampled = "Monte Carlo with a stated number of resamples would fit";
  if (span < 1) return sampled + ".";
  return sampled + ", or as many readings that span at most " + std::to_string(static_cast<std::int64_t>(span)) +
         " display steps.";
}

inline WorkCost sum_of(WorkCost p, WorkCost q) { return {p.operations + q.operations, p.bytes + q.bytes}; }

inline WorkCost group_cost(const Sample& x, double span) {
  const double shots = static_cast<double>(x.size());
  return draw_sum_cost(shots, span, std::min(shots, span + 1));
}

}  // namespace detail

inline void ResampledStatistic::add_group(const Sample& group, int sign) {
  const std::int64_t n = static_cast<std::int64_t>(group.size());
  const std::int64_t factor = denominator_ / n;
  const Moments m = moments(group);
  wide_observed_ += WideInteger{sign} * factor * m.sum;
  (sign > 0 ? wide_highest_ : wide_lowest_) += WideInteger{sign} * denominator_ * group.span();
  offset_ += WideInteger{sign} * denominator_ * group.low();
  // n·U is whole: symmetric readings cancel to exactly 0.
  double squares = 0, cubes = 0;
  for (const std::int64_t x : group.steps()) {
    const double scaled = static_cast<double>(WideInteger{n} * (x - m.offset) - m.sum);
    squares += scaled * scaled;
    cubes += scaled * scaled * scaled;
  }
  const double scale = static_cast<double>(n) * static_cast<double>(n);
  squares_ += squares / (scale * scale);
  cubes_ += sign * cubes / (scale * scale * scale);
  (sign > 0 ? factor_b_ : factor_a_) = factor;
}

inline void ResampledStatistic::finish(const std::string& method) {
  constexpr std::int64_t most_keys = std::int64_t{1} << 62;
  if (wide_highest_ - wide_lowest_ > most_keys || denominator_ > 1'000'000'000'000)
    throw DomainError{method + ": these shots and their span are too many for whole-number arithmetic, got " +
                      std::to_string(denominator_) + " keys to a display step"};
  observed_ = static_cast<std::int64_t>(wide_observed_);
  lowest_ = static_cast<std::int64_t>(wide_lowest_);
  highest_ = static_cast<std::int64_t>(wide_highest_);
  key_sd_ = static_cast<double>(denominator_) * std::sqrt(squares_);
}

inline ResampledStatistic::ResampledStatistic(const std::string& method, const Sample& x) : step_{x.step()} {
  detail::require_two_shots(method, x, false);
  denominator_ = static_cast<std::int64_t>(x.size());
  add_group(x, +1);
  finish(method);
}

inline ResampledStatistic::ResampledStatistic(const std::string& method, const Sample& a, const Sample& b)
    : step_{a.step()} {
  detail::require_two_shots(method, a, true);
  detail::require_two_shots(method, b, true);
  require_one_lattice(a, b);
  denominator_ = std::lcm(static_cast<std::int64_t>(a.size()), static_cast<std::int64_t>(b.size()));
  add_group(a, -1);
  add_group(b, +1);
  finish(method);
}

inline WorkCost bootstrap_law_cost(const Sample& x) { return detail::group_cost(x, static_cast<double>(x.span())); }

inline WorkCost bootstrap_law_cost(const Sample& a, const Sample& b) {
  return detail::sum_of(bootstrap_law_cost(a), bootstrap_law_cost(b));
}

inline BootstrapLaw::BootstrapLaw(const std::string& method, const Sample& x, WorkBudget budget)
    : statistic_{method, x} {
  const auto cost_at = [&](double span) { return detail::group_cost(x, span); };
  require_within(method, bootstrap_law_cost(x), budget, detail::what_would_fit(detail::largest_span(cost_at, budget)));
  build(nullptr, x);
}

inline BootstrapLaw::BootstrapLaw(const std::string& method, const Sample& a, const Sample& b, WorkBudget budget)
    : statistic_{method, a, b} {
  const auto cost_at = [&](double span) {
    return detail::sum_of(detail::group_cost(a, span), detail::group_cost(b, span));
  };
  require_within(method, bootstrap_law_cost(a, b), budget,
                 detail::what_would_fit(detail::largest_span(cost_at, budget)));
  build(&a, b);
}

inline void BootstrapLaw::build(const Sample* a, const Sample& b) {
  // Index s holds the weight of the sums below s, or from s on: both from their own end, so a small tail keeps its
  // digits.
  const auto running_sums = [](const std::vector<double>& weight, std::vector<double>& below,
                               std::vector<double>& from) {
    below.resize(weight.size() + 1);
    from.resize(weight.size() + 1);
    for (std::size_t s = 0; s < weight.size(); ++s) below[s + 1] = below[s] + weight[s];
    for (std::size_t s = weight.size(); s-- > 0;) from[s] = from[s + 1] + weight[s];
  };
  const DrawSumLaw law_b = draw_sum_law(b);
  running_sums(law_b.weight, below_b_, above_b_);
  total_ = law_b.total;
  if (a) {
    DrawSumLaw law_a = draw_sum_law(*a);
    weight_a_ = std::move(law_a.weight);
    total_ *= law_a.total;
  } else {
    weight_a_ = {1.0};
  }
  running_sums(weight_a_, below_a_, above_a_);
}

/// Σ over the sums s of a of weight(s) × tail of b, below or above the last sum with (L/n_b)·S_b ≤ key + (L/n_a)·s.
template <bool Lower>
double BootstrapLaw::sweep(std::int64_t key) const {
  const std::vector<double>& tail_of_b = Lower ? below_b_ : above_b_;
  const std::int64_t u = statistic_.factor_b(), v = statistic_.factor_a();
  const std::int64_t sums_a = static_cast<std::int64_t>(weight_a_.size());
  const std::int64_t sums_b = static_cast<std::int64_t>(tail_of_b.size()) - 1;
  if (key < statistic_.lowest()) return Lower ? 0.0 : total_;
  if (key >= statistic_.highest()) return Lower ? total_ : 0.0;

  // s in [first, last): some sums of b count, not all. Before `first` none does, from `last` on all do.
  const auto ceil_div = [](std::int64_t p, std::int64_t q) { return p > 0 ? (p - 1) / q + 1 : -(-p / q); };
  std::int64_t first = 0, last = 1;
  if (v > 0) {
    first = std::clamp(ceil_div(-key, v), std::int64_t{0}, sums_a);
    last = std::clamp(ceil_div(u * (sums_b - 1) - key, v), first, sums_a);
  }
  double sum = Lower ? above_a_[static_cast<std::size_t>(last)] * below_b_.back()
                     : below_a_[static_cast<std::size_t>(first)] * above_b_.front();
  const std::int64_t reach = key + v * first, count = last - first;
  const double* const weight = weight_a_.data() + first;
  if (u == 1 && v == 1) {
    // Equal numbers of shots: the pointer moves one sum at a time. Four running sums, in a fixed order.
    const double* const tail = tail_of_b.data() + (count > 0 ? reach + 1 : 0);
    double four[4] = {0, 0, 0, 0};
    std::int64_t i = 0;
    for (; i + 4 <= count; i += 4)
      for (int k = 0; k < 4; ++k) four[k] += weight[i + k] * tail[i + k];
    for (; i < count; ++i) four[0] += weight[i] * tail[i];
    return sum + ((four[0] + four[1]) + (four[2] + four[3]));
  }
  std::int64_t index = reach / u + 1, rest = reach % u;
  const std::int64_t whole_step = v / u, part_step = v % u;
  for (std::int64_t i = 0; i < count; ++i) {
    sum += weight[i] * tail_of_b[static_cast<std::size_t>(index)];
    index += whole_step;
    rest += part_step;
    if (rest >= u) {
      rest -= u;
      ++index;
    }
  }
  return sum;
}

inline double BootstrapLaw::lower_tail(std::int64_t key) const { return sweep<true>(key) / total_; }
inline double BootstrapLaw::upper_tail(std::int64_t key) const { return sweep<false>(key) / total_; }

/// The smallest key for which reached(key) holds; it holds for the highest key and for each key above one it holds for.
template <class Reached>
std::int64_t BootstrapLaw::smallest(double guess, Reached reached) const {
  const std::int64_t lowest = statistic_.lowest(), highest = statistic_.highest();
  std::int64_t step = std::max<std::int64_t>(1, std::llround(statistic_.key_sd() / 16));
  std::int64_t high = std::llround(std::clamp(guess, static_cast<double>(lowest), static_cast<double>(highest)));
  high = std::clamp(high, lowest, highest);
  std::int64_t low;  // reached(low) is false
  if (reached(high)) {
    for (low = std::max(high - step, lowest - 1); low >= lowest && reached(low);
         low = std::max(low - step, lowest - 1)) {
      high = low;
      step *= 2;
    }
  } else {
    for (low = high, high = std::min(low + step, highest); high < highest && !reached(high);
         high = std::min(high + step, highest)) {
      low = high;
      step *= 2;
    }
  }
  while (high - low > 1) {
    const std::int64_t middle = low + (high - low) / 2;
    (reached(middle) ? high : low) = middle;
  }
  return high;
}

inline std::int64_t BootstrapLaw::lower_quantile(double p) const {
  const double needed = (p - slack(p)) * total_;
  const double guess = static_cast<double>(statistic_.observed()) + numerics::normal_quantile(p) * statistic_.key_sd();
  return smallest(guess, [&](std::int64_t key) { return sweep<true>(key) >= needed; });
}

inline std::int64_t BootstrapLaw::upper_quantile(double p) const {
  const double allowed = (p + slack(p)) * total_;
  const double guess =
      static_cast<double>(statistic_.observed()) + numerics::normal_upper_quantile(p) * statistic_.key_sd();
  return smallest(guess, [&](std::int64_t key) { return sweep<false>(key) <= allowed; });
}

}  // namespace shotassay
