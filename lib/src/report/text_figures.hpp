#pragma once
#include <string>

#include <shotassay/document/figure.hpp>

namespace shotassay::report {

/// Figures drawn in characters, nothing wider than `width`.
std::string draw(const document::ShotFigure& figure, int width);
std::string draw(const document::IntervalFigure& figure, int width);
std::string draw(const document::PowerCurveFigure& figure, int width);

}  // namespace shotassay::report
