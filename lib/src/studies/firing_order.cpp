#include <shotassay/studies/firing_order.hpp>

#include <algorithm>
#include <numeric>
#include <set>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/random.hpp>

namespace shotassay {

namespace {

using Indices = std::vector<std::size_t>;

constexpr int most_shots = 10'000;

void check_range(const std::string& what, int got, int least) {
  if (got < least || got > most_shots)
    throw DomainError{"firing_order: " + what + " must be " + std::to_string(least) + " to " +
                      std::to_string(most_shots) + ", got " + std::to_string(got)};
}

void check_names(const std::string& kind, const std::vector<std::string>& names, const std::string& of = "") {
  std::set<std::string> seen;
  for (const auto& name : names) {
    if (name.empty()) throw DomainError{"firing_order: " + kind + of + " without a name"};
    if (!seen.insert(name).second) throw DomainError{"firing_order: " + kind + " " + name + of + " is named twice"};
  }
}

void check(const FiringQuestion& question) {
  if (question.setups.size() < 2)
    throw DomainError{"firing_order: needs two set-ups or more, got " + std::to_string(question.setups.size())};
  std::vector<std::string> names;
  for (const auto& setup : question.setups) names.push_back(setup.name);
  check_names("set-up", names);
  for (const auto& setup : question.setups) {
    check_range("shots with " + setup.name, setup.shots, 1);
    check_names("bow", setup.bows, " of " + setup.name);
  }
  check_names("arrow", question.arrows);
  check_range("warm-ups", question.warm_ups, 0);
  if (question.check_standard.empty()) return;
  if (std::find(names.begin(), names.end(), question.check_standard) != names.end())
    throw DomainError{"firing_order: the check standard is named like set-up " + question.check_standard};
  check_range("check shots", question.check_shots, 1);
}

/// 0 … n − 1 in drawn order (Fisher and Yates).
Indices drawn_order(std::size_t n, numerics::ReplicateStream& random) {
  Indices order(n);
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (std::size_t i = n; i > 1; --i) std::swap(order[i - 1], order[random.below(static_cast<std::uint32_t>(i))]);
  return order;
}

/// The nearest whole number to total·done/all. Where two are as near, the one that makes what is shared out the same
/// there and back: up in the first half, down in the second.
std::int64_t share(std::int64_t total, std::int64_t done, std::int64_t all) {
  const std::int64_t twice = 2 * total * done;
  const std::int64_t below = total * done / all;
  const std::int64_t rest = twice - 2 * below * all;  // 0 … 2·all − 2, against all
  return below + (rest > all || (rest == all && 2 * done <= all) ? 1 : 0);
}

/// The shots of each set-up in each round.
std::vector<std::vector<int>> shots_of_rounds(const FiringQuestion& question) {
  const auto by_shots = [](const FiringSetup& a, const FiringSetup& b) { return a.shots < b.shots; };
  const int fewest = std::min_element(question.setups.begin(), question.setups.end(), by_shots)->shots;
  const bool easy = question.change == Change::easy;
  const int rounds = easy ? (fewest + 1) / 2 : fewest >= 8 ? 4 : std::min(fewest, 2);
  std::vector<std::vector<int>> shots;
  std::vector<std::int64_t> before(question.setups.size(), 0);
  for (int r = 1; r <= rounds; ++r) {
    std::vector<int> row;
    for (std::size_t s = 0; s < question.setups.size(); ++s) {
      // A block holds two shots of the set-up with the fewest, the last one what is left.
      const std::int64_t upto = easy ? share(question.setups[s].shots, std::min(2 * r, fewest), fewest)
                                     : share(question.setups[s].shots, r, rounds);
      row.push_back(static_cast<int>(upto - before[s]));
      before[s] = upto;
    }
    shots.push_back(std::move(row));
  }
  return shots;
}

/// The set-ups of one round in firing order.
struct Round {
  Indices setups;
  bool turns = false;  ///< goes back the way it came
};

/// There and back: the first half takes the set-ups in the order given, each spread evenly over it; the second mirrors
/// it. An odd shot stands at the turning point.
Round there_and_back(const std::vector<int>& shots, const Indices& order) {
  struct Place {
    std::int64_t turn, of;  ///< the place is turn/of of the way
    std::size_t setup;
  };
  std::vector<Place> half;
  Indices middle;
  const auto ways = static_cast<std::int64_t>(order.size());
  for (std::size_t rank = 0; rank < order.size(); ++rank) {
    const std::size_t setup = order[rank];
    const int pairs = shots[setup] / 2;
    for (int i = 0; i < pairs; ++i) half.push_back({i * ways + static_cast<std::int64_t>(rank), ways * pairs, setup});
    if (shots[setup] % 2 == 1) middle.push_back(setup);
  }
  std::stable_sort(half.begin(), half.end(),
                   [](const Place& a, const Place& b) { return a.turn * b.of < b.turn * a.of; });
  Round round;
  for (const Place& place : half) round.setups.push_back(place.setup);
  round.setups.insert(round.setups.end(), middle.begin(), middle.end());
  for (auto place = half.rbegin(); place != half.rend(); ++place) round.setups.push_back(place->setup);
  round.turns = middle.empty();
  return round;
}

Round strings_of_shots(const std::vector<int>& shots, const Indices& order) {
  Round round;
  for (const std::size_t setup : order)
    round.setups.insert(round.setups.end(), static_cast<std::size_t>(shots[setup]), setup);
  return round;
}

/// Hands out the bows of one set-up: which bows shoot in a round, and which of them comes when.
class Bows {
 public:
  Bows(const std::vector<std::string>& names, std::size_t arrows)
      : names_{names},
        with_arrow_(names.size(), Indices(std::max<std::size_t>(arrows, 1), 0)),
        at_place_(names.size()) {}

