#include <shotassay/studies/audit.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/widened_gap.hpp>

#include "support/close.hpp"
#include "support/reading_sets.hpp"

using namespace shotassay;

namespace {

Decimal printed(const char* text) { return *Decimal::parse(text); }

AuditedSetup setup(const char* name, std::int64_t shots, const char* average, const char* sd = nullptr) {
  AuditedSetup s{.name = name, .figures = {.shots = shots, .average = printed(average)}};
  if (sd) s.figures.sd = printed(sd);
  return s;
}

/// Counted by the program's own method of comparison, applied to every pair of sets, one by one.
struct ByHand {
  std::int64_t counts[4] = {0, 0, 0, 0};
  double narrowest = 1e300, widest = -1;
  std::int64_t from_sets = 0, to_sets = 0;
};

std::vector<Sample> samples_behind(const ReportedFigures& r, std::int64_t low, std::int64_t high) {
  std::vector<Sample> samples;
  every_set(r.shots, low, high, [&](const std::vector<std::int64_t>& readings) {
    if (prints_as(readings, r)) samples.push_back({readings, r.display_step});
  });
  return samples;
}

double mean_of(const Sample& s) {
  double sum = 0;
  for (const std::int64_t x : s.steps()) sum += static_cast<double>(x);
  return sum / static_cast<double>(s.size()) * s.step().value();
}

ByHand by_hand(const AuditedSetup& a, const AuditedSetup& b, std::int64_t low, std::int64_t high,
               const AuditOptions& options, Family family) {
  ByHand result;
  const auto from = samples_behind(a.figures, low, high), to = samples_behind(b.figures, low, high);
  result.from_sets = static_cast<std::int64_t>(from.size());
  result.to_sets = static_cast<std::int64_t>(to.size());
  for (const Sample& x : from)
    for (const Sample& y : to) {
      const auto r = rounding_aware(x, y, options.level, family);
      Interval interval = r.interval;
      if (a.accuracy || b.accuracy) {
        const double u = a.accuracy.value_or(0) * mean_of(x), v = b.accuracy.value_or(0) * mean_of(y);
        interval = widened_gap({r.difference, r.standard_error, r.degrees_of_freedom, r.half_width},
                               std::sqrt((u * u + v * v) / 3), options.level, family)
                       .interval;
      }
      ++result.counts[static_cast<int>(verdict(interval, options.margin))];
      result.narrowest = std::min(result.narrowest, interval.half_width());
      result.widest = std::max(result.widest, interval.half_width());
    }
  return result;
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

TEST_CASE("audit: 281 ± 1.0 against 284 ± 1.0, three shots each, is one pair of sets and carries faster") {
  // 280 281 282 against 283 284 285: s² = 1, V = 1/3 each, ν = 4, H = 2.776·√(2/3) = 2.267 < 3
  AuditOptions options{.claimed = Verdict::faster};
  const Audit r = audit({setup("14", 3, "281", "1.0"), setup("18", 3, "284", "1.0")}, options);
  REQUIRE(r.gaps.size() == 1);
  const GapAudit& gap = r.gaps[0];
  CHECK(*gap.printed_gap == 3);
  CHECK(*gap.difference == Interval{3, 3});
  CHECK(*gap.verdicts->faster == Tally{1});
  CHECK(*gap.verdicts->open == Tally{0});
  CHECK(*gap.support == ClaimSupport::every_pair);
  CHECK(gap.tightest->interval.lower == within(3 - 2.266958, 1e-6));
  CHECK(gap.tightest->verdict == Verdict::faster);
  CHECK(gap.widest->interval == gap.tightest->interval);
  CHECK(*r.setups[0].sets == Tally{1});
  CHECK(r.setups[0].possible);
  CHECK(r.setups[0].causes.empty());
}

TEST_CASE("audit: counts, ranges and extremes are those of every pair of sets compared one by one") {
  OddNumbers odd{4242};
  int compared = 0, decided = 0, mixed = 0;
  for (int trial = 0; trial < 4000 && compared < 80; ++trial) {
    CAPTURE(trial);
    const bool tenths = odd.up_to(3) == 0;
    const DisplayStep step = tenths ? DisplayStep{Decimal{1, 1}} : DisplayStep{Decimal{1, 0}};
    const auto some_setup = [&](const char* name) {
      const std::int64_t low = 100 + odd.up_to(4), spread = odd.up_to(6);
      ReportedFigures f{.shots = 2 + odd.up_to(3), .display_step = step};
      f.low = Decimal{low, tenths ? 1 : 0};
      f.high = Decimal{low + spread, tenths ? 1 : 0};
      if (odd.coin()) f.average = Decimal{10 * low + odd.up_to(10 * spread), tenths ? 2 : 1};
      if (odd.coin()) f.sd = Decimal{odd.up_to(30), tenths ? 2 : 1};
      return AuditedSetup{.name = name, .figures = f};
    };
    std::vector<AuditedSetup> setups{some_setup("a"), some_setup("b")};
    AuditOptions options;
    const bool third = odd.up_to(5) == 0;
    if (third) setups.push_back(some_setup("c"));
    if (odd.coin()) options.margin = tenths ? 0.35 : 3.5;
    if (odd.up_to(2) == 0) options.level = ConfidenceLevel{0.8};
    if (odd.up_to(4) == 0) setups[0].accuracy = 0.005;
    if (odd.up_to(4) == 0) setups[1].accuracy = 0.01;
    const ByHand expected = by_hand(setups[0], setups[1], 95, 115, options, Family{third ? 3 : 2});
    if (expected.from_sets * expected.to_sets == 0 || expected.from_sets * expected.to_sets > (third ? 200 : 20000))
      continue;
    ++compared;
    const Audit r = audit(setups, options);
    CHECK(r.family == (third ? 3 : 2));
    CHECK(r.gaps.size() == (third ? 3 : 1));
    const GapAudit& gap = r.gaps[0];
    REQUIRE(gap.verdicts);
    CHECK(*r.setups[0].sets == Tally{expected.from_sets});
    CHECK(*r.setups[1].sets == Tally{expected.to_sets});
    CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
    CHECK(*gap.verdicts->slower == Tally{expected.counts[1]});
    CHECK(*gap.verdicts->same == Tally{expected.counts[2]});
    CHECK(*gap.verdicts->open == Tally{expected.counts[3]});
    CHECK(gap.tightest->half_width == digits(expected.narrowest, 12));
    CHECK(gap.widest->half_width == digits(expected.widest, 12));
    decided += expected.counts[3] == 0;
    mixed += expected.counts[3] > 0 && expected.counts[3] < expected.from_sets * expected.to_sets;
  }
  CHECK(compared == 80);
  CHECK(decided > 3);
  CHECK(mixed > 10);
}

TEST_CASE("audit: where thousands of half-widths are interpolated the counts stay those of the exact ones") {
  AuditedSetup a{.name = "a", .figures = {.shots = 5, .low = printed("278"), .high = printed("285")}};
  AuditedSetup b{.name = "b", .figures = {.shots = 4, .low = printed("281"), .high = printed("288")}};
  for (const std::optional<double> margin : {std::optional<double>{}, std::optional{6.0}}) {
    const AuditOptions options{.margin = margin};
    const ByHand expected = by_hand(a, b, 278, 288, options, Family{});
    CHECK(expected.from_sets * expected.to_sets == 120 * 36);  // C(10, 3) and C(9, 2)
    const GapAudit gap = audit({a, b}, options).gaps[0];
    CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
    CHECK(*gap.verdicts->slower == Tally{expected.counts[1]});
    CHECK(*gap.verdicts->same == Tally{expected.counts[2]});
    CHECK(*gap.verdicts->open == Tally{expected.counts[3]});
    CHECK(gap.tightest->half_width == digits(expected.narrowest, 14));
    CHECK(gap.widest->half_width == digits(expected.widest, 14));
    CHECK(!gap.printed_gap);
    CHECK(!gap.by_shots[0].tipping);
  }
  AuditedSetup c = setup("c", 2, "283");
  c.figures.spread = printed("2");
  const ByHand expected = by_hand(a, b, 278, 288, {}, Family{3});  // a family's factors come from a table too
  const GapAudit gap = audit({a, b, c}).gaps[0];
  CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
  CHECK(*gap.verdicts->open == Tally{expected.counts[3]});
}

TEST_CASE("audit: of averages alone the sets that carry a claim are finitely many, and all of them are counted") {
  // Gaps up to 11/3 need c·√V < 11/3, so D ≤ 18·(3.667/2.776)² < 32 and w ≤ √(2·32/3) < 5; tried out to ± 12.
  for (const auto& [margin, claimed] : std::vector<std::pair<std::optional<double>, Verdict>>{
           {std::nullopt, Verdict::faster}, {4.0, Verdict::faster}, {6.0, Verdict::same}}) {
    const AuditOptions options{.margin = margin, .claimed = claimed};
    const std::vector<AuditedSetup> setups{setup("14", 3, "281"),
                                           setup("18", 3, claimed == Verdict::same ? "282" : "284")};
    const ByHand expected = by_hand(setups[0], setups[1], 269, 296, options, Family{});
    const Audit r = audit(setups, options);
    const GapAudit& gap = r.gaps[0];
    CHECK(!r.setups[0].sets);
    CHECK(!r.setups[0].sd);
    CHECK(r.setups[0].mean->lower == digits(842.0 / 3, 14));
    CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
    CHECK(*gap.verdicts->slower == Tally{expected.counts[1]});
    CHECK(*gap.verdicts->same == Tally{expected.counts[2]});
    CHECK(expected.counts[static_cast<int>(claimed)] > 0);
    CHECK(!gap.verdicts->open);
    CHECK(*gap.support == ClaimSupport::some_pairs);
    CHECK(gap.tightest->half_width == digits(expected.narrowest, 12));
    CHECK(!gap.widest);
    CHECK(gap.difference->upper - gap.difference->lower == digits(4.0 / 3, 13));
  }
}

TEST_CASE("audit: one side without end, the other counted") {
  std::vector<AuditedSetup> setups{setup("a", 3, "281"), setup("b", 4, "283.5", "0.6")};
  for (int turn = 0; turn < 2; ++turn) {
    const ByHand expected = by_hand(setups[0], setups[1], 268, 296, {}, Family{});
    const GapAudit gap = audit(setups).gaps[0];
    CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
    CHECK(*gap.verdicts->slower == Tally{expected.counts[1]});
    CHECK(expected.counts[turn] > 0);
    CHECK(!gap.verdicts->open);
    std::swap(setups[0], setups[1]);
  }
}

TEST_CASE("audit: averages one step apart may carry faster, equal ones never do") {
  // gaps up to 5/3 from 281 and 282; all equal against two adjacent: E = ½ + t(0.95; 2)·√(1/9) = 1.47, so some carry it
  const GapAudit one = audit({setup("a", 3, "281"), setup("b", 3, "282")}, {.claimed = Verdict::faster}).gaps[0];
  const ByHand expected = by_hand(setup("a", 3, "281"), setup("b", 3, "282"), 272, 291, {}, Family{});
  CHECK(expected.counts[0] > 0);
  CHECK(*one.verdicts->faster == Tally{expected.counts[0]});
  // 281 twice: the gap is at most 2/3
  const GapAudit none = audit({setup("a", 3, "281"), setup("b", 3, "281")}, {.claimed = Verdict::faster}).gaps[0];
  CHECK(*none.support == ClaimSupport::no_pair);
  CHECK(*none.verdicts->faster == Tally{0});
  REQUIRE(none.tightest);
  // wider than every gap here, so the sets that might be narrower had to be looked for further out
  CHECK(none.tightest->half_width ==
        digits(by_hand(setup("a", 3, "281"), setup("b", 3, "281"), 276, 286, {}, Family{}).narrowest, 12));
  CHECK(*none.printed_gap == 0);
}

TEST_CASE("audit: known readings keep the tightest interval from the balanced sets") {
  std::vector<AuditedSetup> setups{setup("a", 3, "281"), setup("b", 3, "282")};
  setups[0].figures.readings = {printed("276")};
  const ByHand expected = by_hand(setups[0], setups[1], 262, 300, {}, Family{});
  const GapAudit gap = audit(setups).gaps[0];
  CHECK(*gap.verdicts->faster == Tally{expected.counts[0]});
  CHECK(gap.tightest->half_width == digits(expected.narrowest, 12));
}

TEST_CASE("audit: an unknown number of shots is answered for each number and over all") {
  AuditedSetup a = setup("a", 2, "281.5", "1"), b = setup("b", 3, "284.3", "0.6");
  a.most_shots = 4;
  const Audit r = audit({a, b}, {.claimed = Verdict::faster});
  REQUIRE(r.setups[0].by_shots.size() == 3);
  REQUIRE(r.gaps[0].by_shots.size() == 3);
  std::int64_t faster = 0, open = 0, sets = 0;
  for (std::int64_t n = 2; n <= 4; ++n) {
    AuditedSetup fixed = a;
    fixed.figures.shots = n;
    const ByHand expected = by_hand(fixed, b, 276, 290, {}, Family{});
    const GapAtShots& at = r.gaps[0].by_shots[static_cast<std::size_t>(n - 2)];
    CHECK(at.from_shots == n);
    CHECK(at.to_shots == 3);
    if (at.verdicts) CHECK(*at.verdicts->faster == Tally{expected.counts[0]});
    CHECK(at.tipping.has_value() == (expected.from_sets > 0));
    faster += expected.counts[0];
    open += expected.counts[3];
    sets += expected.from_sets;
  }
  CHECK(sets > 1);
  CHECK(*r.setups[0].mean == Interval{281.5, 281.5});
  CHECK(r.setups[0].sd->lower == digits(std::sqrt(1.0 / 3), 14));  // 281 281 282 282
  CHECK(r.setups[0].sd->upper <= 1.5);
  CHECK(*r.setups[0].sets == Tally{sets});
  CHECK(*r.gaps[0].verdicts->faster == Tally{faster});
  CHECK(*r.gaps[0].verdicts->open == Tally{open});
}

TEST_CASE("audit: one shot each has no interval, so nothing is carried") {
  AuditedSetup a = setup("a", 1, "281"), b = setup("b", 1, "290");
  const GapAudit gap = audit({a, b}, {.claimed = Verdict::faster}).gaps[0];
  CHECK(*gap.verdicts->open == Tally{1});
  CHECK(*gap.support == ClaimSupport::no_pair);
  CHECK(!gap.tightest);
  CHECK(!gap.by_shots[0].tipping);
}

TEST_CASE("audit: tipping SDs of 281 against 284") {
  const GapAudit gap = audit({setup("a", 3, "281"), setup("b", 3, "284")}).gaps[0];
  const double t = 2.77644510519779;  // R: qt(.975, 4)
  const TippingShotSd& tipping = *gap.by_shots[0].tipping;
  CHECK(*tipping.at_printed == digits(3 / (t * std::sqrt(2.0 / 3)), 13));
  CHECK(*tipping.lowest == digits(7.0 / 3 / (t * std::sqrt(2.0 / 3)), 13));
  CHECK(*tipping.highest == digits(11.0 / 3 / (t * std::sqrt(2.0 / 3)), 13));
}

TEST_CASE("audit: figures that cannot be true give no verdicts, and say what would fit") {
  const Audit r = audit({setup("a", 3, "281.4"), setup("b", 3, "284")}, {.claimed = Verdict::faster});
  CHECK(!r.setups[0].possible);
  REQUIRE(r.setups[0].causes.size() == 1);
  CHECK(!r.setups[0].causes[0].fitting.empty());
  CHECK(r.setups[1].causes.empty());
  const GapAudit& gap = r.gaps[0];
  CHECK(!gap.verdicts);
  CHECK(gap.why_no_verdicts == "no readings have the figures of \"a\"");
  CHECK(!gap.difference);
  CHECK(!gap.support);
  CHECK(*gap.printed_gap == digits(2.6, 14));
}

TEST_CASE("audit: where nothing tells the place, or pairs would cost too much, there are no verdicts and a reason") {
  AuditedSetup placeless{.name = "a", .figures = {.shots = 3, .sd = printed("1.0")}};
  const GapAudit gap = audit({placeless, setup("b", 3, "284")}).gaps[0];
  CHECK(!gap.verdicts);
  CHECK(!gap.printed_gap);
  CHECK(gap.why_no_verdicts == "nothing that was printed tells where the readings lie");
  AuditedSetup a = setup("a", 8, "281"), b = setup("b", 8, "284");
  a.figures.spread = b.figures.spread = printed("12");
  const GapAudit costly = audit({a, b}, {.claimed = Verdict::faster, .budget = {.operations = 1e6}}).gaps[0];
  CHECK(!costly.verdicts);
  CHECK(!costly.support);
  CHECK(!costly.tightest);
  CHECK(costly.difference);
  CHECK(costly.why_no_verdicts.starts_with("audit: judging the pairs of reading sets of \"a\" and \"b\" needs about "));
  CHECK_THROWS_AS(audit({a, b}, {.budget = {.operations = 10}}), BudgetExceeded);
  // a gap of 100 steps with ten shots: sets with an SD of some hundred steps would carry it
  const GapAudit far = audit({setup("a", 10, "200"), setup("b", 10, "300")}).gaps[0];
  CHECK(!far.verdicts);
  CHECK(far.why_no_verdicts.starts_with("reading_sets: counting the sets of 10 readings that span up to "));
  CHECK(far.by_shots[0].tipping);
}

TEST_CASE("audit: two chronographs, each off by 1 % at most, open a gap that one would carry") {
  // w² = (0.01²)(281² + 284²)/3: w = 2.307
  std::vector<AuditedSetup> setups{setup("a", 3, "281", "0.0"), setup("b", 3, "284", "0.0")};
  CHECK(*audit(setups).gaps[0].verdicts->faster == Tally{1});
  setups[0].accuracy = setups[1].accuracy = 0.01;
  const GapAudit gap = audit(setups).gaps[0];
  CHECK(*gap.verdicts->faster == Tally{0});
  CHECK(*gap.verdicts->open == Tally{1});
  const double w = 0.01 * std::sqrt((281.0 * 281 + 284.0 * 284) / 3);
  // u² = 1/18, ν = 4, H = 1, as in widened_gap's own hand-worked example
  const Interval wide =
      widened_gap({.gap = 3, .standard_error = std::sqrt(1.0 / 18), .degrees_of_freedom = 4, .half_width = 1}, w)
          .interval;
  CHECK(gap.tightest->interval.lower == digits(wide.lower, 12));
  CHECK(gap.tightest->interval.upper == digits(wide.upper, 12));
}

TEST_CASE("audit: refusals") {
  const auto refused = [](const std::vector<AuditedSetup>& s, const AuditOptions& o = {}) {
    return message([&] { audit(s, o); });
  };
  AuditedSetup a = setup("a", 3, "281"), b = setup("b", 3, "284");
  CHECK(refused({}) == "audit: needs one or more set-ups");
  CHECK(refused({a, a}) == "audit: two set-ups are named \"a\"");
  CHECK(refused({a, b}, {.margin = 0}) == "audit: the margin must be positive, got 0.000000");
  a.most_shots = 2;
  CHECK(refused({a}) == "audit: \"a\" has from 3 to 2 shots");
  a.most_shots.reset();
  a.accuracy = 0.6;
  CHECK(refused({a}) == "audit: the accuracy of \"a\" must lie from 0 to 0.5, got 0.600000");
  a.accuracy.reset();
  a.figures.display_step = DisplayStep{Decimal{1, 1}};
  CHECK(refused({a, b}) == "two set-ups need one display step, got 0.1 and 1");
  CHECK(refused({AuditedSetup{.name = "x", .figures = {.shots = 3}}}) ==
        "reading_sets: needs at least one printed figure");
}
