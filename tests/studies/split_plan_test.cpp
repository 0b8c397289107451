#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/studies/split_plan.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenth{Decimal{1, 1}};
const DesignPowerOptions welch{.interval = PlannedInterval::welch};

double with_display(double sd, double step = 1.0) { return std::sqrt(sd * sd + step * step / 12.0); }

std::string refusal(const SplitQuestion& question) {
  try {
    split_plan(question);
  } catch (const DomainError& reason) {
    return reason.what();
  }
  return "no DomainError";
}

}  // namespace

TEST_CASE("split: of twelve and of twenty shots the best is that of SciPy's double sums over every split") {
  // Gap found 8 times in 10 with n shots at SD 1 and N − n at SD 3 on a display of whole steps; trapezoid rule, step
  // 0.02, in the logs of both chi variables (SciPy 1.10: stdtrit, norm.sf), brentq:
  //   N = 12   n = 2 4.635854   3 3.756058   4 3.751142   5 3.977481   6 4.383432   7 5.056398 and rising
  //   N = 20   n = 2 4.696223   3 3.072438   4 2.781247   5 2.706493   6 2.711673   7 2.761237 … 10 3.105743 and rising
  const SplitPlan twelve = split_plan({.total_shots = 12, .sd = {1, 3}, .how = welch});
  CHECK(twelve.best.from == 4);
  CHECK(twelve.best.to == 8);
  CHECK(twelve.best.detectable_gap == within(3.751142, 1e-6));
  CHECK(twelve.even.from == 6);
  CHECK(twelve.even.to == 6);
  CHECK(twelve.even.detectable_gap == within(4.383432, 1e-6));
  CHECK(twelve.best.by == ChanceBy::quadrature);
  const SplitPlan twenty = split_plan({.total_shots = 20, .sd = {1, 3}, .how = welch});
  CHECK(twenty.best.from == 5);
  CHECK(twenty.best.detectable_gap == within(2.706493, 1e-6));
  CHECK(twenty.even.detectable_gap == within(3.105743, 1e-6));
  // The set-ups the other way round.
  const SplitPlan turned = split_plan({.total_shots = 20, .sd = {3, 1}, .how = welch});
  CHECK(turned.best.from == 15);
  CHECK(turned.best.to == 5);
  CHECK(turned.best.detectable_gap == within(2.706493, 1e-6));
}

TEST_CASE("split: step, power and level are those asked for") {
  // As above for SDs 0.3 and 1.2 on a display of tenths, 15 shots, level 0.9, power 0.9:
  //   n = 2 1.392878   3 1.213621   4 1.219697   5 1.262035   6 1.326849   7 1.414717   8 1.532630 and rising
  const SplitPlan p =
      split_plan({.total_shots = 15,
                  .sd = {0.3, 1.2},
                  .power = Power{0.9},
                  .how = {.step = tenth, .level = ConfidenceLevel{0.9}, .interval = PlannedInterval::welch}});
  CHECK(p.best.from == 3);
  CHECK(p.best.detectable_gap == within(1.213621, 1e-6));
  CHECK(p.even.from == 7);
  CHECK(p.even.to == 8);
  CHECK(p.even.detectable_gap == within(1.414717, 1e-6));
}

TEST_CASE("split: the chance of the gap asked about is told for both splits, and else for none") {
  // As above, gap 3, SDs 1 and 3: 4 + 8 find it in 0.6110887139, 6 + 6 in 0.4955119902.
  const SplitPlan p = split_plan({.total_shots = 12, .sd = {1, 3}, .resolve = 3.0, .how = welch});
  REQUIRE(p.best.chance);
  REQUIRE(p.even.chance);
  CHECK(p.best.chance->average == within(0.6110887139, 1e-8));
  CHECK(p.even.chance->average == within(0.4955119902, 1e-8));
  const SplitPlan none = split_plan({.total_shots = 12, .sd = {1, 3}, .how = welch});
  CHECK(!none.best.chance);
  CHECK(!none.even.chance);
}

TEST_CASE("split: no other split of so many shots finds a smaller gap, whatever the SDs' ratio") {
  for (const std::int64_t total : {4, 5, 6, 9, 14, 23, 40, 140})
    for (const double ratio : {1.0, 1.5, 4.0, 20.0, 0.3})
      for (const double level : {0.8, 0.99}) {
        if (total == 140 && level == 0.99) continue;
        CAPTURE(total);
        CAPTURE(ratio);
        const PlanSds sd{1.0, ratio};
        DesignPowerOptions how = welch;
        how.level = ConfidenceLevel{level};
        const SplitPlan p = split_plan({.total_shots = total, .sd = sd, .how = how});
        CHECK(p.best.from + p.best.to == total);
        CHECK(p.even.from == total / 2);
        CHECK(p.even.to == total - total / 2);
        for (std::int64_t n = 2; n <= total - 2; ++n) {
          const double gap =
              detectable_gap({n, with_display(1.0)}, {total - n, with_display(ratio)}, Power{0.8}, how.level);
          CHECK(p.best.detectable_gap <= gap * (1.0 + 1e-8));
        }
      }
}

