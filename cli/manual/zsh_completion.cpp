#include <algorithm>

#include "completion.hpp"

namespace shotassay::cli {

namespace {

using Kind = OptionValue::Kind;

/// In single quotes; what _arguments reads as a sign of its own is escaped.
std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\'') {
      out += "'\\''";
      continue;
    }
    if (c == '[' || c == ']' || c == ':' || c == '\\') out += '\\';
    out += c;
  }
  return out;
}

std::string action(const OptionValue& value) {
  switch (value.kind) {
    case Kind::word:
      return "(" + joined(value.words) + ")";
    case Kind::file:
      return "_files -g \"*." + value.ending + "\"";
    case Kind::folder:
      return "_files -/";
    case Kind::none:
    case Kind::free:
      break;
  }
  return " ";
}

std::string function_of(const CommandLine& command) {
  if (command.is_program()) return "_shotassay_program";
  std::string name = "_" + command.called;
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

std::string option_line(const OptionLine& option) {
  const bool takes_value = option.value.kind != Kind::none;
  std::string what = "[" + escaped(option.meaning) + "]";
  if (takes_value) what += ":" + escaped(option.value_name) + ":" + action(option.value);
  if (option.typed.size() > 1)
    return "'(" + joined(option.typed) + ")'{" + joined(option.typed, ",") + "}'" + what + "'";
  return std::string{"'"} + (option.repeatable ? "*" : "") + option.typed[0] + (takes_value ? "=" : "") + what + "'";
}

std::string function(const CommandLine& command) {
  const bool leads_on = !command.commands.empty();
  std::string out = function_of(command) + "() {\n";
  if (leads_on) out += "  local curcontext=$curcontext context state state_descr line\n  typeset -A opt_args\n";
  out += std::string{"  _arguments"} + (leads_on ? " -C -S" : " -S");
  for (const OptionLine& option : command.options) out += " \\\n    " + option_line(option);
  for (const OptionLine& argument : command.arguments)
    out += std::string{" \\\n    '"} + (argument.repeatable ? "*" : "") + ":" + escaped(argument.value_name) + ":" +
           action(argument.value) + "'";
  if (!leads_on) return out + "\n}\n\n";

  out += " \\\n    ':command:->command' \\\n    '*::argument:->argument' && return 0\n  local -a commands=(\n";
  for (const CommandLine& below : command.commands)
    out += "    '" + escaped(below.name) + ":" + escaped(below.meaning) + "'\n";
  out += "  )\n  case $state in\n    command) _describe command commands ;;\n    argument)\n      case $line[1] in\n";
  for (const CommandLine& below : command.commands)
    out += "        " + below.name + ") " + function_of(below) + " ;;\n";
  if (command.is_program()) out += "        help) _describe command commands ;;\n";
  return out + "      esac\n      ;;\n  esac\n}\n\n";
}

}  // namespace

std::string zsh_completion(const CommandLine& program) {
  std::string out =
      "#compdef shotassay\n"
      "# Completion of shotassay in zsh: commands, options, choices, files. Made by the build; changes here are "
      "lost.\n\n";
  for (const CommandLine* command : with_those_below(program)) out += function(*command);
  return out + "_shotassay_program \"$@\"\n";
}

}  // namespace shotassay::cli
