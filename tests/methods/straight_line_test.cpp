#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <shotassay/methods/straight_line.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::Decimal;
using shotassay::DisplayStep;
using shotassay::DomainError;
using shotassay::Intercept;
using shotassay::line_at;
using shotassay::LineFigure;
using shotassay::NoAnswer;
using shotassay::Sample;
using shotassay::straight_line;
using shotassay::StraightLineResult;

namespace {

/// All digits NIST certifies: it prints 15, and a printed value is off by up to half a unit of the 15th.
void agrees(const std::string& id, Intercept intercept) {
  CAPTURE(id);
  const Published certified{id};
  const StraightLineResult r = straight_line({.x = certified.readings("x"), .y = certified.readings("y")}, intercept);
  const auto all = [&](const char* name) { return digits(certified.value(name), 14); };
  CHECK(r.slope.value == all("b1"));
  CHECK(r.slope.standard_error == all("se1"));
  CHECK(r.residual_sd == all("sigma"));
  CHECK(*r.r_squared == all("r2"));
  CHECK(*r.f == all("F"));
  CHECK_FALSE(r.floor_acted);
  REQUIRE(r.intercept.has_value() == (intercept == Intercept::fitted));
  if (r.intercept) {
    CHECK(r.intercept->value == all("b0"));
    CHECK(r.intercept->standard_error == all("se0"));
  }
}

/// Three arrows of 400, 420 and 440 grains that read 200, 197 and 191.
const shotassay::ReadingsBeside arrows{.x = sample({400, 420, 440}), .y = sample({200, 197, 191})};

}  // namespace

TEST_CASE("straight_line: NIST's three sets, with and without an intercept, to 14 digits") {
  agrees("strd-lin-norris", Intercept::fitted);
  agrees("strd-lin-noint1", Intercept::zero);
  agrees("strd-lin-noint2", Intercept::zero);
}

TEST_CASE("straight_line: three arrows by hand") {
  // x̄ = 420, ȳ = 196; Σ(x−x̄)² = 800, Σ(x−x̄)(y−ȳ) = −80 − 100 = −180, Σ(y−ȳ)² = 16 + 1 + 25 = 42: b = −0.225.
  // Residuals −0.5, 1, −0.5: RSS = 1.5 on ν = 1; se_b² = 1.5/800; F = (180²/800)/1.5 = 27; R² = 180²/(800·42) = 27/28.
  const StraightLineResult r = straight_line(arrows);
  CHECK(r.slope.value == digits(-0.225, 15));
  CHECK(r.slope.standard_error == digits(std::sqrt(1.5 / 800), 15));
  CHECK(r.residual_sd == digits(std::sqrt(1.5), 15));
  CHECK(r.degrees_of_freedom == 1);
  CHECK(*r.f == digits(27, 15));
  CHECK(*r.r_squared == digits(27.0 / 28, 15));
  CHECK(r.t == digits(-std::sqrt(27.0), 15));
  // a = 196 + 0.225·420 = 290.5; se_a² = 1.5·(1/3 + 420²/800) = 331.25
  CHECK(r.intercept->value == digits(290.5, 15));
  CHECK(r.intercept->standard_error == digits(std::sqrt(331.25), 15));
  // ν = 1: t(1−α/2) = cot(πα/2); p = 2·arctan(1/|t|)/π
  const double cauchy = 1 / std::tan(0.025 * std::numbers::pi);
  CHECK(r.slope.interval.lower == digits(-0.225 - cauchy * std::sqrt(1.5 / 800), 13));
  CHECK(r.slope.interval.upper == digits(-0.225 + cauchy * std::sqrt(1.5 / 800), 13));
  CHECK(r.intercept->interval.half_width() == digits(cauchy * std::sqrt(331.25), 13));
  CHECK(r.p_two_sided == digits(2 * std::atan(1 / std::sqrt(27.0)) / std::numbers::pi, 14));
  CHECK_FALSE(r.floor_acted);
}

