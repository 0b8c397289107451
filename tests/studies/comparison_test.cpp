#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/holm.hpp>
#include <shotassay/methods/mean_interval.hpp>
#include <shotassay/methods/moderated.hpp>
#include <shotassay/methods/permutation.hpp>
#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/welch.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/comparison.hpp>

#include "support/close.hpp"
#include "support/samples.hpp"

using namespace shotassay;

namespace {

ComparedSetup setup(std::string name, const std::vector<std::int64_t>& readings) {
  return {.name = std::move(name), .sample = sample(readings)};
}

const std::vector<std::int64_t> five{271, 273, 274, 270, 272}, more{276, 274, 277, 275, 279}, third{272, 275, 274, 273};

std::vector<Method> all_methods() {
  std::vector<Method> methods;
  for (const MethodName& m : method_names) methods.push_back(m.method);
  return methods;
}

const MethodOutcome& of(const std::vector<MethodOutcome>& outcomes, Method method) {
  const auto found =
      std::find_if(outcomes.begin(), outcomes.end(), [&](const MethodOutcome& m) { return m.method == method; });
  REQUIRE(found != outcomes.end());
  return *found;
}

std::vector<std::string> names(const std::vector<MethodOutcome>& outcomes) {
  std::vector<std::string> out;
  for (const auto& m : outcomes) out.emplace_back(name(m.method));
  return out;
}

/// The floored SD of docs/methods/rounding_aware.md, in steps, by its formula.
double floored_sd(const std::vector<std::int64_t>& x) {
  double sum = 0, squares = 0;
  for (const auto r : x) sum += static_cast<double>(r);
  const double n = static_cast<double>(x.size()), mean = sum / n;
  for (const auto r : x) squares += (static_cast<double>(r) - mean) * (static_cast<double>(r) - mean);
  return std::sqrt(std::max(squares / (n - 1), x.size() == 2 ? 0.25 : 1.0 / 12.0));
}

GroupDesign design_of(const std::vector<std::int64_t>& x) {
  return {static_cast<std::int64_t>(x.size()), floored_sd(x)};
}

}  // namespace

TEST_CASE("compare: two set-ups by every method give what each method gives by itself") {
  for (const double level : {0.95, 0.8}) {
    const ConfidenceLevel confidence{level};
    const Sample a = sample(five), b = sample(more);
    const Comparison c =
        compare({setup("A", five), setup("B", more)}, {.level = confidence, .margin = 2.0, .methods = all_methods()});
    CHECK(c.level.value() == level);
    CHECK(c.family == 2);
    CHECK(c.display_step.value() == 1.0);
    REQUIRE(c.gaps.size() == 1);
    const GapOutcome& gap = c.gaps[0];
    CHECK(gap.from == 0);
    CHECK(gap.to == 1);
    CHECK(*gap.difference == digits(4.2, 15));  // 1381/5 − 1360/5
    CHECK(names(gap.methods) == std::vector<std::string>{"rounding_aware", "welch", "pooled", "bootstrap_percentile",
                                                         "bootstrap_basic", "bootstrap_bca", "bootstrap_t",
                                                         "permutation", "round_paired", "session_gaps", "bow_means",
                                                         "bow_means_welch", "mixed", "moderated"});
    for (std::size_t i = 8; i < gap.methods.size();
         ++i) {  // what rests on rounds, days, bows and earlier strings that nobody named
      CHECK(!gap.methods[i].interval);
      CHECK(!gap.methods[i].why_absent.empty());
    }
    CHECK(&gap.deciding() == &gap.methods.front());
    for (const auto& m : gap.methods) CHECK(m.level == level);

    const auto r = rounding_aware(a, b, confidence);
    const auto& aware = of(gap.methods, Method::rounding_aware);
    CHECK(aware.interval == r.interval);
    CHECK(*aware.standard_error == r.standard_error);
    CHECK(*aware.degrees_of_freedom == r.degrees_of_freedom);
    CHECK(*aware.p_two_sided == r.p_two_sided);
    CHECK(*aware.p_equivalence == rounding_aware_p_equivalence(a, b, 2.0));
    CHECK(!aware.t.has_value());
    CHECK(*gap.decided_by == r.decided_by);

    const auto w = welch(a, b, confidence);
    const auto& plain = of(gap.methods, Method::welch);
    CHECK(plain.interval == w.interval);
    CHECK(*plain.t == w.t);
    CHECK(*plain.standard_error == w.standard_error);
    CHECK(*plain.degrees_of_freedom == w.degrees_of_freedom);
    CHECK(*plain.p_two_sided == w.p_two_sided);
    CHECK(*plain.p_equivalence == p_equivalence(w.difference, w.standard_error, w.degrees_of_freedom, 2.0));

    const auto p = pooled(a, b, confidence);
    const auto& student = of(gap.methods, Method::pooled);
    CHECK(student.interval == p.interval);
    CHECK(*student.t == p.t);
    CHECK(*student.degrees_of_freedom == 8.0);
    CHECK(*student.p_two_sided == p.p_two_sided);
    CHECK(student.p_equivalence.has_value());

    CHECK(of(gap.methods, Method::bootstrap_percentile).interval == bootstrap_percentile(a, b, confidence).interval);
    CHECK(of(gap.methods, Method::bootstrap_basic).interval == bootstrap_basic(a, b, confidence).interval);
    CHECK(of(gap.methods, Method::bootstrap_bca).interval == bootstrap_bca(a, b, confidence).interval);
    CHECK(of(gap.methods, Method::bootstrap_t).interval == bootstrap_t(a, b, confidence).interval);
    for (const Method m : {Method::bootstrap_percentile, Method::bootstrap_t}) {
      CHECK(*of(gap.methods, m).exact);
      CHECK(!of(gap.methods, m).resamples.has_value());
      CHECK(!of(gap.methods, m).p_two_sided.has_value());
    }
    const auto& dealt = of(gap.methods, Method::permutation);
    CHECK(dealt.interval == permutation(a, b, confidence).interval);
    CHECK(*dealt.p_two_sided == permutation(a, b, confidence).p_two_sided);
    CHECK(*dealt.exact);
    for (const auto& m : gap.methods) CHECK(!m.p_holm.has_value());

    REQUIRE(c.setups.size() == 2);
    CHECK(names(c.setups[0].methods) == std::vector<std::string>{"rounding_aware", "mean_interval",
                                                                 "bootstrap_percentile", "bootstrap_basic",
                                                                 "bootstrap_bca", "bootstrap_t"});
    CHECK(c.setups[0].methods[0].interval == rounding_aware_mean(a, confidence).interval);
    CHECK(c.setups[1].methods[0].interval == rounding_aware_mean(b, confidence).interval);
    CHECK(of(c.setups[1].methods, Method::mean_interval).interval == mean_interval(b, confidence).interval);
    CHECK(of(c.setups[1].methods, Method::bootstrap_bca).interval == bootstrap_bca(b, confidence).interval);
    CHECK(c.setups[0].description->mean == 272.0);
    CHECK(c.setups[0].name == "A");
    CHECK(!c.setups[0].tight);
  }
}

