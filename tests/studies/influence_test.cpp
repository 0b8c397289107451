#include <shotassay/studies/influence.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <numeric>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/rounding_aware.hpp>

#include "support/samples.hpp"

using namespace shotassay;

namespace {

using Readings = std::vector<std::int64_t>;

ComparedSetup setup(std::string name, const Readings& readings, int decimals = 0) {
  return {.name = std::move(name), .sample = decimal_sample(readings, decimals)};
}

/// The verdict on two lists of readings, by the library's interval itself.
std::optional<Verdict> judged(const Readings& a, const Readings& b, const InfluenceOptions& o, Family family,
                              int decimals) {
  if (a.size() < 2 || b.size() < 2) return std::nullopt;
  return verdict(rounding_aware(decimal_sample(a, decimals), decimal_sample(b, decimals), o.level, family).interval,
                 o.margin);
}

/// One line a shot that tips the verdict: change, set-up, shot, and what it becomes (−1: no range).
using Line = std::tuple<int, std::size_t, std::size_t, int>;

int code(const std::optional<Verdict>& v) { return v ? static_cast<int>(*v) : -1; }

std::vector<Line> listed(const GapInfluence& gap) {
  std::vector<Line> lines;
  for (const TippingShots& t : gap.tipping)
    for (const ShotIndex& s : t.shots) lines.emplace_back(static_cast<int>(t.change), s.setup, s.shot, code(t.becomes));
  std::sort(lines.begin(), lines.end());
  return lines;
}

/// The same by changing the readings one by one; the first shot is that at 0.
std::vector<Line> by_brute_force(const std::vector<Readings>& all, std::size_t from, std::size_t to,
                                 const InfluenceOptions& o, Family family, int decimals) {
  const auto whole = judged(all[from], all[to], o, family, decimals);
  std::vector<Line> lines;
  const auto judge_with = [&](std::size_t i, const Readings& changed) {
    return i == from ? judged(changed, all[to], o, family, decimals) : judged(all[from], changed, o, family, decimals);
  };
  for (const std::size_t i : {from, to})
    for (std::size_t k = 0; k < all[i].size(); ++k) {
      Readings left = all[i], up = all[i], down = all[i];
      left.erase(left.begin() + static_cast<std::ptrdiff_t>(k));
      ++up[k];
      --down[k];
      for (const auto& [change, readings] :
           {std::pair{ReadingChange::without_shot, left}, std::pair{ReadingChange::one_step_up, up},
            std::pair{ReadingChange::one_step_down, down}})
        if (const auto becomes = judge_with(i, readings); becomes != whole)
          lines.emplace_back(static_cast<int>(change), i, k, code(becomes));
    }
  const auto rest = [](const Readings& r) { return Readings(r.begin() + 1, r.end()); };
  if (const auto becomes = judged(rest(all[from]), rest(all[to]), o, family, decimals); becomes != whole)
    for (const std::size_t i : {from, to})
      lines.emplace_back(static_cast<int>(ReadingChange::without_first_shots), i, 0, code(becomes));
  std::sort(lines.begin(), lines.end());
  return lines;
}

/// All lists of `n` readings from 0 to `top`, in ascending order.
std::vector<Readings> multisets(std::size_t n, std::int64_t top) {
  std::vector<Readings> out;
  Readings r(n, 0);
  while (true) {
    out.push_back(r);
    std::size_t i = n;
    while (i > 0 && r[i - 1] == top) --i;
    if (i == 0) return out;
    const std::int64_t next = r[i - 1] + 1;
    std::fill(r.begin() + static_cast<std::ptrdiff_t>(i) - 1, r.end(), next);
  }
}

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

const TippingShots* find(const GapInfluence& gap, ReadingChange change) {
  for (const TippingShots& t : gap.tipping)
    if (t.change == change) return &t;
  return nullptr;
}

}  // namespace

