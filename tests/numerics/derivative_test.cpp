#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/derivative.hpp>

#include "support/close.hpp"

using shotassay::DomainError;
using shotassay::NoAnswer;
using shotassay::numerics::derivative;

TEST_CASE("derivative: agrees with the analytic one for smooth functions, at steps from tiny to large") {
  struct Case {
    double (*f)(double);
    double x, slope;
  };
  const Case cases[] = {{[](double x) { return x * x * x; }, 2.0, 12.0},
                        {[](double x) { return std::exp(x); }, 1.5, std::exp(1.5)},
                        {[](double x) { return std::sin(x); }, 1.0, std::cos(1.0)},
                        {[](double x) { return std::sqrt(x); }, 9.0, 1.0 / 6.0},
                        {[](double x) { return 1.0 / x; }, -4.0, -1.0 / 16.0},
                        {[](double x) { return std::log(x); }, 3.0, 1.0 / 3.0}};
  for (const Case& c : cases)
    for (const double scale : {1e-4, 1e-2, 0.3}) {
      const auto d = derivative(c.f, c.x, scale);
      CAPTURE(c.slope);
      CAPTURE(scale);
      // Rounding of f, 1e-16·|f|, over the smallest of the first few steps.
      const double noise = 1e-9 * std::abs(c.slope) + 4e-15 * std::abs(c.f(c.x)) / scale;
      CHECK(d.value == within(c.slope, noise));
      CHECK(d.error >= 0.0);
      CHECK(d.error <= 1e3 * noise);
    }
}

TEST_CASE("derivative: of a straight line with a large offset keeps the digits that rounding leaves") {
  const auto d = derivative([](double x) { return 5e7 + 3.0 * x; }, 100.0, 25.0);
  CHECK(d.value == within(3.0, 1e-8));  // spacing of doubles near 5e7: 7.5e-9
}

TEST_CASE("derivative: is 0 at the bottom of a parabola and for a constant") {
  CHECK(derivative([](double x) { return x * x; }, 0.0, 0.5).value == within(0.0, 1e-12));
  CHECK(derivative([](double) { return 7.0; }, 3.0, 1.0).value == 0.0);
}

TEST_CASE("derivative: shortens its steps where the function ends close by") {
  // √x at 1 with steps of 2: x − 2 has no root. Slope ½.
  CHECK(derivative([](double x) { return std::sqrt(x); }, 1.0, 2.0).value == within(0.5, 1e-9));
}

TEST_CASE("derivative: refuses a kink, a jump, an edge and a pole, and says which") {
  const auto message = [](const auto& f, double x) -> std::string {
    try {
      derivative(f, x, 1.0);
    } catch (const NoAnswer& none) {
      return none.what();
    }
    return "";
  };
  // The central difference of |x| at 0 is 0 at every step: the sides alone tell.
  CHECK(message([](double x) { return std::abs(x); }, 0.0).find("kink") != std::string::npos);
  CHECK(message([](double x) { return std::floor(x); }, 1.0).find("jump") != std::string::npos);
  CHECK(message([](double x) { return x > 2.0 ? 2.0 : x; }, 2.0).find("kink") != std::string::npos);
  CHECK(message([](double x) { return std::sqrt(x); }, 0.0).find("on both sides") != std::string::npos);
  CHECK(message([](double x) { return 1.0 / x; }, 0.0).find("no finite value at") != std::string::npos);
  CHECK(message([](double x) { return std::cbrt(x); }, 0.0).find("do not settle") != std::string::npos);
}

TEST_CASE("derivative: refuses a scale that is none") {
  for (const double scale : {0.0, -1.0, std::numeric_limits<double>::infinity(), std::nan("")})
    CHECK_THROWS_AS(derivative([](double x) { return x; }, 1.0, scale), DomainError);
  CHECK_THROWS_AS(derivative([](double x) { return x; }, std::nan(""), 1.0), DomainError);
}
