#include <doctest/doctest.h>

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/studies/planned_test.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

const ConfidenceLevel level95{0.95};

Sheet sheet(const std::string& text) {
  const ReadResult read = read_sheet(text);
  REQUIRE(read.sheet);
  return *read.sheet;
}

/// Rows of one set-up; a text that is not a number is the reason why a shot is left out, "" a shot still open.
std::string rows(const std::string& setup, const std::vector<std::string>& readings) {
  std::string out;
  for (const auto& r : readings) {
    const bool reading = !r.empty() && r.find_first_not_of("0123456789.") == std::string::npos;
    out += setup + "," + (reading ? r + "," : "," + r) + "\n";
  }
  return out;
}

std::string planned(int a, int b, const std::string& more = "") {
  return "# plan: shotassay 1\n# planned shots: " + std::to_string(a) + " of A\n# planned shots: " + std::to_string(b) +
         " of B\n" + more + "setup,speed_fps,excluded\n";
}

PlannedTest told(const std::string& text, ConfidenceLevel level = level95) {
  const auto test = planned_test(sheet(text), level);
  REQUIRE(test);
  return *test;
}

void check_equal(const StoppingError& found, const StoppingError& expected) {
  CHECK(found.error_rate == expected.error_rate);
  CHECK(found.standard_error == expected.standard_error);
  CHECK(found.one_look == expected.one_look);
  CHECK(found.tests == expected.tests);
  CHECK(found.seed == expected.seed);
}

const std::string a4 = rows("A", {"191", "193", "190", "192"}), b4 = rows("B", {"194", "196", "197", "193"});

}  // namespace

TEST_CASE("planned_test: a sheet that no plan wrote has none") {
  CHECK(!planned_test(sheet("setup,speed_fps\nA,191\nA,193\nB,194\nB,196\n"), level95));
  // A check standard does not make it a planned one.
  CHECK(!planned_test(sheet("# check standard: club bow\nsetup,speed_fps\nclub bow,170\nA,191\nB,194\n"), level95));
}

TEST_CASE("planned_test: every planned shot with a reading or a reason is as planned, and looks at no error rate") {
  const PlannedTest full = told(planned(4, 4) + a4 + b4);
  CHECK(full.course == Course::as_planned);
  CHECK(full.open == 0);
  CHECK(!full.stopping);
  REQUIRE(full.setups.size() == 2);
  CHECK(full.setups[0].name == "A");
  CHECK(full.setups[0].planned == std::optional<std::size_t>{4});
  CHECK(full.setups[0].analysed == 4);
  CHECK(full.setups[0].excluded == 0);
  CHECK(full.setups[0].open == 0);

  const PlannedTest excluded = told(planned(4, 4) + a4 + rows("B", {"194", "hit the lip", "197", "193"}));
  CHECK(excluded.course == Course::as_planned);
  CHECK(excluded.setups[1].analysed == 3);
  CHECK(excluded.setups[1].excluded == 1);
  CHECK(!excluded.stopping);
}

TEST_CASE("planned_test: an excluded shot beside the planned number is no shot more, a reading is") {
  const PlannedTest warm = told(planned(4, 4) + a4 + b4 + rows("B", {"warm-up", "bad nock"}));
  CHECK(warm.course == Course::as_planned);
  const PlannedTest replaced = told(planned(4, 4) + a4 + rows("B", {"194", "lip", "197", "193", "195"}));
  CHECK(replaced.course == Course::as_planned);
  CHECK(told(planned(4, 4) + a4 + b4 + rows("B", {"195"})).course == Course::went_on);
}

TEST_CASE("planned_test: fewer shots, as open rows or as rows that are not there, are unfinished") {
  const PlannedTest open = told(planned(4, 4) + a4 + rows("B", {"194", "196", "", ""}));
  CHECK(open.course == Course::unfinished);
  CHECK(open.open == 2);
  CHECK(open.setups[1].open == 2);
  CHECK(open.setups[1].analysed == 2);
  const PlannedTest missing = told(planned(4, 4) + a4 + rows("B", {"194", "196"}));
  CHECK(missing.course == Course::unfinished);
  CHECK(missing.open == 0);
  // An open shot beside enough readings is still one to fire: nobody planned it away.
  CHECK(told(planned(4, 4) + a4 + b4 + rows("B", {""})).course == Course::unfinished);
}

