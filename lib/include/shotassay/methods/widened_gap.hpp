#pragma once
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>

namespace shotassay {

/// A gap as some method found it: the estimate, its standard error with ν, and the half-width H of its interval.
struct GapEstimate {
  double gap;
  double standard_error;      ///< u
  double degrees_of_freedom;  ///< ν of u
  double half_width;          ///< H; may exceed t(1−α/2; ν)·u where the display, not shot scatter, decides
};

struct WidenedGapResult {
  double gap;
  double standard_uncertainty;  ///< u_c
  double degrees_of_freedom;    ///< ν_eff
  double coverage_factor;       ///< k = t(1−α/2; ν_eff)
  double half_width;            ///< k·u_c, or more: see below
  double added_share;           ///< w²/u_c²: how much of the variance is stated knowledge and not readings
  Interval interval;
};

/// Interval for a gap that carries, beside what its readings tell, a stated standard uncertainty w.
///
///   u_c² = u² + w²    ν_eff = ν·u_c⁴/u⁴    k = t(1−α/2; ν_eff)    B² = max(0, H² − (t(1−α/2; ν)·u)²)
///   half-width = max( √((k·u_c)² + B²), H )
///
/// Welch and Satterthwaite's rule, ν = ∞ for the stated part. It may shorten an interval (k falls faster than u_c
/// rises), which no added uncertainty should: hence H. B is what the display left open beyond shot scatter: a bound, so
/// it has no part in ν, and it stays. w = 0 gives back H, or t·u where that is more. With `family` of k ≥ 3 set-ups
/// t(1−α/2; ν) becomes q(1−α; k, ν)/√2.
///
/// Units     all of one unit; ν, k and the share have none.
/// Requires  a finite gap, u ≥ 0, ν > 0 (infinite allowed), H ≥ 0, w ≥ 0, u and w not both 0; else DomainError.
/// Assumes   the stated part independent of the readings and normal; H at the same level and for the same family.
/// Accuracy  coverage at 95 %: 92.7 or more at the worst phase tried, 3 to 10 shots (docs/coverage.md).
/// Source    JCGM 100:2008 G.4 [gum]; [satterthwaite1946]; B and the least H are our own.
WidenedGapResult widened_gap(const GapEstimate& estimate, double added_uncertainty,
                             ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{});

namespace detail {

inline void require_estimate(const GapEstimate& estimate, const char* asked) {
  const std::string who = std::string{asked} + ": ";
  if (!std::isfinite(estimate.gap)) throw DomainError{who + "the gap must be a number"};
  if (!(estimate.standard_error >= 0.0) || !std::isfinite(estimate.standard_error))
    throw DomainError{who + "the standard error must be 0 or more, got " + std::to_string(estimate.standard_error)};
  if (!(estimate.degrees_of_freedom > 0.0))
    throw DomainError{who + "degrees of freedom must be positive, got " + std::to_string(estimate.degrees_of_freedom)};
  if (!(estimate.half_width >= 0.0) || !std::isfinite(estimate.half_width))
    throw DomainError{who + "the half-width must be 0 or more, got " + std::to_string(estimate.half_width)};
}

}  // namespace detail

inline WidenedGapResult widened_gap(const GapEstimate& estimate, double added_uncertainty, ConfidenceLevel level,
                                    Family family) {
  const auto [gap, u, nu, half_width] = estimate;
  const double w = added_uncertainty;
  detail::require_estimate(estimate, "widened_gap");
  if (!(w >= 0.0) || !std::isfinite(w))
    throw DomainError{"widened_gap: the added uncertainty must be 0 or more, got " + std::to_string(w)};
  const double total = std::hypot(u, w);
  if (!(total > 0.0)) throw DomainError{"widened_gap: no uncertainty at all, neither of the readings nor stated"};
  const double share = u / total;
  const double effective = share > 0.0 ? nu / (share * share * share * share) : std::numeric_limits<double>::infinity();
  const double k = family.factor(level.alpha(), effective);
  const double scatter = family.factor(level.alpha(), nu) * u;
  const double bound = std::sqrt(std::max(0.0, (half_width - scatter) * (half_width + scatter)));
  const double wide = std::max(std::hypot(k * total, bound), half_width);
  return {.gap = gap,
          .standard_uncertainty = total,
          .degrees_of_freedom = effective,
          .coverage_factor = k,
          .half_width = wide,
          .added_share = (w / total) * (w / total),
          .interval = centred(gap, wide)};
}

}  // namespace shotassay
