#include <shotassay/methods/widened_gap.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include "support/close.hpp"

using namespace shotassay;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr double t4 = 2.77644510519779, t2 = 4.30265272974946,
                 z = 1.95996398454005;  // R: qt(.975, c(4, 2)), qnorm(.975)

}  // namespace

TEST_CASE("widened_gap: nothing added gives back the interval of the readings") {
  const auto r = widened_gap({.gap = 3, .standard_error = 1, .degrees_of_freedom = 4, .half_width = t4}, 0.0);
  CHECK(r.gap == 3);
  CHECK(r.standard_uncertainty == digits(1, 13));
  CHECK(r.degrees_of_freedom == digits(4, 13));
  CHECK(r.coverage_factor == digits(t4, 13));
  CHECK(r.half_width == digits(t4, 13));
  CHECK(r.added_share == 0);
  CHECK(r.interval.lower == digits(3 - t4, 12));
  CHECK(r.interval.upper == digits(3 + t4, 12));
}

TEST_CASE("widened_gap: half of the variance stated makes four times the degrees of freedom") {
  // u = w = 1, ν = 4:  u_c² = 2, ν_eff = 4·2²/1 = 16, k = t(0.975; 16) = 2.11990529922125 (R: qt(.975, 16))
  const auto r = widened_gap({.gap = -1, .standard_error = 1, .degrees_of_freedom = 4, .half_width = t4}, 1.0);
  CHECK(r.standard_uncertainty == digits(std::sqrt(2.0), 13));
  CHECK(r.degrees_of_freedom == digits(16, 12));
  CHECK(r.coverage_factor == digits(2.11990529922125, 13));
  CHECK(r.half_width == digits(2.11990529922125 * std::sqrt(2.0), 13));
  CHECK(r.added_share == digits(0.5, 13));
  CHECK(r.interval.lower == digits(-1 - 2.11990529922125 * std::sqrt(2.0), 13));
}

TEST_CASE("widened_gap: an added uncertainty never shortens the interval") {
  // u = 1, ν = 2, w = ½: u_c² = 1.25, ν_eff = 2·1.25² = 3.125, k = 3.11162932287472 (R: qt(.975, 3.125)), and
  // k·u_c = 3.479 is below t(0.975; 2) = 4.303.
  const auto r = widened_gap({.gap = 0, .standard_error = 1, .degrees_of_freedom = 2, .half_width = t2}, 0.5);
  CHECK(r.coverage_factor == digits(3.11162932287472, 13));
  CHECK(r.coverage_factor * r.standard_uncertainty < 3.48);
  CHECK(r.half_width == digits(t2, 13));
  double before = t2;
  for (double w = 0.0; w < 6.0; w += 0.01) {
    const double now =
        widened_gap({.gap = 0, .standard_error = 1, .degrees_of_freedom = 2, .half_width = t2}, w).half_width;
    CHECK(now >= t2 * (1 - 1e-12));
    CHECK(now >= z * w);
    CHECK(now >= before - 1e-12);
    before = now;
  }
}

TEST_CASE("widened_gap: what the display leaves open beyond scatter stays, in squares") {
  // 3 + 3 equal readings: u² = 2·(1/12)/3 = 1/18, ν = 4, H = 1 above t·u = 0.654; w = ½.
  // u_c² = 11/36, ν_eff = 4·(11/2)² = 121, k = 1.97976376250537 (R: qt(.975, 121)), B² = 1 − t²/18
  const auto r =
      widened_gap({.gap = 3, .standard_error = std::sqrt(1.0 / 18), .degrees_of_freedom = 4, .half_width = 1}, 0.5);
  CHECK(r.degrees_of_freedom == digits(121, 12));
  CHECK(r.coverage_factor == digits(1.97976376250537, 13));
  CHECK(r.half_width == digits(1.33017140984275, 13));
  CHECK(r.standard_uncertainty == digits(std::sqrt(11.0 / 36), 13));
  CHECK(r.added_share == digits(0.25 * 36 / 11, 13));
  CHECK(widened_gap({.gap = 3, .standard_error = 0.2, .degrees_of_freedom = 4, .half_width = 1}, 0).half_width ==
        digits(1, 13));
  // A hair more than scatter changes the interval by a hair.
  const auto hair = widened_gap({.gap = 3, .standard_error = 1, .degrees_of_freedom = 4, .half_width = t4 + 1e-6}, 1);
  const auto none = widened_gap({.gap = 3, .standard_error = 1, .degrees_of_freedom = 4, .half_width = t4}, 1);
  CHECK(hair.half_width == within(none.half_width, 2e-6));
}

