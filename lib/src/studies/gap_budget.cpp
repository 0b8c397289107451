#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>
#include <shotassay/core/moments.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/studies/gap_budget.hpp>
#include <shotassay/studies/replicates.hpp>

namespace shotassay {

namespace {

std::string_view trimmed(std::string_view text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t'; };
  while (!text.empty() && blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && blank(text.back())) text.remove_suffix(1);
  return text;
}

/// What the readings say of one speed, in the sheet's unit.
struct MeasuredSpeed {
  double average, standard_uncertainty, degrees_of_freedom;
  double rounding = 0.0;  ///< half-width of what the display's rounding leaves common to the shots
};

MeasuredSpeed measured_speed(const ComparedSetup& setup, bool by_bows) {
  if (!setup.sample || setup.sample->size() < 2)
    throw NoAnswer{"budget: " + setup.name + " has too few shots to know its scatter"};
  const double step = setup.sample->step().value();
  const auto bows = by_bows ? bows_of(setup) : std::vector<Sample>{};
  if (bows.size() > 1) {
    double sum = 0.0, squares = 0.0;
    std::vector<double> averages;
    for (const Sample& bow : bows) averages.push_back(moments(bow).mean() * step);
    for (const double x : averages) sum += x;
    const auto k = static_cast<double>(averages.size());
    for (const double x : averages) squares += (x - sum / k) * (x - sum / k);
    double floor = 0.0;  // shots and rounding alone make bow averages differ so much
    for (const Sample& bow : bows)
      floor += (bow.size() > 1 ? rounded_group(bow).variance_of_mean : 0.25) * step * step / k;
    return {.average = sum / k,
            .standard_uncertainty = std::sqrt(std::max(squares / (k - 1.0), floor) / k),
            .degrees_of_freedom = k - 1.0};
  }
  const RoundedGroup g = rounded_group(*setup.sample);
  return {.average = setup.sample->step().times(g.moments.total(), g.moments.n),
          .standard_uncertainty = std::sqrt(g.variance_of_mean) * step,
          .degrees_of_freedom = static_cast<double>(g.moments.n - 1),
          .rounding = g.edge * step};
}

/// Gathers the inputs of one budget; each knows its place.
class Inputs {
 public:
  explicit Inputs(std::string speed_unit) : speed_unit_{std::move(speed_unit)} {}

  std::size_t add(UncertainInput known, std::string unit) {
    stated_.inputs.push_back({.known = std::move(known), .unit = std::move(unit)});
    return stated_.inputs.size() - 1;
  }
  std::size_t readings(const std::string& name, double value, double u, double nu) {
    return add({.name = name,
                .estimate = value,
                .standard_uncertainty = u,
                .degrees_of_freedom = nu,
                .evaluation = Evaluation::type_a,
                .shape = InputShape::t},
               speed_unit_);
  }
  std::size_t within(const std::string& name, double half_width, std::string unit) {
    return add({.name = name,
                .estimate = 0.0,
                .standard_uncertainty = half_width / std::numbers::sqrt3,
                .shape = InputShape::rectangular},
               std::move(unit));
  }
  std::size_t known(const std::string& name, double value, double u, std::string unit) {
    return add({.name = name, .estimate = value, .standard_uncertainty = u, .shape = InputShape::normal},
               std::move(unit));
  }
  const std::string& speed_unit() const { return speed_unit_; }
  BudgetFile& stated() { return stated_; }

 private:
  std::string speed_unit_;
  BudgetFile stated_;
};

/// Where the inputs of one speed stand: their sum is the speed without what is common to a test.
struct SpeedInputs {
  std::vector<std::size_t> terms;

  double operator()(std::span<const double> x) const {
    double sum = 0.0;
    for (const std::size_t i : terms) sum += x[i];
    return sum;
  }
};

/// What acts on all speeds of a test alike.
struct CommonInputs {
  std::optional<std::size_t> scale, offset;

  double operator()(double speed, std::span<const double> x) const {
    if (scale) speed *= 1.0 + 0.01 * x[*scale];
    return offset ? speed + x[*offset] : speed;
  }
};

SpeedInputs speed_inputs(Inputs& in, const ComparedSetup& setup, bool by_bows, double factor,
                         const StatedKnowledge& known) {
  const MeasuredSpeed m = measured_speed(setup, by_bows);
  SpeedInputs speed;
  speed.terms.push_back(in.readings((by_bows ? "bows, " : "shots, ") + setup.name, m.average * factor,
                                    m.standard_uncertainty * factor, m.degrees_of_freedom));
  if (m.rounding > 0.0)
    speed.terms.push_back(in.within("rounding, " + setup.name, m.rounding * factor, in.speed_unit()));
  // Bows were set up one by one: the spread of their averages holds that already.
  if (known.setting_sd && !by_bows)
    speed.terms.push_back(in.known("setting up, " + setup.name, 0.0, *known.setting_sd * factor, in.speed_unit()));
  return speed;
}

CommonInputs common_inputs(Inputs& in, const StatedKnowledge& known, double factor) {
  CommonInputs common;
  if (!known.accuracy) return common;
  if (known.accuracy->relative > 0.0)
    common.scale = in.within("chronograph scale", 100.0 * known.accuracy->relative, "%");
  if (known.accuracy->absolute > 0.0)
    common.offset = in.within("chronograph offset", known.accuracy->absolute * factor, in.speed_unit());
  return common;
}

/// The corrections of an equalised gap as inputs, and what they add to the gap.
class CorrectionInputs {
 public:
  CorrectionInputs(Inputs& in, const EqualisedGap& equal, double factor) {
    constexpr std::array names{"Δ draw weight", "Δ arrow mass", "Δ draw length",
                               "speed per lbf", "speed per gr", "speed per inch"};
    const std::array units{std::string{"lbf"},       std::string{"gr"},       std::string{"in"},
                           in.speed_unit() + "/lbf", in.speed_unit() + "/gr", in.speed_unit() + "/in"};
    for (const CorrectionContribution& c : equal.contributions) {
      const auto i = static_cast<std::size_t>(c.input);
      const double f = i < 3 ? 1.0 : factor;
      at_[i] = in.known(names[i], c.value * f, c.standard_uncertainty * f, units[i]);
    }
    // At the same grains per pound part of the mass goes with the draw weight: −c_m is ∂/∂Δm, and ∂/∂ΔF holds gpp·c_m.
    const auto weight_of = [&](CorrectionInput input) -> const CorrectionContribution* {
      for (const auto& c : equal.contributions)
        if (c.input == input) return &c;
      return nullptr;
    };
    const auto *weight = weight_of(CorrectionInput::draw_weight), *rate = weight_of(CorrectionInput::per_lbf),
               *per_grain = weight_of(CorrectionInput::per_grain);
    if (weight && rate && per_grain && per_grain->value != 0.0)
      mass_along_ = (weight->weight + rate->value) / per_grain->value;
  }

