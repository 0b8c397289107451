#pragma once
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/decimal.hpp>
#include <shotassay/methods/reported_figures.hpp>

namespace shotassay {

/// A small slip in the printing, or in what was taken for granted, that leaves the readings themselves in order.
enum class InnocentCause {
  sd_with_other_divisor,  ///< divided by n where n − 1 was taken, or the other way round; fits: the SD it should read
  average_cut_off,        ///< digits cut off where they should have been rounded; fits: the rounded average
  sd_cut_off,             ///< the same of the SD
  one_shot_fewer,         ///< the figures are those of n − 1 shots: one was left out; fits: n − 1
  one_shot_more,          ///< the figures are those of n + 1 shots; fits: n + 1
  finer_display,          ///< the display shows a decimal more; fits: its step
  average_nearby,         ///< fits: the nearest averages of as many decimals, below and above
  sd_nearby,              ///< fits: the nearest SDs, below and above
  average_misprinted,     ///< one digit differs; fits: every average that does, nearest first
  sd_misprinted,
  low_misprinted,
  high_misprinted,
  spread_misprinted
};

/// A change that makes the figures possible, all else as printed, and what would have to stand there.
struct FittingChange {
  InnocentCause cause;
  std::vector<Decimal> fits;
};

struct InnocentCauses {
  std::vector<FittingChange> fitting;       ///< in the order above
  std::vector<InnocentCause> not_examined;  ///< the budget ended first
};

/// Printed figures that no set of readings has: which single small change makes them possible?
///
/// Each is tried by the enumeration of reading_sets, so a change named here does fit and one not named does not. None
/// of them is evidence of what happened; several may fit. A tie rounded either way is no change: reading_sets allows
/// it.
///
/// Empty when the figures are possible as they are, or no such change mends them.
/// Searched  averages nearby: through all that the other figures allow, or through every sum up to n away where these
///           do not bound them. SDs nearby: from 0 up to what the others allow, or to two display steps above.
/// Requires  as reading_sets; else DomainError.
/// Cost      all searches together keep within the budget; what did not fit in is named in `not_examined`.
InnocentCauses innocent_causes(const ReportedFigures& figures, WorkBudget budget = {});

}  // namespace shotassay
