#include <doctest/doctest.h>

#include <string>

#include <shotassay/studies/rating.hpp>

#include "support/close.hpp"

using namespace shotassay;

TEST_CASE("rating: each stands where its name says, and no other text is one") {
  for (const RatingConvention& c : rating_conventions) {
    CAPTURE(c.name);
    CHECK(convention(c.rating).name == c.name);
    CHECK(rating_named(c.name) == c.rating);
  }
  for (const char* name : {"", "ATA", "ata ", "astm", "amo-", "ata-60"}) CHECK(!rating_named(name));
}

TEST_CASE("rating: arrow mass is draw weight times grains per pound") {
  for (const RatingConvention& c : rating_conventions) {
    CAPTURE(c.name);
    CHECK(c.arrow_mass.value == c.draw_weight.value * c.grains_per_pound);
  }
}

TEST_CASE("rating: only a test standard tells how often to shoot, how, and within which tolerance") {
  for (const RatingConvention& c : rating_conventions) {
    CAPTURE(c.name);
    const bool standard = c.status == RatingStatus::test_standard;
    CHECK((c.shots == Fixing::fixed) == standard);
    CHECK(c.least_shots.has_value() == standard);
    CHECK((c.shooting_machine == Fixing::fixed) == standard);
    CHECK(c.arrow_mass.above.has_value() == standard);
  }
}

TEST_CASE("rating: a competition rule and a standard may have the same numbers and are not the same") {
  const auto &rule = convention(Rating::ibo), &standard = convention(Rating::ata);
  CHECK(rule.draw_weight.value == standard.draw_weight.value);
  CHECK(rule.draw_length.value == standard.draw_length.value);
  CHECK(rule.arrow_mass.value == standard.arrow_mass.value);
  CHECK(rule.draw_length.fixing == Fixing::customary);
  CHECK(standard.draw_length.fixing == Fixing::fixed);
  CHECK(rule.shots == Fixing::left_open);
  CHECK(rule.status == RatingStatus::competition_rule);
  CHECK(rule.grounds == Grounds::second_hand);
  // What could not be read is not known, rather than left open or exact.
  CHECK(!standard.draw_weight.above);
  CHECK(convention(Rating::amo).shots == Fixing::not_known);
}
