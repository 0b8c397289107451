#include "support/close.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <shotassay/methods/round_paired.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <string>
#include <utility>
#include <vector>

using shotassay::blocking_gain;
using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::NoAnswer;
using shotassay::Round;
using shotassay::round_paired;
using shotassay::rounding_aware_mean;
using shotassay::RoundingTerm;
using shotassay::Sample;

namespace {

using Readings = std::vector<std::vector<std::int64_t>>;

/// The readings of a and of b, a list for each round, moved by `shift` and shown with `decimals`.
std::vector<Round> rounds_of(const Readings& a, const Readings& b, std::int64_t shift = 0, int decimals = 0) {
  std::vector<Round> rounds;
  const auto moved = [&](std::vector<std::int64_t> steps) {
    for (auto& y : steps) y += shift;
    return decimal_sample(steps, decimals);
  };
  for (std::size_t r = 0; r < a.size(); ++r) rounds.push_back({moved(a[r]), moved(b[r])});
  return rounds;
}

struct Row {
  Readings a, b;
  double level, gap, sd, s0, st, e, h, p;
  RoundingTerm term;
};

// The R function of docs/methods/round_paired.md, with p by uniroot(function(z) H(exp(z)) - gap, tol = 1e-14);
// readings chosen so that each term decides in some row.
const std::vector<Row>& rows() {
  constexpr auto sampling = RoundingTerm::sampling, with = RoundingTerm::sampling_and_rounding,
                 bound = RoundingTerm::display_bound;
  static const std::vector<Row> list = {
      {{{271}, {271}, {271}},
       {{274}, {274}, {274}},
       0.95,
       3,
       0,
       1.110940157789,
       0.9958821310216,
       1,
       1.110940157789,
       0.007326105987463,
       sampling},
      {{{271}, {271}, {271}},
       {{272}, {272}, {273}},
       0.95,
       1.333333333333,
       0.5773502691896,
       1.434217576583,
       1.076244228768,
       1.588214375165,
       1.588214375165,
       0.07742287263574,
       bound},
      {{{271}, {273}, {274}, {270}},
       {{276}, {274}, {277}, {275}},
       0.95,
       3.5,
       1.914854215513,
       3.046960361658,
       3.046960361658,
       0,
       3.046960361658,
       0.03535284700252,
       sampling},
      {{{271}, {272}, {273}, {274}},
       {{272}, {273}, {274}, {275}},
       0.95,
       1,
       0,
       0.6496141318126,
       0.909266072168,
       1,
       1,
       1,
       bound},
      {{{271}, {272}, {273}, {275}},
       {{272}, {274}, {274}, {276}},
       0.9,
       1.25,
       0.5,
       0.5883408587005,
       0.6839665557791,
       0.75,
       0.75,
       0.0153924380733,
       bound},
      {{{271, 272}, {271, 271}, {272, 273}},
       {{273, 274}, {273}, {274, 274}},
       0.99,
       1.833333333333,
       0.2886751345948,
       1.957205473713,
       1.491030900642,
       0.1666666666667,
       1.957205473713,
       0.01137323746228,
       sampling},
      {{{271, 273}, {271, 271}, {272, 273}},
       {{273, 274}, {273}, {274, 274}},
       0.95,
       1.666666666667,
       0.2886751345948,
       0.848494560939,
       0.7672692558273,
       0.1,
       0.848494560939,
       0.01371269605941,
       sampling},
      {{{271}, {272}},
       {{275}, {275}},
       0.95,
       3.5,
       0.7071067811865,
       6.353102368087,
       2.806772519595,
       3.909815533399,
       6.353102368087,
       0.09033447060173,
       sampling},
      {{{271}, {271}, {272}},
       {{271}, {272}, {272}},
       0.95,
       0.3333333333333,
       0.5773502691896,
       1.434217576583,
       1.073743955652,
       0.6666666666667,
       1.434217576583,
       1,
       sampling},
      {{{271}, {271}, {271}, {272}},
       {{273}, {273}, {273}, {273}},
       0.95,
       1.75,
       0.5,
       0.7956115763209,
       0.8481917815541,
       1.179357506292,
       1.179357506292,
       0.01135691187229,
       bound},
      {{{281, 283, 282}, {280, 279, 281}, {284, 284, 282}, {281, 280, 282}},
       {{284, 285, 284}, {283, 283, 282}, {285, 286, 287}, {284, 282, 283}},
       0.95,
       2.416666666667,
       0.3191423692521,
       0.507826726943,
       0.507826726943,
       0,
       0.507826726943,
       0.0006250418029417,
       sampling},
      {{{271}, {271}, {271}, {271}, {272}},
       {{273}, {274}, {274}, {273}, {274}},
       0.95,
       2.4,
       0.5477225575052,
       0.6800873806583,
       0.7343567370971,
       0.6,
       0.7343567370971,
       0.0006081849444633,
       with},
  };
  return list;
}

}  // namespace

