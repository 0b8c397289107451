#pragma once
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "common.hpp"

namespace shotassay::cli {

/// A subcommand, its options bound and waiting to run.
struct Command {
  CLI::App* app;
  std::shared_ptr<CommonOptions> common;
  std::function<ExitStatus()> run;
};

/// One a file: options in, library calls, one document out.
Command bind_compare(CLI::App& app);
Command bind_plan(CLI::App& app);
Command bind_budget(CLI::App& app);
Command bind_audit(CLI::App& app);

/// Several under one name: clinic make, clinic tally, clinic show, clinic page.
std::vector<Command> bind_clinic(CLI::App& clinic);

/// All of them, and what the program's own --help says: the one description of the command line, which the program,
/// its manual pages and its completions share. CALLED: the command that was called; it is bound, and the others have
/// their names alone, for binding all takes as long as a short answer. Where it names none of them, all are bound.
std::vector<Command> add_commands(CLI::App& program, const std::string& called = {});

}  // namespace shotassay::cli
