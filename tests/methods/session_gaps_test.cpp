#include "support/close.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/session_gaps.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::NoAnswer;
using shotassay::RoundingTerm;
using shotassay::Session;
using shotassay::session_gaps;

namespace {

using Readings = std::vector<std::vector<std::int64_t>>;

std::vector<Session> sessions_of(const Readings& a, const Readings& b, int decimals = 0) {
  std::vector<Session> sessions;
  for (std::size_t i = 0; i < a.size(); ++i)
    sessions.push_back({decimal_sample(a[i], decimals), decimal_sample(b[i], decimals)});
  return sessions;
}

struct Row {
  Readings a, b;
  double level, gap, sd;
  bool floor_acted;
  double s0, st, e, h;
};

// The R function of docs/methods/round_paired.md with the floors of docs/methods/session_gaps.md.
const std::vector<Row> rows = {
    {{{281, 283, 282}, {280, 279, 281}},
     {{284, 285, 284}, {286, 285, 287}},
     0.95,
     4.166666666667,
     2.592724864351,
     false,
     23.29470868299,
     23.29470868299,
     0,
     23.29470868299},
    {{{281, 283, 282}, {280, 279, 281}, {284, 283, 282}},
     {{284, 285, 284}, {283, 283, 282}, {285, 286, 287}},
     0.9,
     2.666666666667,
     0.3333333333333,
     true,
     1.213953957334,
     1.213953957334,
     0,
     1.213953957334},
    {{{271, 271}, {271, 271}},
     {{274, 274}, {274, 274}},
     0.95,
     3,
     0,
     true,
     4.492321766047,
     1.354868950468,
     1,
     4.492321766047},
    {{{271, 271, 271}, {271, 271, 271}, {271, 271}},
     {{272, 272, 273}, {273, 272}, {272, 272, 274}},
     0.95,
     1.5,
     0.1666666666667,
     true,
     1.424222907245,
     1.066382071645,
     1.513072450259,
     1.513072450259},
};

}  // namespace

TEST_CASE("session gaps: four tests agree with R in every term") {
  for (const Row& row : rows) {
    CAPTURE(row.gap);
    const auto r = session_gaps(sessions_of(row.a, row.b), ConfidenceLevel{row.level});
    CHECK(r.difference == digits(row.gap, 12));
    CHECK(r.sessions == static_cast<std::int64_t>(row.a.size()));
    CHECK(r.sd_of_gaps == within(row.sd, 1e-12));
    CHECK(r.floor_acted == row.floor_acted);
    CHECK(r.sampling == digits(row.s0, 11));
    CHECK(r.sampling_with_rounding == digits(row.st, 11));
    CHECK(r.display_bound == within(row.e, 1e-11));
    CHECK(r.half_width == digits(row.h, 11));
    CHECK(r.interval.lower == within(row.gap - row.h, 1e-9));
    CHECK(r.interval.upper == within(row.gap + row.h, 1e-9));
    CHECK(r.degrees_of_freedom == static_cast<double>(row.a.size() - 1));
    CHECK(r.decided_by == (row.h > row.s0 ? RoundingTerm::display_bound : RoundingTerm::sampling));
  }
}

TEST_CASE("session gaps: two sessions carry little, by hand") {
  // gaps 2 and 6: s = √8, half-width t(0.975; 1)·√(8/2); t with 1 df is the tangent of 0.475·π
  const auto r = session_gaps(sessions_of({{271, 273}, {271, 273}}, {{273, 275}, {277, 279}}));
  CHECK(r.gaps == std::vector<double>{2, 6});
  CHECK(r.difference == 4);
  CHECK(r.sd_of_gaps == digits(std::sqrt(8.0), 15));
  CHECK(r.half_width == digits(2 * std::tan(0.475 * 3.14159265358979323846), 12));
  CHECK(r.interval.contains(0));
  // p = 2·P(T > 4/2) with 1 df = 1 − 2·atan(2)/π
  CHECK(r.p_two_sided == digits(1 - 2 * std::atan(2.0) / 3.14159265358979323846, 12));
}