TEST_CASE("round paired: twelve tests agree with R in every term and in p") {
  for (const Row& row : rows()) {
    CAPTURE(row.gap);
    CAPTURE(row.h);
    const auto r = round_paired(rounds_of(row.a, row.b), ConfidenceLevel{row.level});
    CHECK(r.difference == digits(row.gap, 12));
    CHECK(r.rounds == static_cast<std::int64_t>(row.a.size()));
    CHECK(r.sd_of_differences == within(row.sd, 1e-12));
    CHECK(r.sampling == digits(row.s0, 11));
    CHECK(r.sampling_with_rounding == digits(row.st, 11));
    CHECK(r.display_bound == within(row.e, 1e-11));
    CHECK(r.half_width == digits(row.h, 11));
    CHECK(r.interval.lower == within(row.gap - row.h, 1e-10));
    CHECK(r.interval.upper == within(row.gap + row.h, 1e-10));
    CHECK(r.degrees_of_freedom == static_cast<double>(row.a.size() - 1));
    CHECK(r.p_two_sided == digits(row.p, 8));  // by bisection of the half-width: its last digits go with the slope
    CHECK(r.decided_by == row.term);
  }
}

TEST_CASE("round paired: one round above another by hand, with the floor and without") {
  // D = 2 2 3, mean 7/3, s² = 1/3 above the floor of 1.2·2/12, V = 1/9; t(0.975; 2) = √(2·0.95²/(1 − 0.95²)), closed
  // form
  const double t = std::sqrt(2 * 0.95 * 0.95 / (1 - 0.95 * 0.95));
  const auto r = round_paired(rounds_of({{271}, {273}, {275}}, {{273}, {275}, {278}}));
  CHECK(r.difference == digits(7.0 / 3, 15));
  CHECK(r.standard_error == digits(1.0 / 3, 15));
  CHECK(r.sampling == digits(t / 3, 12));
  CHECK_FALSE(r.floor_acted);
  // D = 3 3 3: s² = 0, V = 1.2·(1/12 + 1/12)/3 = 1/15
  const auto equal = round_paired(rounds_of({{271}, {273}, {275}}, {{274}, {276}, {278}}));
  CHECK(equal.sd_of_differences == 0);
  CHECK(equal.floor_acted);
  CHECK(equal.standard_error == digits(std::sqrt(1.0 / 15), 15));
  CHECK(equal.half_width == digits(t * std::sqrt(1.0 / 15), 12));
}

TEST_CASE("round paired: the floor counts each set-up's shots in each round") {
  // φ = ((1 + 1/2)/2 + (1/3 + 1/1)/2)/12 = (3/4 + 2/3)/12 = 17/144; D = 3 both times, so V = φ/2
  const auto r = round_paired(rounds_of({{271}, {272, 272}}, {{274, 274, 274}, {275}}));
  CHECK(r.sd_of_differences == 0);
  CHECK(r.standard_error == digits(std::sqrt(17.0 / 288), 15));
}

TEST_CASE("round paired: rounds that creep by whole steps still leave a whole step open on either side") {
  // Each reading may be off by half a step the same way every time; no number of rounds shows it.
  Readings a, b;
  for (std::int64_t r = 0; r < 40; ++r) {
    a.push_back({271 + r});
    b.push_back({274 + r});
  }
  const auto r = round_paired(rounds_of(a, b));
  CHECK(r.half_width == 1);
  CHECK(r.decided_by == RoundingTerm::display_bound);
  for (const double level : {0.01, 0.5, 0.8})
    CHECK(round_paired(rounds_of(a, b), ConfidenceLevel{level}).half_width >= 1);
}

TEST_CASE("round paired: a round that spans two steps in a set-up, or rounds at odds, leave no common bound") {
  const auto bound = [](const Readings& a, const Readings& b) { return round_paired(rounds_of(a, b)).display_bound; };
  // D = 1 1 2: the gap is in [0, 2] ∩ [0, 2] ∩ [1, 3] = [1, 2] around 4/3, so C = 2/3
  CHECK(bound({{271}, {273}, {275}}, {{272}, {274}, {277}}) == digits(2.0 / 3, 15));
  // D = 1 3: [0, 2] ∩ [2, 4] = {2} = mean, C = 0; D = 1 4: nothing
  CHECK(bound({{271}, {275}}, {{272}, {278}}) == 0);
  CHECK(bound({{271}, {275}}, {{272}, {279}}) == 0);
  // two readings apart by a step pin that average: [1½ ± ½] twice, C = ½
  CHECK(bound({{271, 272}, {275, 276}}, {{273}, {277}}) == 0.5);
  CHECK(bound({{271, 273}, {275, 276}}, {{273}, {277}}) == 0);
  CHECK(bound({{273}, {277}}, {{271, 273}, {275, 276}}) == 0);
}

