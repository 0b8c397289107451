#pragma once
#include <array>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/unit.hpp>
#include <shotassay/narrative/plan.hpp>
#include <shotassay/studies/plan.hpp>

#include "common.hpp"

namespace CLI {
class App;
}

namespace shotassay::cli {

/// The ways of saying how much shots scatter, as typed.
struct ShotSdOptions {
  std::vector<std::string> sd;  ///< "1.2", or "NAME=1.2" for one set-up
  std::string from, shooter;
  std::vector<std::string> setups;  ///< names of the two set-ups
};

void add_shot_sd_options(CLI::App& command, ShotSdOptions& options);

/// How much shots scatter, and where that is known from.
struct ShotSd {
  PlanSds sd{};
  std::optional<PlanSds> upper;  ///< how large it may well be
  std::array<std::string, 2> setups{"A", "B"};
  narrative::SdSource source;
  std::optional<SpeedUnit> unit;   ///< of the sheet, where one was read
  std::optional<Decimal> display;  ///< of the sheet
};

/// What --sd, --from, --shooter and --setup say; mistakes go to `read`. A sheet that cannot be read throws Stop.
ShotSd shot_sd(const ShotSdOptions& typed, SpeedUnit unit, const std::optional<Decimal>& display, OptionReader& read);

}  // namespace shotassay::cli
