#include <shotassay/studies/equal_setups.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

/// One value written with so many decimals, on one row.
MeasuredValue value(double x, double resolution) {
  return {.mean = x,
          .low = x,
          .high = x,
          .rows = 1,
          .resolution = resolution,
          .standard_uncertainty = resolution / std::sqrt(12.0)};
}

SetupMeasurements setup(double speed, std::optional<double> weight, std::optional<double> mass,
                        std::optional<double> length = {}) {
  SetupMeasurements s{};
  s.average_speed = speed;
  if (weight) s.draw_weight = value(*weight, 0.1);
  if (mass) s.arrow_mass = value(*mass, 0.1);
  if (length) s.draw_length = value(*length, 0.1);
  return s;
}

const GapEstimate two_fps{.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1.4};

const SetupCorrection& correction(const EqualisedGap& e, SetupQuantity quantity) {
  return e.corrections.at(static_cast<std::size_t>(quantity));
}

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  } catch (const NoAnswer& e) {
    return e.what();
  }
  return {};
}

Sheet sheet_of(const std::string& text) {
  const ReadResult read = read_sheet(text);
  REQUIRE(read.problems.empty());
  return *read.sheet;
}

const double u_tenth = 0.1 / std::sqrt(12.0);  // of one value written with one decimal

}  // namespace

TEST_CASE("equalised_gap: the same arrow from a bow that is 0.6 lbf stronger, by hand") {
  // v = 191, F = 40.3: 191/80.6 = 2.369727 fps per lbf, u a fifth of it; correction −0.6·2.369727 = −1.421836.
  const auto e = equalised_gap(setup(190, 40.0, 350.0), setup(192, 40.6, 350.0), two_fps);
  CHECK(e.as_shot.gap == 2);
  REQUIRE(e.arrows);
  CHECK(*e.arrows == ArrowMatch::same_arrow);
  CHECK(e.arrows_inferred);
  CHECK(e.differ);
  CHECK(!e.weight_and_length_differ);
  const auto& weight = correction(e, SetupQuantity::draw_weight);
  CHECK(weight.state == CorrectionState::applied);
  CHECK(weight.reason.empty());
  CHECK(*weight.difference == digits(0.6, 12));
  CHECK(weight.sensitivity->value == digits(191 / 80.6, 13));
  CHECK(weight.sensitivity->origin == SensitivityOrigin::computed);
  CHECK(*weight.correction == digits(-0.6 * 191 / 80.6, 12));
  const double c = 191 / 80.6, u_difference = std::sqrt(2.0) * u_tenth;
  CHECK(*weight.standard_uncertainty == digits(std::hypot(c * u_difference, 0.6 * 0.2 * c), 12));
  // The arrow: no difference, yet the scale leaves 0.041 gr open; −191/(2·485) fps per grain.
  const auto& mass = correction(e, SetupQuantity::arrow_mass);
  CHECK(mass.state == CorrectionState::applied);
  CHECK(*mass.correction == 0);
  CHECK(*mass.standard_uncertainty == digits(191.0 / 970 * u_difference, 12));
  const auto& length = correction(e, SetupQuantity::draw_length);
  CHECK(length.state == CorrectionState::not_known);
  CHECK(length.reason == "draw length was not measured");
  CHECK(!length.correction);
  CHECK(!length.difference);
  REQUIRE(e.equalised);
  CHECK(e.equalised->gap == digits(2 - 0.6 * 191 / 80.6, 12));
  // Inputs: two readings, two sensitivities (that per grain acts on no difference).
  const double w =
      std::sqrt(std::pow(c * u_difference, 2) + std::pow(191.0 / 970 * u_difference, 2) + std::pow(0.6 * 0.2 * c, 2));
  REQUIRE(e.contributions.size() == 4);
  double squares = 0;
  for (const auto& part : e.contributions) squares += part.contribution * part.contribution;
  CHECK(std::sqrt(squares) == digits(w, 12));
  CHECK(e.contributions[0].input == CorrectionInput::draw_weight);
  CHECK(e.contributions[0].weight == digits(-c, 12));
  CHECK(e.contributions[0].value == digits(0.6, 12));
  CHECK(e.contributions[2].input == CorrectionInput::per_lbf);
  CHECK(e.contributions[2].weight == digits(-0.6, 12));
  CHECK(e.contributions[2].contribution == digits(0.6 * 0.2 * c, 12));
  CHECK(e.contributions[3].input == CorrectionInput::per_grain);
  CHECK(e.contributions[3].contribution == 0);
  const auto widened =
      widened_gap({.gap = e.equalised->gap, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1.4}, w);
  CHECK(e.equalised->half_width == digits(widened.half_width, 11));
  CHECK(e.equalised->added_share > 0.2);
}

