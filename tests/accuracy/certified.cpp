// shotassay_certified FILE...: our statistics of the sets that sets.py has written, one line each:
// Shotassay, set, statistic, value; separated by tabs, values so that they read back as the same double.

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/describe.hpp>
#include <shotassay/methods/one_way_anova.hpp>
#include <shotassay/methods/straight_line.hpp>
#include <stdexcept>
#include <string>
#include <vector>

namespace {

using namespace shotassay;

struct Printer {
  std::string set;

  void operator()(const char* statistic, double value) const {
    char digits[64];
    const auto end = std::to_chars(digits, digits + sizeof digits, value).ptr;
    std::cout << "Shotassay\t" << set << '\t' << statistic << '\t' << std::string{digits, end} << '\n';
  }
};

/// The columns of a CSV file without quotes.
std::vector<std::vector<std::string>> columns_of(const std::filesystem::path& file) {
  std::ifstream in{file};
  std::string line;
  if (!std::getline(in, line)) throw std::runtime_error{"cannot read " + file.string()};
  std::vector<std::vector<std::string>> columns(line.find(',') == std::string::npos ? 1 : 2);
  while (std::getline(in, line)) {
    const auto comma = line.find(',');
    columns.front().push_back(line.substr(0, comma));
    if (columns.size() == 2) columns.back().push_back(line.substr(comma + 1));
  }
  return columns;
}

/// Decimal texts as a sample whose step is one unit of the last decimal written.
Sample sample_of(const std::vector<std::string>& texts) {
  std::vector<Decimal> numbers;
  int decimals = 0;
  for (const std::string& text : texts) {
    const auto number = Decimal::parse(text);
    if (!number) throw std::runtime_error{"not a decimal number: " + text};
    numbers.push_back(*number);
    decimals = std::max(decimals, number->decimals());
  }
  std::vector<std::int64_t> steps;
  for (const Decimal& number : numbers) steps.push_back(number.with_decimals(decimals).value().coefficient());
  return {steps, DisplayStep{Decimal{1, decimals}}};
}

void univariate(const std::vector<std::vector<std::string>>& columns, const Printer& print) {
  const Description d = describe(sample_of(columns[0]));
  print("mean", d.mean);
  print("sd", d.sd.value());
}

void anova(const std::vector<std::vector<std::string>>& columns, const Printer& print) {
  const Sample all = sample_of(columns[1]);  // one step for all groups
  std::map<int, std::vector<std::int64_t>> groups;
  for (std::size_t i = 0; i < all.size(); ++i) groups[std::stoi(columns[0][i])].push_back(all.steps()[i]);
  std::vector<Sample> samples;
  for (const auto& [number, steps] : groups) samples.emplace_back(steps, all.step());
  const OneWayAnova r = one_way_anova(samples);
  print("ss_between", r.between_squares);
  print("ss_within", r.within_squares);
  print("ms_between", r.between_mean_square);
  print("ms_within", r.within_mean_square);
  print("F", r.f);
  print("r2", r.r_squared);
  print("residual_sd", std::sqrt(r.within_mean_square));
}

void line(const std::vector<std::vector<std::string>>& columns, Intercept intercept, const Printer& print) {
  const auto r = straight_line({.x = sample_of(columns[0]), .y = sample_of(columns[1])}, intercept);
  if (r.intercept) {
    print("b0", r.intercept->value);
    print("se0", r.intercept->standard_error);
  }
  print("b1", r.slope.value);
  print("se1", r.slope.standard_error);
  print("sigma", r.residual_sd);
  print("r2", r.r_squared.value());
  print("F", r.f.value());
}

}  // namespace

int main(int count, char** arguments) {
  try {
    for (int i = 1; i < count; ++i) {
      const std::filesystem::path file{arguments[i]};
      const std::string name = file.stem().string(), kind = name.substr(0, name.find('-'));
      const auto columns = columns_of(file);
      const Printer print{name};
      if (kind == "univariate")
        univariate(columns, print);
      else if (kind == "anova")
        anova(columns, print);
      else if (kind == "line" || kind == "origin")
        line(columns, kind == "line" ? Intercept::fitted : Intercept::zero, print);
      else
        throw std::runtime_error{"no such kind of set: " + kind};
    }
  } catch (const std::exception& problem) {
    std::cerr << problem.what() << '\n';
    return 1;
  }
}
