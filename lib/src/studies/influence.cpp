#include <shotassay/studies/influence.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <string>
#include <tuple>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/methods/rounding_aware.hpp>

namespace shotassay {

namespace {

using Indices = std::vector<std::size_t>;
using Answer = std::optional<Verdict>;

/// The readings of one set-up, counted.
class CountedReadings {
 public:
  explicit CountedReadings(const Sample& sample) : moments_{moments(sample)} {
    for (std::size_t i = 0; i < sample.size(); ++i) shots_[sample.steps()[i]].push_back(i);
  }

  const std::map<std::int64_t, Indices>& shots() const { return shots_; }

  RoundedGroup group() const { return rounded(moments_, shots_.begin()->first, shots_.rbegin()->first); }

  /// One shot of this reading left out, or replaced. Three shots or more, or two and a replacement.
  RoundedGroup changed(std::int64_t without, std::optional<std::int64_t> with) const {
    Moments m = moments_;
    add(m, without, -1);
    const bool gone = shots_.at(without).size() == 1;
    auto first = shots_.begin();
    auto last = std::prev(shots_.end());
    if (gone && first->first == without) ++first;
    if (gone && last->first == without) --last;
    std::int64_t low = first->first, high = last->first;
    if (with) {
      add(m, *with, 1);
      low = std::min(low, *with);
      high = std::max(high, *with);
    }
    return rounded(m, low, high);
  }

 private:
  static void add(Moments& m, std::int64_t reading, int times) {
    const WideInteger d = WideInteger{reading} - m.offset;
    m.n += times;
    m.sum += times * d;
    m.squares += times * d * d;
  }

  /// rounded_group of readings that are known by their sums and ends only, so that a change costs the same for three
  /// shots and for a million.
  static RoundedGroup rounded(Moments m, std::int64_t low, std::int64_t high) {
    const WideInteger shift = WideInteger{low} - m.offset;
    m.squares += shift * (m.n * shift - 2 * m.sum);
    m.sum -= m.n * shift;
    m.offset = low;
    const double floor = m.n == 2 ? 0.25 : 1.0 / 12.0;
    RoundedGroup g{.moments = m,
                   .tight = high - low <= 1,
                   .all_equal = low == high,
                   .twice_edge = 0,
                   .edge = 0.0,
                   .variance_of_mean = std::max(m.variance(), floor) / static_cast<double>(m.n)};
    if (g.tight) {
      g.twice_edge = std::abs(2 * static_cast<std::int64_t>(m.sum) - m.n);
      g.edge = static_cast<double>(g.twice_edge) / static_cast<double>(2 * m.n);
    }
    return g;
  }

  Moments moments_;
  std::map<std::int64_t, Indices> shots_;
};

/// The verdict of compare on two groups, most often without a quantile: a tail area costs a thirtieth of one where
/// there are three set-ups or more.
class RoundedVerdict {
 public:
  RoundedVerdict(const InfluenceOptions& options, Family family, DisplayStep step)
      : level_{options.level}, margin_{options.margin}, family_{family}, step_{step.value()} {}

  Verdict operator()(const RoundedGroup& a, const RoundedGroup& b) const {
    const detail::RoundingAwareGap gap{a, b, family_};
    const double difference = mean_difference(a.moments, b.moments);
    const auto zero = within(gap, std::abs(difference));
    std::optional<bool> margin = false;
    if (margin_) margin = within(gap, *margin_ / step_ - std::abs(difference));
    if (!zero || !margin) return exactly(gap, difference);
    if (*zero) return difference > 0.0 ? Verdict::faster : Verdict::slower;
    return *margin ? Verdict::same : Verdict::open;
  }

 private:
  /// Is H below this distance? Absent: too close to call from a tail area.
  std::optional<bool> within(const detail::RoundingAwareGap& gap, double distance) const {
    constexpr double near = 1e-6;
    if (std::abs(distance - gap.edges()) <= near * (1.0 + gap.edges())) return std::nullopt;
    if (distance < gap.edges()) return false;
    const double p = gap.p(distance);
    if (std::abs(p - level_.alpha()) <= near * level_.alpha()) return std::nullopt;
    return p < level_.alpha();
  }

  Verdict exactly(const detail::RoundingAwareGap& gap, double difference) const {
    const double alpha = level_.alpha();
    const double half_width = std::max({gap.sampling(alpha, 0.0), gap.sampling(alpha, gap.type_b()), gap.bound(alpha)});
    return verdict(centred(difference * step_, half_width * step_), margin_);
  }

