#pragma once
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/sample.hpp>

#include "support/close.hpp"

/// One check of data/reference/published.json: data and expected values that come from outside the project.
/// Throws std::runtime_error when the id or a name is not there, so a misspelt check cannot pass.
class Published {
 public:
  explicit Published(std::string_view id);

  within expected(std::string_view name) const;  ///< value ± the tolerance stated there
  double value(std::string_view name) const;

  std::vector<double> numbers(std::string_view key) const;                      ///< data[key], a list of numbers
  std::vector<std::vector<double>> number_rows(std::string_view key) const;     ///< data[key], a list of lists
  std::vector<std::vector<std::string>> text_rows(std::string_view key) const;  ///< data[key], lists of texts
  double number(std::string_view key) const;                                    ///< data[key], one number
  std::string text(std::string_view key) const;                                 ///< data[key], a text

  shotassay::Sample readings(std::string_view key) const;             ///< data[key] as decimal readings
  std::vector<shotassay::Sample> groups(std::string_view key) const;  ///< data[key], one sample a list; one common step

 private:
  std::string json_;
};

/// The readings of a column of a CSV file under data/reference; with `group`, of the rows whose first column says so.
std::vector<std::string> reference_column(const std::string& file, std::string_view group = {});

/// Decimal texts as a sample whose step is one unit of the last decimal written (or of `decimals` if that is more).
shotassay::Sample sample_of(const std::vector<std::string>& texts, int decimals = 0);
