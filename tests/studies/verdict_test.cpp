#include <doctest/doctest.h>

#include <limits>
#include <optional>
#include <random>
#include <string>

#include <shotassay/studies/verdict.hpp>

using namespace shotassay;

namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();

std::string said(double lower, double upper, std::optional<double> margin = std::nullopt) {
  return std::string{name(verdict(Interval{.lower = lower, .upper = upper}, margin))};
}

}  // namespace

TEST_CASE("verdict: names are those of the JSON contract") {
  CHECK(name(Verdict::faster) == "faster");
  CHECK(name(Verdict::slower) == "slower");
  CHECK(name(Verdict::same) == "same");
  CHECK(name(Verdict::open) == "open");
}

TEST_CASE("verdict: an interval that leaves out 0 names its side, whatever the margin") {
  for (const std::optional<double> margin :
       {std::optional<double>{}, std::optional{0.5}, std::optional{2.0}, std::optional{100.0}}) {
    CHECK(said(1, 3, margin) == "faster");
    CHECK(said(-3, -1, margin) == "slower");
    CHECK(said(1e-6, 3, margin) == "faster");
    CHECK(said(-3, -1e-6, margin) == "slower");
    CHECK(said(1, no_limit, margin) == "faster");
    CHECK(said(-no_limit, -1, margin) == "slower");
  }
}

TEST_CASE("verdict: a limit exactly on 0 does not leave out 0") {
  CHECK(said(0, 3) == "open");
  CHECK(said(-3, 0) == "open");
  CHECK(said(0, 0) == "open");
  CHECK(said(-0.0, 3) == "open");
  // Thirds of a step add up to 0 only up to rounding: 4/3 − (1/3 + 1) is 2.2e-16 in doubles and 0 in truth.
  const double third = 4.0 / 3.0 - 1.0, centre = 4.0 / 3.0, half = third + 1.0 - 4e-16;
  CHECK(centre - half != 0.0);
  CHECK(said(centre - half, centre + half) == "open");
  CHECK(said(-centre - half, -centre + half) == "open");
}

TEST_CASE("verdict: same only with a margin, and only when both limits lie inside it") {
  CHECK(said(-1, 1) == "open");
  CHECK(said(-1, 1, 2) == "same");
  CHECK(said(-1, 1, 1.0001) == "same");
  CHECK(said(-1, 1, 1) == "open");  // a limit exactly on the margin is not inside it
  CHECK(said(-0.5, 1, 1) == "open");
  CHECK(said(-1, 0.5, 1) == "open");
  CHECK(said(-3, 1, 2) == "open");
  CHECK(said(-1, 3, 2) == "open");
  CHECK(said(0, 1, 2) == "same");
  CHECK(said(0, 0, 1e-6) == "same");
}

TEST_CASE("verdict: an end without limit is never inside a margin, and no interval at all is open") {
  CHECK(said(-no_limit, no_limit) == "open");
  CHECK(said(-no_limit, no_limit, 5) == "open");
  CHECK(said(-no_limit, 1, 5) == "open");
  CHECK(said(-1, no_limit, 5) == "open");
  CHECK(verdict(std::nullopt) == Verdict::open);
  CHECK(verdict(std::nullopt, 5.0) == Verdict::open);
}

TEST_CASE("verdict: a margin must be positive where it is needed") {
  CHECK_THROWS_WITH_AS(verdict(Interval{.lower = -1, .upper = 1}, 0.0),
                       "equivalence margin must be positive, got 0.000000", DomainError);
}

TEST_CASE("verdict: turning the pair round turns faster into slower and leaves same and open") {
  std::mt19937_64 random{1};
  std::uniform_real_distribution<double> end{-4, 4};
  for (int i = 0; i < 2000; ++i) {
    double lower = end(random), upper = end(random);
    if (lower > upper) std::swap(lower, upper);
    const std::optional<double> margin = i % 3 == 0 ? std::nullopt : std::optional{std::abs(end(random)) + 0.01};
    const Verdict forth = verdict(Interval{.lower = lower, .upper = upper}, margin);
    const Verdict back = verdict(Interval{.lower = -upper, .upper = -lower}, margin);
    if (forth == Verdict::faster)
      CHECK(back == Verdict::slower);
    else if (forth == Verdict::slower)
      CHECK(back == Verdict::faster);
    else
      CHECK(back == forth);
    // A wider interval never says more.
    const Verdict wider = verdict(Interval{.lower = lower - 1, .upper = upper + 1}, margin);
    if (forth == Verdict::open) CHECK(wider == Verdict::open);
  }
}
