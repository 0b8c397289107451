#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <shotassay/methods/moderated.hpp>
#include <shotassay/methods/pooled.hpp>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

using namespace shotassay;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

double real_in(const std::string& text) { return text == "Inf" ? infinity : number_in(text); }

std::vector<Sample> setups_in(const std::string& text) {
  std::vector<Sample> setups;
  std::istringstream parts{text};
  for (std::string part; std::getline(parts, part, '/');) setups.push_back(sample(steps_in(part)));
  return setups;
}

ScatterPrior prior(double variance, double d0, double d_of_strings = infinity) {
  return {.variance = variance, .degrees_of_freedom = d0, .degrees_of_freedom_of_strings = d_of_strings};
}

}  // namespace

TEST_CASE("moderated: gap, t, degrees of freedom and p of many items agree with limma to 1e-8") {
  int compared = 0;
  for (const auto& row : reference_table("limma.csv", "t")) {
    CAPTURE(row[3]);
    CAPTURE(row[6]);
    std::vector<StringScatter> items;
    std::istringstream words{row[4]};
    const double d = number_in(row[5]);
    for (std::string word; words >> word;) items.push_back({.variance = number_in(word), .degrees_of_freedom = d});
    const ScatterPrior history = scatter_prior(items, false);
    CHECK(history.variance == digits(number_in(row[7]), 9));
    const double d0 = real_in(row[8]);
    if (std::isfinite(d0)) CHECK(history.degrees_of_freedom == digits(d0, 9));
    const StringScatter item = items.at(static_cast<std::size_t>(number_in(row[6])));
    CHECK(squeezed_variance(history, item.variance, d) == digits(number_in(row[9]), 9));
    // Ours bounds the weight of a history and sets it aside where it does not fit; limma bounds d0 + d instead.
    const double of_all = d * static_cast<double>(items.size());
    if (d0 + d > of_all || number_in(row[14]) < 0.1) continue;
    const auto readings = steps_in(row[3]);
    const auto split = readings.begin() + std::stol(row[1]);
    const Sample a = decimal_sample({readings.begin(), split}, 1), b = decimal_sample({split, readings.end()}, 1);
    if (a.span() <= 1 || b.span() <= 1 || rounded_group(a).moments.n == 2 || rounded_group(b).moments.n == 2) continue;
    const ModeratedResult r = moderated(a, b, history);
    CHECK(r.history_fits);
    CHECK(r.p_scatter == digits(number_in(row[14]), 9));
    CHECK(r.difference == within(number_in(row[10]), 1e-10));
    CHECK(r.moderated_sd * r.moderated_sd == digits(number_in(row[9]), 9));
    CHECK(r.t == within(number_in(row[11]), 1e-8 * std::abs(r.t) + 1e-10));
    CHECK(r.degrees_of_freedom == digits(number_in(row[12]), 9));
    CHECK(r.p_two_sided == digits(number_in(row[13]), 8));
    CHECK(r.half_width == r.sampling);
    ++compared;
  }
  CHECK(compared > 80);
}

TEST_CASE("moderated: three hundred rounded tests agree with the formula in R") {
  int set_aside = 0, bounded = 0;
  for (const auto& row : reference_table("moderated.csv")) {
    CAPTURE(row[0]);
    CAPTURE(row[4]);
    CAPTURE(row[5]);
    const auto setups = setups_in(row[0]);
    const auto from = static_cast<std::size_t>(number_in(row[1])), to = static_cast<std::size_t>(number_in(row[2]));
    const ModeratedResult r = moderated(setups, from, to, prior(number_in(row[4]), real_in(row[5]), number_in(row[6])),
                                        ConfidenceLevel{number_in(row[3])});
    // R's studentized range is good to some six digits at these degrees of freedom.
    const bool pair = setups.size() == 2;
    const int count = pair ? 11 : 5;
    CHECK(r.difference == within(number_in(row[7]), 1e-11));
    CHECK(r.pooled_sd == digits(number_in(row[8]), 12));
    CHECK(r.moderated_sd == digits(number_in(row[9]), 12));
    CHECK(r.degrees_of_freedom == digits(real_in(row[10]), 14));
    CHECK(r.sampling == digits(number_in(row[11]), count));
    CHECK(r.sampling_with_rounding == digits(number_in(row[12]), count));
    CHECK(r.display_bound == within(number_in(row[13]), 1e-11 * (1 + r.display_bound)));
    CHECK(r.half_width == digits(number_in(row[14]), count));
    CHECK(r.p_two_sided == within(number_in(row[15]), pair ? 1e-9 * r.p_two_sided : 2e-6));
    CHECK(r.p_scatter == digits(number_in(row[16]), 10));
    CHECK(r.history_fits == (number_in(row[16]) >= 0.1));
    CHECK(r.interval.half_width() == digits(r.half_width, 12));
    CHECK(r.decided_by == (r.half_width == r.display_bound ? RoundingTerm::display_bound
                           : r.half_width == r.sampling    ? RoundingTerm::sampling
                                                           : RoundingTerm::sampling_and_rounding));
    set_aside += !r.history_fits;
    bounded += r.decided_by == RoundingTerm::display_bound;
  }
  CHECK(set_aside > 20);
  CHECK(bounded > 20);
}