TEST_CASE("compare: without other methods the default stands alone; a method named twice, or by default, runs once") {
  const auto c = compare({setup("A", five), setup("B", more)});
  CHECK(names(c.gaps[0].methods) == std::vector<std::string>{"rounding_aware"});
  CHECK(!c.gaps[0].deciding().p_equivalence.has_value());
  CHECK(!c.gaps[0].position.has_value());
  const auto d = compare({setup("A", five), setup("B", more)},
                         {.methods = {Method::welch, Method::rounding_aware, Method::welch, Method::mean_interval}});
  CHECK(names(d.gaps[0].methods) == std::vector<std::string>{"rounding_aware", "welch"});
}

TEST_CASE("compare: readings in tenths are compared in their unit") {
  // 81.2 … against 81.8 …: the same shots as whole steps, a tenth of the size.
  const ComparedSetup a{.name = "A", .sample = decimal_sample(five, 1)},
      b{.name = "B", .sample = decimal_sample(more, 1)};
  const auto whole = compare({setup("A", five), setup("B", more)}, {.margin = 2.0});
  const auto tenths = compare({a, b}, {.margin = 0.2});
  CHECK(*tenths.gaps[0].difference == digits(0.42, 14));
  CHECK(tenths.gaps[0].deciding().interval->lower == digits(0.1 * whole.gaps[0].deciding().interval->lower, 13));
  CHECK(tenths.gaps[0].verdict == whole.gaps[0].verdict);
  CHECK(tenths.gaps[0].position == whole.gaps[0].position);
  CHECK(tenths.gaps[0].detectable->gap == within(0.1 * whole.gaps[0].detectable->gap, 1e-9));
}

TEST_CASE("compare: turning the pair round turns the gap round") {
  const auto c = compare({setup("A", five), setup("B", more)}), d = compare({setup("B", more), setup("A", five)});
  CHECK(c.gaps[0].verdict == Verdict::faster);
  CHECK(d.gaps[0].verdict == Verdict::slower);
  CHECK(d.gaps[0].deciding().interval->lower == digits(-c.gaps[0].deciding().interval->upper, 15));
}

