#pragma once
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <numbers>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/noncentral_t.hpp>
#include <shotassay/numerics/quadrature.hpp>
#include <shotassay/numerics/root.hpp>

namespace shotassay {

/// One set-up of a test that is planned: how many shots, and how they scatter.
struct GroupDesign {
  std::int64_t shots;
  double sd;  ///< the true SD, in the unit of the gap
};

enum class Sides {
  two,  ///< an interval that leaves out 0, on either side
  one   ///< a one-sided limit above 0: b faster than a
};

struct PowerResult {
  double power;
  double error_estimate;  ///< absolute: difference from the next coarser rule, and what is cut off the tails
};

/// Power of Welch's test: how often will two set-ups with this true gap be told apart?
///
///   power = E[ Q(t(ν_b)·r_b·s − λ) + Q(t(ν_b)·r_b·s + λ) ]     λ = δ/τ, τ² = σ_a²/n_a + σ_b²/n_b, Q upper normal tail
///
/// over the split b of the pooled chi-square (a Beta law) and its scale s: see WelchPowerCurve. Family of k set-ups:
/// q(1−α; k, ν)/√2 in place of t, two-sided, the power of one named pair. One side: first term, t at α.
///
/// Units     gap and SDs in one unit; power has none.
/// Requires  2 ≤ shots ≤ 1e7, SDs positive and finite, a finite gap; otherwise DomainError.
/// Assumes   independent normal shots with known SDs, readings not rounded (SDs of half a display step or more).
/// Accuracy  1e-9 absolute; the result carries its own estimate.
/// Source    integral over the two chi-squares as in Lee & Gurland (1975) [lee1975]; our own quadrature.
PowerResult welch_power(double true_gap, GroupDesign a, GroupDesign b, ConfidenceLevel level = ConfidenceLevel{0.95},
                        Sides sides = Sides::two, Family family = Family{});

/// Power to call two set-ups the same within ±margin: how often will the two-sided interval of this level lie inside?
///
///   power = E[ Φ((m−δ)/τ − x) − Φ((−m−δ)/τ + x) ; x < m/τ ],   x = t(1−α/2; ν_b)·r_b·s
///
/// The classical two one-sided tests at α are the interval of level 1 − 2α.
/// Requires  as welch_power, and a positive finite margin.   Accuracy  as welch_power.
PowerResult welch_equivalence_power(double true_gap, double margin, GroupDesign a, GroupDesign b,
                                    ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{});

/// A factor of the standard error that depends on the degrees of freedom: half of an interval's width is c(ν)·se.
struct CriticalFactor {
  Family family;
  double two_sided_alpha;  ///< 2α for a one-sided test at α