TEST_CASE("straight_line: without an intercept by hand") {
  // x 1 2, y 2 5: Σx² = 5, Σxy = 12, Σy² = 29; b = 2.4; RSS = 29 − 144/5 = 0.2 on ν = 1; se² = 0.2/5; F = 28.8/0.2 =
  // 144
  const StraightLineResult r = straight_line({sample({1, 2}), sample({2, 5})}, Intercept::zero);
  CHECK(r.slope.value == digits(2.4, 15));
  CHECK(r.slope.standard_error == digits(0.2, 15));
  CHECK(r.residual_sd == digits(std::sqrt(0.2), 15));
  CHECK(r.degrees_of_freedom == 1);
  CHECK(*r.f == digits(144, 15));
  CHECK(*r.r_squared == digits(144.0 / 145, 15));
  CHECK_FALSE(r.intercept.has_value());
  const LineFigure there = line_at(r, 10);
  CHECK(there.value == digits(24, 15));
  CHECK(there.standard_error == digits(2, 15));
}

TEST_CASE("straight_line: the thermometer of the GUM, its correction at 20 and at 30 degrees") {
  // JCGM 100:2008 H.3: correction b against t − 20 degrees, line at t = 30; x and y in thousandths.
  const Published gum{"gum-h3"};
  std::vector<std::int64_t> x;
  for (const double t : gum.numbers("x")) x.push_back(std::llround(1000 * (t - gum.number("x_shift"))));
  const StraightLineResult r = straight_line({decimal_sample(x, 3), gum.readings("y")});
  CHECK(r.intercept->value == gum.expected("b0"));
  CHECK(r.intercept->standard_error == gum.expected("se0"));
  CHECK(r.slope.value == gum.expected("b1"));
  CHECK(r.slope.standard_error == gum.expected("se1"));
  CHECK(r.residual_sd == gum.expected("sigma"));
  const LineFigure there = line_at(r, gum.number("x0") - gum.number("x_shift"));
  CHECK(there.value == gum.expected("fit"));
  CHECK(there.standard_error == gum.expected("se_fit"));
}

TEST_CASE("straight_line: the line at x has its intercept at 0 and is known best at the mean") {
  const StraightLineResult r = straight_line(arrows);
  const LineFigure zero = line_at(r, 0), middle = line_at(r, 420), side = line_at(r, 440);
  CHECK(zero.value == digits(r.intercept->value, 14));
  CHECK(zero.standard_error == digits(r.intercept->standard_error, 14));
  CHECK(middle.value == digits(196, 15));
  CHECK(middle.standard_error == digits(std::sqrt(0.5), 15));  // √(1.5/3)
  CHECK(side.value == digits(191.5, 15));                      // 196 − 0.225·20
  CHECK(side.standard_error == digits(std::sqrt(0.5 + 400 * 1.5 / 800), 15));
  // ν = 1: t(0.995) / t(0.975) = tan(0.025π) / tan(0.005π)
  const double wider = std::tan(0.025 * std::numbers::pi) / std::tan(0.005 * std::numbers::pi);
  CHECK(line_at(r, 440, ConfidenceLevel{0.99}).interval.half_width() == digits(wider * side.interval.half_width(), 12));
  const auto at_99 = straight_line(arrows, Intercept::fitted, ConfidenceLevel{0.99});
  CHECK(at_99.slope.interval.half_width() == digits(wider * r.slope.interval.half_width(), 12));
  CHECK(at_99.intercept->interval.half_width() == digits(wider * r.intercept->interval.half_width(), 12));
}