TEST_CASE("compare: verdict and position against a margin at every place of the interval") {
  // 4.2 ± 2.584698 (docs/methods/rounding_aware.md): from 1.615302 to 6.784698
  const auto with = [](double margin) {
    return compare({setup("A", five), setup("B", more)}, {.margin = margin}).gaps[0];
  };
  CHECK(with(1.6).verdict == Verdict::faster);
  CHECK(*with(1.6).position == MarginPosition::beyond);
  CHECK(*with(1.7).position == MarginPosition::across);
  CHECK(*with(6.7).position == MarginPosition::across);
  CHECK(with(6.8).verdict == Verdict::faster);
  CHECK(*with(6.8).position == MarginPosition::inside);

  const std::vector<std::int64_t> near{271, 272, 273, 271, 274};  // mean 272.2
  const auto close = [&](double margin) {
    return compare({setup("A", five), setup("B", near)}, {.margin = margin}).gaps[0];
  };
  const double reach = rounding_aware(sample(five), sample(near)).interval.upper;
  CHECK(close(reach + 0.01).verdict == Verdict::same);
  CHECK(*close(reach + 0.01).position == MarginPosition::inside);
  CHECK(close(reach - 0.01).verdict == Verdict::open);
  CHECK(close(reach).verdict == Verdict::open);  // exactly on the margin is not inside
}

TEST_CASE("compare: equal readings are answered, touch what they touch, and promise no gap by shot scatter") {
  const std::vector<std::int64_t> low(5, 271), next(5, 272), higher(5, 274);
  // h = ½ each: the gap of 1 ± 1 touches 0 and stays open, 3 ± 1 leaves it out.
  const auto touching = compare({setup("A", low), setup("B", next)}, {.methods = {Method::welch, Method::permutation}});
  CHECK(touching.gaps[0].verdict == Verdict::open);
  CHECK(*touching.gaps[0].deciding().interval == Interval{.lower = 0.0, .upper = 2.0});
  CHECK(*touching.gaps[0].deciding().p_two_sided == 1.0);
  CHECK(touching.setups[0].tight);
  CHECK(*touching.setups[0].description->sd == 0.0);
  const auto clear = compare({setup("A", low), setup("B", higher)});
  CHECK(clear.gaps[0].verdict == Verdict::faster);
  CHECK(*clear.gaps[0].deciding().interval == Interval{.lower = 2.0, .upper = 4.0});
  for (const auto* c : {&touching, &clear}) {
    CHECK(*c->gaps[0].decided_by == RoundingTerm::display_bound);
    CHECK(!c->gaps[0].detectable.has_value());
    CHECK(c->gaps[0].next_tests.empty());
  }
  // Methods blind to the display have no answer and say why.
  const auto& welch_outcome = of(touching.gaps[0].methods, Method::welch);
  CHECK(!welch_outcome.interval.has_value());
  CHECK(welch_outcome.why_absent == "both SDs are 0, so no width can be computed");
  const auto& dealt = of(touching.gaps[0].methods, Method::permutation);
  CHECK(!dealt.interval.has_value());
  CHECK(dealt.why_absent == "each set-up shows a single value, so dealing the readings anew tells nothing of scatter");
  CHECK(*dealt.p_two_sided == digits(2.0 / 252.0, 14));  // 2 of C(10, 5) arrangements part them so
}

TEST_CASE("compare: every method without an answer says why, and no other is put in its place") {
  const std::vector<std::int64_t> low(3, 271), high(3, 274);
  const auto c = compare({setup("A", low), setup("B", high)}, {.methods = all_methods()});
  for (const auto& m : c.gaps[0].methods) {
    CAPTURE(name(m.method));
    CHECK(m.interval.has_value() == (m.method == Method::rounding_aware));
    CHECK(m.why_absent.empty() == m.interval.has_value());
    CHECK(!m.why_absent.starts_with(name(m.method)));
  }
  for (const auto& m : c.setups[0].methods) CHECK(m.interval.has_value() == (m.method == Method::rounding_aware));
  CHECK(of(c.setups[0].methods, Method::mean_interval).why_absent ==
        "all readings are equal, so their SD of 0 tells no width");
  CHECK(of(c.gaps[0].methods, Method::bootstrap_percentile).why_absent ==
        "each set-up shows a single value, so resampling sees no scatter; it cannot see the display");
  // 3 + 3 shots can be dealt in 20 ways: 1/20 is above α/2.
  const auto d = compare({setup("A", {1, 2, 3}), setup("B", {7, 8, 10})}, {.methods = {Method::permutation}});
  CHECK(of(d.gaps[0].methods, Method::permutation).why_absent ==
        "so few shots can be dealt to two set-ups in too few ways for a range at this level");
  CHECK(*of(d.gaps[0].methods, Method::permutation).p_two_sided == digits(0.1, 15));
}

