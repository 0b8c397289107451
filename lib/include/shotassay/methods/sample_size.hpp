#pragma once
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/noncentral_t.hpp>
#include <shotassay/numerics/normal.hpp>

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
/// Every n from 2 on is tried. Most fail by a bound that takes no integral. With W = se²/τ², E W = 1, c(ν) the critical
/// factor, c₀ that at the most degrees of freedom the search can reach, p = v_a/τ², q = v_b/τ²:
///
///   power ≤ f(1) + (K·c₀² − f'(1))·(1 − E√W),   f(r) = P(|Z + λ| > c₀·r),   K ≥ f''/c₀²         (Taylor)
///   power ≤ P(|T_ν(λ)| > c(ν)·r₀),   ν = ν_a + ν_b,  r₀² = ν·min(p/ν_a, q/ν_b)                    (least scale)
///   power ≤ P(W ≤ w) + P(|Z + λ| > c₀√w),   P(W ≤ w) ≤ e^{θw} Π_i (1 + 2θ(v_i/τ²)/ν_i)^{−ν_i/2}   (Chernoff)
///
/// - Taylor: −(1 − E√W) is the mean of √W − 1, and 2·(1 − E√W) of its square. The root is concave and the mean of a
///   chi is at least √(1 − 1/(2ν)) [watson1959], so 1 − E√W ≤ p·(1 − √(1 − 1/(2ν_a))) + q·(1 − √(1 − 1/(2ν_b))).
/// - Least scale: the factor is at least c(ν)·r₀ whatever the split b. With like set-ups that is the pooled test's.
/// - Chernoff: for any w and θ, so the least over a few of them is a bound as well.
///
/// A normal approximation to start from would be quicker and proves nothing: power can fall when n rises.
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

constexpr double reached = 1e-9;  ///< so much below the power asked counts as reached

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

/// Upper bound of the power to find a gap of λ standard errors, by Taylor's formula; quick, and close with many shots.
inline double taylor_bound(GroupDesign a, GroupDesign b, double factor, double lambda, Sides sides) {
  const double v1 = a.sd * a.sd / static_cast<double>(a.shots), v2 = b.sd * b.sd / static_cast<double>(b.shots);
  const double p = v1 / (v1 + v2), q = v2 / (v1 + v2);
  const auto missing = [](std::int64_t shots) {  // most that the mean of a chi can lack of 1
    return 1.0 - std::sqrt(1.0 - 0.5 / static_cast<double>(shots - 1));
  };
  const double lacking = p * missing(a.shots) + q * missing(b.shots);
  // The second derivative of a normal tail is y·φ(y): at most φ(1), and falling from 1 on.
  double bound = fast_upper_tail(factor - lambda), slope = numerics::normal_density(factor - lambda),
         bend = numerics::normal_density(1.0);
  if (sides == Sides::two) {
    bound += fast_upper_tail(factor + lambda);
    slope += numerics::normal_density(factor + lambda);
    const double y = std::max(1.0, lambda);
    bend += y * numerics::normal_density(y);
  }
  return bound + (factor * slope + bend * factor * factor) * lacking;
}

