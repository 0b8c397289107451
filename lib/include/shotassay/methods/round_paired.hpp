#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// The readings of both set-ups in one round: shots fired under the same conditions.
struct Round {
  Sample a;
  Sample b;
};

struct RoundPairedResult {
  double difference;  ///< mean over the rounds of mean(b) − mean(a)
  std::int64_t rounds;
  double sd_of_differences;       ///< of the rounds' differences, as it came out, divisor rounds − 1
  bool floor_acted;               ///< the variance of the differences was raised to what rounding alone gives
  double standard_error;          ///< u = √V
  double degrees_of_freedom;      ///< rounds − 1
  double half_width;              ///< H = max(S(0), S(T), E)
  double sampling;                ///< S(0)
  double sampling_with_rounding;  ///< S(T)
  double display_bound;           ///< E
  RoundingTerm decided_by;
  double p_two_sided;  ///< smallest α whose interval leaves out 0
  Interval interval;
};

/// Interval for a gap from differences within rounds: what changes from round to round and touches both set-ups alike
/// (weather, a tiring archer, a display that creeps) drops out.
///
/// With k rounds, D_r = mean(b) − mean(a) of round r, s_D² their variance, in display steps:
///
///   h_a, h_b   of each set-up's own readings, all rounds together, as in `rounding_aware`
///   C  = the most the gap can be from D̄ if every reading is right to half a step: each round by itself leaves
///        D_r ± (its h_a + its h_b) open; C reaches to the farther end of what all rounds leave open together;
///        0 if some round has readings 2 steps apart in a set-up, or the rounds leave nothing open together
///   φ_g = mean over the rounds of 1/(12 m_g), m_g readings of set-up g in the round
///   V  = max(s_D², φ)/k,   φ = φ_a + φ_b, but 1.2 times that with three rounds
///   S(x) = t(1−α/2; ν)·√(V + x),  ν = (k−1)·(V + x)²/V²
///   T  = max((h_a² + h_b²)/3, C²/6)
///   E  = max(h_a + h_b, C); if exactly one set-up is all equal, o the other: also ½ + t(1−α; k−1)·√(V + φ_o/k)
///   H  = max(S(0), S(T), E);   interval D̄ ± H
///
/// A difference of two readings can be off by a whole step, so the rule for one average of readings must not be put to
/// differences. p is the smallest α whose interval leaves out 0; 1 if |D̄| ≤ max(h_a + h_b, C).
///
/// Units     results in the readings' unit.
/// Requires  both set-ups in each round, one display step throughout (else DomainError); 2 rounds (else NoAnswer).
/// Assumes   independent rounds; differences near normal but for rounding. Rounds weigh alike, however many shots.
/// Accuracy  limits and p as the t quantiles, 1e-13.
///           Coverage at 95 %: from three rounds on 93.7 or more at the worst phase found; less where rounds creep by a
///           whole step each time and one set-up hardly scatters (docs/methods/round_paired.md).
/// Source    our own, after `rounding_aware`; Student (1908) [student1908] for differences.
RoundPairedResult round_paired(const std::vector<Round>& rounds, ConfidenceLevel level = ConfidenceLevel{0.95});

/// What rounds did to the interval's length: the same shots with and without them.
struct BlockingGain {
  double paired_half_width;     ///< of `round_paired`
  double unblocked_half_width;  ///< of `rounding_aware`, all rounds thrown together
  double ratio;                 ///< paired/unblocked: below 1 the rounds gained, above 1 they cost
};

