#pragma once
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

/// A figure drawn, with all that stands beside the drawing for those who do not see it.
struct Picture {
  std::string name;         ///< a few words
  std::string description;  ///< sentences: what the drawing shows
  document::Table numbers;  ///< all numbers drawn
  double width = 0, height = 0;
  std::string shapes;  ///< SVG elements, texts escaped
};

Picture picture_of(const document::ShotFigure& figure);
Picture picture_of(const document::IntervalFigure& figure);
Picture picture_of(const document::PowerCurveFigure& figure);
Picture picture_of(const document::BowFigure& figure);
Picture picture_of(const document::BudgetFigure& figure);

/// A figure with nothing to show has no place in a document that is rendered.
inline bool is_empty(const document::ShotFigure& figure) { return figure.rows.empty(); }
inline bool is_empty(const document::IntervalFigure& figure) { return figure.rows.empty(); }
inline bool is_empty(const document::PowerCurveFigure& figure) { return figure.points.empty(); }
inline bool is_empty(const document::BowFigure& figure) { return figure.kinds.empty(); }
inline bool is_empty(const document::BudgetFigure& figure) { return figure.rows.empty(); }

/// The picture as an svg element for a page that holds figure_style(). `id` names it and nothing else on the page.
std::string embedded(const Picture& picture, const std::string& id);

}  // namespace shotassay::report
