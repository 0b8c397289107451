#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/budget.hpp>

#include "../document/formatted.hpp"
#include "method_words.hpp"
#include "wording.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

/// A number to so many decimals; −1 rounds to tens.
std::string to_place(double x, int decimals) {
  if (decimals >= 0) return fixed(x, decimals);
  const double unit = std::pow(10.0, -decimals);
  return fixed(std::round(x / unit) * unit, 0);
}

/// Two significant digits: what an uncertainty bears.
std::string two_digits(double u) { return u > 0.0 ? to_place(u, decimals_for(u, 2)) : "0"; }

/// A number without an uncertainty of its own, as it may have been typed.
std::string as_typed(double x) {
  const std::string text = formatted("{:.9g}", x);
  return text.starts_with('-') ? "−" + text.substr(1) : text;
}

std::string three_digits(double x) {
  const std::string text = formatted("{:.3g}", x);
  return text.starts_with('-') ? "−" + text.substr(1) : text;
}

std::string degrees_text(double nu) {
  if (std::isinf(nu)) return "∞";
  return formatted("{:.{}f}", nu, nu == std::floor(nu) || nu >= 99.5 ? 0 : 1);
}

std::string shape_name(InputShape shape) {
  switch (shape) {
    case InputShape::normal:
      return "normal";
    case InputShape::rectangular:
      return "rectangular";
    case InputShape::triangular:
      return "triangular";
    case InputShape::arcsine:
      return "arcsine";
    case InputShape::t:
      break;
  }
  return "t";
}

bool is_limited(InputShape shape) { return shape != InputShape::normal && shape != InputShape::t; }

class BudgetWriter {
 public:
  explicit BudgetWriter(const BudgetStory& story)
      : answer_{story.answer},
        budget_{story.answer.budget},
        question_{story.question},
        file_{story.file},
        unit_{file_.unit.empty() ? "" : " " + printable(file_.unit)} {}

  std::vector<Note> notes() const;
  Document document() const;
  std::vector<Block> blocks() const;
  Data data() const;

 private:
  std::string quantity() const {
    if (file_.named) return std::string{definition(*file_.named).words};
    return file_.formula_name.empty() ? "result" : printable(file_.formula_name);
  }
  std::string bare(double x) const { return to_place(x, answer_.decimals); }
  std::string with_unit(double x) const { return bare(x) + unit_; }
  std::string confidence() const { return "confidence " + percent(question_.level.value()); }
  std::string range(const Interval& i) const { return "from " + bare(i.lower) + " to " + with_unit(i.upper); }
  std::string input_name(std::size_t i) const { return shown_name(file_.inputs[i].known.name); }

  std::string quoted(std::size_t i) const { return "\"" + printable(file_.inputs[i].known.name) + "\""; }

  bool by_trials() const { return answer_.trials_preferred; }
  Interval interval() const { return by_trials() ? answer_.monte_carlo->symmetric : budget_.interval; }
  /// Of the trials where they are preferred and have one.
  double estimate() const {
    return by_trials() ? answer_.monte_carlo->estimate.value_or(budget_.estimate) : budget_.estimate;
  }

  std::string headline() const;
  std::string law() const;
  std::string trials() const;
  BudgetFigure parts() const;
  Table inputs() const;
  std::string effect_text(std::size_t i) const;

  const BudgetAnswer& answer_;
  const UncertaintyBudget& budget_;
  const BudgetQuestion& question_;
  const BudgetFile& file_;
  std::string unit_;
};

std::string BudgetWriter::headline() const {
  if (by_trials())
    return formatted("The {} is {}: it lies between {} and {} (Monte Carlo, {}).", quantity(), with_unit(estimate()),
                     bare(interval().lower), with_unit(interval().upper), confidence());
  return formatted("The {} is {}, give or take {} (k = {:.2f}, {}).", quantity(), with_unit(budget_.estimate),
                   with_unit(budget_.expanded_uncertainty), budget_.coverage_factor, confidence());
}

std::string BudgetWriter::law() const {
  const std::string degrees = std::isinf(budget_.degrees_of_freedom)
                                  ? "infinite effective degrees of freedom"
                                  : degrees_text(budget_.degrees_of_freedom) + " effective degrees of freedom";
  return formatted("Combined standard uncertainty {}, {}; coverage factor {:.2f}, expanded uncertainty {}: {}.",
                   with_unit(budget_.standard_uncertainty), degrees, budget_.coverage_factor,
                   with_unit(budget_.expanded_uncertainty), range(budget_.interval));
}

