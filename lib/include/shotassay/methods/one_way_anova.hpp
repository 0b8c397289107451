#pragma once
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

struct OneWayAnova {
  double between_df;       ///< k − 1
  double within_df;        ///< N − k
  double between_squares;  ///< sum of squares between set-ups
  double within_squares;   ///< sum of squares within set-ups
  double between_mean_square;
  double within_mean_square;  ///< pooled variance of the shots
  double f;                   ///< ratio of the mean squares; infinite when every set-up's readings are all equal
  double r_squared;           ///< between / (between + within)
};

/// One-way analysis of variance: how does the scatter between set-ups compare with that within them?
///
///   between = Σ_{i<j} (n_j S_i − n_i S_j)² / (n_i n_j N)        within = Σ_i (n_i Q_i − S_i²) / n_i
///
/// Units     squares in the readings' unit².
/// Requires  k ≥ 2 set-ups, one display step, N > k; else DomainError. Every reading equal: NoAnswer.
/// Accuracy  each numerator is a whole number of squared steps, all terms positive: 15 digits, however large the mean.
/// Source    definitions; the pairwise form of the first sum avoids the cancellation of Σ S²/n − S²/N.
///           Checked against the NIST Statistical Reference Datasets [nist-strd].
inline OneWayAnova one_way_anova(std::span<const Sample> setups) {
  const std::size_t k = setups.size();
  if (k < 2) throw DomainError{"one_way_anova: needs 2 or more set-ups, got " + std::to_string(k)};
  std::vector<Moments> m;
  std::int64_t shots = 0;
  for (const Sample& s : setups) {
    require_one_lattice(setups[0], s);
    m.push_back(moments(s));
    shots += m.back().n;
  }
  if (shots <= static_cast<std::int64_t>(k))
    throw DomainError{"one_way_anova: needs more shots than set-ups, got " + std::to_string(shots) + " and " +
                      std::to_string(k)};
  double within = 0, between = 0;
  for (std::size_t i = 0; i < k; ++i) {
    within += ratio(m[i].scaled_deviations(), m[i].n);
    for (std::size_t j = i + 1; j < k; ++j) {
      const double difference = mean_difference(m[i], m[j]);
      between += difference * difference * ratio(WideInteger{m[i].n} * m[j].n, shots);
    }
  }
  if (within + between == 0.0) throw NoAnswer{"one_way_anova: all readings are equal"};
  const double square = setups[0].step().value() * setups[0].step().value();
  const double between_df = static_cast<double>(k - 1), within_df = static_cast<double>(shots) - static_cast<double>(k);
  return {.between_df = between_df,
          .within_df = within_df,
          .between_squares = between * square,
          .within_squares = within * square,
          .between_mean_square = between / between_df * square,
          .within_mean_square = within / within_df * square,
          .f = (between / between_df) / (within / within_df),
          .r_squared = between / (between + within)};
}

}  // namespace shotassay
