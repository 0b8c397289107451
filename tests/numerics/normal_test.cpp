#include <shotassay/numerics/normal.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
}  // namespace

TEST_CASE("normal: tails and density agree with 40-digit values down to 1e-300") {
  // mpmath, mp.dps = 40:  erfc(mpf(z)/sqrt(2))/2  and  npdf(mpf(z))
  struct Row {
    double z, upper_tail, density;
  };
  constexpr Row rows[] = {
      {-9, 0.99999999999999999989, 1.0279773571668914795e-18},
      {-1, 0.84134474606854294859, 0.2419707245191433498},
      {-0.001, 0.50039894221391106259, 0.398942080930342345},
      {0.1, 0.46017216272297101633, 0.39695254747701176529},
      {0.5, 0.30853753872598689636, 0.35206532676429947777},
      {1, 0.15865525393145705141, 0.2419707245191433498},
      {2, 0.0227501319481792072, 0.053990966513188051951},
      {5, 2.8665157187919391167e-7, 1.4867195147342977079e-6},
      {8, 6.2209605742717841235e-16, 5.052271083536892288e-15},
      {12.3, 4.5287069561587846514e-35, 5.6066569263038404561e-34},
      {20, 2.7536241186062336951e-89, 5.5209483621597631896e-88},
      {30, 4.9067139271481870595e-198, 1.473646134878547519e-196},
      {37, 5.7255712225245768227e-300, 2.1200065515246056269e-298},
  };
  for (const Row& row : rows) {
    CAPTURE(row.z);
    CHECK(normal_upper_tail(row.z) == digits(row.upper_tail, 15));
    CHECK(normal_lower_tail(-row.z) == digits(row.upper_tail, 15));
    CHECK(normal_density(row.z) == digits(row.density, 15));
    CHECK(normal_density(-row.z) == normal_density(row.z));
  }
}

TEST_CASE("normal: the middle is exact and the ends are 0 and 1") {
  CHECK(normal_upper_tail(0) == 0.5);
  CHECK(normal_lower_tail(0) == 0.5);
  CHECK(normal_upper_tail(infinity) == 0);
  CHECK(normal_upper_tail(-infinity) == 1);
  CHECK(normal_lower_tail(infinity) == 1);
  CHECK(normal_lower_tail(-infinity) == 0);
  CHECK(normal_density(infinity) == 0);
  CHECK(normal_density(-50) == 0);
  CHECK(normal_quantile(0.5) == 0);
  CHECK(normal_upper_quantile(0.5) == 0);
}

TEST_CASE("normal: quantiles agree with 40-digit values, those of a tail found from the tail") {
  // mpmath, mp.dps = 40: Newton on log(erfc(z/sqrt(2))/2) - log(p) until the step is below 1e-35; p is the double
  struct Row {
    double p, upper_quantile;
  };
  constexpr Row rows[] = {
      {1e-300, 37.047096299361199237}, {1e-100, 21.273453560965324294}, {1e-15, 7.9413453261709967713},
      {1e-06, 4.7534243088228989573},  {0.005, 2.5758293035489007538},  {0.025, 1.9599639845400542118},
      {0.05, 1.644853626951472688},    {0.2, 0.84162123357291416552},   {0.49, 0.025068908258711058033},
      {0.8, -0.8416212335729143638},   {0.975, -1.9599639845400538556},
  };
  for (const Row& row : rows) {
    CAPTURE(row.p);
    CHECK(normal_upper_quantile(row.p) == digits(row.upper_quantile, 15));
    CHECK(normal_quantile(row.p) == digits(-row.upper_quantile, 15));
  }
}

TEST_CASE("normal: the tail at a quantile is the probability asked for") {
  // An error e of z relative to z moves the tail by about (z² + 1)·e of itself; quantiles are good to 5e-16.
  for (double p = 1e-300; p < 0.5; p *= 7) {
    CAPTURE(p);
    const double z = normal_upper_quantile(p);
    const double bound = (z * z + 1) * 5e-16 + 1e-14;
    CHECK(std::abs(normal_upper_tail(z) / p - 1) < bound);
    CHECK(std::abs(normal_lower_tail(normal_quantile(p)) / p - 1) < bound);
  }
}

TEST_CASE("normal: a tail never grows with z, and both tails add to 1") {
  double last = 1;
  for (double z = -10; z <= 40; z += 0.01) {
    const double tail = normal_upper_tail(z);
    CHECK(tail <= last);
    CHECK(tail + normal_lower_tail(z) == within(1, 3e-16));
    last = tail;
  }
}

TEST_CASE("normal: what has no answer is refused") {
  CHECK_THROWS_WITH_AS(normal_quantile(0), "normal: needs a probability between 0 and 1, got 0", DomainError);
  CHECK_THROWS_WITH_AS(normal_quantile(1), "normal: needs a probability between 0 and 1, got 1", DomainError);
  CHECK_THROWS_WITH_AS(normal_upper_quantile(-1e-20), "normal: needs a probability between 0 and 1, got -1e-20",
                       DomainError);
  CHECK_THROWS_WITH_AS(normal_upper_quantile(not_a_number), "normal: needs a probability between 0 and 1, got nan",
                       DomainError);
  CHECK_THROWS_WITH_AS(normal_upper_tail(not_a_number), "normal: z is not a number", DomainError);
  CHECK_THROWS_WITH_AS(normal_lower_tail(not_a_number), "normal: z is not a number", DomainError);
  CHECK_THROWS_WITH_AS(normal_density(not_a_number), "normal: z is not a number", DomainError);
}
