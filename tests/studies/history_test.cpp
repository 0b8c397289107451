#include "support/close.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <shotassay/methods/moderated.hpp>
#include <shotassay/studies/history.hpp>
#include <string>
#include <vector>

using namespace shotassay;

namespace {

constexpr SpeedUnit fps = SpeedUnit::feet_per_second, mps = SpeedUnit::metres_per_second;
const DisplayStep whole{Decimal{1, 0}};

Sheet sheet(const std::string& text) {
  ReadResult read = read_sheet(text);
  REQUIRE(read.sheet);
  return *read.sheet;
}

ShotHistory history(const std::vector<std::string>& texts, SpeedUnit unit = fps, DisplayStep step = whole,
                    bool robust = true) {
  std::vector<Sheet> sheets;
  for (const std::string& text : texts) sheets.push_back(sheet(text));
  return shot_history(sheets, unit, step, robust);
}

}  // namespace

TEST_CASE("shot_history: each set-up, bow and session is a string, sheet by sheet") {
  const ShotHistory h =
      history({"setup,speed_fps,bow,session\nA,191,1,mon\nA,193,1,mon\nA,190,2,mon\nA,196,2,mon\n"
               "A,190,1,tue\nA,191,1,tue\nA,192,1,tue\n",
               "setup,speed_fps\nB,201\nC,150\nB,203\nC,151\n"});
  REQUIRE(h.strings.size() == 5);
  const auto is = [&](std::size_t i, std::size_t in_sheet, const char* setup, const char* bow, const char* session,
                      std::size_t shots, double variance) {
    CAPTURE(i);
    CHECK(h.strings[i].sheet == in_sheet);
    CHECK(h.strings[i].setup == setup);
    CHECK(h.strings[i].bow == bow);
    CHECK(h.strings[i].session == session);
    CHECK(h.strings[i].shots == shots);
    CHECK(h.strings[i].scatter.degrees_of_freedom == static_cast<double>(shots) - 1);
    CHECK(h.strings[i].scatter.variance == digits(variance, 14));
    CHECK_FALSE(h.strings[i].all_equal);
  };
  is(0, 0, "A", "1", "mon", 2, 2);
  is(1, 0, "A", "2", "mon", 2, 18);
  is(2, 0, "A", "1", "tue", 3, 1);
  is(3, 1, "B", "", "", 2, 2);
  is(4, 1, "C", "", "", 2, 0.5);
  CHECK(h.single_shots == 0);
  CHECK(h.prior.strings == 5);
  CHECK(h.prior.degrees_of_freedom_of_strings == 6);
  std::vector<StringScatter> scatter;
  for (const HistoryString& s : h.strings) scatter.push_back(s.scatter);
  CHECK(h.prior.variance == scatter_prior(scatter).variance);
  CHECK(h.prior.degrees_of_freedom == scatter_prior(scatter).degrees_of_freedom);
}

TEST_CASE("shot_history: the check standard is a string too; single and excluded shots are not") {
  const ShotHistory h = history(
      {"# check standard: club bow\nsetup,speed_fps,excluded\nclub bow,170,\nA,191,\nB,199,\nA,140,hit the lip\n"
       "club bow,171,\nA,193,\nC,180,\nC,184,\n"});
  REQUIRE(h.strings.size() == 3);
  CHECK(h.strings[0].setup == "club bow");
  CHECK(h.strings[1].setup == "A");
  CHECK(h.strings[1].shots == 2);
  CHECK(h.strings[2].setup == "C");
  CHECK(h.single_shots == 1);
}

TEST_CASE("shot_history: equal readings have the variance that one display cell hides") {
  const ShotHistory h = history({"setup,speed_fps\nA,191\nA,191\nB,190\nB,194\nC,150\nC,150\nC,150\n"});
  CHECK(h.strings[0].all_equal);
  CHECK(h.strings[0].scatter.variance == digits(1.0 / 12, 14));
  CHECK_FALSE(h.strings[1].all_equal);
  CHECK(h.strings[2].all_equal);
  CHECK(std::isfinite(h.prior.variance));
  CHECK(h.prior.variance > 0);
}

