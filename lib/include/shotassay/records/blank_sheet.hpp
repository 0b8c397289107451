#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/records/planned_shot.hpp>

namespace shotassay {

/// A test as planned: what its shot sheet says before the first shot.
struct PlannedSheet {
  std::string title{};  ///< may be empty
  SpeedUnit unit = SpeedUnit::feet_per_second;
  DisplayStep display_step{Decimal{1, 0}};  ///< in `unit`
  std::optional<double> margin{};           ///< in `unit`
  ConfidenceLevel confidence{0.95};
  Power power{0.8};
  std::uint64_t seed = 1;             ///< of the firing order
  std::string check_standard{};       ///< name; empty = none
  std::vector<std::string> setups{};  ///< in which order to compare them; those not named follow as they are first shot
  std::vector<PlannedShot> shots{};   ///< in firing order
};

/// The CSV text of a sheet to shoot from: a row for each shot, readings left empty, ready for read_sheet.
///
/// read_sheet gives the plan back, with every shot open. Lines end in LF; every line, `#` lines included, is RFC 4180.
///
/// Requires  shots in rising order, one or more that count (neither warm-up nor check standard) for each set-up; the
///           check standard's shots, and no others, flagged and under its name; bows for all counted shots of a set-up
///           or for none. Names and title that read back as they are: UTF-8 without control characters or line ends, no
///           blank at either end, no two that differ only in case or blanks, none that begins with = + - or @, which a
///           spreadsheet program would take for a formula. Otherwise DomainError.
std::string blank_sheet(const PlannedSheet& plan);

}  // namespace shotassay