TEST_CASE("compare: a set-up of one shot is described and has no interval; one without a shot is named") {
  const ComparedSetup none{.name = "C", .sample = std::nullopt, .excluded = 3, .bows = 2};
  const auto c = compare({setup("A", five), setup("B", {276}), none}, {.methods = {Method::welch}});
  CHECK(c.family == 2);
  REQUIRE(c.setups.size() == 3);
  CHECK(c.setups[1].description->shots == 1);
  CHECK(!c.setups[1].description->sd.has_value());
  CHECK(c.setups[1].methods.empty());
  CHECK(!c.setups[2].description.has_value());
  CHECK(c.setups[2].excluded == 3);
  CHECK(c.setups[2].bows == 2);
  REQUIRE(c.gaps.size() == 3);
  for (const auto& gap : c.gaps) {
    CHECK(gap.verdict == Verdict::open);
    REQUIRE(gap.methods.size() == 1);
    CHECK(!gap.deciding().interval.has_value());
    CHECK(gap.deciding().why_absent == gap.no_interval);
    CHECK(!gap.detectable.has_value());
    CHECK(!gap.decided_by.has_value());
    CHECK(gap.next_tests.empty());
  }
  CHECK(c.gaps[0].no_interval == "B has one shot");
  CHECK(*c.gaps[0].difference == digits(4.0, 15));
  CHECK(c.gaps[1].no_interval == "C has no shot");
  CHECK(!c.gaps[1].difference.has_value());
  CHECK(c.gaps[2].no_interval == "B has one shot, C has no shot");
}

TEST_CASE("compare: three set-ups are one family: intervals of all pairs, Bonferroni's level where no law is known") {
  const std::vector<std::vector<std::int64_t>> groups{five, more, third};
  const auto c =
      compare({setup("A", five), setup("B", more), setup("C", third)}, {.margin = 3.0, .methods = all_methods()});
  CHECK(c.family == 3);
  REQUIRE(c.gaps.size() == 3);
  const std::pair<std::size_t, std::size_t> pairs[] = {{0, 1}, {0, 2}, {1, 2}};
  const std::vector<Sample> samples{sample(five), sample(more), sample(third)};
  const Family three{3};
  const auto third_of_alpha = ConfidenceLevel::from_alpha(0.05 / 3.0);
  std::vector<double> own_aware, own_welch, own_permutation, own_pooled;
  for (std::size_t i = 0; i < 3; ++i) {
    const GapOutcome& gap = c.gaps[i];
    CHECK(gap.from == pairs[i].first);
    CHECK(gap.to == pairs[i].second);
    const Sample &a = samples[gap.from], &b = samples[gap.to];
    const auto r = rounding_aware(a, b, ConfidenceLevel{0.95}, three);
    CHECK(gap.deciding().interval == r.interval);
    CHECK(gap.deciding().level == 0.95);
    CHECK(*gap.deciding().p_two_sided == r.p_two_sided);
    CHECK(*gap.deciding().p_equivalence == rounding_aware_p_equivalence(a, b, 3.0, three));
    CHECK(of(gap.methods, Method::welch).interval == welch(a, b, ConfidenceLevel{0.95}, three).interval);
    CHECK(of(gap.methods, Method::pooled).interval == pooled(samples, gap.from, gap.to).interval);
    for (const Method m : {Method::bootstrap_percentile, Method::bootstrap_basic, Method::bootstrap_bca,
                           Method::bootstrap_t, Method::permutation})
      CHECK(of(gap.methods, m).level == digits(1.0 - 0.05 / 3.0, 14));
    CHECK(of(gap.methods, Method::bootstrap_percentile).interval ==
          bootstrap_percentile(a, b, third_of_alpha).interval);
    CHECK(of(gap.methods, Method::bootstrap_t).interval == bootstrap_t(a, b, third_of_alpha).interval);
    const auto dealt = permutation(a, b, third_of_alpha);
    CHECK(of(gap.methods, Method::permutation).interval == dealt.interval);
    CHECK(*of(gap.methods, Method::permutation).p_two_sided == digits(std::min(1.0, 3.0 * dealt.p_two_sided), 14));
    own_aware.push_back(rounding_aware(a, b).p_two_sided);
    own_welch.push_back(welch(a, b).p_two_sided);
    own_permutation.push_back(dealt.p_two_sided);
    // Its own p: Student's t of one pair, on the SD of all three.
    const auto p = pooled(samples, gap.from, gap.to);
    own_pooled.push_back(2.0 * numerics::t_upper_tail(std::abs(p.t), 11.0));
    CHECK(gap.detectable->gap == within(detectable_gap(design_of(groups[gap.from]), design_of(groups[gap.to]),
                                                       Power{0.8}, ConfidenceLevel{0.95}, Sides::two, three),
                                        1e-9));
  }
  // Holm by hand: the smallest p times 3, the next times 2, the largest as it is; never below the one before.
  const auto by_hand = [](std::vector<double> p) {
    std::vector<std::size_t> order{0, 1, 2};
    std::sort(order.begin(), order.end(), [&](auto i, auto j) { return p[i] < p[j]; });
    const double first = std::min(1.0, 3 * p[order[0]]), second = std::min(1.0, std::max(first, 2 * p[order[1]]));
    std::vector<double> adjusted(3);
    adjusted[order[0]] = first;
    adjusted[order[1]] = second;
    adjusted[order[2]] = std::max(second, p[order[2]]);
    return adjusted;
  };
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(*c.gaps[i].deciding().p_holm == digits(by_hand(own_aware)[i], 14));
    CHECK(*of(c.gaps[i].methods, Method::welch).p_holm == digits(by_hand(own_welch)[i], 14));
    CHECK(*of(c.gaps[i].methods, Method::permutation).p_holm == digits(by_hand(own_permutation)[i], 14));
    CHECK(*of(c.gaps[i].methods, Method::pooled).p_holm == digits(by_hand(own_pooled)[i], 12));
    CHECK(!of(c.gaps[i].methods, Method::bootstrap_bca).p_holm.has_value());
  }
}

