#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>

#include <shotassay/methods/session_power.hpp>

#include "support/close.hpp"

using namespace shotassay;

TEST_CASE("session_power: agrees with the noncentral t of R") {
  // options(digits=12); power.t.test(n=3, delta=3, sd=1, type="one.sample", strict=TRUE)$power, and so on
  CHECK(session_power(3, 1, 2) == within(0.26077071422938, 1e-9));
  CHECK(session_power(3, 1, 3) == within(0.74526800700668, 1e-9));
  CHECK(session_power(1, 1, 10) == within(0.80309685663302, 1e-9));
  CHECK(session_power(0.5, 1, 34) == within(0.80777750127944, 1e-9));
  CHECK(session_power(2, 1.5, 5, ConfidenceLevel{0.9}) == within(0.78685542256532, 1e-9));
  CHECK(session_power(2, 1, 2, ConfidenceLevel{0.999}) == within(0.00354662808328, 1e-9));
  CHECK(session_power(0.1, 1, 2000) == within(0.99396382622068, 1e-9));
  CHECK(session_power(-3, 1, 3) == session_power(3, 1, 3));
  CHECK(session_power(6, 2, 3) == digits(session_power(3, 1, 3), 12));
}

TEST_CASE("session_power: without a gap it is the error rate, for few sessions and for many") {
  for (const std::int64_t k : {2, 3, 5, 41, 42, 43, 300, 10'000})
    for (const double level : {0.5, 0.9, 0.95, 0.999})
      CHECK(session_power(0, 1, k, ConfidenceLevel{level}) == within(1 - level, 1e-9));
}

TEST_CASE("session_power: of two sessions with a large gap it is a normal tail") {
  // ν = 1: c·|W| < Z + λ with W normal. Z − c·|W| > −λ fails on either side of W: 2·Q(λ/√(c² + 1)), but for what lies
  // beyond both (less than 1e-15 here). λ = 40·√2, c = tan(0.475·π) = 12.7062.
  const double c = std::tan(0.475 * std::numbers::pi), lambda = 40 * std::numbers::sqrt2;
  CHECK(session_power(40, 1, 2) == within(1 - std::erfc(lambda / std::sqrt(c * c + 1) / std::numbers::sqrt2), 1e-9));
  CHECK(session_power(1e9, 1, 2) == within(1.0, 1e-9));
}

TEST_CASE("fewest_sessions: the number reaches the power, one less does not, as R has it") {
  // few <- function(gap, sd, level=.95) { n <- 2; while (power.t.test(n=n, delta=gap, sd=sd, sig.level=1-level,
  //   type="one.sample", strict=TRUE)$power < .8) n <- n+1; n }
  CHECK(fewest_sessions(1, 1) == 10);
  CHECK(fewest_sessions(3.9, 0.52) == 3);
  CHECK(fewest_sessions(0.5, 1) == 34);
  CHECK(fewest_sessions(-20, 1) == 2);
  CHECK(fewest_sessions(2, 1.5, Power{0.8}, ConfidenceLevel{0.9}) == 6);
  for (const double gap : {0.1, 0.3, 0.7, 2.0}) {
    const auto n = fewest_sessions(gap, 1);
    REQUIRE(n);
    CHECK(session_power(gap, 1, *n) >= 0.8 - 1e-9);
    CHECK(session_power(gap, 1, *n - 1) < 0.8);
  }
  // (1.96 + 0.84)²/0.02² = 19 600 sessions
  CHECK(fewest_sessions(0.02, 1) == std::nullopt);
}

TEST_CASE("session_half_width: 9.0 SDs of the gaps with two sessions, less the loss of an SD estimated from so few") {
  // R: qt(.975, k-1)*sqrt(2/(k-1))*exp(lgamma(k/2)-lgamma((k-1)/2))/sqrt(k)
  CHECK(session_half_width(2) == digits(7.168708358575, 12));
  CHECK(session_half_width(4) == digits(1.466022105976, 12));
  CHECK(session_half_width(10, ConfidenceLevel{0.9}) == digits(0.563832302558, 12));
}

TEST_CASE("session_power: what is no plan is refused") {
  CHECK_THROWS_WITH_AS(session_power(1, 1, 1), "session_power: needs 2 to 10000 sessions, got 1", DomainError);
  CHECK_THROWS_WITH_AS(session_power(1, 1, 10'001), "session_power: needs 2 to 10000 sessions, got 10001", DomainError);
  CHECK_THROWS_WITH_AS(session_power(1, 0, 3), "session_power: needs a positive SD of the sessions' gaps, got 0.000000",
                       DomainError);
  CHECK_THROWS_AS(session_power(1, INFINITY, 3), DomainError);
  CHECK_THROWS_WITH_AS(session_power(INFINITY, 1, 3), "session_power: needs a finite gap, got inf", DomainError);
  CHECK_THROWS_WITH_AS(fewest_sessions(0, 1), "fewest_sessions: needs a gap other than 0", DomainError);
  CHECK_THROWS_WITH_AS(fewest_sessions(1, 1, Power{0.05}),
                       "fewest_sessions: the power asked is no more than what chance alone finds", DomainError);
  CHECK_THROWS_WITH_AS(session_half_width(1), "session_half_width: needs 2 to 10000 sessions, got 1", DomainError);
}