/// Upper bound of the same power, the scale of the standard error being the least for any split; `factor` is that at
/// ν_a + ν_b degrees of freedom. 1 where there are so many that the sum is no longer quick.
inline double least_scale_bound(GroupDesign a, GroupDesign b, double factor, double lambda, Sides sides) {
  const double v1 = a.sd * a.sd / static_cast<double>(a.shots), v2 = b.sd * b.sd / static_cast<double>(b.shots);
  const double nu1 = static_cast<double>(a.shots - 1), nu2 = static_cast<double>(b.shots - 1), nu = nu1 + nu2;
  if (nu > 500.0) return 1.0;
  const double t = factor * std::sqrt(nu * std::min(v1 / nu1, v2 / nu2) / (v1 + v2));
  return sides == Sides::two ? numerics::noncentral_t_outside(t, static_cast<int>(nu), lambda)
                             : numerics::noncentral_t_upper_tail(t, static_cast<int>(nu), lambda);
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
  std::optional<std::pair<std::int64_t, double>> before;  // the last number of shots whose power was integrated
  for (std::int64_t n = 2; shots.larger(n) <= most_shots_planned; ++n) {
    if (bound(n) < wanted.value() - reached) continue;
    const double at_n = power(n);
    if (at_n < wanted.value() - reached) {
      before = {n, at_n};
      continue;
    }
    const auto one_less = [&] { return before && before->first == n - 1 ? before->second : power(n - 1); };
    const double one_more = power(n + 1);
    return SampleSize{.shots_a = shots.a(n).shots,
                      .shots_b = shots.b(n).shots,
                      .power = at_n,
                      .power_one_less = n > 2 ? std::optional{one_less()} : std::nullopt,
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

/// The critical factor in a search: exact while few designs ask, interpolated from the first one that is integrated.
class SearchedFactor {
 public:
  explicit SearchedFactor(const CriticalFactor& critical) : critical_{critical} {
    if (!critical.family.is_pair()) curve_ = kept_family_curve(critical);
    least_ = (*this)(most_degrees_of_freedom());
  }

  double least() const { return least_; }  ///< at the most degrees of freedom
  double operator()(double nu) const { return curve_ ? (*curve_)(nu) : critical_(nu); }

  /// For the design with n, its neighbours, and all larger ones.
  const CriticalCurve& from(std::int64_t n) {
    if (!curve_)
      curve_ = std::make_shared<const CriticalCurve>(critical_, std::max(1.0, static_cast<double>(n - 2)),
                                                     most_degrees_of_freedom());
    return *curve_;
  }

 private:
  CriticalFactor critical_;
  std::shared_ptr<const CriticalCurve> curve_;
  double least_ = 0.0;
};

}  // namespace detail

inline SampleSize sample_size(const SampleSizeQuestion& question) {
  const detail::Allocation shots =
      detail::checked_allocation("sample_size", question.sd_a, question.sd_b, question.ratio);
  const double gap = std::abs(question.smallest_difference);
  detail::require_gap("sample_size", gap);
  if (gap == 0.0) throw DomainError{"sample_size: needs a smallest difference other than 0"};

  detail::SearchedFactor critical{CriticalFactor{question.level, question.sides, question.family}};
  const bool two = question.sides == Sides::two;
  const auto power = [&](std::int64_t n) {
    const WelchPowerCurve curve{shots.a(n), shots.b(n), critical.from(n)};
    return (two ? curve.two_sided(gap) : curve.one_sided(gap)).power;
  };
  const double wanted = question.power.value() - detail::reached;
  // Only ratios enter; the larger SD is taken as unit, so nothing over- or underflows.
  const double unit = std::max(question.sd_a, question.sd_b);
  const detail::Allocation in_unit{question.sd_a / unit, question.sd_b / unit, question.ratio};
  const auto bound = [&](std::int64_t n) {
    const GroupDesign a = in_unit.a(n), b = in_unit.b(n);
    const double tau =
        std::sqrt(a.sd * a.sd / static_cast<double>(a.shots) + b.sd * b.sd / static_cast<double>(b.shots));
    const double lambda = std::min(gap / unit / tau, 1e150);
    const double by_taylor = detail::taylor_bound(a, b, critical.least(), lambda, question.sides);
    if (by_taylor < wanted) return by_taylor;
    const double factor = critical(static_cast<double>(a.shots + b.shots - 2));
    const double by_scale = detail::least_scale_bound(a, b, factor, lambda, question.sides);
    if (by_scale < wanted) return by_scale;
    return detail::power_bound(a, b, [&](double root_w) {
      const double x = factor * root_w;
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

  detail::SearchedFactor critical{CriticalFactor{question.level, Sides::two, question.family}};
  const auto power = [&](std::int64_t n) {
    return WelchPowerCurve{shots.a(n), shots.b(n), critical.from(n)}.equivalence(gap, margin).power;
  };
  const auto bound = [&](std::int64_t n) {
    const GroupDesign a = shots.a(n), b = shots.b(n);
    const double tau =
        std::sqrt(a.sd * a.sd / static_cast<double>(a.shots) + b.sd * b.sd / static_cast<double>(b.shots));
    return detail::power_bound(a, b, [&](double root_w) {
      const double room = margin / tau - critical.least() * root_w, lambda = gap / tau;
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
