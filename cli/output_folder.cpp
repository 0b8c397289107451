#include "output_folder.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <system_error>

#include "common.hpp"
#include "interruptions.hpp"
#include "output_file.hpp"

namespace shotassay::cli {

namespace {

Stop failed(const OutputFolder& folder, int error) {
  return stop(machine_failed, folder.option + " " + folder.name + ": cannot be written: " + std::strerror(error));
}

/// Without slashes at its end, so that a name can be put beside it.
std::string bare(std::string name) {
  while (name.size() > 1 && name.ends_with('/')) name.pop_back();
  return name;
}

/// A folder of a temporary name beside the final one; gone at the end with all that is in it, unless it was kept.
class DraftFolder {
 public:
  explicit DraftFolder(const OutputFolder& folder) : folder_{folder}, name_{draft_name(bare(folder.name))} {
    if (::mkdtemp(name_.data()) == nullptr) throw failed(folder, errno);
  }
  ~DraftFolder() {
    std::error_code ignored;  // what cannot be removed here stays as a leftover beside the folder
    if (!name_.empty()) std::filesystem::remove_all(name_, ignored);
  }
  DraftFolder(const DraftFolder&) = delete;
  DraftFolder& operator=(const DraftFolder&) = delete;

  void add(const NamedText& file) const {
    const int descriptor = ::open((name_ + "/" + file.name).c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (descriptor < 0) throw failed(folder_, errno);
    int error = 0;
    for (std::size_t done = 0; error == 0 && done < file.text.size();) {
      const auto wrote = ::write(descriptor, file.text.data() + done, file.text.size() - done);
      if (wrote >= 0)
        done += static_cast<std::size_t>(wrote);
      else if (errno != EINTR)
        error = errno;
    }
    if (error == 0 && ::fsync(descriptor) != 0) error = errno;
    if (::close(descriptor) != 0 && error == 0) error = errno;
    if (error != 0) throw failed(folder_, error);
  }

  void keep() {
    const mode_t mask = ::umask(0);
    ::umask(mask);
    if (::chmod(name_.c_str(), 0777 & ~mask) != 0) throw failed(folder_, errno);
    const std::string final_name = bare(folder_.name);
    // An empty folder of the final name is replaced; one with files in it is put aside first.
    if (std::rename(name_.c_str(), final_name.c_str()) == 0) return name_.clear();
    if ((errno != ENOTEMPTY && errno != EEXIST) || !folder_.overwrite) throw failed(folder_, errno);
    const DraftFolder aside{folder_};
    if (std::rename(final_name.c_str(), aside.name_.c_str()) != 0) throw failed(folder_, errno);
    if (std::rename(name_.c_str(), final_name.c_str()) == 0) return name_.clear();
    const int error = errno;
    std::rename(aside.name_.c_str(), final_name.c_str());
    throw failed(folder_, error);
  }

 private:
  const OutputFolder& folder_;
  std::string name_;
};

}  // namespace

void require_free(const OutputFolder& folder, const std::vector<std::string>& names) {
  if (folder.name == "-") throw stop(wrong_use, folder.option + " -: name a folder");
  struct stat there {};
  if (::lstat(folder.name.c_str(), &there) != 0) {
    if (errno == ENOENT) return;
    throw failed(folder, errno);
  }
  if (!S_ISDIR(there.st_mode))
    throw stop(wrong_use,
               folder.option + " " + folder.name + ": there is something of this name already, and it is no folder");
  std::error_code error;
  for (std::filesystem::directory_iterator at{folder.name, error}, end; !error && at != end; at.increment(error)) {
    if (!folder.overwrite)
      throw stop(wrong_use, folder.option + " " + folder.name +
                                ": this folder has files in it; name a new one, or replace a lesson with --force");
    const std::string name = at->path().filename().string();
    if (std::find(names.begin(), names.end(), name) == names.end())
      throw stop(wrong_use, folder.option + " " + folder.name + ": holds " + name +
                                ", which is no file of a lesson, so that the folder is not replaced");
  }
  if (error) throw failed(folder, error.value());
}

void write(const OutputFolder& folder, const std::vector<NamedText>& files) {
  std::vector<std::string> names;
  for (const NamedText& file : files) names.push_back(file.name);
  require_free(folder, names);
  const Interruptions interruptions;
  DraftFolder draft{folder};
  for (const NamedText& file : files) draft.add(file);
  if (Interruptions::noted()) return;
  require_free(folder, names);
  draft.keep();
}

}  // namespace shotassay::cli
