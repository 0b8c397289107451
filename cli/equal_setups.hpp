#pragma once
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/unit.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/equal_setups.hpp>

#include "common.hpp"

namespace shotassay::cli {

/// What is typed about set-ups that were not quite equal.
struct EqualSetupsTyped {
  std::string per_lbf, per_lbf_u, per_grain, per_grain_u, per_inch, per_inch_u, bow_type;
  bool same_arrow = false, same_gpp = false;

  bool anything() const;
};

void add_equal_setups_options(CLI::App& command, EqualSetupsTyped& typed);

/// What was typed, speeds in the unit they were typed in. Mistakes go to `read`.
EqualSetupsOptions equal_setups_options(const EqualSetupsTyped& typed, OptionReader& read);

/// Each gap of a comparison brought to equal set-ups, in the order of its gaps; absent for a gap without a range, and
/// for one whose set-ups have no measured values. `options` as typed, in the unit printed; mistakes go to `read`.
std::vector<std::optional<EqualisedGap>> equalised_gaps(const Comparison& comparison, const Sheet& sheet,
                                                        EqualSetupsOptions options, SpeedUnit printed,
                                                        const EqualSetupsTyped& typed, OptionReader& read);

}  // namespace shotassay::cli