TEST_CASE("round paired: p is 1 when the gap is within what the display leaves open, and the interval then holds 0") {
  for (const Row& row : rows())
    for (const std::int64_t shift : {-3, -2, -1, 0, 1}) {
      Readings b = row.b;
      for (auto& round : b)
        for (auto& y : round) y += shift;
      const auto r = round_paired(rounds_of(row.a, b), ConfidenceLevel{row.level});
      CHECK((r.p_two_sided > 1 - row.level) == r.interval.contains(0));
    }
  CHECK(round_paired(rounds_of({{271}, {271}, {271}}, {{272}, {272}, {272}})).p_two_sided == 1);
}

TEST_CASE("round paired: the interval at level 1 − p reaches zero and goes no further") {
  for (const Row& row : rows()) {
    const double p = round_paired(rounds_of(row.a, row.b)).p_two_sided;
    if (p >= 1) continue;
    const auto r = round_paired(rounds_of(row.a, row.b), ConfidenceLevel::from_alpha(p));
    CHECK(std::abs(r.difference) == digits(r.half_width, 9));
  }
}

TEST_CASE("round paired: a higher level never shortens the interval") {
  for (const Row& row : rows()) {
    double before = 0;
    for (const double level : {0.05, 0.3, 0.6, 0.8, 0.9, 0.95, 0.99, 0.999}) {
      const double half_width = round_paired(rounds_of(row.a, row.b), ConfidenceLevel{level}).half_width;
      CHECK(half_width >= before);
      before = half_width;
    }
  }
}

TEST_CASE("round paired: swapping the set-ups turns the sign; shifting, and rounds in another order, change nothing") {
  for (const Row& row : rows()) {
    const auto r = round_paired(rounds_of(row.a, row.b)), swapped = round_paired(rounds_of(row.b, row.a)),
               far = round_paired(rounds_of(row.a, row.b, 1'000'000));
    CHECK(swapped.difference == -r.difference);
    CHECK(swapped.half_width == digits(r.half_width, 13));
    CHECK(swapped.p_two_sided == digits(r.p_two_sided, 12));
    CHECK(far.interval == r.interval);
    CHECK(far.p_two_sided == r.p_two_sided);
    Readings a = row.a, b = row.b;
    std::reverse(a.begin(), a.end());
    std::reverse(b.begin(), b.end());
    CHECK(round_paired(rounds_of(a, b)).half_width == digits(r.half_width, 13));
  }
}

TEST_CASE("round paired: readings in tenths are readings in whole steps times a tenth") {
  for (const Row& row : rows()) {
    const auto whole = round_paired(rounds_of(row.a, row.b)), tenth = round_paired(rounds_of(row.a, row.b, 0, 1));
    CHECK(tenth.difference == digits(whole.difference / 10, 15));
    CHECK(tenth.sd_of_differences == within(whole.sd_of_differences / 10, 1e-15));
    CHECK(tenth.standard_error == digits(whole.standard_error / 10, 15));
    CHECK(tenth.half_width == digits(whole.half_width / 10, 14));
    CHECK(tenth.sampling == digits(whole.sampling / 10, 14));
    CHECK(tenth.sampling_with_rounding == digits(whole.sampling_with_rounding / 10, 14));
    CHECK(tenth.display_bound == within(whole.display_bound / 10, 1e-15));
    CHECK(tenth.p_two_sided == whole.p_two_sided);
    CHECK(tenth.decided_by == whole.decided_by);
  }
}

TEST_CASE("round paired: no rounds, one round and mixed displays are refused, with what would help") {
  CHECK_THROWS_WITH_AS(round_paired({}), "round_paired: needs rounds with shots of both set-ups, got none",
                       DomainError);
  CHECK_THROWS_WITH_AS(round_paired(rounds_of({{271, 272}}, {{273, 274}})),
                       "round_paired: one round does not tell how differences vary from round to round; shoot a second "
                       "round, better four, or compare all shots without rounds",
                       NoAnswer);
  const Round whole{sample({271}), sample({273})};
  const std::string mixed = "two set-ups need one display step, got 1 and 0.1";
  CHECK_THROWS_WITH_AS(round_paired({whole, {sample({271}), decimal_sample({2731}, 1)}}), mixed.c_str(), DomainError);
  CHECK_THROWS_WITH_AS(round_paired({whole, {decimal_sample({2731}, 1), sample({271})}}), mixed.c_str(), DomainError);
  CHECK_THROWS_AS(blocking_gain(rounds_of({{271}}, {{273}})), NoAnswer);
}

