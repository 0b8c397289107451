#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "../document/formatted.hpp"
#include "wording.hpp"

namespace shotassay::narrative {

document::FiringSheet firing_sheet(const PlannedFiring& firing, SpeedUnit unit, const DesignPowerOptions& how) {
  const SpeedWords speed{how.step, unit, unit};
  document::FiringSheet sheet{.title = firing.title.empty() ? "Firing sheet" : document::printable(firing.title),
                              .particulars = {},
                              .columns = {{"no.", true}, {"round"}, {"set-up"}},
                              .rows = {},
                              .remarks = {"Date, place, light", "Archer or machine, release", "Arrow, mass",
                                          "Draw weight before / after", "Chronograph, distance", "Remarks"},
                              .cautions = {}};
  std::string particulars = formatted("display {} · confidence {} · seed {}", speed.as_typed(how.step.value()),
                                      percent(how.level.value()), firing.seed);
  if (firing.margin) particulars += " · margin " + speed.as_typed(*firing.margin);
  sheet.particulars.push_back(std::move(particulars));
  sheet.particulars.push_back(
      "Shoot in this order. Write every reading as the display shows it. Leave a shot out only for a cause noted at "
      "the "
      "shot, and write the cause.");
  if (firing.change == Change::costly)
    sheet.particulars.push_back(
        "Set up anew before every string of shots, also where two strings of one set-up meet: the re-setting is what "
        "is "
        "repeated.");
  if (firing.with_bows) sheet.columns.push_back({"bow"});
  if (firing.with_arrows) sheet.columns.push_back({"arrow"});
  sheet.columns.push_back({formatted("reading, {}", speed.unit())});
  sheet.columns.push_back({"draw weight, lbf"});
  sheet.columns.push_back({"remarks"});
  for (const PlannedShot& shot : firing.shots) {
    std::vector<std::string> row{std::to_string(shot.order), document::printable(shot.round),
                                 document::shown_name(shot.setup)};
    if (firing.with_bows) row.push_back(document::printable(shot.bow));
    if (firing.with_arrows) row.push_back(document::printable(shot.arrow));
    row.insert(row.end(), {"", "", shot.warm_up ? "warm-up, does not count" : shot.set_up_anew ? "set up anew" : ""});
    sheet.rows.push_back(std::move(row));
  }
  for (const auto& point : cautions().points) sheet.cautions.push_back(point.text);
  return sheet;
}

}  // namespace shotassay::narrative
