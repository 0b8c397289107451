#pragma once
#include <string>

#include <shotassay/document/interval_stack.hpp>

#include "figure_scale.hpp"
#include "picture.hpp"

namespace shotassay::report {

/// All that the figure shows, 0 and some room at both ends with it.
Range range_of(const document::IntervalStackFigure& figure);

inline bool is_empty(const document::IntervalStackFigure& figure) {
  for (const auto& group : figure.groups)
    if (!group.rows.empty()) return false;
  return true;
}

Picture picture_of(const document::IntervalStackFigure& figure);

/// The same in characters, one line an interval, nothing wider than `width`.
std::string draw(const document::IntervalStackFigure& figure, int width);

}  // namespace shotassay::report
