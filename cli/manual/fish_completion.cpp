
#include "completion.hpp"

namespace shotassay::cli {

namespace {

using Kind = OptionValue::Kind;

std::string in_quotes(const std::string& text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    out += c;
  }
  return out + "'";
}

std::string offer(const OptionValue& value) {
  switch (value.kind) {
    case Kind::word:
      return " -a " + in_quotes(joined(value.words));
    case Kind::file:
      return " -k -a '(__fish_complete_suffix ." + value.ending + ")'";
    case Kind::folder:
      return " -a '(__fish_complete_directories)'";
    case Kind::none:
    case Kind::free:
      break;
  }
  return {};
}

std::string lines(const CommandLine& command) {
  const std::string here = "complete -c shotassay -n '__shotassay_in " + command.called + "'";
  std::string out;
  for (const CommandLine& below : command.commands)
    out += here + " -a " + below.name + " -d " + in_quotes(below.meaning) + "\n";
  for (const OptionLine& argument : command.arguments) out += here + offer(argument.value) + "\n";
  for (const OptionLine& option : command.options) {
    out += here;
    for (const auto& typed : option.typed)
      out += typed.starts_with("--") ? " -l " + typed.substr(2) : " -s " + typed.substr(1);
    if (option.value.kind != Kind::none) out += " -x" + offer(option.value);
    out += " -d " + in_quotes(option.meaning) + "\n";
  }
  return out;
}

}  // namespace

std::string fish_completion(const CommandLine& program) {
  std::string paths = "'shotassay help'", rules, helped;
  for (const CommandLine* command : with_those_below(program)) {
    if (!command->is_program()) paths += " " + in_quotes(command->called);
    rules += lines(*command);
  }
  for (const CommandLine& below : program.commands)
    helped += "complete -c shotassay -n '__shotassay_in shotassay help' -a " + below.name + " -d " +
              in_quotes(below.meaning) + "\n";
  return "# Completion of shotassay in fish: commands, options, choices, files. Made by the build; changes here are "
         "lost.\n\n"
         "# Whether the command line has come as far as this command and no further.\n"
         "function __shotassay_in\n"
         "    set -l path shotassay\n"
         "    for word in (commandline -opc)[2..]\n"
         "        if contains -- \"$path $word\" " +
         paths +
         "\n"
         "            set path \"$path $word\"\n"
         "        end\n"
         "    end\n"
         "    test \"$path\" = \"$argv\"\n"
         "end\n\n"
         "complete -c shotassay -f\n" +
         rules + helped;
}

}  // namespace shotassay::cli
