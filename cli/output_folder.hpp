#pragma once
#include <string>
#include <vector>

namespace shotassay::cli {

/// A folder asked for by an option, to be written at the end of a command.
struct OutputFolder {
  std::string option;  ///< "--out"
  std::string name;
  bool overwrite;  ///< one that the same command wrote may be replaced
};

struct NamedText {
  std::string name;  ///< of the file in the folder
  std::string text;
};

/// Throws Stop before anything was worked out: wrong_use when the name is taken by anything but an empty folder.
/// With `overwrite` a folder that holds nothing but files of these names is free too.
void require_free(const OutputFolder& folder, const std::vector<std::string>& names);

/// Writes all files into a new folder beside the final one and gives that its name when all are whole: there is never
/// half a lesson. Throws Stop: wrong_use when the name was taken meanwhile, machine_failed when it cannot be written.
void write(const OutputFolder& folder, const std::vector<NamedText>& files);

}  // namespace shotassay::cli