TEST_CASE("influence: 271 271 271 against 272 272 273 is open, and one display step would make it faster") {
  // Whole: gap 4/3, E = ½ + t(0.95; 2)·√(1/9) = 0.5 + 2.919986/3 = 1.473: open.
  // b 273 273 272: gap 5/3, the same E = 1.473, S(0) = 1.200 (rounding.md's row mirrored): faster.
  // a 270 271 271: gap 5/3, neither all equal: E = 1/3, S(0) = t(0.975; 4)·√(2/9) = 2.776·0.471 = 1.309, S(T) at
  //   most 2.776·√(2/9 + 1/54) = 1.362: faster.
  // b 272 272 274: gap 5/3, V = 4/9, E = 0.5 + 2.920·2/3 = 2.447: open. b 273 gone: gap 1 = E, which touches: open.
  // b 272 gone: gap 3/2, E = ½ + t(0.95; 1)·½ = ½ + 6.314/2: open. One shot of a gone: the gap stays 4/3: open.
  // a 271 271 272: gap 1 < S(0) = 1.309. b 271 272 273: gap 1 < E = 0.5 + 2.920·√(1/3). b 272 272 272: gap 1 = E.
  // First shots gone, a 271 271 and b 272 273: as b 272 gone, V of a larger: open.
  const auto gaps = influence({setup("A", {271, 271, 271}), setup("B", {272, 272, 273})});
  REQUIRE(gaps.size() == 1);
  CHECK(gaps[0].from == 0);
  CHECK(gaps[0].to == 1);
  CHECK(gaps[0].verdict == Verdict::open);
  CHECK(!gaps[0].nothing_changes_it());
  REQUIRE(gaps[0].tipping.size() == 2);
  CHECK(gaps[0].tipping[0].change == ReadingChange::one_step_up);
  CHECK(gaps[0].tipping[0].shots == std::vector<ShotIndex>{{1, 0}, {1, 1}});
  CHECK(gaps[0].tipping[0].becomes == Verdict::faster);
  CHECK(gaps[0].tipping[1].change == ReadingChange::one_step_down);
  CHECK(gaps[0].tipping[1].shots == std::vector<ShotIndex>{{0, 0}, {0, 1}, {0, 2}});
  CHECK(gaps[0].tipping[1].becomes == Verdict::faster);
}

TEST_CASE("influence: a gap far beyond its scatter rests on no shot") {
  const auto gap = influence({setup("A", {271, 273, 274, 270, 272}), setup("B", {296, 294, 297, 295, 299})}).front();
  CHECK(gap.verdict == Verdict::faster);
  CHECK(gap.tipping.empty());
  CHECK(gap.nothing_changes_it());
  CHECK(influence({setup("B", {296, 294, 297, 295, 299}), setup("A", {271, 273, 274, 270, 272})}).front().verdict ==
        Verdict::slower);
}

TEST_CASE("influence: with two shots, leaving one out leaves no range") {
  const auto gap = influence({setup("A", {271, 272}), setup("B", {271, 272, 273})}).front();
  CHECK(gap.verdict == Verdict::open);
  const TippingShots* left_out = find(gap, ReadingChange::without_shot);
  REQUIRE(left_out);
  CHECK(!left_out->becomes);
  CHECK(left_out->shots.front().setup == 0);
  const TippingShots* first = find(gap, ReadingChange::without_first_shots);
  REQUIRE(first);
  CHECK(!first->becomes);
  CHECK(first->shots == std::vector<ShotIndex>{{0, 0}, {1, 0}});
}

TEST_CASE("influence: where there is no range nothing is asked") {
  ComparedSetup none{.name = "C", .sample = {}, .excluded = 3};
  const auto gaps = influence({setup("A", {271}), setup("B", {272, 273, 272}), none});
  REQUIRE(gaps.size() == 3);
  for (const auto& gap : gaps) {
    CHECK(!gap.verdict);
    CHECK(gap.tipping.empty());
    CHECK(!gap.nothing_changes_it());
  }
}

TEST_CASE("influence: agrees with changing readings one by one, every pair of up to four small readings") {
  for (std::size_t n = 2; n <= 4; ++n)
    for (std::size_t m = 2; m <= 3; ++m)
      for (const auto& a : multisets(n, 2))
        for (const auto& b : multisets(m, 4))
          for (const std::optional<double> margin : {std::optional<double>{}, std::optional<double>{2.0}}) {
            const InfluenceOptions o{.level = ConfidenceLevel{margin ? 0.8 : 0.95}, .margin = margin};
            const auto gap = influence({setup("A", a), setup("B", b)}, o).front();
            REQUIRE(gap.verdict == judged(a, b, o, Family{}, 0));
            REQUIRE(listed(gap) == by_brute_force({a, b}, 0, 1, o, Family{}, 0));
          }
}