TEST_CASE("compare: a set-up without scatter of its own does not count into the family") {
  const auto c = compare({setup("A", five), setup("X", {200}), setup("B", more)}, {.methods = {Method::pooled}});
  CHECK(c.family == 2);
  CHECK(c.gaps[1].from == 0);
  CHECK(c.gaps[1].to == 2);
  CHECK(c.gaps[1].deciding().interval == rounding_aware(sample(five), sample(more)).interval);
  CHECK(of(c.gaps[1].methods, Method::pooled).interval == pooled(sample(five), sample(more)).interval);
  CHECK(!c.gaps[1].deciding().p_holm.has_value());
}

TEST_CASE("compare: where Holm's p and the interval part ways, the gap says so and the interval decides") {
  // A search over random triples for a pair whose family interval and Holm's p fall on different sides of α.
  std::mt19937_64 random{1};
  int found = 0;
  for (int i = 0; i < 400; ++i) {
    std::vector<std::vector<std::int64_t>> groups;
    for (int k = 0; k < 3; ++k) {
      groups.emplace_back();
      for (int n = 0; n < 4; ++n) groups.back().push_back(270 + 3 * k + static_cast<std::int64_t>(random() % 5));
    }
    const auto c = compare({setup("A", groups[0]), setup("B", groups[1]), setup("C", groups[2])});
    std::vector<double> own;
    for (const auto& gap : c.gaps)
      own.push_back(rounding_aware(sample(groups[gap.from]), sample(groups[gap.to])).p_two_sided);
    const auto adjusted = holm(own);
    for (std::size_t k = 0; k < 3; ++k) {
      const Interval interval = *c.gaps[k].deciding().interval;
      const bool leaves_out_zero = interval.lower > 1e-9 || interval.upper < -1e-9;
      CHECK(c.gaps[k].holm_disagrees == (leaves_out_zero != (adjusted[k] < 0.05)));
      CHECK((c.gaps[k].verdict != Verdict::open) == leaves_out_zero);
      found += c.gaps[k].holm_disagrees ? 1 : 0;
    }
  }
  CHECK(found > 0);
  CHECK(!compare({setup("A", five), setup("B", more)}).gaps[0].holm_disagrees);
}

TEST_CASE("compare: a method over its budget stops the whole comparison, or is absent where that was allowed") {
  ComparisonOptions options{.methods = {Method::bootstrap_percentile, Method::welch, Method::permutation},
                            .budget = {.operations = 10}};
  const std::vector<ComparedSetup> setups{setup("A", five), setup("B", more)};
  CHECK_THROWS_AS(compare(setups, options), BudgetExceeded);
  options.skip_over_budget = true;
  const auto c = compare(setups, options);
  for (const Method m : {Method::bootstrap_percentile, Method::permutation}) {
    CHECK(!of(c.gaps[0].methods, m).interval.has_value());
    CHECK(of(c.gaps[0].methods, m).why_absent.find("operations") != std::string::npos);
  }
  CHECK(of(c.gaps[0].methods, Method::welch).interval.has_value());
  CHECK(c.gaps[0].deciding().interval.has_value());
  // In a family too, where a pair's own p is asked for a second time.
  CHECK_NOTHROW(compare({setup("A", five), setup("B", more), setup("C", third)}, options));
}

