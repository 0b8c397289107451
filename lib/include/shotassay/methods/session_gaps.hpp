#pragma once
#include <algorithm>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/rounding_aware.hpp>

namespace shotassay {

/// The readings of both set-ups in one session: a day, or a sitting.
struct Session {
  Sample a;
  Sample b;
};

struct SessionGapsResult {
  double difference;         ///< mean of the sessions' gaps, each session once
  std::vector<double> gaps;  ///< mean(b) − mean(a) of each session, in the order given
  std::int64_t sessions;
  double sd_of_gaps;          ///< as it came out, divisor sessions − 1
  bool floor_acted;           ///< gaps agreed better than shots and rounding allow; their variance was raised to that
  double standard_error;      ///< u = √V
  double degrees_of_freedom;  ///< sessions − 1
  double half_width;          ///< H = max(S(0), S(T), E)
  double sampling;            ///< S(0)
  double sampling_with_rounding;  ///< S(T)
  double display_bound;           ///< E
  RoundingTerm decided_by;
  double p_two_sided;  ///< smallest α whose interval leaves out 0
  Interval interval;
};

/// Interval for a gap on any day, from several days' gaps: one gap a session, sessions are the replicates.
///
/// With k sessions, D_s = mean(b) − mean(a) of session s, s_D² their variance:
///
///   V = max(s_D², mean over the sessions of V_a + V_b)/k,   V_a, V_b as in `rounding_aware`, session by session
///   S, T, E, H and p as in `round_paired`, with this V;   interval D̄ ± H
///
/// Two sessions carry little: t(0.975; 1) = 12.7, where eight would have 2.4.
///
/// Units     results in the readings' unit.
/// Requires  both set-ups with 2 or more shots in each session, one display step throughout (else DomainError);
///           2 sessions (else NoAnswer).
/// Assumes   sessions drawn independently from the days the claim is about; gaps of sessions near normal. Unweighted:
///           a session with more shots counts no more, for days differ however many shots each has.
/// Accuracy  limits and p as the t quantiles, 1e-13.
/// Source    Student (1908) [student1908]; floor and display bound our own, as in `rounding_aware`.
SessionGapsResult session_gaps(const std::vector<Session>& sessions, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

inline SessionGapsResult session_gaps(const std::vector<Session>& sessions, ConfidenceLevel level) {
  if (sessions.empty()) throw DomainError{"session_gaps: needs sessions with shots of both set-ups, got none"};
  std::vector<Round> replicates;
  for (const Session& s : sessions) {
    for (const std::size_t n : {s.a.size(), s.b.size()})
      if (n < 2)
        throw DomainError{"session_gaps: needs 2 or more shots with each set-up in each session, got " +
                          std::to_string(n)};
    replicates.push_back({s.a, s.b});
  }
  detail::require_one_lattice(replicates);
  if (sessions.size() == 1)
    throw NoAnswer{
        "session_gaps: one session does not tell how the gap varies from day to day; shoot on a second day, better on "
        "four"};
  const auto k = static_cast<double>(sessions.size());
  double floor = 0.0;
  for (const Session& s : sessions)
    floor += (rounded_group(s.a).variance_of_mean + rounded_group(s.b).variance_of_mean) / k;
  const detail::ReplicatedGap gap{replicates, floor};
  const double step = sessions.front().a.step().value(), alpha = level.alpha();
  const double s0 = gap.sampling(alpha, 0.0), st = gap.sampling(alpha, gap.type_b()), e = gap.bound(alpha);
  const double half_width = std::max({s0, st, e});
  std::vector<double> gaps;
  for (const double d : gap.differences()) gaps.push_back(d * step);
  return {.difference = gap.mean() * step,
          .gaps = std::move(gaps),
          .sessions = static_cast<std::int64_t>(sessions.size()),
          .sd_of_gaps = gap.sd() * step,
          .floor_acted = gap.floor_acted(),
          .standard_error = gap.standard_error() * step,
          .degrees_of_freedom = gap.degrees_of_freedom(),
          .half_width = half_width * step,
          .sampling = s0 * step,
          .sampling_with_rounding = st * step,
          .display_bound = e * step,
          .decided_by = detail::largest_term(s0, st, e),
          .p_two_sided = gap.p(),
          .interval = centred(gap.mean() * step, half_width * step)};
}

}  // namespace shotassay