TEST_CASE("moderated: worked by hand") {
  // 271 272 273 and 275 277 279: s² = (2 + 8)/4 = 2.5 on 4; prior variance 2 on 6 of 20: s̃² = (12 + 10)/10 = 2.2,
  // ν = 10; se² = 2.2·2/3; t = 5/√(22/15); t(0.975; 10) = 2.2281388520 (R: qt(.975, 10))
  const ModeratedResult r = moderated(sample({271, 272, 273}), sample({275, 277, 279}), prior(2, 6, 20));
  CHECK(r.difference == 5);
  CHECK(r.prior_sd == digits(std::sqrt(2.0), 15));
  CHECK(r.prior_degrees_of_freedom == 6);
  CHECK(r.pooled_sd == digits(std::sqrt(2.5), 15));
  CHECK(r.pooled_degrees_of_freedom == 4);
  CHECK(r.moderated_sd == digits(std::sqrt(2.2), 15));
  CHECK(r.degrees_of_freedom == 10);
  CHECK(r.standard_error == digits(std::sqrt(22.0 / 15), 15));
  CHECK(r.t == digits(5 / std::sqrt(22.0 / 15), 15));
  CHECK(r.half_width == digits(2.2281388520 * std::sqrt(22.0 / 15), 10));
  CHECK(r.interval.lower == digits(5 - 2.2281388520 * std::sqrt(22.0 / 15), 10));
  CHECK(r.decided_by == RoundingTerm::sampling);
  // pf(1.25, 4, 6, lower.tail = FALSE) in R
  CHECK(r.p_scatter == digits(0.383580356533, 11));
  CHECK(r.history_fits);
}

TEST_CASE("moderated: without a history it is the pooled t where no display term acts") {
  const Sample a = sample({271, 273, 274, 270, 272}), b = sample({276, 274, 277, 275, 279});
  for (const ScatterPrior& none : {prior(3, 0), prior(3, infinity, 0)}) {
    const ModeratedResult r = moderated(a, b, none);
    const PooledResult p = pooled(a, b);
    CHECK(r.half_width == digits(p.interval.half_width(), 14));
    CHECK(r.t == digits(p.t, 14));
    CHECK(r.p_two_sided == digits(p.p_two_sided, 13));
    CHECK(r.degrees_of_freedom == 8);
    CHECK(r.moderated_sd == r.pooled_sd);
    CHECK(r.p_scatter == 1);
    CHECK(r.history_fits);
    CHECK(r.prior_degrees_of_freedom == 0);
  }
}

TEST_CASE("moderated: a strong history shortens three shots a side by more than a third") {
  // s² = 1 in both; S without: t(0.975; 4)·√(2/3); with: z·√(2/3), z/t = 1.959964/2.776445 = 0.7059.
  // Welch's default has ν = 4 here as well; where one SD is by chance small, ν falls to 2 and its factor to 4.3.
  const Sample a = sample({271, 272, 273}), b = sample({276, 276, 278});
  const ModeratedResult r = moderated(a, b, prior(1, infinity));
  CHECK(r.half_width == digits(1.959963984540054 * std::sqrt(2.0 / 3), 13));
  CHECK(r.half_width < 2.0 / 3 * rounding_aware(a, b).half_width);
}

