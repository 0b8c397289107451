#pragma once
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

struct TextOptions {
  int width = 80;      ///< columns; 24 or more are used
  bool color = false;  ///< terminal colours as support; nothing is said by them alone
};

/// A document as plain UTF-8 text for a terminal: nothing wider than `width`, no blanks at line ends, every line ended.
std::string render_text(const document::Document& document, const TextOptions& options);

/// A paragraph broken at blanks so that no line is wider than `width`; a longer word is broken. Each further line is
/// indented by `hanging`.
std::string wrap(const std::string& text, int width, int hanging = 0);

}  // namespace shotassay::report
