#pragma once
#include <string>

#include <shotassay/records/sheet.hpp>

namespace shotassay::cli {

/// The sheet in a file, or on standard input for "-". Throws Stop with bad_input and every problem of the file.
/// `any_speed`: the option that lets any speed pass, where the command has one; problems that it would end name it.
Sheet input_sheet(const std::string& file, const SheetOptions& options, const std::string& any_speed = "");

}  // namespace shotassay::cli
