#pragma once
#include <algorithm>
#include <string>
#include <vector>

#include <shotassay/core/sample.hpp>

#include "support/samples.hpp"
#include "support/table.hpp"

/// "2811 2789/2747 2819": bows separated by strokes, whole multiples of 10^−decimals.
inline std::vector<shotassay::Sample> bows_in(const std::string& text, int decimals = 0) {
  std::vector<shotassay::Sample> bows;
  for (std::size_t at = 0; at <= text.size();) {
    const std::size_t end = std::min(text.find('/', at), text.size());
    bows.push_back(decimal_sample(steps_in(text.substr(at, end - at)), decimals));
    at = end + 1;
  }
  return bows;
}
