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
  int decimals;  ///< of the readings; averages and intervals get one more
  std::string unit;
};

/// Shots of several bows of each kind, as dots on the display's lattice, one row a bow; the bows' averages and the
/// kinds' averages of those.
struct BowFigure {
  struct Bow {
    std::string label;                ///< its name; shots and average are added where it is drawn
    std::vector<std::int64_t> steps;  ///< readings as multiples of the display step
    double mean;                      ///< in steps
  };
  struct Kind {
    std::string label;  ///< the same
    std::vector<Bow> bows;
    double mean;                       ///< of the bows' averages, in steps
    std::optional<Interval> interval;  ///< of that average for the kind, in steps
  };
  std::vector<Kind> kinds;
  double step;   ///< size of one step in the unit printed
  int decimals;  ///< of the readings; averages and intervals get one more
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
  int decimals = 1;  ///< of its numbers in a table; one close to 0 or the margin gets as many as tell it apart
};

/// How often tests of each size find what they look for, one point a number of shots.
struct PowerCurveFigure {
  struct Point {
    std::int64_t shots;
    double power;  ///< 0 to 1
  };
  std::vector<Point> points;           ///< ascending in shots
  std::optional<double> wanted;        ///< the power asked for, a level line
  std::optional<std::int64_t> marked;  ///< the number of shots answered or asked about
  std::string x_label;                 ///< what is counted: "shots with each set-up"
  std::string title;                   ///< what is found: "how often a true gap of 3 fps is found"
};

/// What an uncertainty is made of: a bar an input, as long as its share of the variance.
struct BudgetFigure {
  struct Row {
    std::string label;
    double contribution;  ///< to the standard uncertainty, in its unit
    double share;         ///< of the variance; with correlations below 0 or above 1, too
  };
  std::vector<Row> rows;
  double combined = 0;  ///< standard uncertainty
  std::string unit;     ///< empty for a number without one
  int decimals = 1;     ///< of contributions; below 0 they are rounded to tens or hundreds
};

}  // namespace shotassay::document
