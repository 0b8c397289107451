#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include <shotassay/studies/budget.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

BudgetFile file(const std::string& text) {
  auto result = read_budget_file(text, [](const auto&, const auto&) { return std::vector<FormulaProblem>{}; });
  for (const Problem& p : result.problems) FAIL(p.column << ": " << p.message);
  return *result.file;
}

}  // namespace

TEST_CASE("decimals_for: the digits asked for of a number as it is rounded") {
  CHECK(decimals_for(1.6, 2) == 1);
  CHECK(decimals_for(1.6, 1) == 0);
  CHECK(decimals_for(0.054, 2) == 3);
  CHECK(decimals_for(32.0, 2) == 0);
  CHECK(decimals_for(160.0, 2) == -1);
  CHECK(decimals_for(0.0996, 2) == 2);  // 0.10, not 0.100
  CHECK(decimals_for(9.96, 2) == 0);    // 10
  CHECK(decimals_for(9.94, 2) == 1);    // 9.9
  CHECK_THROWS_AS(decimals_for(0.0, 2), DomainError);
}

TEST_CASE("budget: energy in joules from grams and m/s equals half the mass times the square of the speed") {
  const BudgetFile f = file(R"({"quantity": "kinetic_energy", "unit": "J", "inputs": [
    {"name": "arrow_mass", "unit": "g", "value": 26.0, "u": 0.02},
    {"name": "speed", "unit": "m/s", "value": 87.0, "u": 0.55}]})");
  const BudgetQuestion q = budget_question(f);
  CHECK(q.level.value() == 0.95);
  const BudgetAnswer a = budget(q);
  CHECK(a.budget.estimate == digits(0.5 * 0.026 * 87 * 87, 13));
  // ∂E/∂m = v²/2 per kg = v²/2000 per g; ∂E/∂v = mv
  CHECK(a.budget.contributions[0].sensitivity == digits(87.0 * 87 / 2000, 9));
  CHECK(a.budget.contributions[1].sensitivity == digits(0.026 * 87, 9));
  CHECK(a.budget.standard_uncertainty == digits(std::hypot(87.0 * 87 / 2000 * 0.02, 0.026 * 87 * 0.55), 9));
  CHECK(a.decimals == 1);  // u = 1.25
  CHECK(a.tolerance == digits(0.05, 12));
  REQUIRE(a.monte_carlo.has_value());
  CHECK(a.monte_carlo->tolerance == digits(0.01, 9));
  CHECK_FALSE(a.differ);
  CHECK_FALSE(a.trials_preferred);
}

TEST_CASE("budget: a difference in the last digit shown that is nothing beside u leaves the law of propagation") {
  // y = x²/2 at 100 with u(x) = 0.99: the square moves both ends by about ½·(1.96·0.99)² = 1.9; u = 99 shows 0.5.
  const BudgetFile f =
      file(R"({"quantity": {"formula": "x^2/2"}, "inputs": [{"name": "x", "value": 100, "u": 0.99}]})");
  BudgetQuestion q = budget_question(f, [](std::span<const double> x) { return x[0] * x[0] / 2; });
  q.threads = 2;
  const BudgetAnswer a = budget(q);
  CHECK(a.differ);
  CHECK(a.monte_carlo->symmetric.upper - a.budget.interval.upper == within(1.9, 0.4));
  CHECK_FALSE(a.trials_preferred);
}

TEST_CASE("budget: effects add to, and scale, what they act on; a common scale error all but cancels in a gap") {
  const BudgetFile f = file(R"({"quantity": "gap", "inputs": [
    {"name": "from", "value": 281, "u": 1}, {"name": "to", "value": 284, "u": 1},
    {"name": "scale", "scales": ["from", "to"], "u": 0.003},
    {"name": "weight", "adds_to": "to", "sensitivity": 2.5, "u": 0.2},
    {"name": "both", "adds_to": ["from", "to"], "u": 0.7}]})");
  const BudgetQuestion q = budget_question(f);
  // (284 + 2.5·0.4 + 0.1)(1 + 0.01) − (281 + 0.1)(1 + 0.01)
  CHECK(q.model(std::vector<double>{281, 284, 0.01, 0.4, 0.1}) == digits(4.0 * 1.01, 12));
  const BudgetAnswer a = budget(q);
  CHECK(a.budget.contributions[2].sensitivity == digits(3.0, 8));
  CHECK(a.budget.contributions[3].sensitivity == digits(2.5, 8));
  CHECK(a.budget.contributions[4].sensitivity == within(0.0, 1e-8));
  const BudgetFile one = file(R"({"quantity": "speed", "inputs": [
    {"name": "speed", "value": 284, "u": 1}, {"name": "scale", "scales": "speed", "u": 0.003}]})");
  CHECK(budget(budget_question(one)).budget.contributions[1].sensitivity == digits(284.0, 8));
}

