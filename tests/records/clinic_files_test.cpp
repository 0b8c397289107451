#include <doctest/doctest.h>

#include <shotassay/records/clinic_files.hpp>

#include <string>
#include <vector>

#include "support/samples.hpp"

using namespace shotassay;

namespace {

ClinicKey key() {
  return {.seed = 7,
          .gap = 2,
          .sd = 1.2,
          .speed = 190,
          .rows = {{1, 2, sample({189, 189}), sample({193, 190}), "cannot tell"},
                   {2, 0, sample({191, 190}), sample({189, 187}), "A"}}};
}

/// "line 4, faster: found \"C\": …" of each problem, without its message.
std::vector<std::string> places(const std::vector<Problem>& problems) {
  std::vector<std::string> out;
  for (const Problem& p : problems) out.push_back(std::to_string(p.line) + " " + p.column + " " + p.found);
  return out;
}

const std::string head = "# clinic: shotassay 1\n# seed: 7\nstudent,faster\n";

}  // namespace

TEST_CASE("clinic key: what is written is read back, digits and all") {
  ClinicKey written = key();
  written.step = DisplayStep{Decimal{5, 1}};
  written.unit = SpeedUnit::metres_per_second;
  written.level = ConfidenceLevel{0.9};
  for (auto& row : written.rows) {
    row.a = Sample{{116, 117}, written.step};
    row.b = Sample{{117, 118}, written.step};
  }
  const std::string text = clinic_key_text(written);
  CHECK(text.find("1,2,58.0 58.5,58.5 59.0,cannot tell\n") != std::string::npos);
  const ClinicKeyResult read = read_clinic_key(text);
  REQUIRE(read.key);
  CHECK(read.key->seed == 7);
  CHECK(read.key->unit == SpeedUnit::metres_per_second);
  CHECK(read.key->step.size().text() == "0.5");
  CHECK(read.key->level.value() == 0.9);
  CHECK(read.key->gap == 2.0);
  CHECK(read.key->sd == 1.2);
  CHECK(read.key->speed == 190.0);
  REQUIRE(read.key->rows.size() == 2);
  CHECK(read.key->rows[1].student == 2);
  CHECK(read.key->rows[0].b.steps()[1] == 118);
  CHECK(read.key->rows[1].verdict == "A");
  CHECK(clinic_key_text(*read.key) == text);
}

TEST_CASE("clinic key: a verdict in somebody's own words is read back, commas and quotes too") {
  ClinicKey written = key();
  written.rows[0].verdict = "A, or \"B\"";
  const ClinicKeyResult read = read_clinic_key(clinic_key_text(written));
  REQUIRE(read.key);
  CHECK(read.key->rows[0].verdict == "A, or \"B\"");
}

TEST_CASE("clinic key: a seed that clinic make cannot have used is refused, for JSON would show it below 0") {
  ClinicKey written = key();
  written.seed = 9223372036854775807u;  // 2^63 - 1
  CHECK(read_clinic_key(clinic_key_text(written)).key);
  ++written.seed;
  CHECK(places(read_clinic_key(clinic_key_text(written)).problems) ==
        std::vector<std::string>{"2 seed 9223372036854775808"});
}

TEST_CASE("clinic answers: a blank sheet has a row a student and no answers") {
  const ClinicAnswersResult read = read_clinic_answers(blank_clinic_answers(key()));
  REQUIRE(read.answers);
  CHECK(read.answers->seed == 7);
  REQUIRE(read.answers->rows.size() == 2);
  for (const auto& row : read.answers->rows) CHECK_FALSE(row.faster);
  CHECK(answers_against_key(*read.answers, key()).empty());
}

