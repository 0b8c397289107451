#include <cstdint>
#include <map>
#include <shotassay/studies/pilot.hpp>
#include <tuple>

namespace shotassay {

std::vector<Sample> repeated_shots(const Sheet& sheet) {
  std::map<std::tuple<std::uint32_t, Label, Label>, std::size_t> place;
  std::vector<std::vector<std::int64_t>> groups;
  for (const Shot& shot : sheet.shots) {
    if (sheet.setups[shot.setup].check_standard) continue;
    const auto [known, added] = place.try_emplace({shot.setup, shot.bow, shot.session}, groups.size());
    if (added) groups.emplace_back();
    groups[known->second].push_back(shot.steps);
  }
  std::vector<Sample> samples;
  for (auto& group : groups) samples.emplace_back(std::move(group), sheet.display_step);
  return samples;
}

}  // namespace shotassay
