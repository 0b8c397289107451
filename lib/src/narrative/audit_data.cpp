#include <algorithm>

#include "audit_words.hpp"

namespace shotassay::narrative {

namespace {

using document::Data;

Data number(std::optional<double> x) { return x ? Data{*x} : Data{}; }
Data range(const std::optional<Interval>& i) { return i ? Data{Data::List{i->lower, i->upper}} : Data{}; }
Data printed(const std::optional<Decimal>& d) { return d ? Data{d->text()} : Data{}; }

/// A count; above what a program's whole numbers hold, the nearest double.
Data count(const std::optional<Tally>& t) {
  if (!t) return {};
  if (t->value() <= INT64_MAX) return static_cast<std::int64_t>(t->value());
  return t->approximately();
}

Data printed_data(const PublishedSetup& s) {
  const ReportedFigures& f = s.reported.figures;
  Data::List readings;
  for (const Decimal& d : f.readings) readings.push_back(d.text());
  return Data::Object{{"average", printed(f.average)},
                      {"best", printed(s.best)},
                      {"sd", printed(f.sd)},
                      {"sd_divisor", f.sd_divisor == SdDivisor::n ? "n" : "n_minus_1"},
                      {"low", printed(f.low)},
                      {"high", printed(f.high)},
                      {"spread", printed(f.spread)},
                      {"readings", std::move(readings)},
                      {"draw_weight", printed(s.draw_weight)},
                      {"arrow_mass", printed(s.arrow_mass)},
                      {"draw_length", printed(s.draw_length)},
                      {"energy", printed(s.energy)},
                      {"momentum", printed(s.momentum)},
                      {"convention", s.convention ? Data{std::string{convention(*s.convention).name}} : Data{}}};
}

Data figure_data(const std::optional<FigureCheck>& check) {
  if (!check) return {};
  constexpr const char* verdicts[] = {"reproduced", "same_other_rounding", "cut_off", "other_constant",
                                      "not_reproduced"};
  return Data::Object{{"verdict", verdicts[static_cast<int>(check->verdict)]},
                      {"exact", check->exact},
                      {"relative_deviation", check->relative_deviation},
                      {"possible", Data::List{check->possible.lower, check->possible.upper}}};
}

Data setup_data(const AuditStory& story, const AuditWords& words, std::size_t i) {
  const SetupAudit& s = story.found.audit.setups[i];
  const PublishedSetup& typed = story.claim.setups[i];
  const PublishedSetupAudit& more = story.found.setups[i];
  Data::List causes, best;
  for (const std::string& text : words.causes(i)) causes.push_back(text);
  for (const BestOfUsual& b : more.best)
    best.push_back(Data::Object{{"shooter", std::string{b.shooter.name}},
                                {"sd", b.sd},
                                {"added", b.added},
                                {"mean", b.behind.mean},
                                {"lower", b.behind.interval.lower},
                                {"upper", b.behind.interval.upper}});
  Data common;
  if (const auto& at = more.at_common)
    common = Data::Object{{"speed", number(at->speed)}, {"standard_uncertainty", number(at->standard_uncertainty)}};
  const std::int64_t least = typed.reported.figures.shots;
  return Data::Object{{"name", s.name},
                      {"shots", Data::List{least, typed.reported.most_shots.value_or(least)}},
                      {"printed", printed_data(typed)},
                      {"possible", s.possible},
                      {"reading_sets", count(s.sets)},
                      {"mean", range(s.mean)},
                      {"sd", range(s.sd)},
                      {"why_impossible", s.possible ? Data{} : Data{words.possible_text(i)}},
                      {"would_explain_it", std::move(causes)},
                      {"best", std::move(best)},
                      {"energy", figure_data(more.energy)},
                      {"momentum", figure_data(more.momentum)},
                      {"at_common", std::move(common)}};
}

Data pair_data(const std::optional<AuditedPair>& pair) {
  if (!pair) return {};
  return Data::Object{{"gap", pair->gap},
                      {"lower", pair->interval.lower},
                      {"upper", pair->interval.upper},
                      {"verdict", std::string{name(pair->verdict)}}};
}

Data gap_data(const AuditStory& story, const GapAudit& gap) {
  constexpr const char* supports[] = {"every", "some", "none"};
  Data verdicts;
  if (gap.verdicts)
    verdicts = Data::Object{{"faster", count(gap.verdicts->faster)},
                            {"slower", count(gap.verdicts->slower)},
                            {"same", count(gap.verdicts->same)},
                            {"open", count(gap.verdicts->open)}};
  Data::List tipping, needed;
  for (const GapAtShots& at : gap.by_shots)
    if (at.tipping)
      tipping.push_back(Data::Object{{"from_shots", at.from_shots},
                                     {"to_shots", at.to_shots},
                                     {"at_printed", number(at.tipping->at_printed)},
                                     {"lowest", number(at.tipping->lowest)},
                                     {"highest", number(at.tipping->highest)}});
  const ClaimNeeds& needs = story.found.needs[static_cast<std::size_t>(&gap - story.found.audit.gaps.data())];
  for (const ClaimNeed& n : needs.shots) {
    constexpr const char* origins[] = {"assumed", "least_of_sets", "greatest_of_sets"};
    needed.push_back(Data::Object{{"sd_origin", origins[static_cast<int>(n.origin)]},
                                  {"sd_from", n.sd_from},
                                  {"sd_to", n.sd_to},
                                  {"same_within", number(needs.same_within)},
                                  {"finer_display", n.finer_display},
                                  {"shots", n.shots ? Data{*n.shots} : Data{}}});
  }
  const auto& setups = story.found.audit.setups;
  return Data::Object{{"from", setups[gap.from].name},
                      {"to", setups[gap.to].name},
                      {"printed", number(gap.printed_gap)},
                      {"difference", range(gap.difference)},
                      {"verdicts", std::move(verdicts)},
                      {"support", gap.support ? Data{supports[static_cast<int>(*gap.support)]} : Data{}},
                      {"interval_if_tightest", pair_data(gap.tightest)},
                      {"interval_if_widest", pair_data(gap.widest)},
                      {"needed_shots", std::move(needed)},
                      {"chronographs", number(needs.chronographs)},
                      {"tipping_sd", std::move(tipping)}};
}

}  // namespace

Data audit_data(const AuditStory& story) {
  const AuditWords words{story};
  const Audit& audit = story.found.audit;
  Data::List setups, gaps, stated;
  for (std::size_t i = 0; i < audit.setups.size(); ++i) setups.push_back(setup_data(story, words, i));
  for (const GapAudit& gap : audit.gaps) gaps.push_back(gap_data(story, gap));
  constexpr const char* states[] = {"stated", "cannot_be_checked", "not_asked"};
  for (const ChecklistItem& line : checklist) {
    const auto state = story.claim.stated.state_of(line.item, story.claim.setups.size() > 1);
    stated.push_back(Data::Object{{"item", std::string{line.name}}, {"state", states[static_cast<int>(state)]}});
  }
  Data common;
  if (const auto& gap = story.found.common_gap)
    common = Data::Object{{"difference", gap->gap}, {"standard_uncertainty", gap->standard_uncertainty}};
  const Data first = gaps.empty() ? Data{} : gaps.front();
  return Data::Object{{"unit", std::string{name(story.claim.unit)}},
                      {"display_step", story.claim.setups.front().reported.figures.display_step.value()},
                      {"confidence", audit.level.value()},
                      {"margin", number(audit.margin)},
                      {"claimed", audit.claimed ? Data{std::string{name(*audit.claimed)}} : Data{}},
                      {"setups", std::move(setups)},
                      {"gap", first},
                      {"gaps", std::move(gaps)},
                      {"common_gap", std::move(common)},
                      {"checklist", std::move(stated)}};
}

}  // namespace shotassay::narrative
