#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <shotassay/document/printable.hpp>
#include <shotassay/methods/bow_means.hpp>
#include <shotassay/narrative/comparison.hpp>
#include <shotassay/records/sessions.hpp>
#include <shotassay/studies/compared_setups.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/gap_budget.hpp>
#include <shotassay/studies/influence.hpp>
#include <shotassay/studies/replicates.hpp>
#include <string_view>

#include "commands.hpp"
#include "equal_setups.hpp"
#include "input_sheet.hpp"
#include "page_files.hpp"

namespace shotassay::cli {

namespace {

struct CompareOptions {
  CommonOptions common;
  EqualSetupsTyped equal;
  std::string margin, bow_sd, resamples, max_operations = "1e9", max_memory = "256", accuracy, setting_sd;
  std::vector<std::string> sheets, setups, methods, history;
  bool all_methods = false, any_speed = false, exit_on_verdict = false, budget = false;
  PageOptions pages;
};

std::vector<Method> chosen_methods(const CompareOptions& typed, OptionReader& read) {
  std::vector<Method> chosen;
  if (typed.all_methods)
    for (const MethodName& m : method_names)
      if (m.method < Method::round_paired)
        chosen.push_back(m.method);  // what rests on rounds, days, bows or a history comes with them
  std::vector<std::string> known;
  for (const MethodName& m : method_names) known.emplace_back(m.name);
  for (const auto& text : typed.methods) {
    const auto method = method_named(text);
    if (method) {
      if (std::find(chosen.begin(), chosen.end(), *method) == chosen.end()) chosen.push_back(*method);
      continue;
    }
    const std::string near = nearest(text, known);
    std::string list;
    for (const auto& name : known) list += (list.empty() ? "" : ", ") + name;
    read.problem("--method", text,
                 near.empty() ? "no such method; there are " + list : "no such method; did you mean " + near + "?");
  }
  const bool named = std::find(chosen.begin(), chosen.end(), Method::moderated) != chosen.end();
  if (named && typed.history.empty())
    read.problem("--method", "moderated", "rests on earlier tests; name their sheets with --history FILE");
  if (!named && !typed.history.empty()) chosen.push_back(Method::moderated);
  if (std::find(typed.history.begin(), typed.history.end(), "-") != typed.history.end())
    read.problem("--history", "-", "earlier sheets are read from files, not from standard input");
  return chosen;
}

bool is_bootstrap(Method method) { return name(method).starts_with("bootstrap"); }

std::vector<ComparedSetup> chosen_setups(const Sheet& sheet, const std::vector<std::string>& names,
                                         OptionReader& read) {
  const auto all = compared_setups(sheet);
  std::vector<std::string> known;
  for (const auto& s : all) known.push_back(s.name);
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (std::find(known.begin(), known.end(), names[i]) == known.end()) {
      const std::string near = nearest(names[i], known);
      read.problem("--setup", names[i],
                   "the sheet has no such set-up" + (near.empty() ? std::string{} : "; did you mean " + near + "?"));
    } else if (std::find(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(i), names[i]) !=
               names.begin() + static_cast<std::ptrdiff_t>(i)) {
      read.problem("--setup", names[i], "named twice");
    }
  }
  if (names.size() == 1) read.problem("--setup", names[0], "name two or more set-ups, or none for all of them");
  read.finish();
  auto setups = names.empty() ? all : choose(all, names);
  if (setups.size() < 2) {
    const std::string has = setups.empty() ? "no set-up" : "one set-up, " + setups[0].name;
    throw stop(no_answer, "a comparison needs two set-ups or more; the sheet has " + has);
  }
  return setups;
}

document::Data accuracy_data(const std::optional<StatedAccuracy>& accuracy, const auto& in_printed) {
  using document::Data;
  if (!accuracy) return {};
  return Data::Object{{"relative", accuracy->relative}, {"absolute", in_printed(accuracy->absolute)}};
}

document::Data entered_data(const std::optional<Sensitivity>& s) {
  using document::Data;
  if (!s) return {};
  return Data::Object{{"value", s->value}, {"standard_uncertainty", s->standard_uncertainty}};
}

document::Data inputs_data(const CompareOptions& typed, const Comparison& comparison, const ComparisonOptions& options,
                           const StatedKnowledge& known, const EqualSetupsOptions& equal, SpeedUnit printed,
                           std::uint64_t seed, const Sheet& sheet) {
  using document::Data;
  Data::List setups, methods, sheets, history;
  for (const auto& s : typed.sheets) sheets.push_back(s);
  for (const auto& s : typed.history) history.push_back(s);
  for (const auto& s : comparison.setups) setups.push_back(s.name);
  methods.push_back(std::string{name(Method::rounding_aware)});
  for (const Method m : options.methods)
    if (m != Method::rounding_aware) methods.push_back(std::string{name(m)});
  const auto in_printed = [&](double x) { return Speed{x, sheet.unit}.in(printed); };
  const auto text = [](const std::string& s) { return s.empty() ? Data{} : Data{s}; };
  return Data::Object{
      {"sheet", typed.sheets.front()},
      {"sheets", std::move(sheets)},
      {"history", std::move(history)},
      {"setups", std::move(setups)},
      {"methods", std::move(methods)},
      {"confidence", comparison.level.value()},
      {"margin", comparison.margin ? Data{in_printed(*comparison.margin)} : Data{}},
      {"bow_sd", options.bow_sd ? Data{in_printed(*options.bow_sd)} : Data{}},
      {"display_step", in_printed(comparison.display_step.value())},
      {"sheet_unit", std::string{name(sheet.unit)}},
      {"any_speed", typed.any_speed},
      {"budget", typed.budget},
      {"setting_sd", known.setting_sd ? Data{in_printed(*known.setting_sd)} : Data{}},
      {"accuracy", accuracy_data(known.accuracy, in_printed)},
      {"per_lbf", entered_data(equal.per_lbf)},
      {"per_gr", entered_data(equal.per_grain)},
      {"per_inch", entered_data(equal.per_inch)},
      {"arrows", !equal.arrows            ? Data{}
                 : typed.equal.same_arrow ? Data{"same_arrow"}
                                          : Data{"same_grains_per_pound"}},
      {"bow_type", typed.equal.bow_type.empty() ? Data{} : Data{typed.equal.bow_type}},
      {"resamples", options.sampled ? Data{static_cast<std::int64_t>(options.sampled->resamples)} : Data{}},
      {"seed", options.sampled || typed.budget ? Data{static_cast<std::int64_t>(seed)} : Data{}},
      {"report", text(typed.pages.report)},
      {"svg", text(typed.pages.svg)}};
}

ExitStatus status_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::faster:
      return verdict_faster;
    case Verdict::slower:
      return verdict_slower;
    case Verdict::same:
      return verdict_same;
    case Verdict::open:
      break;
  }
  return verdict_open;
}

