#include <shotassay/numerics/root.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
}  // namespace

TEST_CASE("root: known roots are found to 13 digits, of rising and of falling functions") {
  CHECK(find_root([](double x) { return x * x - 2; }, 0, 2) == digits(std::sqrt(2.0), 13));
  CHECK(find_root([](double x) { return 2 - x * x; }, 0, 2) == digits(std::sqrt(2.0), 13));
  CHECK(find_root([](double x) { return x * x - 2; }, -2, 0) == digits(-std::sqrt(2.0), 13));
  // mpmath: findroot(lambda x: cos(x) - x, 0.7)
  CHECK(find_root([](double x) { return std::cos(x) - x; }, -3, 3) == digits(0.73908513321516064166, 13));
  CHECK(find_root([](double x) { return std::log(x) + 200; }, 1e-300, 1e300) == digits(std::exp(-200.0), 12));
}

TEST_CASE("root: a root at an end of the bracket is that end") {
  CHECK(find_root([](double x) { return x - 1; }, 1, 5) == 1);
  CHECK(find_root([](double x) { return x - 5; }, 1, 5) == 5);
}

TEST_CASE("root: a root at zero, which has no relative tolerance, is found all the same") {
  CHECK(std::abs(find_root([](double x) { return x * x * x; }, -1, 2)) < 1e-100);
  CHECK(std::abs(find_root([](double x) { return std::sin(x); }, -0.5, 1)) < 1e-300);
}

TEST_CASE("root: a jump through zero is found as the place where the sign changes") {
  CHECK(find_root([](double x) { return x < 0.3 ? -1.0 : 7.0; }, 0, 1) == digits(0.3, 13));
}

TEST_CASE("root: infinite values at the ends do no harm") {
  CHECK(find_root([](double x) { return std::log(x) - std::log1p(-x); }, 0, 1) == digits(0.5, 13));
  CHECK(find_root([](double x) { return x < 0.25 ? -infinity : x - 0.5; }, 0, 1) == digits(0.5, 13));
}

TEST_CASE("root: the tolerance bounds the error, and a wide one saves evaluations") {
  std::vector<int> evaluations;
  for (const double tolerance : {1e-2, 1e-5, 1e-9, 1e-13, 0.0}) {
    CAPTURE(tolerance);
    int count = 0;
    const double root = find_root(
        [&count](double x) {
          ++count;
          return std::exp(x) - 5;
        },
        0, 10, tolerance);
    // Both ends lie within the tolerance of each other, so the middle is within half of it; 4e-16 for rounding.
    CHECK(root == within(std::log(5.0), std::log(5.0) * tolerance + 4e-16 * 2));
    evaluations.push_back(count);
  }
  CHECK(evaluations[0] < evaluations[3]);
  CHECK(evaluations.back() < 20);  // plain bisection needs 55
}

TEST_CASE("root: what is no bracket is refused with its values") {
  const auto line = [](double x) { return x + 1; };
  CHECK_THROWS_WITH_AS(find_root(line, 2, 2), "find_root: needs lower < upper, both finite, got 2 and 2", DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, 3, 2), "find_root: needs lower < upper, both finite, got 3 and 2", DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, -infinity, 2), "find_root: needs lower < upper, both finite, got -inf and 2",
                       DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, not_a_number, 2), "find_root: needs lower < upper, both finite, got nan and 2",
                       DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, 0, 2), "find_root: no change of sign, f(0) = 1, f(2) = 3", DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, -4, -2), "find_root: no change of sign, f(-4) = -3, f(-2) = -1", DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, -4, 2, -1e-3), "find_root: needs a tolerance of 0 or more, got -0.001",
                       DomainError);
  CHECK_THROWS_WITH_AS(find_root(line, -4, 2, not_a_number), "find_root: needs a tolerance of 0 or more, got nan",
                       DomainError);
  CHECK_THROWS_WITH_AS(find_root([](double x) { return std::sqrt(x); }, -1, 2),
                       "find_root: the function is not a number at -1", DomainError);
}

TEST_CASE("root: an error thrown by the function reaches the caller") {
  CHECK_THROWS_AS(find_root([](double x) { return x > 0.4 && x < 0.6 ? throw NoAnswer{"here"} : x - 0.5; }, 0, 1),
                  NoAnswer);
}
