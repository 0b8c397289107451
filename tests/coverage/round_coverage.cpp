// Coverage of intervals for a gap from rounds, or from sessions, by simulation: rounded normal shots, 95 %.
//
//   round_coverage ROUNDS SHOTS SD_A SD_B [LEVEL_SD [GAP_SD [CREEP]]]      lengths in display steps
//
// In round r = 0, 1, … both set-ups move by LEVEL_SD·z + CREEP·r, and set-up b by GAP_SD·z besides (z normal); then
// each has SHOTS shots. Phase average: true means anywhere in a step. Worst phase: the pairs of means that cover least
// in a search over a grid (denser where a reading is in doubt) are simulated anew, so the search does not flatter
// itself. The tables of docs/methods/round_paired.md and session_gaps.md come from here. Not an everyday test.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/session_gaps.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/numerics/student_t.hpp>

using shotassay::Round;
using shotassay::Sample;

namespace {

constexpr std::uint64_t seed = 20240501;
constexpr int search_tests = 1000, tests = 20'000, pairs_tried_again = 6;

enum Method { rounds, sessions, no_common_bound, paired_t, one_mean, methods };
constexpr const char* method_names[methods] = {"round_paired", "session_gaps", "without C", "paired t",
                                               "one-mean rule"};
using Widths = std::array<double, methods>;

struct Design {
  int rounds, shots;
  double sd_a, sd_b, level_sd, gap_sd, creep;
};

/// `round_paired` without C: edges of all rounds together only.
double without_common_bound(const std::vector<Round>& test, double variance, int shots) {
  const Sample a = shotassay::detail::all_readings(test, &Round::a),
               b = shotassay::detail::all_readings(test, &Round::b);
  const double h_a = shotassay::detail::display_edge(a), h_b = shotassay::detail::display_edge(b);
  const auto k = static_cast<double>(test.size());
  const double v = std::max(variance, (test.size() == 3 ? 0.2 : 1.0 / 6.0) / shots) / k;
  const auto s = [&](double x) {
    return shotassay::numerics::t_two_sided_factor(0.05, (k - 1) * (v + x) * (v + x) / (v * v)) * std::sqrt(v + x);
  };
  double e = h_a + h_b;
  if (a.all_equal() != b.all_equal())
    e = std::max(e, 0.5 + shotassay::numerics::t_upper_quantile(0.05, k - 1) * std::sqrt(v + 1.0 / 12.0 / shots / k));
  return std::max({s(0.0), s((h_a * h_a + h_b * h_b) / 3.0), e});
}

/// Half-widths of one test; below 0 where a method has no interval.
Widths widths(const Design& design, const std::string& readings) {
  const shotassay::DisplayStep whole{shotassay::Decimal{1, 0}};
  std::vector<Round> test;
  std::vector<shotassay::Session> days;
  std::vector<std::int64_t> differences;
  auto at = readings.begin();
  const auto next = [&] {
    std::vector<std::int64_t> steps(at, at + design.shots);
    at += design.shots;
    return Sample{steps, whole};
  };
  for (int r = 0; r < design.rounds; ++r) {
    const Sample a = next(), b = next();
    test.push_back({a, b});
    days.push_back({a, b});
    differences.push_back(b.steps()[0] - a.steps()[0]);
  }
  const auto paired = shotassay::round_paired(test);
  const double variance = paired.sd_of_differences * paired.sd_of_differences;
  Widths w;
  w.fill(-1.0);
  w[rounds] = paired.half_width;
  w[no_common_bound] = without_common_bound(test, variance, design.shots);
  if (design.shots > 1) w[sessions] = shotassay::session_gaps(days).half_width;
  if (variance > 0.0)
    w[paired_t] =
        shotassay::numerics::t_two_sided_factor(0.05, paired.degrees_of_freedom) * std::sqrt(variance / design.rounds);
  if (design.shots == 1) w[one_mean] = shotassay::rounding_aware_mean({differences, whole}).half_width;
  return w;
}

class Simulation {
 public:
  explicit Simulation(const Design& design) : design_{design} {}

  /// Share of tests covered, from replicate `first` on; phases are drawn anew for each test when they are below 0.
  Widths covered(double phase_a, double phase_b, std::uint64_t first, int count) {
    std::array<int, methods> hits{};
    total_width_.fill(0.0);
    for (int i = 0; i < count; ++i) {
      shotassay::numerics::ReplicateStream z{seed, first + static_cast<std::uint64_t>(i),
                                             shotassay::numerics::RandomPurpose::simulated_shots};
      const double a = phase_a < 0.0 ? z.uniform() : phase_a, b = phase_b < 0.0 ? z.uniform() : phase_b;
      const auto& [gap, w] = test(z, a, b);
      for (std::size_t m = 0; m < methods; ++m) {
        hits[m] += std::abs(gap - (b - a)) <= w[m] + 1e-9;
        total_width_[m] += w[m] / count;
      }
    }
    Widths share{};
    for (std::size_t m = 0; m < methods; ++m) share[m] = static_cast<double>(hits[m]) / count;
    return share;
  }

