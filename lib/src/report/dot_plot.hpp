#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/interval.hpp>

#include "drawing.hpp"

/// Shots as dots above the display's lattice, with averages: what the pictures of shots and of bows share.
namespace shotassay::report {

struct DotRow {
  std::string label;
  std::vector<std::int64_t> steps;  ///< none: a row with an average alone
  double mean;                      ///< in steps
  std::optional<Interval> interval;
  bool small = false;     ///< a row within a group, its marks smaller
  std::string name = {};  ///< stands for the label where there are many small rows
};

struct DotPlot {
  std::vector<DotRow> rows;
  double step;
  int decimals;
  std::string unit;
  std::string average, small_average;  ///< what the marks are called in the legend
  int tallest_stack;                   ///< beyond it a dot stands for several shots

  std::string reading(double steps) const;
  std::string average_text(double steps) const;  ///< one decimal more
  /// Every reading once, in ascending order, those met more than once with how often.
  std::string readings(const std::vector<std::int64_t>& steps) const;
  /// "Average 191.4 fps, its interval from 190.0 to 192.8; readings from 190 to 193."
  std::string sentence(const DotRow& row) const;
};

/// Rows, axis and legend; requires a shot.
void draw_dots(Drawing& drawing, const DotPlot& plot);

}  // namespace shotassay::report