TEST_CASE("influence: agrees in a family of three, on tenths, with a set-up that a missing shot would drop from it") {
  const std::vector<Readings> all{{2715, 2713, 2718, 2712}, {2721, 2719, 2724}, {2731, 2722}};
  for (const double margin : {0.5, 1.0, 3.0}) {
    const InfluenceOptions o{.margin = margin};
    const auto gaps = influence({setup("A", all[0], 1), setup("B", all[1], 1), setup("C", all[2], 1)}, o);
    REQUIRE(gaps.size() == 3);
    for (const auto& gap : gaps) {
      CHECK(gap.verdict == judged(all[gap.from], all[gap.to], o, Family{3}, 1));
      CHECK(listed(gap) == by_brute_force(all, gap.from, gap.to, o, Family{3}, 1));
    }
  }
  // A fourth set-up of one shot has no range and is no part of the family.
  const auto four =
      influence({setup("A", all[0], 1), setup("B", all[1], 1), setup("C", all[2], 1), setup("D", Readings{2700}, 1)});
  CHECK(listed(four[0]) == by_brute_force(all, 0, 1, {}, Family{3}, 1));
  // The family matters: somewhere among these sets of three the pair alone tips by other shots.
  bool differs = false;
  for (const auto& b : multisets(3, 5)) {
    const auto in_family = influence({setup("A", {0, 1, 0}), setup("B", b), setup("C", {0, 0, 1})}).front();
    CHECK(listed(in_family) == by_brute_force({{0, 1, 0}, b, {0, 0, 1}}, 0, 1, {}, Family{3}, 0));
    differs = differs || listed(in_family) != listed(influence({setup("A", {0, 1, 0}), setup("B", b)}).front());
  }
  CHECK(differs);
}

TEST_CASE("influence: many shots with few distinct readings agree with changing them one by one") {
  Readings a, b;
  for (int i = 0; i < 300; ++i) {
    a.push_back(270 + i % 4);
    b.push_back(270 + (i * 7) % 5);
  }
  // Means 271.5 and 272; V = 1.254/300 and 2.007/300, u = 0.1042: gap 0.5 is 4.8 u. A margin close to the upper limit
  // 0.5 + 1.9647·0.1042 makes single shots matter.
  for (const double margin : {0.70, 0.7047, 0.71}) {
    const InfluenceOptions o{.margin = margin};
    const auto gap = influence({setup("A", a), setup("B", b)}, o).front();
    CHECK(listed(gap) == by_brute_force({a, b}, 0, 1, o, Family{}, 0));
  }
}

TEST_CASE("influence: first shots are those of each bow in each session, by firing order") {
  ComparedSetup s = setup("A", {271, 272, 273, 274, 275, 276});
  CHECK(first_shots_of_strings(s) == std::vector<std::size_t>{0});
  // bow 1 in session 1: orders 4, 2; bow 2 in session 1: 1, 3; bow 1 in session 2: not told, so the row decides
  s.places = {{.bow = 1, .round = 1, .session = 1, .order = 4}, {.bow = 2, .round = 1, .session = 1, .order = 1},
              {.bow = 1, .round = 2, .session = 1, .order = 2}, {.bow = 2, .round = 2, .session = 1, .order = 3},
              {.bow = 1, .round = 1, .session = 2, .order = 0}, {.bow = 1, .round = 2, .session = 2, .order = 0}};
  CHECK(first_shots_of_strings(s) == std::vector<std::size_t>{1, 2, 4});
  CHECK(first_shots_of_strings({.name = "none", .sample = {}}).empty());

  // They are left out together, and all are named.
  const ComparedSetup b = setup("B", {290, 276, 277, 275});
  const auto rest = rounding_aware(sample({271, 274, 276}), sample({276, 277, 275}));
  const auto gap = influence({s, b}).front();
  const bool changes = verdict(rest.interval) != *gap.verdict;
  const TippingShots* first = find(gap, ReadingChange::without_first_shots);
  CHECK((first != nullptr) == changes);

  InfluenceOptions told;
  told.first_shots = {{5}, {0}};
  const auto with_told =
      influence({setup("A", {271, 271, 272, 272, 271, 240}), setup("B", {276, 276, 277, 275})}, told);
  // Without 240 (gap 4.6, s² = 0.3 and 1 or less): faster; with it the SD of A is 12.8 and all is open.
  CHECK(with_told.front().verdict == Verdict::open);
  const TippingShots* both = find(with_told.front(), ReadingChange::without_first_shots);
  REQUIRE(both);
  CHECK(both->becomes == Verdict::faster);
  CHECK(both->shots == std::vector<ShotIndex>{{0, 5}, {1, 0}});
  const TippingShots* wild = find(with_told.front(), ReadingChange::without_shot);
  REQUIRE(wild);
  CHECK(wild->shots == std::vector<ShotIndex>{{0, 5}});
  CHECK(wild->becomes == Verdict::faster);
}

