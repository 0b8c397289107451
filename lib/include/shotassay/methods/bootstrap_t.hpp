#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/wide_integer.hpp>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_law.hpp>
#include <shotassay/methods/lattice_law.hpp>

namespace shotassay {

/// Studentised bootstrap: where do the errors of the mean (or gap), each in units of its own standard error, end?
///
///   t* = (θ* − θ̂) / se*,   se*² = s*²/n  (gap: s_a*²/n_a + s_b*²/n_b),  s² with divisor n − 1
///   [ θ̂ − q(1 − α/2)·se, θ̂ − q(α/2)·se ],   q(p) = smallest t with P(t* ≤ t) ≥ p, se from the readings themselves
///
/// A resample without scatter has t* = −∞, 0 or +∞, by the sign of θ* − θ̂. Where so many have that q is infinite, the
/// interval has no finite limit on that side: at 3 shots of one mean, 1 resample in 9.
///
/// Exact: sums S and sums of squares Q of all resamples are counted together.
/// Units     the readings'; `standard_error` is se.
/// Requires  n ≥ 2 in each group, one display step; otherwise DomainError. Work within the budget, else BudgetExceeded.
/// Absent    all readings equal (in each of two groups): se = 0.
/// Assumes   independent shots; se* stands in for how se varies, which needs more than a handful of readings.
/// Accuracy  t* to 1e-15 relative; probabilities to 1e-14.
/// Source    Efron & Tibshirani (1993) [efron1993], chapter 12; Hall (1992) [hall1992].
BootstrapResult bootstrap_t(const Sample& x, ConfidenceLevel level = ConfidenceLevel{0.95}, WorkBudget budget = {});
BootstrapResult bootstrap_t(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                            WorkBudget budget = {});

/// What bootstrap_t will spend.
WorkCost bootstrap_t_cost(const Sample& x);
WorkCost bootstrap_t_cost(const Sample& a, const Sample& b);

namespace detail {

/// How se² weighs the groups, in whole numbers: t = N·√scale / √V, N the key less the observed one,
/// V = Σ_g weight_g·(n_gQ_g − S_g²), weight_a = (L/n_a)²(n_b − 1), weight_b = (L/n_b)²(n_a − 1), scale =
/// (n_a−1)(n_b−1).
struct Studentiser {
  double weight_a = 0;  ///< 0 for one mean
  double weight_b = 1;
  double scale = 1;

  /// For a numerator other than 0: at the estimate itself t is 0, with scatter or without.
  double t(double numerator, double scatter) const {
    if (scatter == 0) return std::copysign(std::numeric_limits<double>::infinity(), numerator);
    return numerator * std::sqrt(scale / scatter);
  }

