#include <doctest/doctest.h>

#include <limits>
#include <shotassay/core/level.hpp>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::Power;

TEST_CASE("confidence level: it lies strictly between 0 and 1, so 95 for 0.95 is refused") {
  CHECK(ConfidenceLevel{0.95}.value() == 0.95);
  CHECK(ConfidenceLevel{0.95}.alpha() == 1.0 - 0.95);
  for (const double x : {0.0, 1.0, -0.1, std::numeric_limits<double>::quiet_NaN()})
    CHECK_THROWS_AS(ConfidenceLevel{x}, DomainError);
  try {
    ConfidenceLevel{95};
    FAIL("95 was taken");
  } catch (const DomainError& e) {
    CHECK(std::string(e.what()).starts_with("confidence level must lie between 0 and 1, got 95"));
  }
}

TEST_CASE("confidence level: an error rate keeps its digits, however small") {
  const auto level = ConfidenceLevel::from_alpha(1e-20);
  CHECK(level.alpha() == 1e-20);
  CHECK(level.value() == 1.0);  // the double nearest to 1 − 1e-20
  CHECK(ConfidenceLevel::from_alpha(0.05).alpha() == 0.05);
  CHECK(ConfidenceLevel::from_alpha(0.05).value() == 0.95);
  for (const double x : {0.0, 1.0, -0.1, 5.0, std::numeric_limits<double>::quiet_NaN()})
    CHECK_THROWS_AS(ConfidenceLevel::from_alpha(x), DomainError);
}

TEST_CASE("power: it lies strictly between 0 and 1") {
  CHECK(Power{0.8}.value() == 0.8);
  for (const double x : {0.0, 1.0, 80.0, std::numeric_limits<double>::quiet_NaN()})
    CHECK_THROWS_AS(Power{x}, DomainError);
}
