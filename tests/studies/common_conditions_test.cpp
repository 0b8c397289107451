#include <shotassay/studies/common_conditions.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include "support/close.hpp"

using namespace shotassay;

namespace {

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

ShotConditions at(double draw_weight, double arrow_mass, double draw_length) {
  return {.draw_weight = ShotCondition{draw_weight},
          .arrow_mass = ShotCondition{arrow_mass},
          .draw_length = ShotCondition{draw_length}};
}

const ShotConditions ata = conditions_of(convention(Rating::ata));

/// 310 fps ± 0.6 at 68.5 ± 0.3 lbf, 362 ± 0.1 gr, 29½ ± 0.07 in; a compound.
const PublishedSpeed published{.speed = 310.0,
                               .standard_uncertainty = 0.6,
                               .conditions = {.draw_weight = ShotCondition{68.5, 0.3},
                                              .arrow_mass = ShotCondition{362.0, 0.1},
                                              .draw_length = ShotCondition{29.5, 0.07}},
                               .bow = BowType::compound};

}  // namespace

TEST_CASE("common_conditions: under its own conditions a speed stays what it is, its own uncertainty too") {
  const auto r = speed_at(at(70, 350, 30), {.speed = 340, .standard_uncertainty = 0.5, .conditions = at(70, 350, 30)});
  REQUIRE(r.speed);
  CHECK(*r.speed == 340.0);
  CHECK(*r.standard_uncertainty == 0.5);
  CHECK(!r.weight_and_length_differ);
  for (const SpeedConversion& c : r.conversions) {
    CHECK(c.state == ConversionState::applied);
    CHECK(!c.uncertainty_known);
  }
}

TEST_CASE("common_conditions: a worked conversion, by hand and by differences") {
  const auto r = speed_at(ata, published);
  REQUIRE(r.speed);
  // Per unit of speed: 1/(2·69.25) · 1.5 + 12/(2·(356 + 135)) + 0.5/(24·1.4) = S; v′ = v(1 + S/2)/(1 − S/2)
  const double s = 1.5 / 138.5 + 12.0 / 982.0 + 0.5 / 33.6;
  const double stretch = 1 / (1 - s / 2), expected = 310 * (1 + s / 2) * stretch, halfway = 0.5 * (310 + expected);
  CHECK(*r.speed == digits(expected, 13));  // 321.985
  CHECK(*r.speed == within(321.985, 0.01));
  REQUIRE(r.conversions[0].sensitivity);
  CHECK(r.conversions[0].sensitivity->value == digits(halfway / 138.5, 13));
  CHECK(r.conversions[1].sensitivity->value == digits(-halfway / 982, 13));
  CHECK(r.conversions[2].sensitivity->value == digits(halfway / 33.6, 13));
  CHECK(*r.conversions[0].difference == 1.5);
  CHECK(*r.conversions[1].difference == -12.0);
  CHECK(*r.conversions[2].difference == 0.5);
  CHECK(*r.conversions[0].change + *r.conversions[1].change + *r.conversions[2].change == digits(expected - 310, 12));
  CHECK(r.conversions[0].sensitivity->origin == SensitivityOrigin::computed);
  CHECK(r.conversions[1].sensitivity->origin == SensitivityOrigin::common_practice);
  CHECK(r.conversions[2].sensitivity->origin == SensitivityOrigin::common_practice);
  CHECK(r.weight_and_length_differ);

  // u by moving each input by its own u, through the formula written out anew; the conditions move the middle also,
  // which the first-order weights leave out: 1 % of their contributions.
  const auto v = [&](double speed, double f, double m, double l, double k_f, double virtual_mass, double k_l) {
    const double growth = k_f * (70 - f) / (70 + f) - (350 - m) / (350 + m + 2 * virtual_mass) + k_l * (30 - l) / 33.6;
    return speed * (1 + growth / 2) / (1 - growth / 2);
  };
  const double u_mass = 130 / std::sqrt(12.0), u_length = std::hypot(0.4 / std::sqrt(12.0) / 1.4, 0.07);
  const double here = v(310, 68.5, 362, 29.5, 1, 135, 1);
  const double d_speed = v(310.6, 68.5, 362, 29.5, 1, 135, 1) - here;
  const double d_weight = v(310, 68.8, 362, 29.5, 1, 135, 1) - here;
  const double d_mass = v(310, 68.5, 362.1, 29.5, 1, 135, 1) - here;
  const double d_inch = v(310, 68.5, 362, 29.57, 1, 135, 1) - here;
  const double d_per_lbf = v(310, 68.5, 362, 29.5, 1.2, 135, 1) - here;
  const double small = 1e-3;  // the virtual mass acts as 1/(m + K): its slope
  const double d_per_grain = (v(310, 68.5, 362, 29.5, 1, 135 + small, 1) - here) / small * u_mass;
  const double d_per_inch = v(310, 68.5, 362, 29.5, 1, 135, 1 + u_length) - here;
  const double expected_u = std::sqrt(d_speed * d_speed + d_weight * d_weight + d_mass * d_mass + d_inch * d_inch +
                                      d_per_lbf * d_per_lbf + d_per_grain * d_per_grain + d_per_inch * d_per_inch);
  CHECK(*r.standard_uncertainty == within(expected_u, 0.01 * expected_u));
  REQUIRE(r.contributions.size() == 6);
  const double moved[] = {d_weight, d_per_lbf, d_mass, d_per_grain, d_inch, d_per_inch};
  for (std::size_t i = 0; i < 6; ++i) {
    CAPTURE(i);
    CHECK(r.contributions[i].contribution == within(std::abs(moved[i]), 0.015 * std::abs(moved[i])));
  }
  CHECK(r.speed_contribution == digits(d_speed, 10));
}

