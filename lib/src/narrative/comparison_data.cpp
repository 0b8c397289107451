#include <algorithm>
#include <cmath>
#include <shotassay/methods/family.hpp>

#include "comparison_words.hpp"

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
    return out;
  }

  Data methods(const std::vector<MethodOutcome>& all) const {
    Data::List list;
    for (const MethodOutcome& m : all) list.push_back(method(m));
    return list;
  }

 private:
  double factor_;
};

Data setup_data(const SetupOutcome& s, const Numbers& numbers) {
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
                      {"methods", numbers.methods(s.methods)}};
}

std::string position_name(MarginPosition position) {
  return position == MarginPosition::inside ? "inside" : position == MarginPosition::beyond ? "beyond" : "across";
}

Data scope_data(const GapOutcome& gap, const ComparisonWords& words) {
  Data::List needs;
  const auto need = [&](const char* code, const std::string& text) {
    needs.push_back(Data::Object{{"code", code}, {"text", text}});
  };
  if (!gap.deciding().interval) {
    need("second_shot", "two or more shots with each set-up");
  } else if (gap.verdict == Verdict::open) {
    for (const NextTest& next : gap.next_tests)
      if (next.shots)
        need("more_shots", std::to_string(*next.shots) + " shots with each set-up find a true gap of " +
                               words.speed().with_unit(next.gap) + " 8 times in 10");
    if (gap.decided_by == RoundingTerm::display_bound) need("finer_display", "a chronograph that shows a smaller step");
  }
  need("several_days", "the test repeated on several days, to speak of any day");
  need("several_bows", "several bows of each kind, to speak of kinds of bow");
  return Data::Object{
      {"carried", gap.deciding().interval ? "setups_today" : "readings"},
      {"not_carried", gap.deciding().interval ? Data::List{"setups_any_day", "kinds_of_bow"}
                                              : Data::List{"setups_today", "setups_any_day", "kinds_of_bow"}},
      {"needs", std::move(needs)}};
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
  return Data::Object{{"from", c.setups[gap.from].name},
                      {"to", c.setups[gap.to].name},
                      {"difference", numbers.speed(gap.difference)},
                      {"verdict", std::string{name(gap.verdict)}},
                      {"interval", gap.deciding().interval ? Data{numbers.interval(gap.deciding())} : Data{}},
                      {"margin", std::move(margin)},
                      {"methods", numbers.methods(gap.methods)},
                      {"detectable", std::move(detectable)},
                      {"next_tests", std::move(next)},
                      {"scope", scope_data(gap, words)}};
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
  for (const SetupOutcome& s : c.setups) setups.push_back(setup_data(s, numbers));
  for (const GapOutcome& g : c.gaps) gaps.push_back(gap_data(g, story, numbers, words));
  return Data::Object{{"unit", std::string{name(story.printed)}},
                      {"display_step", numbers.speed(c.display_step.value())},
                      {"confidence", c.level.value()},
                      {"setups", std::move(setups)},
                      {"gaps", std::move(gaps)},
                      {"plan", plan_data(story.planned)}};
}

}  // namespace shotassay::narrative
