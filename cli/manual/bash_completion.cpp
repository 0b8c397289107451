#include <string_view>

#include "completion.hpp"

namespace shotassay::cli {

namespace {

using Kind = OptionValue::Kind;

constexpr std::string_view head =
    R"(# Completion of shotassay in bash: commands, options, choices, files. Made by the build; changes here are lost.

_shotassay_words() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$cur"); }

# Files of the pattern, and folders; every file where there is none of these.
_shotassay_files() {
  compopt -o filenames 2>/dev/null
  mapfile -t COMPREPLY < <(compgen -f -X "!$1" -- "$cur"; compgen -d -- "$cur")
  [[ ${#COMPREPLY[@]} -gt 0 ]] || mapfile -t COMPREPLY < <(compgen -f -- "$cur")
}

_shotassay_folders() {
  compopt -o filenames 2>/dev/null
  mapfile -t COMPREPLY < <(compgen -d -- "$cur")
}

# The options, but for those given that are taken once only.
_shotassay_options() {
  local left='' word given=" ${COMP_WORDS[*]:1:COMP_CWORD-1} "
  for word in $options; do
    [[ $given == *" $word "* && " $repeatable " != *" $word "* ]] || left+=" $word"
  done
  _shotassay_words "$left"
}

_shotassay() {
  local cur=${COMP_WORDS[COMP_CWORD]} option='' command=shotassay only_names='' options='' repeatable='' word
  COMPREPLY=()
  for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    [[ $word != -- ]] || only_names=yes
    case "$command $word" in
)";

constexpr std::string_view middle = R"( command="$command $word" ;;
    esac
  done
  # The shell takes --color=never apart, at the sign.
  if [[ $cur == '=' ]]; then
    option=${COMP_WORDS[COMP_CWORD - 1]} cur=''
  elif [[ ${COMP_WORDS[COMP_CWORD - 1]} == '=' ]]; then
    option=${COMP_WORDS[COMP_CWORD - 2]}
  else
    option=${COMP_WORDS[COMP_CWORD - 1]}
  fi
  [[ -z $only_names ]] || option=''
  case $command in
)";

constexpr std::string_view tail = R"(  esac
}

complete -F _shotassay shotassay
)";

/// Letters of either case.
std::string pattern(const std::string& ending) {
  std::string out = "*.";
  for (const char c : ending) out += std::string{"["} + c + static_cast<char>(c - 'a' + 'A') + "]";
  return out;
}

std::string offer(const OptionValue& value) {
  switch (value.kind) {
    case Kind::word:
      return "_shotassay_words '" + joined(value.words) + "'";
    case Kind::file:
      return "_shotassay_files '" + pattern(value.ending) + "'";
    case Kind::folder:
      return "_shotassay_folders";
    case Kind::none:
    case Kind::free:
      break;
  }
  return ":";
}

std::vector<std::string> names_below(const CommandLine& command) {
  std::vector<std::string> names;
  for (const CommandLine& below : command.commands) names.push_back(below.name);
  return names;
}

/// What stands where no option's value is due: a command, an argument, else an option.
std::string place(const CommandLine& command) {
  std::vector<std::string> below = names_below(command);
  if (command.is_program()) below.emplace_back("help");
  std::string otherwise = "_shotassay_options";
  if (!below.empty()) otherwise = "_shotassay_words '" + joined(below) + "'";
  if (!command.arguments.empty()) otherwise = offer(command.arguments.front().value);
  return "      if [[ $cur == -* && -z $only_names ]]; then _shotassay_options; else " + otherwise + "; fi\n";
}

std::string block(const CommandLine& command) {
  std::vector<std::string> options, several;
  std::string values;
  for (const OptionLine& option : command.options) {
    options.insert(options.end(), option.typed.begin(), option.typed.end());
    if (option.repeatable) several.insert(several.end(), option.typed.begin(), option.typed.end());
    if (option.value.kind != Kind::none)
      values += "        " + joined(option.typed, " | ") + ") " + offer(option.value) + "; return ;;\n";
  }
  std::string out = "    '" + command.called + "')\n      options='" + joined(options) + "'\n";
  if (!several.empty()) out += "      repeatable='" + joined(several) + "'\n";
  if (!values.empty()) out += "      case $option in\n" + values + "      esac\n";
  return out + place(command) + "      ;;\n";
}

}  // namespace

std::string bash_completion(const CommandLine& program) {
  const std::string help = "'" + program.called + " help'";
  std::vector<std::string> commands{help};
  std::string blocks;
  for (const CommandLine* command : with_those_below(program)) {
    blocks += block(*command);
    if (!command->is_program()) commands.push_back("'" + command->called + "'");
  }
  blocks += "    " + help + ") _shotassay_words '" + joined(names_below(program)) + "' ;;\n";
  return std::string{head} + "      " + joined(commands, " | ") + ")" + std::string{middle} + blocks +
         std::string{tail};
}

}  // namespace shotassay::cli
