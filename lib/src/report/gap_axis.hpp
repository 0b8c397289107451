#pragma once
#include <string>
#include <string_view>

#include "drawing.hpp"
#include "figure_scale.hpp"

namespace shotassay::report {

/// The axis that gaps are drawn against, as wide as the picture: signed numbers, the unit behind its end.
class GapAxis {
 public:
  GapAxis(Range range, std::string_view unit) : range_{range}, unit_{unit}, right_{end_of_axis(unit)} {}

  double left() const { return border; }
  double right() const { return right_; }
  double place(double gap) const {
    return left() + (gap - range_.low) / (range_.high - range_.low) * (right_ - left());
  }

  /// Under what is drawn so far.
  void draw(Drawing& drawing) const {
    const double axis = drawing.y + 4;
    drawing.line(left(), axis, right_, axis, "axis");
    const auto [values, decimals] = round_ticks(range_, (right_ - left()) / letter);
    for (const double x : values) {
      const std::string label = (x > 0 ? "+" : "") + number(x, decimals);
      drawing.line(place(x), axis, place(x), axis + 6, "axis");
      drawing.text(inside(place(x), label), axis + 26, "middle", "", label);
    }
    drawing.text(page_width - border, axis + 6, "end", "soft", unit_);
    drawing.y = axis + 38;
  }

 private:
  Range range_;
  std::string_view unit_;
  double right_;
};

}  // namespace shotassay::report
