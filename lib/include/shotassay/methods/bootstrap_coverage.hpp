#pragma once
#include <array>
#include <cstdint>
#include <optional>

namespace shotassay {

/// The bootstrap intervals whose coverage was measured.
enum class MeasuredBootstrap { percentile, bca };

/// What a 95 % bootstrap interval of a gap really covers, by simulation: n shots each, both SDs equal.
struct BootstrapCoverage {
  int shots;                     ///< in each group
  double sd;                     ///< true SD of a shot, in display steps
  double percentile;             ///< share of tests that cover the true gap, average over phases
  double bca;                    ///< the same
  double percentile_half_width;  ///< median, in display steps
  double bca_half_width;         ///< median, in display steps

  double of(MeasuredBootstrap which) const { return which == MeasuredBootstrap::bca ? bca : percentile; }
};

/// Normal shots on a whole-step display; standard error of a share 0.007 or less. docs/methods/bootstrap.md.
inline constexpr std::array<BootstrapCoverage, 12> bootstrap_coverage_table{{
    {3, 0.25, 0.596, 0.598, 0.50, 0.50},
    {3, 0.5, 0.760, 0.771, 0.67, 0.67},
    {3, 1, 0.791, 0.802, 1.17, 1.33},
    {3, 2, 0.802, 0.808, 2.33, 2.50},
    {5, 0.25, 0.722, 0.746, 0.40, 0.40},
    {5, 0.5, 0.863, 0.865, 0.60, 0.60},
    {5, 1, 0.875, 0.874, 1.10, 1.10},
    {5, 2, 0.878, 0.879, 2.10, 2.20},
    {10, 0.25, 0.809, 0.844, 0.30, 0.30},
    {10, 0.5, 0.929, 0.927, 0.50, 0.50},
    {10, 1, 0.918, 0.916, 0.85, 0.85},
    {10, 2, 0.917, 0.916, 1.65, 1.65},
}};

/// How often did such a 95 % interval cover the true gap? The table's row for these shots with the SD nearest by ratio.
///
/// Absent where the table says nothing: other numbers of shots, or an SD outside 0.25 … 2 display steps.
inline std::optional<BootstrapCoverage> measured_coverage(std::int64_t shots_each, double sd_in_steps) {
  if (!(sd_in_steps >= 0.25 && sd_in_steps <= 2)) return std::nullopt;
  std::optional<BootstrapCoverage> nearest;
  for (const BootstrapCoverage& row : bootstrap_coverage_table) {
    if (row.shots != shots_each) continue;
    // The SDs double from row to row, so halfway by ratio is √2 times the lower one.
    if (!nearest || sd_in_steps * sd_in_steps >= 0.5 * row.sd * row.sd) nearest = row;
  }
  return nearest;
}

}  // namespace shotassay
