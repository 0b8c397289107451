// How long do the methods of a comparison take? One benchmark a question; methods.R and methods.py answer the same.
//
// The readings follow a formula, the same in all three files. `answer` is what came out. Every repetition begins anew:
// nothing is kept from the one before.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/methods/permutation.hpp>
#include <shotassay/methods/propagation.hpp>
#include <shotassay/methods/reported_figures.hpp>
#include <shotassay/methods/welch.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/numerics/student_t.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/studies/compared_setups.hpp>

using namespace shotassay;

namespace {

const DisplayStep whole{Decimal{1, 0}};

Sample first(std::int64_t n) {
  std::vector<std::int64_t> readings;
  for (std::int64_t i = 0; i < n; ++i) readings.push_back(190 + 7 * i % 5);
  return {readings, whole};
}

Sample second(std::int64_t n) {
  std::vector<std::int64_t> readings;
  for (std::int64_t i = 0; i < n; ++i) readings.push_back(188 + 3 * i % 4);
  return {readings, whole};
}

/// Times one question; what it returns is the answer shown.
template <class Question>
void ask(benchmark::State& state, const Question& question) {
  double answer = 0.0;
  for (auto _ : state) {
    const double found = question();
    benchmark::DoNotOptimize(found);
    answer = found;
  }
  state.counters["answer"] = answer;
}

void welch_5(benchmark::State& state) {
  const Sample a = first(5), b = second(5);
  ask(state, [&] { return welch(a, b).p_two_sided; });
}

void bca(benchmark::State& state, std::int64_t n) {
  const Sample a = first(n), b = second(n);
  ask(state, [&] { return bootstrap_bca(a, b).interval->lower; });
}
void bca_5(benchmark::State& state) { bca(state, 5); }
void bca_10(benchmark::State& state) { bca(state, 10); }
void bca_30(benchmark::State& state) { bca(state, 30); }

void studentised(benchmark::State& state, std::int64_t n) {
  const Sample a = first(n), b = second(n);
  ask(state, [&] { return bootstrap_t(a, b).interval->lower; });
}
void studentised_5(benchmark::State& state) { studentised(state, 5); }
void studentised_10(benchmark::State& state) { studentised(state, 10); }

/// At so high a level no number of shots here has an interval: only the p-values are counted.
constexpr double p_alone = 1.0 - 1e-12;

void permutation_p(benchmark::State& state, std::int64_t n) {
  const Sample a = first(n), b = second(n);
  ask(state, [&] { return permutation(a, b, ConfidenceLevel{p_alone}).p_two_sided; });
}
void permutation_8(benchmark::State& state) { permutation_p(state, 8); }
void permutation_12(benchmark::State& state) { permutation_p(state, 12); }
void permutation_20(benchmark::State& state) { permutation_p(state, 20); }

void permutation_interval(benchmark::State& state, std::int64_t n) {
  const Sample a = first(n), b = second(n);
  ask(state, [&] { return permutation(a, b).interval->lower; });
}
void permutation_interval_8(benchmark::State& state) { permutation_interval(state, 8); }
void permutation_interval_20(benchmark::State& state) { permutation_interval(state, 20); }

void resamples(benchmark::State& state) {
  const Sample a = first(5), b = second(5);
  ask(state, [&] {
    return bootstrap_percentile(a, b, ConfidenceLevel{0.95}, Resampling{.resamples = 100'000}).interval->lower;
  });
}

constexpr std::size_t tests_at_once = 64, shots_of_a_test = 5;
using TestRow = std::array<double, tests_at_once>;  ///< a number of each test

/// Averages, and their variances, of shots of SD 1.2 about `centre`: row k of z has the k-th normal of each test.
void means_and_variances(std::span<const double> z, double centre, TestRow& mean, TestRow& variance) {
  mean = variance = {};
  const auto shot = [&](std::size_t k, std::size_t i) { return centre + 1.2 * z[k * tests_at_once + i]; };
  for (std::size_t k = 0; k < shots_of_a_test; ++k)
    for (std::size_t i = 0; i < tests_at_once; ++i) mean[i] += shot(k, i);
  for (double& m : mean) m /= 5.0;
  for (std::size_t k = 0; k < shots_of_a_test; ++k)
    for (std::size_t i = 0; i < tests_at_once; ++i) variance[i] += (shot(k, i) - mean[i]) * (shot(k, i) - mean[i]);
  for (double& v : variance) v /= 4.0 * 5.0;
}

/// A million tests of 5 + 5 normal shots, true gap 3, SD 1.2: the share whose interval leaves out 0.
void million_tests(benchmark::State& state) {
  constexpr std::uint64_t tests = 1'000'000;
  ask(state, [] {
    std::vector<double> z(2 * shots_of_a_test * tests_at_once);
    TestRow mean_a, mean_b, variance_a, variance_b, t_squared, nu;
    std::array<double, 10> factor_squared{};
    const auto squared_factor = [](double degrees) {
      const double factor = numerics::t_two_sided_factor(0.05, degrees);
      return factor * factor;
    };
    for (std::size_t whole_nu = 3; whole_nu < factor_squared.size(); ++whole_nu)
      factor_squared[whole_nu] = squared_factor(static_cast<double>(whole_nu));
    std::uint64_t found = 0;
    for (std::uint64_t test = 0; test < tests; test += tests_at_once) {
      numerics::first_normals(1, test, numerics::RandomPurpose::simulated_shots, tests_at_once, z);
      const std::span normals{z};
      means_and_variances(normals.first(z.size() / 2), 0.0, mean_a, variance_a);
      means_and_variances(normals.subspan(z.size() / 2), 3.0, mean_b, variance_b);
      for (std::size_t i = 0; i < tests_at_once; ++i) {
        const double gap = mean_b[i] - mean_a[i], v = variance_a[i] + variance_b[i];
        t_squared[i] = gap * gap / v;
        nu[i] = 4.0 * v * v / (variance_a[i] * variance_a[i] + variance_b[i] * variance_b[i]);
      }
      for (std::size_t i = 0; i < tests_at_once; ++i) {
        // ν is from 4 to 8, and the quantile falls with it: those of the whole ν beside it decide most tests.
        const auto below = static_cast<std::size_t>(nu[i]);
        if (t_squared[i] < factor_squared[below + 1]) continue;
        if (t_squared[i] > factor_squared[below] || t_squared[i] > squared_factor(nu[i])) ++found;
      }
    }
    return static_cast<double>(found) / static_cast<double>(tests);
  });
}

/// JCGM 101 with a fixed number of trials: m·v²/2, m normal, v the sum of a normal and a rectangular part.
void propagated(benchmark::State& state) {
  const std::vector<UncertainInput> inputs{
      {.name = "mass", .estimate = 0.025, .standard_uncertainty = 0.0001},
      {.name = "speed", .estimate = 60.0, .standard_uncertainty = 0.2},
      {.name = "display", .estimate = 0.0, .standard_uncertainty = 0.1, .shape = InputShape::rectangular}};
  PropagationOptions how;
  how.most_trials = 1'000'000;
  how.tolerance_share = 1e-9;  // never settles: all trials are drawn
  ask(state, [&] {
    return propagation([](std::span<const double> x) { return 0.5 * x[0] * (x[1] + x[2]) * (x[1] + x[2]); }, inputs, {},
                       ConfidenceLevel{0.95}, how)
        .symmetric.lower;
  });
}

/// A sheet of 100 000 rows, read and compared.
void sheet(benchmark::State& state) {
  std::string text = "setup,speed_fps\n";
  for (int i = 0; i < 100'000; ++i)
    text += i % 2 == 0 ? "A," + std::to_string(190 + 7 * (i / 2) % 5) + "\n"
                       : "B," + std::to_string(188 + 3 * (i / 2) % 4) + "\n";
  ask(state, [&] {
    const auto setups = compared_setups(*read_sheet(text).sheet);
    return welch(*setups[0].sample, *setups[1].sample).t;
  });
}

/// All sets of eight readings from 180 to 200, both among them, that print the average 190.1.
void figures(benchmark::State& state) {
  const ReportedFigures printed{
      .shots = 8, .average = Decimal{1901, 1}, .low = Decimal{180, 0}, .high = Decimal{200, 0}};
  ask(state, [&] { return reading_sets(printed).sets->approximately(); });
}

BENCHMARK(welch_5)->MeasureProcessCPUTime();
BENCHMARK(bca_5)->MeasureProcessCPUTime();
BENCHMARK(bca_10)->MeasureProcessCPUTime();
BENCHMARK(bca_30)->MeasureProcessCPUTime();
BENCHMARK(studentised_5)->MeasureProcessCPUTime();
BENCHMARK(studentised_10)->MeasureProcessCPUTime();
BENCHMARK(permutation_8)->MeasureProcessCPUTime();
BENCHMARK(permutation_12)->MeasureProcessCPUTime();
BENCHMARK(permutation_20)->MeasureProcessCPUTime();
BENCHMARK(permutation_interval_8)->MeasureProcessCPUTime();
BENCHMARK(permutation_interval_20)->MeasureProcessCPUTime();
BENCHMARK(resamples)->MeasureProcessCPUTime();
BENCHMARK(million_tests)->MeasureProcessCPUTime();
BENCHMARK(propagated)->MeasureProcessCPUTime();
BENCHMARK(sheet)->MeasureProcessCPUTime();
BENCHMARK(figures)->MeasureProcessCPUTime();

}  // namespace

BENCHMARK_MAIN();