TEST_CASE("split: with like set-ups the even split is the best, and named so also where shots are odd") {
  for (const std::int64_t total : {4, 7, 12, 25, 300}) {
    const SplitPlan p = split_plan({.total_shots = total, .sd = {1.5, 1.5}, .how = welch});
    CHECK(p.best.from == p.even.from);
    CHECK(p.best.detectable_gap == p.even.detectable_gap);
  }
}

TEST_CASE("split: of thousands of shots the best comes within a thousandth of the SDs' ratio in its gap") {
  // With so many the gap is (z₀.₉₇₅ + z₀.₈)·√(σ_a²/n + σ_b²/m), least at n : m = σ_a : σ_b, where it is z(σ_a +
  // σ_b)/√N.
  const double a = with_display(2.0), b = with_display(6.0), z = 1.959963985 + 0.841621234;
  const SplitPlan p = split_plan({.total_shots = 20'000, .sd = {2, 6}, .how = welch});
  const double least = z * (a + b) / std::sqrt(20'000.0);
  CHECK(p.best.detectable_gap == within(least, 1e-3 * least));
  CHECK(p.best.from == within(20'000.0 * a / (a + b), 200));
}

TEST_CASE("split: gaps, widths and chances of both splits are those of the interval planned for") {
  const SplitPlan p = split_plan({.total_shots = 10, .sd = {0.3, 1.2}, .resolve = 2.0, .power = Power{0.7}});
  for (const Split& s : {p.best, p.even}) {
    CAPTURE(s.from);
    REQUIRE(s.by == ChanceBy::lattice);
    const RoundingAwarePower power{{s.from, 0.3}, {s.to, 1.2}, whole};
    CHECK(power.finds(s.detectable_gap).average == within(0.7, 1.1e-6));
    CHECK(s.half_width == power.mean_half_width());
    REQUIRE(s.chance);
    CHECK(s.chance->average == power.finds(2.0).average);
  }
}

TEST_CASE("split: the split called best is never worse than the even one or its neighbours, also where readings tie") {
  for (const auto& design : {std::pair{PlanSds{0.3, 0.6}, 8},
                             {{0.2, 1.0}, 7},
                             {{0.1, 0.3}, 12},
                             {{0.6, 0.3}, 8},
                             {{0.4, 0.5}, 9},
                             {{0.05, 2.0}, 12}}) {
    const PlanSds sd = design.first;
    const std::int64_t total = design.second;
    CAPTURE(sd.from);
    CAPTURE(total);
    const SplitPlan p = split_plan({.total_shots = total, .sd = sd});
    CHECK(p.best.detectable_gap <= p.even.detectable_gap * (1.0 + 1e-5));
    for (const std::int64_t n : {p.best.from - 1, p.best.from + 1}) {
      if (n < 2 || n > total - 2) continue;
      const RoundingAwarePower power{{n, sd.from}, {total - n, sd.to}, whole};
      // A neighbour finds the best one's gap no more often than the best does.
      if (n != p.even.from) CHECK(power.finds(p.best.detectable_gap * 0.999).average < 0.8);
    }
  }
  // Here the integral prefers 3 + 5, and counting says that 4 + 4 find 1.47 and 3 + 5 but 1.58.
  const SplitPlan p = split_plan({.total_shots = 8, .sd = {0.3, 0.6}});
  CHECK(RoundingAwarePower{{4, 0.3}, {4, 0.6}, whole}.finds(1.5).average > 0.8);
  CHECK(RoundingAwarePower{{3, 0.3}, {5, 0.6}, whole}.finds(1.5).average < 0.8);
  CHECK(p.best.from == 4);
}

TEST_CASE("split: a question that is none is refused with what was got") {
  for (const std::int64_t total : {-1, 0, 3, 20'001})
    CHECK(refusal({.total_shots = total, .sd = {1, 1}}) ==
          "needs 4 to 20000 shots in all, got " + std::to_string(total));
  CHECK_NOTHROW(split_plan({.total_shots = 4, .sd = {1, 1}}));
  for (const double none : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()}) {
    CHECK(refusal({.total_shots = 8, .sd = {none, 1}}) == "the SDs must be more than 0");
    CHECK(refusal({.total_shots = 8, .sd = {1, none}}) == "the SDs must be more than 0");
  }
  for (const double gap : {0.09, 0.0, -3.0, std::nan(""), std::numeric_limits<double>::infinity()})
    CHECK(refusal({.total_shots = 8, .sd = {1, 1}, .resolve = gap}) ==
          "a gap below a tenth of the display step of 1 is beyond what the display can tell");
  CHECK(refusal({.total_shots = 8, .sd = {1, 1}, .resolve = 0.009, .how = {.step = tenth}}) ==
        "a gap below a tenth of the display step of 0.1 is beyond what the display can tell");
  CHECK(refusal({.total_shots = 8, .sd = {1, 1}, .power = Power{0.05}}) ==
        "the power asked is no more than what chance alone finds");
}
