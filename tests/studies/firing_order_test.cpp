#include <doctest/doctest.h>

#include <shotassay/studies/firing_order.hpp>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/records/blank_sheet.hpp>
#include <shotassay/records/sheet.hpp>

using namespace shotassay;

namespace {

using Shots = std::vector<PlannedShot>;

/// The letters of the set-ups, a blank between rounds: "ABBA BAAB".
std::string pattern(const Shots& shots) {
  std::string out, round;
  for (const auto& shot : shots) {
    if (shot.warm_up || shot.check_standard) continue;
    if (!out.empty() && shot.round != round) out += ' ';
    round = shot.round;
    out += shot.setup;
  }
  return out;
}

std::string pattern(const FiringQuestion& question) { return pattern(firing_order(question)); }

Shots counted(const Shots& shots) {
  Shots out;
  for (const auto& shot : shots)
    if (!shot.warm_up && !shot.check_standard) out.push_back(shot);
  return out;
}

/// How often each value of `key` occurs, of n values that are to occur equally often, and the spread of these numbers.
template <class Key>
int unevenness(const Shots& shots, std::size_t n, Key key) {
  std::map<std::string, int> uses;
  for (const auto& shot : shots) ++uses[key(shot)];
  REQUIRE(uses.size() <= n);
  int least = uses.size() < n ? 0 : 1'000'000, most = 0;
  for (const auto& [value, count] : uses) {
    least = std::min(least, count);
    most = std::max(most, count);
  }
  return most - least;
}

Shots only(const Shots& shots, const std::string& setup) {
  Shots out;
  std::copy_if(shots.begin(), shots.end(), std::back_inserter(out), [&](const auto& s) { return s.setup == setup; });
  return out;
}

/// Mean place of a set-up's shots among those that count.
std::map<std::string, double> mean_places(const FiringQuestion& question) {
  std::map<std::string, std::pair<double, double>> sums;
  double place = 0;
  for (const auto& shot : counted(firing_order(question))) {
    sums[shot.setup].first += ++place;
    sums[shot.setup].second += 1;
  }
  std::map<std::string, double> means;
  for (const auto& [setup, sum] : sums) means[setup] = sum.first / sum.second;
  return means;
}

double spread(const std::map<std::string, double>& means) {
  double low = 1e9, high = -1e9;
  for (const auto& [setup, mean] : means) {
    low = std::min(low, mean);
    high = std::max(high, mean);
  }
  return high - low;
}

std::string refusal(const FiringQuestion& question) {
  try {
    firing_order(question);
  } catch (const DomainError& error) {
    return error.what();
  }
  return "";
}

std::vector<std::string> names(const std::string& stem, int n) {
  std::vector<std::string> out;
  for (int i = 1; i <= n; ++i) out.push_back(stem + std::to_string(i));
  return out;
}

}  // namespace

// Easy changes

TEST_CASE("firing_order: two set-ups are shot there and back, in blocks of two each") {
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    const auto p = pattern({.setups = {{"A", 6}, {"B", 6}}, .seed = seed});
    REQUIRE(p.size() == 14);
    for (const std::size_t block : {0u, 5u, 10u}) {
      const auto b = p.substr(block, 4);
      CHECK((b == "ABBA" || b == "BAAB"));
    }
  }
}

TEST_CASE("firing_order: which set-up begins a block is drawn by the seed, block by block") {
  // Fisher and Yates on {A, B}: one draw below 2 a block; 0 swaps.
  for (const std::uint64_t seed : {0u, 1u, 2u, 2024u}) {
    numerics::ReplicateStream random{seed, 0, numerics::RandomPurpose::firing_order};
    std::string expected;
    for (int block = 0; block < 20; ++block) expected += random.below(2) == 0 ? " BAAB" : " ABBA";
    CHECK(pattern({.setups = {{"A", 40}, {"B", 40}}, .seed = seed}) == expected.substr(1));
  }
  // A fair coin: 2000 blocks, SD of the number of A's √(2000)/2 = 22; 4 SD.
  int begins = 0;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    const auto p = pattern({.setups = {{"A", 40}, {"B", 40}}, .seed = seed});
    for (std::size_t i = 0; i < p.size(); i += 5) begins += p[i] == 'A';
  }
  CHECK(std::abs(begins - 1000) < 90);
}

