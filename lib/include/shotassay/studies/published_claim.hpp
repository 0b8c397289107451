#pragma once
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/unit.hpp>
#include <shotassay/methods/best_of.hpp>
#include <shotassay/methods/energy_check.hpp>
#include <shotassay/studies/audit.hpp>
#include <shotassay/studies/common_conditions.hpp>
#include <shotassay/studies/rating.hpp>
#include <shotassay/studies/reported_conditions.hpp>
#include <shotassay/studies/shooter.hpp>

namespace shotassay {

/// What somebody published of one set-up, beyond the figures of its readings.
struct PublishedSetup {
  AuditedSetup reported;
  std::optional<Decimal> best = {};                           ///< the best reading, printed in place of an average
  std::optional<Decimal> arrow_mass = {};                     ///< gr
  std::optional<Decimal> energy = {};                         ///< ft·lbf
  std::optional<Decimal> momentum = {};                       ///< slug·ft/s
  std::optional<Decimal> draw_weight = {}, draw_length = {};  ///< lbf, in
  std::optional<Rating> convention = {};
};

/// A publication and what is asked of it.
struct PublishedClaim {
  std::vector<PublishedSetup> setups;
  AuditOptions options = {};
  SpeedUnit unit = SpeedUnit::feet_per_second;
  BowType bow = BowType::any;
  std::optional<Rating> at = {};  ///< conditions to bring the speeds to; absent: those of the first set-up
  ReportedConditions stated = {};
};

/// What picking the best adds with the scatter that is usual for somebody.
struct BestOfUsual {
  Shooter shooter;
  double sd;     ///< in the claim's unit
  double added;  ///< on average
  MeanBehindBest behind;
};

struct PublishedSetupAudit {
  std::vector<BestOfUsual> best;  ///< where the best was printed and the shots are known
  std::optional<FigureCheck> energy, momentum;
  std::string no_energy;                       ///< why a printed energy or momentum was not checked
  std::optional<SpeedAtConditions> at_common;  ///< where a condition was told and another set-up's is asked for
};

/// Where an SD of a shot comes from that nobody published.
enum class ShotSdOrigin {
  assumed,          ///< usual for a `shooter`
  least_of_sets,    ///< the least of all reading sets, but not below what the display hides
  greatest_of_sets  ///< the greatest of them
};

/// Shots that the claim would have needed, with one guess at the scatter.
struct ClaimNeed {
  ShotSdOrigin origin;
  std::optional<Shooter> shooter;  ///< with `assumed`
  double sd_from, sd_to;
  std::optional<std::int64_t> shots;  ///< with each; absent: more than 10 000, or `finer_display`
  bool finer_display = false;         ///< no number of shots does on such a display
};

/// What the claim about one gap would have needed.
struct ClaimNeeds {
  /// Shown is that the set-ups are the same within this, which is what was claimed; absent: a gap of the printed size.
  std::optional<double> same_within = {};
  std::vector<ClaimNeed> shots = {};  ///< empty where nothing is to be found, or `chronographs` forbids it
  /// With chronographs of their own: the gap that their errors alone may make, z(1−α/2)·w. Then no number of shots
  /// finds a smaller one, and the shots that scatter alone asks for would mislead.
  std::optional<double> chronographs = {};
};

struct PublishedAudit {
  Audit audit;
  std::vector<ClaimNeeds> needs;  ///< of each gap, in their order
  std::vector<PublishedSetupAudit> setups;
  /// Gap of the second set-up against the first at common conditions, with its standard uncertainty from the
  /// conversions alone; absent unless both could be brought there.
  struct CommonGap {
    double gap, standard_uncertainty;
  };
  std::optional<CommonGap> common_gap;
};

/// Can published figures be true, what do they carry, and which speed is it?
///
/// `audit` of the readings; beside it what picking the best of the shots adds at the usual SDs (methods/best_of.hpp),
/// printed energies and momenta against mass and speed (methods/energy_check.hpp, speeds in fps only), and the printed
/// speeds brought to the conditions of one convention, or of the first set-up (studies/common_conditions.hpp). A best
/// reading enters the readings' audit as their highest. Shots needed are those of `shots_needed`, which knows what the
/// display hides (studies/scope.hpp), 8 times in 10; the usual SDs are of shots, those of reading sets of readings.
///
/// Errors    as audit.
PublishedAudit published_audit(const PublishedClaim& claim);

}  // namespace shotassay
