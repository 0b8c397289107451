#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <optional>
#include <string_view>

#include <shotassay/methods/measured_coverage.hpp>

using shotassay::measured_coverage;

namespace {

/// A line of the tables "Measured coverage" in docs/methods/rounding_aware.md and bootstrap.md: averages over phases.
struct Line {
  std::int64_t shots;
  double sd, rounding_aware, welch, pooled, percentile, bca, basic, studentised;
  std::optional<double> permutation;
};

// clang-format off
constexpr Line lines[] = {
    {3, 0.25, 99.9, 66.6, 66.5, 59.6, 59.8, 56.8, 66.7, std::nullopt},
    {3, 0.5, 99.5, 92.3, 90.7, 76.0, 77.1, 75.0, 91.8, std::nullopt},
    {3, 1, 97.2, 96.6, 94.8, 79.1, 80.2, 79.2, 96.9, std::nullopt},
    {3, 2, 96.5, 96.5, 95.0, 80.2, 80.8, 80.2, 97.8, std::nullopt},
    {5, 0.25, 100.0, 81.0, 79.5, 72.2, 74.6, 68.8, 80.4, 71.1},
    {5, 0.5, 98.3, 95.5, 94.6, 86.3, 86.5, 86.4, 94.8, 90.0},
    {5, 1, 95.8, 95.6, 95.0, 87.5, 87.4, 87.5, 95.9, 93.7},
    {5, 2, 95.6, 95.6, 95.0, 87.8, 87.9, 87.8, 95.8, 94.9},
    {10, 0.25, 100.0, 86.3, 85.3, 80.9, 84.4, 78.1, 90.5, 82.5},
    {10, 0.5, 97.4, 95.2, 95.0, 92.9, 92.7, 91.4, 94.9, 95.3},
    {10, 1, 95.2, 95.1, 95.0, 91.8, 91.6, 91.7, 94.9, 94.7},
    {10, 2, 95.2, 95.1, 95.0, 91.7, 91.6, 91.8, 95.0, 94.9}};
// clang-format on

}  // namespace

TEST_CASE("measured_coverage: every row of the study is found at its own shots and SD") {
  for (const Line& line : lines) {
    CAPTURE(line.shots);
    CAPTURE(line.sd);
    const auto check = [&](std::string_view method, std::optional<double> percent) {
      CAPTURE(method);
      const auto found = measured_coverage(method, line.shots, line.sd);
      REQUIRE(found.has_value() == percent.has_value());
      if (!found) return;
      CHECK(found->shots == line.shots);
      CHECK(found->sd == line.sd);
      CHECK(found->percent == *percent);
      CHECK(found->default_percent == line.rounding_aware);
    };
    check("welch", line.welch);
    check("pooled", line.pooled);
    check("bootstrap_percentile", line.percentile);
    check("bootstrap_bca", line.bca);
    check("bootstrap_basic", line.basic);
    check("bootstrap_t", line.studentised);
    check("permutation", line.permutation);
  }
}

TEST_CASE("measured_coverage: what the study did not measure has no figure") {
  for (const auto* method : {"rounding_aware", "mean_interval", "", "Welch"}) CHECK(!measured_coverage(method, 5, 1));
  CHECK(!measured_coverage("welch", 2, 1));
  CHECK(measured_coverage("welch", 3, 1).has_value());
  CHECK(measured_coverage("welch", 14, 1).has_value());
  CHECK(!measured_coverage("welch", 15, 1));
  CHECK(!measured_coverage("welch", 5, -0.1));
  CHECK(!measured_coverage("welch", 5, std::nan("")));
}

TEST_CASE("measured_coverage: the nearest row by ratio, shots before SD, and the result says which") {
  // 4 lies between 3 and 5: 4/3 = 1.33 against 5/4 = 1.25, so 5 is nearer; 7 against 5 and 10: 1.40 against 1.43.
  CHECK(measured_coverage("welch", 4, 1)->shots == 5);
  CHECK(measured_coverage("welch", 7, 1)->shots == 5);
  CHECK(measured_coverage("welch", 8, 1)->shots == 10);
  // However far the SD: the shots decide first.
  CHECK(measured_coverage("welch", 3, 500)->shots == 3);
  CHECK(measured_coverage("welch", 3, 500)->sd == 2);
  // SD between 0.5 and 1: the geometric middle is 0.7071.
  CHECK(measured_coverage("welch", 5, 0.70)->sd == 0.5);
  CHECK(measured_coverage("welch", 5, 0.72)->sd == 1);
  CHECK(measured_coverage("welch", 5, 1.41)->sd == 1);
  CHECK(measured_coverage("welch", 5, 1.42)->sd == 2);
  // All readings equal: no logarithm of 0.
  CHECK(measured_coverage("welch", 5, 0)->sd == 0.25);
}
