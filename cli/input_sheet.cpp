#include "input_sheet.hpp"

#include "common.hpp"

namespace shotassay::cli {

Sheet input_sheet(const std::string& file, const SheetOptions& options) {
  ReadResult result = read_sheet(read_input(file), options);
  if (result.sheet) return std::move(*result.sheet);
  Stop stopped{bad_input, {}};
  for (auto& problem : result.problems)
    stopped.problems.push_back({file == "-" ? "standard input" : file, std::move(problem)});
  throw stopped;
}

}  // namespace shotassay::cli
