#pragma once
#include <limits>

namespace shotassay {

/// A closed interval; an end without a finite limit is ±infinity.
struct Interval {
  double lower = -std::numeric_limits<double>::infinity();
  double upper = std::numeric_limits<double>::infinity();

  bool contains(double x) const { return lower <= x && x <= upper; }
  double half_width() const { return 0.5 * (upper - lower); }
  friend bool operator==(const Interval&, const Interval&) = default;
};

inline Interval centred(double estimate, double half_width) {
  return {.lower = estimate - half_width, .upper = estimate + half_width};
}

}  // namespace shotassay