TEST_CASE("influence: another rule sees each change with the places of the shots that are left") {
  // A rule by bow: faster when the first shot of bow 2 is above all of the other set-up, in whole readings.
  ComparedSetup a = setup("A", {10, 11});
  ComparedSetup b = setup("B", {9, 12, 13});
  b.places = {{.bow = 1}, {.bow = 2}, {.bow = 2}};
  const VerdictRule rule = [](const ComparedSetup& from, const ComparedSetup& to) -> std::optional<Verdict> {
    if (from.sample->size() < 2) throw NoAnswer{"too few"};
    const std::int64_t high = from.sample->high();
    REQUIRE(to.places.size() == to.sample->size());
    for (std::size_t i = 0; i < to.sample->size(); ++i)
      if (to.places[i].bow == 2) return to.sample->steps()[i] > high ? Verdict::faster : Verdict::open;
    return std::nullopt;
  };
  const auto gap = influence(a, b, rule);
  CHECK(gap.verdict == Verdict::faster);
  // Without 10 or 11 of A: too few. Without a shot of B: bow 2 still leads with 13 or 12, both above 11. Without the
  // first of A, and of each bow of B: too few. 11 → 12 in A ties with 12: open. 12 → 11 in B ties with 11: open.
  const std::vector<Line> expected{
      {static_cast<int>(ReadingChange::without_shot), 0, 0, -1},
      {static_cast<int>(ReadingChange::without_shot), 0, 1, -1},
      {static_cast<int>(ReadingChange::without_first_shots), 0, 0, -1},
      {static_cast<int>(ReadingChange::without_first_shots), 1, 0, -1},
      {static_cast<int>(ReadingChange::without_first_shots), 1, 1, -1},
      {static_cast<int>(ReadingChange::one_step_up), 0, 1, static_cast<int>(Verdict::open)},
      {static_cast<int>(ReadingChange::one_step_down), 1, 1, static_cast<int>(Verdict::open)}};
  CHECK(listed(gap) == expected);
}

TEST_CASE("influence: another rule that is compare's own finds what the quick way finds") {
  const ComparedSetup a = setup("A", {271, 272, 274, 272}), b = setup("B", {273, 275, 274, 276, 272});
  const VerdictRule rule = [](const ComparedSetup& from, const ComparedSetup& to) -> std::optional<Verdict> {
    if (from.sample->size() < 2 || to.sample->size() < 2) return std::nullopt;
    return verdict(rounding_aware(*from.sample, *to.sample).interval);
  };
  CHECK(listed(influence(a, b, rule)) == listed(influence({a, b}).front()));
  // Shots with one reading and different rounds are asked one by one.
  ComparedSetup in_rounds = b;
  in_rounds.sample = sample({273, 273, 273, 273, 279});
  in_rounds.places = {{.round = 1}, {.round = 1}, {.round = 2}, {.round = 2}, {.round = 3}};
  int asked = 0;
  influence(a, in_rounds, [&](const ComparedSetup&, const ComparedSetup&) -> std::optional<Verdict> {
    ++asked;
    return Verdict::open;
  });
  // the whole, 3 distinct readings of A and 3 (reading, round) of B three ways, and without the first shots
  CHECK(asked == 1 + 3 * (3 + 3) + 1);
}

TEST_CASE("influence: without a range another rule is not asked again") {
  int asked = 0;
  const auto gap =
      influence(setup("A", {1, 2}), setup("B", {3, 4}), [&](const auto&, const auto&) -> std::optional<Verdict> {
        ++asked;
        throw NoAnswer{"none"};
      });
  CHECK(asked == 1);
  CHECK(!gap.verdict);
  CHECK(gap.tipping.empty());
}

TEST_CASE("influence: wrong questions are refused with what was got") {
  const ComparedSetup a = setup("A", {271, 272, 273}), b = setup("B", {273, 274, 275});
  CHECK(message([&] { influence({a}); }) == "influence: needs 2 or more set-ups, got 1");
  CHECK(message([&] { influence({a, b}, {.margin = 0.0}); }) == "influence: the margin must be positive");
  CHECK(message([&] { influence({a, setup("B", {1, 2}, 1)}); }) == "two set-ups need one display step, got 1 and 0.1");
  CHECK(message([&] {
          influence({a, b}, {.first_shots = {{0}}});
        }) == "influence: needs first shots of 2 set-ups, got 1");
  CHECK(message([&] {
          influence({a, b}, {.first_shots = {{0}, {3}}});
        }) == "influence: B has 3 shots, and no shot with index 3");
  CHECK(message([&] {
          influence({a, b}, {.first_shots = {{1, 1}, {0}}});
        }) == "influence: a first shot of A is named twice");
  ComparedSetup odd = a;
  odd.places = {{.bow = 1}};
  CHECK(message([&] { influence({odd, b}); }) == "influence: A has 3 shots and 1 places");
  CHECK(message([&] { influence(b, odd, [](const auto&, const auto&) { return Verdict::open; }); }) ==
        "influence: A has 3 shots and 1 places");
}

TEST_CASE("influence: names of changes are JSON words") {
  CHECK(name(ReadingChange::without_shot) == "without_shot");
  CHECK(name(ReadingChange::without_first_shots) == "without_first_shots");
  CHECK(name(ReadingChange::one_step_up) == "one_step_up");
  CHECK(name(ReadingChange::one_step_down) == "one_step_down");
}
