#include "support/close.hpp"
#include "support/published.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <shotassay/methods/holm.hpp>
#include <string>
#include <vector>

using shotassay::DomainError;
using shotassay::holm;

TEST_CASE("holm: four p-values worked by hand") {
  // sorted .005 .01 .03 .04 times 4 3 2 1 = .02 .03 .06 .04, running maxima .02 .03 .06 .06
  const Published check{"holm-4"};
  const auto adjusted = holm(check.numbers("p"));
  REQUIRE(adjusted.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) CHECK(adjusted[i] == check.expected("a" + std::to_string(i + 1)));
}

TEST_CASE("holm: rejecting at α what it adjusts to α or less is Holm's step-down test, walked by its rule") {
  // The test itself: with p sorted, reject from the smallest while p(j) ≤ α/(m − j + 1), and stop at the first that
  // fails.
  const std::vector<std::vector<double>> lists{
      {0.2, 0.01, 0.013, 0.049}, {0.025, 0.025, 0.025}, {0.9, 0.017, 0.02}, {0.0, 1.0, 0.5}, {0.04},
      {0.012, 0.012, 0.6, 0.02}};
  for (const auto& p : lists)
    for (const double alpha : {0.01, 0.049, 0.0521, 0.2}) {
      std::vector<double> sorted = p;
      std::sort(sorted.begin(), sorted.end());
      double last_rejected = -1;
      for (std::size_t j = 0; j < sorted.size(); ++j) {
        if (sorted[j] * static_cast<double>(sorted.size() - j) > alpha) break;
        last_rejected = sorted[j];
      }
      const auto adjusted = holm(p);
      for (std::size_t i = 0; i < p.size(); ++i) {
        CAPTURE(alpha);
        CAPTURE(p[i]);
        CHECK((adjusted[i] <= alpha) == (p[i] <= last_rejected));
      }
    }
}

TEST_CASE("holm: it never lowers a p-value, never exceeds 1, keeps order and equal values equal") {
  const std::vector<double> p{0.6, 0.02, 0.4, 0.02, 1.0, 0.0};
  const auto adjusted = holm(p);
  for (std::size_t i = 0; i < p.size(); ++i) {
    CHECK(adjusted[i] >= p[i]);
    CHECK(adjusted[i] <= 1);
    for (std::size_t j = 0; j < p.size(); ++j)
      if (p[i] <= p[j]) CHECK(adjusted[i] <= adjusted[j]);
  }
  CHECK(adjusted[1] == adjusted[3]);
  CHECK(adjusted[5] == 0);
}

TEST_CASE("holm: one p-value stays itself and none gives none") {
  CHECK(holm(std::vector<double>{0.03}) == std::vector<double>{0.03});
  CHECK(holm({}).empty());
}

TEST_CASE("holm: a p outside 0 to 1 is refused") {
  for (const double bad : {-0.1, 1.5, std::numeric_limits<double>::quiet_NaN()}) {
    const std::vector<double> p{0.5, bad};
    CHECK_THROWS_AS(holm(p), DomainError);
  }
  const std::vector<double> above{1.5};
  CHECK_THROWS_WITH_AS(holm(above), doctest::Contains("holm: p must lie within 0 and 1, got 1.5"), DomainError);
}
