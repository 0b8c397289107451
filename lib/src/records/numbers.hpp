#pragma once
#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include <shotassay/core/decimal.hpp>

#include "findings.hpp"

namespace shotassay {

/// Reads the numbers of one sheet, and sees to it that they have one decimal mark.
class Numbers {
 public:
  explicit Numbers(char separator) : separator_{separator} {}

  struct Number {
    std::optional<Decimal> value;
    std::string complaint;  ///< empty: nothing is wrong with it
  };

  Number read(std::string_view text, std::size_t line) {
    const char mark = text.find(',') == std::string_view::npos ? '.' : ',';
    const auto value = Decimal::parse(text, mark);
    if (!value) {
      const bool only_digits =
          std::all_of(text.begin(), text.end(), [mark](char c) { return (c >= '0' && c <= '9') || c == mark; });
      if (only_digits && text.size() > 18) return {std::nullopt, "has more than 18 digits"};
      return {std::nullopt,
              "is not a number: write digits alone, such as 271 or 81.4, without unit, plus sign, exponent or "
              "grouping"};
    }
    if (value->decimals() == 0) return {value, {}};
    if (mark == ',' && separator_ == ',')
      return {std::nullopt, "a decimal comma in a comma-separated sheet: write a point, or separate the cells with ;"};
    if (!first_) {
      first_ = First{std::string{text}, line, mark};
    } else if (first_->mark != mark) {
      return {value, std::string{mark == ',' ? "a decimal comma" : "a decimal point"} + ", while line " +
                         std::to_string(first_->line) + " has " + quoted(first_->text) +
                         ": write all numbers of a sheet one way"};
    }
    return {value, {}};
  }

  bool any_fraction() const { return first_.has_value(); }

  /// '.' where no number had a fraction.
  char decimal_mark() const { return first_ ? first_->mark : '.'; }

 private:
  struct First {
    std::string text;
    std::size_t line;
    char mark;
  };
  char separator_;
  std::optional<First> first_;
};

}  // namespace shotassay
