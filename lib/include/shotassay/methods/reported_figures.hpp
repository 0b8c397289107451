#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/tally.hpp>

namespace shotassay {

/// What an SD was divided by before the root was taken: n − 1 shots, or n.
enum class SdDivisor { n_minus_1, n };

/// What was printed about the readings of one set-up. A figure that was not printed is absent.
struct ReportedFigures {
  std::int64_t shots;
  DisplayStep display_step{Decimal{1, 0}};
  std::optional<Decimal> average = {}, sd = {}, low = {}, high = {}, spread = {};  ///< spread = high − low
  std::vector<Decimal> readings = {};                                              ///< single ones, as displayed
  SdDivisor sd_divisor = SdDivisor::n_minus_1;
};

/// Sets of readings that agree in all that an interval sees of them: S = Σx and D = n·Σ(x − x̄)² = n·Σx² − S².
///
/// D tells whether the readings lie within one step of each other as well: exactly when D = r(n − r), r = S mod n.
struct ReadingState {
  std::int64_t sum;         ///< S, in steps
  std::int64_t deviations;  ///< D, in steps²
  Tally sets;               ///< how many different sets have them
};

/// Least and greatest sum of a set's readings, in steps.
struct ReadingSums {
  std::int64_t least, greatest;
};

/// Every set of readings that prints as reported. A set is what was read, in no order: 271 272 272 is one.
struct ReadingSets {
  std::int64_t shots;
  bool possible;
  std::optional<Tally> sets;         ///< absent: without end, since nothing printed bounds the spread or the place
  std::optional<Interval> mean;      ///< least and greatest average; absent when impossible, or nothing tells the place
  std::optional<ReadingSums> sums;   ///< with `mean`
  std::optional<Interval> sd;        ///< least and greatest, divisor n − 1; absent for one shot, or when without end
  std::vector<ReadingState> states;  ///< by sum, then deviations; empty when `sets` is absent
  /// Each set prints so only by rounding an exact half: an average of 281.25 printed as 281.2 or as 281.3.
  bool only_by_a_tie = false;
};

/// Which readings could stand behind printed figures?
///
/// A printed v with unit u of its last decimal stands for [v − u/2, v + u/2], both ends included: either way of
/// rounding a tie is allowed. Readings are whole multiples of the display step. With n shots, all in steps:
///
///   average   S/n in its range                  SD   D/(n(n−1)) (or D/n²) in the square of its range
///   low, high, spread: the least reading L, the greatest L + w, and w in theirs; `readings` are among the readings
///
/// All multisets are counted, by states (S, D) and not one by one: for w = 0, 1, … the value w joins a table of the
/// multisets of j = 0 … n readings from 0 … w by sum and sum of squares, and for each place L of the lowest the rest
/// beside L, L + w and the known readings is read off. Whole numbers throughout, so a set is never missed: what is
/// called impossible is.
///
/// The spread is bounded by what was printed: by itself; by low and high; by an SD, since the two outermost readings
/// alone give Σ(x − x̄)² ≥ w²/2, so w² ≤ 2D/n; by the average with low or high, as all others then lie on one side of
/// it: w ≤ S − nL. Otherwise sets are without end and only the average's range is known, each of its sums being
/// reached.
///
/// Units     figures and results in the display's unit.
/// Requires  1 to 1000 shots; figures of at most 12 digits and 9 decimals, below 1e9 steps, an SD below 1e6 steps and
///           not negative, a spread not negative; a display step of at most 9 decimals; at least one figure. Otherwise
///           DomainError. Figures that contradict each other are an answer: impossible.
/// Cost      about (n − 2)³w⁴/144 operations without an SD, less with one; within the budget, else BudgetExceeded.
/// Accuracy  counts exact up to 2^127 − 2, then "at least"; mean and SD rounded once.
/// Source    our own; for averages Brown & Heathers (2017) [brown2017], for SDs the idea of Anaya (2016) [anaya2016].
ReadingSets reading_sets(const ReportedFigures& figures, WorkBudget budget = {});

/// Those of the sets above with D ≤ most_deviations: finitely many as soon as anything printed tells where they lie.
/// `possible` and the ranges are those of these sets.
ReadingSets calm_reading_sets(const ReportedFigures& figures, std::int64_t most_deviations, WorkBudget budget = {});

/// What reading_sets will spend.
WorkCost reading_sets_cost(const ReportedFigures& figures);

}  // namespace shotassay
