#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/plan.hpp>

#include "../document/formatted.hpp"
#include "plan_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

PlanWords words_of(const SplitStory& story) { return {story.plan.question.how.step, story.unit}; }

std::string split_text(const SplitStory& story, const Split& s) {
  return formatted("{} with {} and {} with {}", counted(static_cast<std::size_t>(s.from), "shot"),
                   shown_name(story.setups[0]), counted(static_cast<std::size_t>(s.to), "shot"),
                   shown_name(story.setups[1]));
}

std::string headline(const SplitStory& story) {
  const SplitPlan& p = story.plan;
  const SpeedWords speed = words_of(story).speed();
  return formatted("Shoot {}: they find a true gap of {} {}.", split_text(story, p.best),
                   speed.bare(p.best.detectable_gap, speed.decimals() + 1) + " " + speed.unit(),
                   times(p.question.power.value()));
}

std::string loss(const SplitStory& story) {
  const SplitPlan& p = story.plan;
  const SpeedWords speed = words_of(story).speed();
  if (p.best.from == p.even.from) return "That is the even split: no other finds a smaller gap.";
  const int fine = speed.decimals() + 1;
  return formatted("Split evenly, {}, the gap found is {} {} instead of {} {}.", split_text(story, p.even),
                   speed.bare(p.even.detectable_gap, fine), speed.unit(), speed.bare(p.best.detectable_gap, fine),
                   speed.unit());
}

std::string chances(const SplitStory& story) {
  const SplitPlan& p = story.plan;
  const double wanted = p.question.power.value();
  const PlanWords words = words_of(story);
  return formatted("A true gap of {} is found in {} of tests, split evenly in {}.",
                   words.speed().as_typed(*p.question.resolve), words.share(p.best.chance->average, wanted),
                   words.share(p.even.chance->average, wanted));
}

Table table(const SplitStory& story) {
  const SplitPlan& p = story.plan;
  const PlanWords words = words_of(story);
  Table table{.columns = {{""}, {shown_name(story.setups[0]), true}, {shown_name(story.setups[1]), true}}, .rows = {}};
  if (p.question.resolve) table.columns.push_back({"finds " + words.speed().as_typed(*p.question.resolve), true});
  table.columns.push_back({"gap found in " + of_tests(p.question.power.value()), true});
  table.columns.push_back({"range about", true});
  const auto row = [&](const std::string& lead, const Split& s) {
    std::vector<std::string> cells{lead, std::to_string(s.from), std::to_string(s.to)};
    if (p.question.resolve) cells.push_back(words.share(s.chance->average, p.question.power.value()));
    cells.push_back(words.speed().bare(s.detectable_gap, words.speed().decimals() + 1) + " " + words.speed().unit());
    cells.push_back("±" + words.speed().with_unit(s.half_width));
    table.rows.push_back(std::move(cells));
  };
  row("best", p.best);
  if (p.even.from != p.best.from) row("even", p.even);
  return table;
}

Data split_data(const Split& s) {
  return Data::Object{{"from", s.from},
                      {"to", s.to},
                      {"power", chance_data(s.chance)},
                      {"detectable_gap", s.detectable_gap},
                      {"half_width", s.half_width},
                      {"by", name(s.by)}};
}

}  // namespace

std::vector<Note> plan_notes(const SplitStory& story) {
  const SplitQuestion& q = story.plan.question;
  const PlanWords words = words_of(story);
  return {words.sd_note(story.sd, q.sd, story.setups),
          words.chance_note(q.how, story.plan.best.by, story.plan.best.chance, q.power.value(), story.plan.best.tests),
          {"scope",
           "The gap will belong to the two specimens shot, on that day. To speak of kinds of bow or bowstring, several "
           "of each are needed."}};
}

Document plan_document(const SplitStory& story) {
  Document out;
  out.blocks.push_back(Headline{headline(story)});
  out.blocks.push_back(Paragraph{loss(story)});
  if (story.plan.question.resolve) out.blocks.push_back(Paragraph{chances(story)});
  if (auto text = files_written(story.firing)) out.blocks.push_back(std::move(*text));
  out.blocks.push_back(table(story));
  add_footing(out, plan_notes(story));
  return out;
}

Data plan_data(const SplitStory& story) {
  const SplitPlan& p = story.plan;
  const SplitQuestion& q = p.question;
  const auto group = [](std::int64_t shots) { return Data{Data::Object{{"bows", 1}, {"shots", shots}}}; };
  return Data::Object{
      {"unit", std::string{name(story.unit)}},
      {"question", "split"},
      {"confidence", q.how.level.value()},
      {"power", q.power.value()},
      {"sd", sd_data(story.sd, q.sd, std::nullopt, std::nullopt)},
      {"display_step", q.how.step.value()},
      {"method", name(q.how.interval)},
      {"design", Data::Object{{"from", group(p.best.from)}, {"to", group(p.best.to)}, {"total_shots", q.total_shots}}},
      {"achieved",
       Data::Object{{"power", chance_data(p.best.chance)},
                    {"detectable_gap", p.best.detectable_gap},
                    {"half_width", p.best.half_width},
                    {"by", name(p.best.by)},
                    {"monte_carlo_error",
                     p.best.by == ChanceBy::simulation && p.best.chance ? Data{p.best.chance->error} : Data{}}}},
      {"table", Data::List{split_data(p.best), split_data(p.even)}},
      {"order", order_data(story.firing)}};
}

}  // namespace shotassay::narrative