TEST_CASE("widened_gap: stated knowledge alone, and known standard errors, take the normal factor") {
  const auto stated = widened_gap({.gap = 5, .standard_error = 0, .degrees_of_freedom = 3, .half_width = 0}, 2);
  CHECK(stated.half_width == digits(2 * z, 13));
  CHECK(stated.added_share == 1);
  CHECK(std::isinf(stated.degrees_of_freedom));
  const auto known =
      widened_gap({.gap = 5, .standard_error = 3, .degrees_of_freedom = infinite, .half_width = 3 * z}, 4);
  CHECK(known.half_width == digits(5 * z, 13));
  CHECK(std::isinf(known.degrees_of_freedom));
}

TEST_CASE("widened_gap: level and family choose the factor") {
  // R: qt(.9, 16) at 80 %; qtukey(.95, 3, 4)/√2 and qtukey(.95, 3, Inf)/√2 for a family of three, good to 8 digits
  CHECK(widened_gap({.gap = 0, .standard_error = 1, .degrees_of_freedom = 4, .half_width = 0}, 1, ConfidenceLevel{0.8})
            .coverage_factor == digits(1.33675716732731, 13));
  const GapEstimate none{.gap = 0, .standard_error = 0, .degrees_of_freedom = 4, .half_width = 0};
  CHECK(widened_gap(none, 2, ConfidenceLevel{0.95}, Family{3}).half_width == digits(2 * 2.34370058790214, 8));
  const GapEstimate readings{.gap = 0, .standard_error = 1, .degrees_of_freedom = 4, .half_width = 3.56398876677247};
  const auto r = widened_gap(readings, 0, ConfidenceLevel{0.95}, Family{3});
  CHECK(r.half_width == digits(3.56398876677247, 8));
}

TEST_CASE("widened_gap: a share of readings too small for its fourth power leaves infinite degrees of freedom") {
  const auto r = widened_gap({.gap = 0, .standard_error = 1e-100, .degrees_of_freedom = 4, .half_width = 0}, 1);
  CHECK(std::isinf(r.degrees_of_freedom));
  CHECK(r.half_width == digits(z, 13));
}

TEST_CASE("widened_gap: what is no estimate is refused with the number got") {
  const auto message = [](GapEstimate estimate, double w) -> std::string {
    try {
      widened_gap(estimate, w);
    } catch (const DomainError& e) {
      return e.what();
    }
    return {};
  };
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(message({nan, 1, 4, 1}, 0) == "widened_gap: the gap must be a number");
  CHECK(message({1, -1, 4, 1}, 0) == "widened_gap: the standard error must be 0 or more, got -1.000000");
  CHECK(message({1, infinite, 4, 1}, 0) == "widened_gap: the standard error must be 0 or more, got inf");
  CHECK(message({1, 1, 0, 1}, 0) == "widened_gap: degrees of freedom must be positive, got 0.000000");
  CHECK(message({1, 1, 4, -2}, 0) == "widened_gap: the half-width must be 0 or more, got -2.000000");
  CHECK(message({1, 1, 4, infinite}, 0) == "widened_gap: the half-width must be 0 or more, got inf");
  CHECK(message({1, 1, 4, 1}, -0.5) == "widened_gap: the added uncertainty must be 0 or more, got -0.500000");
  CHECK(message({1, 1, 4, 1}, nan).starts_with("widened_gap: the added uncertainty"));
  CHECK(message({1, 0, 4, 0}, 0) == "widened_gap: no uncertainty at all, neither of the readings nor stated");
}
