#include "support/close.hpp"
#include "support/published.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <shotassay/methods/family.hpp>
#include <string>

using shotassay::DomainError;
using shotassay::Family;

TEST_CASE("family: k set-ups have k(k − 1)/2 pairs, and two are a pair") {
  CHECK(Family{}.setups() == 2);
  CHECK(Family{}.pairs() == 1);
  CHECK(Family{}.is_pair());
  CHECK(Family{3}.pairs() == 3);
  CHECK(Family{5}.pairs() == 10);
  CHECK_FALSE(Family{3}.is_pair());
  CHECK_THROWS_WITH_AS(Family{1}, "a family needs 2 or more set-ups, got 1", DomainError);
}

TEST_CASE("family: a pair has the t table's factor") {
  const Published table{"gum-table-g2"};
  const auto rows = table.number_rows("rows");
  for (std::size_t i = 0; i < rows.size(); ++i)
    CHECK(Family{}.factor(1 - rows[i][1], rows[i][0]) == table.expected("t" + std::to_string(i + 1)));
}

TEST_CASE("family: three or more have the studentised range's upper points over root two") {
  const Published table{"harter-q-a"};
  const auto rows = table.number_rows("rows");  // α, k, ν
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const Family family{static_cast<int>(rows[i][1])};
    const within printed = table.expected("q" + std::to_string(i + 1));
    const double q = family.factor(rows[i][0], rows[i][2]) * std::sqrt(2.0);
    CHECK(q == printed);
  }
}

TEST_CASE("family: p is the error rate whose factor is |t|, for a pair and for a family") {
  for (const int k : {2, 3, 5})
    for (const double nu : {1.0, 2.5, 8.0})
      for (const double alpha : {0.2, 0.05, 0.01}) {
        const double t = Family{k}.factor(alpha, nu);
        CAPTURE(k);
        CAPTURE(nu);
        CAPTURE(alpha);
        CHECK(Family{k}.p_two_sided(t, nu) == within(alpha, 1e-9));
        CHECK(Family{k}.p_two_sided(-t, nu) == within(alpha, 1e-9));
        // the 1 − 2α interval just reaches the margin
        CHECK(Family{k}.p_one_sided(t, nu) == within(alpha / 2, 1e-9));
      }
}

TEST_CASE("family: on the wrong side of the margin a pair has a p above one half and a family 1") {
  // Cauchy: P(T > −1) = 3/4
  CHECK(Family{}.p_one_sided(-1, 1) == digits(0.75, 13));
  CHECK(Family{3}.p_one_sided(-1, 4) == 1);
  CHECK(Family{3}.p_one_sided(0, 4) == 1);
}

TEST_CASE("family: more set-ups need a longer interval") {
  for (int k = 2; k < 8; ++k) CHECK(Family{k + 1}.factor(0.05, 6) > Family{k}.factor(0.05, 6));
}
