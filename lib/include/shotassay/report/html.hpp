#pragma once
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

struct HtmlOptions {
  std::string title;             ///< of the page, as a browser's tab or a bookmark shows it
  std::string language = "en";   ///< BCP 47 tag of the document's texts
  bool numbers_on_paper = true;  ///< false: figures are printed without their tables, for sheets handed out to a class
};

/// A document as one self-contained page in UTF-8: no script, nothing fetched, light or dark by the reader's setting,
/// readable from 360 px upwards, printable on A4 and Letter. Every figure is followed by its numbers as a table. Texts
/// are data: markup, control and direction marks in them are shown, never obeyed. Same document, same bytes.
std::string render_html(const document::Document& document, const HtmlOptions& options);

}  // namespace shotassay::report
