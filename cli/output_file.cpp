#include "output_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <memory>
#include <system_error>

#include "common.hpp"
#include "interruptions.hpp"

namespace shotassay::cli {

namespace {

Stop exists(const OutputFile& file) {
  return stop(wrong_use, file.option + " " + file.name + ": there is such a file already; --force replaces it");
}

Stop failed(const OutputFile& file, int error) {
  return stop(machine_failed, file.option + " " + file.name + ": cannot be written: " + std::strerror(error));
}

}  // namespace

std::string draft_name(std::string name) {
  constexpr std::string_view ending = ".XXXXXX";
  constexpr std::size_t longest = 255;  // bytes of a name in its folder, on the file systems there are
  const auto slash = name.rfind('/');
  const std::size_t begin = slash == std::string::npos ? 0 : slash + 1;
  if (name.size() - begin <= longest) {  // a longer one fails anyway, and is told under its own name
    while (name.size() - begin + ending.size() > longest) {
      do name.pop_back();
      while (!name.empty() && (static_cast<unsigned char>(name.back()) & 0xC0U) == 0x80U);
    }
  }
  return name.append(ending);
}

Draft::Draft(const OutputFile& file) : file_{file}, name_{draft_name(file.name)} {
  descriptor_ = ::mkstemp(name_.data());
  if (descriptor_ < 0) throw failed(file, errno);
}

Draft::~Draft() {
  if (descriptor_ >= 0) ::close(descriptor_);
  ::unlink(name_.c_str());
}

void Draft::append(std::string_view text) {
  for (std::size_t done = 0; done < text.size();) {
    const auto wrote = ::write(descriptor_, text.data() + done, text.size() - done);
    if (wrote < 0 && errno == EINTR) continue;
    if (wrote < 0) throw failed(file_, errno);
    done += static_cast<std::size_t>(wrote);
  }
}

void Draft::finish() {
  const mode_t mask = ::umask(0);
  ::umask(mask);
  if (::fchmod(descriptor_, 0666 & ~mask) != 0 || ::fsync(descriptor_) != 0) throw failed(file_, errno);
  const int closed = ::close(descriptor_);
  descriptor_ = -1;
  if (closed != 0) throw failed(file_, errno);
}

void Draft::keep() {
  if (file_.overwrite) {
    if (::rename(name_.c_str(), file_.name.c_str()) != 0) throw failed(file_, errno);
    return;
  }
  // A link, unlike a renaming, fails where the name is taken.
  if (::link(name_.c_str(), file_.name.c_str()) == 0) return;
  if (errno == EEXIST) throw exists(file_);
  if (errno != EPERM && errno != ENOTSUP) throw failed(file_, errno);
  // A file system without links: the name was free when the command began.
  require_free(file_);
  if (::rename(name_.c_str(), file_.name.c_str()) != 0) throw failed(file_, errno);
}

void require_free(const OutputFile& file) {
  if (file.name == "-") throw stop(wrong_use, file.option + " -: the answer goes to standard output; name a file");
  struct stat there {};
  if (::lstat(file.name.c_str(), &there) != 0) {
    if (errno == ENOENT) return;
    throw failed(file, errno);
  }
  if (!file.overwrite) throw exists(file);
  if (::stat(file.name.c_str(), &there) == 0 && !S_ISREG(there.st_mode))
    throw stop(wrong_use, file.option + " " + file.name + ": this is no ordinary file, so it is not replaced");
}

bool same_place(const OutputFile& a, const OutputFile& b) {
  const auto place = [](const OutputFile& file) {
    std::error_code ignored;  // a name that cannot be looked up is refused when it is written
    return std::filesystem::weakly_canonical(std::filesystem::absolute(file.name, ignored), ignored);
  };
  return a.name == b.name || (!place(a).empty() && place(a) == place(b));
}

void write(const std::vector<FileText>& files) {
  const Interruptions interruptions;
  std::vector<std::unique_ptr<Draft>> drafts;
  for (const FileText& f : files) {
    require_free(f.file);
    drafts.push_back(std::make_unique<Draft>(f.file));
    drafts.back()->append(f.text);
    drafts.back()->finish();
  }
  if (Interruptions::noted()) return;
  for (const auto& draft : drafts) draft->keep();
}

}  // namespace shotassay::cli
