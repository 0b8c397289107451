#pragma once
#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/studies/design_power.hpp>

namespace shotassay {

/// A true gap that shall be found: the interval leaves out 0.
struct FindGap {
  double gap;
};

/// An interval that shall be narrow enough.
struct NarrowRange {
  double half_width;
};

/// Two set-ups that shall be shown the same: the interval lies inside ±margin.
struct ShowSame {
  double margin;
  double true_gap = 0.0;
};

/// What a test shall achieve; nothing where the shots are given and the question is what they find.
using PlanGoal = std::variant<std::monostate, FindGap, NarrowRange, ShowSame>;

/// SD of a shot with each set-up, before the display rounds it.
struct PlanSds {
  double from;
  double to;
};

/// What is known before a test, and what is asked of it.
struct PlanQuestion {
  PlanGoal goal = {};
  std::optional<std::int64_t> shots = {};  ///< with each of two set-ups; absent where they are what is asked
  PlanSds sd;
  std::optional<PlanSds> upper_sd = {};  ///< how large they may well be; the answer is then given for these too
  Power power{0.8};                      ///< share of tests that shall reach the goal
  DesignPowerOptions how = {};
};

enum class PlanAnswer {
  shots,  ///< how many shots reach the goal
  gap,    ///< what gap these shots find
  chance  ///< how often these shots reach the goal
};

/// What a number of shots with each of two set-ups achieves.
struct PlanRow {
  std::int64_t shots;
  std::optional<Chance> chance;  ///< of reaching the goal; absent where none was asked about
  double detectable_gap;         ///< found with the power asked
  double half_width;             ///< half of the interval's width, on average
  ChanceBy by;
  std::uint64_t tests = 0;  ///< simulated for each chance; 0 where none were
};

struct CurvePoint {
  std::int64_t shots;
  double chance;
};

/// The set-up with which more shots, and no more with the other, would lower the chance.
enum class Overshot { neither, from, to };

struct Plan {
  PlanAnswer answer;
  PlanQuestion question;
  PlanRow achieved;                 ///< at the shots found or given
  std::vector<PlanRow> table;       ///< for other numbers of shots, `achieved` among them
  std::vector<CurvePoint> curve;    ///< the goal's chance, or that of the detectable gap where no goal was asked about
  std::optional<Chance> one_less;   ///< where shots were asked for: with one shot less with each, too low
  bool more_can_miss;               ///< one shot more with each would fall short of the power again
  Overshot overshot;                ///< where many more shots with one set-up alone would hurt
  std::optional<PlanRow> at_upper;  ///< the answer, should the SDs be as large as `upper_sd`
  bool upper_out_of_reach;          ///< no number of shots was found that does with those SDs
};

/// How many shots does a test need, or what can so many shots see?
///
/// Chances and widths are those of the interval that `compare` will use (see DesignPower), for normal shots read off a
/// display. Shots are looked for upwards from the number for which the integral for Welch's interval comes near the
/// power, which is too few where the display hides much: the answer reaches the power and one shot less does not. With
/// an SD below half a display step the search ends where it has cost ten times the budget of one chance.
///
/// Units     gap, margin, half-width and SD in the display's unit.
/// Requires  SDs > 0, a gap to find of a tenth of the display step or more, a positive half-width or margin, a true gap
///           inside the margin, 2 ≤ shots ≤ 10 000, power above α, at least one of goal and shots; else DomainError.
/// Errors    NoAnswer where no number up to 10 000, or none found before the search ends by its cost, reaches the goal,
///           with what would help.
Plan plan(const PlanQuestion& question);

}  // namespace shotassay
