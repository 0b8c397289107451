#include <algorithm>
#include <array>
#include <cmath>
#include <shotassay/core/moments.hpp>
#include <shotassay/records/budget_file.hpp>

#include "findings.hpp"
#include "json_tree.hpp"

namespace shotassay {

namespace {

using Number = JsonValue::Number;
using List = JsonValue::List;
using Object = JsonValue::Object;

template <class Names>
std::string listed(const Names& names) {
  std::string out;
  for (const auto& name : names) out += (out.empty() ? "" : ", ") + std::string{name};
  return out;
}

bool is_identifier(std::string_view name) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_'; };
  return !name.empty() && letter(name[0]) &&
         std::all_of(name.begin(), name.end(), [&](char c) { return letter(c) || (c >= '0' && c <= '9'); });
}

constexpr std::array<std::string_view, 6> file_keys{"title",      "quantity", "unit",
                                                    "confidence", "inputs",   "correlations"};
constexpr std::array<std::string_view, 2> quantity_keys{"formula", "name"};
constexpr std::array<std::string_view, 13> input_keys{"name",       "unit",         "value",
                                                      "u",          "half_width",   "accuracy_percent",
                                                      "readings",   "distribution", "degrees_of_freedom",
                                                      "evaluation", "adds_to",      "scales",
                                                      "sensitivity"};

struct ShapeName {
  std::string_view name;
  InputShape shape;
};
constexpr std::array<ShapeName, 5> shapes{{{"normal", InputShape::normal},
                                           {"rectangular", InputShape::rectangular},
                                           {"triangular", InputShape::triangular},
                                           {"arcsine", InputShape::arcsine},
                                           {"t", InputShape::t}}};

class BudgetReader {
 public:
  BudgetReader(const JsonValue& root, const FormulaCheck& check, Findings& findings)
      : root_{root}, check_{check}, findings_{findings} {}

  BudgetFile read() {
    if (root_.as<Object>() == nullptr) {
      wrong(root_, "must be an object { … } with quantity and inputs");
      return {};
    }
    known_keys(root_, file_keys);
    if (const auto text = optional_text(root_, "title")) file_.title = *text;
    read_quantity();
    read_confidence();
    read_inputs();
    read_effects();
    read_parts();
    read_unit();
    require_scatter();
    read_correlations();
    return std::move(file_);
  }

 private:
  void wrong(const JsonValue& value, const std::string& message) {
    findings_.report(value.line, nowhere, value.pointer, value.shown_text(), message);
  }
  void missing(const JsonValue& object, const std::string& message) {
    findings_.report(object.line, nowhere, object.pointer, {}, message);
  }

  template <class Keys>
  void known_keys(const JsonValue& object, const Keys& keys) {
    for (const auto& member : *object.as<Object>()) {
      const std::string& key = member.first;
      const JsonValue& value = member.second;
      if (std::find(keys.begin(), keys.end(), key) != keys.end()) continue;
      const auto near = std::find_if(keys.begin(), keys.end(), [&](std::string_view k) { return resembles(key, k); });
      findings_.report(value.line, nowhere, value.pointer, key,
                       near != keys.end() ? "there is no such key here; did you mean " + std::string{*near} + "?"
                                          : "there is no such key here; there are " + listed(keys));
    }
  }

  /// A text that says something; absent where there is none.
  std::optional<std::string> optional_text(const JsonValue& object, std::string_view key) {
    const JsonValue* value = object.member(key);
    if (value == nullptr) return std::nullopt;
    const auto* text = value->as<std::string>();
    if (text == nullptr) {
      wrong(*value, "must be a text in quotation marks");
      return std::nullopt;
    }
    if (trimmed(*text).empty()) {
      wrong(*value, "is empty");
      return std::nullopt;
    }
    return std::string{trimmed(*text)};
  }

  std::optional<double> number(const JsonValue& value) {
    const auto* n = value.as<Number>();
    if (n == nullptr || !std::isfinite(n->value)) {
      wrong(value, "must be a number, without quotation marks or unit");
      return std::nullopt;
    }
    if (std::abs(n->value) > 1e100 || (n->value != 0.0 && std::abs(n->value) < 1e-100)) {
      wrong(value, "is beyond any quantity measured");
      return std::nullopt;
    }
    return n->value;
  }
  std::optional<double> optional_number(const JsonValue& object, std::string_view key) {
    const JsonValue* value = object.member(key);
    return value == nullptr ? std::nullopt : number(*value);
  }

