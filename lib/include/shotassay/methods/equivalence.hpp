#pragma once
#include <algorithm>
#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/methods/family.hpp>

namespace shotassay {

/// Where an interval lies against ±margin.
enum class MarginPosition {
  inside,  ///< the whole interval strictly between −margin and +margin
  beyond,  ///< the whole interval above +margin, or below −margin
  across   ///< neither
};

/// Two numbers that a lattice makes equal differ by rounding errors only; this much is still "equal".
inline double touching_distance(const Interval& interval, double bound) {
  double scale = std::abs(bound);
  for (const double end : {interval.lower, interval.upper})
    if (std::isfinite(end)) scale = std::max(scale, std::abs(end));
  return 1e-11 * scale;
}

/// Is the interval the proof of "the same within ±margin", of "more than the margin apart", or of neither?
///
/// The interval at the full level 1 − α is used, not the 1 − 2α interval of the usual two one-sided tests: with
/// rounded readings that one misses on one side in up to 9.1 % of tests. A limit exactly on the margin is not inside.
///
/// Units     margin in the interval's unit.
/// Requires  margin > 0; else DomainError. An interval without a finite end is never inside.
/// Source    inclusion rule: Schuirmann (1987) [schuirmann1987], with the longer interval.
inline MarginPosition margin_position(const Interval& interval, double margin) {
  if (!(margin > 0.0)) throw DomainError{"equivalence margin must be positive, got " + std::to_string(margin)};
  const double slack = touching_distance(interval, margin);
  if (interval.lower > -margin + slack && interval.upper < margin - slack) return MarginPosition::inside;
  if (interval.lower > margin + slack || interval.upper < -margin - slack) return MarginPosition::beyond;
  return MarginPosition::across;
}

/// The larger p of the two one-sided t tests of |difference| ≥ margin: small when the two means are the same within it.
///
///   p = P( T > (margin − |difference|)/se ),  T Student with ν
///
/// In a family of three or more set-ups the smallest α whose family-wise 1 − 2α interval lies inside the margin.
///
/// Requires  margin > 0, se > 0; else DomainError.
/// Source    Schuirmann (1987) [schuirmann1987].
inline double p_equivalence(double difference, double standard_error, double degrees_of_freedom, double margin,
                            Family family = Family{}) {
  if (!(margin > 0.0)) throw DomainError{"equivalence margin must be positive, got " + std::to_string(margin)};
  if (!(standard_error > 0.0)) throw DomainError{"p_equivalence: standard error must be positive"};
  return family.p_one_sided((margin - std::abs(difference)) / standard_error, degrees_of_freedom);
}

}  // namespace shotassay
