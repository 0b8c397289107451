// shotassay_distributions FILE...: our value for each row of data/reference/distributions.csv and gamma.csv:
// Shotassay, function, x, first and second parameter, value; separated by tabs, values that read back as the same
// double.

#include <charconv>
#include <cstddef>
#include <exception>
#include <fstream>
#include <iostream>
#include <string>
#include <vector>

#include "support/distribution_functions.hpp"
#include "support/table.hpp"

int main(int count, char** arguments) {
  try {
    for (int i = 1; i < count; ++i) {
      for (const auto& row : reference_table(arguments[i])) {
        char digits[64];
        const double value = value_of(distribution_row(row));
        const auto end = std::to_chars(digits, digits + sizeof digits, value).ptr;
        std::cout << "Shotassay";
        for (std::size_t field = 0; field + 1 < row.size(); ++field) std::cout << '\t' << row[field];
        std::cout << '\t' << std::string{digits, end} << '\n';
      }
    }
  } catch (const std::exception& problem) {
    std::cerr << problem.what() << '\n';
    return 1;
  }
}