TEST_CASE("common_conditions: there and back again is the speed it came from") {
  for (const BowType bow : {BowType::any, BowType::recurve, BowType::longbow, BowType::compound}) {
    PublishedSpeed p = published;
    p.bow = bow;
    const auto there = speed_at(ata, p);
    REQUIRE(there.speed);
    const auto back = speed_at(p.conditions, {.speed = *there.speed, .conditions = ata, .bow = bow});
    REQUIRE(back.speed);
    CHECK(*back.speed == digits(310, 14));
  }
}

TEST_CASE("common_conditions: a lighter arrow as by v² ∝ 1/(m + K), to a thousandth of the change") {
  // 335 fps at 350 gr, K = 135 in the middle of the usual: 335·√(485/535) = 318.961
  const auto r = speed_at({.arrow_mass = ShotCondition{400}}, {.speed = 335, .conditions = at(70, 350, 30)});
  REQUIRE(r.speed);
  CHECK(*r.speed == within(335 * std::sqrt(485.0 / 535), 0.016));
  CHECK(r.conversions[0].state == ConversionState::not_asked);
  CHECK(r.conversions[1].state == ConversionState::applied);
  CHECK(r.conversions[2].state == ConversionState::not_asked);
  CHECK(!r.weight_and_length_differ);
}

TEST_CASE("common_conditions: what a publication does not tell cannot be converted, whatever the rest") {
  PublishedSpeed p = published;
  p.conditions.draw_length.reset();
  const auto r = speed_at(ata, p);
  CHECK(!r.speed);
  CHECK(!r.standard_uncertainty);
  CHECK(r.contributions.empty());
  CHECK(r.speed_contribution == 0.0);
  CHECK(r.conversions[2].state == ConversionState::not_told);
  CHECK(r.conversions[0].state == ConversionState::applied);
  CHECK(!r.conversions[0].change);  // not half of it
}

TEST_CASE("common_conditions: conventions with other values lie too far apart, all of them") {
  for (const RatingConvention& a : rating_conventions)
    for (const RatingConvention& b : rating_conventions) {
      CAPTURE(a.name);
      CAPTURE(b.name);
      const auto r = speed_at(conditions_of(b), {.speed = 300, .conditions = conditions_of(a)});
      const bool alike = a.draw_weight.value == b.draw_weight.value && a.arrow_mass.value == b.arrow_mass.value &&
                         a.draw_length.value == b.draw_length.value;
      CHECK(r.speed.has_value() == alike);
    }
  const auto r = speed_at(ata, {.speed = 240, .conditions = conditions_of(convention(Rating::amo))});
  CHECK(r.conversions[0].state == ConversionState::too_far);
  CHECK(*r.conversions[0].difference == 10.0);
  CHECK(r.conversions[1].state == ConversionState::too_far);
  CHECK(*r.conversions[1].difference == -190.0);
  CHECK(r.conversions[2].state == ConversionState::applied);
}

TEST_CASE("common_conditions: 3 lbf, 50 gr and 1 in are converted, anything more is refused") {
  const auto state = [](const ShotConditions& from, std::size_t i) {
    return speed_at(at(70, 350, 30), {.speed = 300, .conditions = from}).conversions[i].state;
  };
  CHECK(state(at(67, 350, 30), 0) == ConversionState::applied);
  CHECK(state(at(66.9, 350, 30), 0) == ConversionState::too_far);
  CHECK(state(at(70, 400, 30), 1) == ConversionState::applied);
  CHECK(state(at(70, 400.1, 30), 1) == ConversionState::too_far);
  CHECK(state(at(70, 350, 29), 2) == ConversionState::applied);
  CHECK(state(at(70, 350, 31.1), 2) == ConversionState::too_far);
}

