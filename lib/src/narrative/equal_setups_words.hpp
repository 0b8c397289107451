#pragma once
#include <string>

#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/studies/equal_setups.hpp>

#include "comparison_words.hpp"

namespace shotassay::narrative {

/// A gap brought to equal set-ups, said and as data.
class EqualSetupsWords {
 public:
  EqualSetupsWords(const ComparisonWords& words, const GapOutcome& gap, const EqualisedGap& equal,
                   std::optional<double> margin)
      : words_{words}, gap_{gap}, equal_{equal}, margin_{margin} {}

  /// What differed, what was taken off for it, and from where the figures are. One point a quantity.
  document::Points points() const;
  /// The gap at equal set-ups in one sentence, beside the gap as shot; or why there is none.
  std::string sentence() const;
  /// Does the equalised gap carry another verdict than the gap as shot?
  bool verdict_changes() const;

 private:
  std::string correction_text(const SetupCorrection& c) const;
  std::string arrows_text() const;

  const ComparisonWords& words_;
  const GapOutcome& gap_;
  const EqualisedGap& equal_;
  std::optional<double> margin_;
};

/// `equal_setups` of a gap in the answer for a program; `factor` brings speeds to the unit printed.
document::Data equal_setups_data(const EqualisedGap& equal, double factor, std::optional<double> margin);

}  // namespace shotassay::narrative
