#include <shotassay/studies/clinic.hpp>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/best_of.hpp>
#include <shotassay/methods/equivalence.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/studies/design_power.hpp>
#include <shotassay/studies/verdict.hpp>

namespace shotassay {

namespace {

using numerics::RandomPurpose;
using numerics::ReplicateStream;

constexpr std::uint64_t replicates_of_a_size = 1000;  ///< more than there are students
constexpr std::uint64_t most_tried = 1000;
constexpr std::uint64_t tests_of_a_rate = 20'000;

[[noreturn]] void refuse(const std::string& what, double got, const std::string& unit) {
  throw DomainError{"clinic: " + what + ", got " + std::to_string(got) + unit};
}

std::vector<double> true_speeds(ReplicateStream& words, std::int64_t shots, double average, double sd) {
  std::vector<double> speeds;
  for (std::int64_t i = 0; i < shots; ++i) speeds.push_back(average + sd * words.normal());
  return speeds;
}

Sample seen(const std::vector<double>& speeds, DisplayStep step) {
  std::vector<std::int64_t> steps;
  for (const double x : speeds) steps.push_back(static_cast<std::int64_t>(std::floor(x / step.value() + 0.5)));
  return {std::move(steps), step};
}

Sample shot(ReplicateStream& words, std::int64_t shots, double average, const ClinicQuestion& q) {
  return seen(true_speeds(words, shots, average, q.sd), q.step);
}

/// The true average of the slower set-up: within the display step about the speed asked for.
double slower(ReplicateStream& words, const ClinicQuestion& q) {
  return q.speed + (words.uniform() - 0.5) * q.step.value();
}

/// The slower set-up's average, the same for all exercises of a class.
double slower_of_class(const ClinicQuestion& q) {
  ReplicateStream words{q.seed, 0, RandomPurpose::clinic};
  return slower(words, q);
}

/// A test of the two, or of the slower one twice.
ClinicTest drawn(ReplicateStream& words, const ClinicQuestion& q, double slower, bool apart) {
  const bool b_is_faster = words.below(2) == 1;
  const double gap = apart ? q.gap : 0.0;
  Sample a = shot(words, q.shots, b_is_faster ? slower : slower + gap, q);
  Sample b = shot(words, q.shots, b_is_faster ? slower + gap : slower, q);
  return {std::move(a), std::move(b), b_is_faster || !apart ? gap : -gap};
}

Said said(const RoundingAwareResult& result) {
  switch (verdict(result.interval)) {
    case Verdict::faster:
      return Said::b;
    case Verdict::slower:
      return Said::a;
    default:
      return Said::cannot_tell;
  }
}

/// Chance that n rounded readings of one average are all equal.
double chance_all_equal(std::int64_t n, double average, double sd, DisplayStep step) {
  const double m = average / step.value(), s = sd / step.value();
  const auto first = static_cast<std::int64_t>(std::floor(m - 9.0 * s)),
             last = static_cast<std::int64_t>(std::ceil(m + 9.0 * s));
  double sum = 0.0;
  for (std::int64_t k = first; k <= last; ++k) {
    const double low = (static_cast<double>(k) - 0.5 - m) / s, high = low + 1.0 / s;
    // Tails from their own side.
    const double p = low > 0.0 ? numerics::normal_upper_tail(low) - numerics::normal_upper_tail(high)
                               : numerics::normal_lower_tail(high) - numerics::normal_lower_tail(low);
    sum += std::pow(p, static_cast<double>(n));
  }
  return sum;
}

bool finds(const std::vector<std::int64_t>& a, const std::vector<std::int64_t>& b, ConfidenceLevel level) {
  static const DisplayStep one{Decimal{1, 0}};
  const Sample x{a, one}, y{b, one};
  const RoundedGroup g = rounded_group(x), h = rounded_group(y);
  // No t is below the normal quantile, so most tests are settled without one.
  const double least =
      numerics::normal_upper_quantile(0.5 * level.alpha()) * detail::RoundingAwareGap{g, h, Family{}}.u(0.0);
  if (std::abs(mean_difference(g.moments, h.moments)) <= (1.0 - 1e-9) * least) return false;
  return verdict(rounding_aware(x, y, level).interval) != Verdict::open;
}

bool finds_without_one(std::vector<std::int64_t> a, std::vector<std::int64_t> b, ConfidenceLevel level) {
  for (int side = 0; side < 2; ++side, std::swap(a, b))
    for (std::size_t i = 0; i < a.size(); ++i) {
      std::vector<std::int64_t> fewer = a;
      fewer.erase(fewer.begin() + static_cast<std::ptrdiff_t>(i));
      if (finds(fewer, b, level)) return true;
    }
  return false;
}

}  // namespace

void require_sound(const ClinicQuestion& q) {
  const double step = q.step.value();
  if (q.students < 1 || q.students > 60) refuse("a class has 1 to 60 students", q.students, "");
  if (q.shots < 2 || q.shots > 20) refuse("a test has 2 to 20 shots with each", static_cast<double>(q.shots), "");
  if (!(q.gap > 0.0 && q.gap <= 1e6 * step)) refuse("the gap must be above 0 and at most a million steps", q.gap, "");
  if (!(q.sd >= 0.1 * step && q.sd <= 1e6 * step))
    refuse("the SD must be a tenth of a display step or more, and at most a million steps", q.sd, "");
  if (!(q.speed > 0.0 && q.speed <= 1e9 * step)) refuse("the speed must be above 0, at most 1e9 steps", q.speed, "");
}

Outcome outcome(Said said, double true_gap) {
  if (said == Said::cannot_tell) return true_gap == 0.0 ? Outcome::right : Outcome::missed;
  if (true_gap == 0.0) return Outcome::fooled;
  return (said == Said::b) == (true_gap > 0.0) ? Outcome::right : Outcome::fooled;
}

ToolSays tool_says(const ClinicTest& test, ConfidenceLevel level) {
  const RoundingAwareResult result = rounding_aware(test.a, test.b, level);
  return {result, said(result)};
}

Said averages_say(const ClinicTest& test) {
  const double gap = mean_difference(moments(test.a), moments(test.b));
  return gap > 0.0 ? Said::b : gap < 0.0 ? Said::a : Said::cannot_tell;
}

std::vector<ClinicTest> luck_tests(const ClinicQuestion& q) {
  require_sound(q);
  const double average = slower_of_class(q);
  const auto students = static_cast<std::uint32_t>(q.students);
  std::vector<bool> apart(students, true);
  std::fill_n(apart.begin(), students / 2, false);
  ReplicateStream words{q.seed, 0, RandomPurpose::clinic};
  words.uniform();  // the place between two readings, taken already
  for (std::uint32_t i = students - 1; i > 0; --i) {
    const std::uint32_t j = words.below(i + 1);
    std::vector<bool>::swap(apart[i], apart[j]);
  }
  std::vector<ClinicTest> tests;
  for (std::uint32_t i = 0; i < students; ++i) {
    ReplicateStream shots{q.seed, 1 + i, RandomPurpose::clinic};
    tests.push_back(drawn(shots, q, average, apart[i]));
  }
  return tests;
}

ClinicTest luck_test(const ClinicQuestion& q, std::uint64_t test) {
  ReplicateStream words{q.seed, test, RandomPurpose::clinic_series};
  const bool apart = words.below(2) == 1;
  const double average = slower(words, q);
  return drawn(words, q, average, apart);
}

LuckSeries luck_series(const ClinicQuestion& q, std::uint64_t tests) {
  require_sound(q);
  if (tests > 10'000'000) refuse("a series has at most 10000000 tests", static_cast<double>(tests), "");
  LuckSeries series{.tests = tests, .seed = q.seed, .tool = {}, .averages = {}};
  for (std::uint64_t i = 0; i < tests; ++i) {
    const ClinicTest test = luck_test(q, i);
    series.tool.add(test.true_gap, outcome(tool_says(test, q.level).said, test.true_gap));
    series.averages.add(test.true_gap, outcome(averages_say(test), test.true_gap));
  }
  return series;
}

std::vector<SizeOfTest> tests_of_sizes(const ClinicQuestion& q, const std::vector<std::int64_t>& sizes) {
  require_sound(q);
  const double average = slower_of_class(q);
  std::vector<SizeOfTest> out;
  for (std::size_t k = 0; k < sizes.size(); ++k) {
    SizeOfTest size{.shots = sizes[k], .gaps = {}, .miss = 0, .found = 0};
    for (int student = 0; student < q.students; ++student) {
      ReplicateStream words{q.seed, replicates_of_a_size * k + static_cast<std::uint64_t>(student),
                            RandomPurpose::clinic_sizes};
      const Sample a = shot(words, size.shots, average, q), b = shot(words, size.shots, average + q.gap, q);
      size.gaps.push_back(rounding_aware(a, b, q.level));
      const RoundingAwareResult& gap = size.gaps.back();
      // A limit that falls on the truth holds it, whatever the last bits say.
      const double slack = touching_distance(gap.interval, q.gap);
      if (gap.interval.lower > q.gap + slack || gap.interval.upper < q.gap - slack) ++size.miss;
      if (said(gap) == Said::b) ++size.found;
    }
    out.push_back(std::move(size));
  }
  return out;
}

std::vector<SeenThrough> through_displays(const ClinicQuestion& q) {
  require_sound(q);
  const Decimal step = q.step.size();
  const Decimal finer{step.coefficient(), step.decimals() + 1}, coarser{5 * step.coefficient(), step.decimals()};
  const double average = slower_of_class(q);
  std::vector<double> a, b;
  for (std::uint64_t tried = 0; tried <= most_tried; ++tried) {
    // Where none of them reads alike, the first of them after all.
    ReplicateStream words{q.seed, tried == most_tried ? 0 : tried, RandomPurpose::clinic_displays};
    a = true_speeds(words, q.shots, average, q.sd);
    b = true_speeds(words, q.shots, average + q.gap, q.sd);
    if (seen(a, DisplayStep{coarser}).all_equal()) break;
  }
  std::vector<SeenThrough> out;
  for (const Decimal size : {finer, step, coarser}) {
    const DisplayStep display{size};
    const Sample seen_a = seen(a, display), seen_b = seen(b, display);
    out.push_back({display, seen_a, seen_b, rounding_aware(seen_a, seen_b, q.level),
                   chance_all_equal(q.shots, average, q.sd, display)});
  }
  return out;
}

LeavingOut leaving_out(std::int64_t shots, double sd, DisplayStep step, ConfidenceLevel level, std::uint64_t tests,
                       std::uint64_t seed) {
  const double sd_in_steps = sd / step.value();
  if (shots < 3 || shots > 100) refuse("leaving out needs 3 to 100 shots with each", static_cast<double>(shots), "");
  if (!(sd_in_steps > 0.0 && sd_in_steps <= 1e6))
    refuse("the SD must be above 0 and at most a million steps", sd_in_steps, " steps");
  if (tests < 1'000 || tests > 1'000'000) refuse("needs 1000 to 1000000 tests", static_cast<double>(tests), "");
  std::uint64_t all = 0, without = 0;
  for (std::uint64_t test = 0; test < tests; ++test) {
    ReplicateStream words{seed, test, RandomPurpose::clinic_leaving_out};
    const double phase = words.uniform();
    std::array<std::vector<std::int64_t>, 2> groups;
    for (auto& group : groups)
      for (std::int64_t i = 0; i < shots; ++i)
        group.push_back(static_cast<std::int64_t>(std::floor(phase + sd_in_steps * words.normal())));
    const bool found = finds(groups[0], groups[1], level);
    all += found;
    without += found || finds_without_one(groups[0], groups[1], level);
  }
  const auto count = static_cast<double>(tests);
  const double rate = static_cast<double>(without) / count;
  return {.shots = shots,
          .none_left_out = static_cast<double>(all) / count,
          .one_left_out = rate,
          .standard_error = std::sqrt(rate * (1.0 - rate) / count),
          .tests = tests,
          .seed = seed,
          .gain = best_of_normal(shots).expected / static_cast<double>(shots - 1) * sd};
}

OneBow one_bow(std::int64_t shots, double shot_sd, double bow_sd, DisplayStep step, ConfidenceLevel level) {
  if (shots < 2 || shots > 1000) refuse("needs 2 to 1000 shots with each", static_cast<double>(shots), "");
  if (!(shot_sd > 0.0 && bow_sd > 0.0)) refuse("SDs must be positive", std::min(shot_sd, bow_sd), "");
  const DesignPower power{GroupDesign{shots, shot_sd}, GroupDesign{shots, shot_sd}, {.step = step, .level = level}};
  // The trapezoid rule on a smooth bell: its error falls faster than any power once steps are below the power's width.
  const double spread = std::sqrt(2.0) * bow_sd;
  const double width = shot_sd * std::sqrt(2.0 / static_cast<double>(shots));
  const double step_of_rule = std::min(0.25 * spread, 0.5 * width);
  double sum = 0.0, weights = 0.0;
  for (int k = 0; k * step_of_rule <= 6.0 * spread; ++k) {
    const double gap = k * step_of_rule;
    const double weight = (k == 0 ? 1.0 : 2.0) * numerics::normal_density(gap / spread);
    sum += weight * power.finds(gap).average;
    weights += weight;
  }
  return {.shots = shots, .error_rate = sum / weights};
}

Fooling fooling(const ClinicQuestion& q) {
  require_sound(q);
  constexpr std::int64_t shots = 10;
  const double average = slower_of_class(q);
  ReplicateStream words{q.seed, 0, RandomPurpose::clinic_fooling};
  Sample a = shot(words, shots, average, q), b = shot(words, shots, average, q);
  Fooling out{
      .like = {std::move(a), std::move(b), 0.0},
      .best = {},
      .looks = {},
      .leaving_out = leaving_out(std::max<std::int64_t>(q.shots, 5), q.sd, q.step, q.level, tests_of_a_rate, q.seed),
      .bow_sd = q.sd,
      .one_bow = {}};
  for (const std::int64_t n : {1, 3, 5, 10, 20}) out.best.push_back({n, best_of_normal(n).expected * q.sd});
  for (const std::int64_t looks : {1, 2, 4, 8, 18}) {
    std::vector<std::int64_t> after;
    for (std::int64_t i = 0; i < looks; ++i) after.push_back(3 + i);
    out.looks.push_back(
        {after.front(), after.back(), stopping_error(after, q.sd, q.step, q.level, tests_of_a_rate, q.seed)});
  }
  for (const std::int64_t n : {3, 10, 30}) out.one_bow.push_back(one_bow(n, q.sd, out.bow_sd, q.step, q.level));
  return out;
}

Lesson lesson(const ClinicQuestion& q) {
  return {.question = q,
          .luck = luck_tests(q),
          .series = luck_series(q, tests_of_a_rate),
          .sizes = tests_of_sizes(q, {3, 5, 10, 20}),
          .displays = through_displays(q),
          .fooling = fooling(q)};
}

ClassTally class_tally(std::vector<ToldTest> tests) {
  ClassTally tally{.tests = std::move(tests), .eye = {}, .tool = {}, .tool_answered = {}, .unanswered = 0};
  for (const ToldTest& told : tally.tests) {
    const double truth = told.test.true_gap;
    const Outcome tool = outcome(told.tool.said, truth);
    tally.tool.add(truth, tool);
    if (!told.eye) {
      ++tally.unanswered;
      continue;
    }
    tally.tool_answered.add(truth, tool);
    tally.eye.add(truth, outcome(*told.eye, truth));
  }
  return tally;
}

}  // namespace shotassay
