#pragma once
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// What a few rounded readings say of the SD of shots; lengths in the readings' unit.
struct SdEstimate {
  double sd;              ///< σ of the shots themselves, median-unbiased; above 0 also when all readings are equal
  double sd_of_readings;  ///< s, pooled within set-ups, of the readings as they stand; 0 when all are equal
  double sd_display_corrected;  ///< √max(0, s² − step²/12)
  double degrees_of_freedom;    ///< ν = Σ(n_g − 1)
  double upper;                 ///< σ is no larger, at the level
  ConfidenceLevel level;        ///< one-sided
  bool exact;                   ///< summed over every outcome; else by chi-square, for an SD of a display step or more
};

/// How large may the SD of shots be, seeing only a few rounded readings?
///
/// Q = Σ_g Σ(y − ȳ_g)² pooled within set-ups, q the value seen, φ_g where the true average of set-up g lies between two
/// lattice points (unknown):
///
///   upper   the largest σ with  P*(Q ≤ q | σ) ≥ 1 − level,   P* with each set-up's law of Σ(y − ȳ_g)² replaced by its
///           upper envelope over φ_g: no phases make Q ≤ q more likely
///   sd      the σ with  P(Q ≤ q | σ) = ½,   averaged over the phases
///
/// both summed over all outcomes of normal shots that are rounded. For an SD of a step or more they are
/// √(q/χ²(1 − level; ν) − 1/12) and √(q/χ²(½; ν) − 1/12) steps but for the graininess of q; below, equal readings do
/// not mean an SD of 0. `sd` exceeds the plain s, which is too small more often than too large: by 20 % at ν = 2, 9 %
/// at ν = 4, 4 % at ν = 9.
///
/// Units     results in the readings' unit.
/// Requires  one display step for all, level from 0.5 on; else DomainError. A set-up with one shot adds nothing; no
///           set-up with two or more: NoAnswer. Sums too large for the budget are replaced by the chi-square form where
///           sd is half a step or more (with the variance that readings have at the worst phase, and q + ½ below a
///           step), and BudgetExceeded otherwise.
/// Assumes   independent normal shots with one SD for all set-ups.
/// Accuracy  1e-6 relative in σ, phases in steps of 1/32 or 1/16 (what lies between them adds less than 1e-4 to a
///           probability). The level holds at every phase; the chi-square form is off by about one outcome's chance.
/// Source    our own; parts: Sheppard (1898) (s² − 1/12) [sheppard1898].
SdEstimate sd_upper_limit(const std::vector<Sample>& groups, ConfidenceLevel one_sided = ConfidenceLevel{0.8},
                          WorkBudget budget = {});

}  // namespace shotassay
