#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// What the shots with one bow say.
struct BowAverage {
  double average;
  std::int64_t shots;
  std::optional<double> sd;  ///< divisor shots − 1; absent for one shot
};

/// One kind of bow. Each bow counts once, however many shots it has: weight 1/bows.
struct KindAverage {
  double average;  ///< of the bows' averages
  double weight;   ///< of each bow, 1/bows
  std::vector<BowAverage> bows;
  double variance_of_bow_averages;  ///< divisor bows − 1, as found
  double floor;                     ///< mean of the bows' V: what shots and rounding alone would give
};

struct BowMeansResult {
  double difference;              ///< average of kind b − average of kind a
  double standard_error;          ///< √(variance·(1/k_a + 1/k_b)), variance = max(variance_of_bow_averages, floor)
  double t;                       ///< difference / standard_error
  double degrees_of_freedom;      ///< bows − kinds
  double half_width;              ///< max(S(0), S(T), E)
  double sampling;                ///< S(0)
  double sampling_with_rounding;  ///< S(T)
  double display_bound;           ///< E
  RoundingTerm decided_by;
  double p_two_sided;  ///< smallest α whose interval leaves out 0; of the family when it has three or more kinds
  Interval interval;
  double variance_of_bow_averages;  ///< s_m², pooled over the kinds, as found
  double floor;                     ///< mean of V over all bows
  bool floor_acted;                 ///< the bow averages agreed better than shots and rounding alone would let them
  KindAverage a, b;
};

struct BowMeansWelchResult {
  double difference;
  double standard_error;
  double t;
  double degrees_of_freedom;  ///< ν, real
  double half_width;
  double sampling;
  double sampling_with_rounding;
  double display_bound;
  RoundingTerm decided_by;
  double p_two_sided;
  Interval interval;
  bool floor_acted_a;  ///< for kind a its own floor, a.floor, was above its own variance
  bool floor_acted_b;
  KindAverage a, b;
};

/// Do two kinds of bow differ, when several bows of each were shot and each bow is one replicate?
///
///   bow i:    ȳ_i from n_i shots,   V_i = max(s_i², φ)/n_i,   φ = 1/12 step², but ¼ for a bow of two shots;
///             for a bow of one shot s_i² is the variance within the other bows, pooled (0 when no bow has two shots)
///   kind g:   Ȳ_g, the mean of its k_g bow averages, each with weight 1/k_g
///   spread:   s_m² = Σ_g Σ_i (ȳ_i − Ȳ_g)² / ν,   ν = bows − kinds,   floor = mean of V_i over all bows
///             v = max(s_m², floor)·(1/k_a + 1/k_b)
///   S(x) = t(1−α/2; ν(1 + x/v)²)·√(v + x),   T = (h_a² + h_b²)/3,   E = h_a + h_b
///   H = max(S(0), S(T), E);   interval (Ȳ_b − Ȳ_a) ± H
///
/// h_g is how far a kind's average lies from the edge between its two values when all readings of all its bows span at
/// most one step (all equal: ½), else 0. If exactly one kind is all equal, o the other, E is at least
/// ½ + t(1−α; ν)·√(v_o). Where the readings scatter by more than a step this is the pooled t test of the bow averages.
///
/// Units     the readings'.
/// Requires  a bow of each kind, one display step (else DomainError); two or more bows of each kind (else NoAnswer).
/// Assumes   bows drawn at random from their kind, one bow-to-bow spread for all kinds, true averages and shots normal,
///           shots independent. Unequal numbers of shots: bow averages of unequal certainty, weighted alike.
/// Accuracy  bow averages from whole numbers; p and limits as the t quantiles, 1e-13.
///           Coverage: docs/methods/bow_means.md.
/// Source    Student (1908) [student1908] on bow averages; floor, T and E as in rounding_aware, our own.
BowMeansResult bow_means(const std::vector<Sample>& a, const std::vector<Sample>& b,
                         ConfidenceLevel level = ConfidenceLevel{0.95});

/// Of three or more kinds, one spread for all: the pair `from`, `to`, with the factor of the family of all pairs.
/// Requires  also two different indices within the kinds; else DomainError.
BowMeansResult bow_means(std::span<const std::vector<Sample>> kinds, std::size_t from, std::size_t to,
                         ConfidenceLevel level = ConfidenceLevel{0.95});

/// The same when the kinds' bows may scatter differently.
///
///   v = v_a + v_b,   v_g = max(s_g², floor_g)/k_g,   floor_g = mean of V_i over the bows of the kind
///   S(x) = t(1−α/2; ν)·√(v + x),   ν = (v + x)² / (v_a²/(k_a−1) + v_b²/(k_b−1));   in E t(1−α; k_o−1)·√(v_o)
///
/// Dear with few bows: with two of each kind ν may be as low as 1, and the interval three times as long.
/// Source    Welch (1947) [welch1947] on bow averages.
BowMeansWelchResult bow_means_welch(const std::vector<Sample>& a, const std::vector<Sample>& b,
                                    ConfidenceLevel level = ConfidenceLevel{0.95}, Family family = Family{});

