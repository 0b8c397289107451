#include <doctest/doctest.h>

#include <string>
#include <vector>

#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/plan.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using namespace shotassay::document;

namespace {

using Texts = std::vector<std::string>;

PlannedShot shot(std::int64_t order, const std::string& setup, const std::string& round = "1") {
  PlannedShot s;
  s.order = order;
  s.setup = setup;
  s.round = round;
  s.bow = "bow 2";
  s.arrow = "7";
  return s;
}

PlannedFiring firing(std::vector<PlannedShot> shots) {
  PlannedFiring f{};
  f.shots = std::move(shots);
  f.seed = 7;
  return f;
}

Texts titles(const FiringSheet& sheet) {
  Texts out;
  for (const auto& column : sheet.columns) out.push_back(column.title);
  return out;
}

constexpr SpeedUnit fps = SpeedUnit::feet_per_second;

}  // namespace

TEST_CASE("firing_sheet: a row a shot in firing order, with room for what is written by hand") {
  const FiringSheet sheet = firing_sheet(firing({shot(1, "18 strands"), shot(2, "14 strands")}), fps, {});
  CHECK(titles(sheet) == Texts{"no.", "round", "set-up", "reading, fps", "draw weight, lbf", "remarks"});
  REQUIRE(sheet.rows.size() == 2);
  CHECK(sheet.rows[0] == Texts{"1", "1", "18 strands", "", "", ""});
  CHECK(sheet.rows[1] == Texts{"2", "1", "14 strands", "", "", ""});
}

TEST_CASE("firing_sheet: bows and arrows have a column where the plan has them") {
  PlannedFiring f = firing({shot(1, "A")});
  f.with_bows = true;
  CHECK(titles(firing_sheet(f, fps, {})) ==
        Texts{"no.", "round", "set-up", "bow", "reading, fps", "draw weight, lbf", "remarks"});
  CHECK(firing_sheet(f, fps, {}).rows[0] == Texts{"1", "1", "A", "bow 2", "", "", ""});
  f.with_arrows = true;
  CHECK(firing_sheet(f, fps, {}).rows[0] == Texts{"1", "1", "A", "bow 2", "7", "", "", ""});
  f.with_bows = false;
  CHECK(firing_sheet(f, fps, {}).rows[0] == Texts{"1", "1", "A", "7", "", "", ""});
  for (const auto& row : firing_sheet(f, fps, {}).rows) CHECK(row.size() == firing_sheet(f, fps, {}).columns.size());
}

TEST_CASE("firing_sheet: the title, and what the test was planned for") {
  PlannedFiring f = firing({shot(1, "A")});
  CHECK(firing_sheet(f, fps, {}).title == "Firing sheet");
  CHECK(firing_sheet(f, fps, {}).particulars.at(0) == "display 1 fps · confidence 95 % · seed 7");
  f.title = "14 against 18\x1b[2J";
  f.margin = 1.5;
  const DesignPowerOptions how{.step = DisplayStep{Decimal{1, 1}}, .level = ConfidenceLevel{0.9}};
  const FiringSheet sheet = firing_sheet(f, SpeedUnit::metres_per_second, how);
  CHECK(sheet.title == "14 against 18\\x1b[2J");
  CHECK(sheet.particulars.at(0) == "display 0.1 m/s · confidence 90 % · seed 7 · margin 1.5 m/s");
  CHECK(titles(sheet)[3] == "reading, m/s");
}

TEST_CASE("firing_sheet: which shots do not count, and before which the set-up is made anew") {
  PlannedShot warm = shot(1, "A"), anew = shot(2, "B"), plain = shot(3, "B");
  warm.warm_up = true;
  anew.set_up_anew = true;
  PlannedFiring f = firing({warm, anew, plain});
  CHECK(firing_sheet(f, fps, {}).particulars.size() == 2);
  f.change = Change::costly;
  const FiringSheet sheet = firing_sheet(f, fps, {});
  CHECK(sheet.rows[0].back() == "warm-up, does not count");
  CHECK(sheet.rows[1].back() == "set up anew");
  CHECK(sheet.rows[2].back() == "");
  REQUIRE(sheet.particulars.size() == 3);
  CHECK(sheet.particulars[2].starts_with("Set up anew before every string of shots"));
}

TEST_CASE("firing_sheet: says to leave no shot out without a cause, and holds every caution and blank line") {
  const FiringSheet sheet = firing_sheet(firing({shot(1, "A")}), fps, {});
  CHECK(sheet.particulars.at(1) ==
        "Shoot in this order. Write every reading as the display shows it. Leave a shot out only for a cause noted at "
        "the shot, and write the cause.");
  REQUIRE(sheet.cautions.size() == cautions().points.size());
  for (std::size_t i = 0; i < sheet.cautions.size(); ++i) CHECK(sheet.cautions[i] == cautions().points[i].text);
  CHECK(sheet.remarks == Texts{"Date, place, light", "Archer or machine, release", "Arrow, mass",
                               "Draw weight before / after", "Chronograph, distance", "Remarks"});
}

TEST_CASE("firing_sheet: names are shown harmless") {
  PlannedShot odd = shot(1, "=1+1", "r\u202e");
  odd.bow = "b\x07";
  PlannedFiring f = firing({odd});
  f.with_bows = true;
  CHECK(firing_sheet(f, fps, {}).rows[0] == Texts{"1", "r\\u202e", "“=1+1”", "b\\x07", "", "", ""});
}
