// Coverage of three intervals for a gap, summed exactly over every outcome of rounded normal shots.
//
//   gap_coverage SHOTS SD [PHASES [OTHER_SD]]      SHOTS each, SD in display steps; PHASES true means a step, 97 if not
//                                                  said; OTHER_SD of the second set-up, the same if not said
//
// One row of docs/coverage.md at as many phases as wanted: more of them find a lower worst one, the time grows with
// their square and steeply with SHOTS and SD. Not an everyday test.
#include <cstdio>
#include <cstdlib>
#include <optional>

#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/welch.hpp>

#include "support/exact_coverage.hpp"

using shotassay::Sample;

int main(int count, char** words) {
  if (count < 3) {
    std::fputs("gap_coverage SHOTS SD [PHASES [OTHER_SD]]\n", stderr);
    return 2;
  }
  const int shots = std::atoi(words[1]), phases = count > 3 ? std::atoi(words[3]) : 97;
  const double sd = std::atof(words[2]), other_sd = count > 4 ? std::atof(words[4]) : sd;
  const ExactCoverage law{shots, sd, shots, other_sd, phases};
  const auto scatter = [](const Sample& a, const Sample& b) { return !a.all_equal() || !b.all_equal(); };
  const auto print = [](const char* method, ExactCoverage::Result r) {
    std::printf("%-8s average %6.2f  worst %6.2f\n", method, 100 * r.average, 100 * r.worst);
  };
  print("default", law.of([](const Sample& a, const Sample& b) -> std::optional<double> {
    return shotassay::rounding_aware(a, b).half_width;
  }));
  print("welch", law.of([&](const Sample& a, const Sample& b) -> std::optional<double> {
    if (!scatter(a, b)) return std::nullopt;
    return shotassay::welch(a, b).interval.half_width();
  }));
  print("pooled", law.of([&](const Sample& a, const Sample& b) -> std::optional<double> {
    if (!scatter(a, b)) return std::nullopt;
    return shotassay::pooled(a, b).interval.half_width();
  }));
}
