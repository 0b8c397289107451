#include <shotassay/methods/innocent_causes.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include <shotassay/core/errors.hpp>

#include "support/reading_sets.hpp"

using namespace shotassay;
using enum InnocentCause;

namespace {

Decimal printed(const char* text) { return *Decimal::parse(text); }

/// "281.33 281.67"; "none" when the change does not help.
std::string fits(const InnocentCauses& causes, InnocentCause cause) {
  for (const FittingChange& change : causes.fitting)
    if (change.cause == cause) {
      std::string text;
      for (const Decimal d : change.fits) text += (text.empty() ? "" : " ") + d.text();
      return text;
    }
  return "none";
}

std::string texts(const std::vector<Decimal>& list) {
  std::string text;
  for (const Decimal d : list) text += (text.empty() ? "" : " ") + d.text();
  return list.empty() ? "none" : text;
}

bool some_set(const ReportedFigures& r, std::int64_t low, std::int64_t high) {
  return !sets_by_hand(r, low, high).empty();
}

/// All numbers one digit away, by trying the whole neighbourhood: as many characters, one of them different.
std::vector<Decimal> one_digit_changed(Decimal d) {
  std::vector<Decimal> others;
  for (std::int64_t c = 0; c < 10'000; ++c) {
    const Decimal other{c, d.decimals()};
    const std::string a = d.text(), b = other.text();
    if (a.size() != b.size()) continue;
    int differ = 0;
    for (std::size_t i = 0; i < a.size(); ++i) differ += a[i] != b[i];
    if (differ == 1) others.push_back(other);
  }
  std::stable_sort(others.begin(), others.end(), [&](Decimal a, Decimal b) {
    return std::abs(a.coefficient() - d.coefficient()) < std::abs(b.coefficient() - d.coefficient());
  });
  return others;
}

}  // namespace

TEST_CASE("innocent_causes: three whole readings cannot average 281.4, and what could have been meant") {
  // thirds print as .0, .3, .7; halves and quarters (2 and 4 shots) as .0 .5 and .0 .2 .3 .5 .7 .8
  const auto causes = innocent_causes({.shots = 3, .average = printed("281.4")});
  CHECK(fits(causes, average_nearby) == "281.3 281.7");
  CHECK(fits(causes, average_cut_off) == "none");
  CHECK(fits(causes, one_shot_fewer) == "none");
  CHECK(fits(causes, one_shot_more) == "none");
  CHECK(fits(causes, finer_display) == "0.1");  // 844.1/3 to 844.3/3
  CHECK(fits(causes, average_misprinted) == "281.3 281.7 281.0");
  CHECK(causes.not_examined.empty());
  // five shots have fifths
  CHECK(fits(innocent_causes({.shots = 4, .average = printed("281.4")}), one_shot_more) == "5");
  CHECK(fits(innocent_causes({.shots = 6, .average = printed("281.4")}), one_shot_fewer) == "5");
}

TEST_CASE("innocent_causes: an average that was cut off") {
  // 845/3 = 281.666…: rounded 281.67, cut 281.66
  const auto causes = innocent_causes({.shots = 3, .average = printed("281.66")});
  CHECK(fits(causes, average_cut_off) == "281.67");
  CHECK(fits(causes, average_nearby) == "281.33 281.67");
}

TEST_CASE("innocent_causes: an SD with the other divisor, and one that was cut off") {
  // 280 281 282: s = 1 with n − 1, √(2/3) = 0.816 with n
  const auto other = innocent_causes({.shots = 3, .average = printed("281"), .sd = printed("0.82")});
  CHECK(fits(other, sd_with_other_divisor) == "1.00");
  const auto back =
      innocent_causes({.shots = 3, .average = printed("281.00"), .sd = printed("1.00"), .sd_divisor = SdDivisor::n});
  CHECK(fits(back, sd_with_other_divisor) == "0.82");
  // with nothing to tell where the readings lie
  CHECK(fits(innocent_causes({.shots = 3, .sd = printed("0.82")}), sd_with_other_divisor) == "1.00");
  // 281 281 282: √(1/3) = 0.577
  const auto cut = innocent_causes({.shots = 3, .average = printed("281.33"), .sd = printed("0.57")});
  CHECK(fits(cut, sd_cut_off) == "0.58");
  // 0.58 (0,1), 1.15 (2,0) and none between for an average that ends in .33
  CHECK(fits(cut, sd_nearby) == "0.58");
  CHECK(fits(innocent_causes({.shots = 3, .average = printed("281.33"), .sd = printed("1.00")}), sd_nearby) ==
        "0.58 1.15");
}