  CriticalFactor(ConfidenceLevel level, Sides sides = Sides::two, Family of = Family{})
      : family{of}, two_sided_alpha{sides == Sides::two ? level.alpha() : 2.0 * level.alpha()} {
    if (two_sided_alpha >= 1.0)
      throw DomainError{"a one-sided test needs a confidence level above 0.5, got " + std::to_string(level.value())};
  }
  double operator()(double degrees_of_freedom) const { return family.factor(two_sided_alpha, degrees_of_freedom); }
};

namespace detail {

/// P(Z > z). Of a power only the absolute error counts (1e-16 here), and it takes thousands of tails.
inline double fast_upper_tail(double z) { return 0.5 * std::erfc(z * (0.5 * std::numbers::sqrt2)); }

/// The number of shots, once the design is known to be one.
inline double checked(const char* who, GroupDesign g) {
  if (g.shots < 2 || g.shots > 10'000'000)
    throw DomainError{std::string{who} + ": needs 2 to 10000000 shots in a set-up, got " + std::to_string(g.shots)};
  if (!(g.sd > 0.0) || !std::isfinite(g.sd))
    throw DomainError{std::string{who} + ": needs a positive SD, got " + std::to_string(g.sd)};
  return static_cast<double>(g.shots);
}

inline void require_gap(const char* who, double gap) {
  if (!std::isfinite(gap)) throw DomainError{std::string{who} + ": needs a finite gap, got " + std::to_string(gap)};
}

inline void require_margin(const char* who, double margin) {
  if (!(margin > 0.0) || !std::isfinite(margin))
    throw DomainError{std::string{who} + ": needs a positive margin, got " + std::to_string(margin)};
}

/// A critical factor on an interval of ν, interpolated: a studentised range costs far more than a power does.
///
/// asinh of the factor as a function of 1/ν, at Chebyshev points (barycentric form [berrut2004]). The points are
/// doubled until the new ones are foretold to 1e-8, or as asked: as the error falls geometrically, doubling about
/// squares it, and with the new points the factor is good to 1e-10.   Requires  lowest_nu < highest_nu (infinite
/// allowed).
class CriticalCurve {
 public:
  template <class Critical>
  CriticalCurve(const Critical& critical, double lowest_nu, double highest_nu, double foretold = 1e-8)
      : centre_{0.5 * (1.0 / lowest_nu + 1.0 / highest_nu)}, half_{0.5 * (1.0 / lowest_nu - 1.0 / highest_nu)} {
    const auto exact = [&](double x) { return std::asinh(critical(1.0 / (centre_ + half_ * x))); };
    nodes_ = points(4);
    for (const double x : nodes_) values_.push_back(exact(x));
    for (std::size_t n = 8; n <= 128; n *= 2) {
      const std::vector<double> finer = points(n);
      std::vector<double> values(n + 1);
      double miss = 0.0;
      for (std::size_t i = 0; i <= n; ++i) {
        values[i] = i % 2 == 0 ? values_[i / 2] : exact(finer[i]);
        if (i % 2 == 1) miss = std::max(miss, std::abs(values[i] - interpolated(finer[i])));
      }
      nodes_ = finer;
      values_ = values;
      if (miss < foretold) break;
    }
  }

  double operator()(double nu) const {
    return std::sinh(interpolated(std::clamp((1.0 / nu - centre_) / half_, -1.0, 1.0)));
  }

 private:
  static std::vector<double> points(std::size_t n) {
    std::vector<double> x(n + 1);
    for (std::size_t i = 0; i <= n; ++i)
      x[i] = std::cos(std::numbers::pi * static_cast<double>(i) / static_cast<double>(n));
    return x;
  }

  double interpolated(double x) const {
    double above = 0.0, below = 0.0;
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const double distance = x - nodes_[i];
      if (distance == 0.0) return values_[i];
      double weight = (i % 2 == 0 ? 1.0 : -1.0) / distance;
      if (i == 0 || i + 1 == nodes_.size()) weight *= 0.5;
      above += weight * values_[i];
      below += weight;
    }
    return above / below;
  }

  double centre_, half_;
  std::vector<double> nodes_, values_;
};

/// The factor of a family at any ν ≥ 1: interpolated once for each family and level, and kept for the next design.
inline std::shared_ptr<const CriticalCurve> kept_family_curve(const CriticalFactor& critical) {
  static std::mutex mutex;
  static std::map<std::pair<int, double>, std::shared_ptr<const CriticalCurve>> kept;
  constexpr std::size_t most_kept = 64;
  const std::lock_guard lock{mutex};
  if (kept.size() >= most_kept) kept.clear();
  auto& curve = kept[{critical.family.setups(), critical.two_sided_alpha}];
  if (!curve) curve = std::make_shared<const CriticalCurve>(critical, 1.0, HUGE_VAL);
  return curve;
}

template <class Critical>
CriticalCurve curve_between(const Critical& critical, double lowest_nu, double highest_nu) {
  if constexpr (std::is_same_v<Critical, CriticalFactor>)
    if (!critical.family.is_pair()) return {*kept_family_curve(critical), lowest_nu, highest_nu};
  return {critical, lowest_nu, highest_nu};
}

/// Where a concave log-weight, 0 at its peak, falls to −drop between the peak and a limit where it is lower.
template <class LogWeight>
double edge_of(const LogWeight& log_weight, double peak, double limit, double drop) {
  double inside = peak, outside = limit;
  for (int i = 0; i < 16; ++i) {  // the end outside is taken: a rule may be longer than it need be, never shorter
    const double middle = 0.5 * (inside + outside);
    (log_weight(middle) > -drop ? inside : outside) = middle;
  }
  return outside;
}

}  // namespace detail