  /// Standard error of the statistic in keys.
  double key_error(double scatter) const { return std::sqrt(scatter / scale); }
};

inline Studentiser studentiser(const ResampledStatistic& s, const Sample& x) {
  const double u = static_cast<double>(s.factor_b());
  return {.weight_a = 0, .weight_b = u * u, .scale = static_cast<double>(x.size()) - 1};
}

inline Studentiser studentiser(const ResampledStatistic& s, const Sample& a, const Sample& b) {
  const double u = static_cast<double>(s.factor_b()), v = static_cast<double>(s.factor_a());
  const double n_a = static_cast<double>(a.size()), n_b = static_cast<double>(b.size());
  return {.weight_a = v * v * (n_b - 1), .weight_b = u * u * (n_a - 1), .scale = (n_a - 1) * (n_b - 1)};
}

/// All (S, V) of a group's resamples, V = weight·(nQ − S²); one slice for each sum S, V ascending in it.
struct ScatterLaw {
  struct Slice {
    std::int64_t sum;
    std::size_t begin, end;  ///< its states
    double weight;           ///< of all of them
  };
  std::vector<Slice> slices;    ///< sums ascending
  std::vector<double> scatter;  ///< V of each state
  std::vector<double> weight;   ///< number of resamples (or probability) of each state
  std::vector<double> below;    ///< weight of the states of the same slice before this one
  double total = 1;
};

/// Upper bound on the number of (S, Q): multisets of n readings, or points S ≤ nR, S²/n ≤ Q ≤ SR with Q ≡ S (mod 2).
inline double scatter_states(double shots, double span) {
  const double distinct = std::min(shots, span + 1);
  double multisets = 1;
  for (double k = 1; k < distinct && multisets < 1e18; ++k) multisets *= (shots + k) / k;
  return std::min(multisets, shots * shots * span * span * span / 12 + 2 * shots * span + 1);
}

/// The law of (S, Q), one draw at a time; equal states are merged after each.
inline ScatterLaw scatter_law(const Sample& x, double weight_of_group) {
  struct State {
    std::int64_t sum;
    WideInteger squares;
    double weight;
  };
  const std::vector<lattice::ReadingCount> draw = lattice::reading_counts(x);
  const std::size_t n = x.size();
  const bool whole = n <= lattice::most_shots_with_exact_counts;
  const double unit = whole ? 1.0 : 1.0 / static_cast<double>(n);
  std::vector<State> states{{0, 0, 1.0}}, next;
  for (std::size_t k = 0; k < n; ++k) {
    next.clear();
    next.reserve(states.size() * draw.size());
    for (const auto& [above, count] : draw)
      for (const State& s : states)
        next.push_back({s.sum + above, s.squares + WideInteger{above} * above, s.weight * count * unit});
    std::sort(next.begin(), next.end(),
              [](const State& p, const State& q) { return p.sum != q.sum ? p.sum < q.sum : p.squares < q.squares; });
    states.clear();
    for (const State& s : next) {
      if (!states.empty() && states.back().sum == s.sum && states.back().squares == s.squares)
        states.back().weight += s.weight;
      else
        states.push_back(s);
    }
  }

  ScatterLaw law;
  law.scatter.reserve(states.size());
  law.weight.reserve(states.size());
  law.below.reserve(states.size());
  for (const State& s : states) {
    if (law.slices.empty() || law.slices.back().sum != s.sum)
      law.slices.push_back({s.sum, law.scatter.size(), law.scatter.size(), 0.0});
    ScatterLaw::Slice& slice = law.slices.back();
    const WideInteger deviations = WideInteger{static_cast<std::int64_t>(n)} * s.squares - WideInteger{s.sum} * s.sum;
    law.scatter.push_back(weight_of_group * static_cast<double>(deviations));
    law.weight.push_back(s.weight);
    law.below.push_back(slice.weight);
    slice.weight += s.weight;
    slice.end = law.scatter.size();
  }
  if (whole)
    for (std::size_t i = 0; i < n; ++i) law.total *= static_cast<double>(n);
  return law;
}

/// Law of t* over all pairs of a state of a with a state of b; for one mean, a has the one state (0, 0).
///
/// For a fixed state of a and sum of b, t* ≤ c is a half-line in V_b, so running weights replace the loop over b's
/// states: two pointers move along V_a and V_b.
class StudentisedLaw {
 public:
  StudentisedLaw(ScatterLaw a, ScatterLaw b, const ResampledStatistic& statistic, Studentiser studentiser)
      : a_{std::move(a)},
        b_{std::move(b)},
        u_{statistic.factor_b()},
        v_{statistic.factor_a()},
        observed_{statistic.observed()},
        studentiser_{studentiser},
        total_{a_.total * b_.total},
        largest_{largest_finite(statistic)} {}

  /// q(p): smallest t with P(t* ≤ t) ≥ p; may be infinite.   Requires 0 < p < 1.
  double quantile(double p) const {
    const double needed = (p - BootstrapLaw::slack(p)) * total_;
    const Reach minus_infinity = infinite(-1);
    if (minus_infinity.weight >= needed) return -std::numeric_limits<double>::infinity();
    const Reach negative = reach(-0.0);
    if (negative.weight >= needed) return bracketed(-largest_, minus_infinity, -0.0, negative, needed);
    const Reach not_positive = reach(0.0);
    if (not_positive.weight >= needed) return 0.0;
    if (total_ - infinite(+1).weight < needed) return std::numeric_limits<double>::infinity();
    return bracketed(0.0, not_positive, largest_, reach(largest_), needed);
  }

 private:
  /// Weight and number of the pairs of states with t* ≤ c.
  struct Reach {
    double weight = 0;
    double pairs = 0;
  };

  double numerator(const ScatterLaw::Slice& a, const ScatterLaw::Slice& b) const {
    return static_cast<double>(u_ * b.sum - v_ * a.sum - observed_);
  }

  /// V that makes t = c: t* ≤ c is V ≥ it for N > 0, V ≤ it for N < 0. c = ±0 stands for "next to 0", V = ∞.
  double threshold(double numerator, double c) const {
    if (c == 0) return std::numeric_limits<double>::infinity();
    const double q = numerator / c;
    return q * q * studentiser_.scale;
  }

  /// Index of the first state of b's slice with V_b ≥ (or > ) limit, moving down from `from` as limits fall.
  std::size_t first_from(const ScatterLaw::Slice& slice, std::size_t from, double limit, bool strictly_above) const {
    while (from > slice.begin && (strictly_above ? b_.scatter[from - 1] > limit : b_.scatter[from - 1] >= limit))
      --from;
    return from;
  }