TEST_CASE("innocent_causes: figures that are possible need none") {
  const auto causes = innocent_causes({.shots = 3, .average = printed("281.3")});
  CHECK(causes.fitting.empty());
  CHECK(causes.not_examined.empty());
}

TEST_CASE("innocent_causes: a low above the average, one digit off") {
  // the low may be 279, 280 or 281 with a spread of at most … any: every smaller last digit of 285 fits, and 235 … too
  const auto causes =
      innocent_causes({.shots = 3, .average = printed("281"), .low = printed("285"), .high = printed("287")});
  // 3·281 ± 1 from low + x + 287, low ≤ x ≤ 287: low + 287 + low ≤ 844 gives low ≤ 278; low + 574 ≥ 842 gives low ≥ 268
  CHECK(fits(causes, low_misprinted) == "275");
  CHECK(fits(causes, high_misprinted) == "none");
  CHECK(fits(causes, average_nearby) == "286");
}

TEST_CASE("innocent_causes: each change is found exactly when some set of readings tried one by one fits it") {
  OddNumbers odd{77};
  int examined = 0, mended = 0;
  for (int trial = 0; trial < 4000 && examined < 150; ++trial) {
    CAPTURE(trial);
    const std::int64_t n = 2 + odd.up_to(1), low = 30 + odd.up_to(5), high = low + odd.up_to(5);
    ReportedFigures r{.shots = n, .average = Decimal{low * 10 + odd.up_to(10 * (high - low) + 4), 1}};
    r.low = Decimal{low, 0};
    r.high = Decimal{high, 0};
    if (odd.coin()) r.sd = Decimal{odd.up_to(40), 1};
    if (odd.up_to(3) == 0) r.spread = Decimal{odd.up_to(6), 0};
    if (odd.coin()) r.sd_divisor = SdDivisor::n;
    // All sets lie between low and high, wherever these stay as they are.
    if (some_set(r, low, high)) continue;
    ++examined;
    const InnocentCauses causes = innocent_causes(r);
    CHECK(causes.not_examined.empty());
    mended += !causes.fitting.empty();

    ReportedFigures other = r;
    other.shots = n + 1;
    CHECK(fits(causes, one_shot_more) == (some_set(other, low, high) ? std::to_string(n + 1) : "none"));
    other.shots = n - 1;
    CHECK(fits(causes, one_shot_fewer) == (some_set(other, low, high) ? std::to_string(n - 1) : "none"));
    other = r;
    other.display_step = DisplayStep{Decimal{1, 1}};  // low and high stand for ± 0.5 now
    CHECK(fits(causes, finer_display) == (some_set(other, 10 * low - 5, 10 * high + 5) ? "0.1" : "none"));

    // Averages below 100 with one decimal: all of them are tried.
    std::vector<Decimal> averages, expected;
    other = r;
    for (std::int64_t c = 0; c < 1000; ++c) {
      other.average = Decimal{c, 1};
      if (c >= 10 * low - 10 && c <= 10 * high + 10 && some_set(other, low, high)) averages.push_back(*other.average);
    }
    const auto above = std::find_if(averages.begin(), averages.end(),
                                    [&](Decimal d) { return d.coefficient() > r.average->coefficient(); });
    if (above != averages.begin()) expected.push_back(*(above - 1));
    if (above != averages.end()) expected.push_back(*above);
    CHECK(fits(causes, average_nearby) == texts(expected));
    expected.clear();
    for (const Decimal d : one_digit_changed(*r.average))
      if (std::any_of(averages.begin(), averages.end(), [&](Decimal a) { return a.coefficient() == d.coefficient(); }))
        expected.push_back(d);
    CHECK(fits(causes, average_misprinted) == texts(expected));
    bool cut = false;
    other = r;
    other.average.reset();
    for (const auto& [state, sets] : sets_by_hand(other, low, high)) {
      const std::int64_t tenths = 10 * state.first, v = r.average->coefficient();
      cut = cut || (tenths >= n * v && tenths < n * (v + 1));
    }
    CHECK(fits(causes, average_cut_off) == (cut ? Decimal{r.average->coefficient() + 1, 1}.text() : "none"));

    if (r.sd) {
      other = r;
      other.sd_divisor = r.sd_divisor == SdDivisor::n ? SdDivisor::n_minus_1 : SdDivisor::n;
      std::vector<Decimal> sds;
      const auto states = sets_by_hand(other, low, high);
      for (std::int64_t c = 0; c < 100; ++c) {
        ReportedFigures as_asked = r;
        as_asked.sd = Decimal{c, 1};
        const auto asked = sets_by_hand(as_asked, low, high);
        if (std::any_of(asked.begin(), asked.end(), [&](const auto& s) { return states.contains(s.first); }))
          sds.push_back(*as_asked.sd);
      }
      CHECK(fits(causes, sd_with_other_divisor) == texts(sds));
      sds.clear();
      other = r;
      for (std::int64_t c = 0; c < 100; ++c) {
        other.sd = Decimal{c, 1};
        if (some_set(other, low, high)) sds.push_back(*other.sd);
      }
      expected.clear();
      const auto larger =
          std::find_if(sds.begin(), sds.end(), [&](Decimal d) { return d.coefficient() > r.sd->coefficient(); });
      if (larger != sds.begin()) expected.push_back(*(larger - 1));
      if (larger != sds.end()) expected.push_back(*larger);
      CHECK(fits(causes, sd_nearby) == texts(expected));
      expected.clear();
      for (const Decimal d : one_digit_changed(*r.sd))
        if (std::any_of(sds.begin(), sds.end(), [&](Decimal s) { return s.coefficient() == d.coefficient(); }))
          expected.push_back(d);
      CHECK(fits(causes, sd_misprinted) == texts(expected));
    }
    for (const bool of_low : {true, false}) {
      expected.clear();
      for (const Decimal d : one_digit_changed(of_low ? *r.low : *r.high)) {
        other = r;
        (of_low ? other.low : other.high) = d;
        if (some_set(other, other.low->coefficient(), other.high->coefficient())) expected.push_back(d);
      }
      CHECK(fits(causes, of_low ? low_misprinted : high_misprinted) == texts(expected));
    }
    if (r.spread) {
      expected.clear();
      for (const Decimal d : one_digit_changed(*r.spread)) {
        other = r;
        other.spread = d;
        if (some_set(other, low, high)) expected.push_back(d);
      }
      CHECK(fits(causes, spread_misprinted) == texts(expected));
    }
  }
  CHECK(examined == 150);
  CHECK(mended > 50);
}

TEST_CASE("innocent_causes: what the budget did not reach is named, what is cheap is still found") {
  const ReportedFigures r{.shots = 10, .average = printed("281.37"), .sd = printed("1.40"), .high = printed("285")};
  const auto all = innocent_causes(r);
  CHECK(all.not_examined.empty());
  const auto some = innocent_causes(r, {.operations = 2e3});
  CHECK(!some.not_examined.empty());
  for (const FittingChange& change : some.fitting) CHECK(fits(all, change.cause) == fits(some, change.cause));
}

TEST_CASE("innocent_causes: refuses what reading_sets refuses") {
  CHECK_THROWS_WITH_AS(innocent_causes({.shots = 3}), "reading_sets: needs at least one printed figure", DomainError);
}
