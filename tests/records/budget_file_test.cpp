#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/records/budget_file.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

BudgetFile read(const std::string& text, const FormulaCheck& check = {}) {
  auto result = read_budget_file(text, check);
  for (const Problem& p : result.problems) FAIL(p.column << ": " << p.message);
  return *result.file;
}

/// "line pointer found: message" of every problem.
std::vector<std::string> problems(const std::string& text, const FormulaCheck& check = {}) {
  const auto result = read_budget_file(text, check);
  CHECK(result.file.has_value() == result.problems.empty());
  std::vector<std::string> out;
  for (const Problem& p : result.problems)
    out.push_back(std::to_string(p.line) + " " + p.column + " " + p.found + ": " + p.message);
  return out;
}

/// A file whose only problem is at a pointer, with these words.
void refused(const std::string& text, const std::string& place, const std::string& words) {
  const auto found = problems(text);
  CAPTURE(text);
  REQUIRE_MESSAGE(found.size() == 1, found.size() << " problems, the first: " << (found.empty() ? "" : found[0]));
  CHECK_MESSAGE(found[0].find(" " + place) != std::string::npos, found[0]);
  CHECK_MESSAGE(found[0].find(words) != std::string::npos, found[0]);
}

/// A speed from one input with these keys.
std::string speed(const std::string& keys, const std::string& more = "") {
  return R"({"quantity": "speed", "inputs": [{"name": "speed", )" + keys + "}" + more + "]}";
}

const FormulaCheck no_problem = [](const std::string&, const std::vector<std::string>&) {
  return std::vector<FormulaProblem>{};
};

}  // namespace

TEST_CASE("budget_file: a whole file is read as it stands") {
  const BudgetFile f = read(R"({
  "title": "Energy", "quantity": "kinetic_energy", "unit": "J", "confidence": 0.9,
  "inputs": [
    {"name": "speed", "unit": "m/s", "readings": [81.40, 81.6, 81.5, 81.9]},
    {"name": "arrow_mass", "unit": "g", "value": 26.1, "half_width": 0.03, "distribution": "triangular"},
    {"name": "scale", "scales": "speed", "accuracy_percent": 0.5},
    {"name": "display", "adds_to": ["speed"], "half_width": 0.05, "sensitivity": 2, "unit": "m/s"}
  ],
  "correlations": [["speed", "arrow_mass", -0.25]]
})");
  CHECK(f.title == "Energy");
  CHECK(f.named == NamedQuantity::kinetic_energy);
  CHECK(f.unit == "J");
  CHECK(f.confidence->value() == 0.9);
  REQUIRE(f.inputs.size() == 4);
  // The parts in the order of the quantity: mass, then speed.
  CHECK(f.parts == std::vector<std::size_t>{1, 0});
  const UncertainInput& readings = f.inputs[0].known;
  // Σ = 326.4, mean 81.6; deviations −.2, 0, −.1, .3: s² = .14/3, u = √(.14/12)
  CHECK(readings.estimate == 81.6);
  CHECK(readings.standard_uncertainty == digits(std::sqrt(0.14 / 12), 14));
  CHECK(readings.degrees_of_freedom == 3.0);
  CHECK(readings.evaluation == Evaluation::type_a);
  CHECK(readings.shape == InputShape::t);
  CHECK(f.inputs[0].line == 4);
  const UncertainInput& mass = f.inputs[1].known;
  CHECK(mass.standard_uncertainty == digits(0.03 / std::sqrt(6.0), 14));
  CHECK(std::isinf(mass.degrees_of_freedom));
  CHECK(mass.evaluation == Evaluation::type_b);
  const BudgetFileInput& scale = f.inputs[2];
  CHECK(scale.known.estimate == 0.0);
  CHECK(scale.known.standard_uncertainty == digits(0.005 / std::sqrt(3.0), 14));
  CHECK(scale.effect->way == BudgetEffect::Way::scales);
  CHECK(scale.effect->on == std::vector<std::size_t>{0});
  CHECK(f.inputs[3].effect->way == BudgetEffect::Way::adds);
  CHECK(f.inputs[3].effect->sensitivity == 2.0);
  REQUIRE(f.correlations.size() == 1);
  CHECK(f.correlations[0].coefficient == -0.25);
  CHECK_FALSE(f.correlations[0].simultaneous);
}