TEST_CASE("firing_order: the same question gives the same order, another seed another") {
  const FiringQuestion question{.setups = {{"A", 61, {"a1", "a2"}}, {"B", 60, {"b1", "b2"}}},
                                .seed = 7,
                                .arrows = {"1", "2", "3"},
                                .check_standard = "ref",
                                .warm_ups = 2};
  const auto text = [](const FiringQuestion& q) {
    return blank_sheet({.check_standard = "ref", .shots = firing_order(q)});
  };
  CHECK(text(question) == text(question));
  FiringQuestion other = question;
  std::set<std::string> orders;
  for (other.seed = 0; other.seed < 20; ++other.seed) orders.insert(text(other));
  CHECK(orders.size() == 20);
}

TEST_CASE("firing_order: an odd number of shots ends in a short block") {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const auto p = pattern({.setups = {{"A", 5}, {"B", 5}}, .seed = seed});
    REQUIRE(p.size() == 12);
    CHECK((p.substr(9) == " AB" || p.substr(9) == " BA"));
    const auto one = pattern({.setups = {{"A", 1}, {"B", 1}}, .seed = seed});
    CHECK((one == "AB" || one == "BA"));
  }
}

TEST_CASE("firing_order: three set-ups and more are shot there and back, labels drawn anew in each block") {
  std::map<std::string, int> first_blocks;
  for (std::uint64_t seed = 0; seed < 1200; ++seed) {
    const auto p = pattern({.setups = {{"A", 5}, {"B", 5}, {"C", 5}}, .seed = seed});
    REQUIRE(p.size() == 17);
    for (const std::size_t block : {0u, 7u}) {
      const auto b = p.substr(block, 6);
      CHECK(std::equal(b.begin(), b.begin() + 3, b.rbegin()));
      CHECK(std::set<char>(b.begin(), b.begin() + 3).size() == 3);
    }
    CHECK(std::set<char>(p.begin() + 14, p.end()).size() == 3);
    ++first_blocks[p.substr(0, 3)];
  }
  // six orders, 200 each expected, SD √(1200·1/6·5/6) = 12.9; 4 SD
  CHECK(first_blocks.size() == 6);
  for (const auto& [order, count] : first_blocks) CHECK(std::abs(count - 200) < 52);
}

TEST_CASE("firing_order: a linear drift cancels in each full block") {
  for (std::uint64_t seed = 0; seed < 30; ++seed)
    for (const int shots : {2, 3, 6, 7, 10}) {
      std::map<std::string, std::map<std::string, std::int64_t>> sums;
      const auto all = firing_order({.setups = {{"A", shots}, {"B", shots}, {"C", shots}},
                                     .seed = seed,
                                     .check_standard = "ref",
                                     .check_shots = 3,
                                     .warm_ups = 1});
      for (const auto& shot : counted(all)) sums[shot.round][shot.setup] += shot.order;
      for (int block = 1; block <= shots / 2; ++block) {
        const auto& sum = sums[std::to_string(block)];
        CHECK(sum.at("A") == sum.at("B"));
        CHECK(sum.at("A") == sum.at("C"));
      }
    }
}

TEST_CASE("firing_order: more shots with one set-up are spread over the blocks") {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const auto p = pattern({.setups = {{"A", 4}, {"B", 8}}, .seed = seed});
    REQUIRE(p.size() == 13);
    for (const std::size_t block : {0u, 7u}) {
      const auto b = p.substr(block, 6);
      CHECK(std::count(b.begin(), b.end(), 'A') == 2);
      CHECK(std::equal(b.begin(), b.end(), b.rbegin()));
    }
  }
  // B's 9 shots by A's blocks: 9·2/6 = 3, 6, 9
  const auto p = pattern({.setups = {{"A", 6}, {"B", 9}}, .seed = 3});
  CHECK(p.size() == 17);
  CHECK(p[5] == ' ');
  CHECK(p[11] == ' ');
}

