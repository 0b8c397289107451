#include <shotassay/core/tally.hpp>

#include <doctest/doctest.h>

using namespace shotassay;

TEST_CASE("tally: sums and products of counts, and their digits") {
  const Tally million = 1'000'000;
  CHECK((million * million + Tally{7}).text() == "1000000000007");
  CHECK((million * million * million * million * million * million).text() == "1000000000000000000000000000000000000");
  CHECK((Tally{0} * million) == Tally{});
  CHECK(Tally{}.text() == "0");
  CHECK(million.approximately() == 1e6);
  CHECK(!million.at_least());
}

TEST_CASE("tally: stops at 2^127 − 1 and never wraps") {
  // 2^127 − 1 = 170141183460469231731687303715884105727, as Python prints it
  Tally most = Tally::most();
  CHECK(most.text() == "170141183460469231731687303715884105727");
  CHECK(most.at_least());
  CHECK((most + Tally{1}) == most);
  CHECK((most + most) == most);
  CHECK((most * Tally{2}) == most);
  CHECK((most * Tally{0}) == Tally{0});
  const Tally half = most.value() / 2;  // 2^126 − 1
  CHECK(!(half + half).at_least());
  CHECK((half + half + Tally{1}).at_least());
  CHECK((half * Tally{3}).at_least());
}
