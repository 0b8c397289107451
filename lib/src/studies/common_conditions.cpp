#include <shotassay/studies/common_conditions.hpp>

#include <cmath>
#include <numbers>
#include <string>
#include <string_view>

#include <shotassay/core/errors.hpp>

namespace shotassay {

namespace {

ShotCondition middle_of(const RatedCondition& rated) {
  if (!rated.below || !rated.above) return {.value = rated.value};
  return {.value = rated.value + 0.5 * (*rated.above - *rated.below),
          .standard_uncertainty = 0.5 * (*rated.above + *rated.below) / std::numbers::sqrt3};
}

void require_uncertainty(double u, std::string_view of) {
  if (!(u >= 0.0) || !std::isfinite(u))
    throw DomainError{"speed_at: the standard uncertainty of the " + std::string{of} + " must be 0 or more, got " +
                      std::to_string(u)};
}

void require_positive(double x, std::string_view what) {
  if (!(x > 0.0) || !std::isfinite(x))
    throw DomainError{"speed_at: the " + std::string{what} + " must be positive, got " + std::to_string(x)};
}

/// A quantity, the sensitivity that was entered for it, and how to compute it otherwise.
struct Conversion {
  SetupQuantity quantity;
  CorrectionInput difference_input, sensitivity_input;
  const std::optional<Sensitivity>& entered;
  double possible_sign;
};

Sensitivity computed(SetupQuantity quantity, double speed, double middle, BowType bow) {
  switch (quantity) {
    case SetupQuantity::draw_weight:
      return per_lbf_same_arrow({.speed = speed, .draw_weight = middle});
    case SetupQuantity::arrow_mass:
      return per_grain({.speed = speed, .arrow_mass = middle});
    case SetupQuantity::draw_length:
      break;
  }
  return per_inch(speed, bow);
}

double middle(const ShotCondition& a, const ShotCondition& b) { return 0.5 * (a.value + b.value); }

}  // namespace

ShotConditions conditions_of(const RatingConvention& convention) {
  return {.draw_weight = middle_of(convention.draw_weight),
          .arrow_mass = middle_of(convention.arrow_mass),
          .draw_length = middle_of(convention.draw_length)};
}

SpeedAtConditions speed_at(const ShotConditions& common, const PublishedSpeed& published,
                           const EnteredSensitivities& entered) {
  require_positive(published.speed, "speed");
  require_uncertainty(published.standard_uncertainty, "speed");
  const std::array<Conversion, 3> ways{
      {{SetupQuantity::draw_weight, CorrectionInput::draw_weight, CorrectionInput::per_lbf, entered.per_lbf, 1.0},
       {SetupQuantity::arrow_mass, CorrectionInput::arrow_mass, CorrectionInput::per_grain, entered.per_grain, -1.0},
       {SetupQuantity::draw_length, CorrectionInput::draw_length, CorrectionInput::per_inch, entered.per_inch, 1.0}}};

  SpeedAtConditions out{};
  bool possible = true;
  double growth = 0.0, step = 0.0;  // v′ − v = growth · (speed at the middle of the way) + step
  for (std::size_t i = 0; i < ways.size(); ++i) {
    const auto quantity = ways[i].quantity;
    const auto &from = published.conditions.of(quantity), &to = common.of(quantity);
    for (const auto* told : {&from, &to})
      if (*told) require_positive((*told)->value, name(quantity));
    if (from && from->standard_uncertainty) require_uncertainty(*from->standard_uncertainty, name(quantity));
    if (const auto& s = ways[i].entered; s && s->value * ways[i].possible_sign < 0.0)
      throw DomainError{"speed_at: the speed per " + std::string{unit(quantity)} + " cannot be " +
                        std::to_string(s->value)};

    SpeedConversion& c = out.conversions[i];
    c.quantity = quantity;
    c.state = !to ? ConversionState::not_asked : !from ? ConversionState::not_told : ConversionState::applied;
    if (c.state == ConversionState::not_told) possible = false;
    if (c.state != ConversionState::applied) continue;
    c.difference = to->value - from->value;
    c.uncertainty_known = from->standard_uncertainty.has_value();
    // Decimal conditions make differences equal to the limit, and doubles miss it by their last digit.
    if (std::abs(*c.difference) > largest_difference(quantity) * (1.0 + 1e-9)) {
      c.state = ConversionState::too_far;
      possible = false;
      continue;
    }
    if (ways[i].entered)
      step += ways[i].entered->value * *c.difference;
    else
      growth += computed(quantity, 1.0, middle(*from, *to), published.bow).value * *c.difference;
  }
  const auto differs = [&](std::size_t i) { return out.conversions[i].difference.value_or(0.0) != 0.0; };
  out.weight_and_length_differ = differs(0) && differs(2);
  if (!possible) return out;

  const double stretch = 1.0 / (1.0 - 0.5 * growth);  // a change on the way moves the speed it acts on, too
  const double halfway = (published.speed + 0.5 * step) * stretch;
  out.speed = published.speed + growth * halfway + step;
  out.speed_contribution = published.standard_uncertainty * (1.0 + 0.5 * growth) * stretch;
  double variance = out.speed_contribution * out.speed_contribution;
  for (std::size_t i = 0; i < ways.size(); ++i) {
    SpeedConversion& c = out.conversions[i];
    if (c.state != ConversionState::applied) continue;
    const auto &from = *published.conditions.of(c.quantity), &to = *common.of(c.quantity);
    const Sensitivity s =
        ways[i].entered ? *ways[i].entered : computed(c.quantity, halfway, middle(from, to), published.bow);
    c.sensitivity = s;
    c.change = s.value * *c.difference;
    const auto contribute = [&](CorrectionInput input, double value, double u, double weight) {
      const double contribution = std::abs(weight) * u;
      out.contributions.push_back({input, value, u, weight, contribution});
      variance += contribution * contribution;
    };
    if (from.standard_uncertainty)
      contribute(ways[i].difference_input, *c.difference, *from.standard_uncertainty, -s.value * stretch);
    contribute(ways[i].sensitivity_input, s.value, s.standard_uncertainty, *c.difference * stretch);
  }
  out.standard_uncertainty = std::sqrt(variance);
  return out;
}

}  // namespace shotassay
