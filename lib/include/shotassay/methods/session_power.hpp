#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <optional>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/numerics/quadrature.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

constexpr std::int64_t most_sessions = 10'000;

/// How often will the gaps of k sessions find a true gap on any day?
///
///   c = t(1−α/2; ν), ν = k − 1, λ = gap·√k/σ
///   power = E[ Q(c·s − λ) + Q(c·s + λ) ],   s² ~ χ²_ν/ν,  Q the upper normal tail
///
/// Units     gap and sd, the SD of the sessions' gaps, in one unit.
/// Requires  2 to 10 000 sessions, a positive finite sd, a finite gap; else DomainError.
/// Assumes   as session_gaps: one gap a session, gaps near normal; sd is the true one.
/// Accuracy  1e-9 absolute.
/// Source    the t test of k gaps, Student (1908) [student1908]; our own quadrature.
double session_power(double gap, double sd, std::int64_t sessions, ConfidenceLevel level = ConfidenceLevel{0.95});

/// The fewest sessions that find the gap with this power; absent above 10 000.
/// Requires  as session_power, a gap other than 0, a power above α; else DomainError.
std::optional<std::int64_t> fewest_sessions(double gap, double sd, Power power = Power{0.8},
                                            ConfidenceLevel level = ConfidenceLevel{0.95});

/// Half of the interval's width on average, in SDs of the sessions' gaps: c·E[s]/√k.
/// Requires  2 to 10 000 sessions; else DomainError.
double session_half_width(std::int64_t sessions, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

namespace detail {

inline double checked_sessions(const char* who, std::int64_t sessions) {
  if (sessions < 2 || sessions > most_sessions)
    throw DomainError{std::string{who} + ": needs 2 to " + std::to_string(most_sessions) + " sessions, got " +
                      std::to_string(sessions)};
  return static_cast<double>(sessions);
}

}  // namespace detail

inline double session_power(double gap, double sd, std::int64_t sessions, ConfidenceLevel level) {
  const double k = detail::checked_sessions("session_power", sessions);
  if (!(sd > 0.0) || !std::isfinite(sd))
    throw DomainError{"session_power: needs a positive SD of the sessions' gaps, got " + std::to_string(sd)};
  if (!std::isfinite(gap)) throw DomainError{"session_power: needs a finite gap, got " + std::to_string(gap)};

  const double nu = k - 1.0, c = numerics::t_two_sided_factor(level.alpha(), nu);
  const double lambda = std::abs(gap) * std::sqrt(k) / sd;
  const double log_norm = std::numbers::ln2 + 0.5 * nu * std::log(0.5 * nu) - std::lgamma(0.5 * nu);
  const auto density = [&](double s) { return std::exp(log_norm + (nu - 1.0) * std::log(s) - 0.5 * nu * s * s); };
  const auto upper_tail = [](double z) { return 0.5 * std::erfc(z / std::numbers::sqrt2); };
  const auto found = [&](double s) { return upper_tail(c * s - lambda) + upper_tail(c * s + lambda); };
  const auto rule = numerics::gauss_legendre(24);
  const auto integral = [&](double from, double to, double longest, const auto& g) {
    if (!(to > from)) return 0.0;
    const double panels = std::ceil((to - from) / longest), half = 0.5 * (to - from) / panels;
    double sum = 0.0;
    for (double i = 0.0; i < panels; ++i)
      for (std::size_t j = 0; j < rule.nodes.size(); ++j) {
        const double s = from + half * (2.0 * i + 1.0 + rule.nodes[j]);
        sum += rule.weights[j] * density(s) * g(s);
      }
    return half * sum;
  };
  // The SD of s is near 1/√(2ν); nine of them hold all but 1e-11 of its law. The tails are 1 below `sure`, 0 above
  // `never`, to 1e-16.
  const double spread = 1.0 / std::sqrt(2.0 * nu), low = std::max(0.0, 1.0 - 9.0 * spread), high = 1.0 + 9.0 * spread;
  constexpr double flat = 8.5;
  const double sure = std::clamp((lambda - flat) / c, low, high), never = std::clamp((lambda + flat) / c, sure, high);
  const double power = integral(low, sure, 2.0 * spread, [](double) { return 1.0; }) +
                       integral(sure, never, std::min(2.0 * spread, 1.5 / c), found);
  return std::clamp(power, 0.0, 1.0);
}

inline std::optional<std::int64_t> fewest_sessions(double gap, double sd, Power power, ConfidenceLevel level) {
  if (gap == 0.0) throw DomainError{"fewest_sessions: needs a gap other than 0"};
  if (power.value() <= level.alpha())
    throw DomainError{"fewest_sessions: the power asked is no more than what chance alone finds"};
  const auto reached = [&](std::int64_t sessions) {
    return session_power(gap, sd, sessions, level) >= power.value() - 1e-9;
  };
  // Each further session adds to the gap in standard errors and to the degrees of freedom: the power rises.
  std::int64_t short_of = 1, enough = 2;
  while (!reached(enough)) {
    if (enough == most_sessions) return std::nullopt;
    short_of = enough;
    enough = std::min(2 * enough, most_sessions);
  }
  while (enough - short_of > 1) {
    const std::int64_t middle = short_of + (enough - short_of) / 2;
    (reached(middle) ? enough : short_of) = middle;
  }
  return enough;
}

inline double session_half_width(std::int64_t sessions, ConfidenceLevel level) {
  const double k = detail::checked_sessions("session_half_width", sessions), nu = k - 1.0;
  const double mean_of_s = std::sqrt(2.0 / nu) * std::exp(std::lgamma(0.5 * (nu + 1.0)) - std::lgamma(0.5 * nu));
  return numerics::t_two_sided_factor(level.alpha(), nu) * mean_of_s / std::sqrt(k);
}

}  // namespace shotassay
