// Family coverage of the default interval: how often do the intervals of all pairs of three set-ups hold at once?
//
//   family_coverage SEED REPLICATES
//
// For each set of shot numbers and SDs (in display steps) 64 triples of phases are tried with a quarter of the
// replicates each; the worst of them is then measured anew with ten times REPLICATES fresh ones, so that having been
// picked does not flatter or blacken it. The phase average draws new phases for every replicate. Standard errors are
// printed. Not an everyday test: minutes.
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <tuple>
#include <vector>

#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/numerics/random.hpp>

#include "support/samples.hpp"

using shotassay::ConfidenceLevel;
using shotassay::Family;
using shotassay::moments;
using shotassay::Sample;
using shotassay::numerics::RandomPurpose;
using shotassay::numerics::ReplicateStream;

namespace {

using Triple = std::array<double, 3>;
using Shots = std::array<int, 3>;

/// Half-widths already worked out: they depend on shot numbers, squared deviations and tightness alone.
class HalfWidths {
 public:
  double of(const Sample& a, const Sample& b) {
    const auto key = std::tuple{a.size(), deviations(a), a.span() <= 1, b.size(), deviations(b), b.span() <= 1};
    const auto found = known_.find(key);
    if (found != known_.end()) return found->second;
    const double h = shotassay::rounding_aware(a, b, ConfidenceLevel{0.95}, Family{3}).half_width;
    known_.emplace(key, h);
    return h;
  }

 private:
  static std::int64_t deviations(const Sample& s) { return static_cast<std::int64_t>(moments(s).scaled_deviations()); }

  std::map<std::tuple<std::size_t, std::int64_t, bool, std::size_t, std::int64_t, bool>, double> known_;
};

/// Do the intervals of all three pairs hold in this replicate?
bool all_hold(ReplicateStream& stream, const Shots& n, const Triple& sd, const Triple& phase, HalfWidths& widths) {
  std::vector<Sample> setups;
  for (std::size_t g = 0; g < 3; ++g) {
    std::vector<std::int64_t> readings;
    for (int i = 0; i < n[g]; ++i)
      readings.push_back(static_cast<std::int64_t>(std::floor(phase[g] + sd[g] * stream.normal() + 0.5)));
    setups.push_back(sample(readings));
  }
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = i + 1; j < 3; ++j) {
      const double gap = shotassay::mean_difference(moments(setups[i]), moments(setups[j]));
      if (std::abs(gap - (phase[j] - phase[i])) > widths.of(setups[i], setups[j]) + 1e-9) return false;
    }
  return true;
}

}  // namespace

int main(int count, char** words) {
  if (count < 3) {
    std::fputs("family_coverage SEED REPLICATES\n", stderr);
    return 2;
  }
  const auto seed = static_cast<std::uint64_t>(std::atoll(words[1]));
  const auto replicates = static_cast<std::uint64_t>(std::atoll(words[2]));
  const std::vector<Shots> numbers{{3, 3, 3}, {3, 4, 5}, {3, 3, 6}, {2, 3, 5}};
  const std::vector<Triple> spreads{{0.1, 0.1, 0.1}, {0.5, 0.5, 0.5}, {1, 1, 1},     {3, 3, 3},
                                    {0.1, 0.5, 1},   {0.1, 1, 3},     {1, 0.5, 0.1}, {3, 1, 0.1},
                                    {0.1, 0.1, 3},   {3, 0.1, 0.1},   {3, 3, 0.1},   {1, 0.1, 0.1}};
  std::uint64_t next = 0;  // every replicate of the whole run has its own stream
  for (const Shots& n : numbers)
    for (const Triple& sd : spreads) {
      HalfWidths widths;
      std::uint64_t held = 0;
      for (std::uint64_t r = 0; r < 10 * replicates; ++r) {
        ReplicateStream stream{seed, next++, RandomPurpose::simulated_shots};
        const Triple phase{stream.uniform(), stream.uniform(), stream.uniform()};
        held += all_hold(stream, n, sd, phase, widths);
      }
      const double average = static_cast<double>(held) / static_cast<double>(10 * replicates);
      Triple worst{};
      std::uint64_t least = replicates + 1;
      for (int candidate = 0; candidate < 64; ++candidate) {
        // Anywhere, and every third close to the half, where the readings of a still set-up are of two minds.
        ReplicateStream choice{seed, next++, RandomPurpose::grid_phase};
        Triple phase;
        for (double& x : phase) x = choice.below(3) == 0 ? 0.47 + 0.06 * choice.uniform() : choice.uniform();
        std::uint64_t hold = 0;
        for (std::uint64_t r = 0; r < replicates / 4; ++r) {
          ReplicateStream stream{seed, next++, RandomPurpose::simulated_shots};
          hold += all_hold(stream, n, sd, phase, widths);
        }
        if (hold < least) {
          least = hold;
          worst = phase;
        }
      }
      held = 0;
      for (std::uint64_t r = 0; r < 10 * replicates; ++r) {
        ReplicateStream stream{seed, next++, RandomPurpose::simulated_shots};
        held += all_hold(stream, n, sd, worst, widths);
      }
      const double at_worst = static_cast<double>(held) / static_cast<double>(10 * replicates);
      const auto error = [&](double p) { return std::sqrt(p * (1 - p) / static_cast<double>(10 * replicates)); };
      std::printf("n %d %d %d  SD %g %g %g  average %.4f (SE %.4f)  worst %.4f (SE %.4f) at phases %.3f %.3f %.3f\n",
                  n[0], n[1], n[2], sd[0], sd[1], sd[2], average, error(average), at_worst, error(at_worst), worst[0],
                  worst[1], worst[2]);
      std::fflush(stdout);
    }
}
