#pragma once
#include <algorithm>
#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <shotassay/records/sheet.hpp>

#include "spelling.hpp"

/// The problems met so far, in whatever order they were found.
namespace shotassay {

inline constexpr std::size_t nowhere = static_cast<std::size_t>(-1);

class Findings {
 public:
  /// `cell` is the place in the row, for the order of the list; nowhere = after all cells of the line.
  void report(std::size_t line, std::size_t cell, std::string column, std::string_view found, std::string message,
              ProblemKind kind = ProblemKind::content) {
    found_.push_back({{line, std::move(column), shown(found), std::move(message), kind}, cell});
  }

  bool empty() const { return found_.empty(); }

  std::vector<Problem> in_file_order() && {
    std::stable_sort(found_.begin(), found_.end(), [](const Finding& a, const Finding& b) {
      return std::pair{a.problem.line, a.cell} < std::pair{b.problem.line, b.cell};
    });
    std::vector<Problem> problems;
    problems.reserve(found_.size());
    for (auto& finding : found_) problems.push_back(std::move(finding.problem));
    return problems;
  }

 private:
  struct Finding {
    Problem problem;
    std::size_t cell;
  };
  std::vector<Finding> found_;
};

inline std::string quoted(std::string_view text) { return "\"" + shown(text) + "\""; }

inline std::string count_of(std::size_t n, std::string_view noun) {
  return std::to_string(n) + " " + std::string{noun} + (n == 1 ? "" : "s");
}

}  // namespace shotassay