  void read_quantity() {
    const JsonValue* value = root_.member("quantity");
    std::vector<std::string_view> names;
    for (const QuantityDefinition& d : quantity_definitions) names.push_back(d.name);
    const std::string choice = "one of " + listed(names) + R"(, or {"formula": "…"})";
    if (value == nullptr) {
      missing(root_, "has no quantity: say what is worked out, " + choice);
      return;
    }
    if (const auto* name = value->as<std::string>()) {
      const auto found = std::find(names.begin(), names.end(), *name);
      if (found == names.end()) {
        const auto near = std::find_if(names.begin(), names.end(), [&](auto n) { return resembles(*name, n); });
        wrong(*value, near != names.end() ? "there is no such quantity; did you mean " + std::string{*near} + "?"
                                          : "there is no such quantity; say " + choice);
        return;
      }
      file_.named = quantity_definitions[static_cast<std::size_t>(found - names.begin())].quantity;
      return;
    }
    if (value->as<Object>() == nullptr) {
      wrong(*value, "must be " + choice);
      return;
    }
    known_keys(*value, quantity_keys);
    if (const auto text = optional_text(*value, "name")) file_.formula_name = *text;
    formula_ = value->member("formula");
    if (formula_ == nullptr)
      missing(*value, R"(has no formula: write {"formula": "mass * speed^2 / 2"})");
    else if (const auto text = optional_text(*value, "formula"))
      file_.formula = *text;
  }

  void read_confidence() {
    const JsonValue* value = root_.member("confidence");
    if (value == nullptr) return;
    const auto level = number(*value);
    if (!level) return;
    if (*level >= 0.5 && *level < 1.0)
      file_.confidence = ConfidenceLevel{*level};
    else
      wrong(*value, "must be 0.5 or more and below 1, for example 0.95");
  }

  void read_inputs() {
    const JsonValue* value = root_.member("inputs");
    if (value == nullptr) {
      missing(root_, "has no inputs: a list of what the quantity is worked out from");
      return;
    }
    const auto* list = value->as<List>();
    if (list == nullptr || list->empty()) {
      wrong(*value, list == nullptr ? "must be a list [ … ] of inputs" : "is a list without inputs");
      return;
    }
    if (list->size() > 200) {
      wrong(*value, "has more than 200 inputs");
      return;
    }
    for (const JsonValue& item : *list) {
      items_.push_back(&item);
      file_.inputs.emplace_back();
      if (item.as<Object>() == nullptr)
        wrong(item, R"(must be an object such as {"name": "speed", "value": 300, "u": 0.5})");
      else
        read_input(item, file_.inputs.back());
    }
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const std::string& name = file_.inputs[i].known.name;
      if (name.empty()) continue;
      for (std::size_t j = 0; j < i; ++j)
        if (folded_name(file_.inputs[j].known.name) == folded_name(name)) {
          wrong(*items_[i]->member("name"), "the input of line " + std::to_string(file_.inputs[j].line) +
                                                " has this name: each needs one of its own");
          break;
        }
    }
  }

  void read_input(const JsonValue& item, BudgetFileInput& input) {
    known_keys(item, input_keys);
    input.line = item.line;
    if (item.member("name") == nullptr)
      missing(item, "has no name");
    else if (const auto name = optional_text(item, "name"))
      input.known.name = *name;
    if (const auto unit = optional_text(item, "unit")) input.unit = *unit;
    const bool effect = item.member("adds_to") != nullptr || item.member("scales") != nullptr;
    if (item.member("readings") != nullptr) {
      if (item.member("value") != nullptr)
        wrong(*item.member("value"), "stands beside readings, whose average is the value");
    } else if (item.member("value") == nullptr) {
      // An effect is expected to be 0: a known error belongs into the value, not into its uncertainty.
      if (!effect) missing(item, "has no value, nor readings to take it from");
    } else if (const auto x = optional_number(item, "value")) {
      input.known.estimate = *x;
    }
    read_uncertainty(item, input, effect);
  }

