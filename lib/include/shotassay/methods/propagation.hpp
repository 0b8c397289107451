#pragma once
#include <cstdint>
#include <optional>
#include <span>

#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/uncertain_input.hpp>
#include <shotassay/methods/uncertainty_budget.hpp>

namespace shotassay {

/// Which of the intervals of one level: with equal tails, or the shortest.
enum class CoverageKind { symmetric, shortest };

struct PropagationOptions {
  int significant_digits = 2;    ///< of u that are wanted, 1 or 2
  double tolerance_share = 1.0;  ///< how much of half a unit of the last digit results may be off; 0.2 to check others
  CoverageKind settled_by = CoverageKind::symmetric;  ///< the interval whose ends must settle
  std::uint64_t most_trials = 10'000'000;
  std::uint64_t seed = 1;
  unsigned threads = 1;  ///< changes the time taken, no digit of the result
};

/// Standard errors of what the trials gave.
struct PropagationErrors {
  std::optional<double> estimate, standard_uncertainty;
  double lower, upper;  ///< of the interval that must settle
};

struct PropagationResult {
  std::optional<double> estimate;              ///< average of the trials; absent where an input's law has no average
  std::optional<double> standard_uncertainty;  ///< their SD; absent where an input's law has no finite variance
  Interval symmetric;                          ///< probabilistically symmetric
  Interval shortest;
  std::uint64_t trials;
  bool settled;      ///< all results to the tolerance; false: most_trials came first
  double tolerance;  ///< δ
  PropagationErrors errors;
};

/// Propagation of distributions: which results does the model give when its inputs are drawn from their distributions?
///
/// Blocks of J trials, J = max(10⁴, ⌈100/(1 − p)⌉), are drawn until twice the standard error, over blocks, of average,
/// u and both ends of the interval is at most δ, that share of half a unit of the last of the wanted digits of u. Ten
/// blocks are drawn at least, where 7.9.4 allows two: a standard error found from two is too often small by luck.
/// Ends are order statistics y₍ᵣ₎ and y₍ᵣ₊q₎ of all trials, q = pM to the nearest whole number.
///
/// Drawn are: normal with ν = ∞; t, and normal with finite ν, as u·t_ν; rectangular, triangular and arcsine between
/// exact limits, whatever their ν. Inputs with a correlation other than 0 are drawn as jointly normal: nothing more is
/// known of them than estimates, uncertainties and coefficients. Where ν ≤ 2 the result has no u (ν ≤ 1: nor an
/// average); the digits are then those of half the interval over its normal factor.
///
/// A trial reads its own random words (seed, number of the trial): same seed, same bytes, however many threads. Each
/// thread works on its own copy of the model.
///
/// Units     those of the result.
/// Requires  inputs and correlations as for uncertainty_budget, 1 or 2 digits, 0 < share ≤ 1, level ≤ 0.9999, room for
///           ten blocks and at most 10⁸ trials, threads ≥ 1; otherwise DomainError. A model without a finite
///           value in some trial, or the same in all: NoAnswer.
/// Costs     10 bytes a trial at 95 %, more at lower levels, 24 at most.
/// Source    JCGM 101:2008, 6.4, 7.6, 7.7, 7.9.4 [gum-s1].
PropagationResult propagation(const MeasurementModel& model, std::span<const UncertainInput> inputs,
                              std::span<const Correlation> correlations = {},
                              ConfidenceLevel level = ConfidenceLevel{0.95}, PropagationOptions how = {});

}  // namespace shotassay