  double operator()(std::span<const double> x) const {
    const auto value = [&](std::size_t i) { return at_[i] ? x[*at_[i]] : 0.0; };
    return -value(3) * value(0) - value(4) * (value(1) - mass_along_ * value(0)) - value(5) * value(2);
  }

 private:
  std::array<std::optional<std::size_t>, 6> at_{};
  double mass_along_ = 0.0;
};

ComparedBudget answered(Inputs&& in, MeasurementModel model, ConfidenceLevel level, const GapBudgetOptions& options) {
  ComparedBudget out;
  out.stated = std::move(in.stated());
  out.stated.unit = in.speed_unit();
  for (const BudgetFileInput& input : out.stated.inputs) out.question.inputs.push_back(input.known);
  out.question.model = std::move(model);
  out.question.level = level;
  out.question.decimals = options.decimals;
  out.question.most_trials = options.most_trials;
  out.question.seed = options.seed;
  out.question.threads = options.threads;
  out.answer = budget(out.question);
  return out;
}

}  // namespace

std::optional<StatedAccuracy> stated_accuracy(std::string_view text, SpeedUnit unit) {
  text = trimmed(text);
  constexpr std::string_view plus_minus = "±", ascii = "+/-";
  for (const std::string_view sign : {plus_minus, ascii})
    if (text.starts_with(sign)) {
      text = trimmed(text.substr(sign.size()));
      break;
    }
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || !(value >= 1e-6) || value > 1e6) return std::nullopt;
  const std::string_view behind = trimmed(text.substr(static_cast<std::size_t>(end - text.data())));
  if (behind == "%") {
    if (value >= 100.0) return std::nullopt;
    return StatedAccuracy{.relative = value / 100.0};
  }
  if (behind.empty()) return StatedAccuracy{.absolute = value};
  for (const SpeedUnit named : {SpeedUnit::feet_per_second, SpeedUnit::metres_per_second})
    if (behind == name(named)) return StatedAccuracy{.absolute = Speed{value, named}.in(unit)};
  return std::nullopt;
}

ComparedBudget speed_budget(const ComparedSetup& setup, ConfidenceLevel level, SpeedUnit sheet_unit,
                            const GapBudgetOptions& options) {
  const double factor = conversion(sheet_unit, options.printed);
  Inputs in{std::string{name(options.printed)}};
  in.stated().formula_name = "speed with " + setup.name;
  const SpeedInputs speed = speed_inputs(in, setup, setup.bows > 1, factor, options.known);
  const CommonInputs common = common_inputs(in, options.known, factor);
  return answered(
      std::move(in), [speed, common](std::span<const double> x) { return common(speed(x), x); }, level, options);
}

ComparedBudget gap_budget(const std::vector<ComparedSetup>& setups, const GapOutcome& gap,
                          const std::optional<EqualisedGap>& equal, ConfidenceLevel level, SpeedUnit sheet_unit,
                          const GapBudgetOptions& options) {
  if (!gap.deciding().interval) throw NoAnswer{"budget: " + gap.no_interval};
  const double factor = conversion(sheet_unit, options.printed);
  const bool equalised = equal && equal->equalised;
  Inputs in{std::string{name(options.printed)}};
  in.stated().named = NamedQuantity::gap;
  SpeedInputs from, to;
  if (gap.claim == Claim::kinds_of_bow) {
    const MethodOutcome& m = gap.deciding();
    to.terms.push_back(in.readings("gap of the bows' averages", *gap.difference * factor, *m.standard_error * factor,
                                   *m.degrees_of_freedom));
  } else {
    from = speed_inputs(in, setups[gap.from], false, factor, options.known);
    to = speed_inputs(in, setups[gap.to], false, factor, options.known);
  }
  const CommonInputs common = common_inputs(in, options.known, factor);
  std::optional<CorrectionInputs> corrections;
  if (equalised) corrections.emplace(in, *equal, factor);
  return answered(
      std::move(in),
      [from, to, common, corrections](std::span<const double> x) {
        const double as_shot = common(to(x), x) - common(from(x), x);
        return corrections ? as_shot + (*corrections)(x) : as_shot;
      },
      level, options);
}

}  // namespace shotassay
