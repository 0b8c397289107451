#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <limits>
#include <map>
#include <numbers>
#include <optional>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/studies/verdict.hpp>
#include <string>
#include <vector>

using shotassay::BudgetExceeded;
using shotassay::ConfidenceLevel;
using shotassay::Decimal;
using shotassay::DisplayStep;
using shotassay::DomainError;
using shotassay::GroupDesign;
using shotassay::PhasePower;
using shotassay::quadrature_suffices;
using shotassay::rounding_aware;
using shotassay::rounding_aware_power_cost;
using shotassay::RoundingAwarePower;
using shotassay::Sample;
using shotassay::simulate_rounding_aware;
using shotassay::SimulatedPower;
using shotassay::SimulatedTests;
using shotassay::Verdict;
using shotassay::WorkBudget;
using shotassay::WorkCost;

namespace {

const DisplayStep whole{Decimal{1, 0}};
const DisplayStep tenths{Decimal{1, 1}};
const ConfidenceLevel level95{0.95};
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

/// Every ordered outcome of two groups of rounded normal shots, the interval and the verdict from the functions that
/// analyse a real test. Lengths in display steps but for the interval.
class EveryOutcome {
 public:
  EveryOutcome(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level)
      : a_{a}, b_{b}, step_{step}, level_{level} {}

  struct Powers {
    PhasePower finds{0, 1, 0}, same{0, 1, 0};
  };

  Powers powers(double gap, double margin, int phases) {
    Powers result;
    for (int i = 0; i < phases; ++i) {
      const double f = static_cast<double>(i) / phases;
      const std::vector<Outcome> from = outcomes(a_, f, shapes_a_), to = outcomes(b_, f + gap, shapes_b_);
      double found = 0, same = 0;
      for (const Outcome& x : from)
        for (const Outcome& y : to) {
          const double h = half_width(x.shape, y.shape);
          const auto interval =
              shotassay::centred(step_.times(y.sum * a_.shots - x.sum * b_.shots, a_.shots * b_.shots), h);
          const Verdict v = shotassay::verdict(interval);
          if (v == Verdict::faster || v == Verdict::slower) found += x.chance * y.chance;
          if (shotassay::margin_position(interval, margin * step_.value()) == shotassay::MarginPosition::inside)
            same += x.chance * y.chance;
        }
      result.finds.average += found / phases;
      result.finds.worst_phase = std::min(result.finds.worst_phase, found);
      result.same.average += same / phases;
      result.same.worst_phase = std::min(result.same.worst_phase, same);
    }
    return result;
  }

  /// E[value(H)] over two independent phases.
  template <class Value>
  double of_half_width(int phases, const Value& value) {
    const auto shares = [&](GroupDesign group, Shapes& shapes) {
      std::map<std::size_t, double> share;
      for (int i = 0; i < phases; ++i)
        for (const Outcome& x : outcomes(group, static_cast<double>(i) / phases, shapes))
          share[x.shape] += x.chance / phases;
      return share;
    };
    const auto from = shares(a_, shapes_a_), to = shares(b_, shapes_b_);
    double sum = 0;
    for (const auto& [x, p] : from)
      for (const auto& [y, q] : to) sum += p * q * value(half_width(x, y));
    return sum;
  }

 private:
  struct Outcome {
    std::int64_t sum;
    std::size_t shape;
    double chance;
  };
  /// Readings in order, above the lowest.
  struct Shapes {
    std::map<std::vector<std::int64_t>, std::size_t> number;
    std::vector<std::vector<std::int64_t>> readings;
  };

  std::vector<Outcome> outcomes(GroupDesign group, double mean, Shapes& shapes) const {
    // Readings beyond 8 SD have a chance of 1e-15.
    const auto low = static_cast<std::int64_t>(std::floor(mean - 8 * group.sd));
    const auto high = static_cast<std::int64_t>(std::ceil(mean + 8 * group.sd));
    const auto below = [&](double x) { return 0.5 * std::erfc((mean - x) / group.sd / std::numbers::sqrt2); };
    std::map<std::pair<std::int64_t, std::size_t>, double> chances;
    std::vector<std::int64_t> readings;
    const std::function<void(double)> descend = [&](double chance) {
      if (readings.size() == static_cast<std::size_t>(group.shots)) {
        auto shape = readings;
        std::sort(shape.begin(), shape.end());
        std::int64_t sum = 0;
        for (auto r = shape.rbegin(); r != shape.rend(); ++r) {
          sum += *r;
          *r -= shape.front();
        }
        const auto [place, fresh] = shapes.number.try_emplace(shape, shapes.readings.size());
        if (fresh) shapes.readings.push_back(shape);
        chances[{sum, place->second}] += chance;
        return;
      }
      for (std::int64_t y = low; y <= high; ++y) {
        const double each = below(static_cast<double>(y) + 0.5) - below(static_cast<double>(y) - 0.5);
        if (chance * each < 1e-16) continue;
        readings.push_back(y);
        descend(chance * each);
        readings.pop_back();
      }
    };
    descend(1.0);
    std::vector<Outcome> list;
    for (const auto& [key, chance] : chances) list.push_back({key.first, key.second, chance});
    return list;
  }

