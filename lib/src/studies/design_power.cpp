#include <algorithm>
#include <cmath>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/numerics/root.hpp>
#include <shotassay/studies/design_power.hpp>

namespace shotassay {

namespace {

/// The design as Welch's interval sees it: the display adds step²/12 to the variance of a shot.
GroupDesign as_shown(GroupDesign g, DisplayStep step) {
  return {g.shots, std::sqrt(g.sd * g.sd + step.value() * step.value() / 12.0)};
}

bool within(WorkCost cost, WorkBudget budget) {
  return cost.operations <= budget.operations && cost.bytes <= budget.bytes;
}

ChanceBy way(GroupDesign a, GroupDesign b, const DesignPowerOptions& o) {
  if (o.interval == PlannedInterval::welch) return ChanceBy::quadrature;
  if (o.simulate) return ChanceBy::simulation;
  const WorkCost cost = rounding_aware_power_cost(a, b, o.step);
  const bool affordable = within(cost, o.budget);
  if (affordable && cost.operations <= o.cheap) return ChanceBy::lattice;
  if (quadrature_suffices(a, b, o.step)) return ChanceBy::quadrature;
  return affordable ? ChanceBy::lattice : ChanceBy::simulation;
}

Chance chance(const PhasePower& p) { return {p.average, p.worst_phase, p.error}; }
Chance chance(const PowerResult& p) { return {p.power, std::nullopt, p.error_estimate}; }

}  // namespace

DesignPower::DesignPower(GroupDesign a, GroupDesign b, const DesignPowerOptions& options)
    : a_{a},
      b_{b},
      options_{options},
      integral_{as_shown(a, options.step), as_shown(b, options.step), CriticalFactor{options.level}},
      by_{way(a, b, options)} {
  // A search draws many times over: nobody asked for so many tests, so their number gives way to that of the shots.
  const auto in_ten_million_shots = static_cast<std::uint64_t>(10'000'000 / (a.shots + b.shots));
  if (by_ == ChanceBy::simulation && !options.simulate)
    options_.simulation.tests =
        std::min(options_.simulation.tests, std::max<std::uint64_t>(1000, in_ten_million_shots));
  if (by_ == ChanceBy::lattice)
    lattice_ = std::make_shared<const RoundingAwarePower>(a, b, options.step, options.level, options.budget);
}

Chance DesignPower::simulated(double gap, std::optional<double> margin) const {
  const SimulatedPower found =
      simulate_rounding_aware(gap, margin, a_, b_, options_.step, options_.level, options_.simulation);
  return chance(margin ? *found.same : found.finds);
}

Chance DesignPower::finds(double gap) const {
  if (by_ == ChanceBy::lattice) return chance(lattice_->finds(gap));
  return by_ == ChanceBy::quadrature ? chance(integral_.two_sided(gap)) : simulated(gap, std::nullopt);
}

Chance DesignPower::same(double gap, double margin) const {
  if (by_ == ChanceBy::lattice) return chance(lattice_->same(gap, margin));
  return by_ == ChanceBy::quadrature ? chance(integral_.equivalence(gap, margin)) : simulated(gap, margin);
}

SimulatedWidth DesignPower::simulated_width(double half_width) const {
  return simulate_half_width(half_width, a_, b_, options_.step, options_.level, options_.simulation);
}

Chance DesignPower::narrow(double half_width) const {
  if (by_ == ChanceBy::lattice) return {lattice_->half_width_at_most(half_width), std::nullopt, 0.0};
  if (by_ == ChanceBy::quadrature) return {integral_.half_width_at_most(half_width), std::nullopt, 0.0};
  const SimulatedWidth found = simulated_width(half_width);
  return {found.at_most, std::nullopt, found.at_most_error};
}

double DesignPower::half_width() const {
  if (by_ == ChanceBy::lattice) return lattice_->mean_half_width();
  return by_ == ChanceBy::quadrature ? integral_.expected_half_width() : simulated_width(0.0).mean;
}

double DesignPower::detectable_gap(Power power, double met) const {
  const double start = shotassay::detectable_gap(integral_, power);
  if (by_ == ChanceBy::quadrature) return start;
  const auto miss = [&](double gap) {
    const Chance chance = finds(gap);
    if (by_ == ChanceBy::simulation) met = 0.25 * chance.error;  // beyond that chance is all there is
    return chance.average - power.value();
  };
  // The answer lies near that of the integral, and so does the slope there: a few secants find it.
  const double away = 0.01 * start;
  double gap = start, off = miss(gap);
  double slope = (integral_.two_sided(start + away).power - power.value()) / away;
  for (int i = 0; i < 6 && std::abs(off) > met && slope > 0.0; ++i) {
    const double next = gap - off / slope;
    if (!(next > 0.5 * start && next < 2.0 * start)) break;
    const double off_next = miss(next);
    slope = (off_next - off) / (next - gap);
    gap = next;
    off = off_next;
  }
  if (std::abs(off) <= met) return gap;
  // Where the display hides much, power rises in jumps: bracket the place.
  double low = 0.95 * start, high = 1.05 * start;
  while (miss(high) < 0.0) {
    low = high;
    high *= 1.25;
  }
  while (miss(low) > 0.0) {
    high = low;
    low *= 0.8;
  }
  return numerics::find_root(miss, low, high, 1e-6);
}

}  // namespace shotassay
