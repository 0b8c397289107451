#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <shotassay/narrative/plan.hpp>
#include <shotassay/studies/plan.hpp>

#include "commands.hpp"

namespace shotassay::cli {

namespace {

struct PlanOptions {
  CommonOptions common;
  std::string resolve, shots, sd, power = "0.8";
};

ExitStatus run(const PlanOptions& typed) {
  OptionReader read;
  PlanQuestion question{};
  const SpeedUnit unit = read.unit(typed.common.unit).value_or(SpeedUnit::feet_per_second);
  if (const auto level = read.confidence(typed.common)) question.level = *level;
  if (const auto power = read.power("--power", typed.power)) question.power = *power;
  if (const auto step = read.display(typed.common.display)) question.display_step = DisplayStep{*step};
  if (!typed.resolve.empty()) question.resolve = read.positive("--resolve", typed.resolve);
  if (!typed.shots.empty())
    if (const auto shots = read.whole("--shots", typed.shots, 2, 10'000))
      question.shots = static_cast<std::int64_t>(*shots);
  if (typed.sd.empty())
    read.problem("plan", "--sd", "say how much shots scatter, for example --sd 1.2");
  else if (const auto sd = read.positive("--sd", typed.sd))
    question.sd = *sd;
  if (typed.resolve.empty() && typed.shots.empty())
    read.problem("plan", "--resolve or --shots", "say the gap to find, the shots you have, or both");
  read.whole("--seed", typed.common.seed, 0, INT64_MAX);
  read.threads(typed.common.threads);
  read.color(typed.common.color);
  read.finish();

  const Plan answer = plan(question);
  const narrative::PlanStory story{answer, unit};
  if (typed.common.json) {
    using document::Data;
    const Data inputs = Data::Object{{"resolve", question.resolve ? Data{*question.resolve} : Data{}},
                                     {"shots", question.shots ? Data{*question.shots} : Data{}},
                                     {"sd", question.sd},
                                     {"power", question.power.value()},
                                     {"confidence", question.level.value()},
                                     {"display_step", question.display_step.value()},
                                     {"unit", std::string{name(unit)}}};
    print(narrative::envelope("plan", inputs, narrative::plan_data(story), narrative::plan_notes(story)));
  } else {
    print(narrative::plan_document(story), typed.common);
  }
  return answered;
}

}  // namespace

Command add_plan(CLI::App& program) {
  const auto typed = std::make_shared<PlanOptions>();
  CLI::App& app = *program.add_subcommand("plan", "Say how many shots a test needs, or what so many shots can see");
  app.add_option("--resolve", typed->resolve, "True gap to be found")->type_name("GAP");
  app.add_option("--shots", typed->shots, "Shots with each of the two set-ups")->type_name("N");
  app.add_option("--sd", typed->sd, "SD of a shot, the same with both")->type_name("SD");
  app.add_option("--power", typed->power, "How often the gap shall be found (0.8)")->type_name("SHARE");
  add_common_options(app, typed->common);
  app.footer("Example:\n  shotassay plan --resolve 3 --sd 1.2");
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed] { return run(*typed); }};
}

}  // namespace shotassay::cli
