#include <cstddef>
#include <cstdint>
#include <map>
#include <shotassay/studies/pilot.hpp>
#include <tuple>
#include <utility>

namespace shotassay {

std::vector<StringOfShots> strings_of_shots(const Sheet& sheet) {
  using Key = std::tuple<std::uint32_t, Label, Label>;
  std::map<Key, std::size_t> place;
  std::vector<std::pair<Key, std::vector<std::int64_t>>> groups;
  for (const Shot& shot : sheet.shots) {
    const Key key{shot.setup, shot.bow, shot.session};
    const auto [known, added] = place.try_emplace(key, groups.size());
    if (added) groups.emplace_back(key, std::vector<std::int64_t>{});
    groups[known->second].second.push_back(shot.steps);
  }
  std::vector<StringOfShots> strings;
  for (auto& [key, steps] : groups) {
    const auto [setup, bow, session] = key;
    strings.push_back(
        {.setup = setup, .bow = bow, .session = session, .shots = Sample{std::move(steps), sheet.display_step}});
  }
  return strings;
}

std::vector<Sample> repeated_shots(const Sheet& sheet) {
  std::vector<Sample> samples;
  for (StringOfShots& string : strings_of_shots(sheet))
    if (!sheet.setups[string.setup].check_standard) samples.push_back(std::move(string.shots));
  return samples;
}

}  // namespace shotassay
