#pragma once
#include <string>
#include <vector>

#include <shotassay/document/data.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay::narrative {

/// Something a reader of the numbers must know; the code is for programs and does not change.
struct Note {
  std::string code;
  std::string text;
};

/// {"shotassay": version, "command": …, "inputs": …, "result": …, "notes": […]}
document::Data envelope(const std::string& command, document::Data inputs, document::Data result,
                        const std::vector<Note>& notes);

/// A mistake with its place, as a person reads it on the error stream and as a program reads it in JSON.
struct FoundProblem {
  std::string file;  ///< as typed; empty for a mistake of the command line
  Problem problem;
};

/// "sheet.csv: line 7, column speed_fps: found "18l.2": not a number"
std::string problem_text(const FoundProblem& problem);

/// {"shotassay": version, "command": …, "problems": […]}
document::Data failure(const std::string& command, const std::vector<FoundProblem>& problems);

}  // namespace shotassay::narrative