/// What helps a method that costs more than it may.
std::string way_out(const BudgetExceeded& error) {
  const bool bootstrap = std::string_view{error.what()}.starts_with("bootstrap");
  return std::string{error.what()} + (bootstrap ? " --resamples 1e5 draws that many;" : "") +
         " --max-operations and --max-memory allow more.";
}

Comparison compare_within_budget(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options) try {
  return compare(setups, options);
} catch (const BudgetExceeded& error) {
  throw stop(no_answer, way_out(error));
}

/// The test's sheets as one, each a session where there are several, and those of earlier tests.
struct Inputs {
  Sheet sheet;
  std::vector<Sheet> earlier;  ///< in the order named
};

struct InputFile {
  std::string name, text;
  bool earlier;
  std::vector<narrative::FoundProblem> problems = {};
};

/// The test itself is no history of it, and no string counts twice. Line ends aside: programs change them on the way.
void refuse_copies(const std::vector<InputFile>& files) {
  const auto same = [](const InputFile& a, const InputFile& b) {
    const auto plain = [](std::string text) {
      std::erase(text, '\r');
      return text;
    };
    return !a.text.empty() && plain(a.text) == plain(b.text);
  };
  OptionReader read;
  for (std::size_t i = 0; i < files.size(); ++i)
    for (std::size_t j = 0; files[i].earlier && j < i; ++j) {
      if (!same(files[i], files[j])) continue;
      read.problem("--history", files[i].name,
                   files[j].earlier ? "holds the same shots as --history " + files[j].name + "; no shot counts twice"
                                    : "holds the shots that are compared; a history is made of earlier tests");
      break;
    }
  read.finish();
}

