#pragma once
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/describe.hpp>
#include <shotassay/methods/drift.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/widened_gap.hpp>
#include <shotassay/studies/history.hpp>
#include <shotassay/studies/method.hpp>
#include <shotassay/studies/scope.hpp>
#include <shotassay/studies/verdict.hpp>

namespace shotassay {

/// Under which bow, in which round and session a shot was fired; marks that are equal mean the same, 0 means not told.
struct ShotPlace {
  std::uint32_t bow = 0;
  std::uint32_t round = 0;
  std::uint32_t session = 0;
  std::int64_t order = 0;  ///< in the firing order of the whole test; 0 where it is not known
};

/// A set-up as a comparison takes it.
struct ComparedSetup {
  std::string name;
  std::optional<Sample> sample;        ///< the shots analysed; absent when every shot was excluded
  std::size_t excluded = 0;            ///< shots left out, each for a reason in the sheet
  std::size_t bows = 1;                ///< physical bows behind the shots
  std::vector<ShotPlace> places = {};  ///< of each reading of `sample`; empty where nothing is told
};

/// Monte Carlo in place of exact resampling: asked for, never a fallback.
struct MonteCarlo {
  std::uint64_t resamples;
  std::uint64_t seed = 1;
  unsigned threads = 1;
};

struct ComparisonOptions {
  ConfidenceLevel level{0.95};
  std::optional<double> margin = {};       ///< in the readings' unit
  std::optional<double> bow_sd = {};       ///< between bows of one kind, stated by the user; in the readings' unit
  std::vector<Method> methods = {};        ///< beside the default
  std::optional<MonteCarlo> sampled = {};  ///< bootstrap by resampling
  WorkBudget budget = {};
  /// A method over its budget: false = the whole comparison throws BudgetExceeded; true = that method is absent with
  /// its reason. True where the caller asked for "all methods" and not for this one.
  bool skip_over_budget = false;
  std::optional<ShotHistory> history =
      {};                           ///< earlier strings, in the readings' unit and on their display: `moderated`
  std::string why_no_history = {};  ///< the reason, where earlier sheets were given and tell too little
};

/// What a method says of the bows, rounds or sessions it rests on.
struct ReplicateDetail {
  std::size_t from = 0, to = 0;                  ///< bows of each kind; rounds or sessions, the same number twice
  bool floor_acted = false;                      ///< they agreed better than shots and rounding alone would let them
  std::int64_t least_shots = 0, most_shots = 0;  ///< of a bow; 0 for rounds and sessions
  std::vector<double> gaps = {};                 ///< of each session
  std::optional<double> bow_sd = {}, shot_sd = {};
  std::optional<Interval> bow_sd_interval = {}, shot_sd_interval = {};
  std::optional<double> satterthwaite = {};  ///< degrees of freedom that common software would take, where it differs
};

/// How `moderated` used the history: the same for all pairs of one comparison, but what decided the width.
struct HistoryUse {
  bool fits;         ///< false: these shots scatter more than the history allows, and it counts for nothing
  double p_scatter;  ///< chance of scatter this large where the history fits
  double pooled_sd, pooled_degrees_of_freedom;  ///< of this test
  double moderated_sd;                          ///< of both together
  RoundingTerm decided_by;
};

/// What one method says of a gap or of one average.
struct MethodOutcome {
  Method method;
  double level;                      ///< of the interval; above the comparison's own in a family by Bonferroni
  std::optional<Interval> interval;  ///< an end may be infinite: no finite limit
  std::string why_absent;            ///< when there is no interval
  std::optional<double> difference;  ///< the method's own estimate of a gap, where it has one
  std::optional<double> standard_error, degrees_of_freedom, t, p_two_sided, p_holm, p_equivalence;
  std::optional<bool> exact;
  std::optional<std::uint64_t> resamples;
  std::optional<Interval> lower_range, upper_range;  ///< Monte Carlo error: where each limit may lie
  std::optional<ReplicateDetail> replicates = {};    ///< of the methods that rest on bows, rounds or sessions
  std::optional<HistoryUse> history = {};            ///< of `moderated`
};

/// Bows of each kind that would find a true gap of this size 8 times in 10, with the shots and the spreads seen.
struct NextBows {
  double gap;
  std::int64_t bows, shots;
};

struct SetupOutcome {
  std::string name;
  std::optional<Sample> sample;
  std::optional<Description> description;  ///< absent when every shot was excluded
  std::size_t excluded;
  std::size_t bows;
  bool tight = false;                  ///< readings span at most one display step
  std::vector<MethodOutcome> methods;  ///< of the average; the default first; empty for fewer than two shots
};

/// Shots per set-up that would find a true gap of this size 8 times in 10, were the SDs those seen here.
struct NextTest {
  double gap;
  std::optional<int> shots;  ///< absent: more than 10 000
};

struct Detectable {
  double power;
  double gap;
};

struct GapOutcome {
  std::size_t from, to;              ///< indices into Comparison::setups
  std::optional<double> difference;  ///< mean(to) − mean(from), of bow averages where bows decide; absent without shots
  Verdict verdict;
  std::optional<MarginPosition> position;  ///< when there is a margin and an interval
  std::vector<MethodOutcome> methods;      ///< the default first
  std::string no_interval;                 ///< why the default has none (a set-up of one shot); empty otherwise
  std::optional<RoundingTerm> decided_by;
  /// Help for the next test, no evidence about this one. Absent where the display bound decides the interval: the power
  /// of shot scatter would promise gaps that no such display can find.
  std::optional<Detectable> detectable;
  std::vector<NextTest> next_tests;           ///< of an open verdict
  Claim claim = Claim::setups_today;          ///< what the deciding interval speaks of
  std::optional<Verdict> any_day = {};        ///< by session_gaps, where there are two sessions or more
  std::optional<BlockingGain> blocking = {};  ///< what the rounds did to the interval
  /// With one bow of each: how large the SD between bows of a kind would have to be for the gap to be nothing but that.
  std::optional<double> tipping_bow_sd = {};
  std::optional<WidenedGapResult> stated_kinds = {};  ///< the interval for kinds with the bow SD that was stated
  std::vector<NextBows> next_bows = {};               ///< of an open verdict on kinds
  std::vector<Need> needs = {};                       ///< what settles an open verdict, then what wider claims take
  bool holm_disagrees = false;                        ///< Holm's p and the interval fall on different sides of α

