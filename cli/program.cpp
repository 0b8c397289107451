#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <shotassay/core/version.hpp>

#include "commands.hpp"

namespace shotassay::cli {

std::vector<Command> add_commands(CLI::App& program) {
  const std::string version_line = "shotassay " + std::string{version()};
  program.name("shotassay");
  program.description("Decides what a handful of chronograph readings can and cannot say.");
  program.set_version_flag("--version", version_line);
  program.footer(
      "Example:\n  shotassay compare data/examples/bowstrings.csv\n\nshotassay COMMAND --help tells the rest.");
  std::vector<Command> commands{add_compare(program), add_plan(program), add_budget(program), add_audit(program)};
  for (Command& command : add_clinic(program)) commands.push_back(std::move(command));
  for (const Command& command : commands) command.app->set_version_flag("--version", version_line);
  return commands;
}

}  // namespace shotassay::cli