std::string BudgetWriter::trials() const {
  if (!answer_.monte_carlo) return "There is no Monte Carlo range beside it: " + answer_.no_monte_carlo + ".";
  const PropagationResult& mc = *answer_.monte_carlo;
  std::string text = formatted("Drawing the inputs from their distributions, {} trials with seed {}, gives {}",
                               mc.trials, question_.seed, range(mc.symmetric));
  if (mc.standard_uncertainty)
    text += formatted(" and a standard uncertainty of {}", with_unit(*mc.standard_uncertainty));
  if (!answer_.differ) return text + ": no more than rounding apart.";
  if (by_trials())
    return text +
           ". That is the range to go by for this budget: the trials make no straight line of the quantity, no normal "
           "law of the "
           "result, and draw averages of few readings with the long tails that such averages have.";
  const Interval& law = budget_.interval;
  const double apart = std::max(std::abs(law.lower - mc.symmetric.lower), std::abs(law.upper - mc.symmetric.upper));
  if (apart <= 0.05 * budget_.standard_uncertainty)
    return text + ". The ends are apart by less than a twentieth of the standard uncertainty.";
  return text +
         ". The trials draw averages of few readings from a t distribution with long tails. The coverage factor allows "
         "for the same doubt, and comes within 1 % of its confidence here: the first range is the one to go by.";
}

std::string BudgetWriter::effect_text(std::size_t i) const {
  const BudgetEffect& effect = *file_.inputs[i].effect;
  std::vector<std::string> on;
  for (const std::size_t target : effect.on) on.push_back(quoted(target));
  std::string text = quoted(i) + (effect.way == BudgetEffect::Way::adds ? " adds to " : " scales ") + listed(on);
  if (effect.sensitivity != 1.0) text += ", " + as_typed(effect.sensitivity) + " for each unit of it";
  return text;
}

std::vector<Note> BudgetWriter::notes() const {
  std::vector<Note> notes;
  std::vector<std::string> effects, limited;
  for (std::size_t i = 0; i < file_.inputs.size(); ++i) {
    if (file_.inputs[i].effect) effects.push_back(effect_text(i));
    const UncertainInput& x = file_.inputs[i].known;
    if (is_limited(x.shape) && !std::isinf(x.degrees_of_freedom)) limited.push_back(input_name(i));
  }
  if (!effects.empty()) {
    std::string text;
    for (const std::string& effect : effects) text += (text.empty() ? "" : "; ") + effect;
    notes.push_back({"effects", "Acting on what is measured: " + text + "."});
  }
  const bool correlated = std::any_of(question_.correlations.begin(), question_.correlations.end(),
                                      [](const Correlation& c) { return c.coefficient != 0.0; });
  if (correlated) {
    std::string text;
    for (const Correlation& c : question_.correlations)
      text += formatted("{}{} with {} {}{}", text.empty() ? "" : "; ", quoted(c.first), quoted(c.second),
                        fixed(c.coefficient, 2), c.simultaneous ? ", from paired readings" : "");
    notes.push_back({"correlated", "Correlations: " + text +
                                       ". A share below 0 takes from the variance. In the trials these inputs are "
                                       "drawn as jointly normal."});
  }
  if (budget_.stated_correlations)
    notes.push_back({"cautious_degrees",
                     "The Welch–Satterthwaite formula needs independent inputs. Those with a stated correlation count "
                     "as one, with the least degrees of freedom among them or fewer."});
  if (!limited.empty())
    notes.push_back(
        {"exact_limits", "In the trials the limits of " + listed(limited) +
                             " are exact; that they are not quite known counts in the degrees of freedom alone."});
  if (std::isinf(budget_.degrees_of_freedom) ||
      std::any_of(question_.inputs.begin(), question_.inputs.end(),
                  [](const UncertainInput& x) { return std::isinf(x.degrees_of_freedom); }))
    notes.push_back({"infinite_degrees", "Degrees of freedom that are null are infinite."});
  if (!answer_.monte_carlo) {
    notes.push_back({"no_monte_carlo", trials()});
  } else {
    const PropagationResult& mc = *answer_.monte_carlo;
    if (answer_.differ)
      notes.push_back(
          {"differ", std::string{"Law of propagation and Monte Carlo differ in the digits shown; the one to "
                                 "go by is "} +
                         (by_trials() ? "Monte Carlo." : "the law of propagation.")});
    if (!mc.standard_uncertainty)
      notes.push_back({"no_variance",
                       "The average of three readings or fewer follows a t distribution without a finite variance: the "
                       "trials give a range, but no standard uncertainty."});
    if (!mc.estimate)
      notes.push_back(
          {"no_average",
           "The average of two readings follows a t distribution without an average: the trials give none."});
    if (!mc.settled)
      notes.push_back({"not_settled",
                       formatted("After {} trials the ends of the range were not settled to {}: their standard errors "
                                 "are {} and {}.",
                                 mc.trials, two_digits(mc.tolerance) + unit_, two_digits(mc.errors.lower),
                                 two_digits(mc.errors.upper) + unit_)});
  }
  if (file_.named == NamedQuantity::gap) {
    if (interval().contains(0.0))
      notes.push_back(
          {"sign_open", "The range holds 0: which set-up is faster stays open. That is not \"no difference\"."});
    notes.push_back({"scope",
                     "The gap is that between the two set-ups as they were measured. To speak of kinds of bow or "
                     "bowstring, several of each are needed."});
  }
  return notes;
}

