#pragma once
#include <cstdint>
#include <optional>

#include <shotassay/studies/plan.hpp>

namespace shotassay {

struct SplitQuestion {
  std::int64_t total_shots;
  PlanSds sd;
  std::optional<double> resolve = {};  ///< a true gap whose chance is told too
  Power power{0.8};
  DesignPowerOptions how = {};
};

/// What a split of the shots finds.
struct Split {
  std::int64_t from, to;         ///< shots with each
  double detectable_gap;         ///< found with the power asked
  double half_width;             ///< half of the interval's width, on average
  std::optional<Chance> chance;  ///< of finding the gap asked about
  ChanceBy by;
  std::uint64_t tests = 0;  ///< simulated for each chance; 0 where none were
};

struct SplitPlan {
  SplitQuestion question;
  Split best;
  Split even;
};

/// How shall so many shots be split between two set-ups that scatter differently?
///
/// The split with the smallest detectable gap, by the integral for Welch's interval at variance sd² + step²/12. Looked
/// at are the splits within a quarter of the shots around that of the SDs' ratio (every one up to 128 shots, then a
/// grid and a finer one around its best) and the even one. The best and the even one are then worked out for the
/// interval planned for (see DesignPower), the best one's neighbours too while that is cheap; the smallest gap of these
/// is the best.
///
/// Units     the display's.
/// Requires  4 ≤ total shots ≤ 20 000, SDs > 0, power above α, a gap of a tenth of the display step; else DomainError.
SplitPlan split_plan(const SplitQuestion& question);

}  // namespace shotassay
