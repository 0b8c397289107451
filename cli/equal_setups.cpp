#include "equal_setups.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <cmath>

namespace shotassay::cli {

namespace {

/// One sensitivity: a value and its standard uncertainty, each of no use without the other.
struct TypedSensitivity {
  std::string name;
  const std::string &value, &uncertainty;
  double sign;
  const char* why;

  std::optional<Sensitivity> read_by(OptionReader& read) const {
    if (value.empty() && uncertainty.empty()) return std::nullopt;
    if (value.empty()) {
      read.problem(name + "-u", uncertainty, "goes with " + name);
      return std::nullopt;
    }
    const auto c = read.number(name, value);
    if (c && *c * sign < 0.0) read.problem(name, value, why);
    if (uncertainty.empty()) {
      read.problem(name, value,
                   "needs " + name + "-u, its standard uncertainty; 0 where you hold it to be exactly known");
      return std::nullopt;
    }
    constexpr double most = 1000.0;
    if (c && std::abs(*c) > most) read.problem(name, value, "no bow gains that much");
    const auto u = read.number(name + "-u", uncertainty);
    if (u && *u > most) read.problem(name + "-u", uncertainty, "no bow gains that much");
    if (u && *u < 0.0) read.problem(name + "-u", uncertainty, "a standard uncertainty is 0 or more");
    if (!c || !u || *c * sign < 0.0 || *u < 0.0 || std::abs(*c) > most || *u > most) return std::nullopt;
    return entered_sensitivity(*c, *u);
  }
};

std::optional<Sensitivity> in_unit(const std::optional<Sensitivity>& s, double factor) {
  if (!s) return std::nullopt;
  return entered_sensitivity(s->value * factor, s->standard_uncertainty * factor);
}

}  // namespace

bool EqualSetupsTyped::anything() const {
  for (const auto* text : {&per_lbf, &per_lbf_u, &per_grain, &per_grain_u, &per_inch, &per_inch_u, &bow_type})
    if (!text->empty()) return true;
  return same_arrow || same_gpp;
}

void add_equal_setups_options(CLI::App& command, EqualSetupsTyped& typed) {
  command.add_option("--per-lbf", typed.per_lbf, "Speed for one more lbf, the arrow unchanged")->type_name("SPEED");
  command.add_option("--per-lbf-u", typed.per_lbf_u, "Its standard uncertainty")->type_name("SPEED");
  command.add_option("--per-gr", typed.per_grain, "Speed for one more grain of arrow, below 0")->type_name("SPEED");
  command.add_option("--per-gr-u", typed.per_grain_u, "Its standard uncertainty")->type_name("SPEED");
  command.add_option("--per-inch", typed.per_inch, "Speed for one more inch of draw")->type_name("SPEED");
  command.add_option("--per-inch-u", typed.per_inch_u, "Its standard uncertainty")->type_name("SPEED");
  command.add_flag("--same-arrow", typed.same_arrow, "Both set-ups shot the same arrow");
  command.add_flag("--same-gpp", typed.same_gpp, "Both shot the same grains per pound");
  command.add_option("--bow-type", typed.bow_type, "recurve, longbow or compound")->type_name("TYPE");
}

EqualSetupsOptions equal_setups_options(const EqualSetupsTyped& typed, OptionReader& read) {
  EqualSetupsOptions options;
  options.per_lbf =
      TypedSensitivity{"--per-lbf", typed.per_lbf, typed.per_lbf_u, 1.0, "a stronger bow is not slower: 0 or more"}
          .read_by(read);
  options.per_grain = TypedSensitivity{"--per-gr", typed.per_grain, typed.per_grain_u, -1.0,
                                       "a heavier arrow is not faster: 0 or less, as in --per-gr=-0.2"}
                          .read_by(read);
  options.per_inch =
      TypedSensitivity{"--per-inch", typed.per_inch, typed.per_inch_u, 1.0, "a longer draw is not slower: 0 or more"}
          .read_by(read);
  if (typed.same_arrow && typed.same_gpp)
    read.problem("--same-gpp", "", "the same arrow at two draw weights is not the same grains per pound: give one");
  if (typed.same_arrow) options.arrows = ArrowMatch::same_arrow;
  if (typed.same_gpp) options.arrows = ArrowMatch::same_grains_per_pound;
  if (typed.bow_type == "recurve")
    options.bow = BowType::recurve;
  else if (typed.bow_type == "longbow")
    options.bow = BowType::longbow;
  else if (typed.bow_type == "compound")
    options.bow = BowType::compound;
  else if (!typed.bow_type.empty())
    read.problem("--bow-type", typed.bow_type, "is recurve, longbow or compound");
  return options;
}

std::vector<std::optional<EqualisedGap>> equalised_gaps(const Comparison& comparison, const Sheet& sheet,
                                                        EqualSetupsOptions options, SpeedUnit printed,
                                                        const EqualSetupsTyped& typed, OptionReader& read) {
  const double factor = Speed{1.0, printed}.in(sheet.unit);
  for (auto* entered : {&options.per_lbf, &options.per_grain, &options.per_inch}) *entered = in_unit(*entered, factor);
  options.level = comparison.level;
  options.family = Family{comparison.family};

  std::vector<SetupMeasurements> measured;
  for (const SetupOutcome& s : comparison.setups) measured.push_back(setup_measurements(sheet, s.name));
  std::vector<std::optional<EqualisedGap>> gaps(comparison.gaps.size());
  bool any = false;
  for (std::size_t g = 0; g < gaps.size(); ++g) {
    const GapOutcome& gap = comparison.gaps[g];
    const MethodOutcome& m = gap.deciding();
    const auto &from = measured[gap.from], &to = measured[gap.to];
    const auto has = [](const SetupMeasurements& s) { return s.draw_weight || s.arrow_mass || s.draw_length; };
    if (!has(from) && !has(to)) continue;
    any = true;
    if (!m.interval || !m.standard_error || !m.degrees_of_freedom) continue;
    const GapEstimate as_shot{.gap = *gap.difference,
                              .standard_error = *m.standard_error,
                              .degrees_of_freedom = *m.degrees_of_freedom,
                              .half_width = m.interval->half_width()};
    gaps[g] = equalised_gap(from, to, as_shot, options);
  }
  if (!any && typed.anything())
    read.problem(
        "compare", "",
        "the sheet gives no draw weight, arrow mass or draw length, so nothing can be brought to equal set-ups: "
        "its columns are draw_weight_lbf, arrow_mass_gr and draw_length_in");
  read.finish();
  return gaps;
}

}  // namespace shotassay::cli
