#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/uncertain_input.hpp>
#include <shotassay/methods/propagation.hpp>
#include <shotassay/methods/uncertainty_budget.hpp>
#include <shotassay/records/budget_file.hpp>

namespace shotassay {

/// A measurement to be taken apart: what it is worked out from, and how.
struct BudgetQuestion {
  std::vector<UncertainInput> inputs{};
  MeasurementModel model{};  ///< of all inputs, in their order; copies may run in threads of their own
  std::vector<Correlation> correlations{};
  ConfidenceLevel level{0.95};
  int significant_digits = 2;  ///< of u, 1 or 2
  /// Where given, `significant_digits` is not used: one digit of u if that shows so many decimals, otherwise two.
  std::optional<int> decimals = {};
  std::uint64_t most_trials = PropagationOptions{}.most_trials;  ///< of propagation
  std::uint64_t seed = 1;
  unsigned threads = 1;
};

/// A budget by the law of propagation, and beside it what drawing the inputs gives.
struct BudgetAnswer {
  UncertaintyBudget budget;
  std::optional<PropagationResult> monte_carlo;
  std::string no_monte_carlo;  ///< why there is none
  int decimals;                ///< that show the digits asked for of u; below 0 for a u of tens or hundreds
  double tolerance;            ///< half a unit of the last digit shown
  bool differ;                 ///< an end of the Monte Carlo interval is further than that from the budget's
  bool trials_preferred;       ///< the interval to go by is that of the trials
};

/// How well is a quantity known, what is that made of, and does the law of propagation suffice?
///
/// The trials settle to a fifth of half a unit of the last digit shown, as a check of the law of propagation asks.
/// Where the two differ in the digits shown, JCGM 101 prefers the trials. So do we, unless
/// - no end is apart by more than 5 % of u: two digits of u ask for agreement to as little as 0.5 % of it; or
/// - what makes them differ are averages of few readings, none with less than 4 degrees of freedom, in a quantity near
///   enough to a straight line (second-order terms change u by less than 5 %). The trials then are wider because they
///   draw such an average from a t distribution, while the coverage factor allows for the same doubt; its level was
///   measured to hold within 1 %, see docs/methods/propagation.md.
///
/// Requires  what uncertainty_budget and propagation require; otherwise DomainError. NoAnswer where uncertainty_budget
///           has none; a model that only the trials find fault with is told in `no_monte_carlo`.
/// Source    JCGM 101:2008, 7.9.2, 8.1, 8.2 [gum-s1].
BudgetAnswer budget(const BudgetQuestion& question);

/// The question that a file asks. `formula` is that of the file, of the inputs `parts` in their order; it is not
/// called where the file names a quantity.
BudgetQuestion budget_question(const BudgetFile& file, const MeasurementModel& formula = {});

/// Throws DomainError when the file's correlations contradict each other.
void require_consistent(const BudgetFile& file);

/// Decimals that show so many significant digits of a positive number, as it is rounded: 2 of 0.0996 are 0.10.
int decimals_for(double x, int significant_digits);

}  // namespace shotassay
