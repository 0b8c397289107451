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
Command add_compare(CLI::App& program);
Command add_plan(CLI::App& program);
Command add_budget(CLI::App& program);
Command add_audit(CLI::App& program);

/// Several under one name: clinic make, clinic tally, clinic show, clinic page.
std::vector<Command> add_clinic(CLI::App& program);

/// All of them, and what the program's own --help says: the one description of the command line, which the program,
/// its manual pages and its completions share.
std::vector<Command> add_commands(CLI::App& program);

}  // namespace shotassay::cli