TEST_CASE("compare: detectable is the gap found 8 times in 10 with the floored SDs") {
  const std::vector<std::int64_t> tight{272, 272, 271, 272, 272, 271}, pair{270, 274};
  for (const auto& [a, b] : {std::pair{five, more}, {five, tight}, {pair, five}, {tight, more}}) {
    const auto gap = compare({setup("A", a), setup("B", b)}).gaps[0];
    REQUIRE(*gap.decided_by != RoundingTerm::display_bound);
    REQUIRE(gap.detectable.has_value());
    CHECK(gap.detectable->power == 0.8);
    CHECK(gap.detectable->gap == within(detectable_gap(design_of(a), design_of(b)), 1e-9));
    CHECK(welch_power(gap.detectable->gap, design_of(a), design_of(b)).power == within(0.8, 4e-9));
  }
}

TEST_CASE("compare: at a level that chance alone beats, nothing is said to be detectable") {
  // At 15 % confidence chance leaves out 0 in about 85 % of tests, more than the 8 in 10 asked.
  const auto c = compare({setup("A", five), setup("B", third)}, {.level = ConfidenceLevel{0.15}});
  CHECK(!c.gaps[0].detectable.has_value());
  CHECK(c.gaps[0].next_tests.empty());
}

TEST_CASE("compare: the shots named for the next test reach a power of 0.8, and one fewer does not") {
  const std::vector<std::int64_t> near{271, 272, 275, 270, 274};
  for (const std::optional<double> margin : {std::optional<double>{}, std::optional{1.5}, std::optional{0.7}}) {
    const auto gap = compare({setup("A", five), setup("B", near)}, {.margin = margin}).gaps[0];
    REQUIRE(gap.verdict == Verdict::open);
    // The gap seen is 0.4 of a step, so one step is asked about instead.
    REQUIRE(gap.next_tests.size() == (margin ? 2 : 1));
    if (margin) CHECK(gap.next_tests[0].gap == *margin);
    CHECK(gap.next_tests.back().gap == 1.0);
    for (const NextTest& next : gap.next_tests) {
      REQUIRE(next.shots.has_value());
      const auto power = [&](int shots) {
        return welch_power(next.gap, {shots, floored_sd(five)}, {shots, floored_sd(near)}).power;
      };
      CHECK(power(*next.shots) >= 0.8 - 2e-9);
      CHECK(power(*next.shots - 1) < 0.8);
    }
  }
  // A margin as large as the gap asked about is named once; a verdict that is not open names none.
  CHECK(compare({setup("A", five), setup("B", near)}, {.margin = 1.0}).gaps[0].next_tests.size() == 1);
  CHECK(compare({setup("A", five), setup("B", more)}).gaps[0].next_tests.empty());
  CHECK(compare({setup("A", five), setup("B", near)}, {.margin = 10.0}).gaps[0].next_tests.empty());
  // Out of reach: absent, and never a number that is not one.
  const auto wild = compare({setup("A", {100, 500}), setup("B", {101, 498})}).gaps[0];
  REQUIRE(wild.next_tests.size() == 1);
  CHECK(!wild.next_tests[0].shots.has_value());
}

TEST_CASE("compare: a family asks for more shots than a pair, its factor being larger") {
  const std::vector<std::int64_t> near{271, 272, 275, 270, 274};
  const auto pair = compare({setup("A", five), setup("B", near)}).gaps[0];
  const auto family = compare({setup("A", five), setup("B", near), setup("C", more)}).gaps[0];
  REQUIRE(pair.next_tests.size() == 1);
  REQUIRE(family.next_tests.size() == 1);
  const int shots = *family.next_tests[0].shots;
  CHECK(shots > *pair.next_tests[0].shots);
  const auto power = [&](int n) {
    return welch_power(1.0, {n, floored_sd(five)}, {n, floored_sd(near)}, ConfidenceLevel{0.95}, Sides::two, Family{3})
        .power;
  };
  CHECK(power(shots) >= 0.8 - 2e-9);
  CHECK(power(shots - 1) < 0.8);
}

