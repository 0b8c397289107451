#include <doctest/doctest.h>

#include <limits>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/unit.hpp>

using shotassay::centred;
using shotassay::conversion;
using shotassay::Interval;
using shotassay::SpeedUnit;

TEST_CASE("interval: its ends belong to it") {
  const Interval i = centred(2.0, 0.5);
  CHECK(i == Interval{.lower = 1.5, .upper = 2.5});
  CHECK(i.contains(1.5));
  CHECK(i.contains(2.5));
  CHECK_FALSE(i.contains(1.4));
  CHECK_FALSE(i.contains(2.6));
  CHECK(i.half_width() == 0.5);
}

TEST_CASE("interval: one without limits holds every number") {
  const Interval all;
  CHECK(all.contains(-1e300));
  CHECK(all.contains(1e300));
  CHECK(all.half_width() == std::numeric_limits<double>::infinity());
}

TEST_CASE("unit: one foot is 0.3048 m, exactly") {
  constexpr auto fps = SpeedUnit::feet_per_second, mps = SpeedUnit::metres_per_second;
  CHECK(conversion(fps, mps) == 0.3048);
  CHECK(conversion(fps, fps) == 1.0);
  CHECK(conversion(mps, mps) == 1.0);
  CHECK(conversion(mps, fps) * 0.3048 == doctest::Approx(1.0).epsilon(3e-16));
  CHECK(name(fps) == "fps");
  CHECK(name(mps) == "m/s");
}
