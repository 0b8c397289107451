#include <cmath>
#include <shotassay/studies/published_claim.hpp>

namespace shotassay {

namespace {

std::optional<Decimal> printed_speed(const PublishedSetup& setup) {
  return setup.reported.figures.average ? setup.reported.figures.average : setup.best;
}

/// A printed value: rectangular between the numbers that print so (JCGM 100 F.2.2.1).
std::optional<ShotCondition> printed_condition(const std::optional<Decimal>& value) {
  if (!value) return std::nullopt;
  return ShotCondition{value->value(), Decimal{1, value->decimals()}.value() / std::sqrt(12.0)};
}

ShotConditions conditions(const PublishedSetup& setup) {
  return {.draw_weight = printed_condition(setup.draw_weight),
          .arrow_mass = printed_condition(setup.arrow_mass),
          .draw_length = printed_condition(setup.draw_length)};
}

bool any(const ShotConditions& c) { return c.draw_weight || c.arrow_mass || c.draw_length; }

std::vector<BestOfUsual> best_of_usual(const PublishedSetup& setup, const PublishedClaim& claim) {
  std::vector<BestOfUsual> list;
  const std::int64_t shots = setup.reported.figures.shots;
  if (!setup.best || setup.reported.most_shots || shots < 2) return list;
  for (const Shooter& shooter : shooters) {
    const double sd = Speed{shooter.sd, SpeedUnit::feet_per_second}.in(claim.unit);
    const RoundedShots rounded{shots, sd, setup.reported.figures.display_step};
    list.push_back({.shooter = shooter,
                    .sd = sd,
                    .added = best_reading(rounded).added,
                    .behind = mean_behind_best(setup.best->value(), rounded, claim.options.level)});
  }
  return list;
}

void check_figures(const PublishedSetup& setup, const PublishedClaim& claim, PublishedSetupAudit& out) {
  if (!setup.energy && !setup.momentum) return;
  const auto speed = printed_speed(setup);
  if (!setup.arrow_mass || !speed) {
    out.no_energy = "needs the arrow's mass and a speed";
    return;
  }
  if (claim.unit != SpeedUnit::feet_per_second) {
    out.no_energy = "is checked in grains, fps and ft·lbf only";
    return;
  }
  const PrintedArrow arrow{*setup.arrow_mass, *speed};
  if (setup.energy) out.energy = energy_check(arrow, *setup.energy);
  if (setup.momentum) out.momentum = momentum_check(arrow, *setup.momentum);
}

}  // namespace

PublishedAudit published_audit(const PublishedClaim& claim) {
  std::vector<AuditedSetup> reported;
  for (const PublishedSetup& s : claim.setups) {
    reported.push_back(s.reported);
    if (s.best) reported.back().figures.high = s.best;
  }
  PublishedAudit out{.audit = audit(reported, claim.options), .setups = {}, .common_gap = {}};
  const ShotConditions common = claim.at               ? conditions_of(convention(*claim.at))
                                : claim.setups.empty() ? ShotConditions{}
                                                       : conditions(claim.setups.front());
  for (const PublishedSetup& s : claim.setups) {
    PublishedSetupAudit one;
    one.best = best_of_usual(s, claim);
    check_figures(s, claim, one);
    const auto speed = printed_speed(s);
    const bool asked = claim.at ? any(conditions(s)) : claim.setups.size() > 1 && any(common);
    if (speed && asked)
      one.at_common = speed_at(common, {.speed = speed->value(), .conditions = conditions(s), .bow = claim.bow});
    out.setups.push_back(std::move(one));
  }
  if (out.setups.size() == 2 && out.setups[0].at_common && out.setups[1].at_common) {
    const auto &a = *out.setups[0].at_common, &b = *out.setups[1].at_common;
    if (a.speed && b.speed)
      out.common_gap = {*b.speed - *a.speed,
                        std::hypot(a.standard_uncertainty.value_or(0.0), b.standard_uncertainty.value_or(0.0))};
  }
  return out;
}

}  // namespace shotassay
