#pragma once
#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <shotassay/numerics/random.hpp>

/// How often intervals hold the truth: the share of simulated tests, on the average and at the worst over the places
/// that true averages may have between two readings of the display. Lengths in display steps.
namespace coverage {

using shotassay::numerics::RandomPurpose;
using shotassay::numerics::ReplicateStream;

/// Shots of mean 0 and SD 1.
enum class Shape {
  normal,
  skewed,       ///< exponential, moved to mean 0: skewness 2
  heavy_tailed  ///< Student's t with 4 degrees of freedom, scaled to SD 1
};

inline double draw(ReplicateStream& random, Shape shape) {
  switch (shape) {
    case Shape::skewed:
      return -std::log(random.uniform()) - 1.0;
    case Shape::heavy_tailed: {
      // χ² with 4 degrees of freedom is −2 ln(u·v); t has variance 4/2.
      const double chi_square = -2.0 * std::log(random.uniform() * random.uniform());
      return random.normal() / std::sqrt(chi_square / 4.0) / std::sqrt(2.0);
    }
    case Shape::normal:
      break;
  }
  return random.normal();
}

inline std::int64_t reading(double speed) { return static_cast<std::int64_t>(std::floor(speed + 0.5)); }

enum class Fate : signed char { held, missed, no_interval };

/// One test with the true averages at `places`: what became of each method whose bit is set in `wanted`.
using Trial =
    std::function<void(ReplicateStream&, std::span<const double> places, std::uint32_t wanted, std::span<Fate> fates)>;

struct Design {
  std::vector<double> scatter;       ///< one a place: the SD that blurs it; less scatter, finer search
  std::vector<std::uint64_t> tests;  ///< one a method
  Trial trial;
};

struct Share {
  double average = 0;             ///< of all tests; one without an interval does not hold the truth
  std::optional<double> worst{};  ///< absent where it was not sought
  double average_error = 0, worst_error = 0;
  bool tried = false;
  bool ever = false;   ///< some test had an interval
  bool exact = false;  ///< summed, not simulated
};

namespace detail {

struct Tally {
  std::uint64_t held = 0, intervals = 0, of = 0;
  double share() const { return static_cast<double>(held) / static_cast<double>(std::max<std::uint64_t>(of, 1)); }
  double error() const {
    return std::sqrt(share() * (1.0 - share()) / static_cast<double>(std::max<std::uint64_t>(of, 1)));
  }
};

/// Streams of one row of a table: no two rows share one, nor two stages of a row.
enum class Stage : std::uint64_t { average, search, worst };

/// `places` empty: drawn anew for each test.
inline std::vector<Tally> simulate(const Design& design, std::span<const double> places,
                                   const std::vector<std::uint64_t>& counts, std::uint64_t seed, std::uint64_t first) {
  std::vector<Tally> tallies(counts.size());
  std::vector<Fate> fates(counts.size());
  std::vector<double> drawn(design.scatter.size());
  const std::uint64_t most = *std::max_element(counts.begin(), counts.end());
  for (std::uint64_t i = 0; i < most; ++i) {
    ReplicateStream random{seed, first + i, RandomPurpose::simulated_shots};
    if (places.empty())
      for (double& place : drawn) place = random.uniform();
    else
      std::copy(places.begin(), places.end(), drawn.begin());
    std::uint32_t wanted = 0;
    for (std::size_t m = 0; m < counts.size(); ++m)
      if (i < counts[m]) wanted |= 1U << m;
    design.trial(random, drawn, wanted, fates);
    for (std::size_t m = 0; m < counts.size(); ++m) {
      if (i >= counts[m]) continue;
      tallies[m].held += fates[m] == Fate::held;
      tallies[m].intervals += fates[m] != Fate::no_interval;
      ++tallies[m].of;
    }
  }
  return tallies;
}

/// Places to try for one true average. With little scatter those where its readings are of two minds are tried too.
inline std::vector<double> places_to_try(double sd) {
  const int spaced = sd >= 2.0 ? 2 : sd >= 0.75 ? 5 : 7;
  std::vector<double> places;
  for (int i = 0; i < spaced; ++i) places.push_back(static_cast<double>(i) / spaced);
  if (sd <= 0.25)
    for (const double away : {-1.5, -0.9, -0.4, 0.4, 0.9, 1.5}) places.push_back(0.5 + away * sd);
  return places;
}

/// All combinations of places for one or two averages; for more of them 32 drawn ones, a third of the places close to
/// the half.
inline std::vector<std::vector<double>> candidates(const Design& design, std::uint64_t seed, std::uint64_t first) {
  std::vector<std::vector<double>> list{{}};
  if (design.scatter.size() > 2) {
    list.clear();
    for (std::uint64_t i = 0; i < 32; ++i) {
      ReplicateStream choice{seed, first + i, RandomPurpose::grid_phase};
      std::vector<double> places(design.scatter.size());
      for (double& place : places) place = choice.below(3) == 0 ? 0.47 + 0.06 * choice.uniform() : choice.uniform();
      list.push_back(places);
    }
    return list;
  }
  for (const double sd : design.scatter) {
    // Off the lattice of averages and of their gaps, where a limit that falls on the truth would count as holding it.
    const double shift = list.front().empty() ? 0.011 : 0.028;
    std::vector<std::vector<double>> longer;
    for (const auto& begun : list)
      for (const double place : places_to_try(sd)) {
        longer.push_back(begun);
        longer.back().push_back(place + shift);
      }
    list = std::move(longer);
  }
  return list;
}

}  // namespace detail

/// The shares of all methods for one design. Each method's worst place is sought with a twentieth of its tests at each
/// candidate, the same shots at all of them, and then measured anew with all its tests: the least of many noisy figures
/// would be too low. Methods whose bit is set in `known` are simulated for the average only.
inline std::vector<Share> study(const Design& design, std::uint64_t seed, std::uint64_t row, std::uint32_t known = 0) {
  using namespace detail;
  const auto first = [&](Stage stage) { return row << 40 | static_cast<std::uint64_t>(stage) << 36; };
  const std::size_t methods = design.tests.size();
  const auto average = simulate(design, {}, design.tests, seed, first(Stage::average));
  std::vector<Share> shares(methods);
  std::vector<std::uint64_t> few(methods, 0);
  for (std::size_t m = 0; m < methods; ++m) {
    shares[m] = {.average = average[m].share(),
                 .average_error = average[m].error(),
                 .tried = average[m].of > 0,
                 .ever = average[m].intervals > 0};
    if (shares[m].ever && (known >> m & 1U) == 0) few[m] = std::max<std::uint64_t>(design.tests[m] / 20, 20);
  }
  if (*std::max_element(few.begin(), few.end()) == 0) return shares;
  const auto tried = candidates(design, seed, first(Stage::search));
  std::vector<std::size_t> worst(methods, 0);
  std::vector<std::uint64_t> least(methods, ~std::uint64_t{0});
  for (std::size_t c = 0; c < tried.size(); ++c) {
    const auto tallies = simulate(design, tried[c], few, seed, first(Stage::search));
    for (std::size_t m = 0; m < methods; ++m)
      if (tallies[m].held < least[m]) least[m] = tallies[m].held, worst[m] = c;
  }
  for (std::size_t c = 0; c < tried.size(); ++c) {
    std::vector<std::uint64_t> counts(methods, 0);
    for (std::size_t m = 0; m < methods; ++m)
      if (few[m] > 0 && worst[m] == c) counts[m] = design.tests[m];
    if (*std::max_element(counts.begin(), counts.end()) == 0) continue;
    const auto tallies = simulate(design, tried[c], counts, seed, first(Stage::worst));
    for (std::size_t m = 0; m < methods; ++m)
      if (counts[m] > 0) shares[m].worst = tallies[m].share(), shares[m].worst_error = tallies[m].error();
  }
  return shares;
}

/// The tasks' results in their order; which thread does which changes nothing.
template <class Result>
std::vector<Result> in_threads(const std::vector<std::function<Result()>>& tasks, unsigned threads) {
  std::vector<Result> results(tasks.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < tasks.size(); i = next++) results[i] = tasks[i]();
  };
  std::vector<std::thread> others;
  for (unsigned t = 1; t < threads; ++t) others.emplace_back(work);
  work();
  for (std::thread& other : others) other.join();
  return results;
}

}  // namespace coverage
