#include <algorithm>
#include <cmath>
#include <map>
#include <shotassay/core/errors.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/studies/plan.hpp>
#include <string>

namespace shotassay {

namespace {

constexpr double reached = 1e-9;     ///< slack below the power asked that counts as reaching it
constexpr double cheap = 3e6;        ///< operations that a row or a point beside the answer may cost on the lattice
constexpr double met_beside = 1e-4;  ///< how near such a row's detectable gap comes to the power
constexpr std::uint64_t tests_beside = 20'000;  ///< drawn for such a row at most: a standard error of 0.4 % or less

template <class... F>
struct Overloaded : F... {
  using F::operator()...;
};
template <class... F>
Overloaded(F...) -> Overloaded<F...>;

double step_of(const PlanQuestion& q) { return q.how.step.value(); }

double as_shown(double sd, double step) { return std::sqrt(sd * sd + step * step / 12.0); }

void check_goal(const PlanQuestion& q) {
  std::visit(Overloaded{[](std::monostate) {},
                        [&](const FindGap& g) {
                          if (!(g.gap >= 0.1 * step_of(q)) || !std::isfinite(g.gap))
                            throw DomainError{"a gap below a tenth of the display step of " + q.how.step.size().text() +
                                              " is beyond what the display can tell"};
                        },
                        [](const NarrowRange& g) {
                          if (!(g.half_width > 0.0) || !std::isfinite(g.half_width))
                            throw DomainError{"half of the range must be more than 0"};
                        },
                        [](const ShowSame& g) {
                          if (!(g.margin > 0.0) || !std::isfinite(g.margin))
                            throw DomainError{"the margin must be more than 0"};
                          if (!(std::abs(g.true_gap) < g.margin))
                            throw DomainError{"a true gap that does not lie inside the margin cannot be shown to"};
                        }},
             q.goal);
}

void check(const PlanQuestion& q) {
  if (std::holds_alternative<std::monostate>(q.goal) && !q.shots)
    throw DomainError{"needs something to achieve, a number of shots, or both"};
  for (const double sd : {q.sd.from, q.sd.to})
    if (!(sd > 0.0) || !std::isfinite(sd))
      throw DomainError{
          "the SD must be more than 0; a display that repeats itself hides scatter, it does not "
          "end it"};
  check_goal(q);
  if (q.shots && (*q.shots < 2 || *q.shots > most_shots_planned))
    throw DomainError{"shots must be 2 to " + std::to_string(most_shots_planned) + " with each set-up, got " +
                      std::to_string(*q.shots)};
  if (q.power.value() <= q.how.level.alpha())
    throw DomainError{
        "the power asked is no more than what chance alone finds; it must be above the error rate "
        "of the confidence"};
}

/// The chances of one question, each design worked out once.
class Designs {
 public:
  explicit Designs(const PlanQuestion& q) : q_{q} {}

  GroupDesign from(std::int64_t shots) const { return {shots, q_.sd.from}; }
  GroupDesign to(std::int64_t shots) const { return {shots, q_.sd.to}; }

  const DesignPower& at(std::int64_t shots) {
    const auto known = designs_.find(shots);
    if (known != designs_.end()) return known->second;
    return designs_.emplace(shots, DesignPower{from(shots), to(shots), q_.how}).first->second;
  }

  /// Where the answer is not at stake: counted on the lattice only while that is cheap, or nothing else would do.
  const DesignPower& beside(std::int64_t shots) {
    for (const auto* known : {&designs_, &beside_})
      if (const auto found = known->find(shots); found != known->end()) return found->second;
    DesignPowerOptions how = q_.how;
    how.cheap = cheap;
    how.simulate = false;
    how.budget.operations = std::min(how.budget.operations, 10.0 * cheap);
    const auto in_two_million_shots = static_cast<std::uint64_t>(1'000'000 / shots);
    how.simulation.tests =
        std::min({how.simulation.tests, tests_beside, std::max<std::uint64_t>(1000, in_two_million_shots)});
    return beside_.emplace(shots, DesignPower{from(shots), to(shots), how}).first->second;
  }

  Chance chance(const DesignPower& design, const PlanGoal& goal) const {
    if (const auto* same = std::get_if<ShowSame>(&goal)) return design.same(same->true_gap, same->margin);
    if (const auto* narrow = std::get_if<NarrowRange>(&goal)) return design.narrow(narrow->half_width);
    return design.finds(std::get<FindGap>(goal).gap);
  }

  Chance chance(std::int64_t shots) {
    const auto known = chances_.find(shots);
    if (known != chances_.end()) return known->second;
    return chances_.emplace(shots, chance(at(shots), q_.goal)).first->second;
  }

  PlanRow row(std::int64_t shots, const DesignPower& design, double met = 1e-6) const {
    PlanRow r{.shots = shots,
              .chance = {},
              .detectable_gap = design.detectable_gap(q_.power, met),
              .half_width = design.half_width(),
              .by = design.by(),
              .tests = design.by() == ChanceBy::simulation ? design.tests() : 0};
    if (!std::holds_alternative<std::monostate>(q_.goal)) r.chance = chance(design, q_.goal);
    return r;
  }

