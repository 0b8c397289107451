#pragma once
#include <cstdint>
#include <optional>

#include <shotassay/core/interval.hpp>

namespace shotassay {

/// Why a bootstrap has no interval with these readings.
enum class NoBootstrapInterval {
  law_is_a_point,                ///< each group shows one value, so each resample is the sample: no width can be told
  bca_denominator_not_positive,  ///< 1 − a(z₀ + z) ≤ 0: too skewed for the level asked
  bias_correction_infinite       ///< no drawn resample on one side of the estimate: z₀ = ±∞ (too few resamples)
};

/// What each of the four bootstrap intervals returns. Estimate, interval and standard error in the readings' unit.
struct BootstrapResult {
  double estimate;  ///< mean(x), or mean(b) − mean(a)
  double standard_error;  ///< SD over all resamples, Σ(x − x̄)²/n² a group; of bootstrap_t: s²/n a group, divisor n − 1
  std::optional<Interval> interval{};           ///< ends may be infinite for bootstrap_t: no finite limit
  std::optional<NoBootstrapInterval> reason{};  ///< when the interval is absent

  bool law_is_a_point;  ///< each group shows one value
  bool exact = true;    ///< all resamples counted; false: some drawn

  std::optional<double> bias_correction{};  ///< z₀, of bootstrap_bca
  std::optional<double> acceleration{};     ///< a, of bootstrap_bca

  std::optional<std::uint64_t> resamples{};  ///< drawn; absent when exact
  std::optional<Interval> lower_range{};     ///< Monte Carlo error: holds the exact lower limit 95 times in 100 or more
  std::optional<Interval> upper_range{};     ///< the same for the upper limit
};

}  // namespace shotassay