TEST_CASE(
    "firing_order: mean firing positions are equal for even numbers of shots, and at most one shot apart for two") {
  double worst = 0;
  for (int a = 1; a <= 40; ++a)
    for (int b = a; b <= 60; ++b)
      for (std::uint64_t seed = 0; seed < 6; ++seed) {
        const double apart = spread(mean_places({.setups = {{"A", a}, {"B", b}}, .seed = seed}));
        if (a % 2 == 0 && b % 2 == 0) CHECK(apart < 1e-12);
        worst = std::max(worst, apart);
      }
  CHECK(worst == 1);  // 1 + 1
  for (const auto& [a, b, c] : {std::tuple{2, 8, 12}, {6, 12, 18}, {10, 10, 10}})
    for (std::uint64_t seed = 0; seed < 6; ++seed)
      CHECK(spread(mean_places({.setups = {{"A", a}, {"B", b}, {"C", c}}, .seed = seed})) < 1e-12);
  // Odd numbers not far apart: the rest of a short block, at most its length.
  for (int a = 1; a <= 12; ++a)
    for (int b = a; b <= 2 * a; ++b)
      for (int c = a; c <= 2 * a; ++c)
        CHECK(spread(mean_places({.setups = {{"A", a}, {"B", b}, {"C", c}}, .seed = 5})) <= 2);
}

// Every shape

TEST_CASE("firing_order: every set-up gets its shots, numbered from 1 without a gap, rounds in rising order") {
  for (const Change change : {Change::easy, Change::costly})
    for (std::uint64_t seed = 0; seed < 5; ++seed)
      for (int a = 1; a <= 14; ++a)
        for (int b = 1; b <= 14; ++b) {
          CAPTURE(a);
          CAPTURE(b);
          const auto all = firing_order({.setups = {{"A", a}, {"B", b}, {"C", 7}},
                                         .change = change,
                                         .seed = seed,
                                         .check_standard = "ref",
                                         .check_shots = 3,
                                         .warm_ups = 2});
          std::int64_t order = 0;
          for (const auto& shot : all) CHECK(shot.order == ++order);
          const auto shots = counted(all);
          CHECK(only(shots, "A").size() == static_cast<std::size_t>(a));
          CHECK(only(shots, "B").size() == static_cast<std::size_t>(b));
          CHECK(only(shots, "C").size() == 7);
          CHECK(all.size() == shots.size() + 3 * 3 + 3 * 2);
          int round = 1;
          for (const auto& shot : shots) {
            const int here = std::stoi(shot.round);
            CHECK((here == round || here == round + 1));
            round = here;
          }
          // each round has every set-up
          for (int r = 1; r <= round; ++r) {
            std::set<std::string> there;
            for (const auto& shot : shots)
              if (shot.round == std::to_string(r)) there.insert(shot.setup);
            CHECK(there.size() == 3);
          }
        }
}

// Costly changes

TEST_CASE("firing_order: where a change is work, strings of shots go there and back, and each is a re-setting") {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const auto p = pattern({.setups = {{"A", 6}, {"B", 6}}, .change = Change::costly, .seed = seed});
    CHECK((p == "AAABBB BBBAAA" || p == "BBBAAA AAABBB"));
    const auto three = pattern({.setups = {{"A", 4}, {"B", 4}, {"C", 4}}, .change = Change::costly, .seed = seed});
    REQUIRE(three.size() == 13);
    CHECK(std::equal(three.begin(), three.begin() + 6, three.rbegin()));
    for (const std::size_t i : {0u, 2u, 4u}) CHECK(three[i] == three[i + 1]);
    const auto long_test = pattern({.setups = {{"A", 12}, {"B", 12}}, .change = Change::costly, .seed = seed});
    REQUIRE(long_test.size() == 27);
    for (const std::size_t i : {0u, 14u}) {
      const auto pair = long_test.substr(i, 13);
      CHECK((pair == "AAABBB BBBAAA" || pair == "BBBAAA AAABBB"));
    }
  }
}

