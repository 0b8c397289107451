#pragma once
#include <string>

#include <shotassay/document/data.hpp>

namespace shotassay::report {

/// Data as one JSON object in UTF-8, two blanks of indentation, one trailing newline. Numbers are the shortest text
/// that reads back to the same double.
std::string render_json(const document::Data& data);

}  // namespace shotassay::report
