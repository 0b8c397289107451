#include "command_line.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <map>
#include <shotassay/core/unit.hpp>
#include <shotassay/studies/method.hpp>
#include <shotassay/studies/rating.hpp>
#include <shotassay/studies/reported_conditions.hpp>
#include <shotassay/studies/shooter.hpp>
#include <stdexcept>

#include "../commands.hpp"

namespace shotassay::cli {

namespace {

using Kind = OptionValue::Kind;

std::vector<std::string> names_in(const auto& table) {
  std::vector<std::string> names;
  for (const auto& line : table) names.emplace_back(line.name);
  return names;
}

OptionValue one_of(std::vector<std::string> words) { return {.kind = Kind::word, .words = std::move(words)}; }
OptionValue file(const char* ending) { return {.kind = Kind::file, .ending = ending}; }

/// By the option's own words where its value's name alone does not tell, else by that name.
const std::map<std::string, OptionValue>& known_values() {
  static const std::map<std::string, OptionValue> values{
      {"shotassay plan --method", one_of({"rounding_aware", "welch"})},
      {"shotassay audit --convention", one_of(names_in(rating_conventions))},
      {"shotassay audit --states", one_of(names_in(checklist))},
      {"shotassay compare SHEET", file("csv")},
      {"shotassay budget FILE", file("json")},
      {"METHOD", one_of(names_in(method_names))},
      {"CONVENTION", one_of(names_in(rating_conventions))},
      {"WHO", one_of(names_in(shooters))},
      {"UNIT",
       one_of({std::string{name(SpeedUnit::feet_per_second)}, std::string{name(SpeedUnit::metres_per_second)}})},
      {"WHEN", one_of({"auto", "always", "never"})},
      {"HOW", one_of({"easy", "costly"})},
      {"TYPE", one_of({"recurve", "longbow", "compound"})},
      {"VERDICT", one_of({"faster", "slower", "same"})},
      {"luck", one_of({"luck"})},
      {"SHEET", file("csv")},
      {"FILE.csv", file("csv")},
      {"CLAIMS.csv", file("csv")},
      {"ANSWERS.csv", file("csv")},
      {"KEY.csv", file("csv")},
      {"FILE.html", file("html")},
      {"FILE.svg", file("svg")},
      {"DIR", {.kind = Kind::folder}},
  };
  return values;
}

/// Numbers and names, which only the user knows.
const std::vector<std::string> free_values{"COST",          "GAP", "LEVEL", "MIB",  "N",     "NAME", "[NAME=]SD",
                                           "[NAME=]FIGURE", "SD",  "SHARE", "SIZE", "SPEED", "STEP", "TEXT"};

/// A name of one blank keeps --help from naming an argument twice.
std::string value_name(const CLI::Option& option) {
  if (option.get_items_expected_max() == 0) return {};
  const std::string name = option.get_type_name();
  return option.get_positional() || name == " " ? option.get_name(true) : name;
}

OptionValue value_of(const std::string& command, const CLI::Option& option) {
  if (option.get_items_expected_max() == 0) return {.kind = Kind::none};
  const auto& known = known_values();
  const std::string own =
      command + " " + (option.get_positional() ? option.get_name(true) : "--" + option.get_lnames().front());
  if (const auto found = known.find(own); found != known.end()) return found->second;
  const std::string name = option.get_type_name();
  if (const auto found = known.find(name); found != known.end()) return found->second;
  if (std::find(free_values.begin(), free_values.end(), name) != free_values.end()) return {};
  throw std::logic_error{own + ": cli/manual/command_line.cpp does not say what a " + name + " is"};
}

OptionLine line(const std::string& command, const CLI::Option& option) {
  OptionLine out{.typed = {},
                 .value_name = value_name(option),
                 .meaning = option.get_description(),
                 .value = value_of(command, option),
                 .repeatable = option.get_expected_max() > 1};
  for (const auto& letter : option.get_snames()) out.typed.push_back("-" + letter);
  for (const auto& name : option.get_lnames()) out.typed.push_back("--" + name);
  return out;
}

CommandLine described(const CLI::App& app, const std::string& before) {
  CommandLine out{.called = before + app.get_name(),
                  .name = app.get_name(),
                  .meaning = app.get_description(),
                  .options = {},
                  .arguments = {},
                  .commands = {}};
  for (const CLI::Option* option : app.get_options())
    if (!option->get_group().empty())  // one without a group is not shown by --help either
      (option->get_positional() ? out.arguments : out.options).push_back(line(out.called, *option));
  for (const CLI::App* below : app.get_subcommands([](const CLI::App*) { return true; }))
    out.commands.push_back(described(*below, out.called + " "));
  return out;
}

}  // namespace

CommandLine command_line() {
  CLI::App program;
  const std::vector<Command> commands = add_commands(program);
  return described(program, "");
}

std::vector<const CommandLine*> with_those_below(const CommandLine& command) {
  std::vector<const CommandLine*> all{&command};
  for (const CommandLine& next : command.commands)
    for (const CommandLine* below : with_those_below(next)) all.push_back(below);
  return all;
}

std::string joined(const std::vector<std::string>& words, const std::string& between) {
  std::string out;
  for (const auto& word : words) out += (&word == words.data() ? "" : between) + word;
  return out;
}

}  // namespace shotassay::cli
