#include <algorithm>
#include <cmath>
#include <map>
#include <shotassay/core/errors.hpp>
#include <shotassay/methods/bow_power.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/session_power.hpp>
#include <shotassay/studies/bow_plan.hpp>
#include <shotassay/studies/design_power.hpp>
#include <shotassay/studies/scope.hpp>

namespace shotassay {

namespace {

constexpr std::int64_t most_bows = 1000;
constexpr double reached = 1e-9;  ///< slack below the power asked that counts as reaching it

/// The margin first, then the gap seen where it is another.
std::vector<double> gaps_of(const GapsAsked& asked) {
  if (!asked.margin) return {asked.seen};
  if (*asked.margin == asked.seen) return {asked.seen};
  return {*asked.margin, asked.seen};
}

Need to_find(NeedCode code, Claim claim, double gap) {
  Need need{.code = code, .claim = claim};
  need.gap = gap;
  need.power = usual_power;
  return need;
}

Need to_show_same(NeedCode code, Claim claim, double margin) {
  Need need{.code = code, .claim = claim};
  need.same_within = margin;
  need.power = usual_power;
  return need;
}

double before_display(double sd, DisplayStep step) {
  const double s = step.value();
  return std::sqrt(std::max(sd * sd - s * s / 12.0, 0.01 * s * s));
}

/// Shots looked for by the default interval's own power, from Welch's number upwards.
class LatticeSearch {
 public:
  LatticeSearch(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level)
      : sd_a_{before_display(a.sd, step)}, sd_b_{before_display(b.sd, step)} {
    how_.step = step;
    how_.level = level;
    how_.cheap = cheap;
    how_.budget.operations = cheap;
  }

  /// Absent where the display hides so much that a short search ends without an answer. `chance` is asked of a
  /// DesignPower.
  template <class Chance>
  std::optional<std::int64_t> from(std::int64_t shots, const Chance& chance) {
    double spent = 0.0;
    const auto reaches = [&](std::int64_t n) {
      spent += cost(n);
      return chance(at(n)).average >= usual_power - reached;
    };
    std::int64_t fails = shots - 1, n = shots;
    for (; cost(n) <= cheap && !reaches(n); n += std::max<std::int64_t>(1, n / 8)) {
      fails = n;
      if (spent > most_spent) return std::nullopt;
    }
    // Beyond what is cheap to count Welch's number is near enough, unless there is little scatter.
    if (cost(n) > cheap) return std::min(sd_a_, sd_b_) >= 0.5 * how_.step.value() ? std::optional{n} : std::nullopt;
    while (n - fails > 1) {
      const std::int64_t middle = fails + (n - fails) / 2;
      (reaches(middle) ? n : fails) = middle;
    }
    return n;
  }

 private:
  static constexpr double cheap = 3e6, most_spent = 1.5e7;  ///< of one design, of one search: 10 and 40 ms

  double cost(std::int64_t shots) const {
    return rounding_aware_power_cost({shots, sd_a_}, {shots, sd_b_}, how_.step).operations;
  }

  const DesignPower& at(std::int64_t shots) {
    const auto known = designs_.find(shots);
    if (known != designs_.end()) return known->second;
    return designs_.emplace(shots, DesignPower{{shots, sd_a_}, {shots, sd_b_}, how_}).first->second;
  }

