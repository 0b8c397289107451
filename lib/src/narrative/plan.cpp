#include <fmt/format.h>

#include <algorithm>
#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "wording.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

SpeedWords words_of(const PlanStory& story) { return {story.plan.question.display_step, story.unit, story.unit}; }

std::string headline(const PlanStory& story) {
  const Plan& p = story.plan;
  const SpeedWords speed = words_of(story);
  const PlanRow& r = p.achieved;
  const std::string power = times(p.question.power.value());
  switch (p.answer) {
    case PlanAnswer::shots:
      return fmt::format(
          "Shoot {} shots with each of the two set-ups: a true gap of {} is then found in {} of tests{}.", r.shots,
          speed.as_typed(*p.question.resolve), percent_of_tests(*r.power),
          p.power_one_less ? fmt::format("; with {} it would be {}", r.shots - 1, percent_of_tests(*p.power_one_less))
                           : std::string{});
    case PlanAnswer::gap:
      return fmt::format(
          "{} shots with each of the two set-ups find a true gap of {} {}; a smaller one is missed more often.",
          r.shots, speed.with_unit(r.detectable_gap), power);
    case PlanAnswer::power:
      break;
  }
  return fmt::format("{} shots with each of the two set-ups find a true gap of {} in {} of tests.", r.shots,
                     speed.as_typed(*p.question.resolve), percent_of_tests(*r.power));
}

std::string meaning(const PlanStory& story) {
  const Plan& p = story.plan;
  const SpeedWords speed = words_of(story);
  std::string text =
      fmt::format("The range for the gap will be about ±{} on average. ", speed.with_unit(p.achieved.half_width));
  if (p.question.resolve)
    text += fmt::format(
        "Were the gap really {}, the verdict would still be \"open\" in {} of tests: \"open\" is not \"no "
        "difference\".",
        speed.as_typed(*p.question.resolve), percent_of_tests(1.0 - *p.achieved.power));
  else
    text += "An \"open\" verdict after such a test is not \"no difference\": a smaller gap may well be there.";
  return text;
}

}  // namespace

std::vector<Note> plan_notes(const PlanStory& story) {
  const Plan& p = story.plan;
  const SpeedWords speed = words_of(story);
  std::vector<Note> notes;
  notes.push_back(
      {"sd_entered",
       fmt::format(
           "It rests on a shot SD of {} in both set-ups, as entered. The display's steps of {} add to it: {} {}.",
           speed.as_typed(p.question.sd), speed.as_typed(p.question.display_step.value()),
           speed.bare(p.sd_of_readings, speed.decimals() + 1), speed.unit())});
  notes.push_back(
      {"method", fmt::format("Power of Welch's interval at confidence {}, computed exactly for normal shots.",
                             percent(p.question.level.value()))});
  if (p.display_limits)
    notes.push_back(
        {"display_limits",
         "The SD is below three quarters of a display step: there the display, not the number of shots, limits what "
         "can be told, and these figures are too hopeful. A finer display is the way."});
  if (p.more_can_miss)
    notes.push_back(
        {"more_can_miss",
         "One shot more would fall just short of the power asked: it does not rise with every single shot."});
  notes.push_back({"scope",
                   "The gap will belong to the two specimens shot, on that day. To speak of kinds of bow or bowstring, "
                   "several of each are needed."});
  return notes;
}

Document plan_document(const PlanStory& story) {
  const Plan& p = story.plan;
  const SpeedWords speed = words_of(story);
  Document out;
  out.blocks.push_back(Headline{headline(story)});
  out.blocks.push_back(Paragraph{meaning(story)});
  Table table{.columns = {{"shots with each", true}}, .rows = {}};
  if (p.question.resolve) table.columns.push_back({"finds " + speed.as_typed(*p.question.resolve), true});
  table.columns.push_back({"finds " + times(p.question.power.value()), true});
  table.columns.push_back({"range about", true});
  table.columns.push_back({""});
  for (const PlanRow& r : p.table) {
    std::vector<std::string> row{std::to_string(r.shots)};
    if (p.question.resolve) row.push_back(percent_of_tests(*r.power));
    row.push_back(speed.with_unit(r.detectable_gap));
    row.push_back("±" + speed.with_unit(r.half_width));
    row.push_back(r.shots == p.achieved.shots ? "<" : "");
    table.rows.push_back(std::move(row));
  }
  out.blocks.push_back(Heading{"Other numbers of shots"});
  out.blocks.push_back(std::move(table));
  out.blocks.push_back(Heading{"What this rests on"});
  Points rests;
  for (const Note& note : plan_notes(story)) rests.points.push_back({"", note.text});
  out.blocks.push_back(std::move(rests));
  out.blocks.push_back(Heading{"Before you shoot"});
  out.blocks.push_back(cautions());
  return out;
}

Data plan_data(const PlanStory& story) {
  const Plan& p = story.plan;
  const auto question = [&]() -> std::string {
    switch (p.answer) {
      case PlanAnswer::shots:
        return "shots";
      case PlanAnswer::gap:
        return "gap";
      case PlanAnswer::power:
        break;
    }
    return "power";
  }();
  const auto optional = [](std::optional<double> x) { return x ? Data{*x} : Data{}; };
  const Data group = Data::Object{{"bows", 1}, {"shots", p.achieved.shots}};
  Data::List table;
  for (const PlanRow& r : p.table)
    table.push_back(Data::Object{{"shots", r.shots},
                                 {"power", optional(r.power)},
                                 {"detectable_gap", r.detectable_gap},
                                 {"half_width", r.half_width}});
  return Data::Object{
      {"unit", std::string{name(story.unit)}},
      {"question", question},
      {"confidence", p.question.level.value()},
      {"power", p.question.power.value()},
      {"sd", Data::Object{{"from", p.question.sd}, {"to", p.question.sd}, {"bow", Data{}}, {"origin", "entered"}}},
      {"display_step", p.question.display_step.value()},
      {"method", "welch"},
      {"design", Data::Object{{"from", group}, {"to", group}, {"total_shots", 2 * p.achieved.shots}}},
      {"achieved", Data::Object{{"power", optional(p.achieved.power)},
                                {"detectable_gap", p.achieved.detectable_gap},
                                {"half_width", p.achieved.half_width},
                                {"monte_carlo_error", Data{}}}},
      {"table", std::move(table)},
      {"order", Data{}}};
}

}  // namespace shotassay::narrative
