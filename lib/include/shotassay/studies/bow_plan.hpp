#pragma once
#include <cstdint>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// What bows and shots cost, in any one currency: money, minutes, favours.
struct BowCosts {
  double bow = 10.0;  ///< as much as ten shots, where nobody said otherwise
  double shot = 1.0;
};

struct BowPlanQuestion {
  double resolve;  ///< true gap between the two kinds that shall be found
  double bow_sd;   ///< of bows of one kind; stated by the user, for nobody else knows it
  double shot_sd;  ///< of a shot, before the display rounds it
  BowCosts costs = {};
  Power power{0.8};
  ConfidenceLevel level{0.95};
  DisplayStep step{Decimal{1, 0}};
};

/// So many bows of each kind, so many shots with each of them.
struct BowCell {
  std::int64_t bows, shots;
  double power;
  double cost;  ///< of the whole test
};

struct BowPlan {
  BowPlanQuestion question;
  BowCell cheapest;
  double detectable_gap;  ///< of that test, with the power asked
  double half_width;      ///< of that test, on average
  double luck_of_two;     ///< σ_b·√2: SD of the gap between two single bows of kinds that do not differ
  double one_in_three;    ///< such a gap is larger than this in one pair of three
  std::vector<std::int64_t> shots_shown;
  struct Row {
    std::int64_t bows;
    std::vector<double> power;  ///< at each of `shots_shown`
    double limit;               ///< with shots without end
  };
  std::vector<Row> rows;  ///< from two bows of each kind on: one of each carries no interval for kinds
};

/// The cheapest test alone.   Requires, Errors  as bow_plan.
BowCell cheapest_bow_test(const BowPlanQuestion& question);

/// How many bows of each kind, and how many shots with each, before one may speak of the kinds?
///
/// The test is the one that `compare` makes: t on the bows' averages, one common bow-to-bow spread (see bow_power).
///
/// Units     the display's.
/// Requires  a gap of a tenth of the display step or more, SDs > 0, costs ≥ 0 and one of them > 0, power above α; else
///           DomainError.
/// Errors    NoAnswer where more than 1000 bows of each kind, or 10 000 shots with each kind, would be needed.
BowPlan bow_plan(const BowPlanQuestion& question);

}  // namespace shotassay
