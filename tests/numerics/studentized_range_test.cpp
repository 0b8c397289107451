#include <shotassay/numerics/studentized_range.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <string>
#include <thread>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
}  // namespace

TEST_CASE("studentized_range: probabilities agree with published high-precision values") {
  const Published check{"scipy-mp-srange-a"};
  const auto rows = check.number_rows("rows");
  REQUIRE(rows.size() == 40);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CAPTURE(i);
    const double tail = range_upper_tail(rows[i].at(0), static_cast<int>(rows[i].at(1)), rows[i].at(2));
    CHECK(1 - tail == check.expected("F" + std::to_string(i + 1)));
    CHECK(1 - tail == within(check.value("F" + std::to_string(i + 1)), 2e-14));
  }
}

TEST_CASE("studentized_range: upper points agree with the published table") {
  const Published check{"harter-q-a"};
  const auto rows = check.number_rows("rows");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CAPTURE(i);
    CHECK(range_upper_quantile(rows[i].at(0), static_cast<int>(rows[i].at(1)), rows[i].at(2)) ==
          check.expected("q" + std::to_string(i + 1)));
  }
}

TEST_CASE("studentized_range: tails agree with double integrals in 40 digits, at ν of 1 and 1.5 too") {
  // mpmath, mp.dps = 40, the two integrals of the header by Gauss-Legendre: the inner one over z in (-13, 13) with 150
  // nodes (300 for k = 20 and where k = 8 has a tail below 1e-6), the outer one over s with 30 nodes in each piece
  // between s = 0, 1 ± 1, 2, 4, 7 sd's of s, and q·s = 0.01, 0.1, 0.5, 1, 2, 3, 4.5, 6, 8, 11, 15; the first piece in s
  // = b·x⁴ for the power s^(ν−1).
  struct Row {
    double q;
    int k;
    double degrees_of_freedom, upper_tail;
  };
  constexpr Row rows[] = {
      {1.3, 3, 1, 0.71996001541675443024},         {4.0, 3, 1, 0.31980227422868204815},
      {60.0, 3, 1, 0.022502178926192824374},       {1.3, 5, 1, 0.86835526186676893574},
      {4.0, 5, 1, 0.42989511770651958069},         {60.0, 5, 1, 0.030919245892683588328},
      {1.3, 8, 1, 0.93966095695896387525},         {4.0, 8, 1, 0.51422430568157169553},
      {60.0, 8, 1, 0.037844417505325746422},       {1.3, 3, 1.5, 0.69653604209521676059},
      {4.0, 3, 1.5, 0.23620796732235380676},       {60.0, 3, 1.5, 0.0045773071251694895239},
      {1.3, 5, 1.5, 0.8690738509488895449},        {4.0, 5, 1.5, 0.34892943376338102582},
      {60.0, 5, 1.5, 0.0070326124770050646169},    {1.3, 8, 1.5, 0.94836048282034446511},
      {4.0, 8, 1.5, 0.44441034866813859407},       {60.0, 8, 1.5, 0.0093361888214539366972},
      {1.3, 3, 2, 0.68270525822546525959},         {4.0, 3, 2, 0.18572153742340738837},
      {60.0, 3, 2, 0.0010139601035237738784},      {1.3, 5, 2, 0.87081837732944535579},
      {4.0, 5, 2, 0.29548874617426955257},         {60.0, 5, 2, 0.0017079244959172720695},
      {1.3, 8, 2, 0.95451288850435651241},         {4.0, 8, 2, 0.39641971637495858711},
      {60.0, 8, 2, 0.0024345755167474200819},      {1.3, 3, 3, 0.66703422078696045353},
      {4.0, 3, 3, 0.12882137047966760007},         {60.0, 3, 3, 0.000059423043089005903338},
      {1.3, 5, 3, 0.87412524581131907591},         {4.0, 5, 3, 0.22865944373564566521},
      {60.0, 5, 3, 0.00011544113450168707464},     {1.3, 8, 3, 0.96231616981312615896},
      {4.0, 8, 3, 0.33279807661322011862},         {60.0, 8, 3, 0.00018522978598123446062},
      {1.3, 3, 7.3, 0.64556462636920909984},       {4.0, 3, 7.3, 0.056500500124436385006},
      {9.0, 3, 7.3, 0.00080898677333626378583},    {1.3, 5, 7.3, 0.88125183763479608271},
      {4.0, 5, 7.3, 0.12500832889525280013},       {9.0, 5, 7.3, 0.0020588300209864877257},
      {1.3, 8, 7.3, 0.97416808827457417721},       {4.0, 8, 7.3, 0.21915670544259240609},
      {9.0, 8, 7.3, 0.0042335194007527401537},     {1.3, 3, 200, 0.62878399664358795795},
      {4.0, 3, 200, 0.014208190018314012868},      {9.0, 3, 200, 3.9442550421809892019e-9},
      {1.3, 5, 200, 0.88923219999964661752},       {4.0, 5, 200, 0.040754015833057716226},
      {9.0, 5, 200, 1.3128566258278969973e-8},     {1.3, 8, 200, 0.98392520952394219136},
      {4.0, 8, 200, 0.09384379680401305677},       {9.0, 8, 200, 3.668273254874981271e-8},
      {0.5, 3, infinity, 0.93342194513528696372},  {3.5, 3, infinity, 0.035557041863160375445},
      {8, 3, infinity, 4.6214387129336175855e-8},  {0.5, 8, infinity, 0.99996754481243294944},
      {3.5, 8, infinity, 0.2061514040533896875},   {8, 8, infinity, 4.2964861572003910097e-7},
      {8, 20, infinity, 2.8901613927553790949e-6}, {3.5, 20, infinity, 0.6036049452034736836},
      {20, 20, 5, 0.00088571107508514610226},      {40, 20, 1.5, 0.025292967170885140365},
  };
  for (const Row& row : rows) {
    CAPTURE(row.q);
    CAPTURE(row.k);
    CAPTURE(row.degrees_of_freedom);
    CHECK(range_upper_tail(row.q, row.k, row.degrees_of_freedom) == digits(row.upper_tail, 14));
  }
}