TEST_CASE("budget_file: each way to state an uncertainty gives its u") {
  const auto known = [](const std::string& keys) { return read(speed(keys)).inputs[0].known; };
  CHECK(known(R"("value": 300, "u": 1.5)").standard_uncertainty == 1.5);
  CHECK(known(R"("value": 300, "u": 1.5)").shape == InputShape::normal);
  CHECK(known(R"("value": 300, "u": 0)").standard_uncertainty == 0.0);
  CHECK(known(R"("value": 300, "half_width": 3)").standard_uncertainty == digits(std::sqrt(3.0), 14));
  CHECK(known(R"("value": 300, "half_width": 3)").shape == InputShape::rectangular);
  CHECK(known(R"("value": 300, "half_width": 3, "distribution": "arcsine")").standard_uncertainty ==
        digits(3 / std::sqrt(2.0), 14));
  CHECK(known(R"("value": -300, "accuracy_percent": 1)").standard_uncertainty == digits(std::sqrt(3.0), 14));
  const auto t = known(R"("value": 300, "u": 1, "distribution": "t", "degrees_of_freedom": 7.5, "evaluation": "A")");
  CHECK(t.shape == InputShape::t);
  CHECK(t.degrees_of_freedom == 7.5);
  CHECK(t.evaluation == Evaluation::type_a);
  CHECK(std::isinf(known(R"("value": 300, "u": 1, "degrees_of_freedom": "infinite")").degrees_of_freedom));
  // u of a distribution with limits is taken as u.
  CHECK(known(R"("value": 300, "u": 1, "distribution": "rectangular")").standard_uncertainty == 1.0);
}

TEST_CASE("budget_file: units that are not stated are the trade's, and those of a formula are as typed") {
  const BudgetFile f = read(R"({"quantity": "grains_per_pound", "inputs": [
    {"name": "arrow_mass", "value": 350, "u": 1}, {"name": "draw_weight", "value": 50, "u": 0.2, "unit": "N"}]})");
  CHECK(f.unit == "gr/lbf");
  CHECK(f.inputs[0].unit == "gr");
  CHECK(f.inputs[1].unit == "N");
  const BudgetFile g = read(R"({"quantity": {"formula": "a", "name": "length"}, "unit": "furlong",
    "inputs": [{"name": "a", "value": 1, "u": 1, "unit": "cubit"}]})",
                            no_problem);
  CHECK(g.formula == "a");
  CHECK(g.formula_name == "length");
  CHECK(g.unit == "furlong");
  CHECK(g.inputs[0].unit == "cubit");
}

TEST_CASE("budget_file: paired readings give their correlation") {
  const std::string start = R"({"quantity": {"formula": "V / I"}, "inputs": [
    {"name": "V", "readings": [5.007, 4.994, 5.005, 4.990, 4.999]},
    {"name": "I", "readings": [19.663, 19.639, 19.640, 19.685, 19.678]}, {"name": "c", "value": 1, "u": 1},
    {"name": "d", "readings": [1, 2]}], "correlations": [)";
  const BudgetFile f = read(start + R"(["V", "I", "readings"]]})", no_problem);
  CHECK(f.correlations[0].coefficient == within(-0.36, 0.005));  // JCGM 100:2008, Table H.2
  CHECK(f.correlations[0].simultaneous);
  for (const char* other : {"c", "d"}) {
    const auto found = problems(start + R"(["V", ")" + other + R"(", "readings"]]})", no_problem);
    REQUIRE(found.size() == 1);
    CHECK(found[0].find("as many readings each") != std::string::npos);
  }
}

TEST_CASE("budget_file: equal readings alone are not an uncertainty of 0") {
  const std::string equal = R"("readings": [284, 284, 284])";
  refused(speed(equal), "/inputs/0/readings", "does not mean an uncertainty of 0");
  // A scale error says nothing of the scatter either; half a display step does.
  refused(speed(equal, R"(, {"name": "s", "scales": "speed", "accuracy_percent": 1})"), "/inputs/0/readings",
          "display");
  const BudgetFile f = read(speed(equal, R"(, {"name": "display", "adds_to": "speed", "half_width": 0.5})"));
  CHECK(f.inputs[0].known.standard_uncertainty == 0.0);
  CHECK(f.inputs[0].known.estimate == 284.0);
}

