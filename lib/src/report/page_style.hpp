#pragma once
#include <string>

namespace shotassay::report {

/// How a page is laid out, on screens and on paper; its colours stand in figure_style().
///
/// On a screen the rows of a table of class "broad" become lists where it would not fit, those of a "vast" one always;
/// paper is wide enough for both.
std::string page_style();

}  // namespace shotassay::report
