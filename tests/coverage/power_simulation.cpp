// How often Welch's test finds a gap between unequal set-ups, by simulated tests: what the quadrature of welch_power is
// held against.
//
//   power_simulation SEED TESTS      made data/reference/power_simulation.csv with 1 and 10000000 (a minute or two)
//
// Columns: shots, SD of a; shots, SD of b; true gap; tests; share of them whose 95 % interval leaves out 0; its
// standard error.
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/numerics/student_t.hpp>

using shotassay::GroupDesign;
using shotassay::numerics::RandomPurpose;
using shotassay::numerics::ReplicateStream;

namespace {

struct Average {
  double mean;
  double variance;  ///< of the mean
};

Average average_of(ReplicateStream& stream, const GroupDesign& g, double centre, std::vector<double>& shots) {
  shots.resize(static_cast<std::size_t>(g.shots));
  double sum = 0;
  for (double& x : shots) sum += x = centre + g.sd * stream.normal();
  const auto n = static_cast<double>(g.shots);
  double deviations = 0;
  for (const double x : shots) deviations += (x - sum / n) * (x - sum / n);
  return {sum / n, deviations / (n - 1) / n};
}

bool found(ReplicateStream& stream, const GroupDesign& g, const GroupDesign& h, double gap,
           std::vector<double>& shots) {
  const Average a = average_of(stream, g, 0.0, shots), b = average_of(stream, h, gap, shots);
  const double v = a.variance + b.variance;
  const double t = std::abs(b.mean - a.mean) / std::sqrt(v);
  if (t < 1.959) return false;  // below every quantile of t: spares finding it
  const double nu = v * v /
                    (a.variance * a.variance / static_cast<double>(g.shots - 1) +
                     b.variance * b.variance / static_cast<double>(h.shots - 1));
  return t > shotassay::numerics::t_two_sided_factor(0.05, nu);
}

}  // namespace

int main(int count, char** words) {
  if (count < 3) {
    std::fputs("power_simulation SEED TESTS\n", stderr);
    return 2;
  }
  const auto seed = static_cast<std::uint64_t>(std::atoll(words[1]));
  const auto tests = static_cast<std::uint64_t>(std::atoll(words[2]));
  struct Design {
    GroupDesign a, b;
    double gap;
  };
  const std::vector<Design> designs{{{3, 1}, {5, 3}, 0},  {{3, 1}, {5, 3}, 4},     {{4, 3}, {12, 1}, 4},
                                    {{5, 1}, {10, 3}, 3}, {{2, 2}, {6, 1}, 6},     {{8, 1}, {3, 4}, 8},
                                    {{4, 1}, {12, 3}, 3}, {{10, 2}, {20, 1}, 1.75}};
  std::printf("# made by power_simulation %llu %llu; columns stand in tests/coverage/power_simulation.cpp\n",
              static_cast<unsigned long long>(seed), static_cast<unsigned long long>(tests));
  std::uint64_t next = 0;  // every test of the whole run has its own stream
  std::vector<double> shots;
  for (const Design& d : designs) {
    std::uint64_t hits = 0;
    for (std::uint64_t test = 0; test < tests; ++test) {
      ReplicateStream stream{seed, next++, RandomPurpose::simulated_shots};
      hits += found(stream, d.a, d.b, d.gap, shots);
    }
    const double share = static_cast<double>(hits) / static_cast<double>(tests);
    std::printf("%d,%g,%d,%g,%g,%llu,%.7f,%.2g\n", static_cast<int>(d.a.shots), d.a.sd, static_cast<int>(d.b.shots),
                d.b.sd, d.gap, static_cast<unsigned long long>(tests), share,
                std::sqrt(share * (1 - share) / static_cast<double>(tests)));
    std::fflush(stdout);
  }
}
