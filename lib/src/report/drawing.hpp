#pragma once
#include <algorithm>
#include <shotassay/document/printable.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "../document/formatted.hpp"
#include "markup.hpp"
#include "picture.hpp"

/// What pictures are drawn with.
namespace shotassay::report {

// Units of the drawing. On a narrow screen it is shrunk and its letters are set larger, so room is kept for those.
inline constexpr double page_width = 560;
inline constexpr double border = 14;
inline constexpr double between_rows = 8;
inline constexpr double letter = 13;  // a digit of a wide face at 20 px
inline constexpr double line_height = 26;
inline constexpr double large_mark = 8, small_mark = 6;  // of an average

/// Room that a text takes at most, in bold letters of a wide face at 20 px.
double text_width(std::string_view text);

/// A text in lines that are no wider than the room.
std::string lines_of(const std::string& text, double room);

/// A centred label pushed inwards at the borders.
inline double inside(double x, std::string_view label) {
  const double half = text_width(label) / 2;
  return std::clamp(x, half, std::max(half, page_width - half));
}

/// Where an axis with its unit behind it ends; a unit beyond all measure is left to run out of the picture.
inline double end_of_axis(std::string_view unit) {
  return std::max(page_width / 2, page_width - border - letter - text_width(unit));
}

/// Shapes from the top down: `y` is where the next thing begins.
class Drawing {
 public:
  double y = border;

  void text(double x, double baseline, std::string_view anchor, std::string_view style, std::string_view text) {
    shapes_ += formatted("<text x=\"{:.6g}\" y=\"{:.6g}\"", x, baseline);
    if (anchor != "start") shapes_ += formatted(" text-anchor=\"{}\"", anchor);
    if (!style.empty()) shapes_ += formatted(" class=\"{}\"", style);
    shapes_ += ">" + escaped(text) + "</text>\n";
  }
  /// A text as wide as the page, broken into lines.
  void paragraph(double x, std::string_view style, const std::string& content) {
    if (content.empty()) return;
    const std::string lines = lines_of(document::printable(content), page_width - x);
    for (std::size_t start = 0; start < lines.size();) {
      const auto end = lines.find('\n', start);
      y += line_height;
      text(x, y - 7, "start", style, std::string_view{lines}.substr(start, end - start));
      start = end + 1;
    }
  }
  void line(double x1, double y1, double x2, double y2, std::string_view style) {
    shapes_ += formatted("<line class=\"{}\" x1=\"{:.6g}\" y1=\"{:.6g}\" x2=\"{:.6g}\" y2=\"{:.6g}\"/>\n", style, x1,
                         y1, x2, y2);
  }
  void dot(double x, double centre, double radius) {
    shapes_ += formatted("<circle class=\"dot\" cx=\"{:.6g}\" cy=\"{:.6g}\" r=\"{:.6g}\"/>\n", x, centre, radius);
  }
  void cross(double x, double centre, double arm) {
    shapes_ += formatted("<path class=\"cross\" d=\"M{:.6g} {:.6g}l{} {}m0 -{}l-{} {}\"/>\n", x - arm, centre - arm,
                         2 * arm, 2 * arm, 2 * arm, 2 * arm, 2 * arm);
  }
  void diamond(double x, double centre, double half = large_mark) {
    shapes_ += formatted("<path class=\"mean\" d=\"M{0:.6g} {1:.6g}l{2} {2}l-{2} {2}l-{2} -{2}z\"/>\n", x,
                         centre - half, half);
  }
  /// A horizontal bar; what is taken away is hollow.
  void bar(double x1, double x2, double top, double height, bool taken) {
    shapes_ += formatted("<rect class=\"{}\" x=\"{:.6g}\" y=\"{:.6g}\" width=\"{:.6g}\" height=\"{:.6g}\"/>\n",
                         taken ? "taken" : "share", x1, top, x2 - x1, height);
  }
  /// An end of an interval: a stroke across, or an arrow head where the interval goes on.
  void end(double x, double centre, bool goes_on, int direction) {
    if (goes_on)
      shapes_ += formatted("<path class=\"end\" d=\"M{:.6g} {:.6g}l{} 7l{} 7z\"/>\n", x - 12 * direction, centre - 7,
                           12 * direction, -12 * direction);
    else
      line(x, centre - 8, x, centre + 8, "bar");
  }
  void band(double x1, double y1, double x2, double y2) {
    shapes_ += formatted("<rect class=\"band\" x=\"{:.6g}\" y=\"{:.6g}\" width=\"{:.6g}\" height=\"{:.6g}\"/>\n", x1,
                         y1, x2 - x1, y2 - y1);
  }
  void polyline(const std::vector<std::pair<double, double>>& points) {
    shapes_ += "<polyline class=\"curve\" points=\"";
    for (std::size_t i = 0; i < points.size(); ++i)
      shapes_ += formatted("{}{:.6g},{:.6g}", i == 0 ? "" : " ", points[i].first, points[i].second);
    shapes_ += "\"/>\n";
  }
  /// A line of the legend; `mark` draws around the point it is given.
  template <typename Mark>
  void legend(Mark mark, const std::string& content) {
    mark(border + 12, y + line_height / 2);
    paragraph(border + 36, "soft", content);
  }

  /// What is drawn by `background` goes behind all the rest.
  template <typename Background>
  void behind(Background background) {
    std::string front = std::move(shapes_);
    shapes_.clear();
    background();
    shapes_ += front;
  }

  std::string shapes() && { return std::move(shapes_); }

 private:
  std::string shapes_;
};

/// Draws an interval around its estimate's place; what lies beyond the plot, or has no limit, ends in arrow heads.
struct IntervalBar {
  double left, right;  ///< of the plot
  bool cut = false;    ///< has any gone on beyond it?

  void draw(Drawing& drawing, double from, double to, double centre) {
    const bool cut_left = from < left - 0.5;
    const bool cut_right = to > right + 0.5;
    const double x1 = std::clamp(from, left, right), x2 = std::clamp(to, left, right);
    drawing.line(x1, centre, x2, centre, "bar");
    drawing.end(x1, centre, cut_left, -1);
    drawing.end(x2, centre, cut_right, 1);
    cut |= cut_left || cut_right;
  }
  void legend(Drawing& drawing) const {
    if (!cut) return;
    drawing.legend([&](double x, double y) { drawing.end(x + 6, y, true, 1); },
                   "the interval goes on beyond the drawing");
  }
};

/// Sentences behind each other.
std::string joined(const std::vector<std::string>& sentences);

/// An end of an interval in words: without a limit it has no number.
std::string limit_text(double end, const std::string& finite);

/// The picture with what was drawn.
Picture finished(Picture picture, Drawing drawing);

/// What is drawn where a figure has nothing to show.
Picture nothing(Picture picture, const std::string& text);

}  // namespace shotassay::report
