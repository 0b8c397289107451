// Where there is no libFuzzer: a harness over its corpus, and over changed copies of it, always the same ones.
//   shotassay_sheet_replay --dictionary FILE --changes N [--seed N] --corpus FOLDER [--corpus FILE...]
// The input under which a harness fails is left in the file it names.
#include <algorithm>
#include <charconv>
#include <csignal>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include <fcntl.h>
#include <unistd.h>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

// Sanitizers end with abort, which is seen to here.
extern "C" const char* __asan_default_options() { return "abort_on_error=1"; }
extern "C" const char* __ubsan_default_options() { return "abort_on_error=1:print_stacktrace=1"; }

namespace {

constexpr std::size_t longest = 4096;
constexpr char leftover[] = "replay-finding";

std::string input;

/// Nothing but what a signal's handler may call.
void keep_input(int signal) {
  const int file = ::open(leftover, O_WRONLY | O_CREAT | O_TRUNC, 0666);
  if (file >= 0 && ::write(file, input.data(), input.size()) >= 0) {
    constexpr char told[] = "the input is in replay-finding\n";
    static_cast<void>(!::write(STDERR_FILENO, told, sizeof told - 1));
  }
  std::signal(signal, SIG_DFL);
  std::raise(signal);
}

void run() { LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(input.data()), input.size()); }

/// SplitMix64: a few lines, and the same on every machine.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_{seed} {}
  std::size_t below(std::size_t bound) {
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return static_cast<std::size_t>((z ^ (z >> 31)) % bound);
  }

 private:
  std::uint64_t state_;
};

std::string text_in(const std::filesystem::path& file) {
  std::ifstream in{file, std::ios::binary};
  std::string text{std::istreambuf_iterator<char>{in}, {}};
  if (!in && text.empty() && std::filesystem::file_size(file) > 0) {
    std::fprintf(stderr, "cannot read %s\n", file.c_str());
    std::exit(2);
  }
  return text;
}

/// The words of a dictionary: a line each, in quotation marks, \xNN for a byte.
std::vector<std::string> words_in(const std::filesystem::path& file) {
  std::vector<std::string> words;
  const std::string all = text_in(file);
  std::string_view rest = all;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    std::string_view line = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    const std::size_t open = line.find('"'), close = line.rfind('"');
    if (line.starts_with('#') || open == std::string_view::npos || close == open) continue;
    line = line.substr(open + 1, close - open - 1);
    std::string word;
    for (std::size_t i = 0; i < line.size(); ++i) {
      if (line[i] != '\\' || i + 1 == line.size()) {
        word += line[i];
      } else if (line[i + 1] == 'x' && i + 3 < line.size()) {
        unsigned byte = 0;
        std::from_chars(line.data() + i + 2, line.data() + i + 4, byte, 16);
        word += static_cast<char>(byte);
        i += 3;
      } else {
        word += line[++i];
      }
    }
    words.push_back(std::move(word));
  }
  return words;
}

void change(std::string& text, Random& random, const std::vector<std::string>& corpus,
            const std::vector<std::string>& words) {
  const std::size_t at = random.below(text.size() + 1);
  const std::size_t length = std::min<std::size_t>(text.size() - at, 1 + random.below(16));
  switch (random.below(8)) {
    case 0:
      return void(text.insert(at, 1, static_cast<char>(random.below(256))));
    case 1:
      return void(text.erase(at, length));
    case 2:
      if (at < text.size()) text[at] = static_cast<char>(text[at] ^ (1 << random.below(8)));
      return;
    case 3:
      return void(text.insert(at, std::string{text, at, length}));
    case 4: {
      const std::string& other = corpus[random.below(corpus.size())];
      const std::size_t from = random.below(other.size() + 1);
      return void(text.insert(at, other, from, 1 + random.below(64)));
    }
    case 5:  // a digit: most of a sheet is numbers
      for (std::size_t i = at; i < text.size(); ++i)
        if (text[i] >= '0' && text[i] <= '9') return void(text[i] = static_cast<char>('0' + random.below(10)));
      return;
    default:
      if (!words.empty()) text.insert(at, words[random.below(words.size())]);
  }
}

}  // namespace

int main(int argc, char** argv) {
  std::vector<std::filesystem::path> places;
  std::filesystem::path dictionary;
  std::uint64_t changes = 0, seed = 1;
  for (int i = 1; i + 1 < argc; i += 2) {
    const std::string_view option = argv[i];
    const std::string_view value = argv[i + 1];
    std::uint64_t number = 0;
    std::from_chars(value.data(), value.data() + value.size(), number);
    if (option == "--corpus")
      places.emplace_back(value);
    else if (option == "--dictionary")
      dictionary = value;
    else if (option == "--changes")
      changes = number;
    else if (option == "--seed")
      seed = number;
  }
  for (const int signal : {SIGABRT, SIGSEGV, SIGFPE}) std::signal(signal, keep_input);

  std::vector<std::filesystem::path> files;
  for (const auto& place : places)
    if (std::filesystem::is_directory(place))
      for (const auto& entry : std::filesystem::directory_iterator{place}) files.push_back(entry.path());
    else
      files.push_back(place);
  std::sort(files.begin(), files.end());
  std::vector<std::string> corpus;
  for (const auto& file : files) corpus.push_back(text_in(file));
  if (corpus.empty()) {
    std::fputs("nothing to replay: say --corpus FOLDER\n", stderr);
    return 2;
  }
  const auto words = dictionary.empty() ? std::vector<std::string>{} : words_in(dictionary);

  run();  // the empty one
  for (const std::string& text : corpus) {
    input = text;
    run();
  }
  Random random{seed};
  for (std::uint64_t i = 0; i < changes; ++i) {
    input = corpus[random.below(corpus.size())];
    for (std::size_t n = 1 + random.below(5); n > 0; --n) change(input, random, corpus, words);
    if (input.size() > longest) input.resize(longest);
    run();
  }
  std::printf("%zu files, %llu changed ones, seed %llu\n", corpus.size(), static_cast<unsigned long long>(changes),
              static_cast<unsigned long long>(seed));
  return 0;
}