TEST_CASE("straight_line: far means cost no digit, steps act as factors") {
  const StraightLineResult near = straight_line(arrows);
  const StraightLineResult far =
      straight_line({sample({4'000'000'000'000'400, 4'000'000'000'000'420, 4'000'000'000'000'440}),
                     sample({3'000'000'000'000'200, 3'000'000'000'000'197, 3'000'000'000'000'191})});
  CHECK(far.slope.value == near.slope.value);
  CHECK(far.slope.standard_error == near.slope.standard_error);
  CHECK(far.residual_sd == near.residual_sd);
  CHECK(*far.f == *near.f);
  CHECK(*far.r_squared == *near.r_squared);
  // 3·10^15 + 196 + 0.225·(4·10^15 + 420) = 3.9·10^15 + 290.5
  CHECK(far.intercept->value == digits(3'900'000'000'000'290.5, 15));
  const StraightLineResult tenths = straight_line({arrows.x, decimal_sample({200, 197, 191}, 1)});
  CHECK(tenths.slope.value == digits(-0.0225, 15));
  CHECK(tenths.intercept->value == digits(29.05, 15));
  CHECK(tenths.residual_sd == digits(std::sqrt(0.015), 15));
  CHECK(tenths.t == digits(near.t, 15));
  const StraightLineResult kernels = straight_line({decimal_sample({400, 420, 440}, 1), arrows.y});
  CHECK(kernels.slope.value == digits(-2.25, 15));
  CHECK(kernels.slope.standard_error == digits(10 * near.slope.standard_error, 15));
  CHECK(kernels.intercept->value == digits(290.5, 15));
  CHECK(kernels.intercept->standard_error == digits(near.intercept->standard_error, 15));
}

TEST_CASE("straight_line: a tiny bend in a long steep line keeps its digits") {
  // y = 10^8·x but for one shot that reads one step more: x = −2 … 2 tenths of a million. With e = (1, −2, 1)-like
  // residuals of the unit vector at x = 1: Σx = 0, Σx² = 10, so RSS = 1 − 1/5 − 1/10 = 0.7 exactly, ν = 3.
  const StraightLineResult r =
      straight_line({sample({-2, -1, 0, 1, 2}), sample({-200'000'000, -100'000'000, 0, 100'000'001, 200'000'000})});
  CHECK(r.residual_sd == digits(std::sqrt(0.7 / 3), 15));
  CHECK(r.slope.value == digits(100'000'000.1, 15));
  CHECK(r.intercept->value == digits(0.2, 15));
}

TEST_CASE("straight_line: readings all on the line, or all equal, promise no slope known exactly") {
  const StraightLineResult perfect = straight_line({sample({1, 2, 3}), sample({10, 20, 30})});
  CHECK(perfect.slope.value == 10);
  CHECK(perfect.residual_sd == 0);
  CHECK(perfect.floor_acted);
  CHECK(perfect.slope.standard_error == digits(std::sqrt(1.0 / 12 / 2), 15));  // step²/12 over Σ(x − x̄)² = 2
  CHECK(std::isinf(*perfect.f));
  CHECK(*perfect.r_squared == 1);
  const StraightLineResult level = straight_line({sample({1, 2, 3}), sample({271, 271, 271})});
  CHECK(level.slope.value == 0);
  CHECK(level.slope.interval.half_width() > 0);
  CHECK(level.p_two_sided == 1);
  CHECK_FALSE(level.f.has_value());
  CHECK_FALSE(level.r_squared.has_value());
  // 3 readings, one of them a step off in the middle: Σ(y−ȳ)² = 2/3, slope 0, s² = 2/3 on 1, above 1/12
  CHECK_FALSE(straight_line({sample({1, 2, 3}), sample({271, 272, 271})}).floor_acted);
}

TEST_CASE("straight_line: what cannot be asked is refused, with what was got") {
  CHECK_THROWS_WITH_AS(straight_line({sample({1, 2, 3}), sample({1, 2})}),
                       "straight_line: needs an x for each y, got 3 for 2", DomainError);
  CHECK_THROWS_WITH_AS(straight_line({sample({1, 2}), sample({1, 2})}),
                       "straight_line: needs 3 or more shots with an intercept, got 2", NoAnswer);
  CHECK_THROWS_WITH_AS(straight_line({sample({1}), sample({1})}, Intercept::zero),
                       "straight_line: needs 2 or more shots without an intercept, got 1", NoAnswer);
  CHECK_THROWS_WITH_AS(straight_line({sample({5, 5, 5}), sample({1, 2, 3})}),
                       "straight_line: all shots have one x, so no slope shows", NoAnswer);
  CHECK_THROWS_WITH_AS(straight_line({sample({0, 0}), sample({1, 2})}, Intercept::zero),
                       "straight_line: all shots have x = 0, so no slope shows", NoAnswer);
  // 2 · (9·10^15)² = 1.6·10^32 is below 2^125 = 4.3·10^37, so only very many shots are too much about 0
  CHECK(straight_line({sample({9'000'000'000'000'000, 1}), sample({9'000'000'000'000'000, 1})}, Intercept::zero)
            .slope.value == 1);
  CHECK_THROWS_WITH_AS(straight_line({sample(std::vector<std::int64_t>(600'000, 9'000'000'000'000'000)),
                                      sample(std::vector<std::int64_t>(600'000, 1))},
                                     Intercept::zero),
                       "straight_line: readings too large for their display step of 1", DomainError);
  CHECK_THROWS_WITH_AS(line_at(straight_line(arrows), std::numeric_limits<double>::infinity()),
                       "line_at: needs a finite x, got inf", DomainError);
}
