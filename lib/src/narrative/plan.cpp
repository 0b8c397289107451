#include <algorithm>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/plan.hpp>

#include "../document/formatted.hpp"
#include "plan_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

class PlanWriter {
 public:
  explicit PlanWriter(const PlanStory& story)
      : story_{story},
        p_{story.plan},
        q_{story.plan.question},
        words_{story.plan.question.how.step, story.unit},
        speed_{words_.speed()} {}

  std::string headline() const;
  std::string meaning() const;
  /// The SD is so small that a smaller one yet may find less.
  bool display_rules() const { return std::min(q_.sd.from, q_.sd.to) < 0.5 * q_.how.step.value(); }
  std::optional<std::string> if_speeds_fall_badly() const;
  std::optional<std::string> should_sd_be_larger() const;
  std::vector<Note> notes() const;
  PowerCurveFigure curve() const;
  Table table() const;
  bool dips() const;
  Document document() const;
  Data data() const;

 private:
  double wanted() const { return q_.power.value(); }
  std::string share(const std::optional<Chance>& chance) const { return words_.share(chance->average, wanted()); }

  /// "find a true gap of 3 fps", said of the shots or of the test.
  std::string goal(const std::string& find, const std::string& tell, const std::string& show) const {
    if (const auto* narrow = std::get_if<NarrowRange>(&q_.goal))
      return formatted("{} the gap to ±{} or closer", tell, speed_.as_typed(narrow->half_width));
    if (const auto* same = std::get_if<ShowSame>(&q_.goal))
      return formatted("{} two set-ups {} to differ by less than {}", show, apart(*same),
                       speed_.as_typed(same->margin));
    const auto* gap = std::get_if<FindGap>(&q_.goal);
    return formatted("{} a true gap of {}", find,
                     gap != nullptr ? speed_.as_typed(gap->gap) : speed_.with_unit(p_.achieved.detectable_gap));
  }
  /// The same said of the test: "a true gap of 3 fps is then found".
  std::string then_reached() const {
    if (const auto* narrow = std::get_if<NarrowRange>(&q_.goal))
      return formatted("the gap is then known to ±{} or closer", speed_.as_typed(narrow->half_width));
    if (const auto* same = std::get_if<ShowSame>(&q_.goal))
      return formatted("two set-ups {} are then shown to differ by less than {}", apart(*same),
                       speed_.as_typed(same->margin));
    return formatted("a true gap of {} is then found", speed_.as_typed(std::get<FindGap>(q_.goal).gap));
  }
  std::string apart(const ShowSame& same) const {
    return same.true_gap == 0.0 ? "without a gap" : speed_.as_typed(std::abs(same.true_gap)) + " apart";
  }

  PlanStory story_;
  const Plan& p_;
  const PlanQuestion& q_;
  PlanWords words_;
  SpeedWords speed_;
};

std::string PlanWriter::headline() const {
  const PlanRow& r = p_.achieved;
  switch (p_.answer) {
    case PlanAnswer::shots: {
      // Beyond some hundred shots one less makes no difference that a sentence could show.
      const bool tell = p_.one_less && r.shots <= 200;
      return formatted("Shoot {}: {} in {} of tests{}.", shots_with_each(r.shots), then_reached(), share(r.chance),
                       tell ? formatted(", with {} shots each in {}", r.shots - 1, share(p_.one_less)) : "");
    }
    case PlanAnswer::gap:
      return formatted("{} find a true gap of {} {}; a smaller one is missed more often.", shots_with_each(r.shots),
                       speed_.with_unit(r.detectable_gap), times(wanted()));
    case PlanAnswer::chance:
      break;
  }
  return formatted("{} {} in {} of tests.", shots_with_each(r.shots), goal("find", "tell", "show"), share(r.chance));
}

std::string PlanWriter::meaning() const {
  std::string text =
      formatted("The range for the gap will be about ±{} on average. ", speed_.with_unit(p_.achieved.half_width));
  if (std::holds_alternative<NarrowRange>(q_.goal))
    return text + "How narrow it comes out is partly luck: the scatter seen in a test is itself uncertain.";
  if (const auto* same = std::get_if<ShowSame>(&q_.goal))
    return text + formatted("Shown: the whole range lies inside ±{}. ", speed_.as_typed(same->margin)) +
           (same->true_gap == 0.0
                ? "The verdict is then \"same\", now and then faster or slower by less than the margin. Otherwise it "
                  "will "
                  "mostly be \"open\": not shown is not \"different\"."
                : "The verdict is then \"same\", or faster or slower by less than the margin, for there is a gap.");
  if (const auto* gap = std::get_if<FindGap>(&q_.goal))
    return text + formatted(
                      "Were the gap really {}, the verdict would still be \"open\" in {} of tests: \"open\" is "
                      "not \"no difference\".",
                      speed_.as_typed(gap->gap), percent_of_tests(1.0 - p_.achieved.chance->average));
  return text + "An \"open\" verdict after such a test is not \"no difference\": a smaller gap may well be there.";
}

