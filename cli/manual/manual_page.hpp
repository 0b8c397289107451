#pragma once
#include "command_line.hpp"

namespace shotassay::cli {

/// The name of a command's page, without its section: "shotassay-clinic-make".
std::string page_name(const CommandLine& command);

/// A page of section 1 in the man macros, from what --help says and what page_text adds. The date is that of the
/// version, as 2026-11-25: a page built later has the same bytes.
std::string manual_page(const CommandLine& command, const CommandLine& program, const std::string& date);

}  // namespace shotassay::cli
