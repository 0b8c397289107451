#pragma once
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/numerics/student_t.hpp>

namespace shotassay {

/// One set-up's readings, each with its place in the firing order of the whole test.
struct OrderedShots {
  Sample readings;
  std::vector<std::int64_t> order;  ///< order[i] is the place of the i-th reading; 1, 2, … over all set-ups
};

/// What a drift adds to the gap of b against a.
struct FalseGap {
  double value;
  Interval interval;
};

struct DriftResult {
  double slope;  ///< change of the reading from one shot to the next, in the readings' unit
  double standard_error;
  double t;
  double degrees_of_freedom;  ///< N − k − 1
  double residual_sd;         ///< as it came out, not floored
  bool floor_acted;           ///< residual variance below step²/12, which stood in for it
  double p_two_sided;
  Interval interval;                          ///< for the slope
  std::optional<FalseGap> false_gap;          ///< two set-ups: had all of a been shot before all of b
  std::optional<FalseGap> false_gap_as_shot;  ///< two set-ups: in the order they were shot
};

/// Drift over a test: how does the reading change with firing order, apart from the set-ups' own levels?
///
/// Least squares of y = level of the set-up + slope × order, sums within set-ups over N shots with k set-ups:
///
///   slope = Σ(x − x̄_g)(y − ȳ_g) / Σ(x − x̄_g)²      se² = max(RSS/ν, step²/12) / Σ(x − x̄_g)²      ν = N − k − 1
///
/// In the order a…a b…b with the same numbers of shots the drift would have added slope × (n_a + n_b)/2 to the gap of b
/// against a; in the order as shot it added slope × (mean order of b − mean order of a).
///
/// Units     slope in the readings' unit per shot; false gaps in the readings' unit.
/// Requires  a place for each reading, one display step (else DomainError); N ≥ k + 2 and two places in the order that
///           differ within a set-up (else NoAnswer).
/// Assumes   a straight drift common to all set-ups; independent shots with one spread.
/// Accuracy  sums within a set-up are whole numbers; slope to about 1e-15 of Σ|·|/Σ(x − x̄_g)² over set-ups.
/// Source    analysis of covariance, Fisher (1925) [fisher1925]; floor: JCGM 100:2008 F.2.2.1 [gum].
DriftResult drift(const std::vector<OrderedShots>& setups, ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

inline DriftResult drift(const std::vector<OrderedShots>& setups, ConfidenceLevel level) {
  if (setups.empty()) throw DomainError{"drift: needs a set-up with shots, got none"};
  std::vector<Sample> places;
  std::vector<Moments> x, y;
  std::int64_t shots = 0;
  for (const auto& [readings, order] : setups) {
    require_one_lattice(setups.front().readings, readings);
    if (order.size() != readings.size())
      throw DomainError{"drift: needs a place in the firing order for each reading, got " +
                        std::to_string(order.size()) + " for " + std::to_string(readings.size())};
    places.emplace_back(order, DisplayStep{Decimal{1, 0}});
    x.push_back(moments(places.back()));
    y.push_back(moments(readings));
    shots += y.back().n;
  }
  const auto groups = static_cast<std::int64_t>(setups.size());
  if (shots < groups + 2)
    throw NoAnswer{"drift: needs " + std::to_string(groups + 2) + " or more shots with " + std::to_string(groups) +
                   (groups == 1 ? " set-up" : " set-ups") + ", got " + std::to_string(shots)};

  double sxx = 0.0, sxy = 0.0;
  for (std::size_t g = 0; g < setups.size(); ++g) {
    sxx += ratio(x[g].scaled_deviations(), x[g].n);
    sxy += ratio(scaled_products(places[g], x[g], setups[g].readings, y[g]), x[g].n);
  }
  if (sxx == 0.0)
    throw NoAnswer{"drift: within each set-up all shots have one place in the firing order, so no slope shows"};

  const double slope = sxy / sxx;
  double squares = 0.0;
  for (std::size_t g = 0; g < setups.size(); ++g) {
    const auto steps = setups[g].readings.steps();
    const auto n = x[g].n;
    for (std::size_t i = 0; i < steps.size(); ++i) {
      const double dx = ratio(n * WideInteger{setups[g].order[i] - x[g].offset} - x[g].sum, n);
      const double dy = ratio(n * WideInteger{steps[i] - y[g].offset} - y[g].sum, n);
      squares += (dy - slope * dx) * (dy - slope * dx);
    }
  }
  const auto nu = static_cast<double>(shots - groups - 1);
  const double variance = squares / nu, least = 1.0 / 12.0;
  const double se = std::sqrt(std::max(variance, least) / sxx), t = slope / se;
  const double half_width = numerics::t_two_sided_factor(level.alpha(), nu) * se;
  const double step = setups.front().readings.step().value();
  DriftResult result{.slope = slope * step,
                     .standard_error = se * step,
                     .t = t,
                     .degrees_of_freedom = nu,
                     .residual_sd = std::sqrt(variance) * step,
                     .floor_acted = variance < least,
                     .p_two_sided = 2.0 * numerics::t_upper_tail(std::abs(t), nu),
                     .interval = centred(slope * step, half_width * step),
                     .false_gap = std::nullopt,
                     .false_gap_as_shot = std::nullopt};
  if (groups == 2) {
    const auto added = [&](double apart) {
      return FalseGap{slope * step * apart, centred(slope * step * apart, half_width * step * std::abs(apart))};
    };
    result.false_gap = added(0.5 * static_cast<double>(shots));
    result.false_gap_as_shot = added(mean_difference(x[0], x[1]));
  }
  return result;
}

}  // namespace shotassay
