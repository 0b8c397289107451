#pragma once
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string_view>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/verdict.hpp>

namespace shotassay {

/// What is done to the readings to see whether a verdict rests on it.
enum class ReadingChange {
  without_shot,         ///< one shot left out
  without_first_shots,  ///< the first shot of each string left out, all at once
  one_step_up,          ///< one reading a display step higher
  one_step_down         ///< one reading a display step lower
};

constexpr std::string_view name(ReadingChange change) {
  constexpr std::string_view names[] = {"without_shot", "without_first_shots", "one_step_up", "one_step_down"};
  return names[static_cast<int>(change)];
}

/// A shot by its indices: of the set-up as compared, of the reading in that set-up's sample.
struct ShotIndex {
  std::size_t setup;
  std::size_t shot;
  friend bool operator==(const ShotIndex&, const ShotIndex&) = default;
};

/// A change that makes the verdict another one. Shots that have the same effect (one set-up and one reading; for
/// another rule also one bow, round and session) stand together: any single one of them does it.
struct TippingShots {
  ReadingChange change;
  std::vector<ShotIndex> shots;    ///< in the order of the sample; of without_first_shots all that are left out
  std::optional<Verdict> becomes;  ///< absent: no range is left (fewer than two shots in a set-up)
};

struct GapInfluence {
  std::size_t from, to;            ///< as compared
  std::optional<Verdict> verdict;  ///< with all shots; absent: no range, so nothing was asked
  std::vector<TippingShots> tipping;

  bool nothing_changes_it() const { return verdict && tipping.empty(); }
};

struct InfluenceOptions {
  ConfidenceLevel level{0.95};
  std::optional<double> margin = {};
  /// For each set-up the first shots of its strings, as indices into its sample. Empty: first_shots_of_strings.
  std::vector<std::vector<std::size_t>> first_shots = {};
};

/// The first shot of each string: of each bow in each session, by the firing order where it is told, else by the
/// sample's. A round does not begin a string. Empty for a set-up without a shot.
std::vector<std::size_t> first_shots_of_strings(const ComparedSetup& setup);

/// Is it one shot? Would a verdict be another one without any single shot, without the first shot of each string, or
/// with any one reading one display step up or down?
///
/// Verdicts as compare gives them: of the rounding-aware interval, in the family of all set-ups with two shots or more.
/// The family stays as it is when a shot is left out. Nothing is deleted: the answer is about the verdict's footing.
///
/// Units     margin in the readings' unit.
/// Requires  as compare; first_shots empty or one list a set-up, places inside the samples, each once; else
/// DomainError. Cost      one half-width for each distinct reading of a gap's set-ups and change.
std::vector<GapInfluence> influence(const std::vector<ComparedSetup>& setups, const InfluenceOptions& options = {});

/// The verdict that some other rule (rounds, bow averages) gives two set-ups; absent: it finds no range.
using VerdictRule = std::function<std::optional<Verdict>(const ComparedSetup& from, const ComparedSetup& to)>;

/// The same for two set-ups and a verdict that rests on another rule. The rule sees the set-ups as changed, with the
/// places of the shots that are left; from is index 0 of the result, to index 1.
///
/// Requires  as above; the rule's errors pass through, NoAnswer counts as no range. Level and margin are the rule's
/// own. Cost      the rule once for each distinct (reading, bow, round, session) and change.
GapInfluence influence(const ComparedSetup& from, const ComparedSetup& to, const VerdictRule& rule,
                       const std::vector<std::vector<std::size_t>>& first_shots = {});

}  // namespace shotassay
