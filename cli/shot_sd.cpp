#include "shot_sd.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <shotassay/core/errors.hpp>
#include <shotassay/records/same_name.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/pilot.hpp>

#include "input_sheet.hpp"

namespace shotassay::cli {

namespace {

/// "NAME=1.2" taken apart at its last "="; no name where there is none.
struct NamedSd {
  std::string name, value;
};

NamedSd named(const std::string& text) {
  const auto at = text.rfind('=');
  return at == std::string::npos ? NamedSd{"", text} : NamedSd{text.substr(0, at), text.substr(at + 1)};
}

void name_setups(const std::vector<std::string>& names, ShotSd& out, OptionReader& read) {
  if (names.empty()) return;
  if (names.size() != 2) return read.problem("--setup", names[0], "name two set-ups, or none");
  if (names[0] == names[1]) return read.problem("--setup", names[1], "named twice");
  if (same_name(names[0], names[1])) return read.problem("--setup", names[1], one_name(names[0]));
  out.setups = {names[0], names[1]};
}

/// The SDs as typed: one for both, one each in order, or one each by name.
void entered(const ShotSdOptions& typed, ShotSd& out, OptionReader& read) {
  std::vector<NamedSd> parts;
  for (const auto& text : typed.sd) parts.push_back(named(text));
  const auto has_name = [](const NamedSd& p) { return !p.name.empty(); };
  const auto how_many = std::count_if(parts.begin(), parts.end(), has_name);
  std::vector<double> values;
  for (std::size_t i = 0; i < parts.size(); ++i)
    values.push_back(read.speed("--sd", parts[i].value, typed.sd[i]).value_or(1.0));
  if (parts.size() > 2) return read.problem("--sd", typed.sd[2], "one SD for both set-ups, or one for each of the two");
  if (how_many == 0) {
    out.sd = {values.front(), values.back()};
    return;
  }
  if (how_many != 2)
    return read.problem("--sd", typed.sd.back(), "name both set-ups, as in --sd A=1 --sd B=2.5, or neither");
  if (parts[0].name == parts[1].name) return read.problem("--sd", typed.sd[1], "this set-up has its SD already");
  if (same_name(parts[0].name, parts[1].name)) return read.problem("--sd", typed.sd[1], one_name(parts[0].name));
  if (typed.setups.empty()) out.setups = {parts[0].name, parts[1].name};
  for (std::size_t i = 0; i < 2; ++i) {
    if (parts[i].name == out.setups[0])
      out.sd.from = values[i];
    else if (parts[i].name == out.setups[1])
      out.sd.to = values[i];
    else
      read.problem("--sd", typed.sd[i], "no set-up of that name is planned");
  }
}

void assumed(const std::string& name, SpeedUnit unit, ShotSd& out, OptionReader& read) {
  const auto shooter = shooter_named(name);
  if (!shooter) return read.problem("--shooter", name, "must be machine, release or fingers");
  const auto in_unit = [&](double fps) { return Speed{fps, SpeedUnit::feet_per_second}.in(unit); };
  out.sd = {in_unit(shooter->sd), in_unit(shooter->sd)};
  out.upper = PlanSds{in_unit(shooter->high), in_unit(shooter->high)};
  out.source = {.origin = narrative::SdOrigin::assumed, .shooter = shooter};
}

void from_sheet(const ShotSdOptions& typed, const std::optional<Decimal>& display, ShotSd& out) {
  const Sheet sheet = input_sheet(typed.from, {.display = display});
  const std::vector<Sample> groups = repeated_shots(sheet);
  const SdEstimate estimate = [&] {
    try {
      return sd_upper_limit(groups);
    } catch (const NoAnswer& error) {
      throw stop(no_answer, "--from " + typed.from + ": " + said(error));
    }
  }();
  out.sd = {estimate.sd, estimate.sd};
  out.upper = PlanSds{estimate.upper, estimate.upper};
  out.source = {.origin = narrative::SdOrigin::sheet, .sheet = typed.from, .estimate = estimate};
  for (const Sample& group : groups)
    if (group.size() >= 2) out.source.sheet_shots.push_back(group.size());
  out.unit = sheet.unit;
  out.display = sheet.display_step.size();
  std::vector<std::string> names;
  for (const SetUp& setup : sheet.setups)
    if (!setup.check_standard) names.push_back(setup.name);
  if (typed.setups.empty() && names.size() == 2) out.setups = {names[0], names[1]};
}

}  // namespace

void add_shot_sd_options(CLI::App& command, ShotSdOptions& options) {
  add_repeatable(command, "--sd", options.sd, "SD of a shot with both; or NAME=SD twice", "[NAME=]SD");
  command.add_option("--from", options.from, "Take the SD from this sheet, a pilot or an earlier test")
      ->type_name("SHEET");
  command.add_option("--shooter", options.shooter, "Assume the usual SD of machine, release or fingers")
      ->type_name("WHO");
  add_repeatable(command, "--setup", options.setups, "Name of a set-up; give it twice");
}

ShotSd shot_sd(const ShotSdOptions& typed, SpeedUnit unit, const std::optional<Decimal>& display, OptionReader& read) {
  ShotSd out;
  name_setups(typed.setups, out, read);
  const int ways = (typed.sd.empty() ? 0 : 1) + (typed.from.empty() ? 0 : 1) + (typed.shooter.empty() ? 0 : 1);
  if (ways == 0)
    read.problem("plan", "--sd",
                 "say how much shots scatter: --sd 1.2, --from SHEET.csv of an earlier test, or --shooter release");
  if (ways > 1) read.problem("plan", "--sd, --from, --shooter", "the SD comes from one of them");
  if (!typed.sd.empty()) entered(typed, out, read);
  if (!typed.shooter.empty()) assumed(typed.shooter, unit, out, read);
  if (ways == 1 && !typed.from.empty()) {
    read.finish();  // a wrong option is told before a file is looked at
    from_sheet(typed, display, out);
  }
  return out;
}

}  // namespace shotassay::cli
