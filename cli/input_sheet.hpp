#pragma once
#include <string>

#include <shotassay/records/sheet.hpp>

namespace shotassay::cli {

/// The sheet in the text of a file. Throws Stop with bad_input and every problem.
/// `any_speed`: the option that lets any speed pass, where the command has one; problems that it would end name it.
Sheet sheet_in(const std::string& text, const std::string& file, const SheetOptions& options,
               const std::string& any_speed = "");

/// The sheet in a file, or on standard input for "-". Throws Stop with bad_input and every problem of the file.
Sheet input_sheet(const std::string& file, const SheetOptions& options, const std::string& any_speed = "");

}  // namespace shotassay::cli
