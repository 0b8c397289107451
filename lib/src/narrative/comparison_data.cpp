#include <algorithm>
#include <cmath>
#include <shotassay/methods/family.hpp>
#include <shotassay/narrative/budget.hpp>

#include "comparison_words.hpp"
#include "equal_setups_words.hpp"
#include "scope_words.hpp"

namespace shotassay::narrative {

namespace {

using document::Data;

/// Converts the numbers of one story for its JSON.
class Numbers {
 public:
  explicit Numbers(const ComparisonStory& story) : factor_{conversion(story.sheet.unit, story.printed)} {}

  Data speed(double x) const { return std::isfinite(x) ? Data{x * factor_} : Data{}; }
  Data speed(std::optional<double> x) const { return x ? speed(*x) : Data{}; }

  /// An interval's own keys; a method without one has null limits.
  Data::Object interval(const MethodOutcome& m) const {
    return {{"method", std::string{name(m.method)}},
            {"lower", m.interval ? speed(m.interval->lower) : Data{}},
            {"upper", m.interval ? speed(m.interval->upper) : Data{}},
            {"level", m.level}};
  }

  Data method(const MethodOutcome& m) const {
    Data::Object out = interval(m);
    const auto add = [&](const char* key, Data value) { out.emplace_back(key, std::move(value)); };
    if (m.difference) add("difference", speed(*m.difference));
    if (m.standard_error) add("standard_error", speed(*m.standard_error));
    if (m.degrees_of_freedom) add("degrees_of_freedom", *m.degrees_of_freedom);
    if (m.t) add("t", *m.t);
    if (m.p_two_sided) add("p_two_sided", *m.p_two_sided);
    if (m.p_holm) add("p_holm", *m.p_holm);
    if (m.p_equivalence) add("p_equivalence", *m.p_equivalence);
    if (m.resamples) add("resamples", static_cast<std::int64_t>(*m.resamples));
    if (m.exact) add("exact", *m.exact);
    const auto add_range = [&](const char* key, const std::optional<Interval>& range) {
      if (range) add(key, Data::List{speed(range->lower), speed(range->upper)});
    };
    add_range("lower_monte_carlo", m.lower_range);
    add_range("upper_monte_carlo", m.upper_range);
    if (m.replicates) add("replicates", replicates(*m.replicates));
    if (m.history) add("history", use_of(*m.history));
    return out;
  }

  Data replicates(const ReplicateDetail& d) const {
    const auto range = [&](const std::optional<Interval>& i) {
      return i ? Data{Data::List{speed(i->lower), speed(i->upper)}} : Data{};
    };
    Data::List gaps;
    for (const double gap : d.gaps) gaps.push_back(speed(gap));
    return Data::Object{{"from", d.from},
                        {"to", d.to},
                        {"floor_acted", d.floor_acted},
                        {"least_shots", d.most_shots > 0 ? Data{d.least_shots} : Data{}},
                        {"most_shots", d.most_shots > 0 ? Data{d.most_shots} : Data{}},
                        {"gaps", std::move(gaps)},
                        {"bow_sd", speed(d.bow_sd)},
                        {"bow_sd_interval", range(d.bow_sd_interval)},
                        {"shot_sd", speed(d.shot_sd)},
                        {"shot_sd_interval", range(d.shot_sd_interval)},
                        {"satterthwaite", d.satterthwaite ? Data{*d.satterthwaite} : Data{}}};
  }

  Data use_of(const HistoryUse& h) const {
    return Data::Object{{"history_fits", h.fits},
                        {"p_scatter", h.p_scatter},
                        {"pooled_sd", speed(h.pooled_sd)},
                        {"pooled_degrees_of_freedom", h.pooled_degrees_of_freedom},
                        {"moderated_sd", speed(h.moderated_sd)}};
  }

  Data methods(const std::vector<MethodOutcome>& all) const {
    Data::List list;
    for (const MethodOutcome& m : all) list.push_back(method(m));
    return list;
  }