TEST_CASE("budget_file: what cannot be is refused at its place") {
  const std::string ok = R"("value": 300, "u": 1)";
  refused(speed(R"("value": 300)"), "/inputs/0", "states no uncertainty");
  refused(speed(R"("value": 300, "u": 1, "half_width": 2)"), "/inputs/0", "more than one way: u, half_width");
  refused(speed(R"("u": 1)"), "/inputs/0", "has no value");
  refused(speed(R"("value": "300", "u": 1)"), "/inputs/0/value 300:", "must be a number");
  refused(speed(R"("value": 300, "u": -1)"), "/inputs/0/u -1:", "0 or more");
  refused(speed(R"("value": 300, "half_width": 0)"), "/inputs/0/half_width 0:", "more than 0");
  refused(speed(R"("value": 300, "accuracy_percent": -2)"), "/inputs/0/accuracy_percent -2:", "more than 0");
  refused(speed(R"("value": 0, "accuracy_percent": 2)"), "/inputs/0/accuracy_percent 2:", "share of the value");
  refused(speed(R"("value": 1e200, "u": 2)"), "/inputs/0/value 1e200:", "beyond");
  refused(speed(ok + R"(, "distribution": "gamma")"), "/inputs/0/distribution gamma:", "normal, rectangular");
  refused(speed(ok + R"(, "distribution": "t")"), "/inputs/0/distribution t:", "needs degrees_of_freedom");
  refused(speed(R"("value": 3, "half_width": 1, "distribution": "normal")"),
          "/inputs/0/distribution normal:", "has no half-width");
  refused(speed(ok + R"(, "degrees_of_freedom": 0.5)"), "/inputs/0/degrees_of_freedom 0.5:", "1 or more");
  refused(speed(ok + R"(, "degrees_of_freedom": "many")"), "/inputs/0/degrees_of_freedom many:", "infinite");
  refused(speed(ok + R"(, "evaluation": "C")"), "/inputs/0/evaluation C:", "A (from");
  refused(speed(ok + R"(, "valeu": 3)"), "/inputs/0/valeu valeu:", "did you mean value?");
  refused(speed(ok + R"(, "colour": 3)"), "/inputs/0/colour colour:", "there are name, unit");
  refused(speed(ok + R"(, "unit": "mph")"), "/inputs/0/unit mph:", "one of fps, m/s");
  refused(speed(ok + R"(, "unit": " ")"), "/inputs/0/unit  :", "is empty");
  refused(speed(ok + R"(, "sensitivity": 2)"), "/inputs/0/sensitivity 2:", "goes with adds_to");
  refused(speed(R"("readings": [300])"), "/inputs/0/readings a list:", "two or more readings");
  refused(speed(R"("readings": [300, 3.1e2])"), "/inputs/0/readings/1 3.1e2:", "digits alone");
  refused(speed(R"("readings": [300, "q"])"), "/inputs/0/readings/1 q:", "is not a reading");
  refused(speed(R"("readings": [1, 0.000000000000000001, 900000])"), "/inputs/0/readings a list:", "too many digits");
  refused(speed(R"("readings": [300, 301], "value": 3)"), "/inputs/0/value 3:", "beside readings");
  refused(speed(R"("readings": [300, 301], "evaluation": "A")"), "/inputs/0/evaluation A:", "which settle it");
  const auto effect = [&](const std::string& keys) { return speed(ok, R"(, {"name": "e", "u": 1, )" + keys + "}"); };
  refused(effect(R"("adds_to": "sped")"), "/inputs/1/adds_to sped:", "did you mean speed?");
  refused(effect(R"("adds_to": ["speed", "speed"])"), "/inputs/1/adds_to/1 speed:", "named twice");
  refused(effect(R"("adds_to": [])"), "/inputs/1/adds_to a list:", "names no input");
  refused(effect(R"("adds_to": 3)"), "/inputs/1/adds_to 3:", "must be the name");
  refused(effect(R"("adds_to": "e")"), "/inputs/1/adds_to e:", "acts on others itself");
  refused(effect(R"("adds_to": "speed", "scales": "speed")"), "/inputs/1", "make two inputs");
  refused(effect(R"("adds_to": "speed", "sensitivity": 0)"), "/inputs/1/sensitivity 0:", "without effect");
  refused(speed(ok, R"(, {"name": "e", "adds_to": "speed", "accuracy_percent": 1})"),
          "/inputs/1/accuracy_percent 1:", "percentage of what");
  refused(speed(ok, R"(, {"name": "e", "value": 1, "u": 1})"), "/inputs/1/name e:", "say with adds_to or scales");
  refused(speed(ok, R"(, {"name": "Speed", "adds_to": "speed", "u": 1})"), "/inputs/1/name Speed:", "has this name");
  refused(speed(ok, R"(, 3)"), "/inputs/1 3:", "must be an object");
  refused(speed(ok, R"(, {"u": 1, "adds_to": "speed"})"), "/inputs/1", "has no name");
}

