#pragma once
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace shotassay::cli {

/// What a manual page says that --help has no room for.
struct PageText {
  std::string_view command;            ///< the words that call it, as in "shotassay plan"
  std::vector<std::string_view> says;  ///< paragraphs
  struct Example {
    std::string_view does, typed;
  };
  std::vector<Example> examples;
};

/// Throws std::logic_error for a command without a text.
const PageText& page_text(const std::string& command);

/// What pages tell: number or name, and meaning. Of files, as --help calls them, those that their command reads.
using Meanings = std::vector<std::pair<std::string_view, std::string_view>>;
const Meanings& exit_statuses();
const Meanings& environment_variables();
const Meanings& files();

}  // namespace shotassay::cli