TEST_CASE("compare: Monte Carlo is done only when asked for, and is named with its resamples and its error") {
  const MonteCarlo drawn{.resamples = 2000, .seed = 7, .threads = 2};
  const auto c =
      compare({setup("A", five), setup("B", more)},
              {.methods = {Method::bootstrap_percentile, Method::bootstrap_t, Method::permutation}, .sampled = drawn});
  const auto& m = of(c.gaps[0].methods, Method::bootstrap_percentile);
  const auto alone = bootstrap_percentile(sample(five), sample(more), ConfidenceLevel{0.95},
                                          Resampling{.resamples = 2000, .seed = 7, .threads = 1});
  CHECK(m.interval == alone.interval);
  CHECK(*m.exact == false);
  CHECK(*m.resamples == 2000);
  CHECK(m.lower_range == alone.lower_range);
  CHECK(m.upper_range == alone.upper_range);
  CHECK(m.lower_range->contains(m.interval->lower));
  CHECK(*of(c.setups[0].methods, Method::bootstrap_t).resamples == 2000);
  // The default and the permutation test stay exact.
  CHECK(!c.gaps[0].deciding().resamples.has_value());
  CHECK(*of(c.gaps[0].methods, Method::permutation).exact);
}

namespace {

/// A history of so many strings with this prior.
ShotHistory history_of(double sd, double degrees_of_freedom, double of_strings) {
  return {.strings = {},
          .single_shots = 0,
          .prior = {.variance = sd * sd,
                    .degrees_of_freedom = degrees_of_freedom,
                    .degrees_of_freedom_of_strings = of_strings,
                    .strings = 12}};
}

ComparedSetup placed(std::string name, const std::vector<std::int64_t>& readings, std::vector<ShotPlace> places) {
  ComparedSetup s = setup(std::move(name), readings);
  s.places = std::move(places);
  return s;
}

}  // namespace

TEST_CASE("compare: a history gives what moderated gives by itself, beside a verdict that it does not touch") {
  for (const double level : {0.95, 0.8}) {
    const ShotHistory history = history_of(1.3, 25, 36);
    const std::vector<std::int64_t> a{191, 192, 190}, b{189, 186, 189};
    const ComparisonOptions with{
        .level = ConfidenceLevel{level}, .margin = 1.0, .methods = {Method::moderated}, .history = history};
    const Comparison c = compare({setup("A", a), setup("B", b)}, with);
    const Comparison plain = compare({setup("A", a), setup("B", b)}, {.level = ConfidenceLevel{level}, .margin = 1.0});
    const ModeratedResult r = moderated(sample(a), sample(b), history.prior, ConfidenceLevel{level});
    CHECK(names(c.gaps[0].methods) == std::vector<std::string>{"rounding_aware", "moderated"});
    const MethodOutcome& m = of(c.gaps[0].methods, Method::moderated);
    CHECK(m.level == level);
    CHECK(m.interval == r.interval);
    CHECK(*m.difference == r.difference);
    CHECK(*m.standard_error == r.standard_error);
    CHECK(*m.degrees_of_freedom == 29);
    CHECK(*m.t == r.t);
    CHECK(*m.p_two_sided == r.p_two_sided);
    CHECK_FALSE(m.p_equivalence);
    CHECK_FALSE(m.p_holm);
    REQUIRE(m.history);
    CHECK(m.history->fits);
    CHECK(m.history->p_scatter == r.p_scatter);
    CHECK(m.history->pooled_sd == digits(std::sqrt(2.0), 14));  // (2 + 6)/4
    CHECK(m.history->pooled_degrees_of_freedom == 4);
    CHECK(m.history->moderated_sd == digits(std::sqrt((25 * 1.69 + 4 * 2.0) / 29), 14));
    CHECK(m.history->decided_by == RoundingTerm::sampling);
    CHECK(c.gaps[0].verdict == plain.gaps[0].verdict);
    CHECK(c.gaps[0].deciding().interval == plain.gaps[0].deciding().interval);
    REQUIRE(c.history);
    CHECK(c.history->prior.variance == history.prior.variance);
    CHECK_FALSE(plain.history);
    CHECK(names(plain.gaps[0].methods) == std::vector<std::string>{"rounding_aware"});
  }
}

TEST_CASE("compare: the verdict stays open where only the range with a history leaves out 0") {
  const Comparison c = compare({setup("A", {191, 192, 190}), setup("B", {189, 186, 189})},
                               {.methods = {Method::moderated}, .history = history_of(1.3, 25, 36)});
  CHECK(of(c.gaps[0].methods, Method::moderated).interval->upper < 0);
  CHECK(c.gaps[0].verdict == Verdict::open);
}