std::optional<std::string> PlanWriter::if_speeds_fall_badly() const {
  const auto& chance = p_.achieved.chance;
  if (!chance || !chance->worst_phase || chance->average - *chance->worst_phase < 0.02) return std::nullopt;
  return formatted(
      "{} is an average over where the true speeds fall between two readings. They may fall so that it is "
      "{}; a finer display cures that.",
      share(chance), share(Chance{*chance->worst_phase, {}, 0.0}));
}

std::optional<std::string> PlanWriter::should_sd_be_larger() const {
  if (!q_.upper_sd) return std::nullopt;
  const double largest = std::max(q_.upper_sd->from, q_.upper_sd->to);
  const bool pilot = story_.sd.origin == SdOrigin::sheet;
  const std::string upper = pilot ? speed_.bare(largest, speed_.decimals() + 1) + " " + speed_.unit()
                                  : formatted("{:.3g} {}", speed_.converted(largest), speed_.unit());
  const std::string why = pilot ? "So few shots do not pin the SD down: it may be as large as " + upper
                                : "The SD is assumed: it may well be " + upper;
  std::string text;
  if (p_.upper_out_of_reach) {
    text = why + ", and then no number of shots was found that would do.";
  } else {
    const PlanRow& r = *p_.at_upper;
    switch (p_.answer) {
      case PlanAnswer::gap:
        text =
            formatted("{}, and then these shots find {} {}.", why, speed_.with_unit(r.detectable_gap), times(wanted()));
        break;
      case PlanAnswer::chance:
        text = formatted("{}, and then these shots do so in {} of tests.", why, share(r.chance));
        break;
      case PlanAnswer::shots:
        if (r.shots > p_.achieved.shots && display_rules())
          text = formatted("{}, and then it takes {} with each ({} of tests).", why, r.shots, share(r.chance));
        else if (r.shots > p_.achieved.shots)
          text = formatted("To be on the safe side shoot {} with each. {}, and then it takes that many ({} of tests).",
                           r.shots, why, share(r.chance));
        else if (r.shots == p_.achieved.shots)
          text = formatted("{}, and the same number of shots would do.", why);
        else
          text = formatted(
              "{}, and then {} with each would do: a little more scatter helps, for readings then fall on "
              "more than one step of the display.",
              why, r.shots);
    }
  }
  if (pilot)
    text += formatted(" In {} such pilots the true SD is not above the limit found so.",
                      of_tests(story_.sd.estimate->level.value()));
  return text;
}

