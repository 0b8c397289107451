#pragma once
#include <string>
#include <vector>

namespace shotassay::cli {

/// A file asked for by an option, to be written at the end of a command.
struct OutputFile {
  std::string option;  ///< "--sheet"
  std::string name;
  bool overwrite;  ///< an existing file may be replaced
};

/// Throws Stop before anything was worked out: wrong_use when the file exists and may not be replaced, or is called
/// "-".
void require_free(const OutputFile& file);

/// Do both names lead to one file?
bool same_place(const OutputFile& a, const OutputFile& b);

struct FileText {
  OutputFile file;
  std::string text;
};

/// Writes every text whole before any gets its final name: there is never half a file, nor one without the others.
/// Throws Stop: wrong_use when a file has come into being meanwhile, machine_failed when one cannot be written.
void write(const std::vector<FileText>& files);

}  // namespace shotassay::cli
