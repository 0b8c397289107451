#include <algorithm>
#include <cmath>
#include <shotassay/core/errors.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/studies/split_plan.hpp>
#include <string>
#include <vector>

namespace shotassay {

namespace {

void check(const SplitQuestion& q) {
  if (q.total_shots < 4 || q.total_shots > 2 * most_shots_planned)
    throw DomainError{"needs 4 to " + std::to_string(2 * most_shots_planned) + " shots in all, got " +
                      std::to_string(q.total_shots)};
  for (const double sd : {q.sd.from, q.sd.to})
    if (!(sd > 0.0) || !std::isfinite(sd)) throw DomainError{"the SDs must be more than 0"};
  if (q.resolve && (!(*q.resolve >= 0.1 * q.how.step.value()) || !std::isfinite(*q.resolve)))
    throw DomainError{"a gap below a tenth of the display step of " + q.how.step.size().text() +
                      " is beyond what the display can tell"};
  if (q.power.value() <= q.how.level.alpha())
    throw DomainError{"the power asked is no more than what chance alone finds"};
}

Split split(const SplitQuestion& q, std::int64_t from) {
  const DesignPower design{{from, q.sd.from}, {q.total_shots - from, q.sd.to}, q.how};
  Split s{.from = from,
          .to = q.total_shots - from,
          .detectable_gap = design.detectable_gap(q.power),
          .half_width = design.half_width(),
          .chance = {},
          .by = design.by(),
          .tests = design.by() == ChanceBy::simulation ? design.tests() : 0};
  if (q.resolve) s.chance = design.finds(*q.resolve);
  return s;
}

}  // namespace

SplitPlan split_plan(const SplitQuestion& q) {
  check(q);
  const double step = q.how.step.value();
  const auto shown = [&](double sd) { return std::sqrt(sd * sd + step * step / 12.0); };
  const double from = shown(q.sd.from), to = shown(q.sd.to);
  const auto gap_of = [&](std::int64_t n) {
    return detectable_gap({n, from}, {q.total_shots - n, to}, q.power, q.how.level);
  };
  const std::int64_t even = q.total_shots / 2;
  // For many shots the smallest standard error is at the SDs' ratio; with few, degrees of freedom pull towards the
  // middle.
  const auto by_ratio = static_cast<std::int64_t>(std::lround(static_cast<double>(q.total_shots) * from / (from + to)));
  const std::int64_t reach = std::max<std::int64_t>(2, q.total_shots / 4);
  const std::int64_t most = q.total_shots - 2;
  const std::int64_t low = std::clamp<std::int64_t>(by_ratio - reach, 2, most),
                     high = std::clamp(by_ratio + reach, low, most);
  std::int64_t best = even;
  double smallest = gap_of(even);
  const std::int64_t every = std::max<std::int64_t>(1, (high - low) / 64);
  const auto look = [&](std::int64_t first, std::int64_t last, std::int64_t stride) {
    for (std::int64_t n = first; n <= last; n += stride)
      if (const double gap = gap_of(n); gap < smallest * (1.0 - 1e-9)) {
        smallest = gap;
        best = n;
      }
  };
  look(low, high, every);
  if (every > 1) look(std::max(low, best - every), std::min(high, best + every), std::max<std::int64_t>(1, every / 32));
  SplitPlan out{.question = q, .best = split(q, best), .even = split(q, even)};
  // The display may find another split better than the integral's, a neighbour or the even one.
  std::vector<Split> others{out.even};
  if (out.best.by == ChanceBy::lattice)
    for (const std::int64_t n : {best - 1, best + 1})
      if (n >= 2 && n <= most && n != even) others.push_back(split(q, n));
  constexpr double alike = 1e-5;  // a detectable gap is not known better
  for (const Split& other : others)
    if (other.detectable_gap < out.best.detectable_gap * (1.0 - alike)) out.best = other;
  return out;
}

}  // namespace shotassay
