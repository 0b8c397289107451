#include <cmath>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/studies/published_claim.hpp>
#include <shotassay/studies/scope.hpp>

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

double usual_sd(const Shooter& shooter, SpeedUnit unit) {
  return Speed{shooter.sd, SpeedUnit::feet_per_second}.in(unit);
}

std::vector<BestOfUsual> best_of_usual(const PublishedSetup& setup, const PublishedClaim& claim) {
  std::vector<BestOfUsual> list;
  const std::int64_t shots = setup.reported.figures.shots;
  if (!setup.best || setup.reported.most_shots || shots < 2) return list;
  for (const Shooter& shooter : shooters) {
    const double sd = usual_sd(shooter, claim.unit);
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

/// Standard uncertainty of a gap from the accuracies of chronographs that were not shared.
double chronograph_uncertainty(const GapAudit& gap, const PublishedClaim& claim) {
  double variance = 0.0;
  for (const std::size_t i : {gap.from, gap.to}) {
    const PublishedSetup& s = claim.setups[i];
    const auto speed = printed_speed(s);
    if (s.reported.accuracy && speed) variance += std::pow(*s.reported.accuracy * speed->value(), 2) / 3.0;
  }
  return std::sqrt(variance);
}

ClaimNeeds needs_of(const GapAudit& gap, const Audit& audit, const PublishedClaim& claim) {
  ClaimNeeds needs;
  const auto& options = claim.options;
  if (options.claimed == Verdict::same) needs.same_within = options.margin;
  if (!needs.same_within && (!gap.printed_gap || *gap.printed_gap == 0.0)) return needs;
  if (const double w = chronograph_uncertainty(gap, claim); w > 0.0) {
    needs.chronographs = numerics::normal_upper_quantile(0.5 * options.level.alpha()) * w;
    return needs;
  }
  const DisplayStep step = claim.setups[gap.from].reported.figures.display_step;
  const double hidden = step.value() / std::sqrt(12.0);
  const auto add = [&](ShotSdOrigin origin, std::optional<Shooter> shooter, double sd_from, double sd_to,
                       double with_display) {
    GapsAsked asked{step.value(), step, needs.same_within};
    if (!needs.same_within) asked.seen = std::abs(*gap.printed_gap);
    const GroupDesign a{2, std::hypot(sd_from, with_display)}, b{2, std::hypot(sd_to, with_display)};
    const auto found = shots_needed(asked, a, b, step, options.level, Family{audit.family});
    for (const Need& need : found)
      if (need.same_within.has_value() == needs.same_within.has_value()) {
        needs.shots.push_back({.origin = origin,
                               .shooter = shooter,
                               .sd_from = sd_from,
                               .sd_to = sd_to,
                               .shots = need.shots,
                               .finer_display = need.code == NeedCode::finer_display});
        return;
      }
  };
  for (const Shooter& shooter : shooters) {
    const double sd = usual_sd(shooter, claim.unit);
    add(ShotSdOrigin::assumed, shooter, sd, sd, hidden);
  }
  const auto &from = audit.setups[gap.from].sd, &to = audit.setups[gap.to].sd;
  if (from && to) {
    const auto floored = [&](double sd) { return std::max(hidden, sd); };
    add(ShotSdOrigin::least_of_sets, std::nullopt, floored(from->lower), floored(to->lower), 0.0);
    if (from->lower != from->upper || to->lower != to->upper)
      add(ShotSdOrigin::greatest_of_sets, std::nullopt, floored(from->upper), floored(to->upper), 0.0);
  }
  return needs;
}

}  // namespace

PublishedAudit published_audit(const PublishedClaim& claim) {
  std::vector<AuditedSetup> reported;
  for (const PublishedSetup& s : claim.setups) {
    reported.push_back(s.reported);
    if (s.best) reported.back().figures.high = s.best;
  }
  PublishedAudit out{.audit = audit(reported, claim.options), .needs = {}, .setups = {}, .common_gap = {}};
  for (const GapAudit& gap : out.audit.gaps) out.needs.push_back(needs_of(gap, out.audit, claim));
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
