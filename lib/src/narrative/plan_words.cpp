#include "plan_words.hpp"

#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/cautions.hpp>

#include "../document/formatted.hpp"

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
  std::string text = percent_of_tests(reached);
  if (reached >= wanted - 1e-9 || text != percent_of_tests(wanted)) return text;
  // 79.6 % is not the 80 % asked for.
  for (int decimals = 1; decimals < 6; ++decimals)
    if (std::string finer = formatted("{:.{}f} %", reached * 100.0, decimals);
        finer != formatted("{:.{}f} %", wanted * 100.0, decimals))
      return finer;
  return "just under " + percent(wanted);
}

Note PlanWords::sd_note(const SdSource& source, PlanSds sd, const std::array<std::string, 2>& setups) const {
  const auto shown = [&](double x) {
    return speed_.bare(std::sqrt(x * x + step_ * step_ / 12.0), speed_.decimals() + 1);
  };
  const bool one = sd.from == sd.to;
  const std::string sizes = one ? formatted("{} with both set-ups", speed_.as_typed(sd.from))
                                : formatted("{} with {} and {} with {}", speed_.as_typed(sd.from),
                                            shown_name(setups[0]), speed_.as_typed(sd.to), shown_name(setups[1]));
  const std::string added =
      formatted(" The display {} show steps of {}{}; with that rounding the scatter counts as {} {}.",
                source.display_entered ? "is said to" : "is taken to", speed_.as_typed(step_),
                source.display_entered ? "" : " (--display says otherwise)",
                one ? shown(sd.from) : formatted("{} and {}", shown(sd.from), shown(sd.to)), speed_.unit());
  switch (source.origin) {
    case SdOrigin::entered:
      break;
    case SdOrigin::assumed:
      return {"sd_assumed", formatted("Shot SD, assumed and not measured: {}, for {}. That is common practice without "
                                      "a source; a few shots of your own tell more.{}",
                                      sizes, source.shooter->words, added)};
    case SdOrigin::sheet: {
      const SdEstimate& e = *source.estimate;
      const std::string estimate = speed_.bare(e.sd, speed_.decimals() + 1) + " " + speed_.unit();
      const std::string upper = formatted("with confidence {} it is not above {} {}", percent(e.level.value()),
                                          speed_.bare(e.upper, speed_.decimals() + 1), speed_.unit());
      if (e.sd_of_readings == 0.0)
        return {"sd_from_sheet",
                formatted("All readings of {} ({} shots) are equal: the scatter is smaller than its display shows. An "
                          "SD of {} stands in, for which such readings are as likely as not; {}.{}",
                          shown_name(source.sheet), sum_of(source.sheet_shots), estimate, upper, added)};
      return {"sd_from_sheet",
              formatted("Shot SD from the {} shots of {}: {}, taken as the same with both set-ups; {}.{}",
                        sum_of(source.sheet_shots), shown_name(source.sheet), estimate, upper, added)};
    }
  }
  return {"sd_entered", formatted("Shot SD, as entered: {}.{}", sizes, added)};
}

Note PlanWords::chance_note(const DesignPowerOptions& how, ChanceBy by, const std::optional<Chance>& chance,
                            double wanted, std::uint64_t tests) const {
  const std::string level = percent(how.level.value());
  const std::string whose =
      how.interval == PlannedInterval::welch
          ? formatted("Chances are those of Welch's plain range at confidence {}", level)
          : formatted("Chances are those of the range that compare gives at confidence {}", level);
  switch (by) {
    case ChanceBy::lattice: {
      std::string text = whose +
                         ", counted over all readings that normal shots can give on this display. Where the true "
                         "speeds lie between two readings nobody knows: the chances are averages over all places";
      if (chance && chance->worst_phase && percent_of_tests(*chance->worst_phase) != percent_of_tests(chance->average))
        text += formatted(", for the answer {} at the worst of them", share(*chance->worst_phase, wanted));
      return {"method", text + "."};
    }
    case ChanceBy::quadrature:
      if (how.interval == PlannedInterval::welch)
        return {"method",
                whose +
                    ", computed for normal shots as if their readings were not rounded, with the scatter that the "
                    "display shows: good from an SD of one display step and five shots on, too high below."};
      return {"method", whose +
                            ". With scatter of so many display steps that is Welch's, for which they are computed "
                            "exactly; counting every reading would change them by less than 0.5 %."};
    case ChanceBy::simulation:
      break;
  }
  std::string text = formatted("{}, from {} simulated tests, seed {}", whose, tests, how.simulation.seed);
  if (chance) text += formatted("; the standard error of the chance told is {:.2g} %", chance->error * 100.0);
  return {"monte_carlo", text + "."};
}

std::string shots_with_each(std::int64_t shots) { return formatted("{} shots with each of the two set-ups", shots); }

void add_footing(Document& out, const std::vector<Note>& notes) {
  out.blocks.push_back(Heading{"What this rests on"});
  Points rests;
  for (const Note& note : notes) rests.points.push_back({"", note.text});
  out.blocks.push_back(std::move(rests));
  out.blocks.push_back(Heading{"Before you shoot"});
  out.blocks.push_back(cautions());
}

Data sd_data(const SdSource& source, PlanSds sd, std::optional<double> bow_sd, std::optional<PlanSds> upper) {
  const std::string origin = source.origin == SdOrigin::entered ? "entered"
                             : source.origin == SdOrigin::sheet ? "sheet"
                                                                : "assumed";
  Data::Object data{{"from", sd.from}, {"to", sd.to}, {"bow", bow_sd ? Data{*bow_sd} : Data{}}, {"origin", origin}};
  const auto& e = source.estimate;
  const auto if_estimated = [&](double x) { return e ? Data{x} : Data{}; };
  data.emplace_back("upper",
                    upper ? Data{Data::Object{{"sd", std::max(upper->from, upper->to)},
                                              {"confidence", if_estimated(e ? e->level.value() : 0.0)},
                                              {"degrees_of_freedom", if_estimated(e ? e->degrees_of_freedom : 0.0)}}}
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
  std::size_t warm_ups = 0, checks = 0;
  for (const PlannedShot& shot : firing->shots)
    (shot.warm_up ? warm_ups : checks) += shot.warm_up || shot.check_standard;
  const std::size_t all = firing->shots.size();
  std::string text;
  if (!firing->sheet.empty()) {
    text = formatted("{} has {} in firing order", shown_name(firing->sheet), counted(all, "shot"));
    if (warm_ups + checks > 0) {
      std::vector<std::string> parts{formatted("{} that count", all - warm_ups - checks)};
      if (warm_ups > 0) parts.push_back(counted(warm_ups, "warm-up"));
      if (checks > 0) parts.push_back(formatted("{} of the check standard", checks));
      text += ": " + listed(parts);
    }
    text += ". Write each reading into it, then compare it.";
  }
  if (!firing->page.empty())
    text += formatted("{}{} is a page with this plan and a firing sheet to print.", text.empty() ? "" : " ",
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
