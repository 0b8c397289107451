#pragma once
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/welch_power.hpp>

namespace shotassay {

/// What is asked of sample_size.
struct SampleSizeQuestion {
  double smallest_difference;  ///< the true gap worth finding, in the SDs' unit; its sign does not matter
  double sd_a;
  double sd_b;
  Power power{0.8};
  ConfidenceLevel level{0.95};
  double ratio = 1.0;  ///< shots of b for each shot of a
  Sides sides = Sides::two;
  Family family{};
};

/// What is asked of sample_size_for_same: shots for which the interval lies inside ±margin.
struct SameSizeQuestion {
  double margin;
  double sd_a;
  double sd_b;
  double true_gap = 0.0;
  Power power{0.8};
  ConfidenceLevel level{0.95};  ///< of the two-sided interval; 1 − 2α for the classical two one-sided tests
  double ratio = 1.0;
  Family family{};
};

/// The smallest number of shots, and its neighbours: power need not rise with every shot.
struct SampleSize {
  std::int64_t shots_a;
  std::int64_t shots_b;
  double power;                          ///< at these shots, at least the one asked
  std::optional<double> power_one_less;  ///< with one shot less in the smaller set-up: too low; absent below 2 shots
  double power_one_more;                 ///< with one shot more in the smaller set-up
  bool one_more_holds;                   ///< false where power dips: one more shot would miss the power asked
};

/// How many shots does each set-up need, so that Welch's test finds a gap with a given power?
///
///   smallest n with welch_power(smallest_difference; n, n) ≥ power, every smaller n shown to fall short
///
/// With a ratio the smaller set-up has n shots, the larger n·ratio rounded to the nearest whole shot.
///
/// Every n from 2 on is tried. Most fail by a bound that takes no integral: with W = se²/τ², E W = 1, θ > 0, 0 < w < 1
/// and c₀ the critical factor at the most degrees of freedom the search can reach,
///
///   power ≤ P(W ≤ w) + P(|Z + λ| > c₀√w),     P(W ≤ w) ≤ e^{θw} Π_i (1 + 2θ(v_i/τ²)/ν_i)^{−ν_i/2}   (Chernoff)
///
/// for any w and θ, so the least over a few of them is a bound as well. A normal approximation to start from would be
/// quicker and proves nothing: power can fall when n rises.
///
/// Units     as the question; shots are whole.
/// Requires  positive finite SDs, a finite difference other than 0, ratio from 0.01 to 100 (else DomainError).
/// No answer above 10 000 shots in a set-up (NoAnswer, with what would help).
/// Accuracy  that of welch_power: a power within 1e-9 of the one asked counts as reached.
/// Source    own search; power as in welch_power.
SampleSize sample_size(const SampleSizeQuestion& question);

/// How many shots does each set-up need, so that its interval shows the two to be the same within ±margin?
///
/// As sample_size, with welch_equivalence_power.   Requires also  |true_gap| < margin.
SampleSize sample_size_for_same(const SameSizeQuestion& question);

constexpr std::int64_t most_shots_planned = 10'000;  ///< in a set-up; nobody fires more to compare two bows

namespace detail {

/// Up to four significant digits, no locale.
inline std::string short_number(double x) {
  char buffer[32];
  return {buffer, std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::general, 4).ptr};
}

/// Least of P(W ≤ w) + rejected(√w) over a few w; an upper bound of E[ rejected(√W) ] when rejected ≤ 1 falls.
template <class Rejected>
double power_bound(GroupDesign a, GroupDesign b, const Rejected& rejected) {
  const double v1 = a.sd * a.sd / static_cast<double>(a.shots), v2 = b.sd * b.sd / static_cast<double>(b.shots);
  const double nu1 = static_cast<double>(a.shots - 1), nu2 = static_cast<double>(b.shots - 1);
  const double p = v1 / (v1 + v2), q = v2 / (v1 + v2);
  // W is near a chi-square on ν degrees of freedom over ν: that fixes a good θ for each w; any θ gives a bound.
  const double nu = 1.0 / (p * p / nu1 + q * q / nu2), spread = std::sqrt(2.0 / nu);
  double bound = 1.0;
  for (double k = 0.5; k <= 5.0; k += 0.5) {
    const double w = std::exp(-k * spread), theta = 0.5 * nu * (1.0 / w - 1.0);
    const double log_tail =
        theta * w - 0.5 * nu1 * std::log1p(2.0 * theta * p / nu1) - 0.5 * nu2 * std::log1p(2.0 * theta * q / nu2);
    bound = std::min(bound, std::exp(log_tail) + rejected(std::sqrt(w)));
  }
  return bound;
}

/// Shots of a and b when the smaller set-up has n.
struct Allocation {
  double sd_a, sd_b, ratio;

