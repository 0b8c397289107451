#pragma once
#include <string>
#include <vector>

namespace shotassay::cli {

/// What stands behind an option, or in an argument's place: what a shell can offer there.
struct OptionValue {
  enum class Kind { none, free, word, file, folder };
  Kind kind = Kind::free;
  std::vector<std::string> words = {};  ///< all there are, for a word
  std::string ending = {};              ///< of the files meant, as "csv"
};

/// An option or an argument, as --help tells of it.
struct OptionLine {
  std::vector<std::string> typed;  ///< "-h" and "--help"; none for an argument
  std::string value_name;          ///< FILE.csv; empty for a flag
  std::string meaning;
  OptionValue value;
  bool repeatable;
};

/// A command, or the program itself, with all that can be typed behind it.
struct CommandLine {
  std::string called;  ///< the words that call it: "shotassay clinic make"
  std::string name;    ///< the last of them
  std::string meaning;
  std::vector<OptionLine> options, arguments;
  std::vector<CommandLine> commands;

  bool is_program() const { return called == name; }
};

/// The one that the program itself reads its words by. Throws std::logic_error for an option whose value nobody
/// explained here, so that none can be forgotten.
CommandLine command_line();

/// A command and those below it, each before its own.
std::vector<const CommandLine*> with_those_below(const CommandLine& command);

/// Words with something between them.
std::string joined(const std::vector<std::string>& words, const std::string& between = " ");

}  // namespace shotassay::cli
