#pragma once
#include <cstdint>
#include <cstdio>
#include <exception>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/claim_table.hpp>

namespace CLI {
class App;
}

namespace shotassay::cli {

/// What the program tells the shell; see docs/reference/exit-status.md.
enum ExitStatus : int {
  answered = 0,
  no_answer = 1,
  wrong_use = 2,
  bad_input = 3,
  machine_failed = 4,
  verdict_faster = 10,
  verdict_slower = 11,
  verdict_same = 12,
  verdict_open = 13
};

/// Ends a command: the status, and what goes to the error stream (and into JSON, where asked for).
struct Stop {
  ExitStatus status;
  std::vector<narrative::FoundProblem> problems;
  bool answer_printed = false;  ///< the answer, as far as there is one, already stands on standard output
};

/// A mistake of the command line, or a reason without a place in a file.
Stop stop(ExitStatus status, const std::string& message);

/// Options as typed. They are read as numbers afterwards, so that every wrong one is told at once.
struct CommonOptions {
  std::string confidence, display, unit, seed = "1", threads, color = "auto";
  bool json = false;
};

void add_common_options(CLI::App& command, CommonOptions& options);

/// A repeatable option that takes one value each time, and leaves the words behind it alone.
void add_repeatable(CLI::App& command, const std::string& name, std::vector<std::string>& values,
                    const std::string& help, const std::string& value = "NAME");

/// Turns the texts of options into values and gathers what is wrong with them.
class OptionReader {
 public:
  std::optional<double> number(const std::string& option, const std::string& text);
  /// A whole number; 1e6 is one.
  std::optional<std::uint64_t> whole(const std::string& option, const std::string& text, std::uint64_t least,
                                     std::uint64_t most);
  std::optional<double> positive(const std::string& option, const std::string& text);
  /// A speed, gap or SD: more than 0, and no more than a million. It may be part of what was typed, as in NAME=1.2.
  std::optional<double> speed(const std::string& option, const std::string& text, const std::string& typed = "");
  /// Absent where none was typed.
  std::optional<ConfidenceLevel> confidence(const CommonOptions& options);
  std::optional<Power> power(const std::string& option, const std::string& text);
  std::optional<SpeedUnit> unit(const std::string& text);
  std::optional<Decimal> display(const std::string& text);
  unsigned threads(const std::string& text);
  void color(const std::string& text);

  void problem(const std::string& option, const std::string& found, const std::string& message);
  /// Throws Stop with wrong_use when anything was wrong.
  void finish() const;

 private:
  std::vector<narrative::FoundProblem> problems_;
};

/// What an error of the library says, without the name of the function that found it: a user has typed none.
std::string said(const std::exception& error);

/// What is wrong with the name of a set-up that reads like another one.
std::string one_name(const std::string& other);

/// The known word nearest to a misspelt one; empty when none is near.
std::string nearest(const std::string& word, const std::vector<std::string>& known);

/// A file, or standard input for "-", read piece by piece. Throws Stop with bad_input.
class Input : public ByteSource {
 public:
  explicit Input(const std::string& file);
  ~Input() override;
  Input(const Input&) = delete;
  Input& operator=(const Input&) = delete;

  std::size_t read(char* to, std::size_t most) override;
  /// Absent for what is no ordinary file.
  std::optional<std::uint64_t> size() const;
  std::uint64_t bytes_read() const { return bytes_read_; }
  /// As messages call it.
  std::string name() const { return file_ == "-" ? "standard input" : file_; }

 private:
  std::string file_;
  std::FILE* in_;
  std::uint64_t bytes_read_ = 0;
};

/// The whole text of a file, or of standard input for "-". Throws Stop with bad_input.
std::string read_input(const std::string& file);

/// The answer on standard output: text at the terminal's width, or JSON. Throws Stop with machine_failed.
void print(const document::Document& document, const CommonOptions& options);
void print(const document::Data& data);
void print(const std::string& text);

}  // namespace shotassay::cli
