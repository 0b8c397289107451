#include <doctest/doctest.h>

#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/records/sessions.hpp>

using namespace shotassay;

namespace {

NamedSheet sheet(const std::string& name, const std::string& text) {
  const ReadResult read = read_sheet(text);
  REQUIRE(read.sheet.has_value());
  return {name, *read.sheet};
}

const std::string saturday =
    "# title: strings\n# archer: the same\nsetup,round,bow,speed_fps,draw_weight_lbf\n"
    "14 strands,1,x,191,40.5\n18 strands,1,y,188,\n18 strands,2,y,187,\n14 strands,2,x,190,\n";
const std::string sunday =
    "# title: strings\n# archer: another\nsetup,round,bow,speed_fps\n"
    "18 strands,1,y,186\n14 strands,1,z,192\n";

}  // namespace

TEST_CASE("as_sessions: each sheet is a session, set-ups are joined by name, firing orders go on") {
  const Sheet whole = as_sessions({sheet("sat.csv", saturday), sheet("sun.csv", sunday)});
  REQUIRE(whole.setups.size() == 2);
  CHECK(whole.setups[0].name == "14 strands");
  CHECK(whole.setups[0].shots == 3);
  CHECK(whole.setups[1].shots == 3);
  REQUIRE(whole.shots.size() == 6);
  std::vector<std::string> said;
  std::vector<std::int64_t> orders, readings;
  for (const Shot& shot : whole.shots) {
    said.push_back(whole.setups[shot.setup].name + "/" + std::string{whole.label(shot.session)} + "/" +
                   std::string{whole.label(shot.round)} + "/" + std::string{whole.label(shot.bow)});
    orders.push_back(shot.order);
    readings.push_back(shot.steps);
  }
  CHECK(said == std::vector<std::string>{"14 strands/sat.csv/sat.csv, 1/x", "18 strands/sat.csv/sat.csv, 1/y",
                                         "18 strands/sat.csv/sat.csv, 2/y", "14 strands/sat.csv/sat.csv, 2/x",
                                         "18 strands/sun.csv/sun.csv, 1/y", "14 strands/sun.csv/sun.csv, 1/z"});
  CHECK(orders == std::vector<std::int64_t>{1, 2, 3, 4, 5, 6});
  CHECK(readings == std::vector<std::int64_t>{191, 188, 187, 190, 186, 192});
  REQUIRE(whole.draw_weight_lbf.size() == 1);
  CHECK(whole.setups[whole.draw_weight_lbf[0].setup].name == "14 strands");
  CHECK(whole.label(whole.draw_weight_lbf[0].bow) == "x");
}

TEST_CASE("as_sessions: what the sheets agree on is kept, what they differ in is left out") {
  const Sheet whole = as_sessions({sheet("a", saturday), sheet("b", sunday)});
  CHECK(whole.title == "strings");
  CHECK(whole.archer.empty());
  const std::string tail = "setup,speed_fps\nA,191\n";
  CHECK(as_sessions({sheet("a", "# margin: 2\n" + tail), sheet("b", tail)}).margin->text() == "2");
  CHECK(as_sessions({sheet("a", "# margin: 2\n" + tail), sheet("b", "# margin: 2.0\n" + tail)}).margin.has_value());
  CHECK(!as_sessions({sheet("a", "# margin: 2\n" + tail), sheet("b", "# margin: 3\n" + tail)}).margin.has_value());
}

TEST_CASE("as_sessions: a sheet's own sessions stay apart, excluded and check shots are kept, a plan is not") {
  const std::string days =
      "# plan: shotassay 1\n# check standard: ref\nsetup,session,speed_fps,excluded\n"
      "A,1,191,\nA,2,190,\nA,2,150,clipped\nref,1,200,\nA,1,,\n";
  const Sheet whole = as_sessions({sheet("a", days), sheet("b", "setup,speed_fps\nA,191\nref,201\n")});
  CHECK(!whole.plan.has_value());
  CHECK(whole.check_standard == "ref");
  CHECK(whole.setups[1].check_standard);
  REQUIRE(whole.excluded.size() == 1);
  CHECK(whole.label(whole.excluded[0].session) == "a, 2");
  REQUIRE(whole.open.size() == 1);
  CHECK(whole.label(whole.open[0].session) == "a, 1");
  CHECK(whole.setups[0].open == 1);
  CHECK(whole.setups[0].excluded == 1);
}

TEST_CASE("as_sessions: one sheet alone is itself") {
  const Sheet whole = as_sessions({sheet("a", saturday)});
  CHECK(whole.archer == "the same");
  CHECK(whole.shots[0].session == 0);
}

TEST_CASE("as_sessions: sheets of different units, steps or the same name are no sessions of one test") {
  const NamedSheet a = sheet("a", "setup,speed_fps\nA,191\n");
  CHECK_THROWS_WITH_AS(as_sessions({a, sheet("b", "setup,speed_mps\nA,58\n")}),
                       "a and b differ in unit, fps and m/s: sheets that are compared as sessions need the same",
                       DomainError);
  CHECK_THROWS_WITH_AS(as_sessions({a, sheet("b", "setup,speed_fps\nA,191.5\n")}),
                       "a and b differ in display step, 1 and 0.1: sheets that are compared as sessions need the same",
                       DomainError);
  CHECK_THROWS_WITH_AS(as_sessions({a, a}), "a is given twice", DomainError);
  CHECK_THROWS_WITH_AS(as_sessions({}), "as_sessions: needs a sheet, got none", DomainError);
}
