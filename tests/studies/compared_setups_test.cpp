#include <doctest/doctest.h>

#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/studies/compared_setups.hpp>

using namespace shotassay;

namespace {

Sheet sheet_of(const std::string& text) {
  const ReadResult read = read_sheet(text);
  REQUIRE(read.problems.empty());
  return *read.sheet;
}

std::vector<std::int64_t> steps(const ComparedSetup& s) { return {s.sample->steps().begin(), s.sample->steps().end()}; }

}  // namespace

TEST_CASE("compared_setups: set-ups in order of first appearance, shots in row order, exclusions counted") {
  const auto setups = compared_setups(
      sheet_of("setup,speed_fps,excluded\n18 strands,192,\n14 strands,196,\n18 strands,191,\n14 strands,240,pinched "
               "nock\n14 strands,195,\n"));
  REQUIRE(setups.size() == 2);
  CHECK(setups[0].name == "18 strands");
  CHECK(steps(setups[0]) == std::vector<std::int64_t>{192, 191});
  CHECK(setups[0].excluded == 0);
  CHECK(setups[1].name == "14 strands");
  CHECK(steps(setups[1]) == std::vector<std::int64_t>{196, 195});
  CHECK(setups[1].excluded == 1);
}

TEST_CASE("compared_setups: a set-up whose every shot is excluded stays, without a sample") {
  const auto setups = compared_setups(sheet_of("setup,speed_fps,excluded\nA,192,\nB,196,wind\nB,197,wind\n"));
  REQUIRE(setups.size() == 2);
  CHECK(setups[0].sample.has_value());
  CHECK(!setups[1].sample.has_value());
  CHECK(setups[1].excluded == 2);
  CHECK(setups[1].bows == 1);
}

TEST_CASE("compared_setups: bows are counted by name within a set-up; without a column each set-up has one") {
  const auto setups = compared_setups(
      sheet_of("setup,speed_fps,bow\nA,192,bow 1\nA,193,bow 2\nA,191,bow 1\nB,192,bow 1\nB,190,bow 1\nC,190,\n"));
  REQUIRE(setups.size() == 3);
  CHECK(setups[0].bows == 2);
  CHECK(setups[1].bows == 1);
  CHECK(setups[2].bows == 1);
  for (const auto& s : compared_setups(sheet_of("setup,speed_fps\nA,192\nB,193\n"))) CHECK(s.bows == 1);
}

TEST_CASE("compared_setups: all samples stand on the lattice of the sheet's display") {
  const auto setups = compared_setups(sheet_of("# display: 0.5\nsetup,speed_fps\nA,192.5\nB,193\n"));
  CHECK(steps(setups[0]) == std::vector<std::int64_t>{385});
  CHECK(steps(setups[1]) == std::vector<std::int64_t>{386});
  CHECK(setups[0].sample->step().value() == 0.5);
}

TEST_CASE("compared_setups: the check standard is left out, wherever it stands") {
  const auto setups = compared_setups(
      sheet_of("# check standard: club bow\nsetup,speed_fps,bow\nclub bow,180,\nA,192,1\nclub bow,181,\nB,193,1\n"
               "B,194,2\n"));
  REQUIRE(setups.size() == 2);
  CHECK(setups[0].name == "A");
  CHECK(steps(setups[0]) == std::vector<std::int64_t>{192});
  CHECK(setups[0].bows == 1);
  CHECK(setups[1].name == "B");
  CHECK(steps(setups[1]) == std::vector<std::int64_t>{193, 194});
  CHECK(setups[1].bows == 2);
}

TEST_CASE("compared_setups: a set-up whose every shot is still open stays, without a sample") {
  const auto setups = compared_setups(sheet_of("# plan: shotassay 1\nsetup,speed_fps\nA,192\nB,\nA,\n"));
  REQUIRE(setups.size() == 2);
  CHECK(steps(setups[0]) == std::vector<std::int64_t>{192});
  CHECK(setups[1].name == "B");
  CHECK(!setups[1].sample.has_value());
  CHECK(setups[1].excluded == 0);
}

TEST_CASE("choose: those named, in the order named") {
  const auto all = compared_setups(sheet_of("setup,speed_fps\nA,192\nB,193\nC,194\n"));
  const auto chosen = choose(all, {"C", "A"});
  REQUIRE(chosen.size() == 2);
  CHECK(chosen[0].name == "C");
  CHECK(steps(chosen[0]) == std::vector<std::int64_t>{194});
  CHECK(chosen[1].name == "A");
  CHECK(choose(all, {}).empty());
}

TEST_CASE("choose: a name that does not occur, and one named twice, are the caller's mistake") {
  const auto all = compared_setups(sheet_of("setup,speed_fps\nA,192\nB,193\n"));
  CHECK_THROWS_WITH_AS(choose(all, {"A", "b"}), "no set-up is named b", DomainError);
  CHECK_THROWS_WITH_AS(choose(all, {"A", "B", "A"}), "set-up A is named twice", DomainError);
}

TEST_CASE("compared_setups: set-ups of a planned sheet come in the plan's order, whichever was shot first") {
  const auto names = [](const std::string& opening) {
    const ReadResult read = read_sheet(opening + "setup,speed_fps\nb,191\na,188\nc,187\na,190\n");
    REQUIRE(read.sheet.has_value());
    std::vector<std::string> out;
    for (const auto& setup : compared_setups(*read.sheet)) out.push_back(setup.name);
    return out;
  };
  const std::string plan = "# plan: shotassay 1\n";
  CHECK(names("") == std::vector<std::string>{"b", "a", "c"});
  CHECK(names(plan) == std::vector<std::string>{"b", "a", "c"});
  CHECK(names(plan + "# planned shots: 2 of a\n# planned shots: 1 of b\n") == std::vector<std::string>{"a", "b", "c"});
  CHECK(names(plan + "# planned shots: 1 of c\n") == std::vector<std::string>{"c", "b", "a"});
}
