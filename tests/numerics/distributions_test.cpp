#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <map>
#include <string>

#include "support/distribution_functions.hpp"
#include "support/table.hpp"

namespace {

/// What the headers promise, as a relative error.
double promised(const DistributionRow& row) {
  const std::string& f = row.function;
  const double value = std::abs(row.value);
  if (f == "t_upper_tail") return value >= 1e-8 ? 1e-14 : value >= 1e-30 ? 1e-13 : 5e-13;
  if (f.starts_with("chi_square")) return 1e-12;
  if (f.starts_with("f_")) return 1e-11;
  if (f == "range_upper_tail") return value >= 1e-12 ? 1e-13 : 1e-12;
  if (f == "range_upper_quantile") return row.x <= 0.99 ? 1e-11 : 1e-8;
  if (f == "two_sided_t_power") return 1e-9 / value;      // absolute
  if (f == "noncentral_t_outside") return 3e-14 / value;  // absolute
  return 1e-14;
}

}  // namespace

TEST_CASE("distributions: tails and quantiles keep their headers' promises against mpmath's 50 digits") {
  // data/reference/distributions.csv, made by distributions.py beside it; tests/accuracy/digits.sh tells the worst
  // errors
  std::map<std::string, std::size_t> asked;
  for (const auto& fields : reference_table("distributions.csv")) {
    const DistributionRow row = distribution_row(fields);
    CAPTURE(row.function);
    CAPTURE(row.x);
    CAPTURE(row.first);
    CAPTURE(row.second);
    ++asked[row.function];
    CHECK(std::abs(value_of(row) - row.value) <= promised(row) * std::abs(row.value));
  }
  CHECK(asked.size() == 15);
  for (const auto& function : asked) {
    CAPTURE(function.first);
    CHECK(function.second >= 15);
  }
}