TEST_CASE("equalised_gap: the direction of every correction takes off what the faster set-up had for nothing") {
  // to has the stronger bow, the lighter arrow, the longer draw: each made it faster, so each correction lowers the
  // gap.
  const auto e = equalised_gap(setup(190, 40.0, 350.0, 28.0), setup(196, 41.0, 340.0, 28.5),
                               {.gap = 6, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1.4});
  for (const auto& c : e.corrections) {
    CHECK(c.state == CorrectionState::applied);
    CHECK(*c.correction < 0);
  }
  CHECK(*e.arrows == ArrowMatch::neither);
  CHECK(e.weight_and_length_differ);
  // And the other way round the same numbers with the other sign.
  const auto back = equalised_gap(setup(196, 41.0, 340.0, 28.5), setup(190, 40.0, 350.0, 28.0),
                                  {.gap = -6, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1.4});
  CHECK(back.equalised->gap == digits(-e.equalised->gap, 12));
  CHECK(back.equalised->half_width == digits(e.equalised->half_width, 12));
  // By hand: v = 193, F = 40.5, m = 345: 6 − 193/81 − 10·193/960 − ½·193/(24·1.19)
  CHECK(e.equalised->gap == digits(6 - 193.0 / 81 - 1930.0 / 960 - 0.5 * 193 / (24 * 1.19), 12));
}

TEST_CASE("equalised_gap: the same grains per pound is inferred, and says the same as both corrections apart") {
  // 350/40 = 367.5/42 = 8.75 gr per lbf
  const auto from = setup(190, 40.0, 350.0), to = setup(191, 42.0, 367.5);
  const auto e = equalised_gap(from, to, two_fps);
  CHECK(*e.arrows == ArrowMatch::same_grains_per_pound);
  CHECK(e.arrows_inferred);
  const auto& weight = correction(e, SetupQuantity::draw_weight);
  // v = 190.5, F = 41, m = 358.75: v·K/(2F(m + K)) with K = 135
  CHECK(weight.sensitivity->value == digits(190.5 * 135 / (82 * 493.75), 12));
  CHECK(weight.sensitivity->origin == SensitivityOrigin::common_practice);
  CHECK(*weight.correction == digits(-2 * 190.5 * 135 / (82 * 493.75), 12));
  const auto& mass = correction(e, SetupQuantity::arrow_mass);
  CHECK(*mass.difference == digits(17.5, 12));
  CHECK(*mass.corrected_difference == within(0, 1e-10));
  CHECK(*mass.correction == within(0, 1e-10));

  EqualSetupsOptions apart;
  apart.arrows = ArrowMatch::neither;
  const auto f = equalised_gap(from, to, two_fps, apart);
  CHECK(!f.arrows_inferred);
  CHECK(*correction(f, SetupQuantity::draw_weight).correction == digits(-2 * 190.5 / 82, 12));
  CHECK(*correction(f, SetupQuantity::arrow_mass).correction == digits(17.5 * 190.5 / (2 * 493.75), 12));
  CHECK(e.equalised->gap == digits(f.equalised->gap, 12));
  CHECK(e.equalised->half_width == digits(f.equalised->half_width, 12));
  REQUIRE(e.contributions.size() == f.contributions.size());
  for (std::size_t i = 0; i < e.contributions.size(); ++i) {
    CHECK(e.contributions[i].contribution == digits(f.contributions[i].contribution, 10));
    CHECK(e.contributions[i].value == digits(f.contributions[i].value, 12));
  }
}

