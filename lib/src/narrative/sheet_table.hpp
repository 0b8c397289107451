#pragma once
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/comparison.hpp>

namespace shotassay::narrative {

/// The sheet as it was read: what its head says, and every row in firing order with its reading as written, those that
/// do not count with the reason.
void show_sheet(const ComparisonStory& story, document::Document& out);

}  // namespace shotassay::narrative
