#pragma once
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/stopping_error.hpp>

/// A lesson about luck: what a class shall see is drawn here, and its answers are counted.
namespace shotassay {

/// What the whole lesson is drawn from; speeds in the display's unit.
struct ClinicQuestion {
  int students = 12;
  std::uint64_t seed = 1;
  std::int64_t shots = 3;  ///< with each of the two, in the tests about luck
  double speed = 190.0;    ///< about what both shoot
  double gap = 2.0;        ///< true gap of those tests that have one
  double sd = 1.2;         ///< of a shot
  DisplayStep step{Decimal{1, 0}};
  ConfidenceLevel level{0.95};
};

/// Throws DomainError unless 1 ≤ students ≤ 60, 2 ≤ shots ≤ 20, speed, gap and sd are positive, sd at least a tenth of
/// a display step, and none of them more than a million steps.
void require_sound(const ClinicQuestion& question);

/// Who is said to shoot faster.
enum class Said { a, b, cannot_tell };

constexpr std::string_view name(Said said) {
  constexpr std::string_view names[] = {"A", "B", "cannot tell"};
  return names[static_cast<int>(said)];
}

/// What became of something said of a test whose truth is known.
enum class Outcome {
  right,   ///< named the faster one; or could not tell where there is nothing to tell
  fooled,  ///< named one where both are alike, or the slower one
  missed   ///< could not tell a gap that is there
};

Outcome outcome(Said said, double true_gap);

/// Shots with A and with B, and the truth behind them.
struct ClinicTest {
  Sample a, b;
  double true_gap;  ///< b against a
};

/// What the default interval says of a test.
struct ToolSays {
  RoundingAwareResult result;
  Said said;
};

ToolSays tool_says(const ClinicTest& test, ConfidenceLevel level);

/// What somebody says who goes by the averages alone: the larger one is faster, equal ones cannot be told.
Said averages_say(const ClinicTest& test);

struct OutcomeCounts {
  std::size_t right = 0, fooled = 0, missed = 0;

  std::size_t tests() const { return right + fooled + missed; }
  void add(Outcome o) { ++(o == Outcome::right ? right : o == Outcome::fooled ? fooled : missed); }
};

/// Counts of tests without a true gap, and of tests with one.
struct ByTruth {
  OutcomeCounts alike, apart;

  void add(double true_gap, Outcome o) { (true_gap == 0.0 ? alike : apart).add(o); }
};

/// The tests of the class, one a student. All are of the same two set-ups: their averages lie a true gap apart, at a
/// place between two readings that is drawn once. In half of the tests (the smaller half) both are the slower one.
/// Which students get those, and which of the two is called A, is drawn.
///
/// Random    ReplicateStream(seed, 0, clinic) for the class, (seed, 1 + student, clinic) for the shots.
std::vector<ClinicTest> luck_tests(const ClinicQuestion& question);

/// A test like these from a long series: with or without a gap, who is faster, and the place between two readings
/// are all drawn anew.   Random  ReplicateStream(seed, test, clinic_series).
ClinicTest luck_test(const ClinicQuestion& question, std::uint64_t test);

struct LuckSeries {
  std::uint64_t tests, seed;
  ByTruth tool, averages;
};

/// So many tests of the series, counted.   Requires  tests ≤ 10 000 000.
LuckSeries luck_series(const ClinicQuestion& question, std::uint64_t tests);

/// Tests of one size, one a student, all with the true gap.
struct SizeOfTest {
  std::int64_t shots;
  std::vector<RoundingAwareResult> gaps;
  std::size_t miss;   ///< intervals that do not hold the truth
  std::size_t found;  ///< intervals wholly above 0
};

/// The truth of the gap is question.gap, B against A.   Random  (seed, 1000·k + student, clinic_sizes).
std::vector<SizeOfTest> tests_of_sizes(const ClinicQuestion& question, const std::vector<std::int64_t>& sizes);

/// Two set-ups seen through one display.
struct SeenThrough {
  DisplayStep step;
  Sample a, b;
  RoundingAwareResult gap;
  double all_equal;  ///< chance that as many shots with A as here all read alike
};

/// The same shots through displays of a tenth, one and five of the question's steps: the first draw in which all shots
/// with A read alike on the coarsest; of a thousand without one, the first.
/// Random    (seed, draw, clinic_displays)
std::vector<SeenThrough> through_displays(const ClinicQuestion& question);

struct BestOf {
  std::int64_t shots;
  double gain;  ///< of the fastest of them over the true average
};

struct Looks {
  std::int64_t first, last;  ///< shots with each at the first and the last look; a look after each in between
  StoppingError error;
};

/// What leaving out a shot does to the error rate.
struct LeavingOut {
  std::int64_t shots;     ///< with each
  double none_left_out;   ///< share of tests of like set-ups with a gap "found"
  double one_left_out;    ///< the same where one shot, the most convenient one, may be left out
  double standard_error;  ///< of one_left_out
  std::uint64_t tests, seed;
  double gain;  ///< what leaving out the slowest adds to one average
};

/// Two like set-ups; where the interval of all shots holds 0, it is tried without each single shot.
///
/// Requires  3 ≤ shots ≤ 100, sd > 0 and at most a million steps, 1000 ≤ tests ≤ 1 000 000; otherwise DomainError.
/// Random    ReplicateStream(seed, test, clinic_leaving_out)
LeavingOut leaving_out(std::int64_t shots, double sd, DisplayStep step, ConfidenceLevel level, std::uint64_t tests,
                       std::uint64_t seed);

struct OneBow {
  std::int64_t shots;  ///< with each of the two bows
  double error_rate;   ///< share of tests of like kinds with a gap "found"
};

/// Two kinds of bow that are alike, one bow of each: bows of a kind differ with an SD of their own.
///
///   error_rate = ∫ power(g) dN(g; 0, 2·bow_sd²),   power of the default interval averaged over the display's phases
///
/// Requires  2 ≤ shots ≤ 1000, SDs positive.   Accuracy  1e-3 (see DesignPower).
OneBow one_bow(std::int64_t shots, double shot_sd, double bow_sd, DisplayStep step, ConfidenceLevel level);

struct Fooling {
  ClinicTest like;  ///< ten shots with each of two like set-ups, to try it on
  std::vector<BestOf> best;
  std::vector<Looks> looks;
  LeavingOut leaving_out;
  double bow_sd;
  std::vector<OneBow> one_bow;
};

Fooling fooling(const ClinicQuestion& question);

/// All that a class is shown.
struct Lesson {
  ClinicQuestion question;
  std::vector<ClinicTest> luck;
  LuckSeries series;
  std::vector<SizeOfTest> sizes;
  std::vector<SeenThrough> displays;
  Fooling fooling;
};

Lesson lesson(const ClinicQuestion& question);

/// One student's test with what was said of it.
struct ToldTest {
  int student;
  ClinicTest test;
  ToolSays tool;
  std::optional<Said> eye;  ///< absent where the student gave no answer
};

struct ClassTally {
  std::vector<ToldTest> tests;
  ByTruth eye, tool, tool_answered;  ///< tool_answered: of those tests that eyes judged too
  std::size_t unanswered;
};

ClassTally class_tally(std::vector<ToldTest> tests);

}  // namespace shotassay
