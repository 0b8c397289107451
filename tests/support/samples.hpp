#pragma once
#include <cstdint>
#include <initializer_list>
#include <string_view>
#include <vector>

#include <shotassay/core/sample.hpp>

/// Whole readings on a display that shows whole units.
inline shotassay::Sample sample(std::initializer_list<std::int64_t> readings) {
  return {std::vector<std::int64_t>(readings), shotassay::DisplayStep{shotassay::Decimal{1, 0}}};
}
inline shotassay::Sample sample(const std::vector<std::int64_t>& readings) {
  return {readings, shotassay::DisplayStep{shotassay::Decimal{1, 0}}};
}

/// Readings given as whole multiples of 10^−decimals: decimal_sample({812, 814}, 1) is 81.2 and 81.4.
inline shotassay::Sample decimal_sample(const std::vector<std::int64_t>& steps, int decimals) {
  return {steps, shotassay::DisplayStep{shotassay::Decimal{1, decimals}}};
}