  void read_uncertainty(const JsonValue& item, BudgetFileInput& input, bool effect) {
    std::vector<std::string> given;
    for (const char* key : {"u", "half_width", "accuracy_percent", "readings"})
      if (item.member(key) != nullptr) given.emplace_back(key);
    if (given.size() > 1) {
      missing(item, "states its uncertainty in more than one way: " + listed(given));
      return;
    }
    if (given.empty()) {
      missing(item,
              "states no uncertainty: give u, half_width, accuracy_percent or readings; u is 0 for an exact number");
      return;
    }
    const JsonValue& stated = *item.member(given[0]);
    if (given[0] == "readings") {
      read_readings(item, stated, input);
      return;
    }
    input.known.shape = given[0] == "u" ? InputShape::normal : InputShape::rectangular;
    read_degrees(item, input);
    const bool said = read_shape(item, input, given[0] == "u");
    read_evaluation(item, input);
    const auto size = number(stated);
    if (!size) return;
    if (*size < 0.0 || (*size == 0.0 && given[0] != "u")) {
      wrong(stated, given[0] == "u" ? "must be 0 or more" : "must be more than 0");
      return;
    }
    double half_width = *size;
    if (given[0] == "accuracy_percent") {
      if (item.member("adds_to") != nullptr) {
        wrong(stated, "a percentage of what? write scales instead of adds_to, or give half_width");
        return;
      }
      const double of = effect ? 1.0 : std::abs(input.known.estimate);
      if (of == 0.0) {
        wrong(stated, "is a share of the value, which is 0: give half_width");
        return;
      }
      half_width = *size / 100.0 * of;
    }
    if (given[0] == "u")
      input.known.standard_uncertainty = *size;
    else if (said)
      input.known.standard_uncertainty = of_half_width(half_width, input.known.shape);
  }

  static double of_half_width(double a, InputShape shape) {
    return a / std::sqrt(shape == InputShape::triangular ? 6.0 : shape == InputShape::arcsine ? 2.0 : 3.0);
  }

  /// False: the shape and the way the uncertainty is stated do not go together.
  bool read_shape(const JsonValue& item, BudgetFileInput& input, bool by_u) {
    const JsonValue* value = item.member("distribution");
    if (value == nullptr) return true;
    const auto* name = value->as<std::string>();
    const auto found = name == nullptr ? shapes.end()
                                       : std::find_if(shapes.begin(), shapes.end(),
                                                      [&](const ShapeName& s) { return s.name == *name; });
    if (found == shapes.end()) {
      wrong(*value, "must be normal, rectangular, triangular, arcsine or t");
      return false;
    }
    input.known.shape = found->shape;
    const bool limited = found->shape != InputShape::normal && found->shape != InputShape::t;
    if (!by_u && !limited) {
      wrong(*value, "has no half-width: state u, which is the half-width over its coverage factor");
      return false;
    }
    if (found->shape == InputShape::t && item.member("degrees_of_freedom") == nullptr) {
      wrong(*value, "a t distribution needs degrees_of_freedom");
      return false;
    }
    return true;
  }

  void read_degrees(const JsonValue& item, BudgetFileInput& input) {
    const JsonValue* value = item.member("degrees_of_freedom");
    if (value == nullptr) return;
    if (const auto* word = value->as<std::string>(); word != nullptr && *word == "infinite") return;
    if (value->as<Number>() == nullptr) {
      wrong(*value, R"(must be a number of 1 or more, or "infinite")");
    } else if (const auto nu = number(*value)) {
      if (*nu < 1.0)
        wrong(*value, R"(must be a number of 1 or more, or "infinite")");
      else
        input.known.degrees_of_freedom = *nu;
    }
  }

  void read_evaluation(const JsonValue& item, BudgetFileInput& input) {
    const JsonValue* value = item.member("evaluation");
    if (value == nullptr) return;
    const auto* name = value->as<std::string>();
    if (name == nullptr || (*name != "A" && *name != "B"))
      wrong(*value, "must be A (from the scatter of readings) or B (from other knowledge)");
    else
      input.known.evaluation = *name == "A" ? Evaluation::type_a : Evaluation::type_b;
  }

