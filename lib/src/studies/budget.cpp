#include <algorithm>
#include <cmath>
#include <limits>
#include <shotassay/studies/budget.hpp>

namespace shotassay {

namespace {

/// Size of a unit, by its name.
double size_of(std::span<const NamedUnit> units, const std::string& name) {
  const auto found = std::find_if(units.begin(), units.end(), [&](const NamedUnit& u) { return u.name == name; });
  if (found == units.end()) throw DomainError{"budget_question: no unit \"" + name + "\" here"};
  return found->size;
}

/// A named quantity in the unit of the file, of its parts in theirs.
MeasurementModel named_model(const BudgetFile& file) {
  const QuantityDefinition& quantity = definition(*file.named);
  std::vector<double> sizes;
  for (std::size_t i = 0; i < quantity.parts.size(); ++i)
    sizes.push_back(size_of(quantity.parts[i].units, file.inputs[file.parts[i]].unit));
  const double unit = size_of(quantity.units, file.unit);
  return [which = quantity.quantity, sizes, unit,
          x = std::vector<double>(sizes.size())](std::span<const double> parts) mutable {
    for (std::size_t i = 0; i < x.size(); ++i) x[i] = parts[i] * sizes[i];
    return value_of(which, x) / unit;
  };
}

/// The model of all inputs: effects act on the parts, then the quantity is worked out from these.
class WithEffects {
 public:
  WithEffects(const BudgetFile& file, MeasurementModel quantity)
      : quantity_{std::move(quantity)}, parts_{file.parts}, x_(file.inputs.size()), of_parts_(parts_.size()) {
    for (const BudgetEffect::Way way : {BudgetEffect::Way::adds, BudgetEffect::Way::scales})
      for (std::size_t i = 0; i < file.inputs.size(); ++i)
        if (const auto& effect = file.inputs[i].effect; effect && effect->way == way)
          for (const std::size_t target : effect->on) effects_.push_back({way, i, target, effect->sensitivity});
  }

  double operator()(std::span<const double> inputs) {
    x_.assign(inputs.begin(), inputs.end());
    for (const Action& a : effects_) {
      const double e = a.sensitivity * inputs[a.input];
      if (a.way == BudgetEffect::Way::adds)
        x_[a.target] += e;
      else
        x_[a.target] *= 1.0 + e;
    }
    for (std::size_t i = 0; i < parts_.size(); ++i) of_parts_[i] = x_[parts_[i]];
    return quantity_(of_parts_);
  }

 private:
  struct Action {
    BudgetEffect::Way way;
    std::size_t input, target;
    double sensitivity;
  };
  MeasurementModel quantity_;
  std::vector<std::size_t> parts_;
  std::vector<Action> effects_;
  std::vector<double> x_, of_parts_;
};

/// Does an input matter that the trials draw from a t distribution, and has each such input 4 degrees of freedom?
bool few_degrees_but_enough(const BudgetQuestion& question, const UncertaintyBudget& budget) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < question.inputs.size(); ++i) {
    const UncertainInput& x = question.inputs[i];
    const bool drawn_as_t = x.shape == InputShape::normal || x.shape == InputShape::t;
    if (drawn_as_t && budget.contributions[i].contribution > 0.0) least = std::min(least, x.degrees_of_freedom);
  }
  return least >= 4.0 && !std::isinf(least);
}

int significant_digits(const BudgetQuestion& question, double u) {
  if (!question.decimals) return question.significant_digits;
  return decimals_for(u, 1) >= *question.decimals ? 1 : 2;
}

/// Do terms of second order change u by less than 5 %?
bool near_linear(const BudgetQuestion& question, const UncertaintyBudget& budget) {
  double first_order = 0.0;
  for (const UncertaintyContribution& c : budget.contributions) first_order = std::hypot(first_order, c.contribution);
  try {
    return std::abs(second_order_uncertainty(question.model, question.inputs) / first_order - 1.0) < 0.05;
  } catch (const NoAnswer&) {
    return false;
  }
}

}  // namespace

int decimals_for(double x, int significant_digits) {
  if (!(x > 0.0) || !std::isfinite(x))
    throw DomainError{"decimals_for: needs a positive finite number, got " + std::to_string(x)};
  int decimals = significant_digits - 1 - static_cast<int>(std::floor(std::log10(x)));
  // Rounding may carry into a digit more: 0.0996 is 0.100 with three decimals, which is one digit too many.
  if (std::round(x * std::pow(10.0, decimals)) >= std::pow(10.0, significant_digits)) --decimals;
  return decimals;
}

void require_consistent(const BudgetFile& file) {
  std::vector<UncertainInput> inputs;
  for (const BudgetFileInput& input : file.inputs) inputs.push_back(input.known);
  detail::CorrelationMatrix{"require_consistent", inputs, file.correlations};
}

BudgetQuestion budget_question(const BudgetFile& file, const MeasurementModel& formula) {
  BudgetQuestion question;
  for (const BudgetFileInput& input : file.inputs) question.inputs.push_back(input.known);
  question.model = WithEffects{file, file.named ? named_model(file) : formula};
  question.correlations = file.correlations;
  if (file.confidence) question.level = *file.confidence;
  return question;
}

BudgetAnswer budget(const BudgetQuestion& question) {
  BudgetAnswer answer{
      .budget = uncertainty_budget(question.model, question.inputs, question.correlations, question.level),
      .monte_carlo = std::nullopt,
      .no_monte_carlo = {},
      .decimals = 0,
      .tolerance = 0.0,
      .differ = false,
      .trials_preferred = false};
  const int digits = significant_digits(question, answer.budget.standard_uncertainty);
  answer.decimals = decimals_for(answer.budget.standard_uncertainty, digits);
  answer.tolerance = 0.5 * std::pow(10.0, -answer.decimals);
  if (question.level.alpha() < 0.0001 * (1.0 - 1e-9)) {
    answer.no_monte_carlo = "ends so far out would take too many trials: they settle up to a level of 0.9999";
    return answer;
  }
  try {
    answer.monte_carlo = propagation(question.model, question.inputs, question.correlations, question.level,
                                     {.significant_digits = digits,
                                      .tolerance_share = 0.2,
                                      .most_trials = question.most_trials,
                                      .seed = question.seed,
                                      .threads = question.threads});
    const Interval &by_law = answer.budget.interval, &by_trials = answer.monte_carlo->symmetric;
    const double apart = std::max(std::abs(by_law.lower - by_trials.lower), std::abs(by_law.upper - by_trials.upper));
    answer.differ = apart > answer.tolerance;
    answer.trials_preferred =
        answer.differ && apart > 0.05 * answer.budget.standard_uncertainty &&
        !(few_degrees_but_enough(question, answer.budget) && near_linear(question, answer.budget));
  } catch (const NoAnswer& none) {
    answer.no_monte_carlo = none.what();
  }
  return answer;
}

}  // namespace shotassay