  const Widths& mean_width() const { return total_width_; }

 private:
  std::pair<double, Widths> test(shotassay::numerics::ReplicateStream& z, double a, double b) {
    shots_.clear();
    double sum = 0.0;
    for (int r = 0; r < design_.rounds; ++r) {
      const double level = design_.level_sd * z.normal() + design_.creep * r;
      const double apart = design_.gap_sd * z.normal();
      for (const bool second : {false, true})
        for (int i = 0; i < design_.shots; ++i) {
          const double mean = level + (second ? b + apart : a), sd = second ? design_.sd_b : design_.sd_a;
          shots_.push_back(std::floor(mean + sd * z.normal() + 0.5));
          sum += second ? shots_.back() : -shots_.back();
        }
    }
    // Intervals move with the readings: what they depend on is kept by readings above the lowest.
    const double low = *std::min_element(shots_.begin(), shots_.end());
    key_.clear();
    for (const double y : shots_) key_.push_back(static_cast<char>(std::min(y - low, 127.0)));
    auto known = known_.find(key_);
    if (known == known_.end()) {
      if (known_.size() > 2'000'000) known_.clear();
      known = known_.emplace(key_, widths(design_, key_)).first;
    }
    return {sum / (design_.rounds * design_.shots), known->second};
  }

  Design design_;
  Widths total_width_{};
  std::vector<double> shots_;
  std::string key_;
  std::unordered_map<std::string, Widths> known_;
};

std::vector<double> phase_grid(const Design& d) {
  std::vector<double> grid;
  const int places = std::min(d.sd_a, d.sd_b) < 1.0 ? 12 : 4;
  for (int i = 0; i < places; ++i) grid.push_back(static_cast<double>(i) / places);
  for (const double sd : {d.sd_a, d.sd_b, std::hypot(std::min(d.sd_a, d.sd_b), d.level_sd)})
    for (const double away : {-1.5, -0.9, -0.4, 0.4, 0.9, 1.5}) {
      const double phase = 0.5 + away * sd;
      const bool near = std::any_of(grid.begin(), grid.end(), [&](double p) { return std::abs(p - phase) < 0.015; });
      if (phase > 0.0 && phase < 1.0 && !near) grid.push_back(phase);
    }
  return grid;
}

}  // namespace

int main(int count, char** words) {
  if (count < 5) {
    std::fputs("round_coverage ROUNDS SHOTS SD_A SD_B [LEVEL_SD [GAP_SD [CREEP]]]\n", stderr);
    return 2;
  }
  const auto number = [&](int i) { return i < count ? std::atof(words[i]) : 0.0; };
  const Design design{std::atoi(words[1]), std::atoi(words[2]), number(3), number(4), number(5), number(6), number(7)};
  Simulation simulation{design};
  const Widths average = simulation.covered(-1, -1, 0, tests);
  const Widths width = simulation.mean_width();

  struct Place {
    double a, b;
    Widths covered;
  };
  std::vector<Place> places;
  for (const double a : phase_grid(design))
    for (const double b : phase_grid(design))
      places.push_back({a, b, simulation.covered(a, b, 1'000'000, search_tests)});
  std::printf("%d rounds, %d shots, SD %g and %g, level SD %g, gap SD %g, creep %g; seed %llu\n", design.rounds,
              design.shots, design.sd_a, design.sd_b, design.level_sd, design.gap_sd, design.creep,
              static_cast<unsigned long long>(seed));
  for (std::size_t m = 0; m < methods; ++m) {
    if ((m == sessions && design.shots == 1) || (m == one_mean && design.shots > 1)) continue;
    const auto again = std::min<std::ptrdiff_t>(pairs_tried_again, static_cast<std::ptrdiff_t>(places.size()));
    std::partial_sort(places.begin(), places.begin() + again, places.end(),
                      [&](const Place& p, const Place& q) { return p.covered[m] < q.covered[m]; });
    double worst = 1.0, at_a = 0.0, at_b = 0.0;
    for (auto place = places.begin(); place != places.begin() + again; ++place) {
      const double share = simulation.covered(place->a, place->b, 2'000'000, tests)[m];
      if (share < worst) worst = share, at_a = place->a, at_b = place->b;
    }
    std::printf("  %-14s average %5.1f  worst %5.1f (means at %.3f, %.3f)", method_names[m], 100 * average[m],
                100 * worst, at_a, at_b);
    // No interval is not a short one.
    if (m != paired_t) std::printf("  mean half-width %.2f", width[m]);
    std::printf("\n");
  }
}
