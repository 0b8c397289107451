#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/scatter_history.hpp>
#include <shotassay/numerics/f_distribution.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

struct ModeratedResult {
  double difference;                 ///< mean(b) − mean(a)
  double prior_sd;                   ///< s0, of the earlier strings
  double prior_degrees_of_freedom;   ///< min(d0, Σd of the earlier strings): the weight that the history may have
  double pooled_sd;                  ///< s of this test within set-ups, floors included
  double pooled_degrees_of_freedom;  ///< d = N − k
  double p_scatter;           ///< chance of an s this large where the history fits; 1 when there is no history (d0 = 0)
  bool history_fits;          ///< p_scatter ≥ 0.1; otherwise the history was set aside: s̃ = s, ν = d
  double moderated_sd;        ///< s̃
  double standard_error;      ///< s̃ √(1/n_a + 1/n_b)
  double degrees_of_freedom;  ///< ν
  double t;                   ///< difference / standard_error
  double p_two_sided;         ///< smallest α whose interval leaves out 0; of the family when it has three or more
  double half_width;          ///< H = max(S(0), S(T), E)
  double sampling;            ///< S(0)
  double sampling_with_rounding;  ///< S(T)
  double display_bound;           ///< E
  RoundingTerm decided_by;
  Interval interval;
};

/// Moderated t: what do earlier strings of shots add to a test of few shots, on a display that rounds?
///
/// In display steps, over all k set-ups given, N shots; φ_g = 1/12, but ¼ for a set-up of two readings; s0², d0 and D
/// (the strings' degrees of freedom, summed) of the prior:
///
///   s² = Σ_g (n_g − 1)·max(s_g², φ_g)/d         d = N − k
///   d0′ = min(d0, D), but 0 if P(F(d, d0′) ≥ s²/s0²) < 0.1: this test scatters more than the history allows
///   s̃² = max((d0′·s0² + d·s²)/(d0′ + d), 1/12)  ν = d0′ + d
///   V_g = s̃²/n_g,  S(x) = t(1−α/2; ν_x)·√(V_a + V_b + x),  ν_x = ν·(1 + x/(V_a + V_b))²
///   H = max(S(0), S(T), E);  interval (ȳ_b − ȳ_a) ± H
///
/// with T and E of `rounding_aware`; in E the set-up that is not all equal has V = max(s_o², φ_o, s̃²)/n_o and
/// t(1−α; ν). With k ≥ 3 set-ups t becomes q(1−α; k, ν)/√2, and in E α becomes α/m, m = k(k−1)/2.
/// At d0 = 0 this is the pooled t with the rounding-aware terms; where no floor, bound or term acts, the moderated t.
///
/// Units     results in the readings' unit; the prior in its square.
/// Requires  n ≥ 2 in each, one display step for all, two different indices; a prior variance above 0, d0 and D not
///           below 0. Else DomainError.
/// Assumes   independent normal shots with one SD in all set-ups, drawn from the same family as the SDs of the history.
/// Accuracy  as the t quantiles, 1e-13. Coverage at 95 %: 94 or more at the worst phase where the history is right, 89
///           where this test's SD is twice the history's (85 with two shots a side; docs/coverage.md).
/// Source    Smyth (2004) [smyth2004]; the bound D on d0, setting aside, and the rounding terms are ours.
ModeratedResult moderated(std::span<const Sample> setups, std::size_t from, std::size_t to, const ScatterPrior& prior,
                          ConfidenceLevel level = ConfidenceLevel{0.95});

/// Two set-ups alone.
ModeratedResult moderated(const Sample& a, const Sample& b, const ScatterPrior& prior,
                          ConfidenceLevel level = ConfidenceLevel{0.95});

namespace detail {

/// The three half-widths of a gap as functions of α, and their inverses, in steps.
class ModeratedGap {
 public:
  ModeratedGap(const RoundedGroup& a, const RoundedGroup& b, double variance, double degrees_of_freedom, Family family)
      : rounding_{a, b, family}, nu_{degrees_of_freedom}, family_{family} {
    const auto n_a = static_cast<double>(a.moments.n), n_b = static_cast<double>(b.moments.n);
    variance_ = variance / n_a + variance / n_b;
    if (a.all_equal == b.all_equal) return;
    const RoundedGroup& other = a.all_equal ? b : a;
    other_ = std::sqrt(std::max(other.variance_of_mean, variance / static_cast<double>(other.moments.n)));
  }

