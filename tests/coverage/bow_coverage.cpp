// How often a gap between two kinds of bow is found that is not there, by simulated tests.
//
//   bow_coverage exact [TESTS] [SEED]     readings not rounded: t on bow averages, with one spread and with two, and
//   the
//                                         mixed model, with our degrees of freedom and with Satterthwaite's throughout
//   bow_coverage unequal [TESTS] [SEED]   the same for unequal numbers of bows and shots
//   bow_coverage rounded [TESTS] [SEED]   on a display that rounds, at the average and at the worst phase
//   bow_coverage power [TESTS] [SEED]     how often a gap of 3 is found, shot SD 1.5, with and without the floor
//
// TESTS of each design, 20000 if not said; SEED 1. The tables of docs/methods/bow_means.md come from here. Minutes.
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string_view>
#include <vector>

#include <shotassay/methods/bow_means.hpp>
#include <shotassay/methods/bow_power.hpp>
#include <shotassay/methods/mixed.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/numerics/student_t.hpp>

using shotassay::Decimal;
using shotassay::DisplayStep;
using shotassay::Sample;
using shotassay::numerics::RandomPurpose;
using shotassay::numerics::ReplicateStream;

namespace {

using Shots = std::vector<int>;  // with each bow of a kind

/// Bows of one kind around a true mean; readings in steps, lengths in steps too.
std::vector<Sample> kind(const Shots& shots, double mean, double bow_sd, double shot_sd, int decimals,
                         ReplicateStream& random) {
  std::vector<Sample> bows;
  for (const int n : shots) {
    const double bow = mean + bow_sd * random.normal();
    std::vector<std::int64_t> readings;
    for (int i = 0; i < n; ++i) readings.push_back(std::llround(bow + shot_sd * random.normal()));
    bows.emplace_back(readings, DisplayStep{Decimal{1, decimals}});
  }
  return bows;
}

/// A share of tests in per cent and its standard error.
struct Share {
  std::int64_t count = 0, of = 0;
  void add(bool hit) {
    count += hit;
    ++of;
  }
  double percent() const { return 100.0 * static_cast<double>(count) / static_cast<double>(of); }
};

/// The t test of the bow averages, however well those agree.
double p_without_floor(const shotassay::BowMeansResult& r) {
  const double error = std::sqrt(r.variance_of_bow_averages * (r.a.weight + r.b.weight));
  return 2 * shotassay::numerics::t_upper_tail(std::abs(r.difference) / error, r.degrees_of_freedom);
}

/// One design, no gap between the kinds, shot SD 1, readings fine enough to count as not rounded.
void print_exact(const Shots& a, const Shots& b, double bow_sd, std::int64_t tests, std::uint64_t seed) {
  constexpr double unit = 1e6;
  Share plain, common, welch, ours, leaping, zero, floor, bow_interval, shot_interval;
  for (std::int64_t i = 0; i < tests; ++i) {
    ReplicateStream random{seed, static_cast<std::uint64_t>(i), RandomPurpose::simulated_shots};
    const auto x = kind(a, 0, unit * bow_sd, unit, 6, random), y = kind(b, 0, unit * bow_sd, unit, 6, random);
    const auto r = shotassay::bow_means(x, y);
    common.add(r.p_two_sided < 0.05);
    plain.add(p_without_floor(r) < 0.05);
    floor.add(r.floor_acted);
    welch.add(shotassay::bow_means_welch(x, y).p_two_sided < 0.05);
    const auto m = shotassay::mixed(x, y);
    ours.add(m.p_two_sided < 0.05);
    leaping.add(2 * shotassay::numerics::t_upper_tail(std::abs(m.t), m.satterthwaite) < 0.05);
    zero.add(m.bow_sd_zero);
    bow_interval.add(m.bow_sd_interval.contains(bow_sd));
    shot_interval.add(m.shot_sd_interval.contains(1.0));
  }
  std::printf(" %.1f | %.1f | %.1f | %.1f | %.1f | %.1f | %.0f | %.0f | %.1f | %.1f |\n", bow_sd, plain.percent(),
              common.percent(), welch.percent(), ours.percent(), leaping.percent(), zero.percent(), floor.percent(),
              bow_interval.percent(), shot_interval.percent());
  std::fflush(stdout);
}

void exact(std::int64_t tests, std::uint64_t seed) {
  std::puts(
      "| bows | shots | bow SD | no floor | one spread | two spreads | mixed, kept | mixed, leaping | zero | floor | "
      "bow SD in "
      "| shot SD in |\n|---|---|---|---|---|---|---|---|---|---|---|---|");
  for (const int bows : {2, 3, 4, 6})
    for (const int shots : {3, 5})
      for (const double bow_sd : {0.0, 0.5, 1.0, 2.0, 5.0}) {
        std::printf("| %d | %d |", bows, shots);
        print_exact(Shots(static_cast<std::size_t>(bows), shots), Shots(static_cast<std::size_t>(bows), shots), bow_sd,
                    tests, seed);
      }
  std::printf("| 2 | 5 |");
  print_exact(Shots(2, 5), Shots(2, 5), 1 / 1.5, tests, seed);
}

void unequal(std::int64_t tests, std::uint64_t seed) {
  std::puts(
      "| shots with the bows of a | of b | bow SD | no floor | one spread | two spreads | mixed, kept | mixed, leaping "
      "| zero "
      "| floor | bow SD in | shot SD in |\n|---|---|---|---|---|---|---|---|---|---|---|---|");
  const std::array<std::array<Shots, 2>, 5> designs{{{{{3, 3}, {3, 3, 3, 3, 3, 3}}},
                                                     {{{1, 10}, {1, 10}}},
                                                     {{{10, 10}, {2, 2, 2, 2}}},
                                                     {{{2, 5, 8}, {3, 3, 12}}},
                                                     {{{1, 1, 1, 8}, {1, 1, 1, 8}}}}};
  for (const auto& [a, b] : designs)
    for (const double bow_sd : {0.0, 0.5, 1.0, 2.0}) {
      std::printf("|");
      for (const auto* shots : {&a, &b}) {
        for (const int n : *shots) std::printf(" %d", n);
        std::printf(" |");
      }
      print_exact(a, b, bow_sd, tests, seed);
    }
}

/// Share of intervals that miss the true gap, kind a at one phase and kind b at another: with one spread, with two, and
/// with one spread and its floor alone, S(0).
using Missed = std::array<Share, 3>;

struct Rounded {
  int bows, shots;
  double bow_sd, shot_sd;
};

Missed missed(const Rounded& d, double phase_a, double phase_b, std::int64_t first, std::int64_t tests,
              std::uint64_t seed) {
  Missed share;
  const Shots design(static_cast<std::size_t>(d.bows), d.shots);
  const double gap = phase_b - phase_a;
  for (std::int64_t i = first; i < first + tests; ++i) {
    ReplicateStream random{seed, static_cast<std::uint64_t>(i), RandomPurpose::simulated_shots};
    const auto x = kind(design, phase_a, d.bow_sd, d.shot_sd, 0, random);
    const auto y = kind(design, phase_b, d.bow_sd, d.shot_sd, 0, random);
    const auto r = shotassay::bow_means(x, y);
    share[0].add(!r.interval.contains(gap));
    share[1].add(!shotassay::bow_means_welch(x, y).interval.contains(gap));
    share[2].add(std::abs(r.difference - gap) > r.sampling);
  }
  return share;
}

void print_rounded(const Rounded& d, std::int64_t tests, std::uint64_t seed) {
  constexpr int phases = 8;  // of half a step; mirrored at an edge the law is the same
  const std::int64_t each = tests / 20;
  std::array<double, 3> sum{}, worst{};
  std::array<std::array<double, 2>, 3> at{};
  std::int64_t first = 0;
  for (int i = 0; i <= phases; ++i)
    for (int j = 0; j < 2 * phases; ++j, first += each) {
      const double a = 0.5 * i / phases + 1e-3, b = 0.5 * j / phases + 1e-3;
      const Missed share = missed(d, a, b, first, each, seed);
      for (std::size_t m = 0; m < 3; ++m) {
        sum[m] += share[m].percent();
        if (share[m].percent() < worst[m]) continue;
        worst[m] = share[m].percent();
        at[m] = {a, b};
      }
    }
  std::printf("| %d | %d | %.1f | %.2f |", d.bows, d.shots, d.bow_sd, d.shot_sd);
  for (std::size_t m = 0; m < 3; ++m) {
    // Other tests than those that chose the phase: a maximum of many shares is too large.
    const Missed again = missed(d, at[m][0], at[m][1], first, tests, seed);
    std::printf(" %.1f | %.1f |", sum[m] / ((phases + 1) * 2 * phases), again[m].percent());
  }
  std::printf("\n");
  std::fflush(stdout);
}

void rounded(std::int64_t tests, std::uint64_t seed) {
  std::puts(
      "| bows | shots | bow SD | shot SD | one spread | worst phase | two spreads | worst phase | floor alone | worst "
      "phase "
      "|\n|---|---|---|---|---|---|---|---|---|---|");
  for (const int bows : {2, 3, 4})
    for (const int shots : {1, 3, 5})
      for (const double bow_sd : {0.0, 0.3, 0.5, 1.0})
        for (const double shot_sd : {0.02, 0.1, 0.3, 1.0}) print_rounded({bows, shots, bow_sd, shot_sd}, tests, seed);
}

/// How often a true gap is found: what the plan's formula says, which knows no floor, and the two methods.
void power(std::int64_t tests, std::uint64_t seed) {
  std::puts(
      "| bows | shots | bow SD | formula | no floor | one spread | two spreads | mixed, kept |\n"
      "|---|---|---|---|---|---|---|---|");
  constexpr double unit = 1e6, gap = 3, shot_sd = 1.5;
  for (const int bows : {2, 3, 4})
    for (const int shots : {3, 5})
      for (const double bow_sd : {0.5, 1.0, 2.0}) {
        Share plain, common, welch, mixed;
        const Shots design(static_cast<std::size_t>(bows), shots);
        for (std::int64_t i = 0; i < tests; ++i) {
          ReplicateStream random{seed, static_cast<std::uint64_t>(i), RandomPurpose::simulated_shots};
          const auto x = kind(design, 0, unit * bow_sd, unit * shot_sd, 6, random);
          const auto y = kind(design, unit * gap, unit * bow_sd, unit * shot_sd, 6, random);
          const auto r = shotassay::bow_means(x, y);
          plain.add(p_without_floor(r) < 0.05);
          common.add(r.p_two_sided < 0.05);
          welch.add(shotassay::bow_means_welch(x, y).p_two_sided < 0.05);
          mixed.add(shotassay::mixed(x, y).p_two_sided < 0.05);
        }
        const double formula =
            shotassay::bow_power(gap, {.bows = bows, .shots = shots, .bow_sd = bow_sd, .shot_sd = shot_sd}).power;
        std::printf("| %d | %d | %.1f | %.1f | %.1f | %.1f | %.1f | %.1f |\n", bows, shots, bow_sd, 100 * formula,
                    plain.percent(), common.percent(), welch.percent(), mixed.percent());
        std::fflush(stdout);
      }
}

}  // namespace

int main(int count, char** words) {
  const std::string_view study = count > 1 ? words[1] : "";
  const std::int64_t tests = count > 2 ? std::atoll(words[2]) : 20000;
  const auto seed = static_cast<std::uint64_t>(count > 3 ? std::atoll(words[3]) : 1);
  if (study == "exact" && tests > 0)
    exact(tests, seed);
  else if (study == "unequal" && tests > 0)
    unequal(tests, seed);
  else if (study == "rounded" && tests >= 20)
    rounded(tests, seed);
  else if (study == "power" && tests > 0)
    power(tests, seed);
  else {
    std::fputs("bow_coverage exact|unequal|rounded|power [TESTS] [SEED]\n", stderr);
    return 2;
  }
}
