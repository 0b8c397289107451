#pragma once
#include <string>

namespace shotassay::cli {

/// A file asked for by an option, to be written at the end of a command.
struct OutputFile {
  std::string option;  ///< "--sheet"
  std::string name;
  bool overwrite;  ///< an existing file may be replaced
};

/// Throws Stop before anything was worked out: wrong_use when the file exists and may not be replaced.
void require_free(const OutputFile& file);

/// Writes the whole file or none of it: under the final name there is never half a text.
/// Throws Stop: wrong_use when the file has come into being meanwhile, machine_failed when it cannot be written.
void write(const OutputFile& file, const std::string& text);

}  // namespace shotassay::cli
