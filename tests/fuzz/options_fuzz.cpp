// What turns the words of a command line into values. An input is words with line ends between them.
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/errors.hpp>
#include <shotassay/studies/gap_budget.hpp>
#include <shotassay/studies/rating.hpp>
#include <shotassay/studies/reported_conditions.hpp>

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <charconv>
#include <cmath>

#include "../../cli/audit_options.hpp"
#include "../../cli/common.hpp"
#include "../../cli/equal_setups.hpp"
#include "../../cli/formula.hpp"
#include "../../cli/shot_sd.hpp"
#include "checks.hpp"

using namespace shotassay;
using namespace shotassay::cli;
using namespace shotassay::fuzz;

namespace {

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words;
  while (words.size() < 40) {
    const std::size_t end = text.find('\n');
    words.emplace_back(text.substr(0, end));
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return words;
}

/// What went wrong is told, and as JSON too; true when nothing did.
bool nothing_wrong(const OptionReader& read) {
  try {
    read.finish();
    return true;
  } catch (const Stop& stopped) {
    require(stopped.status == wrong_use && !stopped.problems.empty());
    for (const auto& found : stopped.problems) require(!found.problem.message.empty() && found.problem.line == 0);
    require(is_json(report::render_json(narrative::failure("fuzz", stopped.problems))));
    return false;
  }
}

/// There is a value, or it is told why not; never both, never neither.
template <class Value, class Read>
std::optional<Value> value_or_reason(Read one) {
  OptionReader read;
  const std::optional<Value> value = one(read);
  require(value.has_value() == nothing_wrong(read));
  return value;
}

void check_decimal(const std::string& word) {
  const auto decimal = Decimal::parse(word);
  const auto with_comma = Decimal::parse(word, ',');
  if (with_comma && word.find(',') == std::string::npos) require(decimal.has_value());
  if (!decimal) return;
  const auto again = Decimal::parse(decimal->text());
  require(again && again->coefficient() == decimal->coefficient() && again->decimals() == decimal->decimals());
  double value = 0;
  const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
  require(error == std::errc{} && end == word.data() + word.size());
  // Digits over a power of ten: two roundings, and a third in what they are held against.
  require(std::abs(decimal->value() - value) <= 4e-16 * std::abs(value));
  if (const auto finer = decimal->with_decimals(decimal->decimals() + 2))
    require(finer->decimals() == decimal->decimals() + 2);
}

void check_word(const std::string& word) {
  check_decimal(word);
  if (const auto x = value_or_reason<double>([&](auto& read) { return read.number("--x", word); })) {
    require(std::isfinite(*x));
    char buffer[64];
    const std::string shortest(buffer, std::to_chars(buffer, buffer + sizeof buffer, *x).ptr);
    OptionReader read;
    require(read.number("--x", shortest) == x);
  }
  const auto positive = value_or_reason<double>([&](auto& read) { return read.positive("--x", word); });
  require(!positive || *positive > 0.0);
  const auto speed = value_or_reason<double>([&](auto& read) { return read.speed("--x", word); });
  require(!speed || (*speed > 0.0 && *speed <= 1e6));
  const auto whole = value_or_reason<std::uint64_t>([&](auto& read) { return read.whole("--x", word, 3, 1000); });
  require(!whole || (*whole >= 3 && *whole <= 1000));
  value_or_reason<std::uint64_t>([&](auto& read) { return read.whole("--x", word, 0, INT64_MAX); });
  const auto power = value_or_reason<Power>([&](auto& read) { return read.power("--x", word); });
  require(!power || (power->value() > 0.0 && power->value() < 1.0));
  if (!word.empty()) {
    value_or_reason<SpeedUnit>([&](auto& read) { return read.unit(word); });
    CommonOptions common;
    common.confidence = word;
    const auto level = value_or_reason<ConfidenceLevel>([&](auto& read) { return read.confidence(common); });
    require(!level || (level->value() >= 0.5 && level->value() < 1.0));
    if (const auto step = value_or_reason<Decimal>([&](auto& read) { return read.display(word); }))
      require(DisplayStep{*step}.value() > 0.0);
    OptionReader threads;
    const unsigned n = threads.threads(word);
    require(n >= 1 && n <= 256);
    nothing_wrong(threads);
  }
  value_or_reason<std::pair<std::int64_t, std::int64_t>>([&](auto& read) { return printed_shots(word, read); });
  value_or_reason<Decimal>([&](auto& read) { return printed_decimal("--average", word, read); });
  if (const auto accuracy = stated_accuracy(word, SpeedUnit::feet_per_second))
    require(accuracy->relative + accuracy->absolute >= 1e-6 && accuracy->relative < 1.0 && accuracy->absolute <= 4e6);
  rating_named(word);
  reported_item_named(word);
}

void check_formula(const std::string& text) {
  const std::vector<std::string> names{"a", "b_2"};
  const auto problems = formula_problems(text, names);
  for (const auto& problem : problems) {
    require(!problem.message.empty());
    require(problem.character >= 1 && problem.character <= text.size() + 1);
  }
  if (!problems.empty()) return;
  auto formula = formula_function(text, names);
  const double at[] = {1.5, 0.25};
  const double once = formula(at);
  auto copy = formula;
  const double again = copy(at);
  require(once == again || (std::isnan(once) && std::isnan(again)));
}

/// The words as options of `audit`, up to the figures they give.
void check_audit(const std::vector<std::string>& words) {
  CLI::App app{"fuzz", "audit"};
  AuditOptionsTyped typed;
  add_audit_options(app, typed);
  app.allow_extras();
  try {
    app.parse(std::vector<std::string>(words.rbegin(), words.rend()));
  } catch (const CLI::Error&) {
    return;
  }
  OptionReader read;
  PublishedClaim claim;
  read_rules(typed, claim, read);
  const auto display = read.display(typed.common.display);
  if (!nothing_wrong(read)) return;
  read_published(typed, claim, display, read);
  if (!nothing_wrong(read)) return;
  require(!claim.setups.empty());
  for (const PublishedSetup& s : claim.setups) {
    const ReportedFigures& f = s.reported.figures;
    require(!s.reported.name.empty() && f.shots >= 1 && f.shots <= 1000);
    require(!s.reported.most_shots || (*s.reported.most_shots > f.shots && *s.reported.most_shots <= 1000));
    require(!f.average || f.average->coefficient() > 0);
    require(!f.sd || f.sd->coefficient() >= 0);
  }
}

/// The words as values of --sd and --setup, and of what makes set-ups equal.
void check_plan(const std::vector<std::string>& words) {
  ShotSdOptions typed;
  for (const std::string& word : words) (word.find('=') == std::string::npos ? typed.setups : typed.sd).push_back(word);
  if (typed.sd.empty()) std::swap(typed.sd, typed.setups);
  OptionReader read;
  const ShotSd found = shot_sd(typed, SpeedUnit::feet_per_second, std::nullopt, read);
  if (nothing_wrong(read)) {
    for (const double sd : {found.sd.from, found.sd.to}) require(sd > 0.0 && sd <= 1e6);
    require(found.setups[0] != found.setups[1]);
  }
  EqualSetupsTyped equal;
  std::string* const places[] = {&equal.per_lbf,  &equal.per_lbf_u,  &equal.per_grain, &equal.per_grain_u,
                                 &equal.per_inch, &equal.per_inch_u, &equal.bow_type};
  for (std::size_t i = 0; i < words.size() && i < std::size(places); ++i) *places[i] = words[i];
  OptionReader of_equal;
  const EqualSetupsOptions options = equal_setups_options(equal, of_equal);
  if (!nothing_wrong(of_equal)) return;
  if (options.per_lbf) require(options.per_lbf->value >= 0.0 && options.per_lbf->standard_uncertainty >= 0.0);
  if (options.per_grain) require(options.per_grain->value <= 0.0 && options.per_grain->standard_uncertainty >= 0.0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text{text_of(data, size)};
  const auto words = words_of(text);
  for (const std::string& word : words) check_word(word);
  check_formula(text);
  check_audit(words);
  check_plan(words);
  return 0;
}
