#include <shotassay/narrative/plan.hpp>

#include "../document/formatted.hpp"
#include "plan_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

PlanWords words_of(const BowPlanStory& story) { return {story.plan.question.step, story.unit}; }

std::string cost_text(double cost) { return formatted("{:.6g}", cost); }

std::string headline(const BowPlanStory& story) {
  const BowPlan& p = story.plan;
  const PlanWords words = words_of(story);
  return formatted(
      "Shoot {} bows of each kind, {} with each bow: a true gap of {} between the kinds is then found in "
      "{} of tests.",
      p.cheapest.bows, counted(static_cast<std::size_t>(p.cheapest.shots), "shot"),
      words.speed().as_typed(p.question.resolve), words.share(p.cheapest.power, p.question.power.value()));
}

std::string one_bow(const BowPlanStory& story) {
  const BowPlan& p = story.plan;
  const SpeedWords speed = words_of(story).speed();
  return formatted(
      "With one bow of each kind no number of shots is enough: of pairs of single bows from kinds that do not differ "
      "at "
      "all, one in three lies more than {} apart.",
      speed.with_unit(p.one_in_three));
}

std::string size_of_test(const BowPlanStory& story) {
  const BowPlan& p = story.plan;
  const SpeedWords speed = words_of(story).speed();
  std::string text = formatted("That is {} shots in all", 2 * p.cheapest.bows * p.cheapest.shots);
  text += formatted(", the cheapest such test at a cost of {}{}.", cost_text(p.cheapest.cost),
                    story.costs_entered ? "" : ", a bow counted as ten shots; your own costs may tell another");
  return text + formatted(" The range for the gap will be about ±{} on average.", speed.with_unit(p.half_width));
}

Table grid(const BowPlanStory& story) {
  const BowPlan& p = story.plan;
  const PlanWords words = words_of(story);
  Table table{.columns = {{"bows of each", true}}, .rows = {}};
  for (const std::int64_t n : p.shots_shown)
    table.columns.push_back({counted(static_cast<std::size_t>(n), "shot"), true});
  table.columns.push_back({"any", true});
  std::vector<std::string> never{"1"};
  never.insert(never.end(), p.shots_shown.size() + 1, "never");
  table.rows.push_back(std::move(never));
  for (const BowPlan::Row& r : p.rows) {
    std::vector<std::string> row{std::to_string(r.bows)};
    for (std::size_t i = 0; i < r.power.size(); ++i) {
      const bool answer = r.bows == p.cheapest.bows && p.shots_shown[i] == p.cheapest.shots;
      row.push_back((answer ? "→ " : "") + words.share(r.power[i], p.question.power.value()));
    }
    row.push_back(words.share(r.limit, p.question.power.value()));
    table.rows.push_back(std::move(row));
  }
  return table;
}

}  // namespace

std::vector<Note> plan_notes(const BowPlanStory& story) {
  const BowPlanQuestion& q = story.plan.question;
  const PlanWords words = words_of(story);
  std::vector<Note> notes;
  notes.push_back({"bow_sd_entered",
                   formatted("SD between the true speeds of bows of one kind, as entered: {}. It is your figure; we "
                             "know of no published one to fall back on.",
                             words.speed().as_typed(q.bow_sd))});
  notes.push_back(words.sd_note(story.sd, {q.shot_sd, q.shot_sd}, {"A", "B"}));
  notes.push_back(
      {"method", formatted("Chances are those of a t interval on the bows' averages at confidence {}, with one "
                           "spread for both kinds, computed exactly for normal bows and shots.",
                           percent(q.level.value()))});
  if (story.plan.cheapest.bows == 2)
    notes.push_back(
        {"two_bows",
         "With two bows of each kind compare does not take their spread below what shots and rounding alone "
         "would give, and then finds the gap less often than told here, in the worst case half as often. A "
         "third bow of each mends that."});
  if (q.shot_sd < 0.5 * q.step.value())
    notes.push_back(
        {"display_limits",
         "The SD of a shot is below half a display step: the readings of one bow then share their rounding, and "
         "these chances are somewhat too high. A finer display is the way."});
  notes.push_back({"scope",
                   "The gap will belong to the kinds of bow, as far as the bows shot were picked at random from their "
                   "kinds; bows from one batch speak of that batch."});
  return notes;
}

Document plan_document(const BowPlanStory& story) {
  Document out;
  out.blocks.push_back(Headline{headline(story)});
  out.blocks.push_back(Paragraph{one_bow(story), Tone::caution});
  out.blocks.push_back(Paragraph{size_of_test(story)});
  if (auto text = files_written(story.firing)) out.blocks.push_back(std::move(*text));
  out.blocks.push_back(Heading{formatted("How often {} between the kinds is found",
                                         words_of(story).speed().as_typed(story.plan.question.resolve))});
  out.blocks.push_back(
      Paragraph{"Bows of each kind down, shots with each bow across, in the last column any number of shots; → marks "
                "the answer."});
  out.blocks.push_back(grid(story));
  add_footing(out, plan_notes(story));
  return out;
}

Data plan_data(const BowPlanStory& story) {
  const BowPlan& p = story.plan;
  const BowPlanQuestion& q = p.question;
  const Data group = Data::Object{{"bows", p.cheapest.bows}, {"shots", p.cheapest.shots}};
  Data::List grid;
  for (const BowPlan::Row& r : p.rows) {
    for (std::size_t i = 0; i < r.power.size(); ++i)
      grid.push_back(Data::Object{{"bows", r.bows}, {"shots", p.shots_shown[i]}, {"power", r.power[i]}});
    grid.push_back(Data::Object{{"bows", r.bows}, {"shots", Data{}}, {"power", r.limit}});
  }
  return Data::Object{
      {"unit", std::string{name(story.unit)}},
      {"question", "bows"},
      {"confidence", q.level.value()},
      {"power", q.power.value()},
      {"sd", sd_data(story.sd, {q.shot_sd, q.shot_sd}, q.bow_sd, std::nullopt)},
      {"display_step", q.step.value()},
      {"method", "bow_means"},
      {"design", Data::Object{{"from", group}, {"to", group}, {"total_shots", 2 * p.cheapest.bows * p.cheapest.shots}}},
      {"achieved", Data::Object{{"power", p.cheapest.power},
                                {"detectable_gap", p.detectable_gap},
                                {"half_width", p.half_width},
                                {"cost", p.cheapest.cost},
                                {"monte_carlo_error", Data{}}}},
      {"one_bow_of_each",
       Data::Object{{"gap_sd", p.luck_of_two}, {"one_in_three", p.one_in_three}, {"enough_shots", Data{}}}},
      {"table", std::move(grid)},
      {"order", order_data(story.firing)}};
}

}  // namespace shotassay::narrative