/// The power of one design at any gap: what does not depend on the gap is computed once.
///
///   ν_i = n_i − 1, ν = ν₁ + ν₂, v_i = σ_i²/n_i, τ² = v₁ + v₂;   b ~ Beta(ν₁/2, ν₂/2),  s² ~ χ²_ν/ν, independent
///   A = v₁b/ν₁, B = v₂(1−b)/ν₂;   ν_b = (A+B)²/(A²/ν₁ + B²/ν₂),  se = τ·r_b·s,  r_b = √(ν(A+B))/τ
///
/// Outer rule over b: Gauss–Legendre in θ, b = sin²θ, the first of 20, 24, 36 and 48 nodes that a coarser rule agrees
/// with for a steep function of the factor, unless v₁ and v₂ are more than 30-fold apart; then, and wherever a coarser
/// rule disagrees by 1e-9, the trapezoid rule in ½·log(b/(1−b)). Its error falls as exp(−π²/(2·step)), because the
/// nearest singularity of ν_b lies π/4 off the real line whatever the SDs. Given b the power is a noncentral t with ν
/// degrees of freedom, a finite sum. Equivalence, and many shots, take an inner rule over s: Gauss–Legendre, 32 nodes,
/// on the stretch where the normal tails change; below it they are 1, above it 0.
///
/// `critical` maps degrees of freedom to the factor of the standard error; it must fall as ν grows.
class WelchPowerCurve {
 public:
  template <class Critical>
  WelchPowerCurve(GroupDesign a, GroupDesign b, const Critical& critical);

  PowerResult two_sided(double gap) const;                   ///< P( |difference| > c·se )
  PowerResult one_sided(double gap) const;                   ///< P( difference > c·se )
  PowerResult equivalence(double gap, double margin) const;  ///< P( |difference| + c·se < margin )

  double standard_error() const { return tau_; }  ///< τ, the true standard error of the gap
  double expected_half_width() const;             ///< E[ c·se ], the interval's half-width on average

  /// P( c·se ≤ w ): how often will the interval be no wider than ±w, whatever the gap?
  ///
  ///   E[ P( χ²_ν ≤ ν·(w/(τ·c(ν_b)·r_b))² ) ] over the split b
  ///
  /// Requires  w ≥ 0, infinite allowed; else DomainError.   Accuracy  1e-9 absolute.
  double half_width_at_most(double w) const;

  /// The half-width that so large a share of tests stay within: w with half_width_at_most(w) = share.
  ///
  /// Requires  1e-7 ≤ share ≤ 1 − 1e-7, as shares are computed to 1e-9; else DomainError.
  /// Accuracy  the share at the result is the one asked to 2e-9.
  double half_width_quantile(double share) const;

 private:
  struct Node {
    double weight;
    double factor;  ///< x = factor·q, q = s over its most likely value
  };
  struct Abscissa {
    double weight;
    double q;
  };
  struct Rule {
    std::vector<Node> nodes;
    int inner;                    ///< nodes of a panel
    std::vector<Abscissa> whole;  ///< the panel over all of q, which most outer nodes share
  };
  /// Where a tail g(x) changes: 1 below `one_until`, 0 above `zero_from`; beyond `valid_until` g must not be asked.
  struct Stretch {
    double one_until;
    double zero_from;
    double valid_until;
  };

  static constexpr double cut_off = 1e-10;    ///< most that ending the weights and tails may cost; measured 2e-11
  static constexpr double negligible = 28.0;  ///< weights end at e^−28 of their peak; what lies beyond is below 1e-12
  static constexpr double longest = 14.0;     ///< stretch of x that 32 nodes resolve: tails change over a unit of x
  static constexpr double flat = 7.0;         ///< so far from its middle a normal tail is 0 or 1 to 1.3e-12
  static constexpr double endless = 1e150;    ///< a gap in standard errors that no sum overflows at
  static constexpr double longest_sum = 160;  ///< most degrees of freedom for which the finite sum is the quicker one