/// Every problem of every file is told.
Inputs read_inputs(const CompareOptions& typed, const SheetOptions& options) {
  std::vector<InputFile> files;
  for (const auto& file : typed.sheets) files.push_back({.name = file, .text = {}, .earlier = false});
  for (const auto& file : typed.history) files.push_back({.name = file, .text = {}, .earlier = true});
  const auto told = [](InputFile& file, const auto& read) {
    try {
      read();
    } catch (const Stop& bad) {
      if (bad.status != bad_input) throw;
      file.problems = bad.problems;
    }
  };
  for (InputFile& file : files) told(file, [&] { file.text = read_input(file.name); });
  refuse_copies(files);

  std::vector<NamedSheet> sheets;
  Inputs inputs;
  const SheetOptions of_earlier{.any_speed = options.any_speed};  // --display speaks of the test's display
  Stop stopped{bad_input, {}};
  for (InputFile& file : files) {
    if (file.problems.empty())
      told(file, [&] {
        Sheet sheet = sheet_in(file.text, file.name, file.earlier ? of_earlier : options, "--any-speed");
        if (file.earlier)
          inputs.earlier.push_back(std::move(sheet));
        else
          sheets.push_back({file.name == "-" ? "standard input" : file.name, std::move(sheet)});
      });
    std::string{}.swap(file.text);
    stopped.problems.insert(stopped.problems.end(), file.problems.begin(), file.problems.end());
  }
  if (!stopped.problems.empty()) throw stopped;
  inputs.sheet = as_sessions(std::move(sheets));
  return inputs;
}

/// Too few earlier strings are no reason to leave the rest unanswered.
void take_history(const Inputs& inputs, ComparisonOptions& options) try {
  options.history = shot_history(inputs.earlier, inputs.sheet.unit, inputs.sheet.display_step);
} catch (const NoAnswer& reason) {
  options.why_no_history = said(reason);
}

/// Planned shots without a reading, those of the check standard not counted.
std::size_t open_shots(const Sheet& sheet) {
  std::size_t open = 0;
  for (const SetUp& s : sheet.setups)
    if (!s.check_standard) open += s.open;
  return open;
}

/// Whether a verdict hangs on one shot. Where bows decide, a change is judged by the bows' averages too.
std::vector<GapInfluence> shots_that_decide(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options,
                                            bool by_bows) {
  if (!by_bows) return influence(setups, {.level = options.level, .margin = options.margin});
  if (setups.size() != 2) return {};
  const auto rule = [&](const ComparedSetup& from, const ComparedSetup& to) -> std::optional<Verdict> {
    return verdict(bow_means(bows_of(from), bows_of(to), options.level).interval, options.margin);
  };
  return {influence(setups[0], setups[1], rule)};
}

StatedAccuracy in_unit(StatedAccuracy accuracy, SpeedUnit typed, SpeedUnit wanted) {
  accuracy.absolute = Speed{accuracy.absolute, typed}.in(wanted);
  return accuracy;
}

/// The budgets of all gaps that have a range, and of all speeds whose scatter is known.
void add_budgets(narrative::ComparisonStory& story, const std::vector<ComparedSetup>& setups,
                 const GapBudgetOptions& options) {
  const Comparison& c = story.comparison;
  for (std::size_t g = 0; g < c.gaps.size(); ++g)
    if (c.gaps[g].deciding().interval)
      story.gap_budgets.emplace_back(
          gap_budget(setups, c.gaps[g], story.equal_setups[g], c.level, story.sheet.unit, options));
    else
      story.gap_budgets.emplace_back();
  for (const ComparedSetup& s : setups)
    if (s.sample && s.sample->size() > 1)
      story.speed_budgets.emplace_back(speed_budget(s, c.level, story.sheet.unit, options));
    else
      story.speed_budgets.emplace_back();
}