TEST_CASE("equalised_gap: a mass that nearly goes with the draw weight keeps a correction of what is left over") {
  // 350/40 = 8.75, 370.5/42 = 8.82 gr per lbf: within 1 %; left over 20.5 − 2·360.25/41 = 2.927 gr, 0.57 fps
  const auto e = equalised_gap(setup(190, 40.0, 350.0), setup(191, 42.0, 370.5), two_fps);
  CHECK(*e.arrows == ArrowMatch::same_grains_per_pound);
  const double left = 20.5 - 2 * 360.25 / 41;
  CHECK(*correction(e, SetupQuantity::arrow_mass).corrected_difference == digits(left, 11));
  CHECK(*correction(e, SetupQuantity::arrow_mass).correction == digits(left * 190.5 / (2 * 495.25), 11));
  EqualSetupsOptions apart;
  apart.arrows = ArrowMatch::neither;
  CHECK(e.equalised->gap ==
        digits(equalised_gap(setup(190, 40.0, 350.0), setup(191, 42.0, 370.5), two_fps, apart).equalised->gap, 12));
  // 372/42 = 8.857: 1.2 % off; and a heavier arrow on the weaker bow is no such pair.
  CHECK(*equalised_gap(setup(190, 40.0, 350.0), setup(191, 42.0, 372.0), two_fps).arrows == ArrowMatch::neither);
  CHECK(*equalised_gap(setup(190, 40.0, 350.0), setup(191, 39.9, 351.0), two_fps).arrows == ArrowMatch::neither);
  CHECK(*equalised_gap(setup(190, 40.0, 350.0), setup(191, 40.0, 351.0), two_fps).arrows == ArrowMatch::neither);
}

TEST_CASE("equalised_gap: uncertainties agree with moving each input a little") {
  // A second method: the corrected gap as a function of its inputs, at the same grains per pound with entered and with
  // computed sensitivities, differentiated numerically.
  const auto from = setup(190, 40.0, 350.0), to = setup(191, 42.0, 370.5);
  for (const bool entered : {false, true}) {
    EqualSetupsOptions o;
    if (entered) {
      o.arrows = ArrowMatch::same_grains_per_pound;
      o.per_lbf = entered_sensitivity(0.7, 0.2);
      o.per_grain = entered_sensitivity(-0.21, 0.03);
    }
    const double v = 190.5, f = 41, m = 360.25, gpp = m / f;
    const auto gap = [&](double df, double dm, double a, double b) {
      if (entered) return 2 - a * df - b * (dm - gpp * df);
      // a scales E's part of the sensitivity per lbf, b is K
      return 2 - (v / (2 * f) * a - v * gpp / (2 * (m + b))) * df + v / (2 * (m + b)) * (dm - gpp * df);
    };
    const double at[4] = {2, 20.5, entered ? 0.7 : 1, entered ? -0.21 : 135};
    const double u[4] = {std::sqrt(2.0) * u_tenth, std::sqrt(2.0) * u_tenth, 0.2, entered ? 0.03 : 65 / std::sqrt(3.0)};
    double w = 0;
    for (int i = 0; i < 4; ++i) {
      const double h = 1e-5 * at[i];
      double p[4] = {at[0], at[1], at[2], at[3]}, q[4] = {at[0], at[1], at[2], at[3]};
      p[i] += h;
      q[i] -= h;
      w += std::pow((gap(p[0], p[1], p[2], p[3]) - gap(q[0], q[1], q[2], q[3])) / (2 * h) * u[i], 2);
    }
    const auto e = equalised_gap(from, to, two_fps, o);
    CHECK(e.equalised->gap == digits(gap(at[0], at[1], at[2], at[3]), 10));
    double squares = 0;
    for (const auto& part : e.contributions) squares += part.contribution * part.contribution;
    CHECK(std::sqrt(squares) == digits(std::sqrt(w), 7));
  }
}

TEST_CASE("equalised_gap: entered sensitivities replace the formulas and keep their uncertainty") {
  EqualSetupsOptions o;
  o.per_lbf = entered_sensitivity(2.1, 0.5);
  o.per_grain = entered_sensitivity(-0.3, 0.1);
  o.per_inch = entered_sensitivity(9, 1);
  const auto e = equalised_gap(setup(190, 40.0, 350.0, 28.0), setup(192, 41.0, 352.0, 28.2), two_fps, o);
  CHECK(*correction(e, SetupQuantity::draw_weight).correction == digits(-2.1, 12));
  CHECK(*correction(e, SetupQuantity::arrow_mass).correction == digits(0.6, 12));
  CHECK(*correction(e, SetupQuantity::draw_length).correction == digits(-1.8, 12));
  for (const auto& c : e.corrections) CHECK(c.sensitivity->origin == SensitivityOrigin::entered);
  CHECK(e.equalised->gap == digits(2 - 2.1 + 0.6 - 1.8, 12));
  CHECK(e.contributions[3].contribution == digits(0.5, 12));
  CHECK(e.contributions[4].contribution == digits(0.2, 12));
  CHECK(e.contributions[5].contribution == digits(0.2, 12));
}