TEST_CASE("clinic answers: A, B and cannot tell in any writing, semicolons, quotes, a column more") {
  const ClinicAnswersResult read = read_clinic_answers(
      "\xEF\xBB\xBF# clinic: shotassay 1;;\r\n# seed: 7;;\r\nname;student;faster\r\nx;2;b\r\n;;\r\ny;1;\"Cannot  "
      "tell\"\r\nz;3; A \r\n");
  REQUIRE(read.answers);
  REQUIRE(read.answers->rows.size() == 3);
  CHECK(read.answers->rows[0].faster == ClinicAnswer::b);
  CHECK(read.answers->rows[1].faster == ClinicAnswer::cannot_tell);
  CHECK(read.answers->rows[2].faster == ClinicAnswer::a);
  CHECK(read.answers->ignored_columns == std::vector<std::string>{"name"});
  CHECK(places(answers_against_key(*read.answers, key())) == std::vector<std::string>{"7 student 3"});
}

TEST_CASE("clinic answers: every problem at once, each with its place and the text found") {
  const ClinicAnswersResult read = read_clinic_answers(
      "# clinic: shotassay 2\n# seed: x\nstudent,faster\n1,C\nzero,A\n1,B\n3\n4,\"A\n5,A,B\n61,maybe\n");
  CHECK_FALSE(read.answers);
  CHECK(places(read.problems) == std::vector<std::string>{"1 clinic shotassay 2", "2 seed x", "4 faster C",
                                                          "5 student zero", "6 student 1", "7  ", "8 column 2 A", "9  ",
                                                          "10 student 61", "10 faster maybe"});
}

TEST_CASE("clinic answers: what is missing is named, and another lesson's answers are refused") {
  CHECK(read_clinic_answers("").problems[0].message == "the file is empty");
  CHECK(read_clinic_answers("# seed: 7\n").problems[0].message == "no row stands below the # lines");
  CHECK(read_clinic_answers("student,faster\n1,A\n").problems.size() == 2);  // the mark and the seed
  CHECK(places(read_clinic_answers("# clinic: shotassay 1\n# seed: 7\nstudent,student\n").problems) ==
        std::vector<std::string>{"3 student student", "3 faster "});
  CHECK(read_clinic_answers("PK\x03\x04\xFF").problems[0].kind == ProblemKind::not_text);
  CHECK(places(read_clinic_answers("# seed: 8\n" + head + "1,A\n").problems) == std::vector<std::string>{"3 seed 7"});
  const ClinicAnswersResult other = read_clinic_answers("# clinic: shotassay 1\n# seed: 8\nstudent,faster\n1,A\n");
  REQUIRE(other.answers);
  CHECK(places(answers_against_key(*other.answers, key())) == std::vector<std::string>{"2 seed 8"});
}

TEST_CASE("clinic key: readings off the display, too few, no numbers, and lines that are wrong or missing") {
  const std::string top =
      "# clinic: shotassay 1\n# seed: 7\n# unit: fps\n# display: 1\n# confidence: 0.95\n# gap: 2\n# sd: 1.2\n"
      "# speed: 190\nstudent,true_gap,a,b,verdict\n";
  CHECK(read_clinic_key(top + "1,2,189 190,191 192,B\n").key);
  CHECK(places(read_clinic_key(top + "1,x,189.5 190,191,B\n2,0,a b,189 190,B\n3,0,999999999999999999 1,189 190,B\n")
                   .problems) == std::vector<std::string>{"10 true_gap x", "10 a 189.5 190", "10 b 191", "11 a a b",
                                                          "12 a 999999999999999999 1"});
  CHECK(read_clinic_key(top).problems[0].message == "no student stands in it");
  CHECK(
      places(read_clinic_key("# clinic: shotassay 1\n# seed: 7\n# unit: mph\n# display: 0\n# confidence: 2\n# gap: -1\n"
                             "# sd: x\nstudent,true_gap,a,b,verdict\n1,2,189 190,191 192,B\n")
                 .problems) ==
      std::vector<std::string>{"0  ", "3 unit mph", "4 display 0", "5 confidence 2", "6 gap -1", "7 sd x"});
}
