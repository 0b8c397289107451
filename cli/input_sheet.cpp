#include "input_sheet.hpp"

#include <algorithm>
#include <vector>

#include "common.hpp"

namespace shotassay::cli {

namespace {

/// Names the option at the problems that are none with any speed allowed.
void name_the_way_out(std::vector<Problem>& problems, const std::string& text, SheetOptions options,
                      const std::string& any_speed) {
  options.any_speed = true;
  const std::vector<Problem> left = read_sheet(text, options).problems;
  for (Problem& problem : problems) {
    const bool stays = std::any_of(left.begin(), left.end(), [&](const Problem& other) {
      return other.line == problem.line && other.column == problem.column && other.message == problem.message;
    });
    if (!stays) problem.message += "; " + any_speed + " accepts it";
  }
}

}  // namespace

Sheet sheet_in(const std::string& text, const std::string& file, const SheetOptions& options,
               const std::string& any_speed) {
  ReadResult result = read_sheet(text, options);
  if (result.sheet) return std::move(*result.sheet);
  if (!any_speed.empty() && !options.any_speed) name_the_way_out(result.problems, text, options, any_speed);
  Stop stopped{bad_input, {}};
  for (auto& problem : result.problems)
    stopped.problems.push_back({file == "-" ? "standard input" : file, std::move(problem)});
  throw stopped;
}

Sheet input_sheet(const std::string& file, const SheetOptions& options, const std::string& any_speed) {
  return sheet_in(read_input(file), file, options, any_speed);
}

}  // namespace shotassay::cli