TEST_CASE("equalised_gap: the type of bow chooses the speed of an inch") {
  EqualSetupsOptions recurve;
  recurve.bow = BowType::recurve;
  const auto e = equalised_gap(setup(190, {}, {}, 28.0), setup(192, {}, {}, 28.4), two_fps, recurve);
  CHECK(*correction(e, SetupQuantity::draw_length).correction == digits(-0.4 * 191 / (24 * 0.895), 12));
  CHECK(e.equalised->gap == digits(2 - 0.4 * 191 / (24 * 0.895), 12));
  CHECK(!e.weight_and_length_differ);
}

TEST_CASE("equalised_gap: beyond 3 lbf, 50 gr or 1 in it refuses, gives the reason, and corrects nothing in part") {
  const auto far = equalised_gap(setup(190, 40.0, 350.0), setup(198, 43.1, 350.0), two_fps);
  CHECK(correction(far, SetupQuantity::draw_weight).state == CorrectionState::too_far);
  CHECK(correction(far, SetupQuantity::draw_weight).reason ==
        "draw weight differs by 3.1 lbf; beyond 3 lbf no sensitivity is sound");
  CHECK(!correction(far, SetupQuantity::draw_weight).correction);
  CHECK(correction(far, SetupQuantity::arrow_mass).state == CorrectionState::applied);
  CHECK(!far.equalised);
  CHECK(far.contributions.empty());
  CHECK(far.as_shot.gap == 2);

  const auto heavy = equalised_gap(setup(190, {}, 350.0), setup(180, {}, 400.1), two_fps);
  CHECK(correction(heavy, SetupQuantity::arrow_mass).reason ==
        "arrow mass differs by 50.1 gr; beyond 50 gr no sensitivity is sound");
  CHECK(!heavy.equalised);
  const auto longer = equalised_gap(setup(190, {}, {}, 28.0), setup(200, {}, {}, 29.1), two_fps);
  CHECK(correction(longer, SetupQuantity::draw_length).reason ==
        "draw length differs by 1.1 in; beyond 1 in no sensitivity is sound");
  CHECK(!longer.equalised);

  // Exactly at the limit it is still sound, though 43.1 − 40.1 is not 3 as doubles go.
  CHECK(equalised_gap(setup(190, 40.1, 350.0), setup(198, 43.1, 350.0), two_fps).equalised);
  CHECK(equalised_gap(setup(190, {}, 350.1), setup(180, {}, 400.1), two_fps).equalised);
  CHECK(equalised_gap(setup(190, {}, {}, 28.1), setup(198, {}, {}, 29.1), two_fps).equalised);
  // An entered sensitivity is no licence.
  EqualSetupsOptions o;
  o.per_lbf = entered_sensitivity(2, 0.1);
  CHECK(!equalised_gap(setup(190, 40.0, 350.0), setup(198, 43.1, 350.0), two_fps, o).equalised);
}

TEST_CASE("equalised_gap: what was not measured is not known, never 0") {
  const auto none = equalised_gap(setup(190, {}, {}), setup(192, {}, {}), two_fps);
  CHECK(!none.equalised);
  CHECK(!none.differ);
  CHECK(!none.arrows);
  for (const auto& c : none.corrections) {
    CHECK(c.state == CorrectionState::not_known);
    CHECK(!c.difference);
    CHECK(!c.correction);
    CHECK(!c.standard_uncertainty);
  }
  const auto one = equalised_gap(setup(190, 40.0, 350.0), setup(192, {}, 351.0), two_fps);
  CHECK(correction(one, SetupQuantity::draw_weight).reason ==
        "draw weight was measured in one of the two set-ups only");
  CHECK(correction(one, SetupQuantity::draw_weight).from.has_value());
  REQUIRE(one.equalised);  // for equal arrows; the state of the draw weight says what is missing
  CHECK(one.equalised->gap == digits(2 + 191.0 / (2 * 485.5), 12));
}

