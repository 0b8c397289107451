#include <shotassay/methods/best_of.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <string>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;

namespace {

constexpr double pi = std::numbers::pi;

double phi(double z) { return 0.5 * std::erfc(-z / std::numbers::sqrt2); }

/// Mean and SD of the best reading above the true average, by the chance of each reading: the plain way.
BestReading brute_force(int shots, double sd_in_steps, double phase) {
  const auto below = [&](double k) { return std::pow(phi((k + 0.5 - phase) / sd_in_steps), shots); };
  const double reach = std::ceil(12 * sd_in_steps + 2);
  double mean = 0, square = 0;
  for (double k = -reach; k <= reach; ++k) {
    const double chance = below(k) - below(k - 1);
    mean += chance * k;
    square += chance * k * k;
  }
  return {.added = mean - phase, .sd = std::sqrt(square - mean * mean)};
}

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

const DisplayStep tenth{Decimal{1, 1}};

}  // namespace

TEST_CASE("best_of: two to five shots agree with the closed forms") {
  // David & Nagaraja 3.2 and mpmath quad; second moments by mpmath quad to 19 digits.
  CHECK(best_of_normal(2).expected == digits(1 / std::sqrt(pi), 13));
  CHECK(best_of_normal(3).expected == digits(1.5 / std::sqrt(pi), 13));
  CHECK(best_of_normal(4).expected == digits(6 / (pi * std::sqrt(pi)) * std::atan(std::sqrt(2.0)), 13));
  const double e5 = (1.25 + 7.5 / pi * std::asin(1.0 / 3)) / std::sqrt(pi);
  CHECK(best_of_normal(5).expected == digits(e5, 13));

  const double root3 = std::sqrt(3.0);
  CHECK(best_of_normal(2).sd == digits(std::sqrt(1 - 1 / pi), 12));
  CHECK(best_of_normal(3).sd == digits(std::sqrt(1 + root3 / (2 * pi) - 2.25 / pi), 12));
  const double e4 = 6 / (pi * std::sqrt(pi)) * std::atan(std::sqrt(2.0));
  CHECK(best_of_normal(4).sd == digits(std::sqrt(1 + root3 / pi - e4 * e4), 12));
  const double square5 = 1 + 5 * root3 / (4 * pi) + 5 * root3 / (2 * pi * pi) * std::asin(0.25);
  CHECK(best_of_normal(5).sd == digits(std::sqrt(square5 - e5 * e5), 12));
}

TEST_CASE("best_of: more shots agree with 40-digit quadrature") {
  // mpmath, mp.dps = 40: quad(lambda z: z**k*n*npdf(z)*ncdf(z)**(n-1), [-12,-8,-4,-2,0,1,2,3,4,5,6,8,12])
  struct Row {
    std::int64_t shots;
    double expected, sd, sd_above_average;
  };
  for (const Row& row : {Row{6, 1.2672063606114712976, 0.64492411102644326487, 0.499259894560519904},
                         Row{10, 1.538752730835172856, 0.58680816563907003549, 0.49431146381678248},
                         Row{30, 2.0427608441715109743, 0.49582043074775186559, 0.460982175592020988},
                         Row{100, 2.5075936364416843725, 0.42942381581116968701, 0.417618023540442264},
                         Row{1000, 3.2414357691334408614, 0.35136223060246649168, 0.349936304338290743},
                         Row{1'000'000, 4.8628974861964627212, 0.24800457941907144598, 0.248002563319072402}}) {
    CAPTURE(row.shots);
    const auto best = best_of_normal(row.shots);
    CHECK(best.expected == digits(row.expected, 12));
    CHECK(best.sd == digits(row.sd, 12));
    CHECK(best.sd_above_average == digits(row.sd_above_average, 12));
  }
}

TEST_CASE("best_of: the expected spread of n shots, twice what the best adds, is the d2 of control charts") {
  const Published check{"ehb-constants"};
  for (const double n : check.numbers("n")) {
    const auto d2 = check.expected("d2_" + std::to_string(static_cast<int>(n)));
    CHECK(2 * best_of_normal(static_cast<std::int64_t>(n)).expected == d2);
  }
}

TEST_CASE("best_of: one shot is its own best, and of two the better is half their distance above their average") {
  const auto one = best_of_normal(1);
  CHECK(one.expected == 0.0);
  CHECK(one.sd == 1.0);
  CHECK(one.sd_above_average == 0.0);
  // |Z₁ − Z₂|/2 has the variance (2 − 4/π)/4
  CHECK(best_of_normal(2).sd_above_average == digits(std::sqrt(0.5 - 1 / pi), 12));
}

