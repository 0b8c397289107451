#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <shotassay/narrative/audit.hpp>
#include <shotassay/studies/published_claim.hpp>
#include <string_view>

#include "audit_options.hpp"
#include "audit_table.hpp"
#include "commands.hpp"
#include "page_files.hpp"

namespace shotassay::cli {

namespace {

document::Data inputs_data(const AuditOptionsTyped& typed, const PublishedClaim& claim) {
  using document::Data;
  Data::List setups, states;
  for (const PublishedSetup& s : claim.setups) setups.push_back(s.reported.name);
  for (const std::string& s : typed.states) states.push_back(s);
  const auto text = [](const std::string& s) { return s.empty() ? Data{} : Data{s}; };
  return Data::Object{{"setups", std::move(setups)},
                      {"display", text(typed.common.display)},
                      {"confidence", claim.options.level.value()},
                      {"margin", claim.options.margin ? Data{*claim.options.margin} : Data{}},
                      {"claims", text(typed.claims)},
                      {"at", text(typed.at)},
                      {"bow_type", text(typed.bow_type)},
                      {"sd_of_n", typed.sd_of_n},
                      {"states", std::move(states)},
                      {"report", text(typed.pages.report)},
                      {"svg", text(typed.pages.svg)}};
}

PublishedAudit audit_within_budget(const PublishedClaim& claim) try {
  return published_audit(claim);
} catch (const BudgetExceeded& error) {
  throw stop(no_answer, said(error) + " --max-operations allows more.");
}

/// A table of claims: no set-up comes from the command line, and of its figures only the number of shots may.
ExitStatus run_table(AuditOptionsTyped& typed, const PublishedClaim& claim, const std::optional<Decimal>& display,
                     unsigned threads, OptionReader& read) {
  AuditTableOptions table{.table = typed.table, .force = typed.pages.force, .threads = threads};
  if (!typed.out.empty()) table.out = typed.out;
  table.rules.level = claim.options.level;
  if (display) table.rules.display = *display;
  if (!typed.margin.empty()) table.rules.margin = printed_decimal("--margin", typed.margin, read);
  if (!typed.max_operations.empty()) table.rules.budget.operations = claim.options.budget.operations;
  for (const FigureOption& f : typed.figures) {
    if (f.typed.empty()) continue;
    if (std::string_view{f.option} != "--shots")
      read.problem(f.option, f.typed.front(), "stands in the table, not beside --table");
    else if (f.typed.size() > 1 || f.typed.front().find('=') != std::string::npos)
      read.problem("--shots", f.typed.front(), "beside --table one number goes for every row that tells none");
    else if (const auto n = printed_shots(f.typed.front(), read))
      table.rules.shots = ShotCount{n->first, n->second};
  }
  const std::pair<const char*, bool> others[] = {{"--setup", !typed.setups.empty()},
                                                 {"--states", !typed.states.empty()},
                                                 {"--claims", !typed.claims.empty()},
                                                 {"--at", !typed.at.empty()},
                                                 {"--bow-type", !typed.bow_type.empty()},
                                                 {"--report", !typed.pages.report.empty()},
                                                 {"--svg", !typed.pages.svg.empty()},
                                                 {"--json", typed.common.json},
                                                 {"--sd-of-n", typed.sd_of_n}};
  for (const auto& [option, given] : others)
    if (given) read.problem(option, "", "does not go with --table");
  read.finish();
  return audit_table(table);
}

ExitStatus run(AuditOptionsTyped typed) {
  OptionReader read;
  PublishedClaim claim;
  read_rules(typed, claim, read);
  const auto display = read.display(typed.common.display);
  const unsigned threads = read.threads(typed.common.threads);
  read.color(typed.common.color);
  if (typed.pages.force && typed.pages.report.empty() && typed.pages.svg.empty() && typed.out.empty())
    read.problem("--force", "", "goes with --report, --svg or --out");
  if (!typed.out.empty() && typed.table.empty()) read.problem("--out", typed.out, "goes with --table");
  if (!typed.table.empty()) return run_table(typed, claim, display, threads, read);
  read_published(typed, claim, display, read);
  read.finish();
  const PageFiles files{typed.pages};

  const PublishedAudit found = audit_within_budget(claim);
  const narrative::AuditStory story{found, claim};
  if (files.any()) write(files.texts(narrative::audit_page(story), "Audit of published figures"));
  if (typed.common.json)
    print(narrative::envelope("audit", inputs_data(typed, claim), narrative::audit_data(story),
                              narrative::audit_notes(story)));
  else
    print(narrative::audit_document(story), typed.common);
  return answered;
}

}  // namespace

Command bind_audit(CLI::App& app) {
  const auto typed = std::make_shared<AuditOptionsTyped>();
  add_audit_options(app, *typed);
  app.footer("Example:\n  shotassay audit --shots 3 --average 281 --average 284");
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed] { return run(*typed); }};
}

}  // namespace shotassay::cli
