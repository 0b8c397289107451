#include "drawing.hpp"

#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/report/text.hpp>

namespace shotassay::report {

using document::display_width;
using document::first_character;

double text_width(std::string_view text) {
  double width = 0;
  while (!text.empty()) {
    const auto bytes = first_character(text).bytes;
    const std::string_view character = text.substr(0, bytes);
    if (bytes > 1)
      width += 18 * static_cast<double>(display_width(character));
    else if (std::string_view{"mwMW@%"}.find(character) != std::string_view::npos)
      width += 22;
    else if (std::string_view{"fijlrt.,:;'|()[]/! "}.find(character) != std::string_view::npos)
      width += 10;
    else
      width += text[0] >= 'A' && text[0] <= 'Z' ? 17 : 14;
    text.remove_prefix(bytes);
  }
  return width;
}

std::string lines_of(const std::string& text, double room) {
  const auto fits = [&](std::string_view lines) {
    while (!lines.empty()) {
      const auto end = lines.find('\n');
      if (text_width(lines.substr(0, end)) > room) return false;
      lines.remove_prefix(end + 1);
    }
    return true;
  };
  int columns = static_cast<int>(room / 10);
  std::string lines = wrap(text, columns);
  while (!fits(lines) && columns > 12) lines = wrap(text, --columns);
  return lines;
}

std::string joined(const std::vector<std::string>& sentences) {
  std::string out;
  for (const auto& sentence : sentences) out += (out.empty() ? "" : " ") + sentence;
  return out;
}

std::string limit_text(double x, const std::string& finite) { return std::isfinite(x) ? finite : "no finite limit"; }

Picture finished(Picture picture, Drawing drawing) {
  picture.width = page_width;
  picture.height = std::ceil(drawing.y + border);
  picture.shapes = std::move(drawing).shapes();
  return picture;
}

Picture nothing(Picture picture, const std::string& text) {
  Drawing drawing;
  drawing.paragraph(border, "", text);
  picture.description = text;
  return finished(std::move(picture), std::move(drawing));
}

}  // namespace shotassay::report
