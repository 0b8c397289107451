#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include <shotassay/narrative/budget.hpp>

#include "narrative/reading.hpp"

using namespace shotassay;
using namespace shotassay::narrative;
using document::Data;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// Two inputs and an effect; the answer as if worked out: narrative computes nothing.
struct Told {
  BudgetFile file{.title = "Test", .named = NamedQuantity::kinetic_energy, .unit = "ft·lbf"};
  BudgetQuestion question{};
  BudgetAnswer answer{.budget = {.estimate = 72.634,
                                 .contributions = {{0.181, 0.052, 0.01}, {0.509, 0.246, 0.24}, {145.2, 0.42, 0.75}},
                                 .standard_uncertainty = 0.5139,
                                 .degrees_of_freedom = 24.27,
                                 .coverage_factor = 2.064,
                                 .expanded_uncertainty = 1.0607,
                                 .interval = {71.5733, 73.6947},
                                 .stated_correlations = false},
                      .monte_carlo = PropagationResult{.estimate = 72.637,
                                                       .standard_uncertainty = 0.52,
                                                       .symmetric = {71.57, 73.70},
                                                       .shortest = {71.56, 73.69},
                                                       .trials = 250000,
                                                       .settled = true,
                                                       .tolerance = 0.001,
                                                       .errors = {0.0004, 0.0003, 0.0005, 0.00051}},
                      .no_monte_carlo = {},
                      .decimals = 2,
                      .tolerance = 0.005,
                      .differ = false,
                      .trials_preferred = false};

  Told() {
    const auto add = [&](std::string name, double x, double u, double nu, InputShape shape, std::string unit) {
      const UncertainInput known{.name = std::move(name),
                                 .estimate = x,
                                 .standard_uncertainty = u,
                                 .degrees_of_freedom = nu,
                                 .evaluation = shape == InputShape::t ? Evaluation::type_a : Evaluation::type_b,
                                 .shape = shape};
      file.inputs.push_back({.known = known, .unit = std::move(unit)});
      question.inputs.push_back(known);
    };
    add("arrow_mass", 402.3, 0.2887, infinite, InputShape::rectangular, "gr");
    add("speed", 285.1667, 0.4773, 5, InputShape::t, "fps");
    add("scale", 0, 0.002887, infinite, InputShape::triangular, "");
    file.inputs[2].effect = BudgetEffect{.way = BudgetEffect::Way::scales, .on = {1}};
  }

  BudgetStory story() const { return {answer, question, file}; }
  std::string text() const { return joined(texts_of(budget_document(story()))); }
  std::vector<std::string> codes() const {
    std::vector<std::string> out;
    for (const narrative::Note& note : budget_notes(story())) out.push_back(note.code);
    return out;
  }
  bool noted(const std::string& code) const {
    const auto all = codes();
    return std::find(all.begin(), all.end(), code) != all.end();
  }
};

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::string headline(const Told& told) {
  return blocks_of<document::Headline>(budget_document(told.story())).front().text;
}

}  // namespace

TEST_CASE("budget document: the sentence has estimate, expanded uncertainty, factor and confidence") {
  Told told;
  CHECK(headline(told) == "The kinetic energy is 72.63 ft·lbf, give or take 1.06 ft·lbf (k = 2.06, confidence 95 %).");
  told.file.named.reset();
  told.file.formula = "a";
  CHECK(has(headline(told), "The result is 72.63"));
  told.file.formula_name = "drag loss";
  told.file.unit = "";
  CHECK(headline(told) == "The drag loss is 72.63, give or take 1.06 (k = 2.06, confidence 95 %).");
}

TEST_CASE("budget document: no number of the result has a digit beyond the second of u, tens included") {
  Told told;
  told.answer.decimals = -1;
  told.answer.budget.estimate = 50000838;
  told.answer.budget.standard_uncertainty = 160;
  told.answer.budget.expanded_uncertainty = 414;
  told.answer.budget.interval = {50000424, 50001252};
  CHECK(has(headline(told), "is 50000840 ft·lbf, give or take 410 ft·lbf"));
  CHECK(has(told.text(), "from 50000420 to 50001250"));
  told.answer.budget.estimate = -4;
  CHECK(has(headline(told), "is 0 ft·lbf"));  // never −0
}

TEST_CASE("budget document: contributions stand with the largest first, each with its share") {
  const Told told;
  const auto figures = blocks_of<document::BudgetFigure>(budget_document(told.story()));
  REQUIRE(figures.size() == 1);
  const auto& rows = figures[0].rows;
  REQUIRE(rows.size() == 3);
  const std::vector<std::string> order{"scale", "speed", "arrow_mass"};
  const std::vector<double> contributions{0.42, 0.246, 0.052}, shares{0.75, 0.24, 0.01};
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(rows[i].label == order[i]);
    CHECK(rows[i].contribution == contributions[i]);
    CHECK(rows[i].share == shares[i]);
  }
  CHECK(figures[0].combined == 0.5139);
  CHECK(figures[0].unit == "ft·lbf");
  CHECK(figures[0].decimals == 2);
  const auto tables = blocks_of<document::Table>(budget_document(told.story()));
  REQUIRE(tables.size() == 1);
  CHECK(tables[0].rows[1] == std::vector<std::string>{"speed", "285.17", "0.48", "fps", "A, t", "5", "0.509"});
  CHECK(tables[0].rows[2][4] == "B, triangular");
  CHECK(tables[0].rows[0][5] == "∞");
}