  double half_width(std::size_t x, std::size_t y) {
    const auto [place, fresh] = half_widths_.try_emplace({x, y}, 0.0);
    if (fresh)
      place->second = rounding_aware({shapes_a_.readings[x], step_}, {shapes_b_.readings[y], step_}, level_).half_width;
    return place->second;
  }

  GroupDesign a_, b_;
  DisplayStep step_;
  ConfidenceLevel level_;
  Shapes shapes_a_, shapes_b_;
  std::map<std::pair<std::size_t, std::size_t>, double> half_widths_;
};

GroupDesign rounded(GroupDesign g) { return {g.shots, std::sqrt(g.sd * g.sd + 1.0 / 12.0)}; }

/// Every set of n readings from 0 to `highest` that starts at 0, in order.
std::vector<std::vector<std::int64_t>> ordered_readings(int n, std::int64_t highest) {
  std::vector<std::vector<std::int64_t>> list{{0}};
  for (int i = 1; i < n; ++i) {
    std::vector<std::vector<std::int64_t>> longer;
    for (const auto& readings : list)
      for (std::int64_t y = readings.back(); y <= highest; ++y) {
        longer.push_back(readings);
        longer.back().push_back(y);
      }
    list = longer;
  }
  return list;
}

}  // namespace

TEST_CASE("rounding-aware power: agrees with every outcome of two and three shots, analysed one by one") {
  struct Row {
    GroupDesign a, b;
    double gap, margin, level;
    DisplayStep step;
  };
  const Row rows[] = {{{2, 0.1}, {2, 0.1}, 1.3, 2.0, 0.95, whole},   {{3, 0.1}, {3, 0.1}, 1.9, 2.5, 0.95, whole},
                      {{3, 0.1}, {2, 0.4}, 0.0, 3.0, 0.8, tenths},   {{3, 0.25}, {3, 0.25}, -2.0, 2.0, 0.99, whole},
                      {{3, 0.5}, {3, 0.5}, 2.25, 4.0, 0.95, whole},  {{2, 0.9}, {3, 0.3}, 3.7, 9.0, 0.9, tenths},
                      {{3, 0.2}, {2, 1.0}, 2.0, 12.0, 0.95, whole},  {{2, 1.5}, {2, 1.5}, 9.0, 30.0, 0.95, whole},
                      {{3, 1.0}, {3, 0.6}, -3.2, 5.0, 0.8, whole},   {{2, 0.6}, {2, 1.2}, 20.0, 25.0, 0.95, whole},
                      {{3, 0.75}, {3, 0.75}, 3.0, 6.0, 0.5, tenths}, {{3, 0.06}, {3, 0.07}, 0.7, 1.5, 0.95, whole}};
  for (const Row& row : rows) {
    CAPTURE(row.a.shots);
    CAPTURE(row.a.sd);
    CAPTURE(row.b.shots);
    CAPTURE(row.b.sd);
    const ConfidenceLevel level{row.level};
    const double s = row.step.value();
    const RoundingAwarePower power{{row.a.shots, row.a.sd * s}, {row.b.shots, row.b.sd * s}, row.step, level};
    EveryOutcome outcomes{row.a, row.b, row.step, level};
    // The rule over the phases converges like exp(−2π²N²/κ), κ = Σ n/σ²: below 1e-10 with 96 while κ ≤ 7000, with 16
    // while κ ≤ 200.
    const int phases = std::min(row.a.sd, row.b.sd) < 0.3 ? 96 : 16;
    const auto all = outcomes.powers(row.gap, row.margin, phases), eighths = outcomes.powers(row.gap, row.margin, 8);
    const PhasePower finds = power.finds(row.gap * s), same = power.same(row.gap * s, row.margin * s);
    CHECK(finds.average == within(all.finds.average, 1e-9 + finds.error));
    CHECK(same.average == within(all.same.average, 1e-9 + same.error));
    CHECK(finds.error < 1e-7);
    CHECK(same.error < 1e-7);
    // The phases looked at hold the eighths and are among those of `all`.
    CHECK(finds.worst_phase > all.finds.worst_phase - 1e-9);
    CHECK(finds.worst_phase < eighths.finds.worst_phase + 1e-9);
    CHECK(same.worst_phase > all.same.worst_phase - 1e-9);
    CHECK(same.worst_phase < eighths.same.worst_phase + 1e-9);

    const double mean = outcomes.of_half_width(phases, [](double h) { return h; });
    CHECK(power.mean_half_width() == within(mean, 1e-9 * mean));
    for (const double width : {0.5 * mean, s, 1.5 * mean})  // a step is the width when all readings are equal
      CHECK(
          power.half_width_at_most(width) ==
          within(outcomes.of_half_width(phases, [&](double h) { return h <= width * (1 + 1e-12) ? 1.0 : 0.0; }), 1e-9));
  }
}

