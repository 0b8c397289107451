#pragma once
#include <optional>
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

/// A figure as a picture of its own: an SVG file in UTF-8 that needs no script, font or network. It follows the
/// reader's light or dark scheme, carries its text alternative, and says nothing by colour alone. Same figure, same
/// bytes.
///
/// A figure without rows or points is a picture that says so.
std::string render_svg(const document::ShotFigure& figure);
std::string render_svg(const document::IntervalFigure& figure);
std::string render_svg(const document::PowerCurveFigure& figure);
std::string render_svg(const document::BowFigure& figure);
std::string render_svg(const document::BudgetFigure& figure);

/// A document's main figure, which is its first, as such a picture; absent where no figure has anything to show.
std::optional<std::string> render_main_figure(const document::Document& document);

}  // namespace shotassay::report
