#pragma once
#include <string>
#include <vector>

#include "comparison_words.hpp"

namespace shotassay::narrative {

/// One need by itself: "12 shots with each set-up find a true gap of 1.5 fps 8 times in 10".
std::string need_phrase(const Need& need, const ComparisonWords& words);

/// The needs of one code that have numbers, of one gap, as one sentence; empty where there are none.
std::string needs_sentence(NeedCode code, const GapOutcome& gap, const ComparisonWords& words);

}  // namespace shotassay::narrative
