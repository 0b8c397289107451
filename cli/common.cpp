#include "common.hpp"

#include <sys/ioctl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numeric>
#include <shotassay/core/decimal.hpp>
#include <shotassay/report/json.hpp>
#include <shotassay/report/text.hpp>
#include <string_view>
#include <thread>

namespace shotassay::cli {

namespace {

std::optional<double> parse(const std::string& text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

/// What is wrong with a text that is no number; a decimal comma is the likeliest slip.
const char* no_number(const std::string& text) {
  return text.find(',') == std::string::npos ? "not a number; write it like 3 or 0.5"
                                             : "not a number; write a decimal point, as in 0.5";
}

/// Letters to change, add, drop or swap with a neighbour to turn one word into the other.
std::size_t distance(const std::string& a, const std::string& b) {
  std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = i;
  std::iota(d[0].begin(), d[0].end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}

int terminal_width() {
  if (const char* columns = std::getenv("COLUMNS")) {
    int width = 0;
    const auto [end, error] = std::from_chars(columns, columns + std::strlen(columns), width);
    if (error == std::errc{} && *end == '\0' && width > 0) return std::min(width, 1000);
  }
  winsize size{};
  if (isatty(STDOUT_FILENO) && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) return size.ws_col;
  return 80;
}

bool wants_color(const std::string& color) {
  if (color != "auto") return color == "always";
  const char* no_color = std::getenv("NO_COLOR");
  const char* term = std::getenv("TERM");
  return isatty(STDOUT_FILENO) && (no_color == nullptr || *no_color == '\0') &&
         (term == nullptr || std::strcmp(term, "dumb") != 0);
}

Stop unreadable(const std::string& name, int error) {
  const auto reason = [error]() -> std::string {
    switch (error) {
      case ENOENT:
        return "there is no such file";
      case EACCES:
      case EPERM:
        return "no permission to read it";
      case EISDIR:
        return "is a directory, not a file";
      default:
        return std::string{"cannot be read: "} + std::strerror(error);
    }
  };
  return {bad_input, {{.file = name, .problem = {.line = 0, .column = {}, .found = {}, .message = reason()}}}};
}

}  // namespace

Stop stop(ExitStatus status, const std::string& message) {
  return {status, {{.file = {}, .problem = {.line = 0, .column = {}, .found = {}, .message = message}}}, false};
}

void OptionReader::problem(const std::string& option, const std::string& found, const std::string& message) {
  narrative::FoundProblem found_problem{
      .file = {},
      .problem = {.line = 0,
                  .column = {},
                  .found = {},
                  .message = option + (found.empty() ? "" : " " + found) + ": " + message}};
  const bool told = std::any_of(problems_.begin(), problems_.end(), [&](const narrative::FoundProblem& p) {
    return p.problem.message == found_problem.problem.message;
  });
  if (!told) problems_.push_back(std::move(found_problem));
}

void OptionReader::finish() const {
  if (!problems_.empty()) throw Stop{wrong_use, problems_};
}

std::optional<double> OptionReader::number(const std::string& option, const std::string& text) {
  const auto value = parse(text);
  if (!value) problem(option, text, no_number(text));
  return value;
}

std::optional<double> OptionReader::positive(const std::string& option, const std::string& text) {
  const auto value = number(option, text);
  if (value && *value <= 0.0) {
    problem(option, text, "must be more than 0");
    return std::nullopt;
  }
  return value;
}

std::optional<double> OptionReader::speed(const std::string& option, const std::string& text,
                                          const std::string& typed) {
  constexpr double most = 1e6;
  const auto value = parse(text);
  if (value && *value > 0.0 && *value <= most) return value;
  problem(option, typed.empty() ? text : typed,
          !value          ? no_number(text)
          : *value <= 0.0 ? "must be more than 0"
                          : "is beyond any speed; must be at most 1000000");
  return std::nullopt;
}

std::optional<std::uint64_t> OptionReader::whole(const std::string& option, const std::string& text,
                                                 std::uint64_t least, std::uint64_t most) {
  // Digits alone are read as they are: a 64-bit seed has more of them than a double.
  std::uint64_t digits = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), digits);
  std::optional<std::uint64_t> value;
  if (error == std::errc{} && end == text.data() + text.size())
    value = digits;
  else if (const auto real = parse(text); real && *real >= 0.0 && *real <= 9e15 && *real == std::floor(*real))
    value = static_cast<std::uint64_t>(*real);
  if (!value || *value < least || *value > most) {
    problem(option, text, "must be a whole number from " + std::to_string(least) + " to " + std::to_string(most));
    return std::nullopt;
  }
  return value;
}

std::optional<ConfidenceLevel> OptionReader::confidence(const CommonOptions& options) {
  if (options.confidence.empty()) return std::nullopt;
  const auto value = parse(options.confidence);
  if (value && *value >= 0.5 && *value < 1.0) return ConfidenceLevel{*value};
  std::string hint = "must be 0.5 or more and below 1, for example 0.95";
  if (value && *value >= 50.0 && *value < 100.0) {
    char share[32];
    const auto end = std::to_chars(share, share + sizeof share, *value / 100.0).ptr;
    hint += " (for " + options.confidence + " % write " + std::string(share, end) + ")";
  }
  problem("--confidence", options.confidence, hint);
  return std::nullopt;
}

std::optional<Power> OptionReader::power(const std::string& option, const std::string& text) {
  const auto value = parse(text);
  if (value && *value > 0.0 && *value < 1.0) return Power{*value};
  problem(option, text, "must lie between 0 and 1, for example 0.8");
  return std::nullopt;
}

std::optional<SpeedUnit> OptionReader::unit(const std::string& text) {
  if (text.empty()) return std::nullopt;
  for (const SpeedUnit u : {SpeedUnit::feet_per_second, SpeedUnit::metres_per_second})
    if (text == name(u)) return u;
  problem("--unit", text, "must be fps or m/s");
  return std::nullopt;
}

std::optional<Decimal> OptionReader::display(const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto value = Decimal::parse(text);
  if (value && value->coefficient() > 0 && value->coefficient() <= 999'999'999) return value;
  problem("--display", text, "must be the display's step: a positive decimal number such as 1 or 0.1");
  return std::nullopt;
}

unsigned OptionReader::threads(const std::string& text) {
  if (text.empty()) return std::max(1u, std::thread::hardware_concurrency());
  const auto value = whole("--threads", text, 1, 256);
  return value ? static_cast<unsigned>(*value) : 1;
}

void OptionReader::color(const std::string& text) {
  if (text != "auto" && text != "always" && text != "never") problem("--color", text, "must be auto, always or never");
}

std::string said(const std::exception& error) {
  const std::string text = error.what();
  const auto colon = text.find(": ");
  const auto name = std::string_view{text}.substr(0, colon);
  const bool function = !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
  });
  return colon != std::string::npos && function ? text.substr(colon + 2) : text;
}

