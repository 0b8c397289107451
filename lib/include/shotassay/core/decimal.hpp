#pragma once
#include <charconv>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/wide_integer.hpp>

namespace shotassay {

/// A decimal number as it was written: 81.40 is 8140 with two decimals, and stays so.
///
/// The digits of a reading are part of the datum: they tell the display's step, and they die when the
/// number becomes a double. Up to 18 digits, leading zeros not counted.
class Decimal {
 public:
  Decimal() = default;

  /// coefficient × 10^−decimals.   Requires  0 ≤ decimals ≤ 18.
  Decimal(std::int64_t coefficient, int decimals) : coefficient_{coefficient}, decimals_{decimals} {
    if (decimals < 0 || decimals > 18)
      throw DomainError{"Decimal: decimals must be 0 to 18, got " + std::to_string(decimals)};
  }

  std::int64_t coefficient() const { return coefficient_; }
  int decimals() const { return decimals_; }

  /// 10^k as a whole number, 0 ≤ k ≤ 18.
  static constexpr std::int64_t power_of_ten(int k) {
    std::int64_t p = 1;
    for (; k > 0; --k) p *= 10;
    return p;
  }

  /// Nearest double.
  double value() const { return ratio(coefficient_, power_of_ten(decimals_)); }

  /// The same number with more decimals; absent when 64 bits do not hold it, or when digits would have to go.
  std::optional<Decimal> with_decimals(int decimals) const {
    if (decimals < decimals_ || decimals > 18) return std::nullopt;
    const WideInteger wide = WideInteger{coefficient_} * power_of_ten(decimals - decimals_);
    if (wide > INT64_MAX || wide < -WideInteger{INT64_MAX}) return std::nullopt;
    return Decimal{static_cast<std::int64_t>(wide), decimals};
  }

  /// As written: "81.40".
  std::string text() const {
    const auto magnitude = static_cast<std::uint64_t>(coefficient_);
    std::string digits = std::to_string(coefficient_ < 0 ? 0 - magnitude : magnitude);
    const auto places = static_cast<std::size_t>(decimals_);
    if (places > 0) {
      if (digits.size() <= places) digits.insert(0, places + 1 - digits.size(), '0');
      digits.insert(digits.size() - places, 1, '.');
    }
    return coefficient_ < 0 ? "-" + digits : digits;
  }

  /// Reads digits with an optional sign '-' and an optional fraction; absent for anything else.
  /// No exponent, no grouping, no '+', no blanks: a display shows none of them.
  static std::optional<Decimal> parse(std::string_view text, char point = '.') {
    const bool negative = text.starts_with('-');
    if (negative) text.remove_prefix(1);
    std::int64_t coefficient = 0;
    int decimals = 0;
    bool whole = false, fraction = false;
    for (const char c : text) {
      if (c == point && !fraction && whole) {
        fraction = true;
      } else if (c >= '0' && c <= '9') {
        if (coefficient >= power_of_ten(17)) return std::nullopt;  // it has 18 digits already
        coefficient = coefficient * 10 + (c - '0');
        if (fraction && ++decimals > 18) return std::nullopt;
        whole = true;
      } else {
        return std::nullopt;
      }
    }
    if (!whole || (fraction && decimals == 0)) return std::nullopt;
    return std::optional<Decimal>{std::in_place, negative ? -coefficient : coefficient, decimals};
  }

 private:
  std::int64_t coefficient_ = 0;
  int decimals_ = 0;
};

}  // namespace shotassay