  void read_readings(const JsonValue& item, const JsonValue& stated, BudgetFileInput& input) {
    for (const char* key : {"distribution", "degrees_of_freedom", "evaluation"})
      if (const JsonValue* other = item.member(key))
        wrong(*other, "stands beside readings, which settle it: their average has a t distribution, type A");
    const auto* list = stated.as<List>();
    if (list == nullptr || list->size() < 2) {
      wrong(stated, "must be a list of two or more readings, such as [299, 301, 300]");
      return;
    }
    std::vector<Decimal> readings;
    int decimals = 0;
    for (const JsonValue& reading : *list) {
      const auto* n = reading.as<Number>();
      const auto decimal = n == nullptr ? std::nullopt : Decimal::parse(n->text);
      if (!decimal) {
        wrong(reading, "is not a reading: write digits alone, such as 271 or 81.4");
        continue;
      }
      decimals = std::max(decimals, decimal->decimals());
      readings.push_back(*decimal);
    }
    if (readings.size() < list->size()) return;
    try {
      std::vector<std::int64_t> steps;
      for (const Decimal& reading : readings) {
        const auto fine = reading.with_decimals(decimals);
        if (!fine) throw DomainError{"Sample: too many digits"};
        steps.push_back(fine->coefficient());
        input.readings.push_back(reading.value());
      }
      const DisplayStep step{Decimal{1, decimals}};
      const Moments m = moments(Sample{steps, step});
      const auto n = static_cast<double>(readings.size());
      input.known.estimate = step.times(m.total(), m.n);
      input.known.standard_uncertainty = std::sqrt(m.variance() / n) * step.value();
      input.known.degrees_of_freedom = n - 1.0;
      input.known.evaluation = Evaluation::type_a;
      input.known.shape = InputShape::t;
    } catch (const DomainError&) {
      input.readings.clear();
      wrong(stated, "these readings have too many digits");
    }
  }

  std::optional<std::size_t> index_of(const std::string& name) const {
    for (std::size_t i = 0; i < file_.inputs.size(); ++i)
      if (!name.empty() && file_.inputs[i].known.name == name) return i;
    return std::nullopt;
  }

  std::string no_such_input(const std::string& name) const {
    for (const BudgetFileInput& input : file_.inputs)
      if (resembles(name, input.known.name))
        return "there is no such input; did you mean " + shown(input.known.name) + "?";
    return "there is no input of this name";
  }

