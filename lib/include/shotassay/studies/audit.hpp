#pragma once
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/tally.hpp>
#include <shotassay/methods/innocent_causes.hpp>
#include <shotassay/methods/reported_figures.hpp>
#include <shotassay/methods/tipping_shot_sd.hpp>
#include <shotassay/studies/verdict.hpp>

namespace shotassay {

/// A set-up of which somebody printed figures.
struct AuditedSetup {
  std::string name;
  ReportedFigures figures;
  /// Where the number of shots was not printed: from `figures.shots` to this.
  std::optional<std::int64_t> most_shots = {};
  /// Of a chronograph that the other set-ups were not shot over: half-width of its accuracy over the speed, 0.005 for
  /// 0.5 %. An error of a shared one is nearly the same in both averages and cancels: leave it out.
  std::optional<double> accuracy = {};
};

/// Half-widths worked out in earlier audits, for those who audit many claims one after the other: the same answers,
/// sooner. Holds at most some megabytes. Not for two threads at once.
class AuditMemory {
 public:
  AuditMemory();
  ~AuditMemory();
  AuditMemory(const AuditMemory&) = delete;
  AuditMemory& operator=(const AuditMemory&) = delete;

  struct Kept;
  Kept& kept() { return *kept_; }

 private:
  std::unique_ptr<Kept> kept_;
};

struct AuditOptions {
  ConfidenceLevel level{0.95};
  std::optional<double> margin = {};    ///< in the readings' unit; without one nothing is called the same
  std::optional<Verdict> claimed = {};  ///< of every gap, the later set-up against the earlier
  WorkBudget budget = {};
  bool explain = true;            ///< innocent causes and tipping SDs too
  AuditMemory* memory = nullptr;  ///< not needed; outlives the call
};

struct SetupAudit {
  std::string name;
  bool possible;                       ///< with some number of shots
  std::optional<Tally> sets;           ///< over all numbers of shots; absent: without end
  std::optional<Interval> mean, sd;    ///< over all; `sd` absent when some number of shots leaves it without end
  std::vector<ReadingSets> by_shots;   ///< one for each number of shots
  std::vector<InnocentCauses> causes;  ///< beside `by_shots` when impossible and asked for
};

/// Pairs of reading sets by the verdict that they end in, the later set-up against the earlier. Absent: without end.
/// A count of pairs is no probability: some sets are far more likely to be shot than others.
struct VerdictCounts {
  std::optional<Tally> faster = Tally{0}, slower = Tally{0}, same = Tally{0}, open = Tally{0};

  const std::optional<Tally>& of(Verdict verdict) const {
    return verdict == Verdict::faster   ? faster
           : verdict == Verdict::slower ? slower
           : verdict == Verdict::same   ? same
                                        : open;
  }
};

/// A pair of reading sets and what the default method says of it.
struct AuditedPair {
  std::int64_t from_shots, to_shots;
  ReadingState from, to;
  double gap;
  double half_width;
  Interval interval;  ///< gap ± half_width
  Verdict verdict;
};

/// A gap with the number of shots fixed in both set-ups.
struct GapAtShots {
  std::int64_t from_shots, to_shots;
  std::optional<Interval> difference;     ///< absent when a set-up is impossible so, or nothing tells where it lies
  std::optional<VerdictCounts> verdicts;  ///< absent with `difference`, or when counting them would cost too much
  std::optional<AuditedPair> tightest;    ///< of the narrowest interval; of several the first by gap
  std::optional<AuditedPair> widest;      ///< absent when sets are without end: intervals may be as wide as they like
  std::optional<TippingShotSd> tipping;   ///< where both averages were printed and both have two shots or more
};

enum class ClaimSupport {
  every_pair,  ///< whatever was read, it carries the claim
  some_pairs,  ///< it depends on what was read
  no_pair      ///< no readings with these figures carry it
};

struct GapAudit {
  std::size_t from, to;               ///< indices of set-ups
  std::optional<double> printed_gap;  ///< of the printed averages
  std::optional<Interval> difference;
  std::optional<VerdictCounts> verdicts;
  std::string why_no_verdicts;
  bool over_budget = false;  ///< that is why
  std::optional<AuditedPair> tightest, widest;
  std::optional<ClaimSupport> support;  ///< of the verdict that was claimed
  std::vector<GapAtShots> by_shots;
};

struct Audit {
  ConfidenceLevel level;
  std::optional<double> margin;
  std::optional<Verdict> claimed;
  int family;  ///< set-ups whose pairs share one error rate
  std::vector<SetupAudit> setups;
  std::vector<GapAudit> gaps;  ///< every pair, in order
};

/// Can printed figures be true, and what would the readings behind them carry?
///
/// Each set-up's readings are enumerated (methods/reported_figures.hpp). Each pair of reading sets is judged by the
/// default method, rounding_aware with the verdict rules of `compare`, over states: an interval sees of a set only its
/// sum and its deviations, and its half-width nothing of the sum but how near two lattice points it lies.
///
/// Sets without end: with V_g the floored variance of a mean and c the factor at n_a + n_b − 2 degrees of freedom,
/// no half-width is below c·√V_g. So a pair leaves out 0, or lies inside the margin, only if c·√V_g is below the
/// largest gap, or the margin: finitely many sets, which are counted; all others are open.
///
/// Accuracies add a rectangular uncertainty w² = Σ (accuracy·mean)²/3 to the gap (methods/widened_gap.hpp). With three
/// or more set-ups one error rate holds for all pairs, as in `compare`. A number of shots that allows an average of one
/// shot only has no interval: open.
///
/// Units     the readings'.
/// Requires  one or more set-ups with one display step, names that differ, most_shots not below the fewest, accuracy
///           from 0 to 0.5, positive SDs, a positive margin, and what reading_sets requires; else DomainError.
/// Errors    BudgetExceeded when a set-up cannot be enumerated. Pairs that would cost too much are left out, and why.
Audit audit(const std::vector<AuditedSetup>& setups, const AuditOptions& options = {});

}  // namespace shotassay
