#pragma once
#include <cstdint>
#include <optional>
#include <string>

namespace shotassay::report {

/// 1, 2, 5, 10, 20, 50, … : the one after `n`.
std::int64_t next_round(std::int64_t n);

/// A number with so many decimals, its minus sign a minus, no minus before a zero.
std::string number(double x, int decimals);

/// A share of tests in percent: whole, with a decimal near 0 and 100. A share below `wanted` is never written as it.
std::string percent(double share, std::optional<double> wanted = std::nullopt);

/// A share somebody asked for, as exactly as they did.
std::string percent_asked(double share);

}  // namespace shotassay::report