  double weight_before(const ScatterLaw::Slice& slice, std::size_t index) const {
    return index == slice.end ? slice.weight : b_.below[index];
  }

  /// c > 0 or +0: t* ≤ c holds for N ≤ 0, and for N > 0 when V ≥ threshold. c < 0 or −0: for N < 0 when V ≤ threshold.
  Reach reach(double c) const {
    const bool negative = std::signbit(c);
    Reach r;
    for (const auto& a : a_.slices)
      for (const auto& b : b_.slices) {
        const double n = numerator(a, b);
        const double b_states = static_cast<double>(b.end - b.begin);
        if (negative ? n >= 0 : n <= 0) {
          if (!negative) {
            r.weight += a.weight * b.weight;
            r.pairs += static_cast<double>(a.end - a.begin) * b_states;
          }
          continue;
        }
        const double limit = threshold(n, c);
        std::size_t j = b.end;
        for (std::size_t i = a.begin; i < a.end; ++i) {
          j = first_from(b, j, limit - a_.scatter[i], negative);
          const double before = weight_before(b, j), states_before = static_cast<double>(j - b.begin);
          r.weight += a_.weight[i] * (negative ? before : b.weight - before);
          r.pairs += negative ? states_before : b_states - states_before;
        }
      }
    return r;
  }

  /// Pairs without scatter and with a numerator of this sign.
  Reach infinite(int sign) const {
    Reach r;
    for (const auto& a : a_.slices)
      for (const auto& b : b_.slices)
        if (a_.scatter[a.begin] == 0 && b_.scatter[b.begin] == 0 && sign * numerator(a, b) > 0) {
          r.weight += a_.weight[a.begin] * b_.weight[b.begin];
          r.pairs += 1;
        }
    return r;
  }

  /// Above every finite |t*|.
  double largest_finite(const ResampledStatistic& s) const {
    double least = std::numeric_limits<double>::infinity();
    for (const ScatterLaw* g : {&a_, &b_})
      for (const double v : g->scatter)
        if (v > 0) least = std::min(least, v);
    const double range = static_cast<double>(s.highest()) - static_cast<double>(s.lowest());
    return 2 * studentiser_.t(range, least) + 1;
  }

  /// The quantile within (low, high], both of one sign (or signed zeros), reach(low) short of what is needed.
  double bracketed(double low, Reach at_low, double high, Reach at_high, double needed) const {
    constexpr double few = 4096;
    // From the end next to 0 outwards: the far end may be 1e6 times as far as the answer.
    const double sign = std::signbit(high) ? -1 : +1;
    double start = 1;
    while (at_high.pairs - at_low.pairs > few) {
      double middle = 0.5 * (low + high);
      if (sign * middle > 2 * start) middle = sign * (start *= 2);
      if (!(middle > low && middle < high)) return high;
      const Reach at = reach(middle);
      if (at.weight >= needed) {
        high = middle;
        at_high = at;
      } else {
        low = middle;
        at_low = at;
      }
    }
    std::vector<Atom> atoms = atoms_between(low, high);
    std::sort(atoms.begin(), atoms.end(), [](const Atom& p, const Atom& q) { return p.t < q.t; });
    double weight = at_low.weight;
    for (const Atom& atom : atoms)
      if ((weight += atom.weight) >= needed) return atom.t;
    return atoms.empty() ? high : atoms.back().t;
  }

  struct Atom {
    double t;
    double weight;
  };

  /// Pairs counted by reach(high) and not by reach(low), by the same comparisons.
  std::vector<Atom> atoms_between(double low, double high) const {
    const bool negative = std::signbit(high);
    std::vector<Atom> atoms;
    for (const auto& a : a_.slices)
      for (const auto& b : b_.slices) {
        const double n = numerator(a, b);
        if (negative ? n >= 0 : n <= 0) continue;
        const double limit_low = threshold(n, low), limit_high = threshold(n, high);
        std::size_t j_low = b.end, j_high = b.end;
        for (std::size_t i = a.begin; i < a.end; ++i) {
          j_low = first_from(b, j_low, limit_low - a_.scatter[i], negative);
          j_high = first_from(b, j_high, limit_high - a_.scatter[i], negative);
          for (std::size_t j = std::min(j_low, j_high); j < std::max(j_low, j_high); ++j)
            atoms.push_back({studentiser_.t(n, a_.scatter[i] + b_.scatter[j]), a_.weight[i] * b_.weight[j]});
        }
      }
    return atoms;
  }

