#pragma once
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
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

// Normal shots on a display of step 1, equal numbers and SDs, phase averages: the table "Gap" of docs/coverage.md,
// which also has the worst phases and the standard errors.
inline constexpr std::array coverage_rows{CoverageRow{3, 0.25, 99.9, 66.6, 66.5, 59.6, 59.8, 57.2, 66.3, 0},
                                          CoverageRow{3, 0.5, 99.5, 92.3, 90.7, 75.4, 76.5, 75.4, 91.8, 0},
                                          CoverageRow{3, 1, 97.2, 96.6, 94.8, 79.2, 80.0, 79.2, 96.6, 0},
                                          CoverageRow{3, 2, 96.6, 96.6, 95.1, 80.2, 80.4, 80.2, 97.9, 0},
                                          CoverageRow{5, 0.25, 100.0, 81.0, 79.3, 72.0, 74.3, 68.5, 79.1, 71.2},
                                          CoverageRow{5, 0.5, 98.3, 95.5, 94.5, 86.3, 86.3, 86.1, 93.9, 90.2},
                                          CoverageRow{5, 1, 95.9, 95.7, 95.1, 87.7, 87.7, 87.8, 96.2, 93.9},
                                          CoverageRow{5, 2, 95.5, 95.5, 94.9, 88.0, 87.9, 87.9, 95.6, 95.0},
                                          CoverageRow{10, 0.25, 100.0, 86.1, 84.8, 82.0, 84.9, 78.2, 89.6, 83.6},
                                          CoverageRow{10, 0.5, 97.6, 95.3, 95.1, 91.5, 91.5, 91.5, 95.4, 94.6},
                                          CoverageRow{10, 1, 95.4, 95.4, 95.2, 92.1, 92.0, 92.0, 94.9, 95.0},
                                          CoverageRow{10, 2, 95.2, 95.2, 95.1, 92.0, 92.0, 92.0, 97.0, 95.0}};

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
  const detail::CoverageRow* nearest = detail::coverage_rows.data();
  double least = std::numeric_limits<double>::infinity();
  for (const auto& row : detail::coverage_rows) {
    const double distance = 100.0 * std::abs(std::log(static_cast<double>(shots) / static_cast<double>(row.shots))) +
                            std::abs(std::log(std::fmax(sd, 0.05) / row.sd));
    if (distance < least) {
      nearest = &row;
      least = distance;
    }
  }
  if (nearest->*column == 0.0) return std::nullopt;
  return MeasuredCoverage{nearest->shots, nearest->sd, nearest->*column, nearest->rounding_aware};
}

}  // namespace shotassay