TEST_CASE("firing_order: both pairs of rounds of a costly test are drawn") {
  std::set<std::string> patterns;
  for (std::uint64_t seed = 0; seed < 40; ++seed)
    patterns.insert(pattern({.setups = {{"A", 8}, {"B", 8}}, .change = Change::costly, .seed = seed}));
  CHECK(patterns.size() == 4);
}

TEST_CASE("firing_order: four strings with each set-up from eight shots on, two below, one for a single shot") {
  const auto rounds = [](int a, int b) {
    const auto shots = firing_order({.setups = {{"A", a}, {"B", b}}, .change = Change::costly});
    return std::stoi(shots.back().round);
  };
  CHECK(rounds(1, 1) == 1);
  CHECK(rounds(1, 20) == 1);
  CHECK(rounds(2, 2) == 2);
  CHECK(rounds(3, 9) == 2);
  CHECK(rounds(7, 7) == 2);
  CHECK(rounds(8, 8) == 4);
  CHECK(rounds(12, 30) == 4);
  CHECK(rounds(10'000, 10'000) == 4);
}

TEST_CASE("firing_order: a set-up's strings are equal within one shot, and a drift cancels where they are equal") {
  for (int a = 2; a <= 25; ++a)
    for (int b = a; b <= 25; ++b)
      for (std::uint64_t seed = 0; seed < 4; ++seed) {
        const FiringQuestion question{.setups = {{"A", a}, {"B", b}}, .change = Change::costly, .seed = seed};
        const auto shots = firing_order(question);
        const int rounds = std::stoi(shots.back().round);
        for (const auto setup : {"A", "B"})
          CHECK(unevenness(only(shots, setup), static_cast<std::size_t>(rounds),
                           [](const auto& s) { return s.round; }) <= 1);
        const double apart = spread(mean_places(question));
        if (a % rounds == 0 && b % rounds == 0) CHECK(apart < 1e-12);
        // strings of u and v shots, there and back: v − u of a shot apart
        if (a == b) CHECK(apart <= 1);
      }
}

// Bows

TEST_CASE("firing_order: bows of a set-up shoot equally often, over the test and in each round") {
  for (const Change change : {Change::easy, Change::costly})
    for (std::uint64_t seed = 0; seed < 4; ++seed)
      for (int bows = 1; bows <= 5; ++bows)
        for (int shots = 1; shots <= 24; ++shots) {
          CAPTURE(bows);
          CAPTURE(shots);
          const auto all = firing_order(
              {.setups = {{"A", shots, names("a", bows)}, {"B", 12, names("b", 2)}}, .change = change, .seed = seed});
          const auto bow = [](const auto& s) { return s.bow; };
          const auto a = only(all, "A");
          const auto n = static_cast<std::size_t>(bows);
          CHECK(unevenness(a, n, bow) <= 1);
          CHECK(unevenness(only(all, "B"), 2, bow) == 0);
          for (int r = 1; r <= std::stoi(all.back().round); ++r) {
            Shots round;
            for (const auto& shot : a)
              if (shot.round == std::to_string(r)) round.push_back(shot);
            CHECK(unevenness(round, n, bow) <= 1);
          }
        }
}

TEST_CASE("firing_order: of two bows each is first in half of the blocks, by turns") {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    std::map<std::string, int> first;
    std::string round;
    for (const auto& shot : only(firing_order({.setups = {{"A", 16, names("a", 2)}, {"B", 16}}, .seed = seed}), "A")) {
      if (shot.round != round) ++first[shot.bow];
      round = shot.round;
    }
    CHECK(first["a1"] == 4);
    CHECK(first["a2"] == 4);
  }
  // which of them begins is drawn
  std::set<std::string> begins;
  for (std::uint64_t seed = 0; seed < 20; ++seed)
    begins.insert(only(firing_order({.setups = {{"A", 2, names("a", 2)}, {"B", 2}}, .seed = seed}), "A").front().bow);
  CHECK(begins.size() == 2);
}

