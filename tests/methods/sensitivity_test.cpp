#include <shotassay/methods/sensitivity.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "support/close.hpp"

using namespace shotassay;

namespace {

/// v = √(k·E/(m + K)) with E in proportion to F, scaled to pass through 190 fps at 350 gr and 40 lbf.
double model(double arrow_mass, double draw_weight, double virtual_mass) {
  return 190 * std::sqrt(draw_weight / 40 * (350 + virtual_mass) / (arrow_mass + virtual_mass));
}

template <typename Function>
double slope(Function f, double x) {
  const double h = 1e-4 * x;  // the error of a central difference is of the order h²: 1e-8
  return (f(x + h) - f(x - h)) / (2 * h);
}

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

}  // namespace

TEST_CASE("sensitivity: each is the slope of the speed formula, taken numerically") {
  for (const double k : {71.0, 135.0, 203.0}) {
    const UsualRange known{k, k};
    const auto lbf = per_lbf_same_arrow({.speed = 190, .draw_weight = 40});
    CHECK(lbf.value == digits(slope([&](double f) { return model(350, f, k); }, 40), 7));
    const auto gpp = per_lbf_same_gpp({.speed = 190, .draw_weight = 40, .arrow_mass = 350}, known);
    CHECK(gpp.value == digits(slope([&](double f) { return model(350 * f / 40, f, k); }, 40), 7));
    const auto grain = per_grain({.speed = 190, .arrow_mass = 350}, known);
    CHECK(grain.value == digits(slope([&](double m) { return model(m, 40, k); }, 350), 7));
    CHECK(grain.standard_uncertainty == 0);  // K known exactly
    CHECK(gpp.value == digits(lbf.value + 350.0 / 40 * grain.value, 12));
  }
}

TEST_CASE("sensitivity: the usual virtual mass is 135 gr with a standard uncertainty of 65/√3") {
  CHECK(usual_virtual_mass.middle() == 135);
  CHECK(usual_virtual_mass.standard_uncertainty() == digits(37.5277674973256746930946707326, 14));
  // mpmath: −190/(2·485), 190/(2·485²)·u_K, and hypot(0.2·190/80, 350/40 of that)
  const auto grain = per_grain({.speed = 190, .arrow_mass = 350});
  CHECK(grain.value == digits(-0.195876288659793814432989690722, 14));
  CHECK(grain.standard_uncertainty == digits(0.015156288286729467938543920585, 13));
  CHECK(grain.origin == SensitivityOrigin::common_practice);
  const auto gpp = per_lbf_same_gpp({.speed = 190, .draw_weight = 40, .arrow_mass = 350});
  CHECK(gpp.value == digits(0.661082474226804123711340206186, 13));
  CHECK(gpp.standard_uncertainty == digits(0.493165699614636670547292073266, 13));
  CHECK(gpp.origin == SensitivityOrigin::common_practice);
}

TEST_CASE("sensitivity: with the same arrow 190 fps at 40 lbf gain 2.375 fps a pound, with a fifth of it in doubt") {
  const auto s = per_lbf_same_arrow({.speed = 190, .draw_weight = 40});
  CHECK(s.value == 2.375);
  CHECK(s.standard_uncertainty == digits(0.475, 13));
  CHECK(s.origin == SensitivityOrigin::computed);
}

TEST_CASE("sensitivity: the worked bows of the trade lie where the usual ranges put them") {
  // speed, draw weight, arrow mass; virtual mass and stored energy of each bow assumed by the source of the table;
  // fps per lbf with the same arrow and gr per fps as it prints them, to the last digit printed.
  struct Bow {
    double speed, draw_weight, arrow_mass, stored_energy, fps_per_lbf, gr_per_fps, fps_per_inch;
    BowType type;
  };
  const Bow bows[] = {{335, 70, 350, 105, 2.4, 2.5, 9.3, BowType::compound},
                      {285, 65, 420, 91, 2.2, 3.5, 8.5, BowType::compound},
                      {240, 60, 540, 87, 2.0, 5.7, 6.9, BowType::compound},
                      {190, 40, 350, 38, 2.4, 5.0, 8.3, BowType::recurve},
                      {165, 50, 500, 42.5, 1.7, 8.5, 8.1, BowType::longbow}};
  for (const Bow& b : bows) {
    CHECK(per_lbf_same_arrow({.speed = b.speed, .draw_weight = b.draw_weight}).value == within(b.fps_per_lbf, 0.05));
    // K was 71 to 203 gr; the printed gr per fps are rounded to 0.05
    const auto light = per_grain({.speed = b.speed, .arrow_mass = b.arrow_mass}, UsualRange{70, 70});
    const auto heavy = per_grain({.speed = b.speed, .arrow_mass = b.arrow_mass}, UsualRange{204, 204});
    CHECK(-1 / light.value < b.gr_per_fps + 0.05);
    CHECK(-1 / heavy.value > b.gr_per_fps - 0.05);
    const double r = b.stored_energy / b.draw_weight;
    CHECK(per_inch(b.speed, UsualRange{r, r}).value == within(b.fps_per_inch, 0.05));
    for (const BowType type : {b.type, BowType::any}) {
      const auto inch = per_inch(b.speed, type);
      CHECK(std::abs(inch.value - b.fps_per_inch) < 2 * inch.standard_uncertainty);
    }
  }
}

