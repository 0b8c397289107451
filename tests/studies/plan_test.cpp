#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/plan.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenth{Decimal{1, 1}};
const WorkBudget much{.operations = 5e9, .bytes = 1e9};

/// The chance of a goal, counted on the lattice without the study's help.
double counted(const PlanGoal& goal, PlanSds sd, std::int64_t shots, DisplayStep step = whole,
               ConfidenceLevel level = ConfidenceLevel{0.95}) {
  const RoundingAwarePower power{{shots, sd.from}, {shots, sd.to}, step, level, much};
  if (const auto* find = std::get_if<FindGap>(&goal)) return power.finds(find->gap).average;
  if (const auto* narrow = std::get_if<NarrowRange>(&goal)) return power.half_width_at_most(narrow->half_width);
  const auto& same = std::get<ShowSame>(goal);
  return power.same(same.true_gap, same.margin).average;
}

double with_display(double sd, double step = 1.0) { return std::sqrt(sd * sd + step * step / 12.0); }

std::vector<std::int64_t> shots_in(const Plan& p) {
  std::vector<std::int64_t> shots;
  for (const PlanRow& r : p.table) shots.push_back(r.shots);
  return shots;
}

std::string refusal(const PlanQuestion& question) {
  try {
    plan(question);
  } catch (const DomainError& reason) {
    return reason.what();
  }
  return "no DomainError";
}

std::string no_answer(const PlanQuestion& question) {
  try {
    plan(question);
  } catch (const NoAnswer& reason) {
    return reason.what();
  }
  return "an answer";
}

constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace

TEST_CASE("plan: the shots told are the fewest that reach the goal, found by counting every number from 2 on") {
  struct Case {
    PlanGoal goal;
    PlanSds sd;
    DisplayStep step = whole;
    double power = 0.8, level = 0.95;
  };
  for (const Case& c : {
           Case{FindGap{3}, {0.3, 0.3}},
           Case{FindGap{1}, {0.3, 0.3}},
           Case{FindGap{1}, {0.6, 0.6}},
           Case{FindGap{2}, {1.2, 1.2}},
           Case{FindGap{3}, {1.2, 1.2}, whole, 0.95},
           Case{FindGap{3}, {1.2, 1.2}, whole, 0.5},
           Case{FindGap{3}, {1.2, 1.2}, whole, 0.8, 0.8},
           Case{FindGap{6}, {3, 3}},
           Case{FindGap{6}, {1, 3}},
           Case{FindGap{3}, {0.3, 1.2}},
           Case{FindGap{2}, {0.05, 0.6}},
           Case{FindGap{2}, {0.1, 0.1}},
           Case{FindGap{0.2}, {0.06, 0.06}, tenth},
           Case{FindGap{0.3}, {0.12, 0.03}, tenth},
           Case{FindGap{3}, {0.3, 0.3}, tenth},
           Case{NarrowRange{1}, {0.3, 0.3}},
           Case{NarrowRange{1}, {0.6, 0.6}},
           Case{NarrowRange{2}, {1.2, 1.2}, whole, 0.9},
           Case{NarrowRange{3}, {3, 0.6}},
           Case{NarrowRange{0.2}, {0.06, 0.06}, tenth},
           Case{ShowSame{1}, {0.3, 0.3}},
           Case{ShowSame{2}, {0.6, 0.6}},
           Case{ShowSame{3}, {1.2, 1.2}},
           Case{ShowSame{3, 1}, {1.2, 1.2}},
           Case{ShowSame{3, -1}, {1.2, 0.6}},
           Case{ShowSame{6}, {3, 1}, whole, 0.8, 0.9},
           Case{ShowSame{0.3, 0.05}, {0.06, 0.12}, tenth},
       }) {
    CAPTURE(c.sd.from);
    CAPTURE(c.sd.to);
    CAPTURE(c.power);
    const ConfidenceLevel level{c.level};
    const Plan p = plan({.goal = c.goal,
                         .sd = c.sd,
                         .power = Power{c.power},
                         .how = {.step = c.step, .level = level, .budget = much, .cheap = 1e9}});
    const std::int64_t n = p.achieved.shots;
    REQUIRE(p.achieved.by == ChanceBy::lattice);
    CHECK(p.answer == PlanAnswer::shots);
    REQUIRE(p.achieved.chance);
    CHECK(p.achieved.chance->average == counted(c.goal, c.sd, n, c.step, level));
    CHECK(p.achieved.chance->average >= c.power - 1e-9);
    for (std::int64_t fewer = 2; fewer < n; ++fewer) {
      CAPTURE(fewer);
      CHECK(counted(c.goal, c.sd, fewer, c.step, level) < c.power - 1e-9);
    }
    REQUIRE(p.one_less.has_value() == (n > 2));
    if (p.one_less) CHECK(p.one_less->average == counted(c.goal, c.sd, n - 1, c.step, level));
    CHECK(p.more_can_miss == (counted(c.goal, c.sd, n + 1, c.step, level) < c.power - 1e-9));
  }
}