  bool reaches(std::int64_t shots) { return chance(shots).average >= q_.power.value() - reached; }

 private:
  const PlanQuestion& q_;
  std::map<std::int64_t, DesignPower> designs_, beside_;
  std::map<std::int64_t, Chance> chances_;
};

/// Fewest shots for which the half-width of Welch's interval is small enough in this share of tests.
std::int64_t shots_for_range(double half_width, PlanSds sd, double share, ConfidenceLevel level) {
  const auto narrow = [&](std::int64_t n) {
    return WelchPowerCurve{{n, sd.from}, {n, sd.to}, CriticalFactor{level}}.half_width_at_most(half_width) >= share;
  };
  std::int64_t fails = 1, holds = 2;
  while (!narrow(holds)) {
    fails = holds;
    if (holds == most_shots_planned) throw NoAnswer{"no range so narrow"};
    holds = std::min<std::int64_t>(2 * holds, most_shots_planned);
  }
  while (holds - fails > 1) {
    const std::int64_t middle = fails + (holds - fails) / 2;
    (narrow(middle) ? holds : fails) = middle;
  }
  return holds;
}

/// Where to begin to look: the fewest shots for which the integral comes within 0.05 of the share asked.
std::int64_t first_to_try(const PlanQuestion& q) {
  const double step = step_of(q);
  const PlanSds sd{as_shown(q.sd.from, step), as_shown(q.sd.to, step)};
  const double near = q.power.value() - 0.05, alpha = q.how.level.alpha();
  if (const auto* find = std::get_if<FindGap>(&q.goal)) {
    if (near <= alpha) return 2;
    return sample_size({.smallest_difference = find->gap,
                        .sd_a = sd.from,
                        .sd_b = sd.to,
                        .power = Power{near},
                        .level = q.how.level})
        .shots_a;
  }
  if (near <= 0.0) return 2;
  if (const auto* narrow = std::get_if<NarrowRange>(&q.goal))
    return shots_for_range(narrow->half_width, sd, near, q.how.level);
  const auto& same = std::get<ShowSame>(q.goal);
  return sample_size_for_same({.margin = same.margin,
                               .sd_a = sd.from,
                               .sd_b = sd.to,
                               .true_gap = same.true_gap,
                               .power = Power{near},
                               .level = q.how.level})
      .shots_a;
}

[[noreturn]] void out_of_reach(std::int64_t tried) {
  throw NoAnswer{"no number of shots up to " + std::to_string(tried) +
                 " with each set-up is enough. A smaller SD, a finer display or asking for less would help"};
}

[[noreturn]] void too_long_to_look(std::int64_t tried, double best) {
  throw NoAnswer{"no number of shots up to " + std::to_string(tried) + " with each set-up is enough (" +
                 std::to_string(static_cast<int>(best * 100.0)) +
                 " % of tests at best), and to look further takes too long: with scatter this small the display's step "
                 "hides much of what is asked. A finer display would help, or asking for less"};
}

/// Work of one chance in a search, in operations; the integral's is nothing beside the others.
double work(const PlanQuestion& q, Designs& designs, std::int64_t shots) {
  switch (designs.at(shots).by()) {
    case ChanceBy::lattice:
      return rounding_aware_power_cost(designs.from(shots), designs.to(shots), q.how.step).operations;
    case ChanceBy::simulation:
      return 8.0 * static_cast<double>(designs.at(shots).tests()) * static_cast<double>(shots);
    case ChanceBy::quadrature:
      break;
  }
  return 0.0;
}

/// Fewest shots that reach the goal, the next smaller number shown to fall short.
std::int64_t fewest_shots(const PlanQuestion& q, Designs& designs) {
  // With little scatter the display may hide the gap from any number of shots: such a search ends by its cost.
  const bool little_scatter = std::min(q.sd.from, q.sd.to) < 0.5 * step_of(q);
  std::int64_t fails = 1;
  try {
    fails = first_to_try(q) - 1;
  } catch (const NoAnswer&) {
    out_of_reach(most_shots_planned);
  }
  double spent = 0.0, best = 0.0;
  std::int64_t n = fails + 1;
  while (!designs.reaches(n)) {
    fails = n;
    best = std::max(best, designs.chance(n).average);
    spent += work(q, designs, n);
    if (n == most_shots_planned) out_of_reach(n);
    if (little_scatter && spent > 10.0 * q.how.budget.operations) too_long_to_look(n, best);
    n = std::min(n + std::max<std::int64_t>(1, n / 16), most_shots_planned);
  }
  // Between strides of many shots the chance rises with each: halve the stretch. Shorter ones are tried one by one.
  while (n - fails > 4) {
    const std::int64_t middle = fails + (n - fails) / 2;
    (designs.reaches(middle) ? n : fails) = middle;
  }
  for (std::int64_t m = fails + 1; m < n; ++m)
    if (designs.reaches(m)) n = m;
  // The search may have begun above a number that holds.
  while (n > 2 && designs.reaches(n - 1)) --n;
  return n;
}

/// Numbers of shots worth seeing beside the answer: the small ones, and a few around it.
std::vector<std::int64_t> shots_shown(std::int64_t answer) {
  std::vector<std::int64_t> shots{2, 3, 4, 5, 6, 8, 10, 15, 20};
  for (const std::int64_t n : {answer - 1, answer, answer + 1, 2 * answer})
    if (n >= 2 && n <= most_shots_planned) shots.push_back(n);
  const std::int64_t last = std::max<std::int64_t>(10, 2 * answer);
  std::sort(shots.begin(), shots.end());
  shots.erase(std::unique(shots.begin(), shots.end()), shots.end());
  std::erase_if(shots, [&](std::int64_t n) { return n > last; });
  return shots;
}

/// Numbers of shots along the curve: every one up to 20, then a few dozen.
std::vector<std::int64_t> shots_drawn(std::int64_t answer) {
  const std::int64_t last = std::min(most_shots_planned, std::max<std::int64_t>(10, answer + (answer + 1) / 2));
  std::vector<std::int64_t> shots;
  const std::int64_t every = std::max<std::int64_t>(1, last / 24);
  for (std::int64_t n = 2; n <= last; n += every) shots.push_back(n);
  for (const std::int64_t n : {answer, last})
    if (n <= last) shots.push_back(n);
  std::sort(shots.begin(), shots.end());
  shots.erase(std::unique(shots.begin(), shots.end()), shots.end());
  return shots;
}

/// Would many more shots, ten times as many with one set-up alone, lower the chance of finding the gap?
Overshot overshot(const PlanQuestion& q, std::int64_t shots) {
  const auto* find = std::get_if<FindGap>(&q.goal);
  if (find == nullptr) return Overshot::neither;
  DesignPowerOptions how = q.how;
  how.cheap = cheap;
  how.simulate = false;
  const auto chance = [&](std::int64_t from, std::int64_t to) {
    const GroupDesign a{from, q.sd.from}, b{to, q.sd.to};
    // Where counting would take long the integral is near enough for a warning.
    if (rounding_aware_power_cost(a, b, how.step).operations > 10.0 * cheap) how.interval = PlannedInterval::welch;
    return DesignPower{a, b, how}.finds(find->gap).average;
  };
  const std::int64_t many = std::min(10 * shots, most_shots_planned);
  const double more_from = chance(many, shots), more_to = chance(shots, many), now = chance(shots, shots);
  if (std::min(more_from, more_to) > now - 0.005) return Overshot::neither;
  return more_from < more_to ? Overshot::from : Overshot::to;
}

void answer_for_upper(Plan& out) {
  PlanQuestion q = out.question;
  q.sd = *q.upper_sd;
  Designs designs{q};
  try {
    const std::int64_t shots = out.answer == PlanAnswer::shots ? fewest_shots(q, designs) : *q.shots;
    out.at_upper = designs.row(shots, designs.at(shots));
  } catch (const NoAnswer&) {
    out.upper_out_of_reach = true;
  }
}

}  // namespace

Plan plan(const PlanQuestion& q) {
  check(q);
  Designs designs{q};
  const bool asked_for_shots = !q.shots;
  const bool goal = !std::holds_alternative<std::monostate>(q.goal);
  const std::int64_t shots = asked_for_shots ? fewest_shots(q, designs) : *q.shots;
  Plan out{.answer = asked_for_shots ? PlanAnswer::shots
                     : goal          ? PlanAnswer::chance
                                     : PlanAnswer::gap,
           .question = q,
           .achieved = designs.row(shots, designs.at(shots)),
           .table = {},
           .curve = {},
           .one_less = {},
           .more_can_miss = false,
           .overshot = overshot(q, shots),
           .at_upper = {},
           .upper_out_of_reach = false};
  if (asked_for_shots && shots > 2) out.one_less = designs.chance(shots - 1);
  if (asked_for_shots && shots < most_shots_planned) out.more_can_miss = !designs.reaches(shots + 1);
  for (const std::int64_t n : shots_shown(shots))
    out.table.push_back(n == shots ? out.achieved : designs.row(n, designs.beside(n), met_beside));
  PlanGoal drawn = q.goal;
  if (!goal) drawn = FindGap{out.achieved.detectable_gap};
  const auto known = [&](std::int64_t n) -> std::optional<double> {
    for (const PlanRow& r : out.table)
      if (r.shots == n && r.chance) return r.chance->average;
    return std::nullopt;
  };
  for (const std::int64_t n : shots_drawn(shots)) {
    const auto chance = known(n);
    out.curve.push_back({n, chance ? *chance : designs.chance(designs.beside(n), drawn).average});
  }
  if (q.upper_sd) answer_for_upper(out);
  return out;
}

}  // namespace shotassay