/// Smallest α whose 1 − 2α interval lies inside ±margin (in the readings' unit); 1 when none does.
/// Requires  margin > 0; else DomainError.
double bow_means_p_equivalence(const std::vector<Sample>& a, const std::vector<Sample>& b, double margin);
double bow_means_welch_p_equivalence(const std::vector<Sample>& a, const std::vector<Sample>& b, double margin,
                                     Family family = Family{});

// ---- computation ----

namespace detail {

/// One lattice for all bows of all kinds, at least one bow of each.
inline void require_bows_of_each_kind(const char* method, std::span<const std::vector<Sample>> kinds) {
  if (kinds.size() < 2)
    throw DomainError{std::string{method} + ": needs 2 or more kinds of bow, got " + std::to_string(kinds.size())};
  for (const auto& bows : kinds) {
    if (bows.empty()) throw DomainError{std::string{method} + ": needs bows of each kind, got a kind without any"};
    for (const Sample& bow : bows) require_one_lattice(kinds[0][0], bow);
  }
}

inline void require_two_bows_of_each_kind(const char* method, std::span<const std::vector<Sample>> kinds) {
  require_bows_of_each_kind(method, kinds);
  for (const auto& bows : kinds)
    if (bows.size() == 1)
      throw NoAnswer{std::string{method} +
                     ": with one bow of a kind nothing tells how bows of that kind differ; two or more bows of each "
                     "kind are needed for a claim about kinds"};
}

inline void require_pair_of_kinds(const char* method, std::size_t kinds, std::size_t from, std::size_t to) {
  if (from >= kinds || to >= kinds || from == to)
    throw DomainError{std::string{method} + ": needs two different kinds out of " + std::to_string(kinds)};
}

/// A kind's bows in display steps, averages taken from a whole number of steps that all kinds share.
struct KindInSteps {
  std::vector<Moments> bows;
  std::vector<double> averages;  ///< less the common offset
  double average = 0;            ///< less the common offset
  double squares = 0;            ///< Σ (ȳ_i − Ȳ)²
  double sum_of_v = 0;           ///< Σ V_i
  bool all_equal = false;
  double edge = 0;

  double count() const { return static_cast<double>(averages.size()); }
};

/// Variance within bows, pooled over all bows of two or more shots; 0 when there is none.
inline double pooled_within_variance(std::span<const std::vector<Sample>> kinds) {
  double squares = 0, freedom = 0;
  for (const auto& bows : kinds)
    for (const Sample& bow : bows) {
      const Moments m = moments(bow);
      squares += ratio(m.scaled_deviations(), m.n);
      freedom += static_cast<double>(m.n - 1);
    }
  return freedom > 0 ? squares / freedom : 0.0;
}

inline KindInSteps kind_in_steps(const std::vector<Sample>& bows, std::int64_t offset, double within_variance) {
  KindInSteps kind;
  std::int64_t low = bows[0].low(), high = bows[0].high();
  for (const Sample& bow : bows) {
    const Moments m = moments(bow);
    kind.bows.push_back(m);
    kind.averages.push_back(ratio(m.total() - WideInteger{m.n} * offset, m.n));
    kind.average += kind.averages.back();
    low = std::min(low, bow.low());
    high = std::max(high, bow.high());
    const double floor = m.n == 2 ? 0.25 : 1.0 / 12.0;
    kind.sum_of_v += std::max(m.n > 1 ? m.variance() : within_variance, floor) / static_cast<double>(m.n);
  }
  kind.average /= kind.count();
  for (const double y : kind.averages) kind.squares += (y - kind.average) * (y - kind.average);
  kind.all_equal = low == high;
  if (high - low <= 1) kind.edge = std::abs(kind.average - static_cast<double>(low - offset) - 0.5);
  return kind;
}

inline KindAverage in_unit(const KindInSteps& kind, double offset_in_steps, double step) {
  KindAverage result{.average = (offset_in_steps + kind.average) * step,
                     .weight = 1.0 / kind.count(),
                     .bows = {},
                     .variance_of_bow_averages = kind.squares / (kind.count() - 1.0) * step * step,
                     .floor = kind.sum_of_v / kind.count() * step * step};
  for (const Moments& m : kind.bows)
    result.bows.push_back({.average = m.mean() * step,
                           .shots = m.n,
                           .sd = m.n > 1 ? std::optional{std::sqrt(m.variance()) * step} : std::nullopt});
  return result;
}

/// The three half-widths of a gap between kinds as functions of α, and their inverses, in steps.
class BowMeansGap {
 public:
  struct Kind {
    double variance;            ///< of the kind's average, floor included
    double degrees_of_freedom;  ///< of that variance
    double edge;
    bool all_equal;
  };