  ConfidenceLevel level_;
  std::optional<double> margin_;
  Family family_;
  double step_;
};

constexpr std::array<ReadingChange, 3> single_changes{ReadingChange::without_shot, ReadingChange::one_step_up,
                                                      ReadingChange::one_step_down};

std::optional<std::int64_t> replacement(ReadingChange change, std::int64_t reading) {
  if (change == ReadingChange::one_step_up) return reading + 1;
  if (change == ReadingChange::one_step_down) return reading - 1;
  return std::nullopt;
}

void check_first_shots(const ComparedSetup& setup, const Indices& first) {
  const std::size_t shots = setup.sample ? setup.sample->size() : 0;
  const std::set<std::size_t> each{first.begin(), first.end()};
  if (each.size() != first.size()) throw DomainError{"influence: a first shot of " + setup.name + " is named twice"};
  if (!each.empty() && *each.rbegin() >= shots)
    throw DomainError{"influence: " + setup.name + " has " + std::to_string(shots) + " shots, and no shot with index " +
                      std::to_string(*each.rbegin())};
}

/// First shots as told, or found.
std::vector<Indices> first_shots_of(const std::vector<const ComparedSetup*>& setups, const std::vector<Indices>& told) {
  if (!told.empty() && told.size() != setups.size())
    throw DomainError{"influence: needs first shots of " + std::to_string(setups.size()) + " set-ups, got " +
                      std::to_string(told.size())};
  std::vector<Indices> first;
  for (std::size_t i = 0; i < setups.size(); ++i) {
    if (!told.empty()) check_first_shots(*setups[i], told[i]);
    first.push_back(told.empty() ? first_shots_of_strings(*setups[i]) : told[i]);
  }
  return first;
}

/// The set-up without some shots, each place kept beside its shot. The sample is absent when no shot is left.
ComparedSetup without(const ComparedSetup& setup, Indices shots) {
  std::sort(shots.begin(), shots.end());
  ComparedSetup rest = setup;
  std::vector<std::int64_t> steps;
  rest.places.clear();
  for (std::size_t i = 0; i < setup.sample->size(); ++i) {
    if (std::binary_search(shots.begin(), shots.end(), i)) continue;
    steps.push_back(setup.sample->steps()[i]);
    if (!setup.places.empty()) rest.places.push_back(setup.places[i]);
  }
  rest.sample.reset();
  if (!steps.empty()) rest.sample = Sample{std::move(steps), setup.sample->step()};
  return rest;
}

ComparedSetup replaced(const ComparedSetup& setup, std::size_t shot, std::int64_t reading) {
  ComparedSetup other = setup;
  std::vector<std::int64_t> steps(setup.sample->steps().begin(), setup.sample->steps().end());
  steps[shot] = reading;
  other.sample = Sample{std::move(steps), setup.sample->step()};
  return other;
}

std::vector<ShotIndex> shot_indices(std::size_t setup, const Indices& shots) {
  std::vector<ShotIndex> out;
  for (const std::size_t shot : shots) out.push_back({.setup = setup, .shot = shot});
  return out;
}

/// Where the verdict of a gap tips. `alike[side]` groups the shots that have the same effect, `with(change, side,
/// shot)` is the verdict after one change, `without_first` that without all first shots.
template <typename With, typename WithoutFirst>
void find_tipping(GapInfluence& gap, const std::array<std::vector<Indices>, 2>& alike,
                  const std::array<Indices, 2>& first, With with, WithoutFirst without_first) {
  const std::array<std::size_t, 2> setups{gap.from, gap.to};
  for (const ReadingChange change : single_changes) {
    for (std::size_t side = 0; side < 2; ++side)
      for (const Indices& shots : alike[side])
        if (const Answer becomes = with(change, side, shots.front()); becomes != gap.verdict)
          gap.tipping.push_back({.change = change, .shots = shot_indices(setups[side], shots), .becomes = becomes});
    if (change != ReadingChange::without_shot) continue;
    if (const Answer becomes = without_first(); becomes != gap.verdict) {
      TippingShots all{.change = ReadingChange::without_first_shots, .shots = {}, .becomes = becomes};
      for (std::size_t side = 0; side < 2; ++side)
        for (const ShotIndex& shot : shot_indices(setups[side], first[side])) all.shots.push_back(shot);
      gap.tipping.push_back(std::move(all));
    }
  }
}

std::vector<Indices> by_reading(const CountedReadings& readings) {
  std::vector<Indices> alike;
  for (const auto& [reading, shots] : readings.shots()) alike.push_back(shots);
  return alike;
}

std::vector<Indices> by_reading_and_place(const ComparedSetup& setup) {
  std::map<std::tuple<std::int64_t, std::uint32_t, std::uint32_t, std::uint32_t>, Indices> alike;
  for (std::size_t i = 0; i < setup.sample->size(); ++i) {
    const ShotPlace place = setup.places.empty() ? ShotPlace{} : setup.places[i];
    alike[{setup.sample->steps()[i], place.bow, place.round, place.session}].push_back(i);
  }
  std::vector<Indices> out;
  for (auto& [key, shots] : alike) out.push_back(std::move(shots));
  return out;
}

void check_places(const ComparedSetup& setup) {
  const std::size_t shots = setup.sample ? setup.sample->size() : 0;
  if (!setup.places.empty() && setup.places.size() != shots)
    throw DomainError{"influence: " + setup.name + " has " + std::to_string(shots) + " shots and " +
                      std::to_string(setup.places.size()) + " places"};
}

}  // namespace

std::vector<std::size_t> first_shots_of_strings(const ComparedSetup& setup) {
  check_places(setup);
  if (!setup.sample) return {};
  if (setup.places.empty()) return {0};
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::size_t> first;
  for (std::size_t i = 0; i < setup.places.size(); ++i) {
    const ShotPlace& place = setup.places[i];
    const auto [string, begun] = first.try_emplace({place.session, place.bow}, i);
    if (begun) continue;
    const std::int64_t earliest = setup.places[string->second].order;
    if (place.order != 0 && earliest != 0 && place.order < earliest) string->second = i;
  }
  Indices shots;
  for (const auto& [string, shot] : first) shots.push_back(shot);
  std::sort(shots.begin(), shots.end());
  return shots;
}

std::vector<GapInfluence> influence(const std::vector<ComparedSetup>& setups, const InfluenceOptions& options) {
  if (setups.size() < 2) throw DomainError{"influence: needs 2 or more set-ups, got " + std::to_string(setups.size())};
  if (options.margin && !(*options.margin > 0.0)) throw DomainError{"influence: the margin must be positive"};
  std::vector<const ComparedSetup*> all;
  std::vector<std::optional<CountedReadings>> readings;
  const Sample* any = nullptr;
  int family = 0;
  for (const ComparedSetup& s : setups) {
    all.push_back(&s);
    readings.emplace_back();
    if (!s.sample) continue;
    if (any == nullptr) any = &*s.sample;
    require_one_lattice(*any, *s.sample);
    if (s.sample->size() < 2) continue;
    readings.back().emplace(*s.sample);
    ++family;
  }
  const auto first = first_shots_of(all, options.first_shots);

  std::vector<GapInfluence> gaps;
  for (std::size_t from = 0; from < setups.size(); ++from)
    for (std::size_t to = from + 1; to < setups.size(); ++to) {
      GapInfluence gap{.from = from, .to = to, .verdict = {}, .tipping = {}};
      if (!readings[from] || !readings[to]) {
        gaps.push_back(std::move(gap));
        continue;
      }
      const RoundedVerdict verdict_of{options, Family{family}, any->step()};
      const std::array<std::size_t, 2> side_of{from, to};
      const std::array<RoundedGroup, 2> whole{readings[from]->group(), readings[to]->group()};
      gap.verdict = verdict_of(whole[0], whole[1]);
      const auto with = [&](ReadingChange change, std::size_t side, std::size_t shot) -> Answer {
        const Sample& sample = *setups[side_of[side]].sample;
        if (change == ReadingChange::without_shot && sample.size() < 3) return std::nullopt;
        const std::int64_t reading = sample.steps()[shot];
        const RoundedGroup changed = readings[side_of[side]]->changed(reading, replacement(change, reading));
        return side == 0 ? verdict_of(changed, whole[1]) : verdict_of(whole[0], changed);
      };
      const auto without_first = [&]() -> Answer {
        const ComparedSetup a = without(setups[from], first[from]), b = without(setups[to], first[to]);
        for (const ComparedSetup* s : {&a, &b})
          if (!s->sample || s->sample->size() < 2) return std::nullopt;
        return verdict_of(rounded_group(*a.sample), rounded_group(*b.sample));
      };
      find_tipping(gap, {by_reading(*readings[from]), by_reading(*readings[to])}, {first[from], first[to]}, with,
                   without_first);
      gaps.push_back(std::move(gap));
    }
  return gaps;
}

GapInfluence influence(const ComparedSetup& from, const ComparedSetup& to, const VerdictRule& rule,
                       const std::vector<std::vector<std::size_t>>& first_shots) {
  check_places(from);
  check_places(to);
  const auto first = first_shots_of({&from, &to}, first_shots);
  const auto asked = [&](const ComparedSetup& a, const ComparedSetup& b) -> Answer {
    if (!a.sample || !b.sample) return std::nullopt;
    try {
      return rule(a, b);
    } catch (const NoAnswer&) {
      return std::nullopt;
    }
  };
  GapInfluence gap{.from = 0, .to = 1, .verdict = asked(from, to), .tipping = {}};
  if (!gap.verdict) return gap;
  const auto with = [&](ReadingChange change, std::size_t side, std::size_t shot) {
    const ComparedSetup& setup = side == 0 ? from : to;
    const auto other = replacement(change, setup.sample->steps()[shot]);
    const ComparedSetup changed = other ? replaced(setup, shot, *other) : without(setup, {shot});
    return side == 0 ? asked(changed, to) : asked(from, changed);
  };
  const auto without_first = [&] { return asked(without(from, first[0]), without(to, first[1])); };
  find_tipping(gap, {by_reading_and_place(from), by_reading_and_place(to)}, {first[0], first[1]}, with, without_first);
  return gap;
}

}  // namespace shotassay
