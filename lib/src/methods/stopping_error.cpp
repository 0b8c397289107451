#include <shotassay/methods/stopping_error.hpp>

#include <algorithm>
#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/random.hpp>

namespace shotassay {
namespace {

constexpr std::int64_t most_shots = 10'000;
constexpr double most_steps = 1e6;  ///< of an SD: sums of squares of readings then keep their place in 64 bits

void require_sound(const std::vector<std::int64_t>& looks, double sd_in_steps, std::uint64_t tests) {
  if (looks.empty() || looks.size() > 1000)
    throw DomainError{"stopping_error: needs 1 to 1000 looks, got " + std::to_string(looks.size())};
  if (looks.front() < 2 || looks.back() > most_shots)
    throw DomainError{"stopping_error: looks must come after 2 to 10000 shots with each set-up, got " +
                      std::to_string(looks.front() < 2 ? looks.front() : looks.back())};
  for (std::size_t i = 1; i < looks.size(); ++i)
    if (looks[i] <= looks[i - 1])
      throw DomainError{"stopping_error: each look needs more shots than the one before, got " +
                        std::to_string(looks[i - 1]) + " and then " + std::to_string(looks[i])};
  if (!(sd_in_steps > 0.0 && sd_in_steps <= most_steps))
    throw DomainError{"stopping_error: needs an SD above 0 and of at most a million display steps, got " +
                      std::to_string(sd_in_steps) + " steps"};
  if (tests < 1'000 || tests > 10'000'000)
    throw DomainError{"stopping_error: needs 1000 to 10000000 tests, got " + std::to_string(tests)};
}

/// Readings of one set-up as they come in, in steps, with their running sums.
struct Readings {
  std::vector<std::int64_t> steps;
  std::int64_t sum = 0;
  std::int64_t squares = 0;

  void clear() {
    steps.clear();
    sum = squares = 0;
  }
  void add(std::int64_t reading) {
    steps.push_back(reading);
    sum += reading;
    squares += reading * reading;
  }
  /// n·Σ(y − ȳ)²
  double deviations() const {
    const auto n = static_cast<std::int64_t>(steps.size());
    return static_cast<double>(WideInteger{n} * squares - WideInteger{sum} * sum);
  }
};

/// Does the rounding-aware interval of these readings leave out 0?
class Look {
 public:
  explicit Look(ConfidenceLevel level)
      : alpha_{level.alpha()}, least_factor_{numerics::normal_upper_quantile(0.5 * level.alpha())} {}

  bool leaves_out_zero(const Readings& a, const Readings& b) const {
    const std::int64_t difference = std::abs(b.sum - a.sum);
    if (difference == 0) return false;
    const auto n = static_cast<double>(a.steps.size());
    const double gap = static_cast<double>(difference) / n;
    // No t is below the normal quantile and no u below Welch's, so most looks are settled without either.
    const double variance_of_gap = (a.deviations() + b.deviations()) / (n * n * (n - 1.0));
    if (gap * gap <= (1.0 - 1e-9) * least_factor_ * least_factor_ * variance_of_gap) return false;
    const double h = half_width(a, b);
    return gap - h > touching_distance(centred(gap, h), 0.0);
  }

 private:
  double half_width(const Readings& a, const Readings& b) const {
    static const DisplayStep one{Decimal{1, 0}};
    const RoundedGroup g = rounded_group(Sample{a.steps, one}), h = rounded_group(Sample{b.steps, one});
    const detail::RoundingAwareGap gap{g, h, Family{}};
    return std::max(
        {gap.sampling(alpha_, 0.0), g.tight || h.tight ? gap.sampling(alpha_, gap.type_b()) : 0.0, gap.bound(alpha_)});
  }

  double alpha_, least_factor_;
};

}  // namespace

StoppingError stopping_error(const std::vector<std::int64_t>& looks, double sd, DisplayStep step, ConfidenceLevel level,
                             std::uint64_t tests, std::uint64_t seed) {
  const double sd_in_steps = sd / step.value();
  require_sound(looks, sd_in_steps, tests);
  const Look look{level};
  Readings a, b;
  std::uint64_t stopped = 0, at_the_last = 0;
  for (std::uint64_t test = 0; test < tests; ++test) {
    numerics::ReplicateStream stream{seed, test, numerics::RandomPurpose::simulated_shots};
    const double phase = stream.uniform();
    const auto shot = [&] { return static_cast<std::int64_t>(std::floor(phase + sd_in_steps * stream.normal())); };
    a.clear();
    b.clear();
    bool found = false, last = false;
    for (const std::int64_t shots : looks) {
      while (static_cast<std::int64_t>(a.steps.size()) < shots) {
        a.add(shot());
        b.add(shot());
      }
      // Once found only the last look is of interest.
      if (found && shots != looks.back()) continue;
      last = look.leaves_out_zero(a, b);
      found = found || last;
    }
    stopped += found;
    at_the_last += last;
  }
  const auto count = static_cast<double>(tests);
  const double rate = static_cast<double>(stopped) / count;
  return {.error_rate = rate,
          .standard_error = std::sqrt(rate * (1.0 - rate) / count),
          .one_look = static_cast<double>(at_the_last) / count,
          .tests = tests,
          .seed = seed};
}

}  // namespace shotassay
