#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <array>
#include <shotassay/core/version.hpp>

#include "commands.hpp"

namespace shotassay::cli {

namespace {

template <Command (*bind)(CLI::App&)>
std::vector<Command> one(CLI::App& app) {
  return {bind(app)};
}

struct Name {
  const char* name;
  const char* description;
  std::vector<Command> (*bind)(CLI::App& app);
};

constexpr std::array names{
    Name{"compare", "Say what a sheet of shots carries about the gap between set-ups", one<bind_compare>},
    Name{"plan", "Say how many shots a test needs, or what so many shots can see", one<bind_plan>},
    Name{"budget", "Say how well a measured quantity is known, and what that is made of", one<bind_budget>},
    Name{"audit", "Say what published figures imply, and whether they can be true", one<bind_audit>},
    Name{"clinic", "Make a lesson about luck for a class, and count its answers", bind_clinic}};

}  // namespace

std::vector<Command> add_commands(CLI::App& program, const std::string& called) {
  const std::string version_line = "shotassay " + std::string{version()};
  program.name("shotassay");
  program.description("Decides what a handful of chronograph readings can and cannot say.");
  program.set_version_flag("--version", version_line);
  program.footer(
      "Example:\n  shotassay compare data/examples/bowstrings.csv\n\nshotassay COMMAND --help tells the rest.");
  const bool one_called =
      std::any_of(names.begin(), names.end(), [&](const Name& known) { return known.name == called; });
  std::vector<Command> commands;
  for (const Name& known : names) {
    CLI::App& app = *program.add_subcommand(known.name, known.description);
    if (one_called && known.name != called) continue;
    for (Command& command : known.bind(app)) commands.push_back(std::move(command));
  }
  for (const Command& command : commands) command.app->set_version_flag("--version", version_line);
  return commands;
}

}  // namespace shotassay::cli
