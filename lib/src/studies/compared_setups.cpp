#include <shotassay/studies/compared_setups.hpp>

#include <algorithm>
#include <numeric>
#include <set>

namespace shotassay {

std::vector<ComparedSetup> compared_setups(const Sheet& sheet) {
  auto samples = samples_of(sheet);
  std::vector<std::set<Label>> bows(sheet.setups.size());
  for (const Shot& shot : sheet.shots)
    if (shot.bow != 0) bows[shot.setup].insert(shot.bow);
  std::vector<std::size_t> order(sheet.setups.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t i, std::size_t j) {
    const auto last = sheet.setups.size();
    return sheet.setups[i].place_in_plan.value_or(last) < sheet.setups[j].place_in_plan.value_or(last);
  });
  // samples_of takes the shots in row order; so do their places. Rows are no firing order unless the sheet says so.
  std::vector<std::vector<ShotPlace>> places(sheet.setups.size());
  for (const Shot& shot : sheet.shots)
    places[shot.setup].push_back(
        {.bow = shot.bow, .round = shot.round, .session = shot.session, .order = sheet.order_given ? shot.order : 0});
  std::vector<ComparedSetup> out;
  for (const std::size_t i : order) {
    if (sheet.setups[i].check_standard) continue;
    out.push_back({.name = sheet.setups[i].name,
                   .sample = std::move(samples[i]),
                   .excluded = sheet.setups[i].excluded,
                   .bows = std::max<std::size_t>(1, bows[i].size()),
                   .places = std::move(places[i])});
  }
  return out;
}

std::vector<ComparedSetup> choose(const std::vector<ComparedSetup>& setups, const std::vector<std::string>& names) {
  std::vector<ComparedSetup> out;
  for (const auto& wanted : names) {
    const auto has_name = [&](const ComparedSetup& s) { return s.name == wanted; };
    const auto found = std::find_if(setups.begin(), setups.end(), has_name);
    if (found == setups.end()) throw DomainError{"no set-up is named " + wanted};
    if (std::any_of(out.begin(), out.end(), has_name)) throw DomainError{"set-up " + wanted + " is named twice"};
    out.push_back(*found);
  }
  return out;
}

}  // namespace shotassay