std::string one_name(const std::string& other) {
  return "differs from " + other + " only in case, blanks or invisible characters: nobody could tell them apart";
}

std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  std::string best;
  std::size_t least = std::max<std::size_t>(2, word.size() / 3) + 1;
  for (const auto& candidate : known) {
    const std::size_t d = distance(word, candidate);
    const bool begins = word.size() >= 4 && candidate.starts_with(word);
    if (begins && least > 0) return candidate;
    if (d < least) {
      least = d;
      best = candidate;
    }
  }
  return best;
}

Input::Input(const std::string& file) : file_{file}, in_{file == "-" ? stdin : std::fopen(file.c_str(), "rb")} {
  if (in_ == nullptr) throw unreadable(name(), errno);
}

Input::~Input() {
  if (in_ != stdin) std::fclose(in_);
}

std::size_t Input::read(char* to, std::size_t most) {
  const std::size_t got = std::fread(to, 1, most, in_);
  if (got < most && std::ferror(in_) != 0) throw unreadable(name(), errno);
  bytes_read_ += got;
  return got;
}

std::optional<std::uint64_t> Input::size() const {
  struct stat there {};
  if (::fstat(::fileno(in_), &there) != 0 || !S_ISREG(there.st_mode)) return std::nullopt;
  return static_cast<std::uint64_t>(there.st_size);
}

std::string read_input(const std::string& file) {
  Input input{file};
  std::string text;
  char buffer[1 << 16];
  for (std::size_t got; (got = input.read(buffer, sizeof buffer)) > 0;) text.append(buffer, got);
  return text;
}

void print(const document::Document& document, const CommonOptions& options) {
  print(report::render_text(document, {.width = terminal_width(), .color = wants_color(options.color)}));
}

void print(const document::Data& data) { print(report::render_json(data)); }

void print(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0)
    throw stop(machine_failed, std::string{"the answer could not be written: "} + std::strerror(errno));
}

}  // namespace shotassay::cli