TEST_CASE("budget_file: quantities, confidence and correlations that cannot be are refused") {
  const std::string inputs =
      R"("inputs": [{"name": "from", "value": 280, "u": 1}, {"name": "to", "value": 283, "u": 1}])";
  const auto file = [&](const std::string& keys) { return "{" + keys + ", " + inputs + "}"; };
  const std::string gap = R"("quantity": "gap")";
  refused(file(R"("quantity": "momentun")"), "/quantity momentun:", "did you mean momentum?");
  refused(file(R"("quantity": "torque")"), "/quantity torque:", "kinetic_energy, momentum");
  refused(file(R"("quantity": 3)"), "/quantity 3:", "must be one of");
  refused(file(R"("quantity": {"name": "x"})"), "/quantity :", "has no formula");
  refused(file(R"("title": "x")"), "", "has no quantity");
  refused(file(gap + R"(, "confidence": 95)"), "/confidence 95:", "below 1");
  refused(file(gap + R"(, "unit": "J")"), "/unit J:", "one of fps, m/s");
  refused(file(gap + R"(, "note": "x")"), "/note note:", "no such key");
  refused(file(gap + R"(, "title": 3)"), "/title 3:", "text in quotation marks");
  refused(R"({"quantity": "gap", "inputs": [{"name": "from", "value": 280, "u": 1}]})", "/inputs :", "has no input to");
  refused(R"({"quantity": "gap", "inputs": []})", "/inputs a list:", "without inputs");
  refused(R"({"quantity": "gap", "inputs": {}})", "/inputs an object:", "must be a list");
  refused(R"({"quantity": "gap"})", "", "has no inputs");
  refused("[1]", " a list:", "must be an object");
  const auto linked = [&](const std::string& r) { return file(gap + R"(, "correlations": )" + r); };
  refused(linked("3"), "/correlations 3:", "must be a list");
  refused(linked(R"([["from", "to"]])"), "/correlations/0 a list:", "two names and a coefficient");
  refused(linked(R"([["from", "too", 0.5]])"), "/correlations/0/1 too:", "no input of this name");
  refused(linked(R"([["from", 1, 0.5]])"), "/correlations/0/1 1:", "must be the name");
  refused(linked(R"([["from", "to", 1.5]])"), "/correlations/0/2 1.5:", "between -1 and 1");
  refused(linked(R"([["from", "to", "high"]])"), "/correlations/0/2 high:", "paired readings");
  refused(linked(R"([["from", "from", 0.5]])"), "/correlations/0 a list:", "with itself");
  refused(linked(R"([["from", "to", 0.5], ["to", "from", 0.5]])"), "/correlations/1 a list:", "stands here twice");
  CHECK(read(linked(R"([["from", "to", 0.5]])")).correlations.size() == 1);
}

TEST_CASE("budget_file: a formula is checked with the names of its inputs, effects left out") {
  std::vector<std::string> given;
  const FormulaCheck check = [&](const std::string& formula, const std::vector<std::string>& names) {
    given = names;
    given.insert(given.begin(), formula);
    return std::vector<FormulaProblem>{{3, "×", "is wrong"}};
  };
  const std::string text = R"({"quantity": {"formula": "a × b"},
 "inputs": [{"name": "a", "value": 1, "u": 1}, {"name": "offset of a", "adds_to": "a", "u": 1},
  {"name": "b", "value": 1, "u": 1}]})";
  const auto found = problems(text, check);
  CHECK(given == std::vector<std::string>{"a × b", "a", "b"});
  REQUIRE(found.size() == 1);
  CHECK(found[0] == "1 /quantity/formula ×: character 3 of the formula: is wrong");
  CHECK(read(text, no_problem).parts == std::vector<std::size_t>{0, 2});
  refused(text, "/quantity/formula a × b:", "cannot be read here");
  const auto named =
      problems(R"({"quantity": {"formula": "a"}, "inputs": [{"name": "the a", "value": 1, "u": 1}]})", no_problem);
  REQUIRE(named.size() == 1);
  CHECK(named[0].find("/inputs/0/name the a: cannot stand in a formula") != std::string::npos);
}