TEST_CASE("studentized_range: quantiles agree with 40-digit values at few degrees of freedom") {
  // The integrals above (mp.dps = 28; 120 nodes inside, 16 a piece outside), secant in ln q on ln(tail/p) to 1e-12 or
  // less
  struct Row {
    double p;
    int k;
    double degrees_of_freedom, quantile;
  };
  constexpr Row rows[] = {
      {0.05, 3, 2, 8.3307826456370523},  {0.05, 5, 1, 37.0815019036768234},    {0.2, 3, 1.5, 4.54505896013418238},
      {0.01, 8, 3, 15.6410027328474342}, {0.001, 5, 7.3, 10.0975339463714061}, {0.5, 8, 2, 3.3610860122604654},
  };
  for (const Row& row : rows) {
    CAPTURE(row.p);
    CAPTURE(row.k);
    CAPTURE(row.degrees_of_freedom);
    CHECK(range_upper_quantile(row.p, row.k, row.degrees_of_freedom) == digits(row.quantile, 12));
  }
}

TEST_CASE("studentized_range: two means are Student's t, Q = √2·|T|") {
  for (const double nu : {1.0, 1.7, 3.0, 12.0, 1e8, infinity}) {
    CAPTURE(nu);
    for (const double q : {0.3, 3.0, 11.0})
      CHECK(range_upper_tail(q, 2, nu) == digits(2 * t_upper_tail(q / std::numbers::sqrt2, nu), 14));
    for (const double p : {0.9, 0.2, 0.05, 0.001})
      CHECK(range_upper_quantile(p, 2, nu) == digits(std::numbers::sqrt2 * t_upper_quantile(p / 2, nu), 14));
  }
}

TEST_CASE("studentized_range: three close normals lie in a hexagon") {
  // Range of three ≤ w: in the plane of their deviations a regular hexagon of area √3·w² about 0, where the density is
  // 1/(2π); it falls off by a relative order w².
  const double w = 1e-3;
  CHECK(1 - range_upper_tail(w, 3, infinity) == digits(std::numbers::sqrt3 * w * w / (2 * std::numbers::pi), 6));
}

TEST_CASE("studentized_range: far out the tail is the sum over all pairs, down to 1e-200 and over the join at 24") {
  for (const int k : {3, 5, 20, 200}) {
    CAPTURE(k);
    // Overlaps of pairs are rarer by about k·exp(−q²/12), 1e-14·k at q = 20; rounding q/√2 moves either tail by up to
    // (q²/2)·2.2e-16 of itself.
    for (const double q : {20.0, 23.9, 23.999999, 24.0, 24.1, 30.0, 43.0}) {
      CAPTURE(q);
      const double pairs = k * (k - 1.0) * normal_upper_tail(q / std::numbers::sqrt2);
      CHECK(std::abs(range_upper_tail(q, k, infinity) / pairs - 1) < q * q * 2.2e-16 + k * std::exp(-q * q / 12));
    }
  }
}

TEST_CASE("studentized_range: the tail lies between one pair's and the sum of all pairs'") {
  for (const int k : {3, 4, 8, 20, 50})
    for (const double nu : {1.0, 1.3, 2.0, 5.5, 40.0, 1e5, infinity})
      for (double q = 0.1; q < 1e4; q *= 1.7) {
        CAPTURE(k);
        CAPTURE(nu);
        CAPTURE(q);
        const double pair = 2 * t_upper_tail(q / std::numbers::sqrt2, nu);
        const double tail = range_upper_tail(q, k, nu);
        if (pair < 1e-290) continue;
        CHECK(tail > pair * (1 - 1e-13));
        CHECK(tail < pair * (0.5 * k * (k - 1)) * (1 + 1e-13));
      }
}