  ScatterLaw a_, b_;
  std::int64_t u_, v_, observed_;
  Studentiser studentiser_;
  double total_, largest_;
};

/// Scatter V of the readings themselves, and the result without limits.
inline BootstrapResult studentised_result(const ResampledStatistic& s, const Studentiser& studentiser, double scatter) {
  const double se = studentiser.key_error(scatter) / static_cast<double>(s.steps_apart()) * s.step().value();
  BootstrapResult r{.estimate = s.estimate(), .standard_error = se, .law_is_a_point = s.all_equal()};
  if (s.all_equal()) r.reason = NoBootstrapInterval::law_is_a_point;
  return r;
}

inline double scatter_of(const Sample& x, double weight) {
  return weight * static_cast<double>(moments(x).scaled_deviations());
}

inline Interval studentised_limits(const BootstrapResult& r, double t_low, double t_high) {
  return {.lower = r.estimate - t_high * r.standard_error, .upper = r.estimate - t_low * r.standard_error};
}

inline void set_studentised_limits(BootstrapResult& r, const StudentisedLaw& law, ConfidenceLevel level) {
  const double tail = 0.5 * level.alpha();
  r.interval = studentised_limits(r, law.quantile(tail), law.quantile(1 - tail));
}

/// Building the states, and up to 40 passes for the two quantiles.
inline WorkCost studentised_cost(double shots_a, double span_a, double shots_b, double span_b) {
  const double states_a = scatter_states(shots_a, span_a), states_b = scatter_states(shots_b, span_b);
  const double sums_a = std::min(states_a, shots_a * span_a + 1), sums_b = std::min(states_b, shots_b * span_b + 1);
  const auto build = [](double shots, double span, double states) {
    const double entries = states * std::min(shots, span + 1);
    return WorkCost{.operations = 4 * shots * entries, .bytes = 48 * (entries + 2 * states)};
  };
  const WorkCost a = build(shots_a, span_a, states_a), b = build(shots_b, span_b, states_b);
  return {.operations = a.operations + b.operations + 40 * (states_a * sums_b + states_b * sums_a),
          .bytes = a.bytes + b.bytes};
}

}  // namespace detail

inline WorkCost bootstrap_t_cost(const Sample& x) {
  return detail::studentised_cost(1, 0, static_cast<double>(x.size()), static_cast<double>(x.span()));
}

inline WorkCost bootstrap_t_cost(const Sample& a, const Sample& b) {
  return detail::studentised_cost(static_cast<double>(a.size()), static_cast<double>(a.span()),
                                  static_cast<double>(b.size()), static_cast<double>(b.span()));
}

inline BootstrapResult bootstrap_t(const Sample& x, ConfidenceLevel level, WorkBudget budget) {
  const ResampledStatistic s{"bootstrap_t", x};
  const auto cost_at = [&](double span) { return detail::studentised_cost(1, 0, static_cast<double>(x.size()), span); };
  require_within("bootstrap_t", bootstrap_t_cost(x), budget,
                 detail::what_would_fit(detail::largest_span(cost_at, budget)));
  const detail::Studentiser by = detail::studentiser(s, x);
  BootstrapResult r = detail::studentised_result(s, by, detail::scatter_of(x, by.weight_b));
  if (r.reason) return r;
  detail::ScatterLaw point{.slices = {{0, 0, 1, 1.0}}, .scatter = {0.0}, .weight = {1.0}, .below = {0.0}};
  const detail::StudentisedLaw law{std::move(point), detail::scatter_law(x, by.weight_b), s, by};
  detail::set_studentised_limits(r, law, level);
  return r;
}

inline BootstrapResult bootstrap_t(const Sample& a, const Sample& b, ConfidenceLevel level, WorkBudget budget) {
  const ResampledStatistic s{"bootstrap_t", a, b};
  const auto cost_at = [&](double span) {
    return detail::studentised_cost(static_cast<double>(a.size()), span, static_cast<double>(b.size()), span);
  };
  require_within("bootstrap_t", bootstrap_t_cost(a, b), budget,
                 detail::what_would_fit(detail::largest_span(cost_at, budget)));
  const detail::Studentiser by = detail::studentiser(s, a, b);
  BootstrapResult r =
      detail::studentised_result(s, by, detail::scatter_of(a, by.weight_a) + detail::scatter_of(b, by.weight_b));
  if (r.reason) return r;
  const detail::StudentisedLaw law{detail::scatter_law(a, by.weight_a), detail::scatter_law(b, by.weight_b), s, by};
  detail::set_studentised_limits(r, law, level);
  return r;
}

}  // namespace shotassay