TEST_CASE("session gaps: gaps that agree by chance do not shorten the interval below what the shots allow") {
  // both gaps 2; each session V = (2/2) + (2/2) = 2 from 271 273 and 273 275, so u² = 2/2
  const auto r = session_gaps(sessions_of({{271, 273}, {281, 283}}, {{273, 275}, {283, 285}}));
  CHECK(r.sd_of_gaps == 0);
  CHECK(r.floor_acted);
  CHECK(r.standard_error == 1);
  // never shorter than one session's own variance would make it with these degrees of freedom
  CHECK(r.half_width == digits(std::tan(0.475 * 3.14159265358979323846), 12));
}

TEST_CASE("session gaps: a session with more shots counts no more than another") {
  const Readings few = {{271, 272, 273}, {271, 273}}, b = {{274, 276}, {277, 279, 281}};
  const auto r = session_gaps(sessions_of(few, b));
  CHECK(r.gaps == std::vector<double>{3, 7});  // 275 − 272, 279 − 272
  CHECK(r.difference == 5);
}

TEST_CASE("session gaps: equal readings on every day leave the display's step open on either side") {
  std::vector<Session> days;
  for (int i = 0; i < 40; ++i) days.push_back({sample({271, 271, 271}), sample({273, 273, 273})});
  for (const double level : {0.01, 0.5, 0.95}) CHECK(session_gaps(days, ConfidenceLevel{level}).half_width >= 1);
  CHECK(session_gaps(days).half_width == 1);
  CHECK(session_gaps(days).decided_by == RoundingTerm::display_bound);
}

TEST_CASE("session gaps: the interval at level 1 − p reaches zero, and readings in tenths scale") {
  for (const Row& row : rows) {
    const auto whole = session_gaps(sessions_of(row.a, row.b)), tenth = session_gaps(sessions_of(row.a, row.b, 1));
    CHECK(whole.p_two_sided > 0);
    const auto at_p = session_gaps(sessions_of(row.a, row.b), ConfidenceLevel::from_alpha(whole.p_two_sided));
    CHECK(at_p.half_width == digits(std::abs(whole.difference), 9));
    CHECK(tenth.half_width == digits(whole.half_width / 10, 14));
    CHECK(tenth.standard_error == digits(whole.standard_error / 10, 14));
    CHECK(tenth.sd_of_gaps == within(whole.sd_of_gaps / 10, 1e-14));
    CHECK(tenth.sampling_with_rounding == digits(whole.sampling_with_rounding / 10, 14));
    CHECK(tenth.display_bound == within(whole.display_bound / 10, 1e-14));
    CHECK(tenth.gaps.front() == digits(whole.gaps.front() / 10, 14));
    CHECK(tenth.p_two_sided == whole.p_two_sided);
  }
}

TEST_CASE("session gaps: none, one session, one shot and mixed displays are refused, with what would help") {
  CHECK_THROWS_WITH_AS(session_gaps({}), "session_gaps: needs sessions with shots of both set-ups, got none",
                       DomainError);
  CHECK_THROWS_WITH_AS(session_gaps(sessions_of({{271, 272}}, {{273, 274}})),
                       "session_gaps: one session does not tell how the gap varies from day to day; shoot on a second "
                       "day, better on four",
                       NoAnswer);
  const std::string one = "session_gaps: needs 2 or more shots with each set-up in each session, got 1";
  CHECK_THROWS_WITH_AS(session_gaps(sessions_of({{271, 272}, {271}}, {{273, 274}, {273, 274}})), one.c_str(),
                       DomainError);
  CHECK_THROWS_WITH_AS(session_gaps(sessions_of({{271, 272}, {271, 272}}, {{273}, {273, 274}})), one.c_str(),
                       DomainError);
  CHECK_THROWS_WITH_AS(
      session_gaps({{sample({271, 272}), sample({273, 274})}, {sample({271, 272}), decimal_sample({2731, 2732}, 1)}}),
      "two set-ups need one display step, got 1 and 0.1", DomainError);
}