TEST_CASE("budget document: an exact input is called so") {
  Told told;
  told.answer.budget.contributions = {{0.1, 0.05, 0.0001}, {-0.5, 0.2, -0.12}, {0, 0, 0}};
  told.file.inputs[2].known.standard_uncertainty = 0;
  const auto tables = blocks_of<document::Table>(budget_document(told.story()));
  CHECK(tables[0].rows[2][4].ends_with(", exact"));
  CHECK(tables[0].rows[2][2] == "0");
  CHECK(tables[0].rows[1][6] == "−0.5");
}

TEST_CASE("budget page: the document, and the methods with their sources, Monte Carlo only where there is one") {
  Told told;
  const auto document = texts_of(budget_document(told.story())), page = texts_of(budget_page(told.story()));
  REQUIRE(page.size() > document.size());
  CHECK(document[0] == "Test");  // the title, which a page has above all else
  CHECK(std::equal(document.begin() + 1, document.end(), page.begin()));
  CHECK(has(joined(page), "law of propagation: How much the result moves with each input"));
  CHECK(has(joined(page), "JCGM 101:2008, Evaluation of measurement data: Supplement 1"));
  told.answer.monte_carlo.reset();
  told.answer.no_monte_carlo = "too dear";
  CHECK_FALSE(has(joined(texts_of(budget_page(told.story()))), "JCGM 101:2008"));
}

TEST_CASE("budget document: the trials stand beside the law of propagation, with what to go by") {
  Told told;
  CHECK(has(told.text(),
            "250000 trials with seed 1, gives from 71.57 to 73.70 ft·lbf and a standard uncertainty of "
            "0.52 ft·lbf: no more than rounding apart."));
  told.answer.differ = true;  // 0.005 of 0.51 apart
  CHECK(has(told.text(), "apart by less than a twentieth"));
  told.answer.monte_carlo->symmetric = {71.2, 74.1};
  CHECK(has(told.text(), "the first range is the one to go by"));
  CHECK(has(headline(told), "give or take"));
  told.answer.trials_preferred = true;
  CHECK(headline(told) ==
        "The kinetic energy is 72.64 ft·lbf: it lies between 71.20 and 74.10 ft·lbf (Monte Carlo, confidence 95 %).");
  CHECK(has(told.text(), "That is the range to go by"));
  told.answer.monte_carlo->estimate.reset();
  CHECK(has(headline(told), "is 72.63 ft·lbf:"));  // no average: the law of propagation's estimate
  CHECK(told.noted("no_average"));
}

TEST_CASE("budget document: a range without trials says why") {
  Told told;
  told.answer.monte_carlo.reset();
  told.answer.no_monte_carlo = "the inputs reach too far";
  CHECK(has(told.text(), "There is no Monte Carlo range beside it: the inputs reach too far."));
  CHECK(told.noted("no_monte_carlo"));
  CHECK(is_null(at(budget_data(told.story()), "monte_carlo")));
}

TEST_CASE("budget notes: each is told when it holds, and not otherwise") {
  Told told;
  CHECK(told.codes() == std::vector<std::string>{"effects", "infinite_degrees"});
  told.question.correlations = {{0, 1, -0.5, true}};
  CHECK(told.noted("correlated"));
  CHECK(has(told.text(), "\"arrow_mass\" with \"speed\" −0.50, from paired readings"));
  told.answer.budget.stated_correlations = true;
  CHECK(told.noted("cautious_degrees"));
  told.file.inputs[0].known.degrees_of_freedom = 8;
  CHECK(told.noted("exact_limits"));
  told.answer.monte_carlo->standard_uncertainty.reset();
  CHECK(told.noted("no_variance"));
  told.answer.monte_carlo->settled = false;
  CHECK(told.noted("not_settled"));
  CHECK(has(told.text(), "were not settled to 0.0010 ft·lbf: their standard errors are 0.00050 and 0.00051 ft·lbf"));
  told.file.named = NamedQuantity::gap;
  CHECK(told.noted("scope"));
  CHECK_FALSE(told.noted("sign_open"));
  told.answer.budget.interval = {-1, 3};
  CHECK(told.noted("sign_open"));
}

TEST_CASE("budget document: foreign texts are shown harmless") {
  Told told;
  told.file.title = "a\x1b[1mb";
  told.file.inputs[2].known.name = "=1+1";
  CHECK(has(told.text(), "a\\x1b[1mb"));
  CHECK(has(told.text(), "\"=1+1\""));
}

TEST_CASE("budget data: every number is there in full, infinite degrees of freedom as null") {
  Told told;
  told.question.correlations = {{0, 1, 0.25}};
  const Data data = budget_data(told.story());
  CHECK(number_at(data, "estimate") == 72.634);
  CHECK(number_at(data, "degrees_of_freedom") == 24.27);
  CHECK(text_at(data, "preferred") == "law_of_propagation");
  const auto& inputs = list_at(data, "inputs");
  CHECK(is_null(at(inputs[0], "degrees_of_freedom")));
  CHECK(number_at(inputs[1], "degrees_of_freedom") == 5);
  CHECK(is_null(at(inputs[0], "acts_on")));
  CHECK(text_at(at(inputs[2], "acts_on"), "way") == "scales");
  CHECK(is_null(at(inputs[2], "unit")));
  CHECK(number_at(inputs[2], "share") == 0.75);
  CHECK(number_at(list_at(data, "correlations")[0], "coefficient") == 0.25);
  CHECK(number_at(at(at(data, "monte_carlo"), "interval"), "upper") == 73.70);
  told.answer.trials_preferred = true;
  told.answer.budget.degrees_of_freedom = infinite;
  CHECK(text_at(budget_data(told.story()), "preferred") == "monte_carlo");
  CHECK(is_null(at(budget_data(told.story()), "degrees_of_freedom")));
}
