#pragma once
#include <string>

#include <shotassay/document/document.hpp>

namespace shotassay::report {

/// How a page is laid out, on screens and on paper; its colours stand in figure_style().
///
/// On a screen the rows of a table of class "broad" become lists where it would not fit, those of a "vast" one always;
/// paper is wide enough for both.
std::string page_style();

/// Millimetres that the rows of a firing sheet share on the shorter of A4 and Letter, when all that stands around them
/// stands on the same page.
int room_for_rows(const document::FiringSheet& sheet);

}  // namespace shotassay::report