  double sd_a_, sd_b_;
  DesignPowerOptions how_;
  std::map<std::int64_t, DesignPower> designs_;
};

template <class Answer>
std::optional<std::int64_t> within_reach(const Answer& answer) {
  try {
    return answer();
  } catch (const NoAnswer&) {
    return std::nullopt;
  }
}

/// Fewest bows of each kind with a power that rises with every bow.
template <class PowerOf>
std::optional<std::int64_t> fewest_bows(const PowerOf& power) {
  const auto enough = [&](std::int64_t bows) { return power(bows) >= usual_power - reached; };
  if (enough(2)) return 2;
  std::int64_t fails = 2, holds = 4;
  while (!enough(holds)) {
    if (holds == most_bows) return std::nullopt;
    fails = holds;
    holds = std::min(2 * holds, most_bows);
  }
  while (holds - fails > 1) {
    const std::int64_t middle = fails + (holds - fails) / 2;
    (enough(middle) ? holds : fails) = middle;
  }
  return holds;
}

}  // namespace

GapsAsked::GapsAsked(double difference, DisplayStep step, std::optional<double> of)
    : seen{std::max(std::abs(difference), step.value())}, margin{of} {}

std::vector<Need> shots_needed(const GapsAsked& asked, GroupDesign a, GroupDesign b, DisplayStep step,
                               ConfidenceLevel level, Family family) {
  LatticeSearch search{a, b, step, level};
  const auto settle = [&](Need need, std::optional<std::int64_t> by_welch, const auto& chance) {
    need.shots = by_welch && family.is_pair() ? search.from(*by_welch, chance) : by_welch;
    if (by_welch && !need.shots) need.code = NeedCode::finer_display;
    return need;
  };
  std::vector<Need> needs;
  for (const double gap : gaps_of(asked)) {
    const auto by_welch = within_reach([&] {
      return sample_size({.smallest_difference = gap,
                          .sd_a = a.sd,
                          .sd_b = b.sd,
                          .power = Power{usual_power},
                          .level = level,
                          .family = family})
          .shots_a;
    });
    needs.push_back(settle(to_find(NeedCode::more_shots, Claim::setups_today, gap), by_welch,
                           [&](const DesignPower& design) { return design.finds(gap); }));
  }
  if (!asked.margin) return needs;
  const double margin = *asked.margin;
  const auto by_welch = within_reach([&] {
    return sample_size_for_same({.margin = margin,
                                 .sd_a = a.sd,
                                 .sd_b = b.sd,
                                 .power = Power{usual_power},
                                 .level = level,
                                 .family = family})
        .shots_a;
  });
  needs.push_back(settle(to_show_same(NeedCode::more_shots, Claim::setups_today, margin), by_welch,
                         [&](const DesignPower& design) { return design.same(0.0, margin); }));
  return needs;
}

Need sessions_needed(ConfidenceLevel level) {
  Need need{.code = NeedCode::several_days, .claim = Claim::setups_any_day};
  need.sessions = 4;
  need.more_sessions = 3;
  need.two_sessions_wider = session_half_width(2, level) / session_half_width(4, level);
  return need;
}

std::vector<Need> sessions_needed(const GapsAsked& asked, double sd_of_gaps, std::int64_t seen, ConfidenceLevel level) {
  if (usual_power <= level.alpha()) return {sessions_needed(level)};
  std::vector<Need> needs;
  for (const double gap : gaps_of(asked)) {
    Need need = to_find(NeedCode::several_days, Claim::setups_any_day, gap);
    need.sessions = fewest_sessions(gap, sd_of_gaps, Power{usual_power}, level);
    if (need.sessions) need.more_sessions = std::max<std::int64_t>(0, *need.sessions - seen);
    needs.push_back(need);
  }
  return needs;
}

std::vector<Need> bows_needed(const GapsAsked& asked, StatedBows stated, DisplayStep step, ConfidenceLevel level) {
  const double shot_sd = before_display(stated.shot_sd, step);
  std::vector<Need> needs;
  for (const double gap : gaps_of(asked)) {
    Need need = to_find(NeedCode::several_bows, Claim::kinds_of_bow, gap);
    try {
      const BowCell found = cheapest_bow_test({.resolve = gap,
                                               .bow_sd = stated.bow_sd,
                                               .shot_sd = shot_sd,
                                               .power = Power{usual_power},
                                               .level = level,
                                               .step = step});
      need.bows = found.bows;
      need.more_bows = found.bows - 1;
      need.shots = found.shots;
    } catch (const NoAnswer&) {
    } catch (const DomainError&) {
      continue;  // a margin so far below a display step that no plan is made for it
    }
    needs.push_back(need);
  }
  return needs;
}

std::vector<Need> bows_needed(const GapsAsked& asked, const BowsSeen& seen, ConfidenceLevel level) {
  const auto counted = [&](Need need, std::optional<std::int64_t> bows) {
    need.bows = bows;
    if (bows) need.more_bows = std::max<std::int64_t>(0, *bows - seen.bows);
    if (bows) need.shots = seen.shots;
    return need;
  };
  const auto curve = [&](std::int64_t bows) { return detail::bow_curve(bows, seen.spread, level); };
  std::vector<Need> needs;
  for (const double gap : gaps_of(asked))
    needs.push_back(counted(to_find(NeedCode::more_bows, Claim::kinds_of_bow, gap),
                            fewest_bows([&](std::int64_t bows) { return curve(bows).two_sided(gap).power; })));
  if (asked.margin)
    needs.push_back(
        counted(to_show_same(NeedCode::more_bows, Claim::kinds_of_bow, *asked.margin),
                fewest_bows([&](std::int64_t bows) { return curve(bows).equivalence(0.0, *asked.margin).power; })));
  return needs;
}

}  // namespace shotassay
