#include "plan_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>

namespace shotassay::narrative {

namespace {

using namespace document;

/// "3 + 4"
std::string sum_of(const std::vector<std::size_t>& shots) {
  std::string text;
  for (const std::size_t n : shots) text += (text.empty() ? "" : " + ") + std::to_string(n);
  return text;
}

}  // namespace

std::string PlanWords::share(double reached, double wanted) const {
  const std::string text = percent_of_tests(reached);
  if (reached >= wanted - 1e-9 || text != percent_of_tests(wanted)) return text;
  // 79.6 % is not the 80 % asked for.
  for (int decimals = 1; decimals < 6; ++decimals)
    if (const std::string finer = fmt::format("{:.{}f} %", reached * 100.0, decimals);
        finer != fmt::format("{:.{}f} %", wanted * 100.0, decimals))
      return finer;
  return "just under " + percent(wanted);
}

Note PlanWords::sd_note(const SdSource& source, PlanSds sd, const std::array<std::string, 2>& setups) const {
  const auto shown = [&](double x) {
    return speed_.bare(std::sqrt(x * x + step_ * step_ / 12.0), speed_.decimals() + 1);
  };
  const bool one = sd.from == sd.to;
  const std::string sizes = one ? fmt::format("{} with both set-ups", speed_.as_typed(sd.from))
                                : fmt::format("{} with {} and {} with {}", speed_.as_typed(sd.from), setups[0],
                                              speed_.as_typed(sd.to), setups[1]);
  const std::string added =
      fmt::format(" The display's steps of {} add to it: {} {}.", speed_.as_typed(step_),
                  one ? shown(sd.from) : fmt::format("{} and {}", shown(sd.from), shown(sd.to)), speed_.unit());
  switch (source.origin) {
    case SdOrigin::entered:
      break;
    case SdOrigin::assumed:
      return {"sd_assumed", fmt::format("The SD is assumed, not measured: {} for {}. That is common practice without a "
                                        "source; a few shots of your own tell more.{}",
                                        sizes, source.shooter->words, added)};
    case SdOrigin::sheet: {
      const SdEstimate& e = *source.estimate;
      return {"sd_from_sheet",
              fmt::format("The SD comes from the {} shots of {}: {} {}, taken as the same with both set-ups, and with "
                          "confidence {} not above {} {}.{}",
                          sum_of(source.sheet_shots), shown_name(source.sheet),
                          speed_.bare(e.sd, speed_.decimals() + 1), speed_.unit(), percent(e.level.value()),
                          speed_.bare(e.upper, speed_.decimals() + 1), speed_.unit(), added)};
    }
  }
  return {"sd_entered", fmt::format("It rests on a shot SD of {}, as entered.{}", sizes, added)};
}

Note PlanWords::chance_note(const DesignPowerOptions& how, ChanceBy by, const std::optional<Chance>& chance) const {
  const std::string level = percent(how.level.value());
  const std::string whose =
      how.interval == PlannedInterval::welch
          ? fmt::format("Chances are those of Welch's plain range at confidence {}", level)
          : fmt::format("Chances are those of the range that compare gives at confidence {}", level);
  switch (by) {
    case ChanceBy::lattice: {
      std::string text = whose +
                         ", counted over all readings that normal shots can give on this display. Where the "
                         "true averages lie between two readings nobody knows: the chances are the average "
                         "over that place";
      if (chance && chance->worst_phase)
        text += fmt::format("; at the worst one it is {}", percent_of_tests(*chance->worst_phase));
      return {"method", text + "."};
    }
    case ChanceBy::quadrature:
      if (how.interval == PlannedInterval::welch)
        return {"method", whose + ", computed exactly for normal shots with the scatter that the display shows."};
      return {"method", whose +
                            ". With scatter of so many display steps that is Welch's, for which they are computed "
                            "exactly; counting every reading would change them by less than 0.5 %."};
    case ChanceBy::simulation:
      break;
  }
  std::string text =
      fmt::format("{}, from {} simulated tests, seed {}", whose, how.simulation.tests, how.simulation.seed);
  if (chance) text += fmt::format("; the standard error of the chance told is {:.2g} %", chance->error * 100.0);
  return {"monte_carlo", text + "."};
}

std::string shots_with_each(std::int64_t shots) { return fmt::format("{} shots with each of the two set-ups", shots); }

Data sd_data(const SdSource& source, PlanSds sd, std::optional<double> bow_sd) {
  const std::string origin = source.origin == SdOrigin::entered ? "entered"
                             : source.origin == SdOrigin::sheet ? "sheet"
                                                                : "assumed";
  Data::Object data{{"from", sd.from}, {"to", sd.to}, {"bow", bow_sd ? Data{*bow_sd} : Data{}}, {"origin", origin}};
  const auto& e = source.estimate;
  data.emplace_back("upper", e ? Data{Data::Object{{"sd", e->upper},
                                                   {"confidence", e->level.value()},
                                                   {"degrees_of_freedom", e->degrees_of_freedom}}}
                               : Data{});
  return data;
}

Data chance_data(const std::optional<Chance>& chance) { return chance ? Data{chance->average} : Data{}; }

std::string name(ChanceBy by) {
  return by == ChanceBy::lattice ? "lattice" : by == ChanceBy::quadrature ? "quadrature" : "simulation";
}

std::string name(PlannedInterval interval) { return interval == PlannedInterval::welch ? "welch" : "rounding_aware"; }

std::optional<Paragraph> files_written(const std::optional<PlannedFiring>& firing) {
  if (!firing || (firing->sheet.empty() && firing->page.empty())) return std::nullopt;
  const auto counts = [](const PlannedShot& shot) { return !shot.warm_up && !shot.check_standard; };
  const auto shots = static_cast<std::size_t>(std::count_if(firing->shots.begin(), firing->shots.end(), counts));
  std::string text;
  if (!firing->sheet.empty())
    text = fmt::format("{} has the {} in firing order: write each reading into it, then compare it.",
                       shown_name(firing->sheet), counted(shots, "shot"));
  if (!firing->page.empty())
    text += fmt::format("{}{} is a page with this plan and a firing sheet to print.", text.empty() ? "" : " ",
                        shown_name(firing->page));
  return Paragraph{text};
}

Data order_data(const std::optional<PlannedFiring>& firing) {
  if (!firing) return {};
  Data::List list;
  const auto text = [](const std::string& s) { return s.empty() ? Data{} : Data{s}; };
  for (const PlannedShot& shot : firing->shots)
    list.push_back(Data::Object{{"order", shot.order},
                                {"round", text(shot.round)},
                                {"setup", shot.setup},
                                {"bow", text(shot.bow)},
                                {"arrow", text(shot.arrow)},
                                {"warm_up", shot.warm_up},
                                {"check_standard", shot.check_standard}});
  return list;
}

}  // namespace shotassay::narrative
