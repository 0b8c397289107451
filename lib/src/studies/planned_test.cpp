#include <algorithm>
#include <cmath>
#include <shotassay/core/moments.hpp>
#include <shotassay/records/planned_shot.hpp>
#include <shotassay/studies/pilot.hpp>
#include <shotassay/studies/planned_test.hpp>

namespace shotassay {

namespace {

constexpr std::int64_t most_looks = 900;

/// Pooled SD of the shots on the sheet, half a display step at least; absent without two shots of a set-up.
std::optional<double> scatter_seen(const Sheet& sheet) {
  double squares = 0.0, freedom = 0.0;
  for (const Sample& group : repeated_shots(sheet)) {
    if (group.size() < 2) continue;
    const double nu = static_cast<double>(group.size()) - 1.0;
    squares += nu * moments(group).variance();
    freedom += nu;
  }
  if (freedom == 0.0) return std::nullopt;
  return std::max(0.5, std::sqrt(squares / freedom)) * sheet.display_step.value();
}

std::vector<SetUp> in_planned_order(const Sheet& sheet) {
  std::vector<SetUp> setups = sheet.setups;
  std::stable_sort(setups.begin(), setups.end(), [](const SetUp& a, const SetUp& b) {
    return a.place_in_plan.value_or(SIZE_MAX) < b.place_in_plan.value_or(SIZE_MAX);
  });
  return setups;
}

std::size_t warm_ups(const Sheet& sheet, const std::string& setup) {
  return static_cast<std::size_t>(
      std::count_if(sheet.excluded.begin(), sheet.excluded.end(), [&](const ExcludedShot& shot) {
        return sheet.setups[shot.setup].name == setup && shot.reason == warm_up_reason;
      }));
}

/// Looks after every shot with each, or after every few where they would be too many.
std::vector<std::int64_t> looks_between(std::int64_t first, std::int64_t last) {
  const std::int64_t every = std::max<std::int64_t>(1, (last - first + most_looks - 1) / most_looks);
  std::vector<std::int64_t> looks;
  for (std::int64_t n = first; n < last; n += every) looks.push_back(n);
  looks.push_back(last);
  return looks;
}

}  // namespace

std::optional<PlannedTest> planned_test(const Sheet& sheet, ConfidenceLevel level) {
  if (!sheet.plan) return std::nullopt;
  PlannedTest out{
      .course = Course::as_planned, .setups = {}, .open = 0, .from_shots = 0, .to_shots = 0, .stopping = {}};
  std::size_t planned = 0, analysed = SIZE_MAX, most = 0;
  bool fewer = false, more = false;
  for (const SetUp& s : in_planned_order(sheet)) {
    if (s.check_standard) continue;
    const std::size_t excluded = s.excluded - warm_ups(sheet, s.name);
    out.setups.push_back({s.name, s.planned, s.shots, excluded, s.open});
    out.open += s.open;
    analysed = std::min(analysed, s.shots);
    most = std::max(most, s.shots);
    if (!s.planned) continue;
    planned = std::max(planned, *s.planned);
    more = more || s.shots > *s.planned;
    fewer = fewer || s.open > 0 || s.shots + excluded < *s.planned;
  }
  out.course = more ? Course::went_on : fewer ? Course::unfinished : Course::as_planned;
  if (out.course == Course::as_planned || out.setups.size() != 2) return out;
  const auto sd = scatter_seen(sheet);
  out.from_shots = out.course == Course::went_on ? static_cast<std::int64_t>(planned) : 2;
  out.to_shots = static_cast<std::int64_t>(out.course == Course::went_on ? most : planned);
  if (!sd || analysed < 2 || out.from_shots < 2 || out.from_shots >= out.to_shots) return out;
  out.stopping = stopping_error(looks_between(out.from_shots, out.to_shots), *sd, sheet.display_step, level);
  return out;
}

}  // namespace shotassay
