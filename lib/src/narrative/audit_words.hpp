#pragma once
#include <string>
#include <vector>

#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/audit.hpp>

#include "wording.hpp"

namespace shotassay::narrative {

/// The phrases of one audit.
class AuditWords {
 public:
  explicit AuditWords(const AuditStory& story)
      : found_{story.found},
        audit_{story.found.audit},
        claim_{story.claim},
        speed_{claim_.setups.front().reported.figures.display_step, claim_.unit, claim_.unit} {}

  const SpeedWords& speed() const { return speed_; }
  std::string setup(std::size_t i) const { return document::shown_name(audit_.setups[i].name); }
  /// "B against A"
  std::string pair(const GapAudit& gap) const { return setup(gap.to) + " against " + setup(gap.from); }
  /// "whole fps", "steps of 0.1 fps"
  std::string step() const;
  /// "3 readings", "3 to 10 readings"
  std::string readings(std::size_t i) const;
  /// "B was faster than A"
  std::string claim(const GapAudit& gap) const;
  std::string verdict(const GapAudit& gap, Verdict verdict) const;

  /// Whether a set-up's figures are possible, how many sets have them, what these have in common.
  std::string possible_text(std::size_t i) const;
  /// What small slips would explain impossible figures.
  std::vector<std::string> causes(std::size_t i) const;
  /// How many pairs of reading sets end in each verdict.
  std::string counts(const GapAudit& gap) const;
  /// "3", "3 and 5"
  std::string shots_of(const GapAudit& gap, const GapAtShots& at) const;
  /// The numbers of shots to show: all of a few; of many those alike in both, and of these the ends.
  std::vector<GapAtShots> told(const GapAudit& gap) const;
  /// A reason of the library without the name of the function that found it, and without a full stop.
  std::string plainly(const std::string& reason) const;
  std::string tipping(const TippingShotSd& tipping) const;
  /// "shots with each"; where numbers differ whose is whose: "shots, A and B"
  std::string shots_title(const GapAudit& gap) const;
  /// "1.00", "0.58 and 1.15"
  std::string shot_sd(const ClaimNeed& needed) const;
  /// "release aid, assumed"
  std::string shot_sd_origin(const ClaimNeed& needed) const;
  /// "9", "more than 10 000", "finer display"
  std::string shots_needed(const ClaimNeed& needed) const;
  std::string two_bows() const;
  std::string best_of(std::size_t i, const BestOfUsual& best) const;
  std::string convention_text(std::size_t i) const;
  std::vector<std::string> at_common(std::size_t i) const;
  std::string figure(const std::string& name, const std::string& unit, const FigureCheck& check) const;
  std::string item(ReportedItem item) const;
  std::vector<Note> notes() const;
  /// The figures as typed, one row a set-up.
  document::Table printed() const;

 private:
  std::string interval(const Interval& i, int more_decimals = 0) const;

  const PublishedAudit& found_;
  const Audit& audit_;
  const PublishedClaim& claim_;
  SpeedWords speed_;
};

/// "1 234", "at least 10^38"
std::string count_text(Tally count);

}  // namespace shotassay::narrative