TEST_CASE("moderated: the weight of a history is at most the degrees of freedom of its strings") {
  const Sample a = sample({271, 272, 273}), b = sample({275, 277, 279});
  const ModeratedResult bound = moderated(a, b, prior(2, infinity, 12)), plain = moderated(a, b, prior(2, 12));
  CHECK(bound.prior_degrees_of_freedom == 12);
  CHECK(bound.half_width == plain.half_width);
  CHECK(bound.degrees_of_freedom == 16);
  // (12·2 + 4·2.5)/16
  CHECK(bound.moderated_sd == digits(std::sqrt(34.0 / 16), 14));
}

TEST_CASE("moderated: a history that this test's scatter does not fit is set aside") {
  // s² = 2.5 on 4, prior 0.25 on 20: pf(10, 4, 20, lower.tail = FALSE) = 0.00012983567 in R
  const Sample a = sample({271, 272, 273}), b = sample({275, 277, 279});
  const ModeratedResult r = moderated(a, b, prior(0.25, 20));
  CHECK_FALSE(r.history_fits);
  CHECK(r.p_scatter == digits(0.000129835673198, 10));
  CHECK(r.degrees_of_freedom == 4);
  CHECK(r.half_width == digits(pooled(a, b).interval.half_width(), 14));
  CHECK(r.prior_sd == 0.5);  // still told
  CHECK(r.prior_degrees_of_freedom == 20);
  // Less scatter than the history is no reason: the interval is only longer than need be.
  CHECK(moderated(a, b, prior(50, 20)).history_fits);
}

TEST_CASE("moderated: equal readings never claim an interval narrower than their display cells") {
  // However small the SD of the history: two means are each ±½.
  for (const double variance : {1e-6, 1.0 / 12, 1.0})
    for (const double d0 : {0.0, 5.0, infinity}) {
      const ModeratedResult r = moderated(sample({271, 271, 271}), sample({272, 272, 272}), prior(variance, d0, 60));
      CHECK(r.half_width >= 1);
      CHECK(r.p_two_sided == 1);
    }
  // And no variance below 1/12, what a cell hides, is believed on a display of whole steps.
  const ModeratedResult fine = moderated(sample({271, 271, 271}), sample({274, 274, 274}), prior(1.0 / 12, infinity));
  CHECK(fine.moderated_sd == digits(std::sqrt(1.0 / 12), 14));
  CHECK(moderated(sample({271, 271, 271}), sample({274, 274, 274}), prior(1e-4, 0.001)).moderated_sd ==
        digits(std::sqrt(1.0 / 12), 4));
  CHECK(moderated(sample({271, 271}), sample({274, 274}), prior(1e-4, infinity)).half_width >= 1);
}

TEST_CASE("moderated: one set-up all equal beside one that is not has the one-sided bound") {
  // 271 271 271 beside 272 272 273, prior 1/3 on 16 of 16: s² = (2/12 + 2/3)/4 = 0.2083…, s̃² = (16/3 + 5/6)/20;
  // E = ½ + t(0.95; 20)·√(max(1/3, s̃²)/3), t(0.95; 20) = 1.724718243 (R: qt(.95, 20))
  const ModeratedResult r = moderated(sample({271, 271, 271}), sample({272, 272, 273}), prior(1.0 / 3, 16));
  CHECK(r.moderated_sd * r.moderated_sd == digits((16.0 / 3 + 5.0 / 6) / 20, 14));
  CHECK(r.display_bound == digits(0.5 + 1.724718243 / 3, 9));
}

