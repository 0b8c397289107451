#pragma once
#include "command_line.hpp"

namespace shotassay::cli {

/// Scripts by which a shell completes commands, options, choices and file names; each one file.
std::string bash_completion(const CommandLine& program);
std::string zsh_completion(const CommandLine& program);
std::string fish_completion(const CommandLine& program);

}  // namespace shotassay::cli
