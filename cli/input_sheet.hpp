#pragma once
#include <string>

#include <shotassay/records/sheet.hpp>

namespace shotassay::cli {

/// The sheet in a file, or on standard input for "-". Throws Stop with bad_input and every problem of the file.
Sheet input_sheet(const std::string& file, const SheetOptions& options);

}  // namespace shotassay::cli