  const MethodOutcome& deciding() const { return methods.front(); }
};

struct Comparison {
  ConfidenceLevel level;
  std::optional<double> margin;
  DisplayStep display_step;
  int family;  ///< set-ups whose pairs share one error rate: those with two shots or more
  std::vector<SetupOutcome> setups;
  std::vector<GapOutcome> gaps;             ///< every pair, in order
  std::optional<DriftResult> drift = {};    ///< over the firing order, where it is known and shots allow
  std::optional<ShotHistory> history = {};  ///< as given
};

/// Which gaps between set-ups do the readings carry, and how large are they?
///
/// Each pair is compared by the rounding-aware interval, on which the verdict rests, and by every other method asked
/// for. Where every set-up has two bows or more each bow is one replicate: the verdict rests on bow_means and speaks of
/// the kinds. Rounds and sessions that both set-ups share add round_paired and session_gaps beside. With three or more
/// set-ups one error rate holds for all pairs at once: intervals of Games and Howell on rounding-aware variances,
/// Holm's p beside; bootstrap, permutation, rounds and sessions at 1 − α/m, m the number of pairs. A history serves
/// `moderated` alone, which has no answer where a set-up's shots are not one string (one bow, one session).
///
/// Units     the readings'.
/// Requires  two or more set-ups with different names and one display step; else DomainError.
/// Errors    BudgetExceeded (see ComparisonOptions). A set-up of one shot or none is described and has no interval.
Comparison compare(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options = {});

}  // namespace shotassay