TEST_CASE("plan: where one shot more would fall short again, it says so") {
  // Sameness within half a step at an SD of 0.3 rises in jumps: whether n is even decides what averages can be seen.
  const PlanQuestion q{.goal = ShowSame{0.5}, .sd = {0.3, 0.3}};
  const Plan p = plan(q);
  const std::int64_t n = p.achieved.shots;
  CHECK(counted(q.goal, q.sd, n) >= 0.8);
  CHECK(counted(q.goal, q.sd, n + 1) < 0.8);
  CHECK(p.more_can_miss);
}

TEST_CASE("plan: Welch's plain interval needs the shots of SciPy's double sums") {
  // SD √(1.2² + 1/12) for both; trapezoid rule, step 0.02, in the logs of both chi variables (SciPy 1.10), power at
  //   n          4           5           6           7           8
  //   gap 3      0.77341294  0.90411689  0.96101338
  //   gap 2                              0.69917264  0.78462424  0.84768528
  //   same 3     0.5827294   0.8100159
  //   same 3, true gap 0.5   0.7460500   0.8649766
  // (step 0.0025 for sameness, which has a kink; 1e-7)
  // and of the half-width, where the rule has a jump to sum over, within 0.003: at most 2 at n = 5 0.673, 6 0.872.
  const DesignPowerOptions welch{.interval = PlannedInterval::welch};
  struct Case {
    PlanGoal goal;
    double power;
    std::int64_t shots;
    double chance, one_less, tolerance;
  };
  for (const Case& c :
       {Case{FindGap{3}, 0.8, 5, 0.90411689, 0.77341294, 1e-8}, Case{FindGap{3}, 0.95, 6, 0.96101338, 0.90411689, 1e-8},
        Case{FindGap{3}, 0.75, 4, 0.77341294, 0.50484089, 1e-8}, Case{FindGap{2}, 0.8, 8, 0.84768528, 0.78462424, 1e-8},
        Case{ShowSame{3}, 0.8, 5, 0.8100159, 0.5827294, 2e-7},
        Case{ShowSame{3, 0.5}, 0.8, 6, 0.8649766, 0.7460500, 2e-7},
        Case{ShowSame{3, -0.5}, 0.8, 6, 0.8649766, 0.7460500, 2e-7},
        Case{NarrowRange{2}, 0.8, 6, 0.872, 0.673, 3e-3}}) {
    CAPTURE(c.shots);
    const Plan p = plan({.goal = c.goal, .sd = {1.2, 1.2}, .power = Power{c.power}, .how = welch});
    CHECK(p.achieved.shots == c.shots);
    CHECK(p.achieved.by == ChanceBy::quadrature);
    CHECK(p.achieved.chance->average == within(c.chance, c.tolerance));
    CHECK(p.one_less->average == within(c.one_less, c.tolerance));
    CHECK(!p.achieved.chance->worst_phase);
  }
  // SDs 0.6 and 3, same within 6: 0.6120802 at n = 4, 0.8242423 at n = 5.
  const Plan uneven = plan({.goal = ShowSame{6}, .sd = {0.6, 3}, .how = welch});
  CHECK(uneven.achieved.shots == 5);
  CHECK(uneven.achieved.chance->average == within(0.8242423, 2e-7));
}