  void start_round(int shots) {
    waiting_.assign(names_.size(), 0);
    place_ = 0;
    // In turn, going on where the round before stopped: equal within one, over the test and in each round.
    for (int i = 0; i < shots && !names_.empty(); ++i) ++waiting_[next_++ % names_.size()];
  }

  /// The waiting bow that has shot this arrow least, then the one that has stood least in this place of a round, then
  /// any.
  std::string take(std::size_t arrow, numerics::ReplicateStream& random) {
    if (names_.empty()) return {};
    Indices best;
    const auto use = [&](std::size_t bow) {
      const auto& places = at_place_[bow];
      return std::pair{with_arrow_[bow][arrow], place_ < places.size() ? places[place_] : 0};
    };
    for (std::size_t bow = 0; bow < names_.size(); ++bow) {
      if (waiting_[bow] == 0) continue;
      if (!best.empty() && use(bow) < use(best.front())) best.clear();
      if (best.empty() || use(bow) == use(best.front())) best.push_back(bow);
    }
    const std::size_t taken =
        best.size() == 1 ? best.front() : best[random.below(static_cast<std::uint32_t>(best.size()))];
    --waiting_[taken];
    ++with_arrow_[taken][arrow];
    auto& places = at_place_[taken];
    if (places.size() <= place_) places.resize(place_ + 1, 0);
    ++places[place_++];
    return names_[taken];
  }

 private:
  const std::vector<std::string>& names_;
  std::vector<Indices> with_arrow_;  ///< shots of each bow with each arrow
  std::vector<Indices> at_place_;    ///< and in each place of a round
  Indices waiting_;                  ///< shots that each bow still has in this round
  std::size_t place_ = 0;
  std::size_t next_ = 0;
};

/// The arrow of a set-up's i-th shot. Every turn starts one arrow later: else bows that take turns at the same pace
/// would each meet some arrows only, and the first arrow would always be the earlier one.
std::size_t arrow_of(std::size_t i, std::size_t arrows) { return (i + i / arrows) % arrows; }

/// The counted shots in firing order, and where a check in the middle may stand.
class CountedShots {
 public:
  CountedShots(const FiringQuestion& question, numerics::ReplicateStream& random)
      : question_{question}, random_{random}, fired_(question.setups.size(), 0) {
    for (const auto& setup : question.setups) bows_.emplace_back(setup.bows, question.arrows.size());
    const auto shots = shots_of_rounds(question);
    for (std::size_t r = 0; r < shots.size(); ++r) append_round(shots[r], r);
  }