TEST_CASE("equalised_gap: a draw weight without arrow masses needs to be told what the arrows had in common") {
  const auto from = setup(190, 40.0, {}), to = setup(192, 40.6, {});
  const auto e = equalised_gap(from, to, two_fps);
  CHECK(correction(e, SetupQuantity::draw_weight).state == CorrectionState::arrows_not_known);
  CHECK(
      correction(e, SetupQuantity::draw_weight).reason ==
      "arrow mass was not measured, so it must be told whether both set-ups shot the same arrow or the same grains per "
      "pound");
  CHECK(!e.equalised);
  CHECK(!e.arrows);

  EqualSetupsOptions told;
  told.arrows = ArrowMatch::same_arrow;
  const auto same = equalised_gap(from, to, two_fps, told);
  CHECK(!same.arrows_inferred);
  CHECK(correction(same, SetupQuantity::arrow_mass).state == CorrectionState::as_told);
  CHECK(correction(same, SetupQuantity::arrow_mass).reason.empty());
  CHECK(same.equalised->gap == digits(2 - 0.6 * 191 / 80.6, 12));

  told.arrows = ArrowMatch::same_grains_per_pound;
  const auto gpp = equalised_gap(from, to, two_fps, told);
  CHECK(correction(gpp, SetupQuantity::draw_weight).state == CorrectionState::arrows_not_known);
  CHECK(correction(gpp, SetupQuantity::draw_weight).reason ==
        "at the same grains per pound the arrow mass is needed, and it was not measured in both set-ups");
  CHECK(!gpp.equalised);
  told.per_lbf = entered_sensitivity(0.5, 0.1);
  CHECK(equalised_gap(from, to, two_fps, told).equalised->gap == digits(1.7, 12));

  // Weights that are equal as written need no answer; the larger of the two sensitivities bounds what the scale hides.
  const auto equal = equalised_gap(setup(190, 40.0, {}), setup(192, 40.0, {}), two_fps);
  CHECK(equal.equalised->gap == 2);
  CHECK(equal.contributions.front().contribution == digits(191.0 / 80 * std::sqrt(2.0) * u_tenth, 12));
  CHECK(!equal.differ);
}

TEST_CASE("equalised_gap: told the same grains per pound, a heavier arrow alone is half a correction and refused") {
  EqualSetupsOptions told;
  told.arrows = ArrowMatch::same_grains_per_pound;
  const auto e = equalised_gap(setup(190, {}, 350.0), setup(192, {}, 360.0), two_fps, told);
  CHECK(correction(e, SetupQuantity::arrow_mass).state == CorrectionState::arrows_not_known);
  CHECK(correction(e, SetupQuantity::arrow_mass).reason ==
        "at the same grains per pound the draw weight is needed, and it was not measured in both set-ups");
  CHECK(!e.equalised);
  CHECK(equalised_gap(setup(190, {}, 350.0), setup(192, {}, 350.0), two_fps, told).equalised->gap == 2);
}

TEST_CASE("equalised_gap: level and family reach the interval") {
  EqualSetupsOptions o;
  o.level = ConfidenceLevel{0.8};
  const auto from = setup(190, 40.0, 350.0), to = setup(192, 40.6, 350.0);
  const auto narrow =
      equalised_gap(from, to, {.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 0}, o);
  const auto wide =
      equalised_gap(from, to, {.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 0});
  EqualSetupsOptions family;
  family.family = Family{4};
  const auto wider =
      equalised_gap(from, to, {.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 0}, family);
  CHECK(narrow.equalised->half_width < wide.equalised->half_width);
  CHECK(wide.equalised->half_width < wider.equalised->half_width);
  CHECK(narrow.equalised->standard_uncertainty == digits(wide.equalised->standard_uncertainty, 13));
}

TEST_CASE("equalised_gap: impossible sensitivities, values and set-ups without shots are refused") {
  const auto from = setup(190, 40.0, 350.0, 28.0), to = setup(192, 40.6, 350.0, 28.0);
  const auto entered = [&](std::optional<double> lbf, std::optional<double> grain, std::optional<double> inch) {
    EqualSetupsOptions o;
    if (lbf) o.per_lbf = entered_sensitivity(*lbf, 0.1);
    if (grain) o.per_grain = entered_sensitivity(*grain, 0.1);
    if (inch) o.per_inch = entered_sensitivity(*inch, 0.1);
    return message([&] { equalised_gap(from, to, two_fps, o); });
  };
  CHECK(entered(-2.1, {}, {}) == "equal set-ups: the speed per lbf cannot be -2.1: a stronger bow is not slower");
  CHECK(entered({}, 0.2, {}) == "equal set-ups: the speed per grain cannot be 0.2: a heavier arrow is not faster");
  CHECK(entered({}, {}, -9) == "equal set-ups: the speed per inch cannot be -9: a longer draw is not slower");
  CHECK(entered(0, 0, 0).empty());
  CHECK(message([&] { equalised_gap(setup(190, 0.0, 350.0), to, two_fps); }) ==
        "equal set-ups: draw weight must be positive, got 0");
  CHECK(message([&] { equalised_gap(from, setup(190, 40.0, -1.0), two_fps); }) ==
        "equal set-ups: arrow mass must be positive, got -1");
  SetupMeasurements silent = from;
  silent.average_speed.reset();
  CHECK(message([&] { equalised_gap(silent, to, two_fps); }) ==
        "equal set-ups: a set-up has no shot left, so its speed is not known");
}

