// How long does planning a test take? One benchmark a question; plan.R and plan.py answer what comes nearest to it.
//
// `answer` is what came out, so that a table shows beside the times what was timed. Every repetition begins anew:
// nothing is kept from the one before but the nodes of the quadrature rules.
#include <benchmark/benchmark.h>

#include <cstdint>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/rounding_aware_power.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/student_t.hpp>
#include <shotassay/studies/plan.hpp>

using namespace shotassay;

namespace {

constexpr double gap = 3.0, sd = 1.2;              // the ordinary question
constexpr double small_gap = 1.0, large_sd = 2.0;  // one that takes some sixty shots
constexpr GroupDesign five{5, sd};

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

Plan plan_for(double smallest_gap, double scatter, PlannedInterval interval) {
  return plan({.goal = FindGap{smallest_gap}, .sd = {scatter, scatter}, .how = {.interval = interval}});
}

void power_pooled(benchmark::State& state) {
  // One critical value whatever the split of the variances: the pooled test, when shots and SDs are equal.
  ask(state, [] {
    const double t = numerics::t_two_sided_factor(0.05, 8.0);
    return WelchPowerCurve{five, five, [&](double) { return t; }}.two_sided(gap).power;
  });
}

void power_welch(benchmark::State& state) {
  ask(state, [] { return welch_power(gap, five, five).power; });
}

void power_rounding_aware(benchmark::State& state) {
  ask(state, [] { return RoundingAwarePower{five, five, DisplayStep{Decimal{1, 0}}}.finds(gap).average; });
}

void gap_welch(benchmark::State& state) {
  ask(state, [] { return detectable_gap(five, five); });
}

void gap_rounding_aware(benchmark::State& state) {
  ask(state, [] { return DesignPower{five, five, DesignPowerOptions{}}.detectable_gap(Power{0.8}); });
}

void shots_welch(benchmark::State& state) {
  ask(state, [] {
    const SampleSize found = sample_size({.smallest_difference = gap, .sd_a = sd, .sd_b = sd});
    return static_cast<double>(found.shots_a);
  });
}

void many_shots_welch(benchmark::State& state) {
  ask(state, [] {
    const SampleSize found = sample_size({.smallest_difference = small_gap, .sd_a = large_sd, .sd_b = large_sd});
    return static_cast<double>(found.shots_a);
  });
}

void plan_whole(benchmark::State& state) {
  ask(state, [] { return static_cast<double>(plan_for(gap, sd, PlannedInterval::rounding_aware).achieved.shots); });
}

void plan_whole_welch(benchmark::State& state) {
  ask(state, [] { return static_cast<double>(plan_for(gap, sd, PlannedInterval::welch).achieved.shots); });
}

void plan_whole_many_shots(benchmark::State& state) {
  ask(state, [] {
    return static_cast<double>(plan_for(small_gap, large_sd, PlannedInterval::rounding_aware).achieved.shots);
  });
}

void table(benchmark::State& state) {
  ask(state, [] {
    double last = 0.0;
    for (std::int64_t n = 2; n <= 10; ++n) {
      const DesignPower design{{n, sd}, {n, sd}, DesignPowerOptions{}};
      double power = design.finds(gap).average, width = design.half_width();
      benchmark::DoNotOptimize(power);
      benchmark::DoNotOptimize(width);
      last = design.detectable_gap(Power{0.8});
    }
    return last;
  });
}

BENCHMARK(power_pooled)->MeasureProcessCPUTime();
BENCHMARK(power_welch)->MeasureProcessCPUTime();
BENCHMARK(power_rounding_aware)->MeasureProcessCPUTime();
BENCHMARK(gap_welch)->MeasureProcessCPUTime();
BENCHMARK(gap_rounding_aware)->MeasureProcessCPUTime();
BENCHMARK(shots_welch)->MeasureProcessCPUTime();
BENCHMARK(many_shots_welch)->MeasureProcessCPUTime();
BENCHMARK(plan_whole)->MeasureProcessCPUTime();
BENCHMARK(plan_whole_welch)->MeasureProcessCPUTime();
BENCHMARK(plan_whole_many_shots)->MeasureProcessCPUTime();
BENCHMARK(table)->MeasureProcessCPUTime();

}  // namespace

BENCHMARK_MAIN();
