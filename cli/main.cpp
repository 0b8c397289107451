#include <fcntl.h>
#include <unistd.h>

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <new>
#include <optional>
#include <shotassay/core/errors.hpp>
#include <shotassay/core/version.hpp>
#include <shotassay/document/printable.hpp>
#include <string_view>

#include "commands.hpp"

namespace {

using namespace shotassay;
using namespace shotassay::cli;

/// Problems on the error stream; as JSON on standard output too, where that was asked for.
int end(const Stop& stopped, const std::string& command, bool json) {
  constexpr std::size_t most = 50;  // a terminal's scroll; JSON has them all
  const std::size_t shown = std::min(most, stopped.problems.size());
  // Words as typed may carry escape sequences; the terminal is shown them harmless.
  for (std::size_t i = 0; i < shown; ++i)
    std::fprintf(stderr, "shotassay: %s\n", document::printable(narrative::problem_text(stopped.problems[i])).c_str());
  if (shown < stopped.problems.size())
    std::fprintf(stderr, "shotassay: and %zu more\n", stopped.problems.size() - shown);
  if (json && stopped.status != machine_failed) print(narrative::failure(command, stopped.problems));
  return stopped.status;
}

std::vector<std::string> names_of_options(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : app.get_options()) {
    if (option->get_group().empty()) continue;  // not shown by --help, so not proposed
    for (const auto& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

/// Words that no option and no argument took; the mark "--" before a file's name is not one of them.
std::vector<std::string> remaining(const CLI::App& app) {
  std::vector<std::string> words = app.remaining();
  std::erase(words, "--");
  return words;
}

/// The words that call a command: "plan", "clinic make".
std::string words_of(const CLI::App& app) {
  const CLI::App* parent = app.get_parent();
  const bool nested = parent != nullptr && parent->get_parent() != nullptr;
  return nested ? words_of(*parent) + " " + app.get_name() : app.get_name();
}

Stop unexpected(const CLI::App& app, const std::vector<std::string>& words) {
  OptionReader read;
  // Words behind an unknown option may be its value: nothing is said of them until the option is right.
  const bool unknown_option =
      std::any_of(words.begin(), words.end(), [](const auto& word) { return word.starts_with('-'); });
  for (const auto& word : words) {
    if (!word.starts_with('-')) {
      if (unknown_option) continue;
      read.problem("argument", word, "one too many; " + words_of(app) + " --help shows what it takes");
      continue;
    }
    const std::string option = word.substr(0, word.find('='));
    const std::string near = nearest(option, names_of_options(app));
    read.problem("option", option,
                 near.empty() ? "there is none of this name; " + words_of(app) + " --help lists them"
                              : "there is none of this name; did you mean " + near + "?");
  }
  try {
    read.finish();
  } catch (const Stop& stopped) {
    return stopped;
  }
  return stop(wrong_use, "wrong use");
}

/// An empty value, as an unset variable of a shell leaves it, is a mistake and not an option left out.
void refuse_empty_values(CLI::App& app) {
  const auto check = [](std::string& text) { return text.empty() ? std::string{"its value is empty"} : std::string{}; };
  for (CLI::Option* option : app.get_options())
    if (option->get_items_expected_max() > 0) option->check(CLI::Validator{check, ""});
}

/// What is wrong with the number of values of an option.
std::string mismatch(const CLI::ArgumentMismatch& error) {
  const std::string text = error.what();
  const std::string option = text.substr(0, text.find(':'));
  return option + (text.find("missing") != std::string::npos ? ": a value is missing" : ": given more than once");
}

/// What is wrong with the words behind a name that several commands share; absent when one of them was called.
std::optional<Stop> no_command_of(const CLI::App& group) {
  std::vector<std::string> known;
  for (const CLI::App* app : group.get_subcommands({})) known.push_back(app->get_name());
  const auto words = remaining(group);
  if (!words.empty() && words[0].starts_with('-')) return unexpected(group, words);
  if (!words.empty()) {
    const std::string near = nearest(words[0], known);
    return stop(wrong_use,
                group.get_name() + " " + words[0] + ": there is no such command" +
                    (near.empty() ? "; " + group.get_name() + " --help lists them" : "; did you mean " + near + "?"));
  }
  if (!group.get_subcommands().empty()) return std::nullopt;
  return stop(wrong_use, group.get_name() + ": say which command; " + group.get_name() + " --help lists them");
}

/// The words typed; "help" is "--help", and "help plan" is "plan --help".
std::vector<const char*> words_typed(int argc, char** argv) {
  std::vector<const char*> words(argv, argv + argc);
  if (argc < 2 || std::string_view{argv[1]} != "help") return words;
  words.erase(words.begin() + 1);
  words.push_back("--help");
  return words;
}

/// A standard stream that the caller closed is taken by a file opened later, which then has messages written into it.
/// So it is opened here, the wrong way round: using it fails, as it did.
void hold_standard_streams() {
  for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
    if (::fcntl(stream, F_GETFD) < 0 && errno == EBADF)
      static_cast<void>(::open("/dev/null", stream == STDIN_FILENO ? O_WRONLY : O_RDONLY));
}

int run(const std::vector<const char*>& typed) {
  const int argc = static_cast<int>(typed.size());
  const char* const* const argv = typed.data();
  CLI::App program;
  const std::vector<Command> commands = add_commands(program, argc < 2 ? std::string{} : argv[1]);
  for (const Command& command : commands) {
    command.app->allow_extras();
    refuse_empty_values(*command.app);
  }
  std::vector<std::string> known;
  std::vector<CLI::App*> groups;
  for (CLI::App* app : program.get_subcommands({})) {
    known.push_back(app->get_name());
    if (app->get_subcommands({}).empty()) continue;
    app->allow_extras();
    app->require_subcommand(0, 1);
    groups.push_back(app);
  }

  if (argc < 2) {
    std::fputs(program.help().c_str(), stderr);
    return wrong_use;
  }
  const std::string first = argv[1];
  const bool json = std::any_of(argv, argv + argc, [](const char* word) { return std::string_view{word} == "--json"; });
  if (!first.starts_with('-') && std::find(known.begin(), known.end(), first) == known.end()) {
    known.emplace_back("help");
    const std::string near = nearest(first, known);
    return end(stop(wrong_use, "there is no command " + first +
                                   (near.empty() ? "; shotassay --help lists them" : "; did you mean " + near + "?")),
               first, json);
  }
  program.allow_extras();
  program.require_subcommand(0, 1);
  try {
    program.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    print(program.help());
    return answered;
  } catch (const CLI::CallForVersion&) {
    print("shotassay " + std::string{version()} + "\n");
    return answered;
  } catch (const CLI::ArgumentMismatch& error) {
    return end(stop(wrong_use, mismatch(error)), first, json);
  } catch (const CLI::ParseError& error) {
    return end(stop(wrong_use, error.what()), first, json);
  }
  if (const auto words = remaining(program); !words.empty()) return end(unexpected(program, words), first, json);
  for (const CLI::App* group : groups)
    if (group->parsed())
      if (const auto wrong = no_command_of(*group)) return end(*wrong, group->get_name(), json);
  for (const Command& command : commands) {
    if (!command.app->parsed()) continue;
    const std::string name = words_of(*command.app);
    try {
      if (const auto words = remaining(*command.app); !words.empty())
        return end(unexpected(*command.app, words), name, command.common->json);
      return command.run();
    } catch (const Stop& stopped) {
      return end(stopped, name, command.common->json && !stopped.answer_printed);
    } catch (const NoAnswer& error) {
      return end(stop(no_answer, said(error)), name, command.common->json);
    } catch (const DomainError& error) {
      return end(stop(wrong_use, said(error)), name, command.common->json);
    }
  }
  return end(stop(wrong_use, "name a command; shotassay --help lists them"), first, json);
}

}  // namespace

int main(int argc, char** argv) {
  hold_standard_streams();
  try {
    return run(words_typed(argc, argv));
  } catch (const Stop& stopped) {
    return end(stopped, "", false);
  } catch (const std::bad_alloc&) {
    std::fputs("shotassay: not enough memory\n", stderr);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "shotassay: %s\n", error.what());
  }
  return machine_failed;
}