TEST_CASE("planned_test: more shots with one set-up and fewer with the other is to have gone on") {
  CHECK(told(planned(4, 4) + a4 + rows("A", {"195"}) + rows("B", {"194", "196"})).course == Course::went_on);
}

TEST_CASE("planned_test: the check standard is neither listed nor counted") {
  const PlannedTest test =
      told(planned(4, 4, "# check standard: club bow\n") + rows("club bow", {"170", "", "171"}) + a4 + b4);
  CHECK(test.course == Course::as_planned);
  CHECK(test.open == 0);
  CHECK(test.setups.size() == 2);
}

TEST_CASE("planned_test: a set-up the plan does not know is listed without a planned number, and ends the error rate") {
  const PlannedTest test = told(planned(4, 4) + a4 + rows("B", {"194", "196"}) + rows("C", {"201", "203"}));
  REQUIRE(test.setups.size() == 3);
  CHECK(!test.setups[2].planned);
  CHECK(test.setups[2].analysed == 2);
  CHECK(test.course == Course::unfinished);
  CHECK(!test.stopping);
  // Alone it does not make the course another one.
  CHECK(told(planned(4, 4) + a4 + b4 + rows("C", {"201", "203"})).course == Course::as_planned);
}

TEST_CASE("planned_test: who stops early has looked after every shot with each from the second to the last planned") {
  // Pooled variance of the readings in steps: A 191 193 190 192 has squares 5 (ν 3), B 194 196 has 2 (ν 1): √(7/4).
  const PlannedTest test = told(planned(5, 5) + a4 + rows("A", {""}) + rows("B", {"194", "196", "", "", ""}));
  CHECK(test.from_shots == 2);
  CHECK(test.to_shots == 5);
  REQUIRE(test.stopping);
  check_equal(*test.stopping, stopping_error({2, 3, 4, 5}, std::sqrt(7.0 / 4.0)));
  // Looking four times errs more often than the 5 % of one look, by more than five standard errors.
  CHECK(test.stopping->error_rate > 0.05 + 5.0 * test.stopping->standard_error);
}

TEST_CASE("planned_test: who goes on has looked at the planned number and after every shot more") {
  const PlannedTest test = told(planned(3, 3) + a4 + b4 + rows("B", {"195", "195"}));
  CHECK(test.course == Course::went_on);
  CHECK(test.from_shots == 3);
  CHECK(test.to_shots == 6);
  // A: squares 5 (ν 3); B 194 196 197 193 195 195 about 195: 1 + 1 + 4 + 4 = 10 (ν 5): √(15/8).
  REQUIRE(test.stopping);
  check_equal(*test.stopping, stopping_error({3, 4, 5, 6}, std::sqrt(15.0 / 8.0)));
}

TEST_CASE("planned_test: the confidence level is the one given") {
  const std::string text = planned(5, 5) + a4 + rows("A", {""}) + rows("B", {"194", "196", "", "", ""});
  const ConfidenceLevel level80{0.8};
  const PlannedTest test = told(text, level80);
  REQUIRE(test.stopping);
  check_equal(*test.stopping, stopping_error({2, 3, 4, 5}, std::sqrt(7.0 / 4.0), DisplayStep{{1, 0}}, level80));
}

TEST_CASE("planned_test: the display step and the SD are the sheet's") {
  // In tenths: A 582 579 has squares 4.5 (ν 1), B 581 580 581 has 2/3 (ν 2): √((4.5 + 2/3)/3) steps.
  const PlannedTest test = told(
      "# plan: shotassay 1\n# planned shots: 3 of A\n# planned shots: 3 of B\nsetup,speed_mps\nA,58.2\nA,57.9\nA,\n"
      "B,58.1\nB,58.0\nB,58.1\n");
  REQUIRE(test.stopping);
  const DisplayStep tenth{Decimal{1, 1}};
  check_equal(*test.stopping, stopping_error({2, 3}, std::sqrt((4.5 + 2.0 / 3.0) / 3.0) * 0.1, tenth));
}

TEST_CASE("planned_test: readings that hardly differ are taken to scatter by half a display step") {
  // No scatter at all would promise that looking costs nothing.
  const PlannedTest test =
      told(planned(4, 4) + rows("A", {"191", "191", "191", ""}) + rows("B", {"194", "194", "", ""}));
  REQUIRE(test.stopping);
  check_equal(*test.stopping, stopping_error({2, 3, 4}, 0.5));
}

