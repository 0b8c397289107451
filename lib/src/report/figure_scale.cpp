#include "scale.hpp"

#include <fmt/format.h>

#include <cmath>

namespace shotassay::report {

std::int64_t next_round(std::int64_t n) {
  std::int64_t power = 1;
  while (n >= 10 * power) power *= 10;
  const std::int64_t digit = n / power;
  return power * (digit < 2 ? 2 : digit < 5 ? 5 : 10);
}

std::string number(double x, int decimals) {
  std::string text = fmt::format("{:.{}f}", x, decimals);
  if (text.front() != '-') return text;
  text.erase(0, 1);
  return text.find_first_not_of("0.") == std::string::npos ? text : "−" + text;
}

std::string percent(double share, std::optional<double> wanted) {
  if (share > 0.999 && share < 1) return "more than 99.9 %";
  if (share < 0.001 && share > 0) return "less than 0.1 %";
  const bool near_an_end = share > 0.985 || share < 0.015;
  int decimals = near_an_end && share != 0 && share != 1 ? 1 : 0;
  const auto as_read = [&] {
    const double unit = std::pow(10.0, decimals);
    return std::round(share * 100.0 * unit) / unit;
  };
  if (wanted && share < *wanted)
    while (as_read() >= *wanted * 100.0 && decimals < 12) ++decimals;
  return fmt::format("{:.{}f} %", share * 100.0, decimals);
}

std::string percent_asked(double share) { return fmt::format("{:.6g} %", share * 100.0); }

}  // namespace shotassay::report