  double edges() const { return rounding_.edges(); }
  double type_b() const { return rounding_.type_b(); }
  bool within_edges() const { return rounding_.gap_within_edges(); }
  double u(double x) const { return std::sqrt(variance_ + x); }
  double degrees_of_freedom(double x) const { return nu_ * (1.0 + x / variance_) * (1.0 + x / variance_); }
  double sampling(double alpha, double x) const { return family_.factor(alpha, degrees_of_freedom(x)) * u(x); }

  double bound(double alpha) const {
    if (!other_) return edges();
    return std::max(edges(), 0.5 + numerics::t_upper_quantile(alpha / family_.pairs(), nu_) * *other_);
  }

  /// Smallest α at which H(α) < distance; 1 when there is none.
  double p(double distance) const {
    if (!(distance > edges())) return 1.0;
    double p = std::max(family_.p_two_sided(distance / u(0.0), degrees_of_freedom(0.0)),
                        family_.p_two_sided(distance / u(type_b()), degrees_of_freedom(type_b())));
    if (other_) p = std::max(p, family_.pairs() * numerics::t_upper_tail((distance - 0.5) / *other_, nu_));
    return std::min(1.0, p);
  }

 private:
  RoundingAwareGap rounding_;
  double nu_, variance_ = 0;
  std::optional<double> other_;  ///< √V of the one set-up that is not all equal
  Family family_;
};

}  // namespace detail

inline ModeratedResult moderated(std::span<const Sample> setups, std::size_t from, std::size_t to,
                                 const ScatterPrior& prior, ConfidenceLevel level) {
  if (from >= setups.size() || to >= setups.size() || from == to)
    throw DomainError{"moderated: needs two different set-ups out of " + std::to_string(setups.size())};
  if (!(prior.variance > 0.0 && std::isfinite(prior.variance)))
    throw DomainError{"moderated: the prior variance must be above 0 and finite, got " +
                      std::to_string(prior.variance)};
  for (const double d : {prior.degrees_of_freedom, prior.degrees_of_freedom_of_strings})
    if (!(d >= 0.0)) throw DomainError{"moderated: degrees of freedom must not be below 0, got " + std::to_string(d)};

  double squares = 0, d = 0;
  for (const Sample& s : setups) {
    require_one_lattice(setups[0], s);
    const RoundedGroup g = rounded_group(s);
    const auto n = static_cast<double>(g.moments.n);
    squares += (n - 1.0) * n * g.variance_of_mean;
    d += n - 1.0;
  }
  const double step = setups[0].step().value(), variance = squares / d;
  const double known = prior.usable_degrees_of_freedom();
  ScatterPrior used = prior;
  used.variance = prior.variance / step / step;
  used.degrees_of_freedom = known;
  const double p_scatter =
      known > 0.0 ? numerics::f_upper_tail(variance / used.variance, d, std::min(known, 1e9)) : 1.0;
  const bool fits = p_scatter >= 0.1;
  if (!fits) used.degrees_of_freedom = 0.0;
  const double moderated = std::max(squeezed_variance(used, variance, d), 1.0 / 12.0);
  const double nu = d + used.degrees_of_freedom, alpha = level.alpha();

  const RoundedGroup a = rounded_group(setups[from]), b = rounded_group(setups[to]);
  const detail::ModeratedGap gap{a, b, moderated, nu, Family{static_cast<int>(setups.size())}};
  const double s0 = gap.sampling(alpha, 0.0);
  const double st = a.tight || b.tight ? gap.sampling(alpha, gap.type_b()) : s0;
  const double e = gap.bound(alpha);
  const double half_width = std::max({s0, st, e});
  const double difference = mean_difference(a.moments, b.moments);
  return {.difference = difference * step,
          .prior_sd = prior.sd(),
          .prior_degrees_of_freedom = known,
          .pooled_sd = std::sqrt(variance) * step,
          .pooled_degrees_of_freedom = d,
          .p_scatter = p_scatter,
          .history_fits = fits,
          .moderated_sd = std::sqrt(moderated) * step,
          .standard_error = gap.u(0.0) * step,
          .degrees_of_freedom = nu,
          .t = difference / gap.u(0.0),
          .p_two_sided = gap.within_edges() ? 1.0 : gap.p(std::abs(difference)),
          .half_width = half_width * step,
          .sampling = s0 * step,
          .sampling_with_rounding = st * step,
          .display_bound = e * step,
          .decided_by = detail::largest_term(s0, st, e),
          .interval = centred(difference * step, half_width * step)};
}

inline ModeratedResult moderated(const Sample& a, const Sample& b, const ScatterPrior& prior, ConfidenceLevel level) {
  const Sample both[] = {a, b};
  return moderated(both, 0, 1, prior, level);
}

}  // namespace shotassay
