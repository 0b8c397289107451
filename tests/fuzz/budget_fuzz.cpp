// The reading of a budget's file, its formula, and the budget that follows from it.
#include <shotassay/core/errors.hpp>
#include <shotassay/methods/uncertainty_budget.hpp>
#include <shotassay/records/budget_file.hpp>
#include <shotassay/studies/budget.hpp>

#include <cmath>
#include <set>

#include "../../cli/formula.hpp"
#include "checks.hpp"

using namespace shotassay;
using namespace shotassay::fuzz;

namespace {

void check_file(const BudgetFile& file) {
  require(!file.inputs.empty() && !file.parts.empty());
  require(file.named.has_value() == file.formula.empty());
  std::set<std::string> names;
  for (const BudgetFileInput& input : file.inputs) {
    const UncertainInput& known = input.known;
    require(!known.name.empty() && names.insert(known.name).second);
    require(std::isfinite(known.estimate));
    require(std::isfinite(known.standard_uncertainty) && known.standard_uncertainty >= 0.0);
    require(known.degrees_of_freedom >= 1.0);
    if (!input.effect) continue;
    require(!input.effect->on.empty() && std::isfinite(input.effect->sensitivity));
    for (const std::size_t on : input.effect->on) require(on < file.inputs.size() && !file.inputs[on].effect);
  }
  std::set<std::size_t> parts;
  for (const std::size_t part : file.parts)
    require(part < file.inputs.size() && !file.inputs[part].effect && parts.insert(part).second);
  for (const Correlation& c : file.correlations) {
    require(c.first < file.inputs.size() && c.second < file.inputs.size() && c.first != c.second);
    require(c.coefficient >= -1.0 && c.coefficient <= 1.0);
  }
}

/// The law of propagation has an answer, or says why not.
void check_budget(const BudgetFile& file) {
  try {
    require_consistent(file);
    MeasurementModel formula;
    if (!file.named) {
      std::vector<std::string> names;
      for (const std::size_t part : file.parts) names.push_back(file.inputs[part].known.name);
      formula = cli::formula_function(file.formula, names);
    }
    const BudgetQuestion question = budget_question(file, formula);
    const UncertaintyBudget found =
        uncertainty_budget(question.model, question.inputs, question.correlations, question.level);
    require(std::isfinite(found.estimate));
    require(std::isfinite(found.standard_uncertainty) && found.standard_uncertainty >= 0.0);
  } catch (const DomainError&) {
  } catch (const NoAnswer&) {
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const BudgetFileResult without = read_budget_file(text);
  require(without.file.has_value() == without.problems.empty());
  require(!without.file || without.file->named);
  const BudgetFileResult read = read_budget_file(text, cli::formula_problems);
  require(read.file.has_value() == read.problems.empty());
  check_problems(read.problems, line_count(text));
  if (!read.file) return 0;
  check_file(*read.file);
  check_budget(*read.file);
  return 0;
}
