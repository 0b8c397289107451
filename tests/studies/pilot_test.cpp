#include <doctest/doctest.h>

#include <string>
#include <vector>

#include <shotassay/studies/pilot.hpp>

using namespace shotassay;

namespace {

using Groups = std::vector<std::vector<std::int64_t>>;

Groups groups(const std::string& text, const SheetOptions& options = {}) {
  const ReadResult read = read_sheet(text, options);
  REQUIRE(read.sheet);
  Groups out;
  for (const Sample& sample : repeated_shots(*read.sheet))
    out.emplace_back(sample.steps().begin(), sample.steps().end());
  return out;
}

}  // namespace

TEST_CASE("repeated_shots: a set-up's readings are one group, set-ups in order of first appearance") {
  CHECK(groups("setup,speed_fps\nB,194\nA,191\nB,196\nA,193\n") == Groups{{194, 196}, {191, 193}});
}

TEST_CASE("repeated_shots: bows and sessions of a set-up are groups of their own, a single shot is one too") {
  const std::string header = "setup,speed_fps,bow,session\n";
  CHECK(groups(header + "A,191,1,mon\nA,193,2,mon\nA,192,1,mon\nA,197,1,tue\nB,188,1,mon\nA,194,2,mon\n") ==
        Groups{{191, 192}, {193, 194}, {197}, {188}});
  // A bow of the same name with another set-up scatters about another average.
  CHECK(groups(header + "A,191,1,mon\nB,150,1,mon\nA,190,1,mon\n") == Groups{{191, 190}, {150}});
}

TEST_CASE("repeated_shots: rounds and arrows make no group, for they are part of the scatter of shots") {
  CHECK(groups("setup,speed_fps,round,arrow\nA,191,1,1\nA,193,2,2\nA,190,3,1\n") == Groups{{191, 193, 190}});
}

TEST_CASE("repeated_shots: the check standard and excluded shots are left out") {
  CHECK(groups("# check standard: club bow\nsetup,speed_fps,excluded\nclub bow,170,\nA,191,\nA,140,hit the lip\n"
               "club bow,171,\nA,193,\n") == Groups{{191, 193}});
  CHECK(groups("setup,speed_fps,excluded\nA,140,hit the lip\nB,190,\n") == Groups{{190}});
}

TEST_CASE("repeated_shots: shots of a plan that are still open add nothing") {
  CHECK(groups("# plan: shotassay 1\n# planned shots: 2 of A\n# planned shots: 2 of B\nsetup,speed_fps\nA,191\nB,\n"
               "B,\nA,\n") == Groups{{191}});
}

TEST_CASE("repeated_shots: readings are in the sheet's display steps") {
  CHECK(groups("setup,speed_mps\nA,58.2\nA,57.9\n") == Groups{{582, 579}});
  CHECK(groups("setup,speed_fps\nA,191.5\nA,192.0\n", {.display = Decimal{5, 1}}) == Groups{{383, 384}});
  const ReadResult read = read_sheet("setup,speed_fps\nA,191.5\nA,192.0\n", {.display = Decimal{5, 1}});
  CHECK(repeated_shots(*read.sheet).at(0).step().value() == 0.5);
}

TEST_CASE("strings_of_shots: each names its set-up, bow and session, the check standard's are among them") {
  const ReadResult read = read_sheet(
      "# check standard: club bow\nsetup,speed_fps,bow,session\nclub bow,170,,mon\nA,191,1,mon\nA,193,2,mon\n"
      "A,192,1,mon\nclub bow,171,,tue\n");
  REQUIRE(read.sheet);
  const Sheet& sheet = *read.sheet;
  const auto strings = strings_of_shots(sheet);
  REQUIRE(strings.size() == 4);
  CHECK(sheet.setups[strings[0].setup].check_standard);
  CHECK(sheet.label(strings[0].session) == "mon");
  CHECK(strings[0].bow == 0);
  CHECK(sheet.setups[strings[1].setup].name == "A");
  CHECK(sheet.label(strings[1].bow) == "1");
  CHECK(strings[1].shots.size() == 2);
  CHECK(sheet.label(strings[2].bow) == "2");
  CHECK(sheet.setups[strings[3].setup].check_standard);
  CHECK(sheet.label(strings[3].session) == "tue");
}

TEST_CASE("strings_of_shots: each tells its set-up, bow and session, and the check standard is among them") {
  const ReadResult read = read_sheet(
      "# check standard: club bow\nsetup,speed_fps,bow,session\nclub bow,170,,mon\nA,191,1,mon\nA,193,2,mon\n"
      "A,192,1,mon\nclub bow,171,,mon\nA,197,1,tue\n");
  REQUIRE(read.sheet);
  const Sheet& sheet = *read.sheet;
  const auto strings = strings_of_shots(sheet);
  REQUIRE(strings.size() == 4);
  const auto is = [&](std::size_t i, const char* setup, const char* bow, const char* session,
                      const std::vector<std::int64_t>& steps) {
    CAPTURE(i);
    CHECK(sheet.setups[strings[i].setup].name == setup);
    CHECK(sheet.label(strings[i].bow) == bow);
    CHECK(sheet.label(strings[i].session) == session);
    CHECK(std::vector<std::int64_t>(strings[i].shots.steps().begin(), strings[i].shots.steps().end()) == steps);
  };
  is(0, "club bow", "", "mon", {170, 171});
  is(1, "A", "1", "mon", {191, 192});
  is(2, "A", "2", "mon", {193});
  is(3, "A", "1", "tue", {197});
}