TEST_CASE("plan: with scatter of many display steps the answer by the integral is that of tests drawn at random") {
  for (const auto& [goal, sd] :
       {std::pair{PlanGoal{FindGap{2}}, PlanSds{3, 3}}, {FindGap{3}, {3, 2}}, {ShowSame{3}, {3, 3}}}) {
    const Plan p = plan({.goal = goal, .sd = sd});
    const std::int64_t n = p.achieved.shots;
    CAPTURE(n);
    REQUIRE(p.achieved.by == ChanceBy::quadrature);
    const auto* same = std::get_if<ShowSame>(&goal);
    const auto drawn = simulate_rounding_aware(same ? 0.0 : std::get<FindGap>(goal).gap,
                                               same ? std::optional{same->margin} : std::nullopt, {n, sd.from},
                                               {n, sd.to}, whole, ConfidenceLevel{0.95}, {.tests = 100'000});
    const PhasePower& power = same ? *drawn.same : drawn.finds;
    CHECK(p.achieved.chance->average == within(power.average, 4.0 * power.error + 0.003));
    CHECK(p.achieved.chance->average >= 0.8);
    CHECK(p.one_less->average < 0.8);
  }
}

TEST_CASE("plan: one set-up that scatters little beside one that scatters much is no reason to give up") {
  const PlanQuestion q{.goal = FindGap{3}, .sd = {0.3, 3}};
  const Plan p = plan(q);
  CHECK(counted(q.goal, q.sd, p.achieved.shots) >= 0.8);
  CHECK(counted(q.goal, q.sd, p.achieved.shots - 1) < 0.8);
  // Beyond what is counted it is drawn; 0.4 and 2 steps, gap 1: by R's noncentral t at variance σ² + 1/12,
  // power.t.test(n = 35, delta = 1, sd = sqrt((0.4^2 + 2^2 + 1/6)/2)) says 0.80 for 35, which the display makes more.
  const Plan drawn = plan({.goal = FindGap{1}, .sd = {0.4, 2}, .how = {.simulation = {.tests = 4'000}}});
  CHECK(drawn.achieved.by == ChanceBy::simulation);
  CHECK(drawn.achieved.shots >= 34);
  CHECK(drawn.achieved.shots <= 42);
  CHECK(drawn.achieved.chance->average >= 0.8);
  CHECK(drawn.achieved.chance->error == within(std::sqrt(0.16 / 4'000), 3e-4));
}

TEST_CASE("plan: the search goes on where the display hides much, and the answer is counted") {
  const PlanQuestion q{.goal = NarrowRange{0.5}, .sd = {0.3, 0.3}};
  const Plan p = plan(q);
  CHECK(p.achieved.by == ChanceBy::lattice);
  CHECK(p.achieved.shots > 20);
  CHECK(counted(q.goal, q.sd, p.achieved.shots) >= 0.8);
  CHECK(counted(q.goal, q.sd, p.achieved.shots - 1) < 0.8);
}

TEST_CASE("plan: a scatter that the display hides has no answer, which says how far was looked and what would help") {
  const std::string text = no_answer({.goal = FindGap{1}, .sd = {0.1, 0.1}, .how = {.budget = {.operations = 1e7}}});
  CHECK(text.starts_with("no number of shots up to "));
  CHECK(text.ends_with(
      " % of tests at best), and to look further takes too long: with scatter this small the display's step hides much "
      "of what is asked. A finer display would help, or asking for less"));
  // Two set-ups a whole step apart whose readings hardly scatter: most look one step apart, and their ranges end on 0.
  // Counted for SD 0.1: found in 0.21 of tests with 5 shots each, 0.43 with 40, 0.56 with 240.
  const auto best = std::stoi(text.substr(text.find('(') + 1));
  CHECK(best >= 20);
  CHECK(best <= 60);
  // A share that misses the power is not rounded up to it.
  const std::string near =
      no_answer({.goal = FindGap{1}, .sd = {0.1, 0.1}, .power = Power{0.5}, .how = {.budget = {.operations = 1e7}}});
  CHECK(near.find("(50 % of tests") == std::string::npos);
}

TEST_CASE("plan: up to 10 000 shots are looked at, and above there is no answer") {
  // z = Φ⁻¹(0.975) + Φ⁻¹(0.8) = 2.801585; n = 2(σ² + 1/12)(z/gap)² and about z₀.₉₇₅²/4 ≈ 1 more for Student's t:
  // SD 10, gap 0.397: 2·100.0833·(2.801585/0.397)² = 9968.2; 0.396: 10018.6.
  const Plan most = plan({.goal = FindGap{0.397}, .sd = {10, 10}});
  CHECK(most.achieved.shots >= 9'968);
  CHECK(most.achieved.shots <= 9'971);
  CHECK(most.achieved.chance->average >= 0.8);
  CHECK(shots_in(most).back() == most.achieved.shots + 1);
  CHECK(most.curve.back().shots == 10'000);
  const std::string none =
      "no number of shots up to 10000 with each set-up is enough. A smaller SD, a finer display or asking for less "
      "would help";
  CHECK(no_answer({.goal = FindGap{0.396}, .sd = {10, 10}}) == none);  // the search begins below 10 000
  CHECK(no_answer({.goal = FindGap{0.1}, .sd = {10, 10}}) == none);    // it would begin above
  CHECK(no_answer({.goal = NarrowRange{0.277}, .sd = {10, 10}}) == none);
  CHECK(no_answer({.goal = NarrowRange{0.01}, .sd = {10, 10}}) == none);
  CHECK(no_answer({.goal = ShowSame{0.45}, .sd = {10, 10}}) == none);
  CHECK(no_answer({.goal = ShowSame{0.1}, .sd = {10, 10}}) == none);
  // 10 000 shots themselves can be the answer: one_less is there, one more is not looked at.
  // n = 10 000 for a gap of 2.801585·√(2·100.0833/10000) = 0.39637, plus a hair for Student's t.
  const Plan last = plan({.goal = FindGap{0.39639}, .sd = {10, 10}});
  CHECK(last.achieved.shots >= 9'999);
  CHECK(last.achieved.shots <= 10'000);
}

TEST_CASE("plan: shots alone ask for the gap they find, shots and a goal for the chance") {
  const Plan gap = plan({.shots = 5, .sd = {1.2, 0.6}, .power = Power{0.9}});
  CHECK(gap.answer == PlanAnswer::gap);
  CHECK(gap.achieved.shots == 5);
  CHECK(!gap.achieved.chance);
  CHECK(!gap.one_less);
  CHECK(!gap.more_can_miss);
  CHECK(gap.overshot == Overshot::neither);
  CHECK(counted(FindGap{gap.achieved.detectable_gap}, {1.2, 0.6}, 5) == within(0.9, 1.1e-6));
  for (const PlanRow& r : gap.table) CHECK(!r.chance);

  for (const PlanGoal& goal : {PlanGoal{FindGap{3}}, {NarrowRange{2}}, {ShowSame{3, 0.5}}}) {
    const Plan chance = plan({.goal = goal, .shots = 5, .sd = {1.2, 0.6}, .power = Power{0.9}});
    CHECK(chance.answer == PlanAnswer::chance);
    CHECK(chance.achieved.shots == 5);
    CHECK(chance.achieved.chance->average == counted(goal, {1.2, 0.6}, 5));
    CHECK(chance.achieved.detectable_gap == gap.achieved.detectable_gap);
    CHECK(!chance.one_less);
    CHECK(!chance.more_can_miss);
  }
}

TEST_CASE(
    "plan: the half-width and the detectable gap are those of the answer's shots, for the power and level asked") {
  const ConfidenceLevel level{0.9};
  const Plan p =
      plan({.goal = FindGap{0.5}, .sd = {0.12, 0.3}, .power = Power{0.7}, .how = {.step = tenth, .level = level}});
  const std::int64_t n = p.achieved.shots;
  const RoundingAwarePower power{{n, 0.12}, {n, 0.3}, tenth, level, much};
  CHECK(p.achieved.half_width == power.mean_half_width());
  CHECK(power.finds(p.achieved.detectable_gap).average == within(0.7, 1.1e-6));
  CHECK(p.achieved.detectable_gap <= 0.5);
}

TEST_CASE("plan: the table holds small numbers and those around the answer, each row worked out for itself") {
  CHECK(shots_in(plan({.shots = 2, .sd = {1.5, 1.5}})) == std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10});
  const Plan seven = plan({.goal = FindGap{2}, .shots = 7, .sd = {0.6, 0.3}});
  CHECK(shots_in(seven) == std::vector<std::int64_t>{2, 3, 4, 5, 6, 7, 8, 10, 14});
  const DesignPowerOptions welch{.interval = PlannedInterval::welch};
  CHECK(shots_in(plan({.shots = 30, .sd = {1.5, 1.5}, .how = welch})) ==
        std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10, 15, 20, 29, 30, 31, 60});
  // Twice the answer, and one more, are left out beyond what is planned.
  CHECK(shots_in(plan({.shots = 10'000, .sd = {1.5, 1.5}, .how = welch})) ==
        std::vector<std::int64_t>{2, 3, 4, 5, 6, 8, 10, 15, 20, 9'999, 10'000});
  for (const PlanRow& r : seven.table) {
    CAPTURE(r.shots);
    REQUIRE(r.by == ChanceBy::lattice);
    CHECK(r.chance->average == counted(FindGap{2}, {0.6, 0.3}, r.shots));
    // The answer's gap to 1e-6 of the power, those beside it to 1e-4.
    CHECK(counted(FindGap{r.detectable_gap}, {0.6, 0.3}, r.shots) == within(0.8, r.shots == 7 ? 1.1e-6 : 1.01e-4));
    CHECK(r.half_width ==
          RoundingAwarePower{{r.shots, 0.6}, {r.shots, 0.3}, whole, ConfidenceLevel{0.95}, much}.mean_half_width());
  }
}

TEST_CASE("plan: rows beside the answer are worked out in a cheaper way, the answer's own row is the answer") {
  const Plan p = plan({.goal = FindGap{3}, .sd = {2, 2}, .how = {.cheap = 1e9}});
  const std::int64_t n = p.achieved.shots;
  REQUIRE(p.achieved.by == ChanceBy::lattice);
  for (const PlanRow& r : p.table) {
    CAPTURE(r.shots);
    if (r.shots == n) {
      CHECK(r.by == ChanceBy::lattice);
      CHECK(r.chance->average == p.achieved.chance->average);
    } else if (r.shots == n - 1) {
      CHECK(r.chance->average == p.one_less->average);
    } else if (r.shots == n + 1) {
      CHECK(r.by == ChanceBy::lattice);  // counted already, to see whether one more can miss
    } else if (rounding_aware_power_cost({r.shots, 2}, {r.shots, 2}, whole).operations > 3e6 &&
               quadrature_suffices({r.shots, 2}, {r.shots, 2}, whole)) {
      CHECK(r.by == ChanceBy::quadrature);
      const double sd = with_display(2);
      CHECK(r.chance->average == digits(welch_power(3, {r.shots, sd}, {r.shots, sd}).power, 12));
    } else {
      CHECK(r.by == ChanceBy::lattice);
    }
  }
  CHECK(std::any_of(p.table.begin(), p.table.end(), [](const PlanRow& r) { return r.by == ChanceBy::quadrature; }));
}

TEST_CASE("plan: with simulation asked for the answer is drawn, and nothing beside it") {
  const Plan p = plan({.goal = FindGap{3},
                       .shots = 5,
                       .sd = {1.2, 1.2},
                       .how = {.simulation = {.tests = 5'000, .seed = 3}, .simulate = true}});
  CHECK(p.achieved.by == ChanceBy::simulation);
  const auto drawn = simulate_rounding_aware(3, std::nullopt, {5, 1.2}, {5, 1.2}, whole, ConfidenceLevel{0.95},
                                             {.tests = 5'000, .seed = 3});
  CHECK(p.achieved.chance->average == drawn.finds.average);
  CHECK(p.achieved.chance->error == drawn.finds.error);
  CHECK(p.achieved.tests == 5'000);
  CHECK(p.achieved.chance->average == within(counted(FindGap{3}, {1.2, 1.2}, 5), 4.0 * drawn.finds.error));
  for (const PlanRow& r : p.table)
    if (r.shots != 5) {
      CHECK(r.by == ChanceBy::lattice);
      CHECK(r.tests == 0);
    }
  // Shots for a goal are found by it too.
  const Plan shots =
      plan({.goal = NarrowRange{2}, .sd = {0.3, 0.3}, .how = {.simulation = {.tests = 5'000}, .simulate = true}});
  CHECK(shots.achieved.by == ChanceBy::simulation);
  CHECK(shots.achieved.shots == 3);  // by counting: 0.986 at 3 shots, 0 at 2
}

TEST_CASE("plan: a simulated range is never told narrower than the display lets it be") {
  // By Welch's interval seven shots with an SD of 0.3 would be within ±0.5; by counting it takes about fifty.
  const PlanQuestion q{.goal = NarrowRange{0.5}, .shots = 8, .sd = {0.3, 0.3}, .how = {.simulate = true}};
  const Plan p = plan(q);
  const double sd = with_display(0.3);
  CHECK(WelchPowerCurve{{8, sd}, {8, sd}, CriticalFactor{ConfidenceLevel{0.95}}}.half_width_at_most(0.5) > 0.5);
  CHECK(p.achieved.chance->average == within(counted(q.goal, q.sd, 8), 4.0 * p.achieved.chance->error));
  CHECK(p.achieved.chance->average < 0.01);
}

TEST_CASE("plan: the curve rises from 2 shots past the answer and goes through the table") {
  for (const PlanGoal& goal : {PlanGoal{FindGap{2}}, {NarrowRange{2}}, {ShowSame{3}}}) {
    const Plan p = plan({.goal = goal, .sd = {1.2, 1.2}});
    CHECK(p.curve.front().shots == 2);
    CHECK(p.curve.back().shots == std::max<std::int64_t>(10, (3 * p.achieved.shots + 1) / 2));
    bool marked = false;
    for (std::size_t i = 0; i < p.curve.size(); ++i) {
      const CurvePoint& point = p.curve[i];
      if (i > 0) CHECK(point.shots > p.curve[i - 1].shots);
      CHECK(point.chance >= 0.0);
      CHECK(point.chance <= 1.0);
      marked = marked || (point.shots == p.achieved.shots && point.chance == p.achieved.chance->average);
      for (const PlanRow& r : p.table)
        if (r.shots == point.shots) CHECK(point.chance == r.chance->average);
    }
    CHECK(marked);
  }
}

TEST_CASE("plan: without a goal the curve is that of the gap the shots find") {
  const Plan p = plan({.shots = 6, .sd = {1.2, 1.2}, .power = Power{0.9}});
  for (const CurvePoint& point : p.curve) {
    CAPTURE(point.shots);
    CHECK(point.chance == counted(FindGap{p.achieved.detectable_gap}, {1.2, 1.2}, point.shots));
    if (point.shots == 6) CHECK(point.chance == within(0.9, 1.1e-6));
  }
}

TEST_CASE("plan: a curve of thousands of shots has a few dozen points") {
  const Plan p =
      plan({.goal = FindGap{1}, .shots = 6'000, .sd = {10, 10}, .how = {.interval = PlannedInterval::welch}});
  CHECK(p.curve.size() >= 20);
  CHECK(p.curve.size() <= 40);
  CHECK(p.curve.back().shots == 9'000);
}

TEST_CASE("plan: it warns where many more shots with one set-up alone would find the gap less often") {
  // SciPy 1.10, double sum over both chi variables, SDs √(1 + 1/12) and √(9 + 1/12), gap 6:
  //   3 + 3 0.526513   30 + 3 0.483721   3 + 30 0.997361
  //   4 + 4 0.767084   40 + 4 0.755126   4 + 40 0.999997
  //   5 + 5 0.904389   50 + 5 0.906786
  const auto at = [](PlanSds sd, std::int64_t shots, const PlanGoal& goal = FindGap{6},
                     PlannedInterval interval = PlannedInterval::welch) {
    return plan({.goal = goal, .shots = shots, .sd = sd, .how = {.interval = interval}}).overshot;
  };
  CHECK(at({1, 3}, 3) == Overshot::from);
  CHECK(at({3, 1}, 3) == Overshot::to);
  CHECK(at({1, 3}, 4) == Overshot::from);
  CHECK(at({1, 3}, 5) == Overshot::neither);
  CHECK(at({2, 2}, 3) == Overshot::neither);
  CHECK(at({1, 3}, 3, NarrowRange{6}) == Overshot::neither);
  CHECK(at({1, 3}, 3, ShowSame{6}) == Overshot::neither);
  // The range that compare gives, by counting: 3 + 3 against 30 + 3.
  const auto finds = [](std::int64_t from) {
    return RoundingAwarePower{{from, 1}, {3, 3}, whole, ConfidenceLevel{0.95}, much}.finds(6).average;
  };
  CHECK(finds(30) < finds(3) - 0.005);
  CHECK(at({1, 3}, 3, FindGap{6}, PlannedInterval::rounding_aware) == Overshot::from);
  CHECK(at({3, 1}, 3, FindGap{6}, PlannedInterval::rounding_aware) == Overshot::to);
}

TEST_CASE("plan: should the SD be as large as it may well be, the answer is that of a plan with it") {
  const PlanSds sd{0.6, 0.3}, upper{1.2, 0.9};
  const auto check_row = [](const PlanRow& a, const PlanRow& b) {
    CHECK(a.shots == b.shots);
    CHECK(a.by == b.by);
    CHECK(a.detectable_gap == b.detectable_gap);
    CHECK(a.half_width == b.half_width);
    REQUIRE(a.chance.has_value() == b.chance.has_value());
    if (a.chance) CHECK(a.chance->average == b.chance->average);
  };
  for (const PlanQuestion& q :
       {PlanQuestion{.goal = FindGap{2}, .sd = sd}, PlanQuestion{.goal = FindGap{2}, .shots = 4, .sd = sd},
        PlanQuestion{.shots = 4, .sd = sd}, PlanQuestion{.goal = NarrowRange{2}, .sd = sd},
        PlanQuestion{.goal = ShowSame{3}, .sd = sd}}) {
    PlanQuestion with = q, other = q;
    with.upper_sd = upper;
    other.sd = upper;
    const Plan p = plan(with);
    CHECK(!p.upper_out_of_reach);
    REQUIRE(p.at_upper);
    check_row(*p.at_upper, plan(other).achieved);
    check_row(p.achieved, plan(q).achieved);
    CHECK(!plan(q).at_upper);
    CHECK(!plan(q).upper_out_of_reach);
  }
}

TEST_CASE("plan: shots that nobody fires are no answer for the larger SD, and the answer for the other one stays") {
  const Plan p = plan({.goal = FindGap{1}, .sd = {1.2, 1.2}, .upper_sd = PlanSds{60, 60}});
  CHECK(p.upper_out_of_reach);
  CHECK(!p.at_upper);
  CHECK(p.achieved.chance->average >= 0.8);
}

TEST_CASE("plan: whatever is asked, the shots told reach the power and one less with each does not") {
  // Every way of working out, SDs from a tenth of a step to ten, several goals, levels and powers.
  int answers = 0;
  for (const double sd : {0.1, 0.4, 10.0})
    for (const double ratio : {1.0, 2.5})
      for (const PlanGoal& goal : {PlanGoal{FindGap{2.3}}, {NarrowRange{1.7}}, {ShowSame{2.9, 0.4}}})
        for (const auto& asked : {std::pair{0.8, 0.95}, {0.3, 0.8}, {0.95, 0.9}}) {
          const double power = asked.first, level = asked.second;
          CAPTURE(sd);
          CAPTURE(ratio);
          CAPTURE(power);
          const DesignPowerOptions how{.level = ConfidenceLevel{level}};
          const Plan p = plan({.goal = goal, .sd = {sd, sd * ratio}, .power = Power{power}, .how = how});
          ++answers;
          const std::int64_t n = p.achieved.shots;
          const auto chance = [&](std::int64_t shots) {
            const DesignPower design{{shots, sd}, {shots, sd * ratio}, how};
            if (const auto* find = std::get_if<FindGap>(&goal)) return design.finds(find->gap).average;
            if (const auto* narrow = std::get_if<NarrowRange>(&goal)) return design.narrow(narrow->half_width).average;
            return design.same(0.4, 2.9).average;
          };
          CHECK(p.achieved.chance->average == chance(n));
          CHECK(chance(n) >= power - 1e-9);
          if (n > 2) CHECK(chance(n - 1) < power - 1e-9);
          CHECK(p.achieved.detectable_gap > 0.0);
          CHECK(p.achieved.half_width > 0.0);
          for (const PlanRow& r : p.table) CHECK(r.chance->average == within(0.5, 0.5));
        }
  CHECK(answers == 54);
}

TEST_CASE("plan: a question that is none is refused with what is missing") {
  CHECK(refusal({.sd = {1, 1}}) == "needs something to achieve, a number of shots, or both");
  const std::string sd = "the SD must be more than 0; a display that repeats itself hides scatter, it does not end it";
  for (const double none : {0.0, -1.0, std::nan(""), infinity}) {
    CHECK(refusal({.goal = FindGap{3}, .sd = {none, 1}}) == sd);
    CHECK(refusal({.goal = FindGap{3}, .sd = {1, none}}) == sd);
  }
  for (const std::int64_t shots : {-3, 0, 1, 10'001})
    CHECK(refusal({.shots = shots, .sd = {1, 1}}) ==
          "shots must be 2 to 10000 with each set-up, got " + std::to_string(shots));
  for (const double none : {0.0, -2.0, std::nan(""), infinity}) {
    CHECK(refusal({.goal = NarrowRange{none}, .sd = {1, 1}}) == "half of the range must be more than 0");
    CHECK(refusal({.goal = ShowSame{none}, .sd = {1, 1}}) == "the margin must be more than 0");
  }
  for (const double gap : {2.0, -2.0, 3.0, std::nan("")})
    CHECK(refusal({.goal = ShowSame{2, gap}, .sd = {1, 1}}) ==
          "a true gap that does not lie inside the margin cannot be shown to");
  for (const double power : {0.05, 0.04})
    CHECK(refusal({.goal = FindGap{3}, .sd = {1, 1}, .power = Power{power}}) ==
          "the power asked is no more than what chance alone finds; it must be above the error rate of the "
          "confidence");
  CHECK(refusal({.goal = FindGap{3},
                 .sd = {1, 1},
                 .power = Power{0.2},
                 .how = {.level = ConfidenceLevel::from_alpha(0.2)}}) != "no DomainError");
}

TEST_CASE("plan: a gap below a tenth of the display step is refused, a tenth itself is not") {
  const std::string below = " is beyond what the display can tell";
  CHECK(refusal({.goal = FindGap{0.09}, .shots = 5, .sd = {1, 1}}) ==
        "a gap below a tenth of the display step of 1" + below);
  CHECK(refusal({.goal = FindGap{0.009}, .shots = 5, .sd = {1, 1}, .how = {.step = tenth}}) ==
        "a gap below a tenth of the display step of 0.1" + below);
  for (const double gap : {0.0, -3.0, std::nan(""), infinity})
    CHECK(refusal({.goal = FindGap{gap}, .shots = 5, .sd = {1, 1}}) ==
          "a gap below a tenth of the display step of 1" + below);
  CHECK_NOTHROW(plan({.goal = FindGap{0.1}, .shots = 5, .sd = {1, 1}}));
}

TEST_CASE("plan: a power just above the error rate is answered") {
  for (const PlanGoal& goal : {PlanGoal{FindGap{3}}, {NarrowRange{3}}, {ShowSame{3}}}) {
    const Plan p = plan({.goal = goal, .sd = {1.2, 1.2}, .power = Power{0.06}});
    CHECK(p.achieved.shots <= 3);
    CHECK(counted(goal, {1.2, 1.2}, p.achieved.shots) >= 0.06);
    if (p.achieved.shots == 3) CHECK(counted(goal, {1.2, 1.2}, 2) < 0.06);
  }
}
