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
    Number read{.value = Decimal::parse(text, mark), .complaint = {}};
    if (!read.value) {
      const bool only_digits =
          std::all_of(text.begin(), text.end(), [mark](char c) { return (c >= '0' && c <= '9') || c == mark; });
      read.complaint = only_digits && text.size() > 18
                           ? "has more than 18 digits"
                           : "is not a number: write digits alone, such as 271 or 81.4, without unit, plus sign, "
                             "exponent or grouping";
    } else if (read.value->decimals() > 0) {
      check_mark(read, text, line, mark);
    }
    return read;
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

  void check_mark(Number& read, std::string_view text, std::size_t line, char mark) {
    if (mark == ',' && separator_ == ',') {
      read = {std::nullopt, "a decimal comma in a comma-separated sheet: write a point, or separate the cells with ;"};
    } else if (!first_) {
      first_ = First{std::string{text}, line, mark};
    } else if (first_->mark != mark) {
      read.complaint = std::string{mark == ',' ? "a decimal comma" : "a decimal point"} + ", while line " +
                       std::to_string(first_->line) + " has " + quoted(first_->text) +
                       ": write all numbers of a sheet one way";
    }
  }

  char separator_;
  std::optional<First> first_;
};

}  // namespace shotassay