TEST_CASE("planned_test: the scatter is that within bows, which differ in their averages") {
  // A's bows 190 192 and 290 292: squares 2 and 2 (ν 1 each); B's one bow 194 196 195: squares 2 (ν 2). √(6/4)
  const PlannedTest test = told(
      "# plan: shotassay 1\n# planned shots: 5 of A\n# planned shots: 5 of B\nsetup,bow,speed_fps\nA,1,190\nA,1,192\n"
      "A,2,290\nA,2,292\nA,1,\nB,3,194\nB,3,196\nB,3,195\nB,3,\nB,3,\n");
  REQUIRE(test.stopping);
  check_equal(*test.stopping, stopping_error({2, 3, 4, 5}, std::sqrt(6.0 / 4.0)));
}

TEST_CASE("planned_test: no error rate is told where the shots are too few to say") {
  // One shot of B; no shot at all; two planned, so that there was no earlier look.
  CHECK(!told(planned(4, 4) + a4 + rows("B", {"194", "", "", ""})).stopping);
  CHECK(!told(planned(2, 2) + rows("A", {"", ""}) + rows("B", {"", ""})).stopping);
  const PlannedTest two = told(planned(2, 2) + rows("A", {"191", "193"}) + rows("B", {"194", ""}));
  CHECK(two.course == Course::unfinished);
  CHECK(!two.stopping);
  // One planned with each and more fired: there is no range at the planned number.
  const PlannedTest one = told(planned(1, 1) + a4 + b4);
  CHECK(one.course == Course::went_on);
  CHECK(!one.stopping);
  // More with A than its plan, not more than B's plan: nothing to look at beyond the planned number.
  const PlannedTest uneven = told(planned(2, 4) + rows("A", {"191", "193", "190"}) + b4);
  CHECK(uneven.course == Course::went_on);
  CHECK(!uneven.stopping);
}

TEST_CASE("planned_test: of a hundred shots every one is a look, of a thousand every second one and the last") {
  const auto planned_and_begun = [](std::size_t shots) {
    std::vector<std::string> a(shots), b(shots);
    a[0] = "191", a[1] = "193", b[0] = "194", b[1] = "196";
    const int n = static_cast<int>(shots);
    return told(planned(n, n) + rows("A", a) + rows("B", b));
  };
  std::vector<std::int64_t> looks;
  for (std::int64_t n = 2; n <= 100; ++n) looks.push_back(n);
  const PlannedTest hundred = planned_and_begun(100);
  CHECK(hundred.open == 196);
  CHECK(hundred.to_shots == 100);
  REQUIRE(hundred.stopping);
  check_equal(*hundred.stopping, stopping_error(looks, std::sqrt(2.0)));
  // 2 to 903 in at most 900 strides: ⌈901/900⌉ = 2; 902 and then the last.
  looks.clear();
  for (std::int64_t n = 2; n <= 902; n += 2) looks.push_back(n);
  looks.push_back(903);
  const PlannedTest many = planned_and_begun(903);
  REQUIRE(many.stopping);
  check_equal(*many.stopping, stopping_error(looks, std::sqrt(2.0)));
}

TEST_CASE("planned_test: warm-ups, as a plan declares them, are no shots left out") {
  const std::string warm = "A,,\"warm-up, declared beforehand\"\nA,188,\"warm-up, declared beforehand\"\n";
  const PlannedTest test = told(planned(4, 4) + warm + a4 + b4);
  CHECK(test.course == Course::as_planned);
  CHECK(test.setups[0].excluded == 0);
  CHECK(test.setups[0].analysed == 4);
  // Nor do they stand for shots that are missing.
  CHECK(told(planned(6, 4) + warm + a4 + b4).course == Course::unfinished);
  CHECK(told(planned(6, 4) + rows("A", {"lip", "lip"}) + a4 + b4).course == Course::as_planned);
}

TEST_CASE("planned_test: set-ups stand in the order of the plan, those it does not name after them") {
  const PlannedTest test = told(planned(4, 4) + rows("C", {"201", "203"}) + b4 + a4);
  REQUIRE(test.setups.size() == 3);
  CHECK(test.setups[0].name == "A");
  CHECK(test.setups[1].name == "B");
  CHECK(test.setups[2].name == "C");
}
