#pragma once
#include <algorithm>
#include <cmath>
#include <concepts>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/bootstrap_law.hpp>
#include <shotassay/numerics/normal.hpp>

namespace shotassay {

/// Why a bootstrap has no interval with these readings.
enum class NoBootstrapInterval {
  law_is_a_point,                ///< each group shows one value, so each resample is the sample: no width can be told
  bca_denominator_not_positive,  ///< 1 − a(z₀ + z) ≤ 0: too skewed for the level asked
  bias_correction_infinite       ///< no drawn resample on one side of the estimate: z₀ = ±∞ (too few resamples)
};

/// What each of the four bootstrap intervals returns. Estimate, interval and standard error in the readings' unit.
struct BootstrapResult {
  double estimate;  ///< mean(x), or mean(b) − mean(a)
  double standard_error;  ///< SD over all resamples, Σ(x − x̄)²/n² a group; of bootstrap_t: s²/n a group, divisor n − 1
  std::optional<Interval> interval{};           ///< ends may be infinite for bootstrap_t: no finite limit
  std::optional<NoBootstrapInterval> reason{};  ///< when the interval is absent

  bool law_is_a_point;  ///< each group shows one value
  bool exact = true;    ///< all resamples counted; false: some drawn

  std::optional<double> bias_correction{};  ///< z₀, of bootstrap_bca
  std::optional<double> acceleration{};     ///< a, of bootstrap_bca

  std::optional<std::uint64_t> resamples{};  ///< drawn; absent when exact
  std::optional<Interval> lower_range{};     ///< Monte Carlo error: holds the exact lower limit 95 times in 100 or more
  std::optional<Interval> upper_range{};     ///< the same for the upper limit
};

/// Percentile bootstrap: between which values do 1 − α of the resampled means (or gaps) lie?
///
///   [ q(α/2), q(1 − α/2) ],   q(p) = smallest value whose probability, with all below it, reaches p
///
/// Exact: all resamples counted, none drawn. One sample: its mean. Two: the gap mean(b) − mean(a).
///
/// Units     the readings'.
/// Requires  n ≥ 2 in each group, one display step; otherwise DomainError. Work within the budget, else BudgetExceeded.
/// Absent    all readings equal (in each of two groups): the law is a point and tells no width. It does not see the
///           display, which cannot tell readings within a step apart.
/// Assumes   independent shots. The level is far from kept at few shots: see `measured_coverage`.
/// Source    Efron & Tibshirani (1993) [efron1993], chapter 13.
BootstrapResult bootstrap_percentile(const Sample& x, ConfidenceLevel level = ConfidenceLevel{0.95},
                                     WorkBudget budget = {});
BootstrapResult bootstrap_percentile(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                                     WorkBudget budget = {});

/// Basic bootstrap: the percentile limits mirrored at the estimate, as errors of it.
///
///   [ 2θ̂ − q(1 − α/2), 2θ̂ − q(α/2) ]
///
/// Units, Requires, Absent, Assumes   as bootstrap_percentile.
/// Source    Davison & Hinkley (1997) [davison1997], chapter 5.
BootstrapResult bootstrap_basic(const Sample& x, ConfidenceLevel level = ConfidenceLevel{0.95}, WorkBudget budget = {});
BootstrapResult bootstrap_basic(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                                WorkBudget budget = {});

/// BCa bootstrap: percentile limits at levels corrected for bias and for a standard error that moves with the mean.
///
///   levels  Φ( z₀ + (z₀ + z)/(1 − a(z₀ + z)) ),  z = ∓z(1 − α/2)
///   z₀ = Φ⁻¹( P(θ* < θ̂) + ½P(θ* = θ̂) )        a = Σ_gΣU³/n_g³ ÷ 6(Σ_gΣU²/n_g²)^{3/2}
///
/// U are the centred readings, their sign turned for group a. Half of the ties count in z₀: on a lattice they are many.
///
/// Units, Requires, Assumes   as bootstrap_percentile.
/// Absent    also when 1 − a(z₀ + z) ≤ 0 at a limit: the correction has no answer.
/// Source    Efron (1987) [efron1987]; a of two samples from the jackknife of each, Efron & Tibshirani (1993)
/// [efron1993].
BootstrapResult bootstrap_bca(const Sample& x, ConfidenceLevel level = ConfidenceLevel{0.95}, WorkBudget budget = {});
BootstrapResult bootstrap_bca(const Sample& a, const Sample& b, ConfidenceLevel level = ConfidenceLevel{0.95},
                              WorkBudget budget = {});

/// What the three intervals read of a law: all resamples counted (BootstrapLaw) or some drawn (SampledBootstrapLaw).
template <class Law>
concept ResamplingLaw = requires(const Law& law, std::int64_t key, double p) {
  { law.statistic() } -> std::same_as<const ResampledStatistic&>;
  { law.lower_tail(key) } -> std::same_as<double>;
  { law.upper_tail(key) } -> std::same_as<double>;
  { law.lower_quantile(p) } -> std::same_as<std::int64_t>;
  { law.upper_quantile(p) } -> std::same_as<std::int64_t>;
};

/// The same from a law built once: for callers that want several intervals or levels.
template <ResamplingLaw Law>
BootstrapResult bootstrap_percentile(const Law& law, ConfidenceLevel level = ConfidenceLevel{0.95});
template <ResamplingLaw Law>
BootstrapResult bootstrap_basic(const Law& law, ConfidenceLevel level = ConfidenceLevel{0.95});
template <ResamplingLaw Law>
BootstrapResult bootstrap_bca(const Law& law, ConfidenceLevel level = ConfidenceLevel{0.95});

namespace detail {

/// Where a limit stands in the law: q(p), from whichever tail is the shorter.
struct LawLevel {
  double tail;  ///< p, or 1 − p when upper
  bool upper;
  double noise;  ///< SD of the level times √(number of resamples), when resamples are drawn

