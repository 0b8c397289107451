#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/methods/stopping_error.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// How the shots on a sheet stand to the plan that wrote it.
enum class Course {
  as_planned,  ///< every planned shot has a reading or a reason why it is left out
  unfinished,  ///< fewer
  went_on      ///< more with some set-up
};

struct PlannedSetup {
  std::string name;
  std::optional<std::size_t> planned;  ///< shots to analyse; absent where the plan does not know the set-up
  std::size_t analysed;
  std::size_t excluded;  ///< warm-ups not among them
  std::size_t open;
};

struct PlannedTest {
  Course course;
  std::vector<PlannedSetup> setups;   ///< the check standard left out
  std::size_t open;                   ///< planned shots without a reading, over all set-ups
  std::int64_t from_shots, to_shots;  ///< shots with each at the first and the last look of `stopping`
  /// Error rate of looking again after each further shot with each and stopping at the first gap found; absent for a
  /// course as planned, for other than two set-ups, and where the shots are too few to say.
  std::optional<StoppingError> stopping;
};

/// Was the sheet shot as planned, and what does stopping early or going on do to the error rate?
///
/// Unfinished: somebody who looks after every shot from the second on and stops at the first gap found, at the latest
/// at the planned number. Going on: somebody who looks at the planned number and after every further shot. Both for two
/// set-ups without a gap and the scatter seen (half a display step at least), by stopping_error.
///
/// Absent for a sheet that no plan wrote.   Requires  what stopping_error requires of level.
std::optional<PlannedTest> planned_test(const Sheet& sheet, ConfidenceLevel level);

}  // namespace shotassay