TEST_CASE("best_of: with more shots the best lies higher and scatters less") {
  double expected = -1, sd = 2;
  for (std::int64_t n = 1; n <= 400; ++n) {
    const auto best = best_of_normal(n);
    CHECK(best.expected > expected);
    CHECK(best.sd < sd);
    expected = best.expected;
    sd = best.sd;
  }
}

TEST_CASE("best_of: quantiles of the best agree with 40-digit values, also far out") {
  // mpmath: sqrt(2)*erfinv(2*p**(1/n) - 1)
  CHECK(best_of_normal_quantile(3, 0.025) == digits(-0.546381756850384934, 13));
  CHECK(best_of_normal_quantile(3, 0.5) == digits(0.819328619833610008, 13));
  CHECK(best_of_normal_upper_quantile(3, 0.025) == digits(2.39089153761727026, 13));
  CHECK(best_of_normal_quantile(10, 0.025) == digits(0.500114842516570531, 13));
  CHECK(best_of_normal_quantile(10, 0.975) == digits(2.80337028342295578, 12));
  CHECK(best_of_normal_quantile(1000, 0.5) == digits(3.19758949538401517, 13));
  CHECK(best_of_normal_upper_quantile(5, 1e-12) == digits(7.25556115412764522, 13));
  CHECK(best_of_normal_quantile(1, 1e-20) == digits(-9.26234008979840757, 13));
  CHECK(best_of_normal_upper_quantile(1, 1e-20) == digits(9.26234008979840757, 13));
}

TEST_CASE("best_of: on a display the best reading is summed over all readings, wherever the average lies") {
  for (const int shots : {1, 2, 3, 5, 10})
    for (const double sd : {0.05, 0.3, 1.0, 2.5})
      for (const double phase : {-0.5, -0.3, 0.0, 0.25, 0.5}) {
        CAPTURE(shots);
        CAPTURE(sd);
        CAPTURE(phase);
        const auto best = best_reading_at_phase({.shots = shots, .sd = sd}, phase);
        const auto plain = brute_force(shots, sd, phase);
        CHECK(best.added == within(plain.added, 1e-12 * (1 + sd)));
        CHECK(best.sd == within(plain.sd, 1e-7));  // the plain way squares, and loses half of the digits near 0
      }
}

TEST_CASE("best_of: averaged over the phases a display adds nothing to the best, and step²/12 to its variance") {
  constexpr int phases = 64;  // the average of a periodic, smooth function: exact long before
  for (const int shots : {1, 3, 10})
    for (const double sd : {0.5, 1.0, 3.0}) {
      CAPTURE(shots);
      CAPTURE(sd);
      double added = 0, square = 0;
      for (int i = 0; i < phases; ++i) {
        const auto at = best_reading_at_phase({.shots = shots, .sd = sd}, (i + 0.5) / phases - 0.5);
        added += at.added / phases;
        square += (at.added * at.added + at.sd * at.sd) / phases;
      }
      const auto best = best_reading({.shots = shots, .sd = sd});
      CHECK(best.added == within(added, 1e-11));
      CHECK(best.sd == within(std::sqrt(square - added * added), 1e-11));
    }
}

TEST_CASE("best_of: scatter far below a step leaves the rounded average, at an edge the upper side of it") {
  CHECK(best_reading_at_phase({.shots = 3, .sd = 0.01}, 0.2).added == within(-0.2, 1e-12));
  CHECK(best_reading_at_phase({.shots = 3, .sd = 0.01}, 0.2).sd == within(0, 1e-12));
  // At the edge each shot falls above with ½: the best with 7/8, to 1 instead of 0.
  CHECK(best_reading_at_phase({.shots = 3, .sd = 0.01}, 0.5).added == within(7.0 / 8 - 0.5, 1e-12));
  CHECK(best_reading_at_phase({.shots = 3, .sd = 0.01}, -0.5).added == within(-1.0 / 8 + 0.5, 1e-12));
}

TEST_CASE("best_of: a display in tenths is the same in other units") {
  const auto whole = best_reading_at_phase({.shots = 5, .sd = 2.0}, 0.3);
  const auto fine = best_reading_at_phase({.shots = 5, .sd = 0.2, .step = tenth}, 0.3);
  CHECK(fine.added == digits(whole.added / 10, 13));
  CHECK(fine.sd == digits(whole.sd / 10, 13));
  CHECK(best_reading({.shots = 5, .sd = 0.2, .step = tenth}).added ==
        digits(best_reading({.shots = 5, .sd = 2.0}).added / 10, 13));
  CHECK(best_reading({.shots = 5, .sd = 0.2, .step = tenth}).sd ==
        digits(best_reading({.shots = 5, .sd = 2.0}).sd / 10, 13));
}