  double log_weight(double q) const { return (nu_ - 1.0) * (std::log(q) - 0.5 * (q * q - 1.0)); }

  /// E[g(x)], the expectation over b and s.
  template <class Tail>
  double expectation(const Rule& rule, Stretch stretch, const Tail& g) const;

  /// Gauss–Legendre nodes on a stretch of q, with the weight of q in theirs.
  std::vector<Abscissa> abscissas(double from, double to, int count) const;

  /// ∫ of the weight of q times g(factor·q).
  template <class Tail>
  double panel(double from, double to, int count, double factor, const Tail& g) const;

  /// A power by the two rules at hand, and by finer ones while they differ by more than 1e-9.
  template <class Power>
  PowerResult refined(const Power& power_by) const {
    return refined(power_by, fine_, coarse_);
  }
  template <class Power>
  PowerResult refined(const Power& power_by, const Rule& fine, const Rule& coarse) const;

  double two_sided(const Rule& rule, double gap) const;
  double one_sided(const Rule& rule, double gap) const;
  double equivalence(const Rule& rule, double gap, double margin) const;
  double half_width_at_most(const Rule& rule, double w) const;

  /// E over b of a noncentral t's tail beyond c(ν_b)·r_b.
  template <class Tail>
  double summed(const Rule& rule, const Tail& tail) const;

  /// How far two rules are apart for a normal tail amid the factors, and one at twice that.
  static double apart(const Rule& one, const Rule& other);

  Node node(double weight, double share, double rest) const;
  Rule finished(std::vector<Node> nodes, int inner) const;
  Rule gauss(int outer, int inner) const;
  Rule trapezoid(double step, int inner) const;

  double nu1_, nu2_, nu_;
  detail::CriticalCurve curve_;
  double v1_, v2_, tau_;
  double step_;
  bool gauss_;
  double lowest_q_, highest_q_, total_q_;
  Rule fine_, coarse_;
};

template <class Critical>
WelchPowerCurve::WelchPowerCurve(GroupDesign a, GroupDesign b, const Critical& critical)
    : nu1_{detail::checked("power", a) - 1.0},
      nu2_{detail::checked("power", b) - 1.0},
      nu_{nu1_ + nu2_},
      curve_{detail::curve_between(critical, std::min(nu1_, nu2_), nu_)} {
  // Only the ratio of the variances enters besides τ; the larger SD is taken as unit, so nothing over- or underflows.
  const double unit = std::max(a.sd, b.sd);
  v1_ = (a.sd / unit) * (a.sd / unit) / static_cast<double>(a.shots);
  v2_ = (b.sd / unit) * (b.sd / unit) / static_cast<double>(b.shots);
  tau_ = unit * std::sqrt(v1_ + v2_);
  step_ = std::min(0.1, 0.4 * std::sqrt(0.5 / nu1_ + 0.5 / nu2_));  // also resolves the narrow peak of many shots

  lowest_q_ = detail::edge_of([&](double q) { return log_weight(q); }, 1.0, 0.0, negligible);
  highest_q_ =
      detail::edge_of([&](double q) { return log_weight(q); }, 1.0, 1.0 + 10.0 / std::sqrt(nu_ - 1.0), negligible);

  const double unevenness = std::max(v1_, v2_) / std::min(v1_, v2_);
  gauss_ = unevenness <= 30.0;
  if (gauss_) {
    // A narrow weight, of many shots, is near a normal curve, for which the smallest pair falls short.
    for (const auto& [coarse, fine] : {std::pair{16, 20}, {20, 24}, {28, 36}, {36, 48}}) {
      if (coarse == 16 && std::min(nu1_, nu2_) > 40.0) continue;
      coarse_ = gauss(coarse, 28);
      fine_ = gauss(fine, 32);
      if (apart(coarse_, fine_) < 1e-10) break;
    }
  } else {
    fine_ = trapezoid(step_, 32);
    coarse_ = trapezoid(2.0 * step_, 28);
  }
  total_q_ = 0.0;
  for (const Abscissa& x : fine_.whole) total_q_ += x.weight;
}

