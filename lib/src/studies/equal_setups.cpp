#include <shotassay/studies/equal_setups.hpp>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>

namespace shotassay {

namespace {

/// m/F of two set-ups that agrees within this share is the same grains per pound.
constexpr double same_gpp_within = 0.01;

std::string written(double x) {
  std::string text = std::to_string(x);  // six decimals
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

/// The values of one set-up in one column; absent when no row gives one.
std::optional<MeasuredValue> measured(const std::vector<Measurement>& column, std::uint32_t setup,
                                      const std::set<std::size_t>& excluded_lines) {
  std::vector<Decimal> kept, on_excluded;
  for (const Measurement& m : column)
    if (m.setup == setup) (excluded_lines.contains(m.line) ? on_excluded : kept).push_back(m.value);
  if (kept.empty()) kept = std::move(on_excluded);
  if (kept.empty()) return std::nullopt;
  int decimals = 0;
  for (const Decimal& d : kept) decimals = std::max(decimals, d.decimals());
  WideInteger sum = 0;
  double low = kept.front().value(), high = low;
  for (const Decimal& d : kept) {
    sum += WideInteger{d.coefficient()} * Decimal::power_of_ten(decimals - d.decimals());
    low = std::min(low, d.value());
    high = std::max(high, d.value());
  }
  const double resolution = Decimal{1, decimals}.value();
  return MeasuredValue{.mean = ratio(sum, static_cast<WideInteger>(kept.size()) * Decimal::power_of_ten(decimals)),
                       .low = low,
                       .high = high,
                       .rows = kept.size(),
                       .resolution = resolution,
                       .standard_uncertainty = std::hypot(high - low, resolution) / std::sqrt(12.0)};
}

/// Two measured values of one quantity, and the speed they act on.
struct Pair {
  const MeasuredValue &from, &to;

  double difference() const { return to.mean - from.mean; }
  double middle() const { return 0.5 * (from.mean + to.mean); }
  double standard_uncertainty() const { return std::hypot(from.standard_uncertainty, to.standard_uncertainty); }
  /// Not told apart by what was written.
  bool equal() const { return std::abs(difference()) < 0.5 * std::max(from.resolution, to.resolution); }
};

std::optional<Pair> pair_of(const SetupMeasurements& from, const SetupMeasurements& to, SetupQuantity quantity) {
  const auto &a = from.of(quantity), &b = to.of(quantity);
  if (!a || !b) return std::nullopt;
  return Pair{*a, *b};
}

void check_sign(const std::optional<Sensitivity>& entered, double sign, const char* what, const char* why) {
  if (!entered) return;
  if (entered->value * sign < 0.0)
    throw DomainError{std::string{"equal set-ups: the speed "} + what + " cannot be " + written(entered->value) + ": " +
                      why};
}

void check_values(const SetupMeasurements& setup) {
  for (const auto quantity : {SetupQuantity::draw_weight, SetupQuantity::arrow_mass, SetupQuantity::draw_length})
    if (const auto& m = setup.of(quantity); m && !(m->low > 0.0))
      throw DomainError{"equal set-ups: " + std::string{name(quantity)} + " must be positive, got " + written(m->low)};
}

std::optional<ArrowMatch> inferred(const std::optional<Pair>& weight, const std::optional<Pair>& mass) {
  if (!mass) return std::nullopt;
  if (mass->equal()) return ArrowMatch::same_arrow;
  if (weight && !weight->equal()) {
    const double gpp_from = mass->from.mean / weight->from.mean, gpp_to = mass->to.mean / weight->to.mean;
    const bool together = (mass->difference() > 0.0) == (weight->difference() > 0.0);
    if (together && std::abs(gpp_to - gpp_from) <= same_gpp_within * std::min(gpp_from, gpp_to))
      return ArrowMatch::same_grains_per_pound;
  }
  return ArrowMatch::neither;
}

/// What is known of a quantity; not yet what is done about it.
SetupCorrection described(const SetupMeasurements& from, const SetupMeasurements& to, SetupQuantity quantity) {
  SetupCorrection c{};
  c.quantity = quantity;
  c.from = from.of(quantity);
  c.to = to.of(quantity);
  c.state = CorrectionState::applied;
  const std::string what{name(quantity)};
  if (!c.from || !c.to) {
    c.state = CorrectionState::not_known;
    c.reason = what + (!c.from && !c.to ? " was not measured" : " was measured in one of the two set-ups only");
    return c;
  }
  c.difference = c.to->mean - c.from->mean;
  const double limit = largest_difference(quantity);
  // A lattice makes differences equal to the limit, and doubles miss it by their last digit.
  if (std::abs(*c.difference) > limit * (1.0 + 1e-9)) {
    c.state = CorrectionState::too_far;
    c.reason = what + " differs by " + written(std::abs(*c.difference)) + " " + std::string{unit(quantity)} +
               "; beyond " + written(limit) + " " + std::string{unit(quantity)} + " no sensitivity is sound";
  }
  return c;
}

void apply(SetupCorrection& c, const Sensitivity& sensitivity, double corrected_difference, double difference_u) {
  c.sensitivity = sensitivity;
  c.corrected_difference = corrected_difference;
  c.correction = -sensitivity.value * corrected_difference;
  c.standard_uncertainty =
      std::hypot(sensitivity.value * difference_u, corrected_difference * sensitivity.standard_uncertainty);
}

CorrectionContribution contribution(CorrectionInput input, double value, double u, double weight) {
  return {.input = input,
          .value = value,
          .standard_uncertainty = u,
          .weight = weight,
          .contribution = std::abs(weight) * u};
}

}  // namespace

SetupMeasurements setup_measurements(const Sheet& sheet, std::string_view setup) {
  const auto found =
      std::find_if(sheet.setups.begin(), sheet.setups.end(), [&](const SetUp& s) { return s.name == setup; });
  if (found == sheet.setups.end()) throw DomainError{"no set-up is named " + std::string{setup}};
  const auto index = static_cast<std::size_t>(found - sheet.setups.begin());
  std::set<std::size_t> excluded_lines;
  for (const ExcludedShot& shot : sheet.excluded)
    if (shot.setup == index) excluded_lines.insert(shot.line);
  const auto column = static_cast<std::uint32_t>(index);
  SetupMeasurements m{.average_speed = {},
                      .draw_weight = measured(sheet.draw_weight_lbf, column, excluded_lines),
                      .arrow_mass = measured(sheet.arrow_mass_gr, column, excluded_lines),
                      .draw_length = measured(sheet.draw_length_in, column, excluded_lines)};
  if (found->shots > 0) {
    const Sample sample = sample_of(sheet, index);
    const Moments sums = moments(sample);
    m.average_speed = sample.step().times(sums.total(), sums.n);
  }
  return m;
}

EqualisedGap equalised_gap(const SetupMeasurements& from, const SetupMeasurements& to, const GapEstimate& as_shot,
                           const EqualSetupsOptions& options) {
  if (!from.average_speed || !to.average_speed)
    throw NoAnswer{"equal set-ups: a set-up has no shot left, so its speed is not known"};
  check_sign(options.per_lbf, 1.0, "per lbf", "a stronger bow is not slower");
  check_sign(options.per_grain, -1.0, "per grain", "a heavier arrow is not faster");
  check_sign(options.per_inch, 1.0, "per inch", "a longer draw is not slower");
  check_values(from);
  check_values(to);

  EqualisedGap out{};
  out.as_shot = as_shot;
  const double speed = 0.5 * (*from.average_speed + *to.average_speed);
  const auto weight = pair_of(from, to, SetupQuantity::draw_weight);
  const auto mass = pair_of(from, to, SetupQuantity::arrow_mass);
  const auto length = pair_of(from, to, SetupQuantity::draw_length);
  for (const auto& pair : {weight, mass, length})
    if (pair && pair->difference() != 0.0) out.differ = true;
  out.weight_and_length_differ = weight && length && !weight->equal() && !length->equal();
  out.arrows = options.arrows ? options.arrows : inferred(weight, mass);
  out.arrows_inferred = !options.arrows && out.arrows.has_value();
  // Who enters the speed per lbf means an unchanged arrow, unless told that the arrow got heavier with the bow.
  const bool entered_for_one_arrow = out.arrows_inferred && options.per_lbf;
  const bool by_gpp = out.arrows == ArrowMatch::same_grains_per_pound && !entered_for_one_arrow;

  SetupCorrection draw = described(from, to, SetupQuantity::draw_weight);
  SetupCorrection arrow = described(from, to, SetupQuantity::arrow_mass);
  SetupCorrection inch = described(from, to, SetupQuantity::draw_length);

  // At the same grains per pound the arrow's mass follows the draw weight; only what is left over is the arrow's own.
  const double gpp = by_gpp && weight && mass ? mass->middle() / weight->middle() : 0.0;
  const double own_mass = mass ? mass->difference() - (weight ? gpp * weight->difference() : 0.0) : 0.0;

  std::optional<Sensitivity> c_weight = options.per_lbf;
  if (draw.state == CorrectionState::applied && !c_weight) {
    // Weights that are equal as written need no correction, only its uncertainty: that of one arrow is the larger.
    if (!out.arrows && !weight->equal()) {
      draw.state = CorrectionState::arrows_not_known;
      draw.reason =
          "arrow mass was not measured, so it must be told whether both set-ups shot the same arrow or the same grains "
          "per pound";
    } else if (!by_gpp) {
      c_weight = per_lbf_same_arrow({.speed = speed, .draw_weight = weight->middle()});
    } else if (!mass) {
      draw.state = CorrectionState::arrows_not_known;
      draw.reason = "at the same grains per pound the arrow mass is needed, and it was not measured in both set-ups";
    } else {
      c_weight = per_lbf_same_gpp({.speed = speed, .draw_weight = weight->middle(), .arrow_mass = mass->middle()});
    }
  }
  if (draw.state == CorrectionState::applied)
    apply(draw, *c_weight, weight->difference(), weight->standard_uncertainty());

  std::optional<Sensitivity> c_mass = options.per_grain;
  if (arrow.state == CorrectionState::not_known && options.arrows && *options.arrows != ArrowMatch::neither) {
    arrow.state = CorrectionState::as_told;
    arrow.reason.clear();
  } else if (arrow.state == CorrectionState::applied && by_gpp && !weight && !mass->equal()) {
    arrow.state = CorrectionState::arrows_not_known;
    arrow.reason = "at the same grains per pound the draw weight is needed, and it was not measured in both set-ups";
  } else if (arrow.state == CorrectionState::applied) {
    if (!c_mass) c_mass = per_grain({.speed = speed, .arrow_mass = mass->middle()});
    const double left_over = weight ? std::hypot(mass->standard_uncertainty(), gpp * weight->standard_uncertainty())
                                    : mass->standard_uncertainty();
    apply(arrow, *c_mass, own_mass, left_over);
  }
  if (inch.state == CorrectionState::applied)
    apply(inch, options.per_inch ? *options.per_inch : per_inch(speed, options.bow), length->difference(),
          length->standard_uncertainty());
  out.corrections = {draw, arrow, inch};

  bool any = false;
  double gap = as_shot.gap;
  for (const SetupCorrection& c : out.corrections) {
    if (c.state == CorrectionState::too_far || c.state == CorrectionState::arrows_not_known) return out;
    if (c.state != CorrectionState::applied) continue;
    any = true;
    gap += *c.correction;
  }
  if (!any) return out;

  auto& parts = out.contributions;
  const bool weighed = arrow.state == CorrectionState::applied;
  if (draw.state == CorrectionState::applied) {
    const double along = weighed ? gpp * c_mass->value : 0.0;  // a draw weight read wrong moves the mass left over too
    parts.push_back(contribution(CorrectionInput::draw_weight, weight->difference(), weight->standard_uncertainty(),
                                 along - c_weight->value));
  }
  if (weighed)
    parts.push_back(
        contribution(CorrectionInput::arrow_mass, mass->difference(), mass->standard_uncertainty(), -c_mass->value));
  if (inch.state == CorrectionState::applied)
    parts.push_back(contribution(CorrectionInput::draw_length, length->difference(), length->standard_uncertainty(),
                                 -inch.sensitivity->value));
  // Both formulas at the same grains per pound rest on one virtual mass. Taken apart into the speed per lbf of an
  // unchanged arrow and the speed per grain, each has an uncertainty of its own.
  const bool one_virtual_mass = by_gpp && weighed && !options.per_lbf && !options.per_grain;
  if (draw.state == CorrectionState::applied) {
    const Sensitivity s =
        one_virtual_mass ? per_lbf_same_arrow({.speed = speed, .draw_weight = weight->middle()}) : *c_weight;
    parts.push_back(contribution(CorrectionInput::per_lbf, s.value, s.standard_uncertainty, -weight->difference()));
  }
  if (weighed)
    parts.push_back(contribution(CorrectionInput::per_grain, c_mass->value, c_mass->standard_uncertainty,
                                 one_virtual_mass ? -mass->difference() : -own_mass));
  if (inch.state == CorrectionState::applied)
    parts.push_back(contribution(CorrectionInput::per_inch, inch.sensitivity->value,
                                 inch.sensitivity->standard_uncertainty, -length->difference()));
  double variance = 0.0;
  for (const CorrectionContribution& part : parts) variance += part.contribution * part.contribution;
  GapEstimate corrected = as_shot;
  corrected.gap = gap;
  out.equalised = widened_gap(corrected, std::sqrt(variance), options.level, options.family);
  return out;
}

}  // namespace shotassay