TEST_CASE("best_of: a best of three of 284 at an SD of 1 comes from an average of 283.2, 281.1 to 285.0") {
  const auto m = mean_behind_best(284, {.shots = 3, .sd = 1.0});
  CHECK(m.mean == digits(284 - 1.5 / std::sqrt(pi), 13));
  CHECK(m.interval.lower == digits(284 - 0.5 - 2.39089153761727026, 13));
  CHECK(m.interval.upper == digits(284 + 0.5 + 0.546381756850384934, 13));
  // One reading alone: z = 1.959964 both ways.
  const auto one = mean_behind_best(284.3, {.shots = 1, .sd = 2.0, .step = tenth});
  CHECK(one.mean == 284.3);
  CHECK(one.interval.lower == digits(284.25 - 2 * 1.95996398454005424, 13));
  CHECK(one.interval.upper == digits(284.35 + 2 * 1.95996398454005424, 13));
  // A higher level is a wider interval: P = ½ on each side leaves the median.
  const auto half = mean_behind_best(284, {.shots = 3, .sd = 1.0}, ConfidenceLevel{0.5});
  CHECK(half.interval.lower > m.interval.lower);
  CHECK(half.interval.upper < m.interval.upper);
}

TEST_CASE("best_of: the interval for the average holds its level at every phase") {
  for (const int shots : {1, 2, 3, 10})
    for (const double sd : {0.1, 0.5, 1.0, 3.0})
      for (const double level : {0.8, 0.95})
        for (int i = 0; i <= 20; ++i) {
          const double phase = i / 20.0 - 0.5;
          double covered = 0, mean = 0;
          for (double k = -60; k <= 60; ++k) {
            const double chance =
                std::pow(phi((k + 0.5 - phase) / sd), shots) - std::pow(phi((k - 0.5 - phase) / sd), shots);
            if (chance == 0) continue;
            const auto m = mean_behind_best(k, {.shots = shots, .sd = sd}, ConfidenceLevel{level});
            mean += chance * m.mean;
            if (m.interval.contains(phase)) covered += chance;
          }
          CAPTURE(shots);
          CAPTURE(sd);
          CAPTURE(phase);
          CHECK(covered >= level - 1e-12);
          CHECK(mean == within(phase, 0.5));  // rounding shifts it by no more than half a step
        }
}

TEST_CASE("best_of: what cannot be asked is refused") {
  CHECK(message([] { best_of_normal(0); }) == "best_of: needs 1 to 1000000 shots, got 0");
  CHECK(message([] { best_of_normal(1'000'001); }) == "best_of: needs 1 to 1000000 shots, got 1000001");
  CHECK(message([] { best_of_normal_quantile(0, 0.5); }).starts_with("best_of: needs 1 to"));
  CHECK(message([] { best_of_normal_upper_quantile(0, 0.5); }).starts_with("best_of: needs 1 to"));
  for (const double p : {0.0, 1.0, -1.0, std::nan("")}) {
    CHECK(message([&] { best_of_normal_quantile(3, p); }).starts_with("best_of: a probability must lie between 0"));
    CHECK(message([&] { best_of_normal_upper_quantile(3, p); }).starts_with("best_of: a probability must lie between"));
  }
  for (const double sd : {0.0, -1.0, 100'001.0, std::nan("")}) {
    const RoundedShots shots{.shots = 3, .sd = sd};
    const std::string refusal = "best_of: the SD must be above 0 and at most 100000 display steps, got ";
    CHECK(message([&] { best_reading(shots); }).starts_with(refusal));
    CHECK(message([&] { best_reading_at_phase(shots, 0); }).starts_with(refusal));
    CHECK(message([&] { mean_behind_best(284, shots); }).starts_with(refusal));
  }
  const RoundedShots good{.shots = 3, .sd = 1.0}, none{.shots = 0, .sd = 1.0};
  for (const double phase : {-0.51, 0.51, std::nan("")})
    CHECK(message([&] { best_reading_at_phase(good, phase); }).starts_with("best_of: the phase must lie between -0.5"));
  CHECK(message([&] { best_reading(none); }).starts_with("best_of: needs 1 to"));
  CHECK(message([&] { best_reading_at_phase(none, 0); }).starts_with("best_of: needs 1 to"));
  CHECK(message([&] { mean_behind_best(284, none); }).starts_with("best_of: needs 1 to"));
  CHECK(message([&] { mean_behind_best(std::numeric_limits<double>::infinity(), good); }) ==
        "best_of: the best reading must be a number");
}
