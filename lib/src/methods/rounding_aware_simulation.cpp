#include <shotassay/methods/rounding_aware_power.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include <shotassay/core/wide_integer.hpp>
#include <shotassay/numerics/random.hpp>

#include "in_threads.hpp"
#include "rounded_half_width.hpp"

namespace shotassay {
namespace {

constexpr std::size_t strata = 16;                ///< of the phase
constexpr std::uint64_t tests_of_a_block = 4096;  ///< a whole number of tests for each stratum

/// What a block of tests adds up to; blocks are added in their order, so threads change no digit.
struct Tally {
  std::array<std::uint64_t, strata> tests{}, found{}, same{};
  std::uint64_t narrow = 0;
  double half_widths = 0.0, squares = 0.0;

  void add(const Tally& other) {
    for (std::size_t i = 0; i < strata; ++i) {
      tests[i] += other.tests[i];
      found[i] += other.found[i];
      same[i] += other.same[i];
    }
    narrow += other.narrow;
    half_widths += other.half_widths;
    squares += other.squares;
  }
};

struct Readings {
  double mean;
  detail::GroupSpread spread;
};

/// The normals of one test: every so many-th of a table, a test beside another.
struct Normals {
  const double* next;
  std::size_t apart;

  double operator()() {
    const double z = *next;
    next += apart;
    return z;
  }
};

Readings drawn(Normals& normal, GroupDesign group, double mean) {
  WideInteger sum = 0, squares = 0;
  for (std::int64_t i = 0; i < group.shots; ++i) {
    const auto y = static_cast<std::int64_t>(std::floor(mean + group.sd * normal() + 0.5));
    sum += y;
    squares += WideInteger{y} * y;
  }
  const WideInteger n = group.shots;
  WideInteger remainder = sum % n;
  if (remainder < 0) remainder += n;
  const WideInteger k = (n * squares - sum * sum - remainder * (n - remainder)) / (2 * n);
  return {ratio(sum, n),
          detail::group_spread(group.shots, static_cast<std::int64_t>(remainder), static_cast<double>(k))};
}

/// Strata weigh alike. The standard error counts one success and one failure more in each, so that it is not 0 when
/// every test ended the same way.
PhasePower summarised(const std::array<std::uint64_t, strata>& hits, const std::array<std::uint64_t, strata>& tests) {
  PhasePower power{.average = 0.0, .worst_phase = 1.0, .error = 0.0};
  for (std::size_t i = 0; i < strata; ++i) {
    const auto x = static_cast<double>(hits[i]), n = static_cast<double>(tests[i]);
    const double share = (x + 1.0) / (n + 2.0);
    power.average += x / n / strata;
    power.worst_phase = std::min(power.worst_phase, x / n);
    power.error += share * (1.0 - share) / n;
  }
  power.error = std::sqrt(power.error) / strata;
  return power;
}

void check(SimulatedTests how) {
  if (how.tests < 1'000 || how.tests > 100'000'000)
    throw DomainError{"rounding_aware_power: tests must be 1000 to 100000000, got " + std::to_string(how.tests)};
  if (how.threads < 1) throw DomainError{"rounding_aware_power: threads must be 1 or more, got 0"};
}

/// What all tests add up to; `test` adds the i-th, of so many shots.
template <class Test>
Tally tallied(SimulatedTests how, std::int64_t shots, const Test& test) {
  // Normals are drawn for many tests at once; the table shall stay in a processor's cache.
  constexpr std::size_t most_normals = 32'768;
  const auto rows = static_cast<std::size_t>(shots + shots % 2);
  const std::uint64_t at_once = std::clamp<std::size_t>(most_normals / rows, 1, 64);
  const std::uint64_t blocks = (how.tests + tests_of_a_block - 1) / tests_of_a_block;
  std::vector<Tally> tallies(static_cast<std::size_t>(blocks));
  const std::uint64_t threads = std::min<std::uint64_t>(how.threads, blocks);
  detail::in_threads(threads, [&](std::uint64_t slice) {
    std::vector<double> normals;
    for (std::uint64_t block = slice; block < blocks; block += threads) {
      Tally t;
      const std::uint64_t last = std::min(how.tests, (block + 1) * tests_of_a_block);
      for (std::uint64_t first = block * tests_of_a_block; first < last; first += at_once) {
        const auto count = static_cast<std::size_t>(std::min(at_once, last - first));
        normals.resize(rows * count);
        numerics::first_normals(how.seed, first, numerics::RandomPurpose::simulated_shots, count, normals);
        for (std::size_t i = 0; i < count; ++i) test(t, first + i, Normals{&normals[i], count});
      }
      tallies[static_cast<std::size_t>(block)] = t;
    }
  });
  Tally all;
  for (const Tally& t : tallies) all.add(t);
  return all;
}

struct MeanWidth {
  double mean, error;
};

MeanWidth mean_width(const Tally& all, SimulatedTests how, DisplayStep step) {
  const auto tests = static_cast<double>(how.tests);
  const double mean = all.half_widths / tests, variance = std::max(0.0, all.squares / tests - mean * mean);
  return {mean * step.value(), std::sqrt(variance / tests) * step.value()};
}

}  // namespace

SimulatedPower simulate_rounding_aware(double gap, std::optional<double> margin, GroupDesign a, GroupDesign b,
                                       DisplayStep step, ConfidenceLevel level, SimulatedTests how) {
  const GroupDesign from = detail::in_steps(a, step), to = detail::in_steps(b, step);
  const double shift = detail::in_steps("a gap", gap, step);
  if (margin) detail::require_margin("rounding_aware_power", *margin);
  check(how);

  const double within = margin ? *margin / step.value() : 0.0;
  const double whole = std::floor(shift), part = shift - whole;
  const detail::HalfWidthSquare half_width{from, to, level};
  const Tally all = tallied(how, from.shots + to.shots, [&](Tally& t, std::uint64_t i, Normals normal) {
    const auto stratum = static_cast<std::size_t>(i % strata);
    numerics::ReplicateStream place{how.seed, i, numerics::RandomPurpose::grid_phase};
    const double phase = (static_cast<double>(stratum) + place.uniform()) / strata;
    const Readings x = drawn(normal, from, phase);
    const Readings y = drawn(normal, to, phase + part);
    const double difference = whole + (y.mean - x.mean);
    const double square = half_width(x.spread, y.spread), h = std::sqrt(square);
    ++t.tests[stratum];
    if (h < detail::finding_limit(difference)) ++t.found[stratum];
    if (margin && h < detail::same_limit(difference, within)) ++t.same[stratum];
    t.half_widths += h;
    t.squares += square;
  });
  const MeanWidth width = mean_width(all, how, step);
  return {.finds = summarised(all.found, all.tests),
          .same = margin ? std::optional{summarised(all.same, all.tests)} : std::nullopt,
          .mean_half_width = width.mean,
          .mean_half_width_error = width.error};
}

SimulatedWidth simulate_half_width(double width, GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level,
                                   SimulatedTests how) {
  const GroupDesign from = detail::in_steps(a, step), to = detail::in_steps(b, step);
  if (!(width >= 0.0))
    throw DomainError{"rounding_aware_power: needs a width of 0 or more, got " + std::to_string(width)};
  check(how);
  const double most = width / step.value() * (1.0 + detail::touching);
  const detail::HalfWidthSquare half_width{from, to, level};
  const Tally all = tallied(how, from.shots + to.shots, [&](Tally& t, std::uint64_t i, Normals normal) {
    numerics::ReplicateStream place{how.seed, i, numerics::RandomPurpose::grid_phase};
    const Readings x = drawn(normal, from, place.uniform());
    const Readings y = drawn(normal, to, place.uniform());
    const double square = half_width(x.spread, y.spread), h = std::sqrt(square);
    if (h <= most) ++t.narrow;
    t.half_widths += h;
    t.squares += square;
  });
  const MeanWidth found = mean_width(all, how, step);
  const auto hits = static_cast<double>(all.narrow), n = static_cast<double>(how.tests);
  const double share = (hits + 1.0) / (n + 2.0);
  return {.mean = found.mean,
          .mean_error = found.error,
          .at_most = hits / n,
          .at_most_error = std::sqrt(share * (1.0 - share) / n)};
}

}  // namespace shotassay