TEST_CASE("firing_order: without bows, and for the check standard, the bow is left empty") {
  for (const auto& shot : firing_order({.setups = {{"A", 4}, {"B", 4, {"b"}}}, .check_standard = "ref", .warm_ups = 1}))
    CHECK(shot.bow == (shot.setup == "B" ? "b" : ""));
}

// Arrows

TEST_CASE("firing_order: an arrow is shot as often with one set-up as with the other") {
  for (const Change change : {Change::easy, Change::costly})
    for (std::uint64_t seed = 0; seed < 4; ++seed)
      for (int arrows = 1; arrows <= 6; ++arrows)
        for (int shots = 1; shots <= 18; ++shots) {
          const auto all = firing_order({.setups = {{"A", shots, names("a", 3)}, {"B", shots}, {"C", shots + 2}},
                                         .change = change,
                                         .seed = seed,
                                         .arrows = names("", arrows)});
          std::map<std::string, std::map<std::string, int>> uses;
          for (const auto& shot : all) ++uses[shot.setup][shot.arrow];
          CHECK(uses["A"] == uses["B"]);
          const auto arrow = [](const auto& s) { return s.arrow; };
          for (const auto setup : {"A", "C"})
            CHECK(unevenness(only(all, setup), static_cast<std::size_t>(arrows), arrow) <= 1);
        }
}

TEST_CASE("firing_order: the two shots of a pair have one arrow") {
  for (std::uint64_t seed = 0; seed < 10; ++seed) {
    const auto all = firing_order({.setups = {{"A", 6}, {"B", 6}}, .seed = seed, .arrows = {"1", "2", "3"}});
    std::string arrows;
    for (std::size_t i = 0; i < all.size(); i += 2) {
      CHECK(all[i].setup != all[i + 1].setup);
      CHECK(all[i].arrow == all[i + 1].arrow);
      arrows += all[i].arrow;
    }
    CHECK(arrows == "123231");  // the second turn starts with the second arrow
  }
}

TEST_CASE("firing_order: every bow meets every arrow") {
  for (std::uint64_t seed = 0; seed < 10; ++seed)
    for (int bows = 2; bows <= 6; ++bows)
      for (int arrows = 2; arrows <= 6; ++arrows) {
        CAPTURE(bows);
        CAPTURE(arrows);
        const int shots = 4 * bows * arrows;
        const auto a = only(
            firing_order(
                {.setups = {{"A", shots, names("a", bows)}, {"B", shots}}, .seed = seed, .arrows = names("", arrows)}),
            "A");
        std::set<std::pair<std::string, std::string>> pairings;
        for (const auto& shot : a) pairings.insert({shot.bow, shot.arrow});
        CHECK(pairings.size() == static_cast<std::size_t>(bows * arrows));
      }
}

// Check standard and warm-ups

TEST_CASE("firing_order: the check standard is shot at the start, in the middle and at the end") {
  for (const int check_shots : {1, 2, 3})
    for (const int shots : {2, 4, 6, 8, 10}) {
      const auto all = firing_order({.setups = {{"A", shots}, {"B", shots}},
                                     .arrows = {"1"},
                                     .check_standard = "ref",
                                     .check_shots = check_shots});
      const auto n = static_cast<std::size_t>(check_shots);
      const auto half = static_cast<std::size_t>(shots);  // of the counted shots
      REQUIRE(all.size() == 2 * half + 3 * n);
      for (std::size_t i = 0; i < all.size(); ++i) {
        const bool start = i < n, middle = i >= n + half && i < 2 * n + half, end = i >= all.size() - n;
        CHECK(all[i].check_standard == (start || middle || end));
        if (!all[i].check_standard) continue;
        CHECK(all[i].setup == "ref");
        CHECK(all[i].round == (start ? "start" : middle ? "middle" : "end"));
        CHECK(all[i].arrow == "");
        CHECK_FALSE(all[i].warm_up);
      }
    }
}

