#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <vector>

#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_coverage.hpp>
#include <shotassay/numerics/random.hpp>

#include "support/samples.hpp"

using namespace shotassay;

TEST_CASE("bootstrap coverage: every row of the table is met by the exact intervals on simulated tests") {
  // Normal shots, true means uniform between two lattice points (phases), readings rounded to whole steps.
  constexpr std::uint64_t tests = 10'000;
  for (const BootstrapCoverage& row : bootstrap_coverage_table) {
    double percentile = 0, bca = 0;
    for (std::uint64_t test = 0; test < tests; ++test) {
      numerics::ReplicateStream words{20, test, numerics::RandomPurpose::simulated_shots};
      const double mean_a = words.uniform(), mean_b = words.uniform();
      std::vector<std::int64_t> a, b;
      for (int shot = 0; shot < row.shots; ++shot) {
        a.push_back(static_cast<std::int64_t>(std::floor(mean_a + row.sd * words.normal() + 0.5)));
        b.push_back(static_cast<std::int64_t>(std::floor(mean_b + row.sd * words.normal() + 0.5)));
      }
      const BootstrapLaw law{sample(a), sample(b)};
      // No interval (all readings equal in both) covers nothing.
      const auto covers = [&](const BootstrapResult& r) { return r.interval && r.interval->contains(mean_b - mean_a); };
      percentile += covers(bootstrap_percentile(law));
      bca += covers(bootstrap_bca(law));
    }
    // Three standard errors: of the table 0.007, of these tests 0.005 at most.
    const double allowed = 3 * std::sqrt(0.007 * 0.007 + 0.005 * 0.005);
    CAPTURE(row.shots);
    CAPTURE(row.sd);
    CHECK(std::abs(percentile / static_cast<double>(tests) - row.of(MeasuredBootstrap::percentile)) < allowed);
    CHECK(std::abs(bca / static_cast<double>(tests) - row.of(MeasuredBootstrap::bca)) < allowed);
  }
}

TEST_CASE("bootstrap coverage: a row is found for its own shots and SD") {
  for (const BootstrapCoverage& row : bootstrap_coverage_table) {
    const auto found = measured_coverage(row.shots, row.sd);
    REQUIRE(found.has_value());
    CHECK(found->shots == row.shots);
    CHECK(found->sd == row.sd);
    CHECK(found->percentile == row.percentile);
    CHECK(found->bca_half_width == row.bca_half_width);
  }
}

TEST_CASE("bootstrap coverage: between two rows the nearer SD by ratio is taken") {
  // √(0.5·1) = 0.70711
  CHECK(measured_coverage(5, 0.707)->sd == 0.5);
  CHECK(measured_coverage(5, 0.708)->sd == 1);
  CHECK(measured_coverage(5, 1.41)->sd == 1);
  CHECK(measured_coverage(5, 1.42)->sd == 2);
  CHECK(measured_coverage(5, 0.353)->sd == 0.25);
  CHECK(measured_coverage(5, 0.354)->sd == 0.5);
}

TEST_CASE("bootstrap coverage: nothing is said where nothing was measured") {
  for (const std::int64_t shots : {0, 1, 2, 4, 6, 9, 11, 30}) CHECK_FALSE(measured_coverage(shots, 1).has_value());
  for (const double sd : {0.0, 0.2499, 2.001, 1e9, -1.0, std::nan("")})
    CHECK_FALSE(measured_coverage(5, sd).has_value());
}
