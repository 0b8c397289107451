#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/interval.hpp>

namespace shotassay::document {

/// Shots as dots on the display's lattice, one row a set-up, so that ties are seen.
struct ShotFigure {
  struct Row {
    std::string label;
    std::vector<std::int64_t> steps;   ///< readings as multiples of the display step
    double mean;                       ///< in steps
    std::optional<Interval> interval;  ///< of the average, in steps
  };
  std::vector<Row> rows;
  double step;   ///< size of one step in the unit printed
  int decimals;  ///< of the axis labels
  std::string unit;
};

/// Intervals against 0 and, where there is one, against ±margin; one row an interval.
struct IntervalFigure {
  struct Row {
    std::string label;
    double estimate;
    Interval interval;  ///< an end may be infinite
  };
  std::vector<Row> rows;
  std::optional<double> margin;
  std::string unit;
};

}  // namespace shotassay::document
