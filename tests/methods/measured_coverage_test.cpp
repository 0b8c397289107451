#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <fstream>
#include <limits>
#include <map>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include <shotassay/methods/measured_coverage.hpp>

using shotassay::measured_coverage;

namespace {

std::vector<std::string> cells(const std::string& line) {
  std::vector<std::string> list;
  std::istringstream row{line};
  std::string text;
  std::getline(row, text, '|');
  while (std::getline(row, text, '|')) {
    const auto from = text.find_first_not_of(" *_"), to = text.find_last_not_of(" *_");
    list.push_back(from == std::string::npos ? "" : text.substr(from, to - from + 1));
  }
  return list;
}

/// A line of the table of equal set-ups in docs/coverage.md: the averages, absent where a method has no interval.
struct Line {
  std::int64_t shots;
  double sd;
  std::map<std::string, std::optional<double>> percent;
};

std::vector<Line> page_lines() {
  std::ifstream page{std::string{SHOTASSAY_SOURCE_DIR} + "/docs/coverage.md"};
  std::string text;
  while (std::getline(page, text) && text != "<!-- made by tables.sh gap -->") {
  }
  std::vector<std::string> heads;
  std::vector<Line> lines;
  while (std::getline(page, text) && text != "<!-- end of gap -->") {
    if (text.empty() || text[0] != '|' || text[1] == '-') continue;
    const auto row = cells(text);
    if (heads.empty()) {
      heads = row;
      continue;
    }
    Line line{std::stoll(row[0]), std::stod(row[1]), {}};
    for (std::size_t i = 2; i < row.size(); ++i)
      line.percent[heads[i]] = row[i][0] >= '0' && row[i][0] <= '9' ? std::optional{std::stod(row[i])} : std::nullopt;
    lines.push_back(line);
  }
  return lines;
}

}  // namespace

TEST_CASE("measured_coverage: what is said is what stands in docs/coverage.md, of every row it can name") {
  int found_rows = 0;
  for (const Line& line : page_lines()) {
    CAPTURE(line.shots);
    CAPTURE(line.sd);
    const bool named = (line.shots == 3 || line.shots == 5 || line.shots == 10) && line.sd >= 0.25 && line.sd <= 2;
    if (!named) continue;
    ++found_rows;
    for (const auto& names : std::map<std::string, std::string>{{"welch", "welch"},
                                                                {"pooled", "pooled"},
                                                                {"bootstrap_percentile", "percentile"},
                                                                {"bootstrap_bca", "BCa"},
                                                                {"bootstrap_basic", "basic"},
                                                                {"bootstrap_t", "studentised"},
                                                                {"permutation", "permutation"}}) {
      const std::string &method = names.first, &head = names.second;
      CAPTURE(method);
      const auto percent = line.percent.at(head);
      const auto found = measured_coverage(method, line.shots, line.sd);
      REQUIRE(found.has_value() == percent.has_value());
      if (!found) continue;
      CHECK(found->shots == line.shots);
      CHECK(found->sd == line.sd);
      CHECK(found->percent == *percent);
      CHECK(found->default_percent == line.percent.at("rounding_aware"));
    }
  }
  CHECK(found_rows == 12);
}

TEST_CASE("measured_coverage: what the study did not measure has no figure") {
  for (const auto* method : {"rounding_aware", "mean_interval", "", "Welch"}) CHECK(!measured_coverage(method, 5, 1));
  CHECK(!measured_coverage("welch", 2, 1));
  CHECK(measured_coverage("welch", 3, 1).has_value());
  CHECK(measured_coverage("welch", 14, 1).has_value());
  CHECK(!measured_coverage("welch", 15, 1));
  CHECK(!measured_coverage("welch", 5, -0.1));
  CHECK(!measured_coverage("welch", 5, std::nan("")));
}

TEST_CASE("measured_coverage: the nearest row by ratio, shots before SD, and the result says which") {
  // 4 lies between 3 and 5: 4/3 = 1.33 against 5/4 = 1.25, so 5 is nearer; 7 against 5 and 10: 1.40 against 1.43.
  CHECK(measured_coverage("welch", 4, 1)->shots == 5);
  CHECK(measured_coverage("welch", 7, 1)->shots == 5);
  CHECK(measured_coverage("welch", 8, 1)->shots == 10);
  // However far the SD: the shots decide first.
  CHECK(measured_coverage("welch", 3, 500)->shots == 3);
  CHECK(measured_coverage("welch", 3, 500)->sd == 2);
  // SD between 0.5 and 1: the geometric middle is 0.7071.
  CHECK(measured_coverage("welch", 5, 0.70)->sd == 0.5);
  CHECK(measured_coverage("welch", 5, 0.72)->sd == 1);
  CHECK(measured_coverage("welch", 5, 1.41)->sd == 1);
  CHECK(measured_coverage("welch", 5, 1.42)->sd == 2);
  // All readings equal: no logarithm of 0.
  CHECK(measured_coverage("welch", 5, 0)->sd == 0.25);
}