  void read_effects() {
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const JsonValue& item = *items_[i];
      const JsonValue *adds = item.member("adds_to"), *scales = item.member("scales");
      const JsonValue* sensitivity = item.member("sensitivity");
      if (adds == nullptr && scales == nullptr) {
        if (sensitivity != nullptr)
          wrong(*sensitivity, "goes with adds_to or scales; that of other inputs follows from the quantity");
        continue;
      }
      if (adds != nullptr && scales != nullptr) {
        missing(item, "both adds_to and scales: make two inputs of it");
        file_.inputs[i].effect = BudgetEffect{};
        continue;
      }
      BudgetEffect effect{.way = adds != nullptr ? BudgetEffect::Way::adds : BudgetEffect::Way::scales};
      if (sensitivity != nullptr)
        if (const auto c = number(*sensitivity)) {
          if (*c == 0.0) wrong(*sensitivity, "an effect without effect; leave the input out");
          effect.sensitivity = *c;
        }
      read_targets(adds != nullptr ? *adds : *scales, i, effect);
      file_.inputs[i].effect = effect;
    }
  }

  void read_targets(const JsonValue& value, std::size_t self, BudgetEffect& effect) {
    std::vector<const JsonValue*> names;
    if (const auto* list = value.as<List>())
      for (const JsonValue& name : *list) names.push_back(&name);
    else
      names.push_back(&value);
    if (names.empty()) wrong(value, "names no input");
    for (const JsonValue* name : names) {
      const auto* text = name->as<std::string>();
      if (text == nullptr) {
        wrong(*name, "must be the name of an input, or a list of names");
        continue;
      }
      const auto target = index_of(*text);
      if (!target) {
        wrong(*name, no_such_input(*text));
      } else if (*target == self || items_[*target]->member("adds_to") != nullptr ||
                 items_[*target]->member("scales") != nullptr) {
        wrong(*name, "acts on others itself: an effect acts on what the quantity is worked out from");
      } else if (std::find(effect.on.begin(), effect.on.end(), *target) != effect.on.end()) {
        wrong(*name, "is named twice");
      } else {
        effect.on.push_back(*target);
      }
    }
  }

  void read_parts() {
    if (!file_.named && formula_ == nullptr) return;
    if (items_.empty()) return;
    if (!file_.named) {
      read_formula();
      return;
    }
    const QuantityDefinition& quantity = definition(*file_.named);
    std::vector<std::string_view> names;
    for (const QuantityPart& part : quantity.parts) names.push_back(part.name);
    for (const QuantityPart& part : quantity.parts) {
      const auto found = index_of(std::string{part.name});
      if (!found)
        missing(*root_.member("inputs"), "has no input " + std::string{part.name} + ", which " +
                                             std::string{quantity.name} + " is worked out from");
      else
        file_.parts.push_back(*found);
      if (!found) continue;
      BudgetFileInput& input = file_.inputs[*found];
      if (file_.inputs[*found].effect)
        missing(*items_[*found],
                "is what " + std::string{quantity.name} + " is worked out from; it cannot act on others");
      if (input.unit.empty()) input.unit = part.units[0].name;
      if (std::none_of(part.units.begin(), part.units.end(), [&](const NamedUnit& u) { return u.name == input.unit; }))
        wrong_unit(*items_[*found], part.units);
    }
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const BudgetFileInput& input = file_.inputs[i];
      if (input.effect || input.known.name.empty()) continue;
      if (std::find(names.begin(), names.end(), input.known.name) != names.end()) continue;
      wrong(*items_[i]->member("name"), std::string{quantity.name} + " is worked out from " + listed(names) +
                                            "; say with adds_to or scales which of them this acts on");
    }
  }

  void wrong_unit(const JsonValue& object, std::span<const NamedUnit> units) {
    std::vector<std::string_view> names;
    for (const NamedUnit& unit : units) names.push_back(unit.name);
    wrong(*object.member("unit"), "must be " + (names.size() == 1 ? "" : std::string{"one of "}) + listed(names));
  }

  void read_formula() {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const BudgetFileInput& input = file_.inputs[i];
      if (input.effect || input.known.name.empty()) continue;
      if (!is_identifier(input.known.name)) {
        wrong(*items_[i]->member("name"),
              "cannot stand in a formula: letters, digits and _ alone, the first no digit; or say with adds_to or "
              "scales what it acts on");
        continue;
      }
      names.push_back(input.known.name);
      file_.parts.push_back(i);
    }
    if (file_.formula.empty()) return;
    if (!check_) {
      wrong(*formula_, "formulas cannot be read here; use a named quantity");
      return;
    }
    for (const FormulaProblem& problem : check_(file_.formula, names))
      findings_.report(formula_->line, nowhere, formula_->pointer, problem.found,
                       "character " + std::to_string(problem.character) + " of the formula: " + problem.message);
  }

  void read_unit() {
    if (const auto unit = optional_text(root_, "unit")) file_.unit = *unit;
    if (!file_.named) return;
    const auto units = definition(*file_.named).units;
    if (file_.unit.empty())
      file_.unit = units[0].name;
    else if (std::none_of(units.begin(), units.end(), [&](const NamedUnit& u) { return u.name == file_.unit; }))
      wrong_unit(root_, units);
  }

  /// Equal readings do not mean that nothing is uncertain: the display's step hides the scatter.
  void require_scatter() {
    for (std::size_t i = 0; i < items_.size(); ++i) {
      const BudgetFileInput& input = file_.inputs[i];
      if (input.readings.empty() || input.known.standard_uncertainty > 0.0) continue;
      const bool covered = std::any_of(file_.inputs.begin(), file_.inputs.end(), [&](const BudgetFileInput& other) {
        return other.effect && other.effect->way == BudgetEffect::Way::adds && other.known.standard_uncertainty > 0.0 &&
               std::find(other.effect->on.begin(), other.effect->on.end(), i) != other.effect->on.end();
      });
      if (!covered)
        wrong(
            *items_[i]->member("readings"),
            "are all equal, and that does not mean an uncertainty of 0: the display hides the rest; add an input with "
            "adds_to for half a display step (half_width)");
    }
  }

  void read_correlations() {
    const JsonValue* value = root_.member("correlations");
    if (value == nullptr) return;
    const auto* list = value->as<List>();
    if (list == nullptr) {
      wrong(*value, R"(must be a list such as [["a", "b", 0.5]])");
      return;
    }
    for (const JsonValue& item : *list) read_correlation(item);
  }

  void read_correlation(const JsonValue& item) {
    const auto* three = item.as<List>();
    if (three == nullptr || three->size() != 3) {
      wrong(item, R"(must be two names and a coefficient, such as ["a", "b", 0.5])");
      return;
    }
    std::array<std::optional<std::size_t>, 2> pair;
    for (std::size_t k = 0; k < 2; ++k) {
      const auto* name = (*three)[k].as<std::string>();
      if (name == nullptr)
        wrong((*three)[k], "must be the name of an input");
      else if (!(pair[k] = index_of(*name)))
        wrong((*three)[k], no_such_input(*name));
    }
    const JsonValue& coefficient = (*three)[2];
    const auto* word = coefficient.as<std::string>();
    if (word == nullptr || *word != "readings") {
      if (coefficient.as<Number>() == nullptr) {
        wrong(coefficient, R"(must be a coefficient from -1 to 1, or "readings" for that of paired readings)");
        return;
      }
      if (const double r = coefficient.as<Number>()->value; !(r >= -1.0 && r <= 1.0)) {
        wrong(coefficient, "must lie between -1 and 1");
        return;
      }
    }
    if (!pair[0] || !pair[1]) return;
    if (*pair[0] == *pair[1]) {
      wrong(item, "an input with itself");
      return;
    }
    for (const Correlation& other : file_.correlations)
      if (std::minmax(other.first, other.second) == std::minmax(*pair[0], *pair[1])) {
        wrong(item, "this pair stands here twice");
        return;
      }
    if (word == nullptr) {
      file_.correlations.push_back({*pair[0], *pair[1], coefficient.as<Number>()->value});
    } else if (const auto r = of_pairs(coefficient, file_.inputs[*pair[0]], file_.inputs[*pair[1]])) {
      file_.correlations.push_back({*pair[0], *pair[1], *r, true});
    }
  }

  /// r of two averages of paired readings: that of the readings themselves (JCGM 100:2008, 5.2.3).
  std::optional<double> of_pairs(const JsonValue& place, const BudgetFileInput& a, const BudgetFileInput& b) {
    if (a.readings.size() < 2 || a.readings.size() != b.readings.size()) {
      wrong(place, "needs two inputs with as many readings each, taken in pairs");
      return std::nullopt;
    }
    double products = 0.0, squares_a = 0.0, squares_b = 0.0;
    for (std::size_t i = 0; i < a.readings.size(); ++i) {
      const double da = a.readings[i] - a.known.estimate, db = b.readings[i] - b.known.estimate;
      products += da * db;
      squares_a += da * da;
      squares_b += db * db;
    }
    if (a.known.standard_uncertainty == 0.0 || b.known.standard_uncertainty == 0.0) {
      wrong(place, "equal readings show no correlation");
      return std::nullopt;
    }
    return std::clamp(products / std::sqrt(squares_a * squares_b), -1.0, 1.0);
  }

  const JsonValue& root_;
  const FormulaCheck& check_;
  Findings& findings_;
  BudgetFile file_{};
  std::vector<const JsonValue*> items_;
  const JsonValue* formula_ = nullptr;
};

}  // namespace

BudgetFileResult read_budget_file(std::string_view text, const FormulaCheck& check) {
  Findings findings;
  const JsonValue root = read_json(text, findings);
  BudgetFile file;
  // A text that broke off says nothing about what is missing in it.
  const bool whole = findings.empty() || root.as<Object>() != nullptr;
  if (whole) file = BudgetReader{root, check, findings}.read();
  if (!findings.empty()) return {std::nullopt, std::move(findings).in_file_order()};
  return {std::move(file), {}};
}

}  // namespace shotassay