ExitStatus run(const CompareOptions& typed) {
  OptionReader read;
  ComparisonOptions options;
  SheetOptions sheet_options;
  sheet_options.any_speed = typed.any_speed;
  sheet_options.display = read.display(typed.common.display);
  const auto level = read.confidence(typed.common);
  const auto unit = read.unit(typed.common.unit);
  const auto margin = typed.margin.empty() ? std::nullopt : read.speed("--margin", typed.margin);
  const auto setting_sd = typed.setting_sd.empty() ? std::nullopt : read.speed("--setting-sd", typed.setting_sd);
  if (!typed.accuracy.empty() && !stated_accuracy(typed.accuracy, SpeedUnit::feet_per_second))
    read.problem("--accuracy", typed.accuracy, "is a share or a speed, as in 0.5% or \"1 fps\"");
  if (!typed.budget)
    for (const auto& [option, text] : {std::pair{"--accuracy", &typed.accuracy}, {"--setting-sd", &typed.setting_sd}})
      if (!text->empty()) read.problem(option, *text, "goes with --budget");
  const EqualSetupsOptions equal_typed = equal_setups_options(typed.equal, read);
  const auto bow_sd = typed.bow_sd.empty() ? std::nullopt : read.speed("--bow-sd", typed.bow_sd);
  options.methods = chosen_methods(typed, read);
  options.skip_over_budget = typed.all_methods;
  if (const auto n = read.positive("--max-operations", typed.max_operations)) options.budget.operations = *n;
  if (const auto mib = read.positive("--max-memory", typed.max_memory)) options.budget.bytes = *mib * 1024 * 1024;
  const auto seed = read.whole("--seed", typed.common.seed, 0, INT64_MAX);
  const unsigned threads = read.threads(typed.common.threads);
  read.color(typed.common.color);
  const bool all_known = std::all_of(typed.methods.begin(), typed.methods.end(),
                                     [](const std::string& text) { return method_named(text).has_value(); });
  if (!typed.resamples.empty() && all_known &&
      std::none_of(options.methods.begin(), options.methods.end(), is_bootstrap))
    read.problem("--resamples", typed.resamples, "goes with a bootstrap, for example --method bootstrap_t");
  if (!typed.resamples.empty())
    if (const auto resamples = read.whole("--resamples", typed.resamples, 1'000, 100'000'000); resamples && seed)
      options.sampled = MonteCarlo{.resamples = *resamples, .seed = *seed, .threads = threads};
  if (typed.sheets.empty()) read.problem("compare", "SHEET.csv", "name the sheet to read, or - for standard input");
  if (typed.pages.force && typed.pages.report.empty() && typed.pages.svg.empty())
    read.problem("--force", "", "goes with --report or --svg");
  read.finish();
  const PageFiles files{typed.pages};

  const Inputs inputs = read_inputs(typed, sheet_options);
  const Sheet& sheet = inputs.sheet;
  const SpeedUnit printed = unit.value_or(sheet.unit);
  if (level)
    options.level = *level;
  else if (sheet.plan && sheet.plan->confidence)
    options.level = *sheet.plan->confidence;
  const std::size_t open = open_shots(sheet);
  if (open > 0 && sheet.shots.empty())
    throw stop(no_answer, "no shot has a reading yet: all " + std::to_string(open) + " planned shots are still open");
  if (margin)
    options.margin = Speed{*margin, printed}.in(sheet.unit);
  else if (sheet.margin)
    options.margin = sheet.margin->value();

  if (bow_sd) options.bow_sd = Speed{*bow_sd, printed}.in(sheet.unit);

  const auto setups = chosen_setups(sheet, typed.setups, read);
  if (typed.exit_on_verdict && setups.size() > 2)
    throw stop(wrong_use, "--exit-on-verdict needs a single gap: choose two set-ups with --setup");
  const bool several_bows = std::all_of(setups.begin(), setups.end(), [](const auto& s) { return s.bows > 1; });
  if (typed.all_methods && several_bows)
    options.methods.insert(options.methods.end(), {Method::bow_means_welch, Method::mixed});
  if (!inputs.earlier.empty()) take_history(inputs, options);
  const Comparison comparison = compare_within_budget(setups, options);
  StatedKnowledge known;
  if (setting_sd) known.setting_sd = Speed{*setting_sd, printed}.in(sheet.unit);
  if (typed.budget)
    known.accuracy = typed.accuracy.empty() ? stated_accuracy(sheet.accuracy, sheet.unit)
                                            : in_unit(*stated_accuracy(typed.accuracy, printed), printed, sheet.unit);
  narrative::ComparisonStory story{
      .comparison = comparison,
      .sheet = sheet,
      .printed = printed,
      .seed = options.sampled ? std::optional{options.sampled->seed} : std::nullopt,
      .planned = planned_test(sheet, options.level),
      .influence = shots_that_decide(setups, options, several_bows),
      .earlier = inputs.earlier,
      .earlier_names = typed.history,
      .equal_setups = equalised_gaps(comparison, sheet, equal_typed, printed, typed.equal, read),
      .known = known};
  if (typed.budget)
    add_budgets(story, setups,
                {.printed = printed,
                 .known = known,
                 .decimals = narrative::shown_decimals(story),
                 .seed = *seed,
                 .threads = threads});
  if (files.any())
    write(files.texts(narrative::comparison_page(story),
                      sheet.title.empty() ? "Comparison" : document::printable(sheet.title)));
  if (typed.common.json)
    print(narrative::envelope("compare",
                              inputs_data(typed, comparison, options, known, equal_typed, printed, *seed, sheet),
                              narrative::comparison_data(story), narrative::comparison_notes(story)));
  else
    print(narrative::comparison_document(story), typed.common);

  for (const GapOutcome& gap : comparison.gaps)
    if (!gap.deciding().interval) {
      Stop reason = stop(no_answer, "no range for the gap between " + comparison.setups[gap.from].name + " and " +
                                        comparison.setups[gap.to].name + ": " + gap.no_interval);
      reason.answer_printed = true;
      throw reason;
    }
  return typed.exit_on_verdict ? status_of(comparison.gaps.front().verdict) : answered;
}

}  // namespace

Command bind_compare(CLI::App& app) {
  const auto typed = std::make_shared<CompareOptions>();
  app.add_option("SHEET", typed->sheets, "Shot sheet (CSV), or - for standard input; several are several days")
      ->type_name(" ");
  add_repeatable(app, "--setup", typed->setups, "Set-up to compare, in this order; repeat it");
  add_repeatable(app, "--method", typed->methods, "Method to show beside the default; repeat it", "METHOD");
  app.add_flag("--all-methods", typed->all_methods, "Show every method beside the default");
  app.add_option("--margin", typed->margin, "Gap that would not matter, in the unit printed")->type_name("GAP");
  app.add_option("--bow-sd", typed->bow_sd, "SD between bows of one kind, stated")->type_name("SD");
  app.add_flag("--budget", typed->budget, "Show what each gap and speed is made of");
  app.add_option("--accuracy", typed->accuracy, "How wrong the chronograph may be, as in 0.5% (the sheet's)")
      ->type_name("SIZE");
  app.add_option("--setting-sd", typed->setting_sd, "SD between two settings-up of one set-up, stated")
      ->type_name("SD");
  add_equal_setups_options(app, typed->equal);
  app.add_option("--resamples", typed->resamples, "Bootstrap by so many random resamples")->type_name("N");
  app.add_option("--max-operations", typed->max_operations, "What an exact method may cost (1e9)")->type_name("N");
  app.add_option("--max-memory", typed->max_memory, "The same in MiB (256)")->type_name("MIB");
  add_repeatable(app, "--history", typed->history, "Sheet of an earlier test, for moderated; repeat it", "SHEET");
  app.add_flag("--any-speed", typed->any_speed, "Accept readings outside 20 to 600 fps");
  add_page_options(app, typed->pages, "Write a page with the answer");
  app.add_flag("--exit-on-verdict", typed->exit_on_verdict, "Exit with 10 faster, 11 slower, 12 same, 13 open");
  add_common_options(app, typed->common);
  app.footer("Example:\n  shotassay compare data/examples/bowstrings.csv --margin 3");
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed] { return run(*typed); }};
}

}  // namespace shotassay::cli
