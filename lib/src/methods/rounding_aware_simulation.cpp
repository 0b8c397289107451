#include <shotassay/methods/rounding_aware_power.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string>
#include <vector>

#include <shotassay/numerics/random.hpp>

#include "../numerics/vectorised.hpp"
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

constexpr std::size_t most_at_once = 64;  ///< tests drawn side by side

using Row = std::array<double, most_at_once>;  ///< a number of each of them

/// What the tests see of one set-up's readings y: the average, and what tells their spread (see group_spread).
struct Readings {
  Row mean{}, remainder{}, k{};
};

/// The greatest whole number up to x, for |x| < 2⁵¹.
[[gnu::always_inline]] inline double whole_below(double x) {
  const double nearest = (x + 0x1.8p52) - 0x1.8p52;
  return nearest > x ? nearest - 1.0 : nearest;
}

/// Sums are whole doubles; n times the sum of squares is as well while n(8.3σ + 3) stays below 2²⁶. Beyond, k is off by
/// about n·2⁻⁵² of that. It shows where all readings lie within a step or so of each other though σ is millions of
/// steps: with two shots, σ from 4·10⁶, a difference of −1, 0 or 1 has a chance of 3/(2σ√π), two in ten million.
///
/// Shapes  normals: a row a shot, of as many tests as there are centres.
[[gnu::always_inline]] inline void draw(std::span<const double> normals, GroupDesign group,
                                        std::span<const double> centre, Readings& readings) {
  const std::size_t count = centre.size();
  const auto n = static_cast<double>(group.shots);
  Row sum{}, squares{};
  for (std::size_t from = 0; from < normals.size(); from += count)
    for (std::size_t i = 0; i < count; ++i) {
      const double y = whole_below(centre[i] + group.sd * normals[from + i] + 0.5);
      sum[i] += y;
      squares[i] += y * y;
    }
  for (std::size_t i = 0; i < count; ++i) {
    const double r = sum[i] - n * whole_below(sum[i] / n);
    readings.mean[i] = sum[i] / n;
    readings.remainder[i] = r;
    readings.k[i] = (n * squares[i] - sum[i] * sum[i] - r * (n - r)) / (2.0 * n);
  }
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

/// One simulated test.
struct Outcome {
  std::uint64_t test;
  double difference;  ///< of the averages, in steps
  double square;      ///< H²
};

/// What all tests add up to. `place` makes of two uniforms of each test, from the first on, the true averages of its
/// set-ups on the lattice; `add` counts an outcome.
template <class Place, class Add>
Tally tallied(SimulatedTests how, GroupDesign a, GroupDesign b, ConfidenceLevel level, const Place& place,
              const Add& add) {
  const detail::HalfWidthSquare half_width{a, b, level};
  // Normals are drawn for many tests at once; the table shall stay in a processor's cache.
  constexpr std::size_t most_normals = 32'768;
  const auto shots_a = static_cast<std::size_t>(a.shots), shots = shots_a + static_cast<std::size_t>(b.shots);
  const std::size_t rows = shots + shots % 2;
  const std::uint64_t at_once = std::clamp<std::size_t>(most_normals / rows, 1, most_at_once);
  const std::uint64_t blocks = (how.tests + tests_of_a_block - 1) / tests_of_a_block;
  std::vector<Tally> tallies(static_cast<std::size_t>(blocks));
  const std::uint64_t threads = std::min<std::uint64_t>(how.threads, blocks);
  detail::in_threads(threads, [&](std::uint64_t slice) {
    std::vector<double> table;
    Row centre_a{}, centre_b{};
    Readings x, y;
    for (std::uint64_t block = slice; block < blocks; block += threads) {
      Tally t;
      const std::uint64_t last = std::min(how.tests, (block + 1) * tests_of_a_block);
      for (std::uint64_t first = block * tests_of_a_block; first < last; first += at_once) {
        const auto count = static_cast<std::size_t>(std::min(at_once, last - first));
        table.resize(rows * count);
        numerics::first_normals(how.seed, first, numerics::RandomPurpose::simulated_shots, count, table);
        const std::span at_a = std::span{centre_a}.first(count), at_b = std::span{centre_b}.first(count);
        numerics::uniform_pairs(how.seed, first, numerics::RandomPurpose::grid_phase, 0, at_a, at_b);
        for (std::size_t i = 0; i < count; ++i) place(first + i, at_a[i], at_b[i]);
        const std::span normals{table};
        numerics::vectorised([&]() __attribute__((always_inline)) {
          draw(normals.first(shots_a * count), a, at_a, x);
          draw(normals.subspan(shots_a * count, (shots - shots_a) * count), b, at_b, y);
        });
        for (std::size_t i = 0; i < count; ++i)
          add(t, Outcome{first + i, y.mean[i] - x.mean[i],
                         half_width(detail::group_spread(a.shots, x.remainder[i], x.k[i]),
                                    detail::group_spread(b.shots, y.remainder[i], y.k[i]))});
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
  const auto stratum_of = [](std::uint64_t test) { return static_cast<std::size_t>(test % strata); };
  const auto place = [&](std::uint64_t test, double& at_a, double& at_b) {
    at_a = (static_cast<double>(stratum_of(test)) + at_a) / strata;
    at_b = at_a + part;
  };
  const Tally all = tallied(how, from, to, level, place, [&](Tally& t, const Outcome& outcome) {
    const std::size_t stratum = stratum_of(outcome.test);
    const double difference = whole + outcome.difference, h = std::sqrt(outcome.square);
    ++t.tests[stratum];
    if (h < detail::finding_limit(difference)) ++t.found[stratum];
    if (margin && h < detail::same_limit(difference, within)) ++t.same[stratum];
    t.half_widths += h;
    t.squares += outcome.square;
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
  const auto as_drawn = [](std::uint64_t, double&, double&) {};
  const Tally all = tallied(how, from, to, level, as_drawn, [&](Tally& t, const Outcome& outcome) {
    const double h = std::sqrt(outcome.square);
    if (h <= most) ++t.narrow;
    t.half_widths += h;
    t.squares += outcome.square;
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
