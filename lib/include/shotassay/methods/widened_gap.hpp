#pragma once
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/numerics/student_t.hpp>

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
  double standard_uncertainty;  ///< u_c = √(u'² + w²)
  double degrees_of_freedom;    ///< ν_eff
  double coverage_factor;       ///< k = t(1−α/2; ν_eff)
  double half_width;            ///< k·u_c
  double added_share;           ///< w²/u_c²: how much of the variance is stated knowledge and not readings
  Interval interval;
};

/// Interval for a gap that carries, beside what its readings tell, a stated standard uncertainty w.
///
///   u' = H/t(1−α/2; ν)    u_c² = u'² + w²    ν_eff = ν·u_c⁴/u'⁴    k = t(1−α/2; ν_eff)    interval gap ± k·u_c
///
/// Welch and Satterthwaite's rule with ν = ∞ for the stated part. u' is u, or more where the interval of the readings
/// is longer than shot scatter alone makes it (display bound), so that w = 0 gives back that interval and no w a
/// shorter one.
///
/// Units     all of one unit; ν, k and the share have none.
/// Requires  a finite gap, u ≥ 0, ν > 0 (infinite allowed), H ≥ 0, w ≥ 0, u, H and w not all 0; else DomainError.
/// Assumes   the stated part independent of the readings and normal.
/// Source    JCGM 100:2008 G.4 [gum]; [satterthwaite1946].
inline WidenedGapResult widened_gap(const GapEstimate& estimate, double added_uncertainty,
                                    ConfidenceLevel level = ConfidenceLevel{0.95}) {
  const auto [gap, u, nu, half_width] = estimate;
  const double w = added_uncertainty;
  if (!std::isfinite(gap)) throw DomainError{"widened_gap: the gap must be a number"};
  if (!(u >= 0.0) || !std::isfinite(u))
    throw DomainError{"widened_gap: the standard error must be 0 or more, got " + std::to_string(u)};
  if (!(nu > 0.0)) throw DomainError{"widened_gap: degrees of freedom must be positive, got " + std::to_string(nu)};
  if (!(half_width >= 0.0) || !std::isfinite(half_width))
    throw DomainError{"widened_gap: the half-width must be 0 or more, got " + std::to_string(half_width)};
  if (!(w >= 0.0) || !std::isfinite(w))
    throw DomainError{"widened_gap: the added uncertainty must be 0 or more, got " + std::to_string(w)};
  const double own = std::max(u, half_width / numerics::t_two_sided_factor(level.alpha(), nu));
  const double total = std::hypot(own, w);
  if (!(total > 0.0)) throw DomainError{"widened_gap: no uncertainty at all: neither readings nor stated"};
  const double share = own / total;  // squared twice below, where own⁴ itself could underflow
  const double effective = share > 0.0 ? nu / (share * share * share * share) : std::numeric_limits<double>::infinity();
  const double k = numerics::t_two_sided_factor(level.alpha(), effective);
  return {.gap = gap,
          .standard_uncertainty = total,
          .degrees_of_freedom = effective,
          .coverage_factor = k,
          .half_width = k * total,
          .added_share = (w / total) * (w / total),
          .interval = centred(gap, k * total)};
}

}  // namespace shotassay