TEST_CASE("moderated: p is the level at which the interval ends at 0") {
  const Sample a = sample({271, 272, 271}), b = sample({273, 275, 274, 276, 272}), c = sample({271, 271, 271});
  const std::vector<Sample> three{a, b, c};
  for (const auto& pair : {std::pair<std::size_t, std::size_t>{0, 1}, {1, 0}, {2, 1}}) {
    const ScatterPrior history = prior(2, 9, 30);
    const double p = moderated(three, pair.first, pair.second, history).p_two_sided;
    REQUIRE(p < 1);
    const auto ends_at = [&](double alpha) {
      const ModeratedResult r = moderated(three, pair.first, pair.second, history, ConfidenceLevel::from_alpha(alpha));
      return std::abs(r.difference) - r.half_width;
    };
    CHECK(ends_at(p * (1 + 1e-6)) > 0);
    CHECK(ends_at(p * (1 - 1e-6)) < 0);
  }
}

TEST_CASE("moderated: in a family all set-ups tell the SD, and the factor is the studentized range's") {
  // Three of three shots with s² = 1, 1, 4: s² = 2 on 6, prior 2 on 6: s̃² = 2, ν = 12; q(0.95; 3, 12) = 3.772928965727
  // (SciPy: studentized_range.ppf(.95, 3, 12)), se = √(4/3)
  const std::vector<Sample> three{sample({271, 272, 273}), sample({275, 276, 277}), sample({278, 280, 282})};
  const ModeratedResult r = moderated(three, 0, 1, prior(2, 6));
  CHECK(r.degrees_of_freedom == 12);
  CHECK(r.half_width == digits(3.772928965727 / std::sqrt(2.0) * std::sqrt(4.0 / 3), 9));
  CHECK(moderated(three, 1, 0, prior(2, 6)).difference == -r.difference);
  CHECK(std::isinf(moderated(three, 0, 1, prior(2, infinity)).degrees_of_freedom));
}

TEST_CASE("moderated: results are in the readings' unit, the prior in its square") {
  const ModeratedResult whole = moderated(sample({2711, 2723, 2716}), sample({2755, 2741, 2749}), prior(40, 7, 30));
  const ModeratedResult tenths =
      moderated(decimal_sample({2711, 2723, 2716}, 1), decimal_sample({2755, 2741, 2749}, 1), prior(0.4, 7, 30));
  CHECK(tenths.half_width == digits(whole.half_width / 10, 13));
  CHECK(tenths.difference == digits(whole.difference / 10, 13));
  CHECK(tenths.moderated_sd == digits(whole.moderated_sd / 10, 13));
  CHECK(tenths.pooled_sd == digits(whole.pooled_sd / 10, 13));
  CHECK(tenths.prior_sd == digits(whole.prior_sd / 10, 13));
  CHECK(tenths.sampling_with_rounding == digits(whole.sampling_with_rounding / 10, 13));
  CHECK(tenths.display_bound == 0);
  CHECK(tenths.t == digits(whole.t, 13));
  CHECK(tenths.p_two_sided == digits(whole.p_two_sided, 12));
  CHECK(tenths.p_scatter == digits(whole.p_scatter, 12));
  CHECK(tenths.degrees_of_freedom == whole.degrees_of_freedom);
}

TEST_CASE("moderated: mistakes are refused, each with what was got") {
  const Sample a = sample({271, 272, 273}), one = sample({271});
  const std::vector<Sample> two{a, a};
  CHECK_THROWS_WITH_AS(moderated(two, 0, 2, prior(1, 4)), "moderated: needs two different set-ups out of 2",
                       DomainError);
  CHECK_THROWS_AS(moderated(two, 2, 0, prior(1, 4)), DomainError);
  CHECK_THROWS_AS(moderated(two, 1, 1, prior(1, 4)), DomainError);
  CHECK_THROWS_WITH_AS(moderated(a, a, prior(0, 4)),
                       "moderated: the prior variance must be above 0 and finite, got 0.000000", DomainError);
  CHECK_THROWS_AS(moderated(a, a, prior(infinity, 4)), DomainError);
  CHECK_THROWS_WITH_AS(moderated(a, a, prior(1, -1)),
                       "moderated: degrees of freedom must not be below 0, got -1.000000", DomainError);
  CHECK_THROWS_AS(moderated(a, a, prior(1, 4, std::nan(""))), DomainError);
  CHECK_THROWS_AS(moderated(a, one, prior(1, 4)), DomainError);
  CHECK_THROWS_AS(moderated(a, decimal_sample({2710, 2720}, 1), prior(1, 4)), DomainError);
}