TEST_CASE("budget: units of the parts and of the result are converted") {
  const BudgetFile f = file(R"({"quantity": "gap", "unit": "m/s", "inputs": [
    {"name": "from", "value": 280, "u": 1}, {"name": "to", "unit": "m/s", "value": 86, "u": 0.3}]})");
  CHECK(budget_question(f).model(std::vector<double>{280, 86}) == digits(86 - 280 * 0.3048, 12));
}

TEST_CASE("budget: a formula is given the inputs it takes, in the order of the file") {
  const BudgetFile f = file(R"({"quantity": {"formula": "a - 10 * b"}, "confidence": 0.9, "inputs": [
    {"name": "effect", "adds_to": "b", "u": 0.1}, {"name": "a", "value": 7, "u": 1}, {"name": "b", "value": 2, "u": 0}]})");
  const BudgetQuestion q = budget_question(f, [](std::span<const double> x) { return x[0] - 10 * x[1]; });
  CHECK(q.model(std::vector<double>{0.5, 7, 2}) == digits(7 - 25.0, 12));
  CHECK(q.level.value() == 0.9);
  CHECK(budget(q).budget.standard_uncertainty == digits(std::sqrt(2.0), 8));
}

TEST_CASE("budget: where the quantity is no straight line the trials are preferred") {
  // y = x² at 0: the law of propagation has no first-order term from x at all.
  const BudgetFile f = file(R"({"quantity": {"formula": "x^2 + c"}, "inputs": [
    {"name": "x", "value": 0.5, "u": 1}, {"name": "c", "value": 0, "u": 0.1}]})");
  BudgetQuestion q = budget_question(f, [](std::span<const double> x) { return x[0] * x[0] + x[1]; });
  q.significant_digits = 1;
  const BudgetAnswer a = budget(q);
  CHECK(a.differ);
  CHECK(a.trials_preferred);
}

TEST_CASE("budget: five readings a side leave the law of propagation in place, three or a rectangle do not") {
  const auto answer = [](const std::string& from, const std::string& to, int digits = 1) {
    const std::string inputs = R"([{"name": "from", )" + from + R"(}, {"name": "to", )" + to + "}]";
    BudgetQuestion q = budget_question(file(R"({"quantity": "gap", "inputs": )" + inputs + "}"));
    q.significant_digits = digits;
    return budget(q);
  };
  const BudgetAnswer five =
      answer(R"("readings": [187, 186, 188, 187, 188])", R"("readings": [191, 190, 192, 191, 193])");
  CHECK(five.differ);
  CHECK_FALSE(five.trials_preferred);
  const BudgetAnswer three = answer(R"("readings": [187, 186, 188])", R"("readings": [191, 190, 192, 191, 193])");
  CHECK(three.differ);
  CHECK(three.trials_preferred);
  CHECK_FALSE(three.monte_carlo->standard_uncertainty.has_value());
  // Two equal rectangles make a triangle: its 95 % ends are nearer than 1.96 u.
  const BudgetAnswer rectangles = answer(R"("value": 187, "half_width": 2)", R"("value": 191, "half_width": 2)", 2);
  CHECK(rectangles.differ);
  CHECK(rectangles.trials_preferred);
  CHECK(rectangles.monte_carlo->symmetric.upper == within(4 + 4 * (1 - std::sqrt(0.05)), 0.02));
}

TEST_CASE("budget: without trials the law of propagation stands, with the reason") {
  const BudgetFile f = file(R"({"quantity": {"formula": "x^0.5"}, "inputs": [{"name": "x", "value": 1, "u": 0.5}]})");
  BudgetQuestion q = budget_question(f, [](std::span<const double> x) { return std::sqrt(x[0]); });
  BudgetAnswer a = budget(q);
  CHECK_FALSE(a.monte_carlo.has_value());
  CHECK(a.no_monte_carlo.find("x = -") != std::string::npos);
  CHECK_FALSE(a.trials_preferred);
  q.inputs[0].standard_uncertainty = 0.01;
  q.level = ConfidenceLevel{0.99999};
  a = budget(q);
  CHECK_FALSE(a.monte_carlo.has_value());
  CHECK(a.no_monte_carlo.find("0.9999") != std::string::npos);
  CHECK(a.budget.standard_uncertainty == digits(0.005, 8));
}

TEST_CASE("budget: correlations that contradict each other are found before anything is worked out") {
  const std::string inputs = R"("quantity": {"formula": "a+b+c"}, "inputs": [{"name": "a", "value": 1, "u": 1},
    {"name": "b", "value": 1, "u": 1}, {"name": "c", "value": 1, "u": 1}], "correlations": )";
  CHECK_THROWS_AS(require_consistent(file("{" + inputs + R"([["a","b",0.9],["a","c",0.9],["b","c",-0.9]]})")),
                  DomainError);
  CHECK_NOTHROW(require_consistent(file("{" + inputs + R"([["a","b",0.9],["a","c",0.9],["b","c",0.9]]})")));
}