  double stretch() const { return std::max(ratio, 1.0 / ratio); }
  std::int64_t larger(std::int64_t n) const { return std::llround(static_cast<double>(n) * stretch()); }
  GroupDesign a(std::int64_t n) const { return {ratio < 1.0 ? larger(n) : n, sd_a}; }
  GroupDesign b(std::int64_t n) const { return {ratio < 1.0 ? n : larger(n), sd_b}; }
};

/// Smallest n whose power reaches the one asked; `bound` is an upper bound of `power`, both of n.
template <class PowerAt, class Bound>
std::optional<SampleSize> smallest_that_reaches(const Allocation& shots, Power wanted, const PowerAt& power,
                                                const Bound& bound) {
  constexpr double reached = 1e-9;
  for (std::int64_t n = 2; shots.larger(n) <= most_shots_planned; ++n) {
    if (bound(n) < wanted.value() - reached) continue;
    const double at_n = power(n);
    if (at_n < wanted.value() - reached) continue;
    const double one_more = power(n + 1);
    return SampleSize{.shots_a = shots.a(n).shots,
                      .shots_b = shots.b(n).shots,
                      .power = at_n,
                      .power_one_less = n > 2 ? std::optional{power(n - 1)} : std::nullopt,
                      .power_one_more = one_more,
                      .one_more_holds = one_more >= wanted.value() - reached};
  }
  return std::nullopt;
}

inline Allocation checked_allocation(const char* who, double sd_a, double sd_b, double ratio) {
  checked(who, {2, sd_a});
  checked(who, {2, sd_b});
  if (!(ratio >= 0.01 && ratio <= 100.0))
    throw DomainError{std::string{who} + ": needs a ratio of shots from 0.01 to 100, got " + std::to_string(ratio)};
  return {sd_a, sd_b, ratio};
}

/// Both set-ups at their most, and the neighbour n + 1 of the last n tried.
constexpr double most_degrees_of_freedom() { return 2.0 * static_cast<double>(most_shots_planned + 101); }

/// The critical factor for every design of a search: interpolated once, to be evaluated at each n.
inline CriticalCurve critical_for_search(const CriticalFactor& critical) {
  return {critical, 1.0, most_degrees_of_freedom()};
}

}  // namespace detail

inline SampleSize sample_size(const SampleSizeQuestion& question) {
  const detail::Allocation shots =
      detail::checked_allocation("sample_size", question.sd_a, question.sd_b, question.ratio);
  const double gap = std::abs(question.smallest_difference);
  detail::require_gap("sample_size", gap);
  if (gap == 0.0) throw DomainError{"sample_size: needs a smallest difference other than 0"};

  const detail::CriticalCurve critical =
      detail::critical_for_search(CriticalFactor{question.level, question.sides, question.family});
  const double least_factor = critical(detail::most_degrees_of_freedom());
  const bool two = question.sides == Sides::two;
  const auto power = [&](std::int64_t n) {
    const WelchPowerCurve curve{shots.a(n), shots.b(n), critical};
    return (two ? curve.two_sided(gap) : curve.one_sided(gap)).power;
  };
  const auto bound = [&](std::int64_t n) {
    const GroupDesign a = shots.a(n), b = shots.b(n);
    const double lambda =
        gap / std::sqrt(a.sd * a.sd / static_cast<double>(a.shots) + b.sd * b.sd / static_cast<double>(b.shots));
    return detail::power_bound(a, b, [&](double root_w) {
      const double x = least_factor * root_w;
      return detail::fast_upper_tail(x - lambda) + (two ? detail::fast_upper_tail(x + lambda) : 0.0);
    });
  };
  if (const auto found = detail::smallest_that_reaches(shots, question.power, power, bound)) return *found;
  throw NoAnswer{"sample_size: more than " + std::to_string(most_shots_planned) +
                 " shots in a set-up would be needed to find a gap of " + detail::short_number(gap) + " with SDs of " +
                 detail::short_number(question.sd_a) + " and " + detail::short_number(question.sd_b) + " and power " +
                 detail::short_number(question.power.value()) +
                 "; a smaller SD, a finer display or a larger smallest gap would help"};
}

inline SampleSize sample_size_for_same(const SameSizeQuestion& question) {
  const detail::Allocation shots =
      detail::checked_allocation("sample_size_for_same", question.sd_a, question.sd_b, question.ratio);
  const double gap = std::abs(question.true_gap), margin = question.margin;
  detail::require_gap("sample_size_for_same", gap);
  detail::require_margin("sample_size_for_same", margin);
  if (gap >= margin)
    throw DomainError{"sample_size_for_same: a true gap of " + detail::short_number(gap) +
                      " does not lie inside the margin of " + detail::short_number(margin)};

  const detail::CriticalCurve critical =
      detail::critical_for_search(CriticalFactor{question.level, Sides::two, question.family});
  const double least_factor = critical(detail::most_degrees_of_freedom());
  const auto power = [&](std::int64_t n) {
    return WelchPowerCurve{shots.a(n), shots.b(n), critical}.equivalence(gap, margin).power;
  };
  const auto bound = [&](std::int64_t n) {
    const GroupDesign a = shots.a(n), b = shots.b(n);
    const double tau =
        std::sqrt(a.sd * a.sd / static_cast<double>(a.shots) + b.sd * b.sd / static_cast<double>(b.shots));
    return detail::power_bound(a, b, [&](double root_w) {
      const double room = margin / tau - least_factor * root_w, lambda = gap / tau;
      return std::max(0.0, 1.0 - detail::fast_upper_tail(room - lambda) - detail::fast_upper_tail(room + lambda));
    });
  };
  if (const auto found = detail::smallest_that_reaches(shots, question.power, power, bound)) return *found;
  throw NoAnswer{"sample_size_for_same: more than " + std::to_string(most_shots_planned) +
                 " shots in a set-up would be needed to show two set-ups the same within " +
                 detail::short_number(margin) + " with SDs of " + detail::short_number(question.sd_a) + " and " +
                 detail::short_number(question.sd_b) + " and power " + detail::short_number(question.power.value()) +
                 "; a smaller SD, a finer display or a wider margin would help"};
}

}  // namespace shotassay