TEST_CASE("studentized_range: more means, fewer degrees of freedom and smaller q mean a larger tail") {
  for (const double nu : {1.0, 2.5, 30.0}) {
    CAPTURE(nu);
    for (int k = 3; k <= 30; ++k) CHECK(range_upper_tail(4, k, nu) > range_upper_tail(4, k - 1, nu));
    for (double q = 0.5; q < 30; q += 0.25) CHECK(range_upper_tail(q + 0.25, 6, nu) < range_upper_tail(q, 6, nu));
    CHECK(range_upper_tail(5, 6, nu) > range_upper_tail(5, 6, nu * 1.1));
  }
}

TEST_CASE("studentized_range: many degrees of freedom pass over into infinitely many") {
  // The tail is linear in 1/ν, with a factor of order q⁴: here below 1e3.
  for (const double nu : {1e12, 1e15, 9e16, 2e17, 1e300}) {
    CAPTURE(nu);
    CHECK(std::abs(range_upper_tail(3.5, 4, nu) / range_upper_tail(3.5, 4, infinity) - 1) < 1e3 / nu + 1e-14);
  }
}

TEST_CASE("studentized_range: the tail at a quantile is the probability asked for") {
  for (const int k : {2, 3, 7, 20, 100})
    for (const double nu : {1.0, 1.5, 2.0, 3.3, 10.0, 250.0, 1e7, infinity})
      for (const double p : {0.99, 0.9, 0.5, 0.2, 0.1, 0.05, 0.01, 0.001, 1e-9}) {
        CAPTURE(k);
        CAPTURE(nu);
        CAPTURE(p);
        // The bracket closes to 1e-12 in ln q; the tail's logarithm falls by q²/2 per unit of ln q or more slowly: 60.
        CHECK(std::abs(range_upper_tail(range_upper_quantile(p, k, nu), k, nu) / p - 1) < 60e-12);
      }
}

TEST_CASE("studentized_range: the ends, 0 and infinity, have tails 1 and 0") {
  for (const int k : {2, 3, 20})
    for (const double nu : {1.0, 4.5, infinity}) {
      CHECK(range_upper_tail(0, k, nu) == 1);
      CHECK(range_upper_tail(infinity, k, nu) == 0);
      CHECK(range_upper_tail(1e-6, k, nu) <= 1);
    }
  CHECK(range_upper_tail(1e200, 3, 1) > 0);  // 1e-200: heavy tails stay
}

TEST_CASE("studentized_range: threads may ask for the same new number of means together") {
  std::vector<double> tails(4);
  std::vector<std::thread> threads;
  for (double& tail : tails) threads.emplace_back([&tail] { tail = range_upper_tail(3, 37, 9.5); });
  for (std::thread& thread : threads) thread.join();
  for (const double tail : tails) CHECK(tail == tails.front());
}

TEST_CASE("studentized_range: what has no answer is refused") {
  CHECK_THROWS_WITH_AS(range_upper_tail(1, 1, 5), "studentized_range: needs 2 to 200 means, got 1", DomainError);
  CHECK_THROWS_WITH_AS(range_upper_quantile(0.1, 201, 5), "studentized_range: needs 2 to 200 means, got 201",
                       DomainError);
  CHECK_THROWS_WITH_AS(range_upper_tail(1, 3, 0.9), "studentized_range: needs 1 or more degrees of freedom, got 0.9",
                       DomainError);
  CHECK_THROWS_WITH_AS(range_upper_quantile(0.1, 3, not_a_number),
                       "studentized_range: needs 1 or more degrees of freedom, got nan", DomainError);
  CHECK_THROWS_WITH_AS(range_upper_tail(-0.5, 3, 5), "studentized_range: needs q of 0 or more, got -0.5", DomainError);
  CHECK_THROWS_WITH_AS(range_upper_tail(not_a_number, 3, 5), "studentized_range: needs q of 0 or more, got nan",
                       DomainError);
  CHECK_THROWS_WITH_AS(range_upper_quantile(0, 3, 5),
                       "studentized_range: needs a probability above 0, at most 0.999999, got 0", DomainError);
  CHECK_THROWS_WITH_AS(range_upper_quantile(0.9999999, 3, 5),
                       "studentized_range: needs a probability above 0, at most 0.999999, got 0.9999999", DomainError);
  CHECK_THROWS_WITH_AS(range_upper_quantile(not_a_number, 3, 5),
                       "studentized_range: needs a probability above 0, at most 0.999999, got nan", DomainError);
}
