#pragma once
#include <cstdint>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>

namespace shotassay {

struct StoppingError {
  double error_rate;      ///< share of tests of like set-ups that stop with a gap "found", at one look or another
  double standard_error;  ///< of error_rate, from the number of tests: √(p(1−p)/tests)
  double one_look;  ///< share in which the interval at the last look leaves out 0: what no peeking would have done
  std::uint64_t tests;
  std::uint64_t seed;
};

/// What does looking early and shooting on do to the error rate?
///
/// Two set-ups without any true gap are shot with; after looks[0], looks[1], … shots with each the rounding-aware
/// interval is computed, and the test ends at the first one that leaves out 0. Each interval keeps its level; the first
/// of many that misses comes more often.
///
///   error_rate = share of simulated tests with |ȳ_b − ȳ_a| > H at any of the looks
///
/// A test is a replicate of the generator: one uniform places the true average between two lattice points, the same for
/// both set-ups, then normal shots alternate and are rounded to the display. All looks of a test see the same shots.
///
/// Units     sd in the display's unit.
/// Requires  1 to 1000 looks, rising, from 2 to 10 000 shots; sd > 0 and at most a million steps; 1000 to 10 000 000
///           tests; else DomainError.
/// Accuracy  standard_error; same arguments, same result.
/// Source    simulation of rounding_aware; known variances and many shots: Armitage, McPherson & Rowe (1969)
///           [armitage1969].
StoppingError stopping_error(const std::vector<std::int64_t>& looks, double sd, DisplayStep step = DisplayStep{{1, 0}},
                             ConfidenceLevel level = ConfidenceLevel{0.95}, std::uint64_t tests = 20'000,
                             std::uint64_t seed = 1);

}  // namespace shotassay
