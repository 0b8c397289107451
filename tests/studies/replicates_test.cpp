#include <doctest/doctest.h>

#include <string>
#include <vector>

#include <shotassay/studies/compared_setups.hpp>
#include <shotassay/studies/replicates.hpp>

using namespace shotassay;

namespace {

std::vector<ComparedSetup> setups_of(const std::string& text) {
  const ReadResult read = read_sheet(text);
  REQUIRE(read.sheet.has_value());
  return compared_setups(*read.sheet);
}

std::vector<std::int64_t> steps(const Sample& s) { return {s.steps().begin(), s.steps().end()}; }

using Steps = std::vector<std::int64_t>;

}  // namespace

TEST_CASE("replicates: shots are gathered under their bow, round and session, in order of first appearance") {
  const auto setups = setups_of(
      "setup,bow,round,session,speed_fps\n"
      "A,x,1,sat,191\nB,y,1,sat,188\nB,z,2,sat,187\nA,w,2,sat,190\nA,x,3,sun,192\nB,y,4,sun,186\nA,w,,sun,193\n"
      "B,z,2,sun,185\n");
  REQUIRE(setups.size() == 2);
  const auto bows = bows_of(setups[0]);
  REQUIRE(bows.size() == 2);
  CHECK(steps(bows[0]) == Steps{191, 192});
  CHECK(steps(bows[1]) == Steps{190, 193});

  const auto rounds =
      rounds_of(setups[0], setups[1]);  // 3 and 4 lack one of the two, the shot without round is in none
  REQUIRE(rounds.size() == 2);
  CHECK(steps(rounds[0].a) == Steps{191});
  CHECK(steps(rounds[0].b) == Steps{188});
  CHECK(steps(rounds[1].a) == Steps{190});
  CHECK(steps(rounds[1].b) == Steps{187, 185});

  const auto sessions = sessions_of(setups[1], setups[0]);
  REQUIRE(sessions.size() == 2);
  CHECK(steps(sessions[0].a) == Steps{188, 187});
  CHECK(steps(sessions[0].b) == Steps{191, 190});
  CHECK(steps(sessions[1].a) == Steps{186, 185});
}

TEST_CASE("replicates: without names there is one bow, no round and no session; rows are no firing order") {
  const auto plain = setups_of("order,setup,speed_fps\n1,A,191\n2,B,188\n3,B,187\n4,A,190\n");
  CHECK(bows_of(plain[0]).size() == 1);
  CHECK(rounds_of(plain[0], plain[1]).empty());
  CHECK(sessions_of(plain[0], plain[1]).empty());
  const auto ordered = ordered_shots(plain);
  REQUIRE(ordered.size() == 2);
  CHECK(ordered[0].order == Steps{1, 4});
  CHECK(ordered[1].order == Steps{2, 3});
  CHECK(ordered_shots(setups_of("setup,speed_fps\nA,191\nB,188\nB,187\nA,190\n")).empty());
  CHECK(ordered_shots(setups_of("A,B\n191,188\n190,187\n")).empty());
}

TEST_CASE("replicates: a session with one shot of a set-up carries no gap of its own") {
  const auto setups = setups_of(
      "setup,session,speed_fps\nA,sat,191\nA,sat,190\nB,sat,188\nB,sat,188\nA,sun,191\nA,sun,190\nB,sun,187\n");
  CHECK(sessions_of(setups[0], setups[1]).size() == 1);
}

TEST_CASE("replicates: a set-up whose shots are all left out has no bow") {
  const auto setups = setups_of("setup,speed_fps,excluded\nA,191,clipped\nB,188,\nB,187,\n");
  CHECK(bows_of(setups[0]).empty());
  CHECK(rounds_of(setups[0], setups[1]).empty());
}