  /// With `common`, both variances are shares of one estimate and go with its degrees of freedom.
  BowMeansGap(const Kind& a, const Kind& b, bool common, Family family)
      : a_{a}, b_{b}, common_{common}, family_{family} {}

  double edges() const { return a_.edge + b_.edge; }
  double type_b() const { return (a_.edge * a_.edge + b_.edge * b_.edge) / 3.0; }
  double u(double x) const { return std::sqrt(a_.variance + b_.variance + x); }

  double degrees_of_freedom(double x) const {
    const double total = a_.variance + b_.variance + x;
    if (common_) return a_.degrees_of_freedom / square((a_.variance + b_.variance) / total);
    return 1.0 /
           (square(a_.variance / total) / a_.degrees_of_freedom + square(b_.variance / total) / b_.degrees_of_freedom);
  }

  double sampling(double alpha, double x) const { return family_.factor(alpha, degrees_of_freedom(x)) * u(x); }

  double bound(double alpha) const {
    if (!one_sided()) return edges();
    const double t = numerics::t_upper_quantile(alpha / family_.pairs(), other().degrees_of_freedom);
    return std::max(edges(), 0.5 + t * std::sqrt(other().variance));
  }

  /// Smallest α at which H(α) < distance; 1 when there is none. Averages of bows with unequal shots are no lattice, so
  /// equality is decided to 11 digits of a step.
  double p(double distance) const {
    if (distance <= edges() + 1e-11) return 1.0;
    double p = std::max(family_.p_two_sided(distance / u(0.0), degrees_of_freedom(0.0)),
                        family_.p_two_sided(distance / u(type_b()), degrees_of_freedom(type_b())));
    if (one_sided())
      p = std::max(p, family_.pairs() * numerics::t_upper_tail((distance - 0.5) / std::sqrt(other().variance),
                                                               other().degrees_of_freedom));
    return std::min(1.0, p);
  }

  /// As p(), for the distance between the difference and the nearer margin.
  double p_equivalence(double difference, double margin) const {
    const double distance = margin - std::abs(difference);
    if (distance <= edges() + 1e-11 * std::max(1.0, margin)) return 1.0;
    const double p = this->p(distance);
    return p >= 1.0 ? 1.0 : 0.5 * p;
  }

 private:
  static double square(double x) { return x * x; }
  bool one_sided() const { return a_.all_equal != b_.all_equal; }
  const Kind& other() const { return a_.all_equal ? b_ : a_; }

  Kind a_, b_;
  bool common_;
  Family family_;
};

/// All kinds in steps from one offset, the lowest reading of all.
struct KindsInSteps {
  std::int64_t offset;
  double step;
  std::vector<KindInSteps> kinds;
};

inline KindsInSteps kinds_in_steps(std::span<const std::vector<Sample>> kinds) {
  KindsInSteps all{.offset = kinds[0][0].low(), .step = kinds[0][0].step().value(), .kinds = {}};
  for (const auto& bows : kinds)
    for (const Sample& bow : bows) all.offset = std::min(all.offset, bow.low());
  const double within = pooled_within_variance(kinds);
  for (const auto& bows : kinds) all.kinds.push_back(kind_in_steps(bows, all.offset, within));
  return all;
}

/// One spread over all kinds, in steps².
struct CommonBowSpread {
  double variance;
  double floor;
  double degrees_of_freedom;
  bool floor_acted() const { return floor > variance; }
};

inline CommonBowSpread common_bow_spread(const std::vector<KindInSteps>& kinds) {
  double squares = 0, sum_of_v = 0, bows = 0;
  for (const KindInSteps& k : kinds) {
    squares += k.squares;
    sum_of_v += k.sum_of_v;
    bows += k.count();
  }
  const double nu = bows - static_cast<double>(kinds.size());
  return {.variance = squares / nu, .floor = sum_of_v / bows, .degrees_of_freedom = nu};
}

inline BowMeansGap common_gap(const CommonBowSpread& spread, const KindInSteps& a, const KindInSteps& b,
                              Family family) {
  const auto kind = [&](const KindInSteps& k) {
    return BowMeansGap::Kind{std::max(spread.variance, spread.floor) / k.count(), spread.degrees_of_freedom, k.edge,
                             k.all_equal};
  };
  return {kind(a), kind(b), true, family};
}

inline BowMeansGap welch_gap(const KindInSteps& a, const KindInSteps& b, Family family) {
  const auto kind = [](const KindInSteps& k) {
    const double freedom = k.count() - 1.0;
    return BowMeansGap::Kind{std::max(k.squares / freedom, k.sum_of_v / k.count()) / k.count(), freedom, k.edge,
                             k.all_equal};
  };
  return {kind(a), kind(b), false, family};
}

/// The members that both methods have, from the gap in steps.
template <class Result>
void fill_bow_means(Result& r, const BowMeansGap& gap, const KindsInSteps& all, std::size_t from, std::size_t to,
                    ConfidenceLevel level) {
  const double alpha = level.alpha();
  const double s0 = gap.sampling(alpha, 0.0), st = gap.sampling(alpha, gap.type_b()), e = gap.bound(alpha);
  const double difference = all.kinds[to].average - all.kinds[from].average;
  r.difference = difference * all.step;
  r.standard_error = gap.u(0.0) * all.step;
  r.t = difference / gap.u(0.0);
  r.degrees_of_freedom = gap.degrees_of_freedom(0.0);
  r.sampling = s0 * all.step;
  r.sampling_with_rounding = st * all.step;
  r.display_bound = e * all.step;
  r.half_width = std::max({s0, st, e}) * all.step;
  r.decided_by = largest_term(s0, st, e);
  r.p_two_sided = gap.p(std::abs(difference));
  r.interval = centred(r.difference, r.half_width);
  r.a = in_unit(all.kinds[from], static_cast<double>(all.offset), all.step);
  r.b = in_unit(all.kinds[to], static_cast<double>(all.offset), all.step);
}

}  // namespace detail