TEST_CASE("sensitivity: an inch of a recurve, of a bow of unknown type, and of one whose energy is known") {
  // r = 0.895 ± 0.075/√3; 190/(24·0.895) and its relative u √((u_r/r)² + 0.07²)   (mpmath)
  const auto recurve = per_inch(190, BowType::recurve);
  CHECK(recurve.value == digits(8.84543761638733705772811918063, 13));
  CHECK(recurve.standard_uncertainty == digits(0.752681302490778983844764097577, 13));
  CHECK(recurve.origin == SensitivityOrigin::common_practice);
  // r = 1.19 ± 0.41/√3: relative u √(0.198919² + 0.07²)
  const auto any = per_inch(190);
  CHECK(any.value == digits(6.65266106442577030812324929972, 13));
  CHECK(any.standard_uncertainty / any.value == digits(std::hypot(0.198919000309030725587185714291, 0.07), 12));
  const auto known = per_inch(190, UsualRange{0.95, 0.95});
  CHECK(known.standard_uncertainty == digits(0.07 * known.value, 13));
  CHECK(usual_stored_energy(BowType::longbow).middle() == digits(0.865, 14));
  CHECK(usual_stored_energy(BowType::compound).middle() == digits(1.4, 14));
}

TEST_CASE("sensitivity: speeds in m/s give sensitivities in m/s") {
  const double mps = 190 * 0.3048;
  CHECK(per_grain({.speed = mps, .arrow_mass = 350}).value ==
        digits(0.3048 * per_grain({.speed = 190, .arrow_mass = 350}).value, 13));
  CHECK(per_lbf_same_arrow({.speed = mps, .draw_weight = 40}).standard_uncertainty == digits(0.3048 * 0.475, 13));
  CHECK(per_inch(mps).value == digits(0.3048 * per_inch(190).value, 13));
}

TEST_CASE("entered_sensitivity: as entered, with its origin") {
  const auto s = entered_sensitivity(-0.2, 0.05);
  CHECK(s.value == -0.2);
  CHECK(s.standard_uncertainty == 0.05);
  CHECK(s.origin == SensitivityOrigin::entered);
  CHECK(entered_sensitivity(2.1, 0).standard_uncertainty == 0);
  CHECK(message([] { entered_sensitivity(2, -0.1); }) ==
        "the standard uncertainty of a sensitivity must be 0 or more, got -0.100000");
  CHECK(message([] { entered_sensitivity(std::nan(""), 0.1); }) == "a sensitivity must be a number");
}

TEST_CASE("sensitivity: what is no set-up is refused with the number got") {
  CHECK(message([] { per_lbf_same_arrow({.speed = 190, .draw_weight = 0}); }) ==
        "sensitivity: draw weight must be positive, got 0.000000");
  CHECK(message([] { per_lbf_same_arrow({.speed = -1, .draw_weight = 40}); }) ==
        "sensitivity: speed must be positive, got -1.000000");
  CHECK(message([] { per_grain({.speed = 190, .arrow_mass = 0}); }) ==
        "sensitivity: arrow mass must be positive, got 0.000000");
  CHECK(message([] { per_lbf_same_gpp({.speed = 190, .draw_weight = 40, .arrow_mass = -3}); }) ==
        "sensitivity: arrow mass must be positive, got -3.000000");
  CHECK(message([] {
          per_grain({.speed = 190, .arrow_mass = 350}, UsualRange{90, 80});
        }) == "sensitivity: virtual mass must lie in a range above 0, got 90.000000 to 80.000000");
  CHECK(message([] {
          per_inch(190, UsualRange{0, 1});
        }) == "sensitivity: stored energy per lbf must be positive, got 0.000000");
  CHECK(message([] {
          per_inch(190, UsualRange{1, 0.5});
        }) == "sensitivity: stored energy per lbf must lie in a range above 0, got 1.000000 to 0.500000");
  CHECK(message([] { per_inch(0); }) == "sensitivity: speed must be positive, got 0.000000");
}
