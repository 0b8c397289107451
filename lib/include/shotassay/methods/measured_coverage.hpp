#pragma once
#include <array>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string_view>

namespace shotassay {

/// What a method's 95 % interval for a gap was worth in a study of rounded readings.
struct MeasuredCoverage {
  std::int64_t shots;  ///< with each of the two set-ups
  double sd;           ///< of the shots, in display steps, the same in both
  double percent;      ///< tests whose interval held the true gap, average over the place of the means on the lattice
  double default_percent;  ///< the same for `rounding_aware`
};

namespace detail {

struct CoverageRow {
  std::int64_t shots;
  double sd;
  double rounding_aware, welch, pooled, percentile, bca, basic, studentised,
      permutation;  ///< percent; 0 = no interval exists
};

// Normal shots on a display of step 1, equal numbers and SDs, phase averages; standard error 0.7 or less. The same
// table, with worst phases and half-widths, stands in docs/methods/rounding_aware.md, the bootstrap's in bootstrap.md.
inline constexpr std::array coverage_rows{CoverageRow{3, 0.25, 99.9, 66.6, 66.5, 59.6, 59.8, 56.8, 66.7, 0},
                                          CoverageRow{3, 0.5, 99.5, 92.3, 90.7, 76.0, 77.1, 75.0, 91.8, 0},
                                          CoverageRow{3, 1, 97.2, 96.6, 94.8, 79.1, 80.2, 79.2, 96.9, 0},
                                          CoverageRow{3, 2, 96.5, 96.5, 95.0, 80.2, 80.8, 80.2, 97.8, 0},
                                          CoverageRow{5, 0.25, 100.0, 81.0, 79.5, 72.2, 74.6, 68.8, 80.4, 71.1},
                                          CoverageRow{5, 0.5, 98.3, 95.5, 94.6, 86.3, 86.5, 86.4, 94.8, 90.0},
                                          CoverageRow{5, 1, 95.8, 95.6, 95.0, 87.5, 87.4, 87.5, 95.9, 93.7},
                                          CoverageRow{5, 2, 95.6, 95.6, 95.0, 87.8, 87.9, 87.8, 95.8, 94.9},
                                          CoverageRow{10, 0.25, 100.0, 86.3, 85.3, 80.9, 84.4, 78.1, 90.5, 82.5},
                                          CoverageRow{10, 0.5, 97.4, 95.2, 95.0, 92.9, 92.7, 91.4, 94.9, 95.3},
                                          CoverageRow{10, 1, 95.2, 95.1, 95.0, 91.8, 91.6, 91.7, 94.9, 94.7},
                                          CoverageRow{10, 2, 95.2, 95.1, 95.0, 91.7, 91.6, 91.8, 95.0, 94.9}};

constexpr double CoverageRow::*coverage_column(std::string_view method) {
  if (method == "welch") return &CoverageRow::welch;
  if (method == "pooled") return &CoverageRow::pooled;
  if (method == "bootstrap_percentile") return &CoverageRow::percentile;
  if (method == "bootstrap_bca") return &CoverageRow::bca;
  if (method == "bootstrap_basic") return &CoverageRow::basic;
  if (method == "bootstrap_t") return &CoverageRow::studentised;
  if (method == "permutation") return &CoverageRow::permutation;
  return nullptr;
}

}  // namespace detail

/// The row of the study nearest to `shots` with each set-up and to an SD of `sd` display steps, for a method by name.
///
/// Nothing is interpolated: the result names the row it comes from. Absent for a method or a number of shots the study
/// does not reach (below 3, above 14), and where the method has no interval there.
inline std::optional<MeasuredCoverage> measured_coverage(std::string_view method, std::int64_t shots, double sd) {
  const auto column = detail::coverage_column(method);
  if (column == nullptr || shots < 3 || shots > 14 || !(sd >= 0.0)) return std::nullopt;
  const detail::CoverageRow* nearest = nullptr;
  double least = 0.0;
  for (const auto& row : detail::coverage_rows) {
    const double distance = 100.0 * std::abs(std::log(static_cast<double>(shots) / static_cast<double>(row.shots))) +
                            std::abs(std::log(std::fmax(sd, 0.05) / row.sd));
    if (nearest == nullptr || distance < least) {
      nearest = &row;
      least = distance;
    }
  }
  if (nearest->*column == 0.0) return std::nullopt;
  return MeasuredCoverage{nearest->shots, nearest->sd, nearest->*column, nearest->rounding_aware};
}

}  // namespace shotassay
