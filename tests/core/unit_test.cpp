#include <doctest/doctest.h>

#include <shotassay/core/unit.hpp>

#include "support/close.hpp"

using namespace shotassay;

TEST_CASE("unit: one foot is 0.3048 m exactly, both ways") {
  constexpr auto fps = SpeedUnit::feet_per_second, mps = SpeedUnit::metres_per_second;
  // International yard and pound agreement, 1959: 1 ft = 0.3048 m.
  CHECK(conversion(fps, mps) == 0.3048);
  CHECK(conversion(mps, fps) == 1.0 / 0.3048);
  CHECK(conversion(fps, fps) == 1.0);
  CHECK(conversion(mps, mps) == 1.0);
  // 300 ft = 91.44 m; 1 m = 3.280839895… ft (1/0.3048)
  CHECK(Speed{300.0, fps}.in(mps) == digits(91.44, 15));
  CHECK(Speed{1.0, mps}.in(fps) == digits(3.2808398950131235, 15));
  CHECK(Speed{271.0, fps}.in(fps) == 271.0);
  CHECK(Speed{-2.0, fps}.in(mps) == digits(-0.6096, 15));
}

TEST_CASE("unit: names are those that are printed") {
  CHECK(name(SpeedUnit::feet_per_second) == "fps");
  CHECK(name(SpeedUnit::metres_per_second) == "m/s");
}