std::vector<Note> PlanWriter::notes() const {
  std::vector<Note> notes;
  notes.push_back(words_.sd_note(story_.sd, q_.sd, story_.setups));
  notes.push_back(words_.chance_note(q_.how, p_.achieved.by, p_.achieved.chance, wanted(), p_.achieved.tests));
  const double least = std::min(q_.sd.from, q_.sd.to);
  if (least < 0.75 * q_.how.step.value())
    notes.push_back({"display_limits",
                     "The SD is below three quarters of a display step: there the display, more than the number of "
                     "shots, limits what can be told. A finer display is the way."});
  if (p_.more_can_miss)
    notes.push_back({"more_can_miss",
                     "One shot more with each would fall just short of the power asked: it does not rise with every "
                     "single shot."});
  if (p_.overshot != Overshot::neither)
    notes.push_back({"more_on_one_side",
                     formatted("Many more shots with {} alone, {} say, would find the gap less often, not more: "
                               "the range then rests on the few shots of the other set-up.",
                               shown_name(story_.setups[p_.overshot == Overshot::from ? 0 : 1]),
                               std::min<std::int64_t>(10 * p_.achieved.shots, 10'000))});
  if (story_.firing && story_.firing->change == Change::costly)
    notes.push_back(
        {"re_setting",
         "The set-up is made anew before every string of shots. How much re-setting alters the speed is not in "
         "these chances, and the gap will belong to these settings."});
  notes.push_back({"scope",
                   "The gap will belong to the two specimens shot, on that day. To speak of kinds of bow or bowstring, "
                   "several of each are needed."});
  return notes;
}

PowerCurveFigure PlanWriter::curve() const {
  PowerCurveFigure figure{.points = {},
                          .wanted = wanted(),
                          .marked = p_.achieved.shots,
                          .x_label = "shots with each set-up",
                          .title = "Share of tests that " + goal("find", "tell", "show")};
  for (const CurvePoint& point : p_.curve) figure.points.push_back({point.shots, point.chance});
  return figure;
}

Table PlanWriter::table() const {
  Table table{.columns = {{"shots with each", true}}, .rows = {}};
  const bool has_goal = !std::holds_alternative<std::monostate>(q_.goal);
  if (const auto* gap = std::get_if<FindGap>(&q_.goal))
    table.columns.push_back({"finds " + speed_.as_typed(gap->gap), true});
  else if (const auto* narrow = std::get_if<NarrowRange>(&q_.goal))
    table.columns.push_back({"within ±" + speed_.as_typed(narrow->half_width), true});
  else if (const auto* same = std::get_if<ShowSame>(&q_.goal))
    table.columns.push_back({"same ±" + speed_.as_typed(same->margin), true});
  table.columns.push_back({"gap found in " + of_tests(wanted()), true});
  table.columns.push_back({"range about", true});
  table.columns.push_back({""});
  for (const PlanRow& r : p_.table) {
    std::vector<std::string> row{std::to_string(r.shots)};
    if (has_goal) row.push_back(share(r.chance));
    row.push_back(speed_.with_unit(r.detectable_gap));
    row.push_back("±" + speed_.with_unit(r.half_width));
    row.push_back(r.shots != p_.achieved.shots ? "" : p_.answer == PlanAnswer::shots ? "the answer" : "as asked");
    table.rows.push_back(std::move(row));
  }
  return table;
}

bool PlanWriter::dips() const {
  for (std::size_t i = 1; i < p_.table.size(); ++i)
    if (p_.table[i].chance && p_.table[i].chance->average < p_.table[i - 1].chance->average - 0.001) return true;
  return false;
}

Document PlanWriter::document() const {
  Document out;
  out.blocks.push_back(Headline{headline()});
  out.blocks.push_back(Paragraph{meaning()});
  if (const auto text = if_speeds_fall_badly()) out.blocks.push_back(Paragraph{*text, Tone::caution});
  if (const auto text = should_sd_be_larger()) out.blocks.push_back(Paragraph{*text, Tone::caution});
  if (auto text = files_written(story_.firing)) out.blocks.push_back(std::move(*text));
  out.blocks.push_back(curve());
  out.blocks.push_back(Heading{"Other numbers of shots"});
  out.blocks.push_back(table());
  out.blocks.push_back(Paragraph{"Found: the whole range lies on one side of 0, and the verdict is faster or slower." +
                                 std::string{dips() ? " Where a share falls with more shots, the display's rounding is "
                                                      "at work: it is no misprint."
                                                    : ""}});
  add_footing(out, notes());
  return out;
}

Data PlanWriter::data() const {
  const std::string question = p_.answer == PlanAnswer::gap                   ? "gap"
                               : p_.answer == PlanAnswer::chance              ? "power"
                               : std::holds_alternative<NarrowRange>(q_.goal) ? "interval"
                               : std::holds_alternative<ShowSame>(q_.goal)    ? "same"
                                                                              : "shots";
  const Data group = Data::Object{{"bows", 1}, {"shots", p_.achieved.shots}};
  const auto row = [](const PlanRow& r) {
    return Data::Object{{"shots", r.shots},
                        {"power", chance_data(r.chance)},
                        {"detectable_gap", r.detectable_gap},
                        {"half_width", r.half_width},
                        {"by", name(r.by)}};
  };
  Data::List table, curve;
  for (const PlanRow& r : p_.table) table.push_back(row(r));
  for (const CurvePoint& point : p_.curve)
    curve.push_back(Data::Object{{"shots", point.shots}, {"power", point.chance}});
  const auto& chance = p_.achieved.chance;
  const bool simulated = p_.achieved.by == ChanceBy::simulation && chance;
  return Data::Object{{"unit", std::string{name(story_.unit)}},
                      {"question", question},
                      {"confidence", q_.how.level.value()},
                      {"power", wanted()},
                      {"sd", sd_data(story_.sd, q_.sd, std::nullopt, q_.upper_sd)},
                      {"display_step", q_.how.step.value()},
                      {"method", name(q_.how.interval)},
                      {"design", Data::Object{{"from", group}, {"to", group}, {"total_shots", 2 * p_.achieved.shots}}},
                      {"achieved", Data::Object{{"power", chance_data(chance)},
                                                {"power_worst_phase",
                                                 chance && chance->worst_phase ? Data{*chance->worst_phase} : Data{}},
                                                {"power_one_less", chance_data(p_.one_less)},
                                                {"detectable_gap", p_.achieved.detectable_gap},
                                                {"half_width", p_.achieved.half_width},
                                                {"by", name(p_.achieved.by)},
                                                {"monte_carlo_error", simulated ? Data{chance->error} : Data{}}}},
                      {"at_upper_sd", p_.at_upper ? Data{row(*p_.at_upper)} : Data{}},
                      {"upper_sd_out_of_reach", p_.upper_out_of_reach},
                      {"table", std::move(table)},
                      {"curve", std::move(curve)},
                      {"order", order_data(story_.firing)}};
}

}  // namespace

std::vector<Note> plan_notes(const PlanStory& story) { return PlanWriter{story}.notes(); }
Document plan_document(const PlanStory& story) { return PlanWriter{story}.document(); }
Data plan_data(const PlanStory& story) { return PlanWriter{story}.data(); }

}  // namespace shotassay::narrative