inline BowMeansResult bow_means(std::span<const std::vector<Sample>> kinds, std::size_t from, std::size_t to,
                                ConfidenceLevel level) {
  detail::require_pair_of_kinds("bow_means", kinds.size(), from, to);
  detail::require_two_bows_of_each_kind("bow_means", kinds);
  const detail::KindsInSteps all = detail::kinds_in_steps(kinds);
  const detail::CommonBowSpread spread = detail::common_bow_spread(all.kinds);
  BowMeansResult r{};
  detail::fill_bow_means(
      r, detail::common_gap(spread, all.kinds[from], all.kinds[to], Family{static_cast<int>(kinds.size())}), all, from,
      to, level);
  r.variance_of_bow_averages = spread.variance * all.step * all.step;
  r.floor = spread.floor * all.step * all.step;
  r.floor_acted = spread.floor_acted();
  return r;
}

inline BowMeansResult bow_means(const std::vector<Sample>& a, const std::vector<Sample>& b, ConfidenceLevel level) {
  const std::vector<Sample> both[] = {a, b};
  return bow_means(both, 0, 1, level);
}

inline BowMeansWelchResult bow_means_welch(const std::vector<Sample>& a, const std::vector<Sample>& b,
                                           ConfidenceLevel level, Family family) {
  const std::vector<Sample> both[] = {a, b};
  detail::require_two_bows_of_each_kind("bow_means_welch", both);
  const detail::KindsInSteps all = detail::kinds_in_steps(both);
  BowMeansWelchResult r{};
  detail::fill_bow_means(r, detail::welch_gap(all.kinds[0], all.kinds[1], family), all, 0, 1, level);
  r.floor_acted_a = r.a.floor > r.a.variance_of_bow_averages;
  r.floor_acted_b = r.b.floor > r.b.variance_of_bow_averages;
  return r;
}

inline double bow_means_p_equivalence(const std::vector<Sample>& a, const std::vector<Sample>& b, double margin) {
  if (!(margin > 0.0)) throw DomainError{"equivalence margin must be positive, got " + std::to_string(margin)};
  const std::vector<Sample> both[] = {a, b};
  detail::require_two_bows_of_each_kind("bow_means", both);
  const detail::KindsInSteps all = detail::kinds_in_steps(both);
  return detail::common_gap(detail::common_bow_spread(all.kinds), all.kinds[0], all.kinds[1], Family{})
      .p_equivalence(all.kinds[1].average - all.kinds[0].average, margin / all.step);
}

inline double bow_means_welch_p_equivalence(const std::vector<Sample>& a, const std::vector<Sample>& b, double margin,
                                            Family family) {
  if (!(margin > 0.0)) throw DomainError{"equivalence margin must be positive, got " + std::to_string(margin)};
  const std::vector<Sample> both[] = {a, b};
  detail::require_two_bows_of_each_kind("bow_means_welch", both);
  const detail::KindsInSteps all = detail::kinds_in_steps(both);
  return detail::welch_gap(all.kinds[0], all.kinds[1], family)
      .p_equivalence(all.kinds[1].average - all.kinds[0].average, margin / all.step);
}

}  // namespace shotassay