inline double WelchPowerCurve::apart(const Rule& one, const Rule& other) {
  double middle = 0.0, most = 0.0;
  for (const Node& x : one.nodes) middle += x.weight * x.factor;
  for (const double centre : {middle, 2.0 * middle}) {
    double difference = 0.0;
    for (const Node& x : one.nodes) difference += x.weight * detail::fast_upper_tail(x.factor - centre);
    for (const Node& x : other.nodes) difference -= x.weight * detail::fast_upper_tail(x.factor - centre);
    most = std::max(most, std::abs(difference));
  }
  return most;
}

inline WelchPowerCurve::Node WelchPowerCurve::node(double weight, double share, double rest) const {
  const double A = v1_ * share / nu1_, B = v2_ * rest / nu2_, sum = A + B;
  const double p = A / sum, q = B / sum;
  const double degrees = 1.0 / (p * p / nu1_ + q * q / nu2_), r = std::sqrt(nu_ * sum / (v1_ + v2_));
  return {weight, curve_(degrees) * r * std::sqrt((nu_ - 1.0) / nu_)};
}

inline WelchPowerCurve::Rule WelchPowerCurve::finished(std::vector<Node> nodes, int inner) const {
  double total = 0.0;
  for (const Node& x : nodes) total += x.weight;
  for (Node& x : nodes) x.weight /= total;
  return {std::move(nodes), inner, abscissas(lowest_q_, highest_q_, inner)};
}

inline double WelchPowerCurve::expected_half_width() const {
  // b and s are independent, so the expectation of c(ν_b)·r_b·s is that of c·r_b times that of s.
  double factor = 0.0, q = 0.0;
  for (const Node& x : fine_.nodes) factor += x.weight * x.factor;
  for (const Abscissa& x : fine_.whole) q += x.weight * x.q;
  return tau_ * factor * q / total_q_;
}

inline WelchPowerCurve::Rule WelchPowerCurve::gauss(int outer, int inner) const {
  // sin^(ν₁−1)θ cos^(ν₂−1)θ over its peak; 1 − b as cos²θ, so that neither share loses digits.
  const double p = nu1_ - 1.0, q = nu2_ - 1.0, peak = std::atan2(std::sqrt(p), std::sqrt(q));
  const double sine = std::sin(peak), cosine = std::cos(peak);
  // With two shots the exponent is 0 and the peak lies at an end, where the other factor's logarithm has no value.
  const auto power_of = [](double exponent, double ratio) { return exponent > 0.0 ? exponent * std::log(ratio) : 0.0; };
  const auto log_of = [&](double theta) {
    return power_of(p, std::sin(theta) / sine) + power_of(q, std::cos(theta) / cosine);
  };
  const double from = detail::edge_of(log_of, peak, 0.0, negligible);
  const double to = detail::edge_of(log_of, peak, 0.5 * std::numbers::pi, negligible);
  const auto legendre = numerics::gauss_legendre(outer);
  // Like set-ups have a rule that is its own mirror image; every size of it is even.
  const bool alike = nu1_ == nu2_ && v1_ == v2_;
  const std::size_t count = alike ? legendre.nodes.size() / 2 : legendre.nodes.size();
  std::vector<Node> nodes;
  nodes.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double theta = from + 0.5 * (to - from) * (1.0 + legendre.nodes[i]);
    const double s = std::sin(theta), c = std::cos(theta);
    nodes.push_back(node(legendre.weights[i] * std::exp(log_of(theta)), s * s, c * c));
  }
  return finished(std::move(nodes), inner);
}

