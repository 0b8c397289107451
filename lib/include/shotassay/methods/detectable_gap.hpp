#pragma once
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/root.hpp>

namespace shotassay {

/// Minimum detectable difference: the true gap that a test of this design finds with this power.
///
///   δ > 0 with welch_power(δ) = power; one root, because power rises strictly with |δ|
///
/// For shots already fired take as SDs √(n·V), V the floored variance of the mean that rounding_aware uses.
///
/// Units     the SDs' unit.
/// Requires  as welch_power, and a power above the chance α of an interval to leave out 0 when the gap is 0
/// (DomainError). Accuracy  the power at the gap returned is the one asked to 2e-9. Source    own derivation: see
/// welch_power; the root by TOMS algorithm 748 [alefeld1995].
double detectable_gap(GroupDesign a, GroupDesign b, Power power = Power{0.8},
                      ConfidenceLevel level = ConfidenceLevel{0.95}, Sides sides = Sides::two,
                      Family family = Family{});

/// The same on a curve at hand, for many powers of one design.
double detectable_gap(const WelchPowerCurve& curve, Power power, Sides sides = Sides::two);

inline double detectable_gap(const WelchPowerCurve& curve, Power power, Sides sides) {
  const auto power_at = [&](double gap) {
    return (sides == Sides::two ? curve.two_sided(gap) : curve.one_sided(gap)).power;
  };
  const double wanted = power.value();
  if (wanted > 1.0 - 1e-7)
    throw DomainError{"detectable_gap: needs a power of at most 0.9999999, as powers are computed to 1e-9"};
  const double by_chance = power_at(0.0);
  if (wanted <= by_chance)
    throw DomainError{"detectable_gap: power " + std::to_string(wanted) +
                      " is reached without any gap: by chance alone " + std::to_string(by_chance) +
                      " of the intervals leave out 0"};
  double low = 0.0, high = 4.0 * curve.standard_error();
  while (power_at(high) < wanted) {
    low = high;
    high *= 2.0;
  }
  return numerics::find_root([&](double gap) { return power_at(gap) - wanted; }, low, high, 1e-11);
}

inline double detectable_gap(GroupDesign a, GroupDesign b, Power power, ConfidenceLevel level, Sides sides,
                             Family family) {
  return detectable_gap(WelchPowerCurve{a, b, CriticalFactor{level, sides, family}}, power, sides);
}

}  // namespace shotassay
