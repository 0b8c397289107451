#pragma once
#include <cstdint>
#include <optional>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

/// What is known before a test; one of the two, or both, of `resolve` and `shots`.
struct PlanQuestion {
  std::optional<double> resolve;      ///< true gap to be found
  std::optional<std::int64_t> shots;  ///< with each of two set-ups
  double sd;                          ///< of a shot before the display rounds it, the same in both set-ups
  Power power{0.8};
  ConfidenceLevel level{0.95};
  DisplayStep display_step{Decimal{1, 0}};
};

enum class PlanAnswer {
  shots,  ///< how many shots find this gap
  gap,    ///< what gap these shots find
  power   ///< how often these shots find this gap
};

/// What a number of shots with each of two set-ups achieves.
struct PlanRow {
  std::int64_t shots;
  std::optional<double> power;  ///< for the gap asked about; absent where none was
  double detectable_gap;        ///< found with the power asked
  double half_width;            ///< average half of the interval's width
};

struct Plan {
  PlanAnswer answer;
  PlanQuestion question;
  double sd_of_readings;                 ///< √(sd² + step²/12): scatter of what the display shows
  PlanRow achieved;                      ///< at the shots found or given
  std::vector<PlanRow> table;            ///< for other numbers of shots, `achieved` among them
  std::optional<double> power_one_less;  ///< where shots were asked for: with one shot less with each, too low
  bool more_can_miss;                    ///< one shot more would fall short of the power again
  bool display_limits;  ///< the SD is below three quarters of a display step: there these powers are too high
};

/// How many shots does a test need, or what can so many shots see?
///
/// Power of Welch's interval, exact by quadrature, for normal shots whose variance carries the display's step²/12.
/// `compare` rests its verdict on the rounding-aware interval, which is Welch's from 3 shots on once no set-up's
/// readings lie within one display step; that is nearly always so for an SD of one step or more.
///
/// Units     gap and SD in the display's unit.
/// Requires  sd > 0, resolve ≥ a tenth of the display step, 2 ≤ shots ≤ 10 000, power above α, at least one of resolve
///           and shots; else DomainError. More than 10 000 shots: NoAnswer.
Plan plan(const PlanQuestion& question);

}  // namespace shotassay