  double from_below() const { return upper ? 1 - tail : tail; }
};

inline LawLevel plain_level(double tail, bool upper) { return {tail, upper, std::sqrt(tail * (1 - tail))}; }

template <ResamplingLaw Law>
std::int64_t quantile(const Law& law, const LawLevel& at) {
  return at.upper ? law.upper_quantile(at.tail) : law.lower_quantile(at.tail);
}

template <ResamplingLaw Law>
BootstrapResult bootstrap_result(const Law& law) {
  const ResampledStatistic& s = law.statistic();
  BootstrapResult r{.estimate = s.estimate(), .standard_error = s.standard_error(), .law_is_a_point = s.all_equal()};
  if (s.all_equal()) r.reason = NoBootstrapInterval::law_is_a_point;
  if constexpr (requires { law.resamples(); }) {
    r.exact = false;
    r.resamples = law.resamples();
  }
  return r;
}

/// Limits at two levels of the law; mirrored at the estimate for the basic interval.
template <ResamplingLaw Law>
void set_limits(BootstrapResult& r, const Law& law, const LawLevel& low, const LawLevel& high, bool mirrored) {
  const ResampledStatistic& s = law.statistic();
  const auto value = [&](std::int64_t key) { return s.in_unit(mirrored ? 2 * s.observed() - key : key); };
  const auto interval = [&](std::int64_t p, std::int64_t q) {
    return mirrored ? Interval{.lower = value(q), .upper = value(p)} : Interval{.lower = value(p), .upper = value(q)};
  };
  r.interval = interval(quantile(law, low), quantile(law, high));
  if constexpr (requires { law.quantile_range(low.tail, low.noise); }) {
    const auto range = [&](const LawLevel& at) {
      const auto [p, q] = law.quantile_range(at.from_below(), at.noise);
      return interval(p, q);
    };
    r.lower_range = range(mirrored ? high : low);
    r.upper_range = range(mirrored ? low : high);
  }
}

}  // namespace detail

template <ResamplingLaw Law>
BootstrapResult bootstrap_percentile(const Law& law, ConfidenceLevel level) {
  BootstrapResult r = detail::bootstrap_result(law);
  const double tail = 0.5 * level.alpha();
  if (!r.reason) detail::set_limits(r, law, detail::plain_level(tail, false), detail::plain_level(tail, true), false);
  return r;
}

template <ResamplingLaw Law>
BootstrapResult bootstrap_basic(const Law& law, ConfidenceLevel level) {
  BootstrapResult r = detail::bootstrap_result(law);
  const double tail = 0.5 * level.alpha();
  if (!r.reason) detail::set_limits(r, law, detail::plain_level(tail, false), detail::plain_level(tail, true), true);
  return r;
}

template <ResamplingLaw Law>
BootstrapResult bootstrap_bca(const Law& law, ConfidenceLevel level) {
  BootstrapResult r = detail::bootstrap_result(law);
  if (r.reason) return r;
  const ResampledStatistic& s = law.statistic();
  const double a = s.acceleration();
  r.acceleration = a;

  // Halves of P(θ* < θ̂) and P(θ* ≤ θ̂), and of the tails above: z₀ is 0 exactly when the two sides are equal.
  const double below = 0.5 * (law.lower_tail(s.observed() - 1) + law.lower_tail(s.observed()));
  const double above = 0.5 * (law.upper_tail(s.observed() - 1) + law.upper_tail(s.observed()));
  if (!(below > 0) || !(above > 0)) {
    r.reason = NoBootstrapInterval::bias_correction_infinite;
    return r;
  }
  const double z0 = below <= above ? numerics::normal_quantile(below) : numerics::normal_upper_quantile(above);
  r.bias_correction = z0;

  const double z = numerics::normal_upper_quantile(0.5 * level.alpha());
  const double slope_low = 1 - a * (z0 - z), slope_high = 1 - a * (z0 + z);
  if (!(slope_low > 0) || !(slope_high > 0)) {
    r.reason = NoBootstrapInterval::bca_denominator_not_positive;
    return r;
  }
  const auto level_at = [&](double shifted, double slope) {
    const double w = z0 + shifted / slope;
    const bool upper = w > 0;
    const double tail = upper ? numerics::normal_upper_tail(w) : numerics::normal_lower_tail(w);
    if constexpr (requires { law.resamples(); }) {
      // Drawn resamples move z₀ too: Var = p(1 − p) + c²P(1 − P) − 2c(min(p, P) − pP), c = dp/dP, P = Φ(z₀).
      const double p = upper ? 1 - tail : tail;
      const double c = numerics::normal_density(w) * (1 + 1 / (slope * slope)) / numerics::normal_density(z0);
      const double variance = p * (1 - p) + c * c * below * (1 - below) - 2 * c * (std::min(p, below) - p * below);
      return detail::LawLevel{tail, upper, std::sqrt(std::max(variance, 0.0))};
    } else {
      return detail::LawLevel{tail, upper, 0.0};
    }
  };
  // A level that rounds to 0 asks for the end of the law: the least tail a double holds does that.
  const auto kept = [](detail::LawLevel at) {
    at.tail = std::max(at.tail, std::numeric_limits<double>::min());
    return at;
  };
  detail::set_limits(r, law, kept(level_at(z0 - z, slope_low)), kept(level_at(z0 + z, slope_high)), false);
  return r;
}

inline BootstrapResult bootstrap_percentile(const Sample& x, ConfidenceLevel level, WorkBudget budget) {
  return bootstrap_percentile(BootstrapLaw{"bootstrap_percentile", x, budget}, level);
}
inline BootstrapResult bootstrap_percentile(const Sample& a, const Sample& b, ConfidenceLevel level,
                                            WorkBudget budget) {
  return bootstrap_percentile(BootstrapLaw{"bootstrap_percentile", a, b, budget}, level);
}
inline BootstrapResult bootstrap_basic(const Sample& x, ConfidenceLevel level, WorkBudget budget) {
  return bootstrap_basic(BootstrapLaw{"bootstrap_basic", x, budget}, level);
}
inline BootstrapResult bootstrap_basic(const Sample& a, const Sample& b, ConfidenceLevel level, WorkBudget budget) {
  return bootstrap_basic(BootstrapLaw{"bootstrap_basic", a, b, budget}, level);
}
inline BootstrapResult bootstrap_bca(const Sample& x, ConfidenceLevel level, WorkBudget budget) {
  return bootstrap_bca(BootstrapLaw{"bootstrap_bca", x, budget}, level);
}
inline BootstrapResult bootstrap_bca(const Sample& a, const Sample& b, ConfidenceLevel level, WorkBudget budget) {
  return bootstrap_bca(BootstrapLaw{"bootstrap_bca", a, b, budget}, level);
}

}  // namespace shotassay
