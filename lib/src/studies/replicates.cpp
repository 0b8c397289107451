#include <algorithm>
#include <cstdint>
#include <map>
#include <shotassay/studies/replicates.hpp>

namespace shotassay {

namespace {

using Steps = std::vector<std::int64_t>;

/// The readings under each mark, marks in order of first appearance; 0, "not told", is no mark.
std::vector<std::pair<std::uint32_t, Steps>> by_mark(const ComparedSetup& setup, std::uint32_t ShotPlace::*mark) {
  std::vector<std::pair<std::uint32_t, Steps>> groups;
  if (!setup.sample || setup.places.empty()) return groups;
  std::map<std::uint32_t, std::size_t> place;
  for (std::size_t i = 0; i < setup.places.size(); ++i) {
    const std::uint32_t m = setup.places[i].*mark;
    if (m == 0) continue;
    const auto [known, added] = place.try_emplace(m, groups.size());
    if (added) groups.push_back({m, {}});
    groups[known->second].second.push_back(setup.sample->steps()[i]);
  }
  return groups;
}

/// Groups under one mark that both set-ups have, with at least so many shots in each.
template <class Pair>
std::vector<Pair> pairs(const ComparedSetup& from, const ComparedSetup& to, std::uint32_t ShotPlace::*mark,
                        std::size_t least) {
  const auto theirs = by_mark(to, mark);
  std::vector<Pair> found;
  for (const auto& ours : by_mark(from, mark)) {
    const Steps& steps = ours.second;
    const auto other = std::find_if(theirs.begin(), theirs.end(), [&](const auto& g) { return g.first == ours.first; });
    if (other == theirs.end() || steps.size() < least || other->second.size() < least) continue;
    found.push_back({Sample{steps, from.sample->step()}, Sample{other->second, to.sample->step()}});
  }
  return found;
}

}  // namespace

std::vector<Sample> bows_of(const ComparedSetup& setup) {
  if (!setup.sample) return {};
  std::vector<Sample> bows;
  for (auto& [bow, steps] : by_mark(setup, &ShotPlace::bow)) bows.emplace_back(std::move(steps), setup.sample->step());
  if (bows.empty()) bows.push_back(*setup.sample);
  return bows;
}

std::vector<Round> rounds_of(const ComparedSetup& from, const ComparedSetup& to) {
  return pairs<Round>(from, to, &ShotPlace::round, 1);
}

std::vector<Session> sessions_of(const ComparedSetup& from, const ComparedSetup& to) {
  return pairs<Session>(from, to, &ShotPlace::session, 2);
}

std::vector<OrderedShots> ordered_shots(const std::vector<ComparedSetup>& setups) {
  std::vector<OrderedShots> ordered;
  for (const ComparedSetup& setup : setups) {
    if (!setup.sample) continue;
    if (setup.places.empty()) return {};
    OrderedShots shots{.readings = *setup.sample, .order = {}};
    for (const ShotPlace& place : setup.places) {
      if (place.order == 0) return {};
      shots.order.push_back(place.order);
    }
    ordered.push_back(std::move(shots));
  }
  return ordered;
}

}  // namespace shotassay