  const std::vector<PlannedShot>& shots() const { return shots_; }

  /// The set-ups, the one that begins the test last.
  Indices last_to_begin_first() const {
    Indices order;
    for (const std::size_t s : setup_of_)
      if (std::find(order.begin(), order.end(), s) == order.end()) order.push_back(s);
    std::reverse(order.begin(), order.end());
    return order;
  }

  /// Shots before the check in the middle.
  std::size_t middle() const {
    const std::size_t n = shots_.size();
    if (breaks_.empty()) return (n + 1) / 2;
    const auto distance = [n](std::size_t at) { return std::max(2 * at, n) - std::min(2 * at, n); };
    return *std::min_element(breaks_.begin(), breaks_.end(),
                             [&](std::size_t a, std::size_t b) { return distance(a) < distance(b); });
  }

 private:
  void append_round(const std::vector<int>& shots, std::size_t r) {
    const bool easy = question_.change == Change::easy;
    if (easy || r % 2 == 0)
      order_ = drawn_order(shots.size(), random_);
    else
      std::reverse(order_.begin(), order_.end());
    if (r > 0) breaks_.push_back(shots_.size());
    const Round round = easy ? there_and_back(shots, order_) : strings_of_shots(shots, order_);
    if (round.turns) breaks_.push_back(shots_.size() + round.setups.size() / 2);
    for (std::size_t s = 0; s < shots.size(); ++s) bows_[s].start_round(shots[s]);
    setup_of_.insert(setup_of_.end(), round.setups.begin(), round.setups.end());
    for (std::size_t i = 0; i < round.setups.size(); ++i) {
      const std::size_t s = round.setups[i];
      const std::size_t arrow = question_.arrows.empty() ? 0 : arrow_of(fired_[s]++, question_.arrows.size());
      shots_.push_back({.setup = question_.setups[s].name,
                        .bow = bows_[s].take(arrow, random_),
                        .round = std::to_string(r + 1),
                        .arrow = question_.arrows.empty() ? std::string{} : question_.arrows[arrow],
                        .set_up_anew = !easy && (i == 0 || round.setups[i - 1] != s)});
    }
  }

  const FiringQuestion& question_;
  numerics::ReplicateStream& random_;
  std::vector<Bows> bows_;
  Indices fired_;  ///< shots so far with each set-up
  Indices order_;  ///< of the set-ups in the round
  Indices setup_of_;
  std::vector<PlannedShot> shots_;
  std::vector<std::size_t> breaks_;
};

template <class T>
const T* in_turn(const std::vector<T>& things, int turn) {
  return things.empty() ? nullptr : &things[static_cast<std::size_t>(turn) % things.size()];
}

}  // namespace

std::vector<PlannedShot> firing_order(const FiringQuestion& question) {
  check(question);
  numerics::ReplicateStream random{question.seed, 0, numerics::RandomPurpose::firing_order};
  const CountedShots counted{question, random};

  std::vector<PlannedShot> all;
  // The set-up that begins the test is warmed up last: where a change is work, that saves one.
  for (const std::size_t s : counted.last_to_begin_first()) {
    const FiringSetup& setup = question.setups[s];
    for (int i = 0; i < question.warm_ups; ++i) {
      const auto* const bow = in_turn(setup.bows, i);
      const auto* const arrow = in_turn(question.arrows, i);
      all.push_back({.setup = setup.name, .bow = bow ? *bow : "", .arrow = arrow ? *arrow : "", .warm_up = true});
    }
  }
  const auto check_standard = [&](const char* when) {
    if (question.check_standard.empty()) return;
    for (int i = 0; i < question.check_shots; ++i)
      all.push_back({.setup = question.check_standard, .round = when, .check_standard = true});
  };
  const auto& shots = counted.shots();
  const auto middle = static_cast<std::ptrdiff_t>(counted.middle());
  check_standard("start");
  all.insert(all.end(), shots.begin(), shots.begin() + middle);
  check_standard("middle");
  all.insert(all.end(), shots.begin() + middle, shots.end());
  check_standard("end");

  std::int64_t order = 0;
  for (PlannedShot& shot : all) shot.order = ++order;
  return all;
}

}  // namespace shotassay