TEST_CASE("budget_file: a name with a mark that turns the reading direction is named harmlessly") {
  const auto problems = read_budget_file(R"({"quantity": "speed", "inputs": [
    {"name": "speed", "value": 300, "u": 1}, {"name": "scale\u202ex", "scales": "speed", "u": 0.01}],
    "correlations": [["scale", "speed", 0.5]]})")
                            .problems;
  REQUIRE(problems.size() == 1);
  CHECK(problems[0].message == "there is no such input; did you mean scale\\u{202E}x?");
}

TEST_CASE("budget_file: all problems of a file are told at once, in file order, each with its line") {
  const auto found = problems(R"({
  "quantity": "gap",
  "confidence": 2,
  "inputs": [
    {"name": "from", "value": "x", "u": -1},
    {"name": "to", "readings": [
      1,
      2,
      q3
    ]}
  ]
})");
  REQUIRE(found.size() == 1);  // a text that is no JSON says nothing else
  CHECK(found[0].starts_with("9 column 7 q3: is no JSON"));
  const auto more = problems(R"({
  "quantity": "gap",
  "confidence": 2,
  "inputs": [
    {"name": "from", "value": "x", "u": -1},
    {"name": "to", "readings": [
      1,
      2e0
    ]}
  ]
})");
  REQUIRE(more.size() == 4);
  CHECK(more[0].starts_with("3 /confidence 2:"));
  CHECK(more[1].starts_with("5 /inputs/0/value x:"));
  CHECK(more[2].starts_with("5 /inputs/0/u -1:"));
  CHECK(more[3].starts_with("8 /inputs/1/readings/1 2e0:"));
}

TEST_CASE("budget_file: a key that stands twice is a problem, not a choice") {
  const auto found =
      problems("{\"quantity\": \"speed\", \"inputs\": [{\"name\": \"speed\", \"value\": 1, \"u\": 1,\n\"value\": 2}]}");
  REQUIRE(found.size() == 1);
  CHECK(found[0] == "2 /inputs/0/value : stands here a second time; the first is in line 1");
}

TEST_CASE("budget_file: of very many keys the one that stands twice is found, without looking at each pair") {
  // A look at each of 2·10¹⁰ pairs would not end within the time that a test has.
  std::string text = "{\"quantity\": \"speed\",\n";
  for (int i = 0; i < 200'000; ++i) text += "\"k" + std::to_string(i) + "\": 1,\n";
  const auto found = problems(text + "\"k77\": 2}");
  const std::string expected = "200002 /k77 : stands here a second time; the first is in line 79";
  CHECK(std::count(found.begin(), found.end(), expected) == 1);
}

TEST_CASE("budget_file: what is no JSON is told with its place") {
  const auto only = [](const std::string& text) {
    const auto found = problems(text);
    REQUIRE(found.size() == 1);
    return found[0];
  };
  CHECK(only("").find("the file is empty") != std::string::npos);
  CHECK(only(" \n ").find("the file is empty") != std::string::npos);
  CHECK(only("{\"quantity\": \"gap\",").find("ends before its JSON does") != std::string::npos);
  CHECK(only("{\"quantity\": gap}").starts_with("1 column 14 gap: is no JSON"));
  CHECK(only("{\"inputs\": [NaN]}").starts_with("1 column 13 NaN"));
  CHECK(only("{\"é\": [1.]}").starts_with("1 column 8 1."));  // characters, not bytes
  CHECK(only("{\"x\": 1e999}").find("is no JSON") != std::string::npos);
  CHECK(only(std::string("{\0}", 3)).find("is not text in UTF-8") != std::string::npos);
  CHECK(only("{\"x\": \"\xff\"}").find("is not text in UTF-8") != std::string::npos);
  CHECK(only(std::string(20, '[') + std::string(20, ']')).find("nested too deep") != std::string::npos);
  CHECK(only(std::string(100000, '[')).find("nested too deep") != std::string::npos);
  CHECK(problems("\xEF\xBB\xBF" + speed(R"("value": 300, "u": 1)")).empty());  // a BOM is no problem
}
