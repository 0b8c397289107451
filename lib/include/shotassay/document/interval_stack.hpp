#pragma once
#include <string>
#include <vector>

#include <shotassay/core/interval.hpp>

namespace shotassay::document {

/// Many intervals above each other, in groups, each group against a truth that is known.
struct IntervalStackFigure {
  struct Row {
    std::string label;  ///< stands in the table of numbers, and on a terminal beside the interval
    double estimate;
    Interval interval;  ///< finite
  };
  struct Group {
    std::string label;
    double truth;
    std::vector<Row> rows;
  };
  std::string row_title;      ///< what a label names: "student"
  std::vector<Group> groups;  ///< without rows a group is left out
  bool misses_marked = true;  ///< false where finding those that miss the truth is left to the reader
  std::string unit;
  int decimals = 1;  ///< of the numbers in the table

  /// A limit that falls on the truth holds it.
  static bool misses(const Interval& interval, double truth) {
    const double slack = 1e-11 * (1.0 + (truth < 0 ? -truth : truth));
    return interval.lower > truth + slack || interval.upper < truth - slack;
  }
};

/// What follows stands at the top of a new page, where there is paper.
struct PageBreak {};

}  // namespace shotassay::document
