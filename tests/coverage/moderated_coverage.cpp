// Coverage of the moderated interval at 95 %, by simulated histories and tests; normal shots, rounded to whole steps.
//
//   moderated_coverage TESTS [SEED]      TESTS simulated for each row
//
// The tables of docs/methods/moderated.md come from here. A history is of strings of as many shots as a set-up has,
// each with an SD and a phase of its own. The phases of the test's two means go through a grid of 8 × 8, the same shots
// at each; the worst pair is told beside the average. Not an everyday test.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <shotassay/methods/moderated.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/samples.hpp"

using namespace shotassay;
using numerics::ReplicateStream;

namespace {

constexpr std::size_t phases = 8;

/// Where the SD of a test comes from: the family of the history's, or a multiple of their usual value.
struct Study {
  int strings;
  double family;  ///< d0: an SD is usual_sd·√(d0/χ²(d0)); infinite: all SDs are alike
  std::size_t shots;
  double usual_sd;
  double multiple = 0;         ///< of the usual SD; 0: drawn from the family
  bool each_set_up = false;    ///< the two set-ups draw an SD each
  double wild_multiple = 1.0;  ///< of the usual SD, for the first string of the history
};

class Tally {
 public:
  void add(std::size_t pair, bool covered, double half_width) {
    covered_[pair] += covered;
    if (pair % 7 == 0) widths_.push_back(half_width);
  }
  void print(double tests) {
    const auto [worst, best] = std::minmax_element(covered_.begin(), covered_.end());
    double all = 0;
    for (const double c : covered_) all += c;
    const auto middle = widths_.begin() + static_cast<std::ptrdiff_t>(widths_.size() / 2);
    std::nth_element(widths_.begin(), middle, widths_.end());
    std::printf(" | %.1f / %.1f; %.2f", 100 * all / tests / static_cast<double>(covered_.size()), 100 * *worst / tests,
                *middle);
  }

