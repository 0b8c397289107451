#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/plan.hpp>
#include <shotassay/records/blank_sheet.hpp>
#include <shotassay/studies/bow_plan.hpp>
#include <shotassay/studies/plan.hpp>
#include <shotassay/studies/split_plan.hpp>

#include "commands.hpp"
#include "page_files.hpp"
#include "shot_sd.hpp"

namespace shotassay::cli {

namespace {

using document::Data;

struct PlanOptions {
  CommonOptions common;
  ShotSdOptions sd;
  std::string resolve, within, same_within, true_gap, shots, total_shots, power = "0.8", method = "rounding_aware";
  bool kinds = false;
  std::string bow_sd, cost_bow, cost_shot;
  std::string simulate, max_operations, max_memory = "256";
  std::string sheet, title, margin, change = "easy", arrows, check_standard, warm_ups;
  PageOptions pages;
};

/// Numbers of a plan, read from what was typed.
struct PlanInputs {
  std::optional<double> resolve, within, same_within, true_gap, margin, bow_sd, cost_bow, cost_shot;
  std::optional<std::uint64_t> shots, total_shots, arrows, warm_ups, seed;
  Power power{0.8};
  DesignPowerOptions how;
  Change change = Change::easy;
  SpeedUnit unit = SpeedUnit::feet_per_second;
  ShotSd sd;
};

bool given(const std::string& text) { return !text.empty(); }

/// Options that cannot stand together, or not without another.
void check_together(const PlanOptions& typed, OptionReader& read) {
  const auto clash = [&](const std::string& option, const std::string& other, const std::string& why) {
    read.problem(option, "and " + other, why);
  };
  const std::string one = "two questions at once; ask one of them";
  std::vector<std::string> goals;
  if (given(typed.resolve)) goals.push_back("--resolve");
  if (given(typed.within)) goals.push_back("--within");
  if (given(typed.same_within)) goals.push_back("--same-within");
  for (std::size_t i = 1; i < goals.size(); ++i) clash(goals[0], goals[i], one);
  if (typed.kinds && given(typed.total_shots)) clash("--kinds", "--total-shots", one);
  if (given(typed.total_shots) && given(typed.shots)) clash("--total-shots", "--shots", one);
  if (typed.kinds && given(typed.shots))
    clash("--kinds", "--shots", "how many shots with each bow is what the plan for kinds answers");
  for (const std::string& goal : {std::string{"--within"}, std::string{"--same-within"}}) {
    if (std::find(goals.begin(), goals.end(), goal) == goals.end()) continue;
    if (typed.kinds) clash("--kinds", goal, "kinds are planned for a gap: --resolve");
    if (given(typed.total_shots)) clash("--total-shots", goal, "shots are split for a gap: --resolve, or nothing");
  }
  if (given(typed.true_gap) && !given(typed.same_within))
    read.problem("--true-gap", typed.true_gap, "goes with --same-within");
  if (typed.kinds && !given(typed.resolve)) read.problem("--kinds", "", "say the gap to find with --resolve");
  if (typed.kinds && !given(typed.bow_sd))
    read.problem("--kinds", "",
                 "say with --bow-sd how much bows of one kind differ (SD); without it the claim is for these two bows "
                 "only");
  if (!typed.kinds)
    for (const auto& [option, text] : {std::pair{"--bow-sd", typed.bow_sd}, std::pair{"--cost-bow", typed.cost_bow},
                                       std::pair{"--cost-shot", typed.cost_shot}})
      if (given(text)) read.problem(option, text, "goes with --kinds");
  if (given(typed.cost_bow) != given(typed.cost_shot))
    read.problem("--cost-bow, --cost-shot", "", "give both, in any one currency, or neither");
  if (goals.empty() && !given(typed.shots) && !given(typed.total_shots) && !typed.kinds)
    read.problem("plan", "--resolve, --within, --same-within or --shots",
                 "say what the test shall achieve, the shots you have, or both");
  if (typed.kinds && typed.method != "rounding_aware")
    read.problem("--method", typed.method, "kinds are compared by the averages of their bows");
  if (given(typed.simulate)) {
    if (typed.kinds) clash("--simulate", "--kinds", "chances for kinds are computed exactly");
    if (typed.method == "welch") clash("--simulate", "--method welch", "Welch's chances are computed exactly");
    if (given(typed.within)) clash("--simulate", "--within", "how narrow ranges come out is never simulated");
  }
  const bool written = given(typed.sheet) || given(typed.pages.report);
  const auto needs_a_sheet = [&](const char* option, const std::string& text) {
    if (given(text) && !written) read.problem(option, text, "goes with --sheet or --report");
  };
  if (typed.change == "costly") needs_a_sheet("--change", typed.change);
  if (typed.pages.force && !written && !given(typed.pages.svg))
    read.problem("--force", "", "goes with --sheet, --report or --svg");
  for (const auto& [asked, option] :
       {std::pair{typed.kinds, "--kinds"}, std::pair{given(typed.total_shots), "--total-shots"}})
    if (asked && given(typed.pages.svg)) clash("--svg", option, "there is no curve to draw");
  needs_a_sheet("--title", typed.title);
  needs_a_sheet("--arrows", typed.arrows);
  needs_a_sheet("--check-standard", typed.check_standard);
  needs_a_sheet("--warm-ups", typed.warm_ups);
  needs_a_sheet("--margin", typed.margin);
  if (given(typed.margin) && given(typed.same_within))
    clash("--margin", "--same-within", "the margin is that of --same-within");
}

PlanInputs read_inputs(const PlanOptions& typed) {
  OptionReader read;
  PlanInputs in;
  check_together(typed, read);
  const auto positive = [&](const char* option, const std::string& text) {
    return given(text) ? read.positive(option, text) : std::nullopt;
  };
  const auto speed = [&](const char* option, const std::string& text) {
    return given(text) ? read.speed(option, text) : std::nullopt;
  };
  const auto whole = [&](const char* option, const std::string& text, std::uint64_t least, std::uint64_t most) {
    return given(text) ? read.whole(option, text, least, most) : std::nullopt;
  };
  in.resolve = speed("--resolve", typed.resolve);
  in.within = speed("--within", typed.within);
  in.same_within = speed("--same-within", typed.same_within);
  if (given(typed.true_gap)) in.true_gap = read.number("--true-gap", typed.true_gap);
  if (in.true_gap && in.same_within && std::abs(*in.true_gap) >= *in.same_within)
    read.problem("--true-gap", typed.true_gap, "does not lie inside the margin of --same-within");
  in.margin = in.same_within ? in.same_within : speed("--margin", typed.margin);
  in.bow_sd = speed("--bow-sd", typed.bow_sd);
  const auto cost = [&](const char* option, const std::string& text) -> std::optional<double> {
    const auto value = given(text) ? read.number(option, text) : std::nullopt;
    if (value && *value < 0.0) read.problem(option, text, "must be 0 or more");
    return value;
  };
  in.cost_bow = cost("--cost-bow", typed.cost_bow);
  in.cost_shot = cost("--cost-shot", typed.cost_shot);
  if (in.cost_bow && in.cost_shot && *in.cost_bow + *in.cost_shot == 0.0)
    read.problem("--cost-bow, --cost-shot", "", "one of them must be more than 0");
  in.shots = whole("--shots", typed.shots, 2, 10'000);
  in.total_shots = whole("--total-shots", typed.total_shots, 4, 20'000);
  in.arrows = whole("--arrows", typed.arrows, 1, 100);
  in.warm_ups = whole("--warm-ups", typed.warm_ups, 0, 100);
  if (typed.change == "costly")
    in.change = Change::costly;
  else if (typed.change != "easy")
    read.problem("--change", typed.change, "must be easy or costly");
  if (const auto power = read.power("--power", typed.power)) in.power = *power;
  if (const auto level = read.confidence(typed.common)) in.how.level = *level;
  // The error rate of 0.9 is not quite 0.1 in a double.
  if (in.power.value() <= in.how.level.alpha() + 1e-12)
    read.problem("--power", typed.power,
                 "is no more than what chance alone finds at this confidence; it must be above its error rate");
  if (typed.method == "welch")
    in.how.interval = PlannedInterval::welch;
  else if (typed.method != "rounding_aware")
    read.problem("--method", typed.method, "must be rounding_aware or welch");
  if (const auto n = positive("--max-operations", typed.max_operations)) {
    in.how.budget.operations = *n;
    in.how.cheap = *n;
  }
  if (const auto mib = read.positive("--max-memory", typed.max_memory)) in.how.budget.bytes = *mib * 1024 * 1024;
  in.seed = read.whole("--seed", typed.common.seed, 0, INT64_MAX);
  in.how.simulation.threads = read.threads(typed.common.threads);
  in.how.simulation.seed = in.seed.value_or(1);
  if (const auto tests = whole("--simulate", typed.simulate, 1'000, 100'000'000)) {
    in.how.simulate = true;
    in.how.simulation.tests = *tests;
  }
  read.color(typed.common.color);
  const auto unit = read.unit(typed.common.unit);
  const auto display = read.display(typed.common.display);
  in.unit = unit.value_or(SpeedUnit::feet_per_second);
  in.sd = shot_sd(typed.sd, in.unit, display, read);
  if (in.sd.unit) {
    if (unit && *unit != *in.sd.unit)
      read.problem("--unit", typed.common.unit,
                   "the sheet of --from is in another unit; a plan from it is in that one");
    in.unit = *in.sd.unit;
  }
  const auto known = display ? display : in.sd.display;
  // What displays show as a rule: whole fps, tenths of m/s.
  const Decimal usual = in.unit == SpeedUnit::feet_per_second ? Decimal{1, 0} : Decimal{1, 1};
  in.how.step = DisplayStep{known.value_or(usual)};
  in.sd.source.display_entered = known.has_value();
  const double step = in.how.step.value();
  if (in.resolve && *in.resolve < 0.1 * step)
    read.problem(
        "--resolve", typed.resolve,
        "is below a tenth of the display step of " + in.how.step.size().text() + ": beyond what the display can tell");
  read.finish();
  return in;
}

/// The files asked for; looked at before anything is worked out, written before the answer is printed.
struct Files {
  std::optional<OutputFile> sheet;
  PageFiles pages;

  explicit Files(const PlanOptions& typed) : pages{typed.pages} {
    if (given(typed.sheet)) sheet = OutputFile{"--sheet", typed.sheet, typed.pages.force};
    for (const auto& page : {pages.report, pages.svg})
      if (sheet && page && same_place(*sheet, *page))
        throw stop(wrong_use, page->option + " " + page->name + ": the sheet goes to this file");
    if (sheet) require_free(*sheet);
  }
  /// Is the firing order written anywhere?
  bool with_order() const { return sheet || pages.report; }
};

/// Shots with each set-up, and the bows they are shot with: one, or several to take turns.
struct ShotsToFire {
  std::int64_t from, to;
  std::int64_t bows_of_each = 1;
};

std::optional<narrative::PlannedFiring> firing(const PlanOptions& typed, const PlanInputs& in, const Files& files,
                                               ShotsToFire shots) {
  if (!files.with_order()) return std::nullopt;
  FiringQuestion question{.setups = {},
                          .change = in.change,
                          .seed = *in.seed,
                          .check_standard = typed.check_standard,
                          .warm_ups = static_cast<int>(in.warm_ups.value_or(0))};
  for (std::size_t i = 0; i < 2; ++i) {
    FiringSetup setup{.name = in.sd.setups[i], .shots = static_cast<int>(i == 0 ? shots.from : shots.to)};
    for (std::int64_t bow = 1; shots.bows_of_each > 1 && bow <= shots.bows_of_each; ++bow)
      setup.bows.push_back(setup.name + ", bow " + std::to_string(bow));
    question.setups.push_back(std::move(setup));
  }
  for (std::uint64_t i = 1; i <= in.arrows.value_or(0); ++i) question.arrows.push_back(std::to_string(i));
  return narrative::PlannedFiring{.shots = firing_order(question),
                                  .seed = *in.seed,
                                  .title = typed.title,
                                  .sheet = typed.sheet,
                                  .page = typed.pages.report,
                                  .change = in.change,
                                  .margin = in.margin,
                                  .check_standard = typed.check_standard,
                                  .with_bows = shots.bows_of_each > 1,
                                  .with_arrows = !question.arrows.empty()};
}

std::string sheet_text(const PlanInputs& in, const narrative::PlannedFiring& firing) {
  return blank_sheet({.title = firing.title,
                      .unit = in.unit,
                      .display_step = in.how.step,
                      .margin = firing.margin,
                      .confidence = in.how.level,
                      .power = in.power,
                      .seed = firing.seed,
                      .check_standard = firing.check_standard,
                      .setups = {in.sd.setups[0], in.sd.setups[1]},
                      .shots = firing.shots});
}

Data optional(std::optional<double> x) { return x ? Data{*x} : Data{}; }
Data optional(std::optional<std::uint64_t> x) { return x ? Data{static_cast<std::int64_t>(*x)} : Data{}; }

Data inputs_data(const PlanOptions& typed, const PlanInputs& in) {
  const auto text = [](const std::string& s) { return s.empty() ? Data{} : Data{s}; };
  return Data::Object{{"resolve", optional(in.resolve)},
                      {"within", optional(in.within)},
                      {"same_within", optional(in.same_within)},
                      {"true_gap", optional(in.true_gap)},
                      {"shots", optional(in.shots)},
                      {"total_shots", optional(in.total_shots)},
                      {"kinds", typed.kinds},
                      {"bow_sd", optional(in.bow_sd)},
                      {"cost_bow", optional(in.cost_bow)},
                      {"cost_shot", optional(in.cost_shot)},
                      {"setups", Data::List{in.sd.setups[0], in.sd.setups[1]}},
                      {"sd", Data::List{in.sd.sd.from, in.sd.sd.to}},
                      {"from", text(typed.sd.from)},
                      {"shooter", text(typed.sd.shooter)},
                      {"power", in.power.value()},
                      {"confidence", in.how.level.value()},
                      {"display_step", in.how.step.value()},
                      {"method", typed.method},
                      {"simulate", in.how.simulate ? Data{static_cast<std::int64_t>(in.how.simulation.tests)} : Data{}},
                      {"seed", optional(in.seed)},
                      {"sheet", text(typed.sheet)},
                      {"report", text(typed.pages.report)},
                      {"svg", text(typed.pages.svg)},
                      {"unit", std::string{name(in.unit)}}};
}

/// Files first, then the answer: a file that cannot be written is no answer.
template <class Story>
ExitStatus tell(const PlanOptions& typed, const PlanInputs& in, const Files& files, const Story& story,
                const narrative::PlannedFiring* order) {
  std::vector<FileText> texts;
  if (files.sheet) texts.push_back({*files.sheet, sheet_text(in, *order)});
  if (files.pages.any()) {
    Story on_paper = story;
    if (on_paper.firing) {  // where the files lie is no business of a page that travels
      on_paper.firing->sheet.clear();
      on_paper.firing->page.clear();
    }
    document::Document page = narrative::plan_page(on_paper);
    if (order) page.blocks.push_back(narrative::firing_sheet(*order, in.unit, in.how));
    for (auto& text : files.pages.texts(page, given(typed.title) ? document::printable(typed.title) : "Test plan"))
      texts.push_back(std::move(text));
  }
  write(texts);
  if (typed.common.json)
    print(
        narrative::envelope("plan", inputs_data(typed, in), narrative::plan_data(story), narrative::plan_notes(story)));
  else
    print(narrative::plan_document(story), typed.common);
  return answered;
}

ExitStatus plan_for_kinds(const PlanOptions& typed, const PlanInputs& in, const Files& files) {
  BowPlanQuestion question{.resolve = *in.resolve,
                           .bow_sd = *in.bow_sd,
                           .shot_sd = std::max(in.sd.sd.from, in.sd.sd.to),
                           .power = in.power,
                           .level = in.how.level,
                           .step = in.how.step};
  if (in.cost_bow && in.cost_shot) question.costs = BowCosts{*in.cost_bow, *in.cost_shot};
  const BowPlan answer = bow_plan(question);
  const std::int64_t shots = answer.cheapest.bows * answer.cheapest.shots;
  const auto order = firing(typed, in, files, {shots, shots, answer.cheapest.bows});
  const narrative::BowPlanStory story{answer, in.unit, in.sd.source, in.cost_bow.has_value(), order};
  return tell(typed, in, files, story, order ? &*order : nullptr);
}

ExitStatus plan_the_split(const PlanOptions& typed, const PlanInputs& in, const Files& files) {
  const SplitPlan answer = split_plan({.total_shots = static_cast<std::int64_t>(*in.total_shots),
                                       .sd = in.sd.sd,
                                       .resolve = in.resolve,
                                       .power = in.power,
                                       .how = in.how});
  const auto order = firing(typed, in, files, {answer.best.from, answer.best.to});
  return tell(typed, in, files, narrative::SplitStory{answer, in.unit, in.sd.setups, in.sd.source, order},
              order ? &*order : nullptr);
}

ExitStatus run(const PlanOptions& typed) {
  const PlanInputs in = read_inputs(typed);
  const Files files{typed};
  if (typed.kinds) return plan_for_kinds(typed, in, files);
  if (in.total_shots) return plan_the_split(typed, in, files);

  PlanQuestion question{.sd = in.sd.sd, .upper_sd = in.sd.upper, .power = in.power, .how = in.how};
  if (in.resolve) question.goal = FindGap{*in.resolve};
  if (in.within) question.goal = NarrowRange{*in.within};
  if (in.same_within) question.goal = ShowSame{*in.same_within, in.true_gap.value_or(0.0)};
  if (in.shots) question.shots = static_cast<std::int64_t>(*in.shots);
  const Plan answer = plan(question);
  const auto order = firing(typed, in, files, {answer.achieved.shots, answer.achieved.shots});
  return tell(typed, in, files, narrative::PlanStory{answer, in.unit, in.sd.setups, in.sd.source, order},
              order ? &*order : nullptr);
}

}  // namespace

Command bind_plan(CLI::App& app) {
  const auto typed = std::make_shared<PlanOptions>();
  app.add_option("--resolve", typed->resolve, "True gap to be found")->type_name("GAP");
  app.add_option("--within", typed->within, "Half-width that the range shall have at most")->type_name("GAP");
  app.add_option("--same-within", typed->same_within, "Margin within which both shall be shown the same")
      ->type_name("GAP");
  app.add_option("--true-gap", typed->true_gap, "True gap behind --same-within (0)")->type_name("GAP");
  app.add_option("--shots", typed->shots, "Shots with each of the two set-ups")->type_name("N");
  app.add_option("--total-shots", typed->total_shots, "Shots to be split between the two")->type_name("N");
  add_shot_sd_options(app, typed->sd);
  app.add_option("--power", typed->power, "Share of tests that shall reach it (0.8)")->type_name("SHARE");
  app.add_flag("--kinds", typed->kinds, "Plan for two kinds of bow, not for two bows");
  app.add_option("--bow-sd", typed->bow_sd, "SD between bows of one kind")->type_name("SD");
  app.add_option("--cost-bow", typed->cost_bow, "Cost of one more bow (10)")->type_name("COST");
  app.add_option("--cost-shot", typed->cost_shot, "Cost of one more shot (1)")->type_name("COST");
  app.add_option("--method", typed->method, "rounding_aware, or welch for its plain range")->type_name("METHOD");
  app.add_option("--simulate", typed->simulate, "Work chances out by so many simulated tests")->type_name("N");
  app.add_option("--max-operations", typed->max_operations, "What one chance may cost to count (2e8)")->type_name("N");
  app.add_option("--max-memory", typed->max_memory, "The same in MiB (256)")->type_name("MIB");
  app.add_option("--sheet", typed->sheet, "Write a blank sheet in firing order")->type_name("FILE.csv");
  add_page_options(app, typed->pages, "Write a page with the plan and a firing sheet");
  app.add_option("--title", typed->title, "Title of the sheet")->type_name("TEXT");
  app.add_option("--margin", typed->margin, "Gap that would not matter, for the sheet")->type_name("GAP");
  app.add_option("--change", typed->change, "Changing the set-up is easy, or costly work (easy)")->type_name("HOW");
  app.add_option("--arrows", typed->arrows, "Numbered arrows to go round")->type_name("N");
  app.add_option("--check-standard", typed->check_standard, "Fire it at start, middle and end")->type_name("NAME");
  app.add_option("--warm-ups", typed->warm_ups, "Shots with each that do not count")->type_name("N");
  add_common_options(app, typed->common);
  app.footer("Example:\n  shotassay plan --resolve 3 --sd 1.2");
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed] { return run(*typed); }};
}

}  // namespace shotassay::cli
