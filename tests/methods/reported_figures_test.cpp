#include <shotassay/methods/reported_figures.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"
#include "support/published.hpp"
#include "support/reading_sets.hpp"

using namespace shotassay;

namespace {

Decimal printed(const char* text) { return *Decimal::parse(text); }

/// v in thousandths, rounded to so many decimals; an exact half goes up or down.
Decimal rounded(std::int64_t numerator, std::int64_t denominator, int decimals, bool half_up) {
  const std::int64_t p = numerator * Decimal::power_of_ten(decimals), q = denominator * 1000;
  const std::int64_t twice = 2 * p + q;
  std::int64_t whole = twice / (2 * q);
  if (twice % (2 * q) < 0) --whole;
  if (!half_up && twice % (2 * q) == 0) --whole;
  return {whole, decimals};
}

template <class Ask>
std::string message(const Ask& ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

}  // namespace

TEST_CASE("reported_figures: three whole readings that average 281, SD 1.0, are 280 281 282 and nothing else") {
  // D = 6·s², s in [0.95, 1.05]: D from 5.4 to 6.6, so 6; S from 841.5 to 844.5; D = r(3 − r) + 6k is 6 for r = 0 only
  const auto r = reading_sets({.shots = 3, .average = printed("281"), .sd = printed("1.0")});
  CHECK(r.possible);
  REQUIRE(r.sets);
  CHECK(*r.sets == Tally{1});
  REQUIRE(r.states.size() == 1);
  CHECK(r.states[0].sum == 843);
  CHECK(r.states[0].deviations == 6);
  CHECK(*r.mean == Interval{281, 281});
  CHECK(*r.sd == Interval{1, 1});
  CHECK(!r.only_by_a_tie);
}

TEST_CASE("reported_figures: an average alone leaves sets without end, and only its own range is known") {
  // 842/3, 843/3, 844/3 print as 281
  const auto r = reading_sets({.shots = 3, .average = printed("281")});
  CHECK(r.possible);
  CHECK(!r.sets);
  CHECK(!r.sd);
  CHECK(r.states.empty());
  CHECK(r.mean->lower == digits(842.0 / 3, 15));
  CHECK(r.mean->upper == digits(844.0 / 3, 15));
}

TEST_CASE("reported_figures: published averages that whole numbers cannot have, and the tie that they can") {
  for (const char* id : {"grim-5.19-28", "grim-5.27-43", "grim-tie-half"}) {
    CAPTURE(id);
    const Published check{id};
    const auto r = reading_sets(
        {.shots = static_cast<std::int64_t>(check.number("n")), .average = printed(check.text("mean").c_str())});
    CHECK(r.possible == (check.value("mean_ok") == 1.0));
    CHECK(r.only_by_a_tie == (std::string{id} == "grim-tie-half"));
  }
}

TEST_CASE("reported_figures: sums and sets behind printed averages and SDs, counted elsewhere") {
  const Published check{"grimmer-n3"};
  const auto cases = check.text_rows("cases");
  REQUIRE(cases.size() == 9);
  for (std::size_t i = 0; i < cases.size(); ++i) {
    CAPTURE(i);
    const std::string number = std::to_string(i + 1);
    const Decimal average = printed(cases[i][0].c_str()), sd = printed(cases[i][1].c_str());
    const auto both = reading_sets({.shots = 3, .average = average, .sd = sd});
    CHECK(both.sets->approximately() == check.value("sets_" + number));
    CHECK(both.possible == (check.value("sets_" + number) > 0));
    const auto alone = reading_sets({.shots = 3, .average = average});
    CHECK(alone.possible == (check.value("sums_" + number) > 0));
    if (alone.possible)
      CHECK(std::lround(3 * (alone.mean->upper - alone.mean->lower)) + 1 == check.value("sums_" + number));
  }
}

TEST_CASE("reported_figures: parity and Q ≥ S²/n do not suffice: no three whole readings average 281, SD 1.41") {
  // s² = 2: Q = 3·281² + 4 has the parity of S = 843 and exceeds S²/3, but gaps a, b give (a² + ab + b²)/3 = 2 never
  CHECK(!reading_sets({.shots = 3, .average = printed("281.00"), .sd = printed("1.41")}).possible);
}

TEST_CASE("reported_figures: states, counts and ranges are those of every set tried one by one") {
  // Readings within ± 6 steps of a place, figures printed from them or shifted, any of them left out.
  OddNumbers odd{20250101};
  const std::int64_t steps[] = {1000, 100, 500, 200};
  int impossible = 0, many = 0, endless = 0;
  for (int trial = 0; trial < 3000; ++trial) {
    CAPTURE(trial);
    const std::int64_t n = 1 + odd.up_to(4), step = steps[odd.up_to(3)], place = 200 + odd.up_to(100);
    std::vector<std::int64_t> readings;
    const std::int64_t reach = odd.up_to(6);
    for (std::int64_t i = 0; i < n; ++i) readings.push_back(place + odd.up_to(2 * reach) - reach);
    std::sort(readings.begin(), readings.end());
    const auto shifted = [&](Decimal d) {
      return Decimal{d.coefficient() + (odd.up_to(5) == 0 ? odd.up_to(4) - 2 : 0), d.decimals()};
    };
    ReportedFigures r{.shots = n, .display_step = DisplayStep{Decimal{step, 3}}};
    if (odd.up_to(7) != 0)
      r.average = shifted(rounded(sum_of(readings) * step, n, static_cast<int>(odd.up_to(3)), odd.coin()));
    if (odd.coin()) r.low = shifted(rounded(readings.front() * step, 1, static_cast<int>(odd.up_to(3)), true));
    if (odd.coin()) r.high = shifted(rounded(readings.back() * step, 1, static_cast<int>(odd.up_to(3)), false));
    if (odd.coin()) {
      const Decimal d =
          shifted(rounded((readings.back() - readings.front()) * step, 1, static_cast<int>(odd.up_to(3)), true));
      r.spread = Decimal{std::abs(d.coefficient()), d.decimals()};
    }
    if (odd.coin()) {
      r.sd_divisor = odd.coin() ? SdDivisor::n : SdDivisor::n_minus_1;
      const double divisor =
          static_cast<double>(n * (r.sd_divisor == SdDivisor::n ? n : std::max<std::int64_t>(1, n - 1)));
      const int decimals = static_cast<int>(odd.up_to(3));
      const double sd =
          std::sqrt(static_cast<double>(deviations_of(readings)) / divisor) * static_cast<double>(step) / 1e3;
      const Decimal d = shifted({std::lround(sd * std::pow(10.0, decimals)), decimals});
      r.sd = Decimal{std::abs(d.coefficient()), d.decimals()};
    }
    const std::int64_t known = odd.coin() ? 0 : odd.up_to(n);
    for (std::int64_t i = 0; i < known; ++i)
      r.readings.push_back(Decimal{readings[static_cast<std::size_t>(odd.up_to(n - 1))] * step, 3});
    if (!r.average && !r.sd && !r.low && !r.high && !r.spread && r.readings.empty()) continue;

    const ReadingSets found = reading_sets(r);
    // Tried within ± 15 steps: sets that reach further are compared only where the figures bound them.
    const std::int64_t low = place - 15, high = place + 15;
    const auto states = sets_by_hand(r, low, high);
    if (!found.sets) {
      ++endless;
      CHECK(found.possible);
      CHECK(found.states.empty());
      CHECK((!r.low || !r.high));  // both ends bound everything
      if (r.average) CHECK((!r.spread && !r.sd && !r.low && !r.high));
      if (r.average && !states.empty()) {
        CHECK(found.mean->lower <=
              static_cast<double>(states.begin()->first.first * step) / 1e3 / static_cast<double>(n) + 1e-9);
        CHECK(found.mean->upper >=
              static_cast<double>(states.rbegin()->first.first * step) / 1e3 / static_cast<double>(n) - 1e-9);
      }
      continue;
    }
    bool inside = true;
    for (const ReadingState& s : found.states)  // no reading is further from the average than √(D/n)
      inside = inside && std::abs(static_cast<double>(s.sum) / static_cast<double>(n) - static_cast<double>(place)) +
                                 std::sqrt(static_cast<double>(s.deviations) / static_cast<double>(n)) <=
                             15.0;
    if (!inside) continue;
    REQUIRE(found.states.size() == states.size());
    auto expected = states.begin();
    std::int64_t total = 0;
    for (const ReadingState& s : found.states) {
      CHECK(s.sum == expected->first.first);
      CHECK(s.deviations == expected->first.second);
      CHECK(s.sets == Tally{expected->second});
      total += expected->second;
      ++expected;
    }
    CHECK(found.possible == (total > 0));
    CHECK(*found.sets == Tally{total});
    impossible += total == 0;
    many += total > 1;
    if (total == 0) continue;
    CHECK(found.mean->lower ==
          digits(static_cast<double>(states.begin()->first.first * step) / static_cast<double>(1000 * n), 14));
    CHECK(found.mean->upper ==
          digits(static_cast<double>(states.rbegin()->first.first * step) / static_cast<double>(1000 * n), 14));
    CHECK(found.sd.has_value() == (n > 1));
  }
  CHECK(impossible > 300);
  CHECK(many > 300);
  CHECK(endless > 100);
}

TEST_CASE("reported_figures: calm sets are those with at most so many deviations") {
  const ReportedFigures r{.shots = 4, .average = printed("281.2")};
  CHECK(!reading_sets(r).sets);
  const std::int64_t most = 60;  // w² ≤ 2·60/4: w ≤ 5, so readings from 276 to 287
  const auto found = calm_reading_sets(r, most);
  std::int64_t total = 0;
  double least = 1e9, widest = 0;
  every_set(4, 270, 292, [&](const std::vector<std::int64_t>& readings) {
    const std::int64_t d = deviations_of(readings);
    if (!prints_as(readings, r) || d > most) return;
    ++total;
    least = std::min(least, std::sqrt(static_cast<double>(d) / 12));
    widest = std::max(widest, std::sqrt(static_cast<double>(d) / 12));
  });
  CHECK(total > 10);
  CHECK(*found.sets == Tally{total});
  CHECK(found.sd->lower == digits(least, 14));
  CHECK(found.sd->upper == digits(widest, 14));
  // with an SD printed both hold
  CHECK(!calm_reading_sets({.shots = 3, .average = printed("281"), .sd = printed("1.0")}, 5).possible);
  CHECK(calm_reading_sets({.shots = 3, .average = printed("281"), .sd = printed("1.0")}, 6).possible);
}

TEST_CASE("reported_figures: a spread or an SD alone tells how readings scatter, not where they lie") {
  // spread 3 of three: gaps (0,3) (1,2) (2,1) (3,0): D = 18, 14, so s from √(14/6) to √3
  const auto r = reading_sets({.shots = 3, .spread = printed("3")});
  CHECK(r.possible);
  CHECK(!r.sets);
  CHECK(!r.mean);
  CHECK(r.states.empty());
  CHECK(r.sd->lower == digits(std::sqrt(14.0 / 6), 14));
  CHECK(r.sd->upper == digits(std::sqrt(3.0), 14));
  CHECK(!reading_sets({.shots = 3, .sd = printed("1.41")}).possible);
}

TEST_CASE("reported_figures: a low or high alone leaves sets without end, with an average it does not") {
  for (const bool low : {true, false}) {
    ReportedFigures r{.shots = 3};
    (low ? r.low : r.high) = printed("281");
    CHECK(reading_sets(r).possible);
    CHECK(!reading_sets(r).sets);
    CHECK(!reading_sets(r).mean);
    // sums 845, 846, 847; 281 + x + y with 281 ≤ x ≤ y: 2, 3, 4 above in two parts, 2 + 2 + 3 sets. Mirrored: the same
    r.average = low ? printed("282") : printed("280");
    CHECK(*reading_sets(r).sets == Tally{7});
    r.average = low ? printed("280") : printed("282");
    CHECK(!reading_sets(r).possible);
    CHECK(*reading_sets(r).sets == Tally{0});
  }
}

TEST_CASE("reported_figures: one shot has no SD, and two readings known with the sum give the third") {
  CHECK(!reading_sets({.shots = 1, .average = printed("281"), .sd = printed("0")}).possible);
  const auto one =
      reading_sets({.shots = 1, .average = printed("281"), .sd = printed("0"), .sd_divisor = SdDivisor::n});
  CHECK(*one.sets == Tally{1});
  CHECK(!one.sd);
  const auto third =
      reading_sets({.shots = 3, .average = printed("281.33"), .readings = {printed("280"), printed("282")}});
  REQUIRE(third.states.size() == 1);
  CHECK(third.states[0].sum == 844);
  CHECK(third.states[0].deviations == 8);  // 280 282 282
  // more known than fired, and a reading the display cannot show
  CHECK(!reading_sets({.shots = 1, .readings = {printed("280"), printed("282")}}).possible);
  CHECK(!reading_sets({.shots = 3, .readings = {printed("280.5")}}).possible);
  CHECK(
      reading_sets({.shots = 3, .display_step = DisplayStep{printed("0.5")}, .readings = {printed("280.5")}}).possible);
}

TEST_CASE("reported_figures: only by a tie") {
  // 2250/8 = 281.25 prints as 281.2 by rounding half to even, and 281.3 by rounding half up
  for (const char* average : {"281.2", "281.3"}) {
    CHECK(reading_sets({.shots = 4, .average = printed(average)}).only_by_a_tie);
    CHECK(reading_sets({.shots = 4, .average = printed(average), .spread = printed("3")}).only_by_a_tie);
  }
  CHECK(!reading_sets({.shots = 4, .average = printed("281.25")}).only_by_a_tie);
  // 281 282: s = √½ = 0.707, with divisor n 0.5, which prints as 0 or 1
  CHECK(reading_sets({.shots = 2, .average = printed("281.5"), .sd = printed("0"), .sd_divisor = SdDivisor::n})
            .only_by_a_tie);
  CHECK(!reading_sets({.shots = 2, .average = printed("281.5"), .sd = printed("0.5"), .sd_divisor = SdDivisor::n})
             .only_by_a_tie);
}

TEST_CASE("reported_figures: ten readings that span 12 are counted in a few milliseconds of work") {
  // 0 and 12 are there, the other eight any of 13 values: C(20, 8) = 125970 sets for each place of the lowest
  const ReportedFigures r{.shots = 10, .low = printed("275"), .spread = printed("12")};
  CHECK(reading_sets_cost(r).operations < 1e6);
  CHECK(*reading_sets(r).sets == Tally{125970});
}

TEST_CASE("reported_figures: forty readings from 0 to 3 are as many sets as combinatorics says") {
  // 0 and 3 are there, 38 free ones take four values: C(41, 3)
  const auto r = reading_sets({.shots = 40, .low = printed("0"), .high = printed("3")});
  CHECK(*r.sets == Tally{41 * 40 * 39 / 6});
}

TEST_CASE("reported_figures: over the budget it says what that would cost and computes nothing") {
  const ReportedFigures r{.shots = 30, .average = printed("281"), .spread = printed("60")};
  try {
    reading_sets(r, {.operations = 1e6});
    FAIL("no error");
  } catch (const BudgetExceeded& e) {
    const std::string text = e.what();
    CHECK(text.starts_with(
        "reading_sets: counting the sets of 30 readings that span up to 60 display steps needs about "));
    CHECK(text.ends_with("A printed SD, spread, low or high, or a larger budget would fit."));
    CHECK(e.cost().operations == reading_sets_cost(r).operations);
  }
}

TEST_CASE("reported_figures: refusals") {
  const auto refused = [](const ReportedFigures& r) { return message([&] { reading_sets(r); }); };
  CHECK(refused({.shots = 0, .average = printed("281")}) == "reading_sets: needs 1 to 1000 shots, got 0");
  CHECK(refused({.shots = 1001, .average = printed("281")}) == "reading_sets: needs 1 to 1000 shots, got 1001");
  CHECK(refused({.shots = 3}) == "reading_sets: needs at least one printed figure");
  CHECK(refused({.shots = 3, .average = printed("281.0000000001")}) ==
        "reading_sets: an average needs at most 12 digits and 9 decimals, got 281.0000000001");
  CHECK(refused({.shots = 3, .sd = printed("-1")}) == "reading_sets: an SD must not be negative, got -1");
  CHECK(refused({.shots = 3, .spread = printed("-1")}) == "reading_sets: a spread must not be negative, got -1");
  CHECK(refused({.shots = 3, .display_step = DisplayStep{printed("0.001")}, .sd = printed("1001")}) ==
        "reading_sets: an SD of 1001 is too many display steps of 0.001");
  CHECK(refused({.shots = 3, .display_step = DisplayStep{Decimal{1, 10}}, .low = printed("1")}) ==
        "reading_sets: needs a display step of at most 9 decimals, got 0.0000000001");
  CHECK(refused({.shots = 3, .low = printed("1000000000")}) ==
        "reading_sets: a low of 1000000000 is too many display steps of 1");
  CHECK(message([] { calm_reading_sets({.shots = 3, .average = printed("281")}, -1); }) ==
        "calm_reading_sets: needs deviations from 0 to 1e15, got -1");
}