TEST_CASE("setup_measurements: one value on the first row, its last decimal is the scale's step") {
  const Sheet sheet = sheet_of(
      "setup,speed_fps,draw_weight_lbf,arrow_mass_gr,draw_length_in\n"
      "14 strands,190,40.5,350,28.25\n18 strands,188,40,,\n14 strands,193,,,\n");
  const auto m = setup_measurements(sheet, "14 strands");
  CHECK(*m.average_speed == 191.5);
  REQUIRE(m.draw_weight);
  CHECK(m.draw_weight->mean == 40.5);
  CHECK(m.draw_weight->rows == 1);
  CHECK(m.draw_weight->resolution == 0.1);
  CHECK(m.draw_weight->standard_uncertainty == digits(0.1 / std::sqrt(12.0), 13));
  CHECK(m.arrow_mass->resolution == 1);
  CHECK(m.draw_length->resolution == 0.01);
  CHECK(m.of(SetupQuantity::draw_length)->mean == 28.25);
  const auto other = setup_measurements(sheet, "18 strands");
  CHECK(other.draw_weight->mean == 40);
  CHECK(!other.arrow_mass);
  CHECK(!other.draw_length);
}

TEST_CASE("setup_measurements: several values spread, and copies of one make it no more certain") {
  // 42.0 before, 42.3 after, each copied to three rows: mean 42.15, u = √(0.3² + 0.1²)/√12 = 0.091287
  const Sheet sheet = sheet_of(
      "setup,speed_fps,draw_weight_lbf\nA,190,42.0\nA,190,42.0\nA,190,42.0\nA,191,42.3\nA,191,42.3\nA,191,42.3\n"
      "B,190,42\nB,191,42.4\n");
  const auto a = setup_measurements(sheet, "A");
  CHECK(a.draw_weight->mean == digits(42.15, 14));
  CHECK(a.draw_weight->rows == 6);
  CHECK(a.draw_weight->low == 42.0);
  CHECK(a.draw_weight->high == 42.3);
  CHECK(a.draw_weight->standard_uncertainty == digits(std::sqrt(0.1 / 12), 12));
  const auto b = setup_measurements(sheet, "B");  // the most decimals written are the scale's
  CHECK(b.draw_weight->resolution == 0.1);
  CHECK(b.draw_weight->mean == digits(42.2, 14));
}

TEST_CASE("setup_measurements: rows of excluded shots count only where no other row gives a value") {
  const Sheet sheet = sheet_of(
      "setup,speed_fps,arrow_mass_gr,draw_weight_lbf,excluded\nA,150,300,40.0,wrong arrow\nA,190,350,,\nA,191,351,,\n"
      "B,190,350,,\nC,190,350,,wind\n");
  const auto a = setup_measurements(sheet, "A");
  CHECK(a.arrow_mass->mean == 350.5);
  CHECK(a.draw_weight->mean == 40);
  CHECK(*a.average_speed == 190.5);
  CHECK(!setup_measurements(sheet, "C").average_speed);
  CHECK(setup_measurements(sheet, "C").arrow_mass->mean == 350);
  CHECK(message([&] { setup_measurements(sheet, "D"); }) == "no set-up is named D");
}

TEST_CASE("setup_measurements: quantities have names, units and limits") {
  CHECK(name(SetupQuantity::draw_weight) == "draw weight");
  CHECK(unit(SetupQuantity::arrow_mass) == "gr");
  CHECK(unit(SetupQuantity::draw_length) == "in");
  CHECK(largest_difference(SetupQuantity::draw_weight) == 3);
  CHECK(largest_difference(SetupQuantity::arrow_mass) == 50);
  CHECK(largest_difference(SetupQuantity::draw_length) == 1);
}
