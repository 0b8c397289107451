#include <doctest/doctest.h>

#include <string>
#include <variant>
#include <vector>

#include <shotassay/core/version.hpp>
#include <shotassay/narrative/envelope.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using shotassay::document::Data;

namespace {

std::string text_of(FoundProblem found) { return problem_text(found); }

}  // namespace

TEST_CASE("envelope: version, command, inputs, result and notes, in this order") {
  const Data out = envelope("compare", Data::Object{{"confidence", 0.95}}, Data::Object{{"unit", "fps"}},
                            {{"two_shots", "A third shot mends it."}, {"family", "One error rate."}});
  CHECK(keys_of(out) == std::vector<std::string>{"shotassay", "command", "inputs", "result", "notes"});
  CHECK(text_at(out, "shotassay") == version());
  CHECK(text_at(out, "command") == "compare");
  CHECK(number_at(at(out, "inputs"), "confidence") == 0.95);
  CHECK(text_at(at(out, "result"), "unit") == "fps");
  REQUIRE(list_at(out, "notes").size() == 2);
  CHECK(keys_of(list_at(out, "notes")[0]) == std::vector<std::string>{"code", "text"});
  CHECK(text_at(list_at(out, "notes")[1], "code") == "family");
  CHECK(text_at(list_at(out, "notes")[0], "text") == "A third shot mends it.");
  CHECK(list_at(envelope("plan", {}, {}, {}), "notes").empty());
}

TEST_CASE("problem_text: place, text found and message, each only where there is one") {
  const Problem whole{.line = 7, .column = "speed_fps", .found = "18l.2", .message = "not a number"};
  CHECK(text_of({"sheet.csv", whole}) == "sheet.csv: line 7, column speed_fps: found \"18l.2\": not a number");
  CHECK(text_of({"", whole}) == "line 7, column speed_fps: found \"18l.2\": not a number");
  CHECK(text_of({"sheet.csv", {.message = "nothing in it"}}) == "sheet.csv: nothing in it");
  CHECK(text_of({"sheet.csv", {.line = 3, .message = "no reading"}}) == "sheet.csv: line 3: no reading");
  CHECK(text_of({"sheet.csv", {.column = "setup", .message = "missing"}}) == "sheet.csv: column setup: missing");
  CHECK(text_of({"", {.message = "needs a file"}}) == "needs a file");
  CHECK(text_of({"", {.found = "--sq", .message = "no such option"}}) == "found \"--sq\": no such option");
  // A column without a name is called by its number, once.
  CHECK(text_of({"", {.line = 2, .column = "column 3", .message = "no name"}}) == "line 2, column 3: no name");
}

TEST_CASE("problem_text: names and texts from outside are made harmless") {
  const std::string text =
      text_of({"a\x1b[2J.csv", {.line = 1, .column = "x\u202e", .found = "\x07", .message = "not a number"}});
  CHECK(text == "a\\x1b[2J.csv: line 1, column x\\u202e: found \"\\x07\": not a number");
}

TEST_CASE("failure: every problem with its place, and null for what it has not") {
  const Data out = failure("compare", {{"a.csv", {.line = 7, .column = "speed_fps", .found = "18l.2", .message = "m"}},
                                       {"", {.message = "n"}}});
  CHECK(keys_of(out) == std::vector<std::string>{"shotassay", "command", "problems"});
  const auto& list = list_at(out, "problems");
  REQUIRE(list.size() == 2);
  for (const Data& problem : list)
    CHECK(keys_of(problem) == std::vector<std::string>{"file", "line", "column", "found", "message"});
  CHECK(text_at(list[0], "file") == "a.csv");
  CHECK(std::get<std::int64_t>(at(list[0], "line").value()) == 7);
  CHECK(text_at(list[0], "column") == "speed_fps");
  CHECK(text_at(list[0], "found") == "18l.2");
  for (const char* key : {"file", "line", "column", "found"}) CHECK(is_null(at(list[1], key)));
  CHECK(text_at(list[1], "message") == "n");
}
