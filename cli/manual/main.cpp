// shotassay_manual FOLDER CHANGELOG: writes the manual pages and the completions below FOLDER. Run by the build; the
// date of the pages is that of the newest entry of CHANGELOG, a Debian changelog.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string_view>

#include "completion.hpp"
#include "manual_page.hpp"

namespace {

using namespace shotassay;

/// "Wed, 25 Nov 2026 20:00:00 +0000" as 2026-11-25.
std::string date_of_newest(const std::filesystem::path& changelog) {
  constexpr std::string_view months = "JanFebMarAprMayJunJulAugSepOctNovDec";
  std::ifstream in{changelog};
  for (std::string line; std::getline(in, line);) {
    if (!line.starts_with(" -- ")) continue;
    const auto comma = line.rfind(", ");
    if (comma == std::string::npos || line.size() < comma + 13) break;
    const std::string when = line.substr(comma + 2, 11);
    const auto month = months.find(when.substr(3, 3));
    if (month == std::string::npos || month % 3 != 0) break;
    char text[16];
    std::snprintf(text, sizeof text, "%s-%02d-%s", when.substr(7, 4).c_str(), static_cast<int>(month / 3 + 1),
                  when.substr(0, 2).c_str());
    return text;
  }
  throw std::runtime_error{changelog.string() + ": no entry with a date, as \"Wed, 25 Nov 2026 20:00:00 +0000\""};
}

void write(const std::filesystem::path& file, const std::string& text) {
  std::filesystem::create_directories(file.parent_path());
  std::ofstream out{file, std::ios::binary};
  out << text;
  if (!out.flush()) throw std::runtime_error{file.string() + ": cannot be written"};
}

void write_all(const std::filesystem::path& folder, const std::string& date) {
  const cli::CommandLine program = cli::command_line();
  // What a command was called before must not stay.
  std::filesystem::remove_all(folder / "man1");
  for (const cli::CommandLine* command : cli::with_those_below(program))
    write(folder / "man1" / (cli::page_name(*command) + ".1"), cli::manual_page(*command, program, date));
  write(folder / "bash/shotassay", cli::bash_completion(program));
  write(folder / "zsh/_shotassay", cli::zsh_completion(program));
  write(folder / "fish/shotassay.fish", cli::fish_completion(program));
}

}  // namespace

int main(int argc, char** argv) try {
  if (argc != 3) throw std::runtime_error{"usage: shotassay_manual FOLDER CHANGELOG"};
  write_all(argv[1], date_of_newest(argv[2]));
} catch (const std::exception& error) {
  std::fprintf(stderr, "shotassay_manual: %s\n", error.what());
  return 1;
}