TEST_CASE("firing_order: the middle check breaks no string and no short block") {
  for (std::uint64_t seed = 0; seed < 4; ++seed)
    for (int shots = 2; shots <= 15; ++shots)
      for (const Change change : {Change::easy, Change::costly}) {
        CAPTURE(shots);
        const auto all = firing_order(
            {.setups = {{"A", shots}, {"B", shots}}, .change = change, .seed = seed, .check_standard = "ref"});
        const auto middle = static_cast<std::size_t>(
            std::find_if(all.begin(), all.end(), [](const auto& s) { return s.round == "middle"; }) - all.begin());
        const auto& before = all[middle - 1];
        const auto& after = all[middle + 2];
        // between rounds, or where an easy block turns
        if (before.round == after.round) {
          CHECK(change == Change::easy);
          CHECK(before.setup == after.setup);
        }
        // an odd number of shots: its short block, or half a shot of each string, lies on one side
        CHECK(std::abs(static_cast<int>(middle) - 2 - shots) <= 1);
      }
}

TEST_CASE("firing_order: a test too short to have a pause has its check in the middle all the same") {
  const auto all = firing_order({.setups = {{"A", 1}, {"B", 1}}, .check_standard = "ref", .check_shots = 1});
  REQUIRE(all.size() == 5);
  CHECK(all[0].round == "start");
  CHECK(all[2].round == "middle");
  CHECK(all[4].round == "end");
}

TEST_CASE("firing_order: warm-ups come first, the set-up that begins the test last among them") {
  for (const Change change : {Change::easy, Change::costly})
    for (std::uint64_t seed = 0; seed < 20; ++seed)
      for (const int shots : {1, 3, 4}) {
        const auto all = firing_order({.setups = {{"A", 4, {"a1", "a2"}}, {"B", shots}, {"C", 5}},
                                       .change = change,
                                       .seed = seed,
                                       .arrows = {"1", "2"},
                                       .check_standard = "ref",
                                       .warm_ups = 3});
        std::set<std::string> warm;
        for (std::size_t i = 0; i < all.size(); ++i) {
          CHECK(all[i].warm_up == (i < 9));
          if (i >= 9) continue;
          CHECK(all[i].round == "");
          CHECK(all[i].setup == all[i / 3 * 3].setup);
          CHECK(all[i].bow == (all[i].setup != "A" ? "" : i % 3 == 1 ? "a2" : "a1"));
          CHECK(all[i].arrow == (i % 3 == 1 ? "2" : "1"));
          warm.insert(all[i].setup);
        }
        CHECK(warm.size() == 3);
        CHECK(all[8].setup == counted(all).front().setup);
      }
  CHECK_FALSE(firing_order({.setups = {{"A", 1}, {"B", 1}}}).front().warm_up);
}

TEST_CASE("firing_order: warm-ups and check shots change nothing in the order of the rest") {
  const FiringQuestion plain{.setups = {{"A", 7, {"a1", "a2"}}, {"B", 6}}, .seed = 11};
  FiringQuestion all = plain;
  all.warm_ups = 2;
  all.check_standard = "ref";
  CHECK(pattern(plain) == pattern(all));
}

// To the sheet and back