 private:
  std::vector<double> covered_ = std::vector<double>(phases * phases);
  std::vector<double> widths_;
};

double phase_of(std::size_t i) { return static_cast<double>(i) / static_cast<double>(phases); }

Sample rounded(const std::vector<double>& normals, double sd, double mean) {
  std::vector<std::int64_t> steps;
  for (const double z : normals) steps.push_back(static_cast<std::int64_t>(std::floor(mean + sd * z + 0.5)));
  return sample(steps);
}

void run(const Study& study, std::uint64_t tests, std::uint64_t seed) {
  Tally robust, plain, textbook, without, by_default;
  std::uint64_t infinite = 0, aside = 0, left_out = 0;
  for (std::uint64_t test = 0; test < tests; ++test) {
    ReplicateStream random{seed, test, numerics::RandomPurpose::simulated_shots};
    const auto drawn_sd = [&] {
      const double u = random.uniform();
      if (std::isinf(study.family)) return study.usual_sd;
      return study.usual_sd * std::sqrt(study.family / numerics::chi_square_quantile(u, study.family));
    };
    const auto normals = [&] {
      std::vector<double> z(study.shots);
      for (double& x : z) x = random.normal();
      return z;
    };
    std::vector<StringScatter> strings;
    for (int i = 0; i < study.strings; ++i) {
      const double sd = drawn_sd() * (i == 0 ? study.wild_multiple : 1.0), phase = random.uniform();
      strings.push_back(string_scatter(rounded(normals(), sd, phase), 1.0));
    }
    const ScatterPrior prior = scatter_prior(strings), as_it_is = scatter_prior(strings, false);
    ScatterPrior none = prior;
    none.degrees_of_freedom = 0;
    infinite += std::isinf(prior.degrees_of_freedom);
    left_out += prior.wild.has_value();

    const double drawn = drawn_sd(), other = drawn_sd();
    const double sd_a = study.multiple > 0 ? study.multiple * study.usual_sd : drawn;
    const double sd_b = study.multiple > 0 || !study.each_set_up ? sd_a : other;
    const std::vector<double> z_a = normals(), z_b = normals();
    for (std::size_t i = 0; i < phases; ++i) {
      const Sample a = rounded(z_a, sd_a, phase_of(i));
      for (std::size_t j = 0; j < phases; ++j) {
        const Sample b = rounded(z_b, sd_b, phase_of(j));
        const double gap = phase_of(j) - phase_of(i);
        const ModeratedResult r = moderated(a, b, prior);
        const auto tally = [&](Tally& t, double half_width) {
          // A limit exactly on the truth covers it; lattice sums differ by far more than 1e-9.
          t.add(i * phases + j, std::abs(r.difference - gap) <= half_width + 1e-9, half_width);
        };
        tally(robust, r.half_width);
        tally(plain, moderated(a, b, as_it_is).half_width);
        // Smyth's moderated t as it stands: nothing is set aside, no rounding terms.
        const double squeezed = squeezed_variance(prior, r.pooled_sd * r.pooled_sd, r.pooled_degrees_of_freedom);
        const double nu = r.pooled_degrees_of_freedom + r.prior_degrees_of_freedom;
        tally(textbook,
              numerics::t_two_sided_factor(0.05, nu) * std::sqrt(squeezed * 2 / static_cast<double>(study.shots)));
        tally(without, moderated(a, b, none).half_width);
        tally(by_default, rounding_aware(a, b).half_width);
        aside += !r.history_fits;
      }
    }
  }
  const auto percent = [&](std::uint64_t count, std::size_t of) {
    return 100 * static_cast<double>(count) / static_cast<double>(tests * of);
  };
  std::printf("%2d strings, d0 %g, n %zu, usual SD %g", study.strings, study.family, study.shots, study.usual_sd);
  if (study.multiple > 0) std::printf(", SD now x%g", study.multiple);
  if (study.each_set_up) std::printf(", an SD each");
  if (study.wild_multiple > 1) std::printf(", one x%g", study.wild_multiple);
  const auto count = static_cast<double>(tests);
  robust.print(count);
  plain.print(count);
  textbook.print(count);
  without.print(count);
  by_default.print(count);
  std::printf(" | %.0f %.0f %.1f\n", percent(aside, phases * phases), percent(infinite, 1), percent(left_out, 1));
  std::fflush(stdout);
}

}  // namespace

int main(int count, char** words) {
  if (count < 2) {
    std::fputs("moderated_coverage TESTS [SEED]\n", stderr);
    return 2;
  }
  const std::uint64_t tests = std::strtoull(words[1], nullptr, 10);
  const std::uint64_t seed = count > 2 ? std::strtoull(words[2], nullptr, 10) : 1;
  std::puts(
      "coverage in %, average / worst phase; median half-width: moderated | no look for a wild string | textbook's "
      "moderated t | no history (d0 = 0) | default | % set aside, d0 infinite, a string left out");
  for (const int strings : {5, 10, 30})
    for (const std::size_t shots : {3U, 5U})
      for (const double sd : {0.25, 0.5, 1.0, 2.0})
        for (const double multiple : {0.0, 0.5, 1.5, 2.0, 3.0})
          if (strings == 10 || (multiple != 1.5 && multiple != 3.0))
            run({.strings = strings, .family = 10, .shots = shots, .usual_sd = sd, .multiple = multiple}, tests, seed);
  for (const double family : {4.0, HUGE_VAL})
    for (const int strings : {5, 10, 30})
      for (const double multiple : {0.0, 2.0})
        run({.strings = strings, .family = family, .shots = 3, .usual_sd = 2, .multiple = multiple}, tests, seed);
  for (const double sd : {0.5, 2.0})
    run({.strings = 10, .family = 10, .shots = 3, .usual_sd = sd, .each_set_up = true}, tests, seed);
  for (const double multiple : {0.0, 2.0})
    run({.strings = 10, .family = 10, .shots = 2, .usual_sd = 1, .multiple = multiple}, tests, seed);
  for (const double wild : {5.0, 20.0})
    for (const std::size_t shots : {3U, 5U})
      run({.strings = 10, .family = HUGE_VAL, .shots = shots, .usual_sd = 2, .wild_multiple = wild}, tests, seed);
}
