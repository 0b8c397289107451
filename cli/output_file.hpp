#pragma once
#include <string>
#include <string_view>
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

/// Of a file or folder beside the one of this name, as mkstemp and mkdtemp take it; cut where it would be too long.
std::string draft_name(std::string name);

/// A temporary file beside the final one: append, finish, keep. Without `keep` it is gone at the end, and nothing
/// stands under the final name. Each throws Stop, machine_failed, when the file cannot be written.
class Draft {
 public:
  explicit Draft(const OutputFile& file);
  ~Draft();
  Draft(const Draft&) = delete;
  Draft& operator=(const Draft&) = delete;

  void append(std::string_view text);
  /// All of it is on the disk, with the rights of a new file.
  void finish();
  /// Gives it its final name. Throws Stop, wrong_use, when that has come into being and may not be replaced.
  void keep();

 private:
  OutputFile file_;
  std::string name_;
  int descriptor_ = -1;
};

struct FileText {
  OutputFile file;
  std::string text;
};

/// Writes every text whole before any gets its final name: there is never half a file, nor one without the others.
/// Throws Stop: wrong_use when a file has come into being meanwhile, machine_failed when one cannot be written.
void write(const std::vector<FileText>& files);

}  // namespace shotassay::cli