TEST_CASE("common_conditions: a convention's tolerance is rectangular about its middle") {
  const auto c = conditions_of(convention(Rating::ata_intermediate_50));
  CHECK(c.draw_weight->value == 50.0);
  CHECK(*c.draw_weight->standard_uncertainty == digits(0.1 / std::sqrt(3.0), 14));
  CHECK(c.draw_length->value == 28.125);  // 28 + ¼ − 0
  CHECK(*c.draw_length->standard_uncertainty == digits(0.125 / std::sqrt(3.0), 14));
  CHECK(*c.arrow_mass->standard_uncertainty == digits(0.5 / std::sqrt(3.0), 14));
  // Without a tolerance the uncertainty is not known; it is not 0.
  CHECK(!conditions_of(convention(Rating::ibo)).draw_length->standard_uncertainty);
}

TEST_CASE("common_conditions: an entered sensitivity replaces its formula") {
  const EnteredSensitivities own{.per_lbf = entered_sensitivity(2.0, 0.1),
                                 .per_grain = entered_sensitivity(-0.4, 0.02),
                                 .per_inch = entered_sensitivity(9.0, 0.5)};
  const auto r = speed_at(ata, published, own);
  REQUIRE(r.speed);
  CHECK(*r.speed == digits(310 + 2.0 * 1.5 + 0.4 * 12 + 9.0 * 0.5, 14));
  // √(0.6² + (2·0.3)² + (1.5·0.1)² + (0.4·0.1)² + (12·0.02)² + (9·0.07)² + (0.5·0.5)²)
  CHECK(*r.standard_uncertainty == digits(std::sqrt(0.36 + 0.36 + 0.0225 + 0.0016 + 0.0576 + 0.3969 + 0.0625), 13));
  for (const SpeedConversion& c : r.conversions) CHECK(c.sensitivity->origin == SensitivityOrigin::entered);
  // One entered, the others computed at half the way: there and back still agree.
  const EnteredSensitivities one{.per_grain = own.per_grain};
  const auto there = speed_at(ata, published, one);
  const auto back =
      speed_at(published.conditions, {.speed = *there.speed, .conditions = ata, .bow = BowType::compound}, one);
  CHECK(*back.speed == digits(310, 14));
  CHECK(there.conversions[1].sensitivity->origin == SensitivityOrigin::entered);
  CHECK(there.conversions[0].sensitivity->origin == SensitivityOrigin::computed);
}

TEST_CASE("common_conditions: what cannot be is refused") {
  const auto ask = [](const PublishedSpeed& p, const EnteredSensitivities& e = {}) {
    return message([&] { speed_at(ata, p, e); });
  };
  CHECK(ask({.speed = 0}) == "speed_at: the speed must be positive, got 0.000000");
  CHECK(ask({.speed = std::numeric_limits<double>::infinity()}).starts_with("speed_at: the speed must be positive"));
  CHECK(ask({.speed = 300, .standard_uncertainty = -1}) ==
        "speed_at: the standard uncertainty of the speed must be 0 or more, got -1.000000");
  CHECK(ask({.speed = 300, .conditions = at(0, 350, 30)}).starts_with("speed_at: the draw weight must be positive"));
  CHECK(ask({.speed = 300, .conditions = at(70, -1, 30)}).starts_with("speed_at: the arrow mass must be positive"));
  CHECK(ask({.speed = 300, .conditions = {.draw_length = ShotCondition{30, -0.1}}}) ==
        "speed_at: the standard uncertainty of the draw length must be 0 or more, got -0.100000");
  CHECK(message([] {
          speed_at({.draw_weight = ShotCondition{0}}, published);
        }).starts_with("speed_at: the draw weight must be positive"));
  CHECK(ask(published, {.per_lbf = Sensitivity{-2, 0.1, SensitivityOrigin::entered}}) ==
        "speed_at: the speed per lbf cannot be -2.000000");
  CHECK(ask(published, {.per_grain = Sensitivity{0.4, 0.1, SensitivityOrigin::entered}}) ==
        "speed_at: the speed per gr cannot be 0.400000");
  CHECK(ask(published, {.per_inch = Sensitivity{-9, 0.1, SensitivityOrigin::entered}}) ==
        "speed_at: the speed per in cannot be -9.000000");
}
