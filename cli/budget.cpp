#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/budget.hpp>
#include <shotassay/records/budget_file.hpp>
#include <shotassay/studies/budget.hpp>

#include "commands.hpp"
#include "formula.hpp"
#include "page_files.hpp"

namespace shotassay::cli {

namespace {

struct BudgetOptions {
  CommonOptions common;
  std::string file, digits = "2";
  PageOptions pages;
};

BudgetFile input_budget(const std::string& name) {
  const std::string shown = name == "-" ? "standard input" : name;
  BudgetFileResult result = read_budget_file(read_input(name), formula_problems);
  if (!result.file) {
    Stop stopped{bad_input, {}};
    for (auto& problem : result.problems) stopped.problems.push_back({shown, std::move(problem)});
    throw stopped;
  }
  // Coefficients can each be sound and yet contradict one another.
  try {
    require_consistent(*result.file);
  } catch (const DomainError& error) {
    throw Stop{bad_input, {{shown, {.line = 0, .column = "/correlations", .found = {}, .message = said(error)}}}};
  }
  return std::move(*result.file);
}

BudgetQuestion question_of(const BudgetFile& file) {
  if (file.named) return budget_question(file);
  std::vector<std::string> names;
  for (const std::size_t i : file.parts) names.push_back(file.inputs[i].known.name);
  return budget_question(file, formula_function(file.formula, names));
}

document::Data inputs_data(const BudgetOptions& typed, const BudgetFile& file, const BudgetQuestion& question) {
  using document::Data;
  const auto text = [](const std::string& s) { return s.empty() ? Data{} : Data{s}; };
  return Data::Object{{"file", typed.file},
                      {"title", text(file.title)},
                      {"quantity", file.named ? Data{std::string{definition(*file.named).name}} : Data{}},
                      {"formula", text(file.formula)},
                      {"formula_name", text(file.formula_name)},
                      {"confidence", question.level.value()},
                      {"digits", question.significant_digits},
                      {"seed", static_cast<std::int64_t>(question.seed)},
                      {"report", text(typed.pages.report)},
                      {"svg", text(typed.pages.svg)}};
}

ExitStatus run(const BudgetOptions& typed) {
  OptionReader read;
  const auto level = read.confidence(typed.common);
  const auto digits = read.whole("--digits", typed.digits, 1, 2);
  const auto seed = read.whole("--seed", typed.common.seed, 0, INT64_MAX);
  const unsigned threads = read.threads(typed.common.threads);
  read.color(typed.common.color);
  if (typed.pages.force && typed.pages.report.empty() && typed.pages.svg.empty())
    read.problem("--force", "", "goes with --report or --svg");
  if (typed.file.empty()) read.problem("budget", "FILE.json", "name the file to read, or - for standard input");
  read.finish();
  const PageFiles files{typed.pages};

  const BudgetFile file = input_budget(typed.file);
  BudgetQuestion question = question_of(file);
  if (level) question.level = *level;
  question.significant_digits = static_cast<int>(*digits);
  question.seed = *seed;
  question.threads = threads;
  const BudgetAnswer answer = budget(question);
  const narrative::BudgetStory story{answer, question, file};
  if (files.any())
    write(files.texts(narrative::budget_page(story),
                      file.title.empty() ? "Uncertainty budget" : document::printable(file.title)));
  if (typed.common.json)
    print(narrative::envelope("budget", inputs_data(typed, file, question), narrative::budget_data(story),
                              narrative::budget_notes(story)));
  else
    print(narrative::budget_document(story), typed.common);
  return answered;
}

}  // namespace

Command bind_budget(CLI::App& app) {
  const auto typed = std::make_shared<BudgetOptions>();
  app.add_option("FILE", typed->file, "Inputs and quantity (JSON), or - for standard input")->type_name(" ");
  app.add_option("--digits", typed->digits, "Significant digits of the uncertainty, 1 or 2 (2)")->type_name("N");
  add_page_options(app, typed->pages, "Write a page with the budget");
  CommonOptions& common = typed->common;
  app.add_option("--confidence", common.confidence, "Confidence level, 0.5 to below 1 (the file's, or 0.95)")
      ->type_name("LEVEL");
  app.add_option("--seed", common.seed, "Seed of random numbers (1)")->type_name("N");
  app.add_option("--threads", common.threads, "Processors to use; changes no result")->type_name("N");
  app.add_option("--color", common.color, "auto, always or never (auto)")->type_name("WHEN");
  app.add_flag("--json", common.json, "Print JSON instead of text");
  app.footer("Example:\n  shotassay budget data/examples/kinetic-energy.json");
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed] { return run(*typed); }};
}

}  // namespace shotassay::cli
