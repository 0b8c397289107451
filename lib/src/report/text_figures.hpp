#pragma once
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

/// Figures drawn in characters, nothing wider than `width`.
std::string draw(const document::ShotFigure& figure, int width);
std::string draw(const document::IntervalFigure& figure, int width);
std::string draw(const document::PowerCurveFigure& figure, int width);
std::string draw(const document::BowFigure& figure, int width);

/// A budget's numbers with a column of bars.
document::Table with_bars(const document::BudgetFigure& figure);

}  // namespace shotassay::report
