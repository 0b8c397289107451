#include <shotassay/report/svg.hpp>
#include <variant>

#include "../document/formatted.hpp"
#include "interval_stack.hpp"
#include "markup.hpp"
#include "picture.hpp"

namespace shotassay::report {

namespace {

/// The svg element. Title and description are its text alternative, for a mouse and for a screen reader.
std::string element(const Picture& picture, const std::string& id, const std::string& attributes,
                    const std::string& before) {
  return formatted(
      "<svg{} class=\"figure\" viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{}-name {}-text\">\n"
      "<title id=\"{}-name\">{}</title>\n<desc id=\"{}-text\">{}</desc>\n{}{}</svg>\n",
      attributes, picture.width, picture.height, id, id, id, escaped(picture.name), id, escaped(picture.description),
      before, picture.shapes);
}

std::string alone(const Picture& picture) {
  const std::string size =
      formatted(" xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\"", picture.width, picture.height);
  const std::string ground = formatted("<style>\n{}</style>\n<rect class=\"paper\" width=\"{}\" height=\"{}\"/>\n",
                                       figure_style(), picture.width, picture.height);
  return element(picture, "figure", size, ground);
}

}  // namespace

std::string embedded(const Picture& picture, const std::string& id) { return element(picture, id, "", ""); }

std::string render_svg(const document::ShotFigure& figure) { return alone(picture_of(figure)); }
std::string render_svg(const document::IntervalFigure& figure) { return alone(picture_of(figure)); }
std::string render_svg(const document::PowerCurveFigure& figure) { return alone(picture_of(figure)); }
std::string render_svg(const document::BowFigure& figure) { return alone(picture_of(figure)); }
std::string render_svg(const document::BudgetFigure& figure) { return alone(picture_of(figure)); }

std::optional<std::string> render_main_figure(const document::Document& document) {
  for (const auto& block : document.blocks) {
    const auto picture = std::visit(
        [](const auto& content) -> std::optional<Picture> {
          if constexpr (requires { picture_of(content); })
            if (!is_empty(content)) return picture_of(content);
          return std::nullopt;
        },
        block);
    if (picture) return alone(*picture);
  }
  return std::nullopt;
}

}  // namespace shotassay::report