/// Largest contribution first.
BudgetFigure BudgetWriter::parts() const {
  BudgetFigure figure{.rows = {},
                      .combined = budget_.standard_uncertainty,
                      .unit = printable(file_.unit),
                      .decimals = answer_.decimals};
  for (std::size_t i = 0; i < budget_.contributions.size(); ++i)
    figure.rows.push_back({.label = input_name(i),
                           .contribution = budget_.contributions[i].contribution,
                           .share = budget_.contributions[i].share});
  std::stable_sort(figure.rows.begin(), figure.rows.end(),
                   [](const auto& a, const auto& b) { return a.contribution > b.contribution; });
  return figure;
}

Table BudgetWriter::inputs() const {
  Table table{.columns = {{"input"}, {"value", true}, {"u", true}, {""}, {"kind"}, {"ν", true}, {"sensitivity", true}},
              .rows = {}};
  for (std::size_t i = 0; i < file_.inputs.size(); ++i) {
    const BudgetFileInput& input = file_.inputs[i];
    const UncertainInput& x = input.known;
    const double u = x.standard_uncertainty;
    const std::string value = u > 0.0 ? to_place(x.estimate, decimals_for(u, 2)) : as_typed(x.estimate);
    table.rows.push_back(
        {input_name(i), value, two_digits(u), printable(input.unit),
         std::string{x.evaluation == Evaluation::type_a ? "A, " : "B, "} + (u > 0.0 ? shape_name(x.shape) : "exact"),
         degrees_text(x.degrees_of_freedom), three_digits(budget_.contributions[i].sensitivity)});
  }
  return table;
}

Document BudgetWriter::document() const {
  Document out;
  if (!file_.title.empty()) out.blocks.push_back(Heading{printable(file_.title)});
  out.blocks.push_back(Headline{headline()});
  out.blocks.push_back(Paragraph{law()});
  out.blocks.push_back(Paragraph{trials(), by_trials() || !answer_.monte_carlo ? Tone::caution : Tone::plain});
  out.blocks.push_back(Heading{"What the uncertainty is made of"});
  out.blocks.push_back(parts());
  out.blocks.push_back(Heading{"The inputs"});
  out.blocks.push_back(inputs());
  Points rests;
  for (const Note& note : notes())
    if (note.code != "no_monte_carlo" && note.code != "differ" && note.code != "infinite_degrees")
      rests.points.push_back({"", note.text});
  if (!rests.points.empty()) {
    out.blocks.push_back(Heading{"To bear in mind"});
    out.blocks.push_back(std::move(rests));
  }
  return out;
}

std::vector<Block> BudgetWriter::blocks() const {
  std::vector<Block> blocks{parts(), Paragraph{law()}};
  if (by_trials() || !answer_.monte_carlo)
    blocks.push_back(Paragraph{trials(), Tone::caution});
  else if (answer_.differ)
    blocks.push_back(Paragraph{
        formatted("Monte Carlo, {} trials with seed {}: {}. Its ends lie further out, for it draws averages of few "
                  "readings with long tails; the coverage factor allows for the same doubt, and its range is the one "
                  "to go by.",
                  answer_.monte_carlo->trials, question_.seed, range(answer_.monte_carlo->symmetric))});
  blocks.push_back(inputs());
  return blocks;
}