TEST_CASE("shot_history: metres per second are converted, and a finer display is brought to the test's") {
  // 58.2 and 58.4 m/s, s² = 0.02 m²/s²; a foot is 0.3048 m. The step of the test, 1 fps, is 0.3048 m/s: it adds
  // (0.3048² − 0.1²)/12 m²/s².
  const std::string metres = "setup,speed_mps\nA,58.2\nA,58.4\nB,58.0\nB,58.0\nC,57.5\nC,58.5\n";
  const ShotHistory h = history({metres});
  const double foot = 0.3048 * 0.3048;
  CHECK(h.strings[0].scatter.variance == digits((0.02 + (foot - 0.01) / 12) / foot, 13));
  CHECK(h.strings[1].scatter.variance == digits((0.01 / 12 + (foot - 0.01) / 12) / foot, 13));
  // In its own unit and step nothing is added; on a finer display nothing is taken off.
  CHECK(history({metres}, mps, DisplayStep{Decimal{1, 1}}).strings[0].scatter.variance == digits(0.02, 13));
  CHECK(history({metres}, mps, DisplayStep{Decimal{1, 2}}).strings[0].scatter.variance == digits(0.02, 13));
  CHECK(history({metres}, fps, DisplayStep{Decimal{1, 2}}).strings[0].scatter.variance == digits(0.02 / foot, 13));
  // The other way: 191 and 193 fps asked for in m/s.
  const ShotHistory feet =
      history({"setup,speed_fps\nA,191\nA,193\nB,190\nB,194\nC,150\nC,155\n"}, mps, DisplayStep{Decimal{1, 1}});
  CHECK(feet.strings[0].scatter.variance == digits(2 * foot, 13));
}

TEST_CASE("shot_history: one wild string is named by its place, and kept when asked for") {
  std::string text = "setup,speed_fps\n";
  for (const char* setup : {"A", "B", "C", "D", "E", "F"})
    for (const int reading : {190, 192, 191, 194, 193})
      text += std::string{setup} + "," + std::to_string(setup[0] == 'D' ? 190 + 20 * (reading - 190) : reading) + "\n";
  const ShotHistory h = history({text});
  REQUIRE(h.prior.wild);
  CHECK(h.strings.at(*h.prior.wild).setup == "D");
  CHECK(h.prior.strings == 5);
  CHECK(h.prior.variance == digits(2.5, 14));  // 190 … 194: squares 10 on 4
  CHECK(std::isinf(h.prior.degrees_of_freedom));
  const ShotHistory all = history({text}, fps, whole, false);
  CHECK_FALSE(all.prior.wild);
  CHECK(all.prior.strings == 6);
  CHECK(all.prior.degrees_of_freedom < 5);
}

TEST_CASE("shot_history: fewer than three strings have no answer, with what would help") {
  CHECK_THROWS_WITH_AS(
      history({"setup,speed_fps\nA,191\nA,193\nB,190\n"}),
      "history: 1 earlier sheet holds 1 string of two or more shots from one set-up, bow and session; three are needed "
      "to tell how scatter itself varies, and ten or more to lean on it. Give more sheets, or compare without a "
      "history.",
      NoAnswer);
  CHECK_THROWS_WITH_AS(
      history({"setup,speed_fps\nA,191\nA,193\n", "setup,speed_fps\nA,191\nA,193\n"}),
      "history: 2 earlier sheets hold 2 strings of two or more shots from one set-up, bow and session; three are "
      "needed "
      "to tell how scatter itself varies, and ten or more to lean on it. Give more sheets, or compare without a "
      "history.",
      NoAnswer);
  CHECK_THROWS_AS(history({}), NoAnswer);
}

TEST_CASE("shot_history: a history of alike strings shortens the interval of the next test") {
  std::string text = "setup,speed_fps\n";
  for (char setup = 'A'; setup < 'K'; ++setup)
    for (const int reading : {190, 192, 191, 194, 193})
      text += std::string{setup} + "," + std::to_string(reading) + "\n";
  const ShotHistory h = history({text});
  const Sample a{{271, 273, 272}, whole}, b{{275, 275, 277}, whole};
  const ModeratedResult with = moderated(a, b, h.prior);
  // s̃² = (40·2.5 + 4·(2 + 8/3)/4)/44, ν = 44; t(0.975; 44) = 2.0153675744 (R: qt(.975, 44))
  CHECK(with.degrees_of_freedom == 44);
  CHECK(with.half_width == digits(2.0153675744 * std::sqrt((100 + 14.0 / 3) / 44 * 2 / 3), 9));
}