inline WelchPowerCurve::Rule WelchPowerCurve::trapezoid(double step, int inner) const {
  // b^(ν₁/2) (1−b)^(ν₂/2) in u = ½·log(b/(1−b)), from its peak outwards.
  const auto log_of = [&](double u) {
    return -0.5 * (nu1_ * std::log1p(std::exp(-2.0 * u)) + nu2_ * std::log1p(std::exp(2.0 * u)));
  };
  const double peak = 0.5 * std::log(nu1_ / nu2_), at_peak = log_of(peak);
  std::vector<Node> nodes;
  const auto added = [&](double u) {
    const double weight = log_of(u) - at_peak;
    if (weight < -negligible) return false;
    nodes.push_back(node(std::exp(weight), 1.0 / (1.0 + std::exp(-2.0 * u)), 1.0 / (1.0 + std::exp(2.0 * u))));
    return true;
  };
  for (int i = 0; added(peak + step * i); ++i) continue;
  for (int i = 1; added(peak - step * i); ++i) continue;
  return finished(std::move(nodes), inner);
}

inline std::vector<WelchPowerCurve::Abscissa> WelchPowerCurve::abscissas(double from, double to, int count) const {
  const auto legendre = numerics::gauss_legendre(count);
  const double half = 0.5 * (to - from);
  std::vector<Abscissa> found;
  found.reserve(legendre.nodes.size());
  for (std::size_t i = 0; i < legendre.nodes.size(); ++i) {
    const double q = from + half * (1.0 + legendre.nodes[i]);
    found.push_back({half * legendre.weights[i] * std::exp(log_weight(q)), q});
  }
  return found;
}

template <class Tail>
double WelchPowerCurve::panel(double from, double to, int count, double factor, const Tail& g) const {
  if (!(to > from)) return 0.0;
  const auto legendre = numerics::gauss_legendre(count);
  const double half = 0.5 * (to - from);
  double sum = 0.0;
  for (std::size_t i = 0; i < legendre.nodes.size(); ++i) {
    const double q = from + half * (1.0 + legendre.nodes[i]);
    sum += legendre.weights[i] * std::exp(log_weight(q)) * g(factor * q);
  }
  return half * sum;
}

template <class Tail>
double WelchPowerCurve::expectation(const Rule& rule, Stretch stretch, const Tail& g) const {
  const auto always = [](double) { return 1.0; };
  double power = 0.0;
  for (const Node& x : rule.nodes) {
    double inner = 0.0;
    if (x.factor * (highest_q_ - lowest_q_) <= longest && x.factor * highest_q_ <= stretch.valid_until) {
      for (const Abscissa& y : rule.whole) inner += y.weight * g(x.factor * y.q);
    } else {
      const double to = std::min(highest_q_, stretch.zero_from / x.factor);
      const double from = std::clamp(stretch.one_until / x.factor, lowest_q_, std::max(lowest_q_, to));
      inner = panel(lowest_q_, from, rule.inner, 0.0, always) + panel(from, to, rule.inner, x.factor, g);
    }
    power += x.weight * inner;
  }
  return std::clamp(power / total_q_, 0.0, 1.0);
}

template <class Tail>
double WelchPowerCurve::summed(const Rule& rule, const Tail& tail) const {
  const double to_t = std::sqrt(nu_ / (nu_ - 1.0));  // q = s·√(ν/(ν − 1)), see node
  double power = 0.0;
  for (const Node& x : rule.nodes) power += x.weight * tail(x.factor * to_t, static_cast<int>(nu_));
  return std::clamp(power, 0.0, 1.0);
}

inline double WelchPowerCurve::two_sided(const Rule& rule, double gap) const {
  const double lambda = std::min(std::abs(gap) / tau_, endless);
  if (nu_ <= longest_sum)
    return summed(rule, [&](double t, int nu) { return numerics::noncentral_t_outside(t, nu, lambda); });
  return expectation(rule, {lambda - flat, lambda + flat, HUGE_VAL}, [&](double x) {
    const double near = detail::fast_upper_tail(x - lambda);
    return x + lambda > flat ? near : near + detail::fast_upper_tail(x + lambda);
  });
}

inline double WelchPowerCurve::one_sided(const Rule& rule, double gap) const {
  const double lambda = std::clamp(gap / tau_, -endless, endless);
  if (nu_ <= longest_sum)
    return summed(rule, [&](double t, int nu) { return numerics::noncentral_t_upper_tail(t, nu, lambda); });
  return expectation(rule, {lambda - flat, lambda + flat, HUGE_VAL},
                     [&](double x) { return detail::fast_upper_tail(x - lambda); });
}