TEST_CASE("rounding-aware power: simulated tests agree within four standard errors, larger groups too") {
  struct Row {
    GroupDesign a, b;
    double gap, margin, level;
  };
  const Row rows[] = {{{5, 1.2}, {5, 1.2}, 2.5, 3.1, 0.95},  {{10, 0.6}, {10, 0.6}, 0.7, 1.2, 0.99},
                      {{4, 2.0}, {7, 0.5}, -0.4, 3.0, 0.8},  {{2, 0.3}, {12, 1.0}, 1.8, 2.9, 0.95},
                      {{20, 0.35}, {5, 2.0}, 2.6, 3.5, 0.9}, {{30, 0.1}, {30, 0.1}, 1.1, 2.0, 0.95}};
  std::uint64_t seed = 100;
  for (const Row& row : rows) {
    CAPTURE(row.a.shots);
    CAPTURE(row.b.shots);
    const ConfidenceLevel level{row.level};
    const RoundingAwarePower power{row.a, row.b, whole, level};
    const SimulatedPower simulated = simulate_rounding_aware(row.gap, row.margin, row.a, row.b, whole, level,
                                                             {.tests = 160'000, .seed = ++seed, .threads = 2});
    const PhasePower finds = power.finds(row.gap), same = power.same(row.gap, row.margin);
    CHECK(simulated.finds.average == within(finds.average, 4 * simulated.finds.error));
    REQUIRE(simulated.same);
    CHECK(simulated.same->average == within(same.average, 4 * simulated.same->error));
    // A sixteenth of the phases has 10 000 tests, SE 0.005 or less; the least of sixteen lies below the truth.
    CHECK(simulated.finds.worst_phase == within(finds.worst_phase, 0.025));
    CHECK(simulated.same->worst_phase == within(same.worst_phase, 0.025));
    CHECK(simulated.finds.error > 0);
    CHECK(simulated.finds.error < 0.5 / std::sqrt(160'000.0) * 1.01);
    // Simulated widths belong to the gap's own pairs of phases, which matters below half a step.
    if (std::min(row.a.sd, row.b.sd) >= 0.5)
      CHECK(simulated.mean_half_width == within(power.mean_half_width(), 4 * simulated.mean_half_width_error));
  }
}

TEST_CASE("rounding-aware power: agrees with a million tests simulated in R within four standard errors") {
  // data/reference/rounding_aware_power.R
  for (const auto& row : reference_table("rounding_aware_power.csv", "simulated")) {
    const GroupDesign a{static_cast<std::int64_t>(number_in(row[1])), number_in(row[2])};
    const GroupDesign b{static_cast<std::int64_t>(number_in(row[3])), number_in(row[4])};
    const double gap = number_in(row[5]), margin = number_in(row[6]), tests = number_in(row[8]);
    const ConfidenceLevel level{number_in(row[7])};
    CAPTURE(a.shots);
    CAPTURE(a.sd);
    const auto close = [&](double found) {
      const double p = found / tests;
      return within(p, 4 * std::sqrt(p * (1 - p) / tests));
    };
    const RoundingAwarePower power{a, b, whole, level};
    CHECK(power.finds(gap).average == close(number_in(row[9])));
    CHECK(power.same(gap, margin).average == close(number_in(row[10])));
    const SimulatedPower simulated = simulate_rounding_aware(gap, margin, a, b, whole, level, {.tests = 160'000});
    const double noise = number_in(row[12]) * std::sqrt(1 / tests + 1 / 160'000.0);
    CHECK(simulated.mean_half_width == within(number_in(row[11]), 4 * noise));
    CHECK(simulated.mean_half_width_error == digits(number_in(row[12]) / std::sqrt(160'000.0), 2));
  }
}

TEST_CASE("rounding-aware power: from two steps of SD on, the normal power at variance sd² + 1/12 is as good") {
  // The design notes' measurement: within 0.003 from three shots on; without the 1/12 off by 0.009 at 5 + 5, gap 4.
  for (const GroupDesign g : {GroupDesign{3, 2}, {3, 3}, {4, 2}, {5, 2}, {5, 2.5}, {10, 2}}) {
    const RoundingAwarePower power{g, g, whole};
    for (double gap = 0; gap < 4 * g.sd; gap += 1.3) {
      CAPTURE(g.shots);
      CAPTURE(g.sd);
      CAPTURE(gap);
      CHECK(power.finds(gap).average == within(shotassay::welch_power(gap, rounded(g), rounded(g)).power, 0.003));
    }
  }
  const GroupDesign g{5, 2};
  const double exact = RoundingAwarePower(g, g, whole).finds(4).average;
  CHECK(shotassay::welch_power(4, g, g).power - exact == within(0.009, 0.0005));
}

TEST_CASE("rounding-aware power: where quadrature is said to suffice, the powers differ by less than 0.003") {
  struct Row {
    GroupDesign a, b;
    double level;
  };
  // The smallest SD of three decimals that the rule lets pass at each number of shots, and unequal ones.
  const auto least_sd = [](std::int64_t n) {
    double sd = 0.05;
    while (!quadrature_suffices({n, sd}, {n, sd}, whole)) sd += 0.001;
    return sd;
  };
  std::vector<Row> rows;
  for (const std::int64_t n : {3, 5, 10, 30}) rows.push_back({{n, least_sd(n)}, {n, least_sd(n)}, 0.95});
  for (const double level : {0.8, 0.99}) rows.push_back({{15, least_sd(15)}, {15, least_sd(15)}, level});
  rows.push_back({{3, least_sd(3)}, {10, least_sd(10)}, 0.95});
  rows.push_back({{20, least_sd(20)}, {4, least_sd(4)}, 0.95});
  rows.push_back({{5, least_sd(5)}, {5, 2 * least_sd(5)}, 0.95});
  for (const Row& row : rows) {
    CAPTURE(row.a.shots);
    CAPTURE(row.a.sd);
    CAPTURE(row.level);
    REQUIRE(quadrature_suffices(row.a, row.b, whole));
    const ConfidenceLevel level{row.level};
    const RoundingAwarePower power{row.a, row.b, whole, level};
    const shotassay::WelchPowerCurve curve{rounded(row.a), rounded(row.b), shotassay::CriticalFactor{level}};
    const double tau = curve.standard_error();
    for (double gap = 0; gap < 6 * tau; gap += 1.1 * tau)
      CHECK(power.finds(gap).average == within(curve.two_sided(gap).power, 0.003));
    for (const double margin : {3.0 * tau, 4.3 * tau})
      CHECK(power.same(0, margin).average == within(curve.equivalence(0, margin).power, 0.005));
  }
  CHECK_FALSE(quadrature_suffices({2, 100}, {10, 100}, whole));  // the floor of ¼ acts on pairs of shots
  CHECK_FALSE(quadrature_suffices({10, 100}, {2, 100}, whole));
  CHECK_FALSE(quadrature_suffices({10, 0.3}, {10, 3}, whole));
  CHECK_FALSE(quadrature_suffices({10, 3}, {10, 0.3}, whole));
  CHECK(quadrature_suffices({10, 0.3}, {10, 0.3}, tenths));
}

TEST_CASE("rounding-aware power: at gap 0 it is what coverage leaves over") {
  // docs/methods/rounding_aware.md, coverage at the worst pair of phases: equal phases do no worse. To 0.05 %, as
  // printed.
  struct Row {
    std::int64_t n;
    double sd, average, worst;
  };
  const Row rows[] = {{3, 0.25, 99.9, 98.6}, {3, 0.5, 99.5, 98.7},  {3, 1, 97.2, 96.5}, {3, 2, 96.5, 96.2},
                      {5, 0.25, 100, 99.6},  {5, 0.5, 98.3, 96.7},  {5, 1, 95.8, 95.6}, {5, 2, 95.6, 95.5},
                      {10, 0.25, 100, 99.7}, {10, 0.5, 97.4, 96.5}, {10, 1, 95.2, 95.1}};
  for (const Row& row : rows) {
    CAPTURE(row.n);
    CAPTURE(row.sd);
    const GroupDesign g{row.n, row.sd};
    const PhasePower false_find = RoundingAwarePower(g, g, whole).finds(0);
    CHECK(100 * (1 - false_find.average) > row.worst - 0.05);
    // Where phases hardly matter, the average over equal phases is that over all pairs, give or take their spread.
    if (row.sd >= 1) CHECK(100 * (1 - false_find.average) == within(row.average, row.average - row.worst + 0.1));
  }
}

TEST_CASE("rounding-aware power: set-ups one step apart that never scatter are not told apart") {
  // All readings equal: H = 1, and a gap of one step is a limit on 0.
  for (const std::int64_t n : {3, 5, 10}) {
    CAPTURE(n);
    const GroupDesign g{n, 0.1};
    const RoundingAwarePower power{g, g, whole};
    // Averages near the edge of two steps do show as fractions, if shots are many: 3 % to 30 % of the phases.
    CHECK(power.finds(1).average < (n == 3 ? 0.05 : 0.35));
    CHECK(power.finds(1).worst_phase < 1e-4);
    CHECK(power.finds(2).average > 0.95);
    // The normal power, even with the display's variance, promises what the display cannot show.
    CHECK(shotassay::welch_power(1, g, g).power > 0.99);
    CHECK(shotassay::welch_power(1, rounded(g), rounded(g)).power > (n == 3 ? 0.7 : 0.98));
  }
  // A margin of one step is touched, a wider one holds. SD 0.001: readings differ for one phase in a hundred at most.
  const GroupDesign still{5, 0.001};
  const RoundingAwarePower power{still, still, whole};
  CHECK(power.same(0, 1).average < 0.02);
  CHECK(power.same(0, 1.0001).average > 0.98);
  CHECK(power.half_width_at_most(1) > 0.98);
  CHECK(power.half_width_at_most(0.999) < 0.02);
  CHECK(power.mean_half_width() == within(1, 0.02));
  CHECK(power.finds(1.5).average == within(0.5, 0.02));  // half of the phases show two steps
}

TEST_CASE("rounding-aware power: three shots each, SD 0.1, gap 2 are worst between two steps, 57/64 by hand") {
  // docs/methods/rounding_aware_power.md: at f = ½ each reading takes the lower or the upper value with chance ½; of
  // the 64 outcomes 1 has its limit on 0, and 3 + 3 have gap 4/3 and H 1.4733. The next values are 10 SD away.
  const GroupDesign g{3, 0.1};
  const PhasePower finds = RoundingAwarePower(g, g, whole).finds(2);
  CHECK(finds.worst_phase == within(57.0 / 64, 1e-10));
  CHECK(finds.average > finds.worst_phase);
}

TEST_CASE("rounding-aware power: a gap's sign, the set-ups' order and the unit do not matter") {
  const GroupDesign a{4, 0.4}, b{6, 0.9};
  const RoundingAwarePower power{a, b, whole}, swapped{b, a, whole}, finer{{4, 0.04}, {6, 0.09}, tenths};
  for (const double gap : {0.3, 1.0, 1.75}) {
    CAPTURE(gap);
    const PhasePower finds = power.finds(gap), same = power.same(gap, 2.5);
    for (const PhasePower& other : {power.finds(-gap), swapped.finds(gap), finer.finds(0.1 * gap)})
      CHECK(other.average == within(finds.average, 1e-9));
    for (const PhasePower& other : {power.same(-gap, 2.5), swapped.same(gap, 2.5), finer.same(0.1 * gap, 0.25)})
      CHECK(other.average == within(same.average, 1e-9));
  }
  CHECK(swapped.mean_half_width() == digits(power.mean_half_width(), 9));
  CHECK(finer.mean_half_width() == digits(0.1 * power.mean_half_width(), 9));
  CHECK(finer.half_width_at_most(0.15) == within(power.half_width_at_most(1.5), 1e-9));
}

TEST_CASE("rounding-aware power: extremes of gap and margin") {
  const RoundingAwarePower power{{5, 0.8}, {5, 0.8}, whole};
  CHECK(power.finds(1e6).average == within(1, 1e-9));
  CHECK(power.finds(-123456.7).worst_phase == within(1, 1e-9));
  CHECK(power.same(0, 1e6).worst_phase == within(1, 1e-9));
  CHECK(power.same(0, 1e-6).average == 0);
  CHECK(power.same(50, 3).average == within(0, 1e-12));
  CHECK(power.half_width_at_most(0) == 0);
  CHECK(power.half_width_at_most(1e6) == within(1, 1e-12));
}

TEST_CASE("rounding-aware power: the error grows honest where the phases are too many to average over") {
  // SD 0.004, ten shots: 2e6 = Σ n/σ² would take thousands of phases. The power is a staircase of the phase.
  const GroupDesign g{10, 0.004};
  const PhasePower finds = RoundingAwarePower(g, g, whole).finds(1.3);
  CHECK(finds.error > 1e-4);
  CHECK(finds.error < 0.02);
  // Readings are those of f and f + 1.3 but for a sliver: one step apart (not found) or two (found, H = 1): 30 %.
  CHECK(finds.average == within(0.3, finds.error + 0.02));
}

TEST_CASE("rounding-aware power: for one S mod n the half-width falls, then rises, with the other group's scatter") {
  // What the enumeration rests on: the classes of b that find a gap are neighbours.
  for (const int n : {2, 3, 4, 5}) {
    std::map<std::int64_t, std::map<std::int64_t, std::vector<std::int64_t>>> by_class;  // S mod n or its mirror, D
    for (const auto& readings : ordered_readings(n, 7)) {
      std::int64_t sum = 0, squares = 0;
      for (const auto y : readings) sum += y, squares += y * y;
      const std::int64_t r = sum % n, deviations = n * squares - sum * sum;
      // Tight exactly when D = r(n − r), the least there is; the others are 2n apart.
      CHECK((deviations == r * (n - r)) == (readings.back() <= 1));
      CHECK(deviations >= r * (n - r));
      CHECK((deviations - r * (n - r)) % (2 * n) == 0);
      by_class[std::min(r, n - r)].try_emplace(deviations, readings);
    }
    for (const double level : {0.3, 0.5, 0.95, 0.999})
      for (const auto& a : {std::vector<std::int64_t>{0, 0},
                            {0, 1},
                            {0, 3},
                            {0, 0, 0},
                            {0, 0, 1},
                            {0, 0, 9},
                            {0, 0, 0, 1, 1},
                            {0, 0, 1, 2},
                            {0, 1, 40, 90}})
        for (const auto& [residue_of, classes] : by_class) {
          const std::int64_t residue = residue_of;  // a captured binding is no C++20 of clang 14
          CAPTURE(n);
          CAPTURE(level);
          CAPTURE(residue);
          bool rising = false;
          double before = infinity;
          for (const auto& [deviations, readings] : classes) {
            const double h = rounding_aware(sample(a), sample(readings), ConfidenceLevel{level}).half_width;
            CHECK_FALSE((rising && h < before * (1 - 1e-12)));
            if (h > before * (1 + 1e-12)) rising = true;
            before = h;
          }
        }
  }
  // For k ≥ 1 it is proved, given that log t is convex in 1/ν.
  for (const double level : {0.5, 0.8, 0.95, 0.999, 0.999999})
    for (int i = 1; i < 200; ++i) {
      const auto log_t = [&](int j) {
        return std::log(shotassay::numerics::t_two_sided_factor(1 - level, j == 0 ? infinity : 200.0 / j));
      };
      CHECK(log_t(i - 1) + log_t(i + 1) - 2 * log_t(i) > -1e-13);
    }
}

TEST_CASE("rounding-aware power: threads change no byte, seeds do") {
  const auto run = [](std::uint64_t seed, unsigned threads) {
    return simulate_rounding_aware(1.7, 3.0, {3, 0.7}, {4, 0.5}, whole, level95,
                                   {.tests = 20'001, .seed = seed, .threads = threads});
  };
  const SimulatedPower one = run(1, 1), other = run(2, 1);
  for (const unsigned threads : {2U, 7U, 64U}) {
    const SimulatedPower many = run(1, threads);
    CHECK(many.finds.average == one.finds.average);
    CHECK(many.finds.worst_phase == one.finds.worst_phase);
    CHECK(many.finds.error == one.finds.error);
    CHECK(many.same->average == one.same->average);
    CHECK(many.same->worst_phase == one.same->worst_phase);
    CHECK(many.same->error == one.same->error);
    CHECK(many.mean_half_width == one.mean_half_width);
    CHECK(many.mean_half_width_error == one.mean_half_width_error);
  }
  CHECK(other.finds.average != one.finds.average);
  CHECK(other.mean_half_width != one.mean_half_width);
  CHECK_FALSE(simulate_rounding_aware(1, std::nullopt, {3, 1}, {3, 1}, whole, level95, {.tests = 1000}).same);
}

TEST_CASE("rounding-aware power: simulation takes large designs, the whole part of the gap and other steps") {
  // Far above the display's step the normal power holds: 200 shots, SD 25 steps of 0.1.
  const GroupDesign a{200, 2.5}, b{150, 2.5};
  CHECK_THROWS_AS(RoundingAwarePower(a, b, tenths), BudgetExceeded);
  const SimulatedPower simulated =
      simulate_rounding_aware(-0.8, 1.5, a, b, tenths, level95, {.tests = 20'000, .threads = 2});
  CHECK(simulated.finds.average == within(shotassay::welch_power(0.8, a, b).power, 4 * simulated.finds.error));
  CHECK(simulated.same->average ==
        within(shotassay::welch_equivalence_power(0.8, 1.5, a, b).power, 4 * simulated.same->error));
  const shotassay::WelchPowerCurve curve{a, b, shotassay::CriticalFactor{level95}};
  CHECK(simulated.mean_half_width == within(curve.expected_half_width(), 4 * simulated.mean_half_width_error + 2e-4));
  // A gap that no test misses: the error is not 0.
  const PhasePower sure = simulate_rounding_aware(1e6, std::nullopt, a, b, tenths, level95, {.tests = 1000}).finds;
  CHECK(sure.average == 1);
  CHECK(sure.worst_phase == 1);
  // (1/(n + 2))·(1 − 1/(n + 2))/n for 8 strata of 63 tests and 8 of 62, over 16²
  const auto one = [](double n) { return (n + 1) / (n + 2) / (n + 2) / n; };
  CHECK(sure.error == digits(std::sqrt(8 * one(63) + 8 * one(62)) / 16, 12));
}

TEST_CASE("rounding-aware power: work is counted beforehand and refused above the budget, saying what would fit") {
  const GroupDesign a{8, 1.5}, b{6, 0.7};
  const WorkCost cost = rounding_aware_power_cost(a, b, whole);
  CHECK(cost.operations > 1e5);
  CHECK(cost.bytes > 1e5);
  // In tenths the readings spread ten times as far.
  CHECK(rounding_aware_power_cost(a, b, tenths).operations > 100 * cost.operations);
  CHECK(rounding_aware_power_cost(a, b, tenths).bytes > 100 * cost.bytes);
  for (const auto& more : {std::pair{GroupDesign{9, 1.5}, b},
                           {GroupDesign{8, 1.6}, b},
                           {a, GroupDesign{7, 0.7}},
                           {a, GroupDesign{6, 0.8}}})
    CHECK(rounding_aware_power_cost(more.first, more.second, whole).operations > cost.operations);

  CHECK_NOTHROW(RoundingAwarePower(a, b, whole, level95, {cost.operations, cost.bytes}));
  CHECK_THROWS_AS(RoundingAwarePower(a, b, whole, level95, {cost.operations * 0.999, cost.bytes}), BudgetExceeded);
  CHECK_THROWS_AS(RoundingAwarePower(a, b, whole, level95, {cost.operations, cost.bytes * 0.999}), BudgetExceeded);

  const auto message = [&](WorkBudget budget) -> std::string {
    try {
      RoundingAwarePower{a, b, whole, level95, budget};
    } catch (const BudgetExceeded& e) {
      CHECK(e.cost().operations == cost.operations);
      return e.what();
    }
    return {};
  };
  const WorkCost three = rounding_aware_power_cost({3, 1.5}, {3, 0.7}, whole);
  const std::string shots = message({three.operations, 1e9});
  CHECK(shots.find("rounding_aware_power needs about") == 0);
  CHECK(shots.find(
            "With these SDs and this display step up to 3 shots each would fit; simulated tests take any number.") !=
        std::string::npos);
  CHECK(message({1e9, three.bytes}).find("up to 3 shots each") != std::string::npos);
  CHECK(message({1, 1e9}).find("A coarser display would fit; simulated tests take any number.") != std::string::npos);
}

TEST_CASE("rounding-aware power: refuses what is no design") {
  const GroupDesign good{5, 1};
  const auto exact = [](GroupDesign a, GroupDesign b) { RoundingAwarePower{a, b, whole}; };
  const auto simulated = [](GroupDesign a, GroupDesign b) {
    simulate_rounding_aware(1, std::nullopt, a, b, whole, level95, {.tests = 1000});
  };
  const auto counted = [](GroupDesign a, GroupDesign b) { rounding_aware_power_cost(a, b, whole); };
  const auto sufficing = [](GroupDesign a, GroupDesign b) { quadrature_suffices(a, b, whole); };
  struct Bad {
    GroupDesign design;
    const char* message;
  };
  const Bad bads[] = {
      {{1, 1}, "rounding_aware_power: needs 2 to 10000 shots in a set-up, got 1"},
      {{10'001, 1}, "rounding_aware_power: needs 2 to 10000 shots in a set-up, got 10001"},
      {{5, 0}, "rounding_aware_power: needs a positive SD, got 0.000000"},
      {{5, -2}, "rounding_aware_power: needs a positive SD, got -2.000000"},
      {{5, infinity}, "rounding_aware_power: needs a positive SD, got inf"},
      {{5, not_a_number}, "rounding_aware_power: needs a positive SD, got nan"},
      {{5, 2e9}, "rounding_aware_power: needs an SD of at most 1e9 display steps, got 2000000000.000000"}};
  for (const Bad& bad : bads) {
    for (const auto& call :
         {std::function<void(GroupDesign, GroupDesign)>{exact}, {simulated}, {counted}, {sufficing}}) {
      CHECK_THROWS_WITH_AS(call(bad.design, good), bad.message, DomainError);
      CHECK_THROWS_WITH_AS(call(good, bad.design), bad.message, DomainError);
    }
  }
  const RoundingAwarePower power{good, good, whole};
  const char* no_gap = "rounding_aware_power: needs a gap of at most 1e9 display steps, got inf";
  CHECK_THROWS_WITH_AS(power.finds(infinity), no_gap, DomainError);
  CHECK_THROWS_WITH_AS(power.same(infinity, 1), no_gap, DomainError);
  CHECK_THROWS_WITH_AS(power.finds(not_a_number),
                       "rounding_aware_power: needs a gap of at most 1e9 display steps, got nan", DomainError);
  const char* no_margin = "rounding_aware_power: needs a positive margin, got 0.000000";
  CHECK_THROWS_WITH_AS(power.same(0, 0), no_margin, DomainError);
  CHECK_THROWS_WITH_AS(power.half_width_at_most(-1), "rounding_aware_power: needs a width of 0 or more, got -1.000000",
                       DomainError);
  CHECK_THROWS_WITH_AS(power.half_width_at_most(not_a_number),
                       "rounding_aware_power: needs a width of 0 or more, got nan", DomainError);

  const auto run = [&](double gap, std::optional<double> margin, SimulatedTests how) {
    simulate_rounding_aware(gap, margin, good, good, whole, level95, how);
  };
  CHECK_THROWS_WITH_AS(run(infinity, std::nullopt, {}), no_gap, DomainError);
  CHECK_THROWS_WITH_AS(run(1, 0.0, {}), no_margin, DomainError);
  CHECK_THROWS_WITH_AS(run(1, 1.0, {.tests = 999}), "rounding_aware_power: tests must be 1000 to 100000000, got 999",
                       DomainError);
  CHECK_THROWS_WITH_AS(run(1, 1.0, {.tests = 100'000'001}),
                       "rounding_aware_power: tests must be 1000 to 100000000, got 100000001", DomainError);
  CHECK_THROWS_WITH_AS(run(1, 1.0, {.threads = 0}), "rounding_aware_power: threads must be 1 or more, got 0",
                       DomainError);
}
