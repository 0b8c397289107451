#pragma once
#include <cstdint>
#include <memory>
#include <optional>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/welch_power.hpp>

namespace shotassay {

/// A chance that depends on the phase, which is where the true averages lie between two lattice points.
struct PhasePower {
  double average;      ///< over all phases, each as likely
  double worst_phase;  ///< the least at any of the phases looked at
  double error;        ///< of the average: a bound on what was left out if exact, its standard error if simulated
};

/// Power of the default interval: how often will `rounding_aware` find a true gap δ, on a display of whole steps?
///
///   y = round(μ + σZ), the average of a at f, that of b at f + δ (in steps), f in [0, 1)
///   power(f) = Σ P_f(S_a, D_a) · P_{f+δ}(S_b, D_b)   over all outcomes with |S_b/n_b − S_a/n_a| > H(D_a, D_b)
///
/// An outcome is a pair of sums S and scaled deviations D = nQ − S². With r = S mod n, D = r(n − r) + 2nk: k = 0 is a
/// tight group, r of its readings at the upper of two values, and H depends on (r or n − r, k) of both groups alone.
/// P_f is made by adding one reading at a time; outcomes below 1e-13 are dropped and counted. Average and least are
/// over N phases, a multiple of 8 from 8 to 256 that makes e^(−2π²N²/κ) ≤ 1e-9, κ = n_a/σ_a² + n_b/σ_b² in steps.
///
/// Units     gaps, margins, widths and SDs in the display's unit.
/// Requires  2 ≤ shots ≤ 10 000, SDs positive and finite, gaps and SDs up to 1e9 steps; otherwise DomainError.
///           More work than the budget allows: BudgetExceeded, before any of it is done.
/// Assumes   independent normal shots with known SDs, one display for both that rounds to the nearest step.
/// Accuracy  `error` as told: 1e-7 or less, but up to 2e-2 where N would have to be more than 256 (10 + 10 shots, SDs
///           below 0.018 steps). A phase between two of the N may be a little worse than `worst_phase`.
/// Source    our own enumeration; the interval is that of `rounding_aware`, with its rules for limits on 0 and on ±m.
class RoundingAwarePower {
 public:
  RoundingAwarePower(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level = ConfidenceLevel{0.95},
                     WorkBudget budget = {});

  /// P(|difference| > H): the interval leaves out 0, on either side.
  PhasePower finds(double gap) const;

  /// P(|difference| + H < margin): the interval lies inside ±margin, whether or not it also leaves out 0.
  PhasePower same(double gap, double margin) const;

  double mean_half_width() const;                 ///< E[H], the phases of a and b independent and evenly spread
  double half_width_at_most(double width) const;  ///< P(H ≤ width), likewise.   Requires  width ≥ 0

 private:
  class Enumeration;
  std::shared_ptr<const Enumeration> enumeration_;
};

/// What the construction and one finds() take; others are no dearer. An estimate from above, without doing the work.
WorkCost rounding_aware_power_cost(GroupDesign a, GroupDesign b, DisplayStep step);

/// May the normal theory at variance σ² + step²/12 stand in for the average powers?
///
///   n ≥ 3, P(|Z| < 1/σ)^n ≤ 0.005 in both groups, and (β_a + β_b) ≤ τ/50, β = e^(−2π²σ²)/π, τ² = Σ (σ² + 1/12)/n
///
/// with σ in steps: tight groups are rare, and the averages' own bias from rounding is small beside their scatter.
/// Equal shots: SD 4.7 steps with 3 shots, 2.3 with 5, 1.3 with 10, 0.9 with 20. Measured at the edges of the rule, 3
/// to 200 shots, levels 0.8 to 0.99: `finds` within 0.0015, `same` within 0.005; at the worst phase 0.006.
///
/// Requires  what RoundingAwarePower requires; otherwise DomainError.
bool quadrature_suffices(GroupDesign a, GroupDesign b, DisplayStep step);

/// How many tests to simulate, and how.   Requires  1000 ≤ tests ≤ 10^8, threads ≥ 1; otherwise DomainError.
struct SimulatedTests {
  std::uint64_t tests = 100'000;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< changes the time taken, no digit of the result
};

struct SimulatedPower {
  PhasePower finds;
  std::optional<PhasePower> same;  ///< absent without a margin
  double mean_half_width;          ///< over the phases that go with the gap, not independent ones
  double mean_half_width_error;    ///< its standard error
};

/// The same powers from simulated tests, for designs too large to enumerate.
///
/// Test i has its phase in the (i mod 16)-th sixteenth of a step, at random within it, and its own random words (seed,
/// i): the same bytes for any number of threads. `worst_phase` is the least share of the sixteenths: with few tests it
/// is too low by chance. Standard errors count one success and one failure more in each, so that none is 0.
///
/// Requires  what RoundingAwarePower requires, but no budget; a positive finite margin if any; otherwise DomainError.
/// Needs     about 0.1 µs for each shot.
SimulatedPower simulate_rounding_aware(double gap, std::optional<double> margin, GroupDesign a, GroupDesign b,
                                       DisplayStep step, ConfidenceLevel level, SimulatedTests how);

/// Half of the interval's width in simulated tests.
struct SimulatedWidth {
  double mean;           ///< E[H]
  double mean_error;     ///< its standard error
  double at_most;        ///< P(H ≤ width)
  double at_most_error;  ///< its standard error, one success and one failure more counted
};

/// The same widths as RoundingAwarePower tells, from simulated tests: the phases of a and b independent.
///
/// Requires  what simulate_rounding_aware requires, width ≥ 0; otherwise DomainError.
SimulatedWidth simulate_half_width(double width, GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level,
                                   SimulatedTests how);

}  // namespace shotassay