inline double WelchPowerCurve::equivalence(const Rule& rule, double gap, double margin) const {
  const double lambda = std::abs(gap) / tau_, mu = margin / tau_;
  // The kink at x = m/τ, where no interval fits inside the margin any more, ends the rule.
  return expectation(rule, {mu - lambda - flat, std::min(mu, mu - lambda + flat), mu}, [&](double x) {
    return 1.0 - detail::fast_upper_tail(mu - lambda - x) - detail::fast_upper_tail(mu + lambda - x);
  });
}

inline double WelchPowerCurve::half_width_at_most(const Rule& rule, double w) const {
  const double x = w / tau_;
  double share = 0.0;
  // x = factor·q ends at q = x/factor, and ν·s² = (ν − 1)·q².
  for (const Node& node : rule.nodes) {
    const double q = x / node.factor;
    share += node.weight * numerics::chi_square_lower_tail((nu_ - 1.0) * q * q, nu_);
  }
  return std::clamp(share, 0.0, 1.0);
}

inline double WelchPowerCurve::half_width_at_most(double w) const {
  if (!(w >= 0.0)) throw DomainError{"half_width_at_most: needs a half-width of 0 or more, got " + std::to_string(w)};
  return refined([&](const Rule& rule) { return half_width_at_most(rule, w); }).power;
}

inline double WelchPowerCurve::half_width_quantile(double share) const {
  if (!(share >= 1e-7 && share <= 1.0 - 1e-7))
    throw DomainError{"half_width_quantile: needs a share from 1e-7 to 1 - 1e-7, got " + std::to_string(share)};
  double low = 0.5 * expected_half_width(), high = 2.0 * low;
  while (half_width_at_most(low) >= share) low *= 0.5;
  while (half_width_at_most(high) <= share) high *= 2.0;
  return numerics::find_root([&](double w) { return half_width_at_most(w) - share; }, low, high, 1e-11);
}

inline PowerResult WelchPowerCurve::two_sided(double gap) const {
  return refined([&](const Rule& rule) { return two_sided(rule, gap); });
}

inline PowerResult WelchPowerCurve::one_sided(double gap) const {
  return refined([&](const Rule& rule) { return one_sided(rule, gap); });
}

inline PowerResult WelchPowerCurve::equivalence(double gap, double margin) const {
  const auto power_by = [&](const Rule& rule) { return equivalence(rule, gap, margin); };
  // Its integrand bends sharply where the room inside the margin ends: two small rules may agree and both be off.
  return gauss_ ? refined(power_by, gauss(48, 32), gauss(36, 28)) : refined(power_by);
}

template <class Power>
PowerResult WelchPowerCurve::refined(const Power& power_by, const Rule& fine, const Rule& coarse) const {
  double power = power_by(fine), miss = std::abs(power - power_by(coarse));
  // Equivalence with one small and one large set-up: s hardly varies, and "room inside the margin" is an edge in b.
  for (double step = gauss_ ? step_ : 0.5 * step_; miss > 1e-9 && step > step_ / 100.0; step *= 0.5) {
    const double finer = power_by(trapezoid(step, 48));
    miss = std::abs(finer - power);
    power = finer;
  }
  return {power, miss + cut_off};
}

inline PowerResult welch_power(double true_gap, GroupDesign a, GroupDesign b, ConfidenceLevel level, Sides sides,
                               Family family) {
  detail::require_gap("welch_power", true_gap);
  const WelchPowerCurve curve{a, b, CriticalFactor{level, sides, family}};
  return sides == Sides::two ? curve.two_sided(true_gap) : curve.one_sided(true_gap);
}

inline PowerResult welch_equivalence_power(double true_gap, double margin, GroupDesign a, GroupDesign b,
                                           ConfidenceLevel level, Family family) {
  detail::require_gap("welch_equivalence_power", true_gap);
  detail::require_margin("welch_equivalence_power", margin);
  return WelchPowerCurve{a, b, CriticalFactor{level, Sides::two, family}}.equivalence(true_gap, margin);
}

}  // namespace shotassay
