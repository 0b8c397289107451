#pragma once
#include <array>
#include <string>
#include <vector>

#include <shotassay/narrative/plan.hpp>

#include "wording.hpp"

namespace shotassay::narrative {

/// Words that all kinds of plan share.
class PlanWords {
 public:
  PlanWords(DisplayStep step, SpeedUnit unit) : speed_{step, unit, unit}, step_{step.value()} {}

  const SpeedWords& speed() const { return speed_; }

  /// A share of tests: one that misses the power asked is not rounded up to it.
  std::string share(double reached, double wanted) const;

  /// Where the SD comes from, and what the display adds to it.
  Note sd_note(const SdSource& source, PlanSds sd, const std::array<std::string, 2>& setups) const;

  /// Whose chances these are, and how they were worked out.
  Note chance_note(const DesignPowerOptions& how, ChanceBy by, const std::optional<Chance>& chance, double wanted,
                   std::uint64_t tests) const;

 private:
  SpeedWords speed_;
  double step_;
};

/// "5 shots with each of the two set-ups"
std::string shots_with_each(std::int64_t shots);

/// The end of every plan: what it rests on, and the cautions for who will shoot.
void add_footing(document::Document& out, const std::vector<Note>& notes);

document::Data sd_data(const SdSource& source, PlanSds sd, std::optional<double> bow_sd, std::optional<PlanSds> upper);
document::Data chance_data(const std::optional<Chance>& chance);
std::string name(ChanceBy by);
std::string name(PlannedInterval interval);
/// Which files were written, and what to do with them; absent where none was.
std::optional<document::Paragraph> files_written(const std::optional<PlannedFiring>& firing);

document::Data order_data(const std::optional<PlannedFiring>& firing);

}  // namespace shotassay::narrative