 private:
  double factor_;
};

Data setup_data(const SetupOutcome& s, Data budget, const Numbers& numbers) {
  const bool described = s.description.has_value();
  const auto value = [&](double Description::*member) {
    return described ? numbers.speed((*s.description).*member) : Data{};
  };
  return Data::Object{{"name", s.name},
                      {"shots", described ? s.description->shots : std::int64_t{0}},
                      {"excluded", s.excluded},
                      {"bows", s.bows},
                      {"mean", value(&Description::mean)},
                      {"sd", described ? numbers.speed(s.description->sd) : Data{}},
                      {"min", value(&Description::low)},
                      {"max", value(&Description::high)},
                      {"spread", value(&Description::spread)},
                      {"all_equal", described ? Data{s.description->all_equal} : Data{}},
                      {"interval", s.methods.empty() ? Data{} : Data{numbers.interval(s.methods.front())}},
                      {"methods", numbers.methods(s.methods)},
                      {"budget", std::move(budget)}};
}

std::string position_name(MarginPosition position) {
  return position == MarginPosition::inside ? "inside" : position == MarginPosition::beyond ? "beyond" : "across";
}

Data scope_data(const GapOutcome& gap, const Numbers& numbers, const ComparisonWords& words) {
  const auto count = [](std::optional<std::int64_t> n) { return n ? Data{*n} : Data{}; };
  Data::List needs;
  for (const Need& need : gap.needs)
    needs.push_back(Data::Object{{"code", std::string{name(need.code)}},
                                 {"text", need_phrase(need, words)},
                                 {"claim", std::string{name(need.claim)}},
                                 {"gap", numbers.speed(need.gap)},
                                 {"same_within", numbers.speed(need.same_within)},
                                 {"power", need.power ? Data{*need.power} : Data{}},
                                 {"shots", count(need.shots)},
                                 {"bows", count(need.bows)},
                                 {"more_bows", count(need.more_bows)},
                                 {"sessions", count(need.sessions)},
                                 {"more_sessions", count(need.more_sessions)}});
  const bool ranged = gap.deciding().interval.has_value();
  const bool any_day = gap.any_day && *gap.any_day != Verdict::open;
  const bool kinds = ranged && gap.claim == Claim::kinds_of_bow;
  Data::List not_carried;
  if (!ranged) not_carried.push_back(std::string{name(Claim::setups_today)});
  if (!any_day) not_carried.push_back(std::string{name(Claim::setups_any_day)});
  if (!kinds) not_carried.push_back(std::string{name(Claim::kinds_of_bow)});
  return Data::Object{{"carried", std::string{name(ranged ? gap.claim : Claim::readings)}},
                      {"not_carried", std::move(not_carried)},
                      {"needs", std::move(needs)}};
}

/// A gap's or a speed's budget with the keys of `shotassay budget`; null where it was not asked.
Data compared_budget(const std::vector<std::optional<ComparedBudget>>& budgets, std::size_t index) {
  if (index >= budgets.size() || !budgets[index]) return {};
  const ComparedBudget& budget = *budgets[index];
  return budget_data({budget.answer, budget.question, budget.stated});
}

/// The changes of single shots that would make the verdict another one; null where it was not asked.
Data influence_data(const GapOutcome& gap, const ComparisonStory& story) {
  for (const GapInfluence& influence : story.influence) {
    if (influence.from != gap.from || influence.to != gap.to || !influence.verdict) continue;
    Data::List list;
    for (const TippingShots& tipping : influence.tipping) {
      Data::List shots;
      for (const ShotIndex& index : tipping.shots)
        shots.push_back(Data::Object{{"setup", story.comparison.setups[index.setup].name}, {"shot", index.shot + 1}});
      list.push_back(Data::Object{{"change", std::string{name(tipping.change)}},
                                  {"shots", std::move(shots)},
                                  {"becomes", tipping.becomes ? Data{std::string{name(*tipping.becomes)}} : Data{}}});
    }
    return list;
  }
  return {};
}

Data gap_data(const GapOutcome& gap, const ComparisonStory& story, const Numbers& numbers,
              const ComparisonWords& words) {
  const Comparison& c = story.comparison;
  Data margin;
  if (c.margin)
    margin = Data::Object{{"size", numbers.speed(*c.margin)},
                          {"position", gap.position ? Data{position_name(*gap.position)} : Data{}}};
  Data detectable;
  if (gap.detectable)
    detectable = Data::Object{{"power", gap.detectable->power}, {"gap", numbers.speed(gap.detectable->gap)}};
  Data::List next;
  for (const NextTest& n : gap.next_tests)
    next.push_back(Data::Object{{"gap", numbers.speed(n.gap)}, {"shots", n.shots ? Data{*n.shots} : Data{}}});
  Data::List bows;
  for (const NextBows& n : gap.next_bows)
    bows.push_back(Data::Object{{"gap", numbers.speed(n.gap)}, {"bows", n.bows}, {"shots", n.shots}});
  const auto index = static_cast<std::size_t>(&gap - c.gaps.data());
  Data blocking, stated, equal;
  if (index < story.equal_setups.size() && story.equal_setups[index])
    equal = equal_setups_data(*story.equal_setups[index], conversion(story.sheet.unit, story.printed), c.margin);
  if (const auto& b = gap.blocking)
    blocking = Data::Object{{"paired_half_width", numbers.speed(b->paired_half_width)},
                            {"unblocked_half_width", numbers.speed(b->unblocked_half_width)},
                            {"ratio", b->ratio}};
  if (const auto& w = gap.stated_kinds)
    stated = Data::Object{{"lower", numbers.speed(w->interval.lower)},
                          {"upper", numbers.speed(w->interval.upper)},
                          {"stated_share", w->added_share}};
  return Data::Object{{"from", c.setups[gap.from].name},
                      {"to", c.setups[gap.to].name},
                      {"difference", numbers.speed(gap.difference)},
                      {"verdict", std::string{name(gap.verdict)}},
                      {"interval", gap.deciding().interval ? Data{numbers.interval(gap.deciding())} : Data{}},
                      {"margin", std::move(margin)},
                      {"methods", numbers.methods(gap.methods)},
                      {"detectable", std::move(detectable)},
                      {"next_tests", std::move(next)},
                      {"next_bows", std::move(bows)},
                      {"any_day", gap.any_day ? Data{std::string{name(*gap.any_day)}} : Data{}},
                      {"blocking", std::move(blocking)},
                      {"tipping_bow_sd", numbers.speed(gap.tipping_bow_sd)},
                      {"stated_kinds", std::move(stated)},
                      {"influence", influence_data(gap, story)},
                      {"equal_setups", std::move(equal)},
                      {"budget", compared_budget(story.gap_budgets, index)},
                      {"scope", scope_data(gap, numbers, words)}};
}

Data drift_data(const std::optional<DriftResult>& d, const Numbers& numbers) {
  if (!d) return {};
  const auto false_gap = [&](const std::optional<FalseGap>& g) {
    return g ? Data{Data::Object{{"value", numbers.speed(g->value)},
                                 {"lower", numbers.speed(g->interval.lower)},
                                 {"upper", numbers.speed(g->interval.upper)}}}
             : Data{};
  };
  return Data::Object{{"slope", numbers.speed(d->slope)},
                      {"lower", numbers.speed(d->interval.lower)},
                      {"upper", numbers.speed(d->interval.upper)},
                      {"degrees_of_freedom", d->degrees_of_freedom},
                      {"p_two_sided", d->p_two_sided},
                      {"false_gap", false_gap(d->false_gap)},
                      {"false_gap_as_shot", false_gap(d->false_gap_as_shot)}};
}

Data history_data(const ComparisonStory& story, const Numbers& numbers, const ComparisonWords& words) {
  const auto& history = story.comparison.history;
  if (!history) return {};
  const HistoryCount count = counted_history(*history);
  const ScatterPrior& prior = history->prior;
  Data wild;
  if (prior.wild) {
    const HistoryString& w = history->strings[*prior.wild];
    const auto given = [](const std::string& text) { return text.empty() ? Data{} : Data{text}; };
    wild = Data::Object{{"sheet", words.earlier_sheet(w.sheet)},
                        {"setup", w.setup},
                        {"bow", given(w.bow)},
                        {"session", given(w.session)},
                        {"shots", w.shots},
                        {"sd", numbers.speed(std::sqrt(w.scatter.variance))}};
  }
  return Data::Object{{"strings", count.strings},
                      {"shots", count.shots},
                      {"sheets", count.sheets},
                      {"prior_sd", numbers.speed(prior.sd())},
                      {"prior_degrees_of_freedom", prior.usable_degrees_of_freedom()},
                      {"degrees_of_freedom_of_strings", prior.degrees_of_freedom_of_strings},
                      {"wild", std::move(wild)},
                      {"single_shots", history->single_shots},
                      {"all_equal", count.all_equal}};
}

Data plan_data(const std::optional<PlannedTest>& planned) {
  if (!planned) return {};
  Data::List setups;
  for (const PlannedSetup& s : planned->setups)
    setups.push_back(Data::Object{{"name", s.name},
                                  {"planned", s.planned ? Data{*s.planned} : Data{}},
                                  {"analysed", s.analysed},
                                  {"excluded", s.excluded},
                                  {"open", s.open}});
  const char* const courses[] = {"as_planned", "unfinished", "went_on"};
  Data stopping;
  if (const auto& e = planned->stopping)
    stopping = Data::Object{{"error_rate", e->error_rate},
                            {"standard_error", e->standard_error},
                            {"from_shots", planned->from_shots},
                            {"to_shots", planned->to_shots},
                            {"tests", static_cast<std::int64_t>(e->tests)},
                            {"seed", static_cast<std::int64_t>(e->seed)}};
  return Data::Object{{"course", courses[static_cast<int>(planned->course)]},
                      {"setups", std::move(setups)},
                      {"stopping", std::move(stopping)}};
}

}  // namespace

Data comparison_data(const ComparisonStory& story) {
  const Comparison& c = story.comparison;
  const Numbers numbers{story};
  const ComparisonWords words{story};
  Data::List setups, gaps;
  for (std::size_t s = 0; s < c.setups.size(); ++s)
    setups.push_back(setup_data(c.setups[s], compared_budget(story.speed_budgets, s), numbers));
  for (const GapOutcome& g : c.gaps) gaps.push_back(gap_data(g, story, numbers, words));
  return Data::Object{{"unit", std::string{name(story.printed)}},
                      {"display_step", numbers.speed(c.display_step.value())},
                      {"confidence", c.level.value()},
                      {"setups", std::move(setups)},
                      {"gaps", std::move(gaps)},
                      {"drift", drift_data(c.drift, numbers)},
                      {"plan", plan_data(story.planned)},
                      {"history", history_data(story, numbers, words)}};
}

}  // namespace shotassay::narrative
