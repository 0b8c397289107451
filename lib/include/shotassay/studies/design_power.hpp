#pragma once
#include <memory>
#include <optional>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/methods/welch_power.hpp>

namespace shotassay {

/// The interval that a test is planned for.
enum class PlannedInterval {
  rounding_aware,  ///< the one that `compare` rests its verdict on
  welch            ///< Welch's plain interval
};

/// How a chance was worked out.
enum class ChanceBy {
  lattice,     ///< every state of the readings on the display's lattice counted
  quadrature,  ///< exact integral for Welch's interval at variance sd² + step²/12
  simulation   ///< tests drawn at random
};

/// A share of tests, before any was shot.
struct Chance {
  double average;                     ///< over the unknown place of the true averages between two readings
  std::optional<double> worst_phase;  ///< at the place where it is least; absent where no lattice was looked at
  double error;                       ///< bound of what was left out; of a simulation its standard error
};

struct DesignPowerOptions {
  DisplayStep step{Decimal{1, 0}};
  ConfidenceLevel level{0.95};
  PlannedInterval interval = PlannedInterval::rounding_aware;
  WorkBudget budget{.operations = 2e8};  ///< of one chance counted on the lattice
  double cheap = 5e7;                    ///< operations above which the integral is preferred where it agrees
  SimulatedTests simulation{};           ///< for what neither the lattice nor the integral answers
  bool simulate = false;                 ///< true: by simulation, whatever else would answer
};

/// What will a test of this design find, and how wide will its range be?
///
/// For the rounding-aware interval by counting lattice states while that is cheap; beyond by the integral for Welch's
/// interval where it is known to agree within 0.003 (for `same` 0.005) (see quadrature_suffices); else by counting
/// while the budget allows, and beyond that by simulation.
///
/// Units     the display's.
/// Requires  as RoundingAwarePower and WelchPowerCurve.
class DesignPower {
 public:
  DesignPower(GroupDesign a, GroupDesign b, const DesignPowerOptions& options);

  ChanceBy by() const { return by_; }
  /// Of a simulation: as many as asked for, or fewer where nobody asked and ten million shots would be drawn.
  std::uint64_t tests() const { return options_.simulation.tests; }

  Chance finds(double gap) const;                ///< the interval leaves out 0
  Chance same(double gap, double margin) const;  ///< the interval lies inside ±margin
  Chance narrow(double half_width) const;        ///< half of the interval's width is at most this, whatever the gap
  double half_width() const;                     ///< on average, whatever the gap
  /// True gap found with this power, which it meets to `met`, or to a quarter of a simulation's standard error.
  double detectable_gap(Power power, double met = 1e-6) const;

 private:
  Chance simulated(double gap, std::optional<double> margin) const;
  SimulatedWidth simulated_width(double half_width) const;

  GroupDesign a_, b_;
  DesignPowerOptions options_;
  WelchPowerCurve integral_;
  std::shared_ptr<const RoundingAwarePower> lattice_;
  ChanceBy by_;
};

}  // namespace shotassay
