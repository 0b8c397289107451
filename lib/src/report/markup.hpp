#pragma once
#include <string>
#include <string_view>

namespace shotassay::report {

/// A text as content or attribute value of HTML and XML: harmless to read (see document::printable), never markup.
std::string escaped(std::string_view text);

/// Colours and figure classes, shared by pages and pictures: custom properties on :root, light and dark by the reader's
/// scheme, always light on paper.
std::string_view figure_style();

}  // namespace shotassay::report