TEST_CASE("compare: a history that these shots contradict is set aside, and says so") {
  const Comparison c = compare({setup("A", {185, 191, 197}), setup("B", {182, 188, 194})},
                               {.methods = {Method::moderated}, .history = history_of(1.3, 25, 36)});
  const MethodOutcome& m = of(c.gaps[0].methods, Method::moderated);
  CHECK_FALSE(m.history->fits);
  CHECK(m.history->p_scatter < 1e-6);  // F = 36/1.69 = 21.3 on 4 and 25
  CHECK(*m.degrees_of_freedom == 4);
  CHECK(m.history->moderated_sd == digits(6.0, 14));
}

TEST_CASE("compare: with a history three set-ups are one family on one SD, a set-up of one shot is none of it") {
  const ShotHistory history = history_of(1.3, 25, 36);
  const Comparison c = compare({setup("A", five), setup("X", {200}), setup("B", more), setup("C", third)},
                               {.methods = {Method::moderated}, .history = history});
  const std::vector<Sample> all{sample(five), sample(more), sample(third)};
  std::vector<double> own;
  std::vector<const MethodOutcome*> found;
  const auto place = [](std::size_t setup) { return setup == 0 ? 0 : setup - 1; };
  for (const GapOutcome& gap : c.gaps) {
    if (gap.from == 1 || gap.to == 1) continue;
    const MethodOutcome& m = of(gap.methods, Method::moderated);
    CHECK(m.interval == moderated(all, place(gap.from), place(gap.to), history.prior).interval);
    CHECK(m.level == 0.95);
    own.push_back(moderated(all[place(gap.from)], all[place(gap.to)], history.prior).p_two_sided);
    found.push_back(&m);
  }
  REQUIRE(found.size() == 3);
  const auto adjusted = holm(own);
  for (std::size_t i = 0; i < 3; ++i) CHECK(*found[i]->p_holm == adjusted[i]);
}

TEST_CASE("compare: moderated has no answer without a history, and says which reason there was for none") {
  const auto why = [](const ComparisonOptions& options) {
    const Comparison c = compare({setup("A", five), setup("B", more)}, options);
    const MethodOutcome& m = of(c.gaps[0].methods, Method::moderated);
    CHECK_FALSE(m.interval);
    CHECK_FALSE(m.history);
    CHECK(c.gaps[0].deciding().interval);
    return m.why_absent;
  };
  CHECK(why({.methods = {Method::moderated}}) == "no earlier strings of shots were given");
  CHECK(why({.methods = {Method::moderated}, .why_no_history = "two strings are too few"}) ==
        "two strings are too few");
}

TEST_CASE("compare: moderated has no answer where a set-up's shots are not one string") {
  const ComparisonOptions options{.methods = {Method::moderated}, .history = history_of(1.3, 25, 36)};
  const std::string why =
      "the shots with B come from several bows or sessions, and an earlier string tells only how the shots of one bow "
      "in one session scatter";
  const auto absent = [&](const ComparedSetup& b) {
    const Comparison c = compare({setup("A", five), b}, options);
    return of(c.gaps[0].methods, Method::moderated).why_absent;
  };
  const ShotPlace here{.bow = 1, .session = 1}, other_bow{.bow = 2, .session = 1}, other_day{.bow = 1, .session = 2};
  CHECK(absent(placed("B", {190, 191, 189}, {here, here, other_bow})) == why);
  CHECK(absent(placed("B", {190, 191, 189}, {here, here, other_day})) == why);
  CHECK(absent({.name = "B", .sample = sample({190, 191, 189}), .bows = 2}) == why);
  CHECK(absent(placed("B", {190, 191, 189}, {here, here, here})).empty());
}

TEST_CASE("compare: what cannot be compared is refused") {
  CHECK_THROWS_WITH_AS(compare({}), "compare: needs 2 or more set-ups, got 0", DomainError);
  CHECK_THROWS_WITH_AS(compare({setup("A", five)}), "compare: needs 2 or more set-ups, got 1", DomainError);
  CHECK_THROWS_WITH_AS(compare({setup("A", five), setup("B", more), setup("A", third)}),
                       "compare: two set-ups are named A", DomainError);
  for (const double margin : {0.0, -1.0, std::nan("")})
    CHECK_THROWS_WITH_AS(compare({setup("A", five), setup("B", more)}, {.margin = margin}),
                         "compare: the margin must be positive", DomainError);
  CHECK_THROWS_WITH_AS(compare({setup("A", five), {.name = "B", .sample = decimal_sample({2710, 2722}, 1)}}),
                       "two set-ups need one display step, got 1 and 0.1", DomainError);
  const ComparedSetup none{.name = "N", .sample = std::nullopt, .excluded = 2},
      empty{.name = "E", .sample = std::nullopt};
  CHECK_THROWS_WITH_AS(compare({none, empty}), "no set-up has a shot left: every one is excluded", NoAnswer);
}