TEST_CASE("blocking gain: rounds that move by four steps gain eightfold, rounds that do not move cost a little") {
  // Paired: D = 3 3 3, t(0.975; 2)·√(1/15). Unblocked: s² = 16 both, t(0.975; 4)·√(2·16/3); qt(0.975, 4) in R
  const double t2 = std::sqrt(2 * 0.95 * 0.95 / (1 - 0.95 * 0.95)), t4 = 2.776445105197793;
  const auto moving = blocking_gain(rounds_of({{271}, {275}, {279}}, {{274}, {278}, {282}}));
  CHECK(moving.paired_half_width == digits(t2 * std::sqrt(1.0 / 15), 12));
  CHECK(moving.unblocked_half_width == digits(t4 * std::sqrt(32.0 / 3), 12));
  CHECK(moving.ratio == digits(t2 * std::sqrt(1.0 / 15) / (t4 * std::sqrt(32.0 / 3)), 12));
  // a 271 273 275 and b 276 274 278 with D = 5 1 3: paired s² = 4, V = 4/3; unblocked 4/3 + 4/3
  const auto still = blocking_gain(rounds_of({{271}, {273}, {275}}, {{276}, {274}, {278}}));
  CHECK(still.ratio == digits(t2 * std::sqrt(4.0 / 3) / (t4 * std::sqrt(8.0 / 3)), 12));
  CHECK(still.ratio > 1);
  CHECK(blocking_gain(rounds_of({{271}, {273}, {275}}, {{276}, {274}, {278}}), ConfidenceLevel{0.8}).paired_half_width <
        still.paired_half_width);
}

TEST_CASE("round paired: three rounds keep their level at every phase, where the rule for one mean fails differences") {
  // Every outcome of one shot each in three rounds, by its chance; true means at 0, 1/50, … of a step.
  const auto worst = [](double sd, const auto& half_width) {
    constexpr int places = 50, values = 3, outcomes = 729;  // readings 0, 1, 2: within 7 SD of a mean in [0.5, 1.5)
    std::array<double, outcomes> widths{}, gaps{};
    std::array<std::array<int, 6>, outcomes> readings{};
    for (int o = 0; o < outcomes; ++o) {
      const auto i = static_cast<std::size_t>(o);
      for (int rest = o, s = 0; s < 6; ++s, rest /= values) readings[i][static_cast<std::size_t>(s)] = rest % values;
      const auto& y = readings[i];
      widths[i] = half_width(rounds_of({{y[0]}, {y[1]}, {y[2]}}, {{y[3]}, {y[4]}, {y[5]}}));
      gaps[i] = (y[3] + y[4] + y[5] - y[0] - y[1] - y[2]) / 3.0;
    }
    double least = 1;
    for (int p = 0; p < places; ++p)
      for (int q = 0; q < places; ++q) {
        const double mean_a = 0.5 + static_cast<double>(p) / places, mean_b = 0.5 + static_cast<double>(q) / places;
        const auto chance = [&](double mean, int y) {
          const auto below = [&](double edge) { return 0.5 * std::erfc((mean - edge) / sd / std::numbers::sqrt2); };
          return below(y + 0.5) - below(y - 0.5);
        };
        double covered = 0;
        for (std::size_t i = 0; i < outcomes; ++i) {
          if (std::abs(gaps[i] - (mean_b - mean_a)) > widths[i] + 1e-9) continue;
          double product = 1;
          for (std::size_t s = 0; s < 6; ++s) product *= chance(s < 3 ? mean_a : mean_b, readings[i][s]);
          covered += product;
        }
        least = std::min(least, covered);
      }
    return least;
  };
  const auto ours = [](const std::vector<Round>& rounds) { return round_paired(rounds).half_width; };
  const auto as_readings = [](const std::vector<Round>& rounds) {
    std::vector<std::int64_t> differences;
    for (const Round& r : rounds) differences.push_back(r.b.steps()[0] - r.a.steps()[0]);
    return rounding_aware_mean(sample(differences)).half_width;
  };
  CHECK(worst(0.1, ours) > 0.99);
  CHECK(worst(0.02, ours) > 0.99);
  CHECK(worst(0.1, as_readings) < 0.57);
  CHECK(worst(0.02, as_readings) < 0.005);
}