TEST_CASE("firing_order: its blank sheet reads back as the plan, every shot open") {
  for (const Change change : {Change::easy, Change::costly})
    for (int shots = 1; shots <= 9; ++shots) {
      PlannedSheet plan{.seed = 3, .check_standard = "ref"};
      plan.shots = firing_order({.setups = {{"A", shots, {"a1", "a2"}}, {"B, 18", 6}},
                                 .change = change,
                                 .seed = 3,
                                 .arrows = {"1", "2", "3"},
                                 .check_standard = "ref",
                                 .warm_ups = 1});
      const auto read = read_sheet(blank_sheet(plan));
      REQUIRE(read.problems.empty());
      const Sheet& s = *read.sheet;
      CHECK(s.shots.empty());
      CHECK(s.excluded.size() == 2);
      REQUIRE(s.open.size() + 2 == plan.shots.size());
      for (std::size_t i = 0; i < s.open.size(); ++i) {
        const PlannedShot& planned = plan.shots[i + 2];
        CHECK(s.open[i].order == planned.order);
        CHECK(s.setups[s.open[i].setup].name == planned.setup);
        CHECK(s.label(s.open[i].bow) == planned.bow);
        CHECK(s.label(s.open[i].round) == planned.round);
        CHECK(s.label(s.open[i].arrow) == planned.arrow);
      }
      for (const SetUp& setup : s.setups) {
        CHECK(setup.check_standard == (setup.name == "ref"));
        if (!setup.check_standard) CHECK(setup.planned == static_cast<std::size_t>(setup.name == "A" ? shots : 6));
      }
    }
}

TEST_CASE("firing_order: the sheet that the reference shows is the one that this plan writes") {
  std::ifstream file{SHOTASSAY_SOURCE_DIR "/docs/reference/sheet.md"};
  const std::string page{std::istreambuf_iterator<char>{file}, {}};
  const PlannedSheet plan{.title = "14 against 18 strands",
                          .margin = 1.5,
                          .seed = 7,
                          .check_standard = "club bow",
                          .shots = firing_order({.setups = {{"14 strands", 2}, {"18 strands", 2}},
                                                 .seed = 7,
                                                 .check_standard = "club bow",
                                                 .check_shots = 1,
                                                 .warm_ups = 1})};
  CHECK(page.find("```\n" + blank_sheet(plan) + "```\n") != std::string::npos);
}

// Errors

TEST_CASE("firing_order: questions that make no test are the caller's mistake") {
  CHECK(refusal({}) == "firing_order: needs two set-ups or more, got 0");
  CHECK(refusal({.setups = {{"A", 3}}}) == "firing_order: needs two set-ups or more, got 1");
  CHECK(refusal({.setups = {{"A", 3}, {"A", 3}}}) == "firing_order: set-up A is named twice");
  CHECK(refusal({.setups = {{"A", 3}, {"", 3}}}) == "firing_order: set-up without a name");
  for (const int shots : {0, -1, 10'001})
    CHECK(refusal({.setups = {{"A", 3}, {"B", shots}}}) ==
          "firing_order: shots with B must be 1 to 10000, got " + std::to_string(shots));
  CHECK(refusal({.setups = {{"A", 3, {"b", "b"}}, {"B", 3}}}) == "firing_order: bow b of A is named twice");
  CHECK(refusal({.setups = {{"A", 3, {""}}, {"B", 3}}}) == "firing_order: bow of A without a name");
  CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .arrows = {"1", "2", "1"}}) == "firing_order: arrow 1 is named twice");
  CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .arrows = {""}}) == "firing_order: arrow without a name");
  CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .check_standard = "B"}) ==
        "firing_order: the check standard is named like set-up B");
  for (const int shots : {0, -2, 10'001}) {
    CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .check_standard = "ref", .check_shots = shots}) ==
          "firing_order: check shots must be 1 to 10000, got " + std::to_string(shots));
    CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .check_shots = shots}) == "");  // without a standard it is not read
  }
  for (const int shots : {-1, 10'001})
    CHECK(refusal({.setups = {{"A", 3}, {"B", 3}}, .warm_ups = shots}) ==
          "firing_order: warm-ups must be 0 to 10000, got " + std::to_string(shots));
  CHECK(refusal({.setups = {{"A", 3, {"b"}}, {"B", 3, {"b"}}}}) == "");  // one bow may carry both set-ups in turn
}
