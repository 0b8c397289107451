#include <algorithm>
#include <cmath>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/plan.hpp>
#include <string>

namespace shotassay {

namespace {

constexpr std::int64_t most_shots = 10'000;

void check(const PlanQuestion& q) {
  if (!q.resolve && !q.shots) throw DomainError{"plan: needs a gap to resolve, a number of shots, or both"};
  if (!(q.sd > 0.0) || !std::isfinite(q.sd))
    throw DomainError{"plan: the SD must be positive; a display that repeats itself hides scatter, it does not end it"};
  if (q.resolve && !(*q.resolve >= 0.1 * q.display_step.value()))
    throw DomainError{"plan: a gap below a tenth of the display step of " + q.display_step.size().text() +
                      " is beyond what the display can tell"};
  if (q.shots && (*q.shots < 2 || *q.shots > most_shots))
    throw DomainError{"plan: shots must be 2 to 10000 with each set-up, got " + std::to_string(*q.shots)};
  if (q.power.value() <= q.level.alpha())
    throw DomainError{"plan: a power of " + std::to_string(q.power.value()) +
                      " is no more than chance alone finds; it must be above the error rate"};
}

PlanRow row(const PlanQuestion& q, double sd, std::int64_t shots) {
  const GroupDesign group{.shots = shots, .sd = sd};
  const WelchPowerCurve curve{group, group, CriticalFactor{q.level}};
  PlanRow r{.shots = shots,
            .power = {},
            .detectable_gap = detectable_gap(curve, q.power),
            .half_width = curve.expected_half_width()};
  if (q.resolve) r.power = curve.two_sided(*q.resolve).power;
  return r;
}

/// Numbers of shots worth seeing beside the answer: the small ones, and a few around it.
std::vector<std::int64_t> shots_shown(std::int64_t answer) {
  std::vector<std::int64_t> shots{2, 3, 4, 5, 6, 8, 10, 15, 20};
  for (const std::int64_t n : {answer - 1, answer, answer + 1, 2 * answer})
    if (n >= 2 && n <= most_shots) shots.push_back(n);
  const std::int64_t last = std::max<std::int64_t>(10, 2 * answer);
  std::sort(shots.begin(), shots.end());
  shots.erase(std::unique(shots.begin(), shots.end()), shots.end());
  std::erase_if(shots, [&](std::int64_t n) { return n > last; });
  return shots;
}

}  // namespace

Plan plan(const PlanQuestion& q) {
  check(q);
  const double step = q.display_step.value();
  const double sd = std::sqrt(q.sd * q.sd + step * step / 12.0);
  std::int64_t shots = q.shots.value_or(0);
  bool more_can_miss = false;
  std::optional<double> power_one_less;
  if (!q.shots) {
    const SampleSize found =
        sample_size({.smallest_difference = *q.resolve, .sd_a = sd, .sd_b = sd, .power = q.power, .level = q.level});
    shots = found.shots_a;
    more_can_miss = !found.one_more_holds;
    power_one_less = found.power_one_less;
  }
  Plan out{.answer = !q.shots    ? PlanAnswer::shots
                     : q.resolve ? PlanAnswer::power
                                 : PlanAnswer::gap,
           .question = q,
           .sd_of_readings = sd,
           .achieved = row(q, sd, shots),
           .table = {},
           .power_one_less = power_one_less,
           .more_can_miss = more_can_miss,
           .display_limits = q.sd < 0.75 * step};
  for (const std::int64_t n : shots_shown(shots)) out.table.push_back(n == shots ? out.achieved : row(q, sd, n));
  return out;
}

}  // namespace shotassay
