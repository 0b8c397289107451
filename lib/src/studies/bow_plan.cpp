#include <algorithm>
#include <cmath>
#include <optional>
#include <shotassay/core/errors.hpp>
#include <shotassay/methods/bow_power.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/studies/bow_plan.hpp>
#include <string>

namespace shotassay {

namespace {

constexpr std::int64_t most_bows = 1000;

void check(const BowPlanQuestion& q) {
  if (!(q.resolve >= 0.1 * q.step.value()) || !std::isfinite(q.resolve))
    throw DomainError{"a gap below a tenth of the display step of " + q.step.size().text() +
                      " is beyond what the display can tell"};
  if (!(q.bow_sd > 0.0) || !std::isfinite(q.bow_sd))
    throw DomainError{"the SD between bows must be more than 0; no two bows are quite alike"};
  if (!(q.shot_sd > 0.0) || !std::isfinite(q.shot_sd)) throw DomainError{"the SD of a shot must be more than 0"};
  if (q.power.value() <= q.level.alpha()) throw DomainError{"the power asked is no more than what chance alone finds"};
  if (!(q.costs.bow >= 0.0) || !(q.costs.shot >= 0.0) || !(q.costs.bow + q.costs.shot > 0.0) ||
      !std::isfinite(q.costs.bow + q.costs.shot))
    throw DomainError{"costs must be 0 or more, and one of them more than 0"};
}

BowDesign design(const BowPlanQuestion& q, std::int64_t bows, std::int64_t shots) {
  return {.bows = bows, .shots = shots, .bow_sd = q.bow_sd, .shot_sd = q.shot_sd, .step = q.step.value()};
}

double cost(const BowCosts& costs, std::int64_t bows, std::int64_t shots) {
  return 2.0 * static_cast<double>(bows) * (costs.bow + static_cast<double>(shots) * costs.shot);
}

/// The cheapest design that finds the gap. With more bows fewer shots do, down to one with each.
BowCell cheapest(const BowPlanQuestion& q) {
  std::optional<BowCell> best;
  for (std::int64_t bows = 2; bows <= most_bows; ++bows) {
    if (best && cost(q.costs, bows, 1) >= best->cost) return *best;
    // Too few bows, however many shots: seen by one integral, where fewest_shots takes a root.
    if (bow_power_limit(q.resolve, design(q, bows, 1), q.level) < q.power.value() - 1e-6) continue;
    const auto shots = fewest_shots({.gap = q.resolve,
                                     .bows = bows,
                                     .bow_sd = q.bow_sd,
                                     .shot_sd = q.shot_sd,
                                     .step = q.step.value(),
                                     .power = q.power,
                                     .level = q.level});
    if (!shots || bows * *shots > most_shots_planned) continue;
    const double price = cost(q.costs, bows, *shots);
    if (!best || price < best->cost)
      best = BowCell{bows, *shots, bow_power(q.resolve, design(q, bows, *shots), q.level).power, price};
    // Once a single shot with each bow is enough, a further bow can only add to the cost.
    if (*shots == 1) return *best;
  }
  if (best) return *best;
  throw NoAnswer{
      "more than " + std::to_string(most_bows) + " bows of each kind, or more than " +
      std::to_string(most_shots_planned) +
      " shots with each kind, would be needed; a larger gap, or kinds whose bows are more alike, would help"};
}

}  // namespace

BowCell cheapest_bow_test(const BowPlanQuestion& q) {
  check(q);
  return cheapest(q);
}

BowPlan bow_plan(const BowPlanQuestion& q) {
  check(q);
  const BowCell best = cheapest(q);
  const BowDesign chosen = design(q, best.bows, best.shots);
  BowPlan out{.question = q,
              .cheapest = best,
              .detectable_gap = bow_detectable_gap(chosen, q.power, q.level),
              .half_width = bow_expected_half_width(chosen, q.level),
              .luck_of_two = bow_gap_sd(q.bow_sd),
              .one_in_three = bow_gap_sd(q.bow_sd) * numerics::normal_upper_quantile(1.0 / 6.0),
              .shots_shown = {1, 2, 4, 10},
              .rows = {}};
  out.shots_shown.push_back(best.shots);
  std::sort(out.shots_shown.begin(), out.shots_shown.end());
  out.shots_shown.erase(std::unique(out.shots_shown.begin(), out.shots_shown.end()), out.shots_shown.end());

  std::vector<std::int64_t> bows{2, 3, 4, 5, 6, best.bows - 1, best.bows, best.bows + 1};
  std::sort(bows.begin(), bows.end());
  bows.erase(std::unique(bows.begin(), bows.end()), bows.end());
  for (const std::int64_t k : bows) {
    if (k < 2) continue;
    BowPlan::Row row{.bows = k, .power = {}, .limit = bow_power_limit(q.resolve, design(q, k, 1), q.level)};
    for (const std::int64_t n : out.shots_shown)
      row.power.push_back(bow_power(q.resolve, design(q, k, n), q.level).power);
    out.rows.push_back(std::move(row));
  }
  return out;
}

}  // namespace shotassay