Data optional(std::optional<double> x) { return x ? Data{*x} : Data{}; }
Data text_or_null(const std::string& text) { return text.empty() ? Data{} : Data{text}; }

Data interval_data(const std::string& method, const Interval& interval, ConfidenceLevel level) {
  return Data::Object{
      {"method", method}, {"lower", interval.lower}, {"upper", interval.upper}, {"level", level.value()}};
}

Data BudgetWriter::data() const {
  Data::List inputs, correlations;
  for (std::size_t i = 0; i < file_.inputs.size(); ++i) {
    const BudgetFileInput& input = file_.inputs[i];
    const UncertaintyContribution& c = budget_.contributions[i];
    Data acts;
    if (input.effect) {
      Data::List on;
      for (const std::size_t target : input.effect->on) on.push_back(file_.inputs[target].known.name);
      acts = Data::Object{{"way", input.effect->way == BudgetEffect::Way::adds ? "adds_to" : "scales"},
                          {"inputs", std::move(on)},
                          {"sensitivity", input.effect->sensitivity}};
    }
    inputs.push_back(Data::Object{{"name", input.known.name},
                                  {"unit", text_or_null(input.unit)},
                                  {"value", input.known.estimate},
                                  {"standard_uncertainty", input.known.standard_uncertainty},
                                  {"evaluation", input.known.evaluation == Evaluation::type_a ? "A" : "B"},
                                  {"distribution", shape_name(input.known.shape)},
                                  {"degrees_of_freedom", input.known.degrees_of_freedom},
                                  {"readings", input.readings.size()},
                                  {"acts_on", std::move(acts)},
                                  {"sensitivity", c.sensitivity},
                                  {"contribution", c.contribution},
                                  {"share", c.share}});
  }
  for (const Correlation& c : question_.correlations)
    correlations.push_back(
        Data::Object{{"inputs", Data::List{file_.inputs[c.first].known.name, file_.inputs[c.second].known.name}},
                     {"coefficient", c.coefficient},
                     {"from_readings", c.simultaneous}});
  Data trials;
  if (const auto& mc = answer_.monte_carlo)
    trials = Data::Object{{"estimate", optional(mc->estimate)},
                          {"standard_uncertainty", optional(mc->standard_uncertainty)},
                          {"interval", interval_data("monte_carlo", mc->symmetric, question_.level)},
                          {"shortest", interval_data("monte_carlo_shortest", mc->shortest, question_.level)},
                          {"trials", static_cast<std::int64_t>(mc->trials)},
                          {"settled", mc->settled},
                          {"tolerance", mc->tolerance},
                          {"errors", Data::Object{{"estimate", optional(mc->errors.estimate)},
                                                  {"standard_uncertainty", optional(mc->errors.standard_uncertainty)},
                                                  {"lower", mc->errors.lower},
                                                  {"upper", mc->errors.upper}}}};
  return Data::Object{{"unit", text_or_null(file_.unit)},
                      {"confidence", question_.level.value()},
                      {"estimate", budget_.estimate},
                      {"standard_uncertainty", budget_.standard_uncertainty},
                      {"degrees_of_freedom", budget_.degrees_of_freedom},
                      {"coverage_factor", budget_.coverage_factor},
                      {"expanded_uncertainty", budget_.expanded_uncertainty},
                      {"interval", interval_data("law_of_propagation", budget_.interval, question_.level)},
                      {"inputs", std::move(inputs)},
                      {"correlations", std::move(correlations)},
                      {"monte_carlo", std::move(trials)},
                      {"preferred", by_trials() ? "monte_carlo" : "law_of_propagation"}};
}

}  // namespace

std::vector<Note> budget_notes(const BudgetStory& story) { return BudgetWriter{story}.notes(); }
Document budget_document(const BudgetStory& story) { return BudgetWriter{story}.document(); }
std::vector<Block> budget_blocks(const BudgetStory& story) { return BudgetWriter{story}.blocks(); }
Document budget_page(const BudgetStory& story) {
  Document out = budget_document(story);
  if (!story.file.title.empty()) out.blocks.erase(out.blocks.begin());  // a page has its title above
  show_sources(budget_methods(story.answer.monte_carlo.has_value()), out);
  return out;
}
Data budget_data(const BudgetStory& story) { return BudgetWriter{story}.data(); }

}  // namespace shotassay::narrative
