#include <doctest/doctest.h>

#include <string>

#include <shotassay/studies/shooter.hpp>

using namespace shotassay;

TEST_CASE("shooter: three are known by name, and no other text is one of them") {
  for (const char* name : {"machine", "release", "fingers"}) {
    const auto shooter = shooter_named(name);
    REQUIRE(shooter);
    CHECK(shooter->name == name);
  }
  for (const char* name : {"", "Machine", "machine ", "machin", "machines", "finger"}) CHECK(!shooter_named(name));
}

TEST_CASE("shooter: a steadier one scatters less, and the top of the range is above the SD to start from") {
  double below = 0.0;
  for (const Shooter& s : shooters) {
    CAPTURE(s.name);
    CHECK(s.sd > below);
    CHECK(s.high > s.sd);
    below = s.sd;
  }
}

TEST_CASE("shooter: the numbers in its words are those it plans with") {
  for (const Shooter& s : shooters) {
    const std::string words{s.words}, high = std::to_string(s.high).substr(0, 3);
    CAPTURE(words);
    CHECK(words.find(high == "3.0" ? "3 fps" : high) != std::string::npos);
  }
  // What a machine keeps to as a rule is its start; by hand the start is the middle of the range: (0.5 + 1.5)/2 = 1,
  // (1 + 3)/2 = 2.
  CHECK(shooter_named("machine")->sd == 0.4);
  CHECK(shooter_named("release")->sd == 1.0);
  CHECK(shooter_named("fingers")->sd == 2.0);
  CHECK(shooter_named("machine")->words == "a shooting machine, 0.4 fps or less as a rule and up to 0.9");
  CHECK(shooter_named("release")->words.ends_with("0.5 to 1.5 fps"));
  CHECK(shooter_named("fingers")->words.ends_with("1 to 3 fps"));
}
