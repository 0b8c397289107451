#pragma once
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/methods/session_power.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/f_distribution.hpp>
#include <shotassay/numerics/gamma.hpp>
#include <shotassay/numerics/noncentral_t.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/student_t.hpp>
#include <shotassay/numerics/studentized_range.hpp>

#include "support/table.hpp"

/// A row of data/reference/distributions.csv or gamma.csv: a function, where it is asked, and its value from elsewhere.
struct DistributionRow {
  std::string function;
  double x, first, second;  ///< NaN where the function has no such argument
  double value;
};

inline DistributionRow distribution_row(const std::vector<std::string>& fields) {
  const auto argument = [&](std::size_t i) {
    if (i + 1 >= fields.size() || fields[i].empty()) return std::numeric_limits<double>::quiet_NaN();
    return fields[i] == "inf" ? std::numeric_limits<double>::infinity() : number_in(fields[i]);
  };
  return {fields.at(0), argument(1), argument(2), argument(3), number_in(fields.back())};
}

/// Our value of a row's function. Throws when there is no function of that name, so that none is passed over.
inline double value_of(const DistributionRow& row) {
  using namespace shotassay;
  using namespace shotassay::numerics;
  using Function = double (*)(const DistributionRow&);
  static const std::map<std::string, Function> functions = {
      {"normal_upper_tail", [](const DistributionRow& r) { return normal_upper_tail(r.x); }},
      {"normal_upper_quantile", [](const DistributionRow& r) { return normal_upper_quantile(r.x); }},
      {"t_upper_tail", [](const DistributionRow& r) { return t_upper_tail(r.x, r.first); }},
      {"t_upper_quantile", [](const DistributionRow& r) { return t_upper_quantile(r.x, r.first); }},
      {"chi_square_lower_tail", [](const DistributionRow& r) { return chi_square_lower_tail(r.x, r.first); }},
      {"chi_square_upper_tail", [](const DistributionRow& r) { return chi_square_upper_tail(r.x, r.first); }},
      {"chi_square_quantile", [](const DistributionRow& r) { return chi_square_quantile(r.x, r.first); }},
      {"chi_square_upper_quantile", [](const DistributionRow& r) { return chi_square_upper_quantile(r.x, r.first); }},
      {"f_upper_tail", [](const DistributionRow& r) { return f_upper_tail(r.x, r.first, r.second); }},
      {"f_upper_quantile", [](const DistributionRow& r) { return f_upper_quantile(r.x, r.first, r.second); }},
      {"f_lower_quantile", [](const DistributionRow& r) { return f_lower_quantile(r.x, r.first, r.second); }},
      {"range_upper_tail",
       [](const DistributionRow& r) { return range_upper_tail(r.x, static_cast<int>(r.first), r.second); }},
      {"range_upper_quantile",
       [](const DistributionRow& r) { return range_upper_quantile(r.x, static_cast<int>(r.first), r.second); }},
      {"digamma", [](const DistributionRow& r) { return digamma(r.x); }},
      {"trigamma", [](const DistributionRow& r) { return trigamma(r.x); }},
      {"inverse_trigamma", [](const DistributionRow& r) { return inverse_trigamma(r.x); }},
      // ν + 1 sessions whose gaps have SD √(ν + 1): the noncentrality is the gap itself.
      {"two_sided_t_power",
       [](const DistributionRow& r) {
         return session_power(r.x, std::sqrt(r.first + 1), static_cast<std::int64_t>(r.first) + 1,
                              ConfidenceLevel::from_alpha(r.second));
       }},
      {"noncentral_t_outside", [](const DistributionRow& r) {
         return noncentral_t_outside(t_two_sided_factor(r.second, r.first), static_cast<int>(r.first), r.x);
       }}};
  const auto found = functions.find(row.function);
  if (found == functions.end()) throw std::runtime_error{"no such function: " + row.function};
  return found->second(row);
}
