#include <doctest/doctest.h>

#include <string>

#include <shotassay/studies/usual_gaps.hpp>

using namespace shotassay;

TEST_CASE("usual_gaps: each stands where its name says") {
  for (const UsualGap& gap : usual_gaps) CHECK(usual_gap(gap.pair).words == gap.words);
}

TEST_CASE("usual_gaps: bows of one kind have words and no figure, as nobody measured them") {
  const UsualGap& bows = usual_gap(LikePair::bows_of_one_kind);
  CHECK(!bows.fps);
  CHECK(bows.words == "two bows of one kind, a few fps");
  CHECK(words(bows.grounds) == "common practice, no source");
}

TEST_CASE("usual_gaps: the figures are those in the words") {
  // An eighth of a turn at 2 to 4 lbf a turn is ¼ to ½ lbf; at 2 to 2.4 fps a pound, 0.5 to 1.2 fps.
  const auto& anew = usual_gap(LikePair::bow_set_up_anew);
  REQUIRE(anew.fps);
  CHECK(anew.fps->lower == 0.5);
  CHECK(anew.fps->upper == 1.2);
  CHECK(anew.words.ends_with("0.5 to 1.2 fps"));
  const auto& ratings = usual_gap(LikePair::ratings);
  REQUIRE(ratings.fps);
  CHECK(ratings.fps->lower == 2.0);
  CHECK(ratings.fps->upper == 3.0);
  CHECK(ratings.words.ends_with("2 to 3 fps"));
  CHECK(usual_gap(LikePair::archers).words.ends_with("10 fps or more"));
}

TEST_CASE("grounds: each is said in words of its own") {
  CHECK(words(Grounds::source_read) == "read in the source");
  CHECK(words(Grounds::second_hand) == "read second-hand");
  CHECK(words(Grounds::worked_out) == "worked out from other figures");
  CHECK(words(Grounds::common_practice) == "common practice, no source");
}