/// Requires  what `round_paired` requires.
BlockingGain blocking_gain(const std::vector<Round>& rounds, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

namespace detail {

/// h of a set-up's readings: |k/n − ½| if they span at most one step, k of them at the upper value; else 0.
inline double display_edge(const Sample& sample) {
  if (sample.span() > 1) return 0.0;
  std::int64_t upper = 0;
  for (const std::int64_t y : sample.steps()) upper += y - sample.low();
  const auto n = static_cast<std::int64_t>(sample.size());
  return static_cast<double>(std::abs(2 * upper - n)) / static_cast<double>(2 * n);
}

/// One set-up's readings of all rounds.
inline Sample all_readings(std::span<const Round> rounds, const Sample Round::*setup) {
  std::vector<std::int64_t> steps;
  for (const Round& r : rounds) {
    const auto more = (r.*setup).steps();
    steps.insert(steps.end(), more.begin(), more.end());
  }
  return {std::move(steps), (rounds.front().*setup).step()};
}

/// Variance of a replicate's average from rounding alone, 1/(12 m), mean over the replicates; in steps².
inline double rounding_variance(std::span<const Round> replicates, const Sample Round::*setup) {
  double sum = 0.0;
  for (const Round& r : replicates) sum += 1.0 / (12.0 * static_cast<double>((r.*setup).size()));
  return sum / static_cast<double>(replicates.size());
}

/// A gap from replicates (rounds, sessions), each with both set-ups; lengths in display steps.
class ReplicatedGap {
 public:
  /// `floor`: what the variance of a replicate's difference is at least.
  ReplicatedGap(std::span<const Round> replicates, double floor) : floor_{floor} {
    const Sample a = all_readings(replicates, &Round::a), b = all_readings(replicates, &Round::b);
    count_ = static_cast<double>(replicates.size());
    edge_a_ = display_edge(a);
    edge_b_ = display_edge(b);
    one_sided_ = a.all_equal() != b.all_equal();
    difference_of_.reserve(replicates.size());
    for (const Round& r : replicates) difference_of_.push_back(mean_difference(moments(r.a), moments(r.b)));
    // Away from the first: equal differences have a variance of 0, not of a rounding error.
    const double first = difference_of_.front();
    double sum = 0.0, squares = 0.0;
    for (const double d : difference_of_) sum += d - first;
    mean_ = first + sum / count_;
    for (const double d : difference_of_) squares += (d - first - sum / count_) * (d - first - sum / count_);
    variance_ = squares / (count_ - 1.0);
    variance_of_mean_ = std::max(variance_, floor_) / count_;
    one_sided_variance_ =
        variance_of_mean_ + rounding_variance(replicates, a.all_equal() ? &Round::b : &Round::a) / count_;
    common_ = common_bound(replicates);
  }

  double mean() const { return mean_; }
  double sd() const { return std::sqrt(variance_); }
  bool floor_acted() const { return variance_ < floor_; }
  double standard_error() const { return std::sqrt(variance_of_mean_); }
  double degrees_of_freedom() const { return count_ - 1.0; }
  const std::vector<double>& differences() const { return difference_of_; }

  double edges() const { return std::max(edge_a_ + edge_b_, common_); }
  double type_b() const { return std::max((edge_a_ * edge_a_ + edge_b_ * edge_b_) / 3.0, common_ * common_ / 6.0); }

  double sampling(double alpha, double x) const {
    return numerics::t_two_sided_factor(alpha, freedom(x)) * std::sqrt(variance_of_mean_ + x);
  }

  double bound(double alpha) const {
    if (!one_sided_) return edges();
    return std::max(edges(), 0.5 + numerics::t_upper_quantile(alpha, count_ - 1.0) * std::sqrt(one_sided_variance_));
  }

  double p() const {
    const double distance = std::abs(mean_);
    // A limit on 0 does not leave it out, and p jumps there: thirds of a step must not decide by how doubles round.
    if (distance <= edges() * (1.0 + 1e-12)) return 1.0;
    double p = 0.0;
    for (const double x : {0.0, type_b()})
      p = std::max(p, 2.0 * numerics::t_upper_tail(distance / std::sqrt(variance_of_mean_ + x), freedom(x)));
    if (one_sided_)
      p = std::max(p, numerics::t_upper_tail((distance - 0.5) / std::sqrt(one_sided_variance_), count_ - 1.0));
    return std::min(1.0, p);
  }

 private:
  double freedom(double x) const {
    const double share = variance_of_mean_ / (variance_of_mean_ + x);
    return (count_ - 1.0) / (share * share);
  }

  double common_bound(std::span<const Round> replicates) const {
    double lower = -std::numeric_limits<double>::infinity(), upper = -lower;
    for (std::size_t i = 0; i < replicates.size(); ++i) {
      const auto& [a, b] = replicates[i];
      if (a.span() > 1 || b.span() > 1) return 0.0;
      const double open = display_edge(a) + display_edge(b);
      lower = std::max(lower, difference_of_[i] - open);
      upper = std::min(upper, difference_of_[i] + open);
    }
    if (lower > upper + 1e-12) return 0.0;
    return std::max({mean_ - lower, upper - mean_, 0.0});
  }

  std::vector<double> difference_of_;
  double count_, mean_, variance_, floor_, variance_of_mean_, one_sided_variance_;
  double edge_a_, edge_b_, common_;
  bool one_sided_;
};

/// One display step for every reading of every replicate.
inline void require_one_lattice(std::span<const Round> replicates) {
  for (const Round& r : replicates) {
    shotassay::require_one_lattice(replicates.front().a, r.a);
    shotassay::require_one_lattice(replicates.front().a, r.b);
  }
}

}  // namespace detail

inline RoundPairedResult round_paired(const std::vector<Round>& rounds, ConfidenceLevel level) {
  if (rounds.empty()) throw DomainError{"round_paired: needs rounds with shots of both set-ups, got none"};
  detail::require_one_lattice(rounds);
  if (rounds.size() == 1)
    throw NoAnswer{
        "round_paired: one round does not tell how differences vary from round to round; shoot a second round, better "
        "four, or compare all shots without rounds"};
  // With three rounds 1/12 a reading is too little: equal readings by luck are then too likely (docs/methods).
  const double floor = (rounds.size() == 3 ? 1.2 : 1.0) *
                       (detail::rounding_variance(rounds, &Round::a) + detail::rounding_variance(rounds, &Round::b));
  const detail::ReplicatedGap gap{rounds, floor};
  const double step = rounds.front().a.step().value(), alpha = level.alpha();
  const double s0 = gap.sampling(alpha, 0.0), st = gap.sampling(alpha, gap.type_b()), e = gap.bound(alpha);
  const double half_width = std::max({s0, st, e});
  return {.difference = gap.mean() * step,
          .rounds = static_cast<std::int64_t>(rounds.size()),
          .sd_of_differences = gap.sd() * step,
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

inline BlockingGain blocking_gain(const std::vector<Round>& rounds, ConfidenceLevel level) {
  const double paired = round_paired(rounds, level).half_width;
  const double unblocked =
      rounding_aware(detail::all_readings(rounds, &Round::a), detail::all_readings(rounds, &Round::b), level)
          .half_width;
  return {.paired_half_width = paired, .unblocked_half_width = unblocked, .ratio = paired / unblocked};
}

}  // namespace shotassay
