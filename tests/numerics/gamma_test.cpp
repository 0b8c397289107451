#include "support/close.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/gamma.hpp>
#include <string>

using namespace shotassay::numerics;
using shotassay::DomainError;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Relative errors; 40 digits are more than from_chars needs to find the nearest double.
void agree(const std::string& name, double (*function)(double), double relative) {
  for (const auto& row : reference_table("gamma.csv", name)) {
    CAPTURE(row[1]);
    const double value = number_in(row[2]);
    CHECK(function(number_in(row[1])) == within(value, relative * std::abs(value)));
  }
}

}  // namespace

TEST_CASE("gamma: digamma agrees with 40-digit values, near its zero absolutely") {
  for (const auto& row : reference_table("gamma.csv", "digamma")) {
    CAPTURE(row[1]);
    const double x = number_in(row[1]), value = number_in(row[2]);
    CHECK(digamma(x) == within(value, std::abs(x - 1.4616) < 0.1 ? 1e-15 : 1e-14 * std::abs(value)));
  }
}

TEST_CASE("gamma: trigamma and its inverse agree with 40-digit values") {
  agree("trigamma", trigamma, 1e-14);
  agree("inverse_trigamma", inverse_trigamma, 1e-14);
}

TEST_CASE("gamma: known values") {
  CHECK(digamma(1.0) == digits(-0.57721566490153286, 15));  // −γ
  CHECK(digamma(0.5) == digits(-0.57721566490153286 - 2 * std::numbers::ln2, 15));
  CHECK(trigamma(1.0) == digits(std::numbers::pi * std::numbers::pi / 6, 15));
  CHECK(trigamma(0.5) == digits(std::numbers::pi * std::numbers::pi / 2, 15));
  CHECK(inverse_trigamma(std::numbers::pi * std::numbers::pi / 2) == digits(0.5, 14));
}

TEST_CASE("gamma: the step ψ(x+1) − ψ(x) = 1/x and ψ′(x) − ψ′(x+1) = 1/x², and the inverse undoes trigamma") {
  for (double x = 0.01; x < 400; x *= 1.37) {
    CAPTURE(x);
    CHECK(digamma(x + 1) - digamma(x) == within(1 / x, 1e-14 * (1 / x + std::abs(digamma(x)))));
    CHECK(trigamma(x) - trigamma(x + 1) == within(1 / (x * x), 1e-14 * trigamma(x)));
    CHECK(inverse_trigamma(trigamma(x)) == digits(x, 13));
  }
}

TEST_CASE("gamma: arguments out of range are refused by name") {
  for (const double x : {0.0, -1.0, infinity, std::nan("")}) {
    CHECK_THROWS_AS(digamma(x), DomainError);
    CHECK_THROWS_AS(trigamma(x), DomainError);
  }
  CHECK_THROWS_WITH_AS(digamma(-1), "digamma: needs a finite number above 0, got -1", DomainError);
  CHECK_THROWS_WITH_AS(trigamma(0), "trigamma: needs a finite number above 0, got 0", DomainError);
  for (const double y : {0.0, 9e-16, 1.1e15, -3.0, std::nan("")}) CHECK_THROWS_AS(inverse_trigamma(y), DomainError);
  CHECK_THROWS_WITH_AS(inverse_trigamma(0), "inverse_trigamma: needs a value from 1e-15 to 1e15, got 0", DomainError);
}
