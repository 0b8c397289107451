#include <shotassay/methods/tipping_bow_sd.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include <shotassay/methods/rounding_aware.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

constexpr double t4 = 2.77644510519779, z = 1.95996398454005;  // R: qt(.975, 4), qnorm(.975)

GapEstimate estimate(const Sample& a, const Sample& b) {
  const auto r = rounding_aware(a, b);
  return {r.difference, r.standard_error, r.degrees_of_freedom, r.half_width};
}

}  // namespace

TEST_CASE("tipping_bow_sd: a gap of 3 with a standard error of ½") {
  // √(((3/1.959964)² − 0.25)/2) = √((2.342858 − 0.25)/2) = 1.0229515982301
  const GapEstimate e{.gap = 3, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 0.5 * t4};
  const auto sd = tipping_bow_sd(e);
  REQUIRE(sd);
  CHECK(*sd == digits(1.0229515982301, 13));
  CHECK(z * std::sqrt(2 * *sd * *sd + 0.25) == digits(3, 13));
  GapEstimate slower = e;
  slower.gap = -3;
  CHECK(*tipping_bow_sd(slower) == *sd);
}

TEST_CASE("tipping_bow_sd: 271 three times against 274 three times") {
  // u² = 1/18:  √((2.342858 − 0.055556)/2) = 1.06941675437771
  CHECK(*tipping_bow_sd(estimate(sample({271, 271, 271}), sample({274, 274, 274}))) == digits(1.06941675437771, 12));
}

TEST_CASE("tipping_bow_sd: absent when the bows' own interval takes in 0, be it by the display alone") {
  CHECK(!tipping_bow_sd({.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 2, .half_width = 2.15}));  // 2 > z·u
  CHECK(!tipping_bow_sd({.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 2, .half_width = 2}));
  CHECK(!tipping_bow_sd({.gap = 0, .standard_error = 0, .degrees_of_freedom = 2, .half_width = 0}));
  CHECK(tipping_bow_sd({.gap = 2, .standard_error = 0.5, .degrees_of_freedom = 2, .half_width = 1.99}));
  // 271 against 272, three times each: E = 1 touches 0, as the verdict sees it
  CHECK(!tipping_bow_sd(estimate(sample({271, 271, 271}), sample({272, 272, 272}))));
  // ν so large and a half-width so small that only |gap| ≤ z·u speaks
  CHECK(!tipping_bow_sd({.gap = 0.9, .standard_error = 0.5, .degrees_of_freedom = 1e9, .half_width = 0.1}));
}

TEST_CASE("tipping_bow_sd: level and family") {
  const GapEstimate e{.gap = 3, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1};
  const double z90 = 1.6448536269514722;  // R: qnorm(.95)
  CHECK(*tipping_bow_sd(e, ConfidenceLevel{0.9}) == digits(std::sqrt((9 / (z90 * z90) - 0.25) / 2), 12));
  const double q = 2.34370058790214;  // R: qtukey(.95, 3, Inf)/sqrt(2), good to 8 digits
  CHECK(*tipping_bow_sd(e, ConfidenceLevel{0.95}, Family{3}) == digits(std::sqrt((9 / (q * q) - 0.25) / 2), 8));
}

TEST_CASE("tipping_bow_sd: a bow SD that large or larger always leaves the kinds open") {
  for (const double gap : {0.7, 1.5, 3.0, 12.0})
    for (const double u : {0.01, 0.2, 0.5, 1.0})
      for (const double nu : {1.0, 2.5, 4.0, 18.0, 1e6})
        for (const double stretch : {1.0, 1.5}) {
          const double h = stretch * numerics::t_two_sided_factor(0.05, nu) * u;
          const GapEstimate e{.gap = gap, .standard_error = u, .degrees_of_freedom = nu, .half_width = h};
          const auto sd = tipping_bow_sd(e);
          CHECK(sd.has_value() == (h < gap));
          if (!sd) continue;
          CHECK(!gap_of_kinds(e, 0).interval.contains(0));
          for (const double more : {1.0 + 1e-12, 1.1, 3.0}) CHECK(gap_of_kinds(e, more * *sd).interval.contains(0));
        }
}

TEST_CASE("gap_of_kinds: a stated bow SD of 2.5 is nearly all there is to the interval") {
  // u² = 1/18, w² = 2·2.5² = 12.5: u_c² = 226/18, ν_eff = 4·226² = 204304, k = 1.95997559608484 (R: qt(.975, 204304)),
  // B² = 1 − t²/18; the half-width is √(k²·226/18 + B²) = 6.986
  const auto r = gap_of_kinds(estimate(sample({271, 271, 271}), sample({274, 274, 274})), 2.5);
  CHECK(r.degrees_of_freedom == digits(204304, 11));
  CHECK(r.half_width == digits(6.98598331898276, 13));
  CHECK(r.added_share == digits(225.0 / 226, 13));
  CHECK(r.interval.contains(0));
}

TEST_CASE("gap_of_kinds: a bow SD of 0 leaves the interval of the bows, and a larger one never shortens it") {
  const auto e = estimate(sample({271, 273, 274, 270, 272}), sample({276, 274, 277, 275, 279}));
  CHECK(gap_of_kinds(e, 0).half_width == digits(2.584698, 6));  // the worked example of the default interval
  double before = 0;
  for (double sd = 0; sd < 5; sd += 0.05) {
    const double now = gap_of_kinds(e, sd).half_width;
    CHECK(now >= before - 1e-12);
    before = now;
  }
}

TEST_CASE("gap_of_kinds and tipping_bow_sd: refusals") {
  const auto message = [](auto ask) -> std::string {
    try {
      ask();
    } catch (const DomainError& e) {
      return e.what();
    }
    return {};
  };
  const GapEstimate good{.gap = 3, .standard_error = 0.5, .degrees_of_freedom = 4, .half_width = 1};
  CHECK(message([&] { gap_of_kinds(good, -1); }) == "gap_of_kinds: the bow SD must be 0 or more, got -1.000000");
  CHECK(message([&] { gap_of_kinds(good, std::numeric_limits<double>::infinity()); }) ==
        "gap_of_kinds: the bow SD must be 0 or more, got inf");
  CHECK(message([] { tipping_bow_sd({.gap = 3, .standard_error = -1, .degrees_of_freedom = 4, .half_width = 1}); }) ==
        "tipping_bow_sd: the standard error must be 0 or more, got -1.000000");
  CHECK(message([] { tipping_bow_sd({.gap = 3, .standard_error = 1, .degrees_of_freedom = 4, .half_width = -1}); }) ==
        "tipping_bow_sd: the half-width must be 0 or more, got -1.000000");
}
