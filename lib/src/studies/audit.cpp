#include <shotassay/studies/audit.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <tuple>
#include <unordered_map>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/methods/rounding_aware.hpp>
#include <shotassay/methods/widened_gap.hpp>

#include "../methods/rounded_half_width.hpp"

namespace shotassay {

/// Of one confidence level and one family.
struct AuditMemory::Kept {
  struct Pair {
    std::int64_t shots_a, deviations_a, shots_b, deviations_b;
    bool tight_a, tight_b;
    friend bool operator==(const Pair&, const Pair&) = default;
  };
  struct PairHash {
    std::size_t operator()(const Pair& p) const {
      std::uint64_t hash = 0;
      for (const std::int64_t part : {p.shots_a, p.deviations_a, p.shots_b, p.deviations_b,
                                      std::int64_t{p.tight_a} + 2 * std::int64_t{p.tight_b}})
        hash = (hash ^ static_cast<std::uint64_t>(part)) * 0x9E3779B97F4A7C15 + (hash >> 29);
      return hash ^ (hash >> 32);
    }
  };
  static constexpr std::size_t most_half_widths = 30'000, most_squares = 100;

  double alpha = 0.0;
  int setups = 0;
  std::unordered_map<Pair, double, PairHash> half_widths;
  std::map<std::pair<std::int64_t, std::int64_t>, detail::HalfWidthSquare> squares;

  void begin(double for_alpha, int for_setups) {
    if (for_alpha == alpha && for_setups == setups) return;
    half_widths.clear();
    squares.clear();
    alpha = for_alpha;
    setups = for_setups;
  }
};

AuditMemory::AuditMemory() : kept_{std::make_unique<Kept>()} {}
AuditMemory::~AuditMemory() = default;

namespace {

/// Operations, as WorkBudget counts them: a factor with its degrees of freedom, of two set-ups and of a family; a
/// half-width by interpolation; a verdict.
constexpr double factor_cost = 500.0, family_factor_cost = 2e5, half_width_cost = 20.0, verdict_cost = 5.0;
constexpr double few_half_widths = 300.0;  ///< fewer are computed than interpolation is worth
/// Interpolated half-widths are good to 1e-10; this near to a limit the exact one decides.
constexpr double too_near = 1e-7;

Moments moments_of(const ReadingState& state, std::int64_t shots) {
  const WideInteger sum = state.sum;
  return {.n = shots, .offset = 0, .sum = sum, .squares = (state.deviations + sum * sum) / shots};
}

/// States that one half-width serves: they differ in their sums only.
struct SpreadClass {
  RoundedGroup group;
  detail::GroupSpread spread;
  std::int64_t deviations;
  std::vector<const ReadingState*> states;
};

/// The narrower first.
std::vector<SpreadClass> spread_classes(const std::vector<ReadingState>& states, std::int64_t shots) {
  std::map<std::tuple<std::int64_t, bool>, std::size_t> places;
  std::vector<SpreadClass> classes;
  for (const ReadingState& state : states) {
    const RoundedGroup group = rounded_group(moments_of(state, shots));
    const auto [at, added] = places.try_emplace({state.deviations, group.tight}, classes.size());
    if (added) {
      const double n = static_cast<double>(shots);
      const double square = group.variance_of_mean * group.variance_of_mean / (n - 1.0);
      classes.push_back(
          {group, {group.variance_of_mean, square, group.edge, group.tight, group.all_equal}, state.deviations, {}});
    }
    classes[at->second].states.push_back(&state);
  }
  std::stable_sort(classes.begin(), classes.end(),
                   [](const SpreadClass& a, const SpreadClass& b) { return a.spread.variance < b.spread.variance; });
  return classes;
}

std::optional<Tally> operator+(const std::optional<Tally>& a, const std::optional<Tally>& b) {
  return a && b ? std::optional{*a + *b} : std::nullopt;
}

VerdictCounts operator+(const VerdictCounts& a, const VerdictCounts& b) {
  return {a.faster + b.faster, a.slower + b.slower, a.same + b.same, a.open + b.open};
}

Interval hull(const Interval& a, const Interval& b) { return {std::min(a.lower, b.lower), std::max(a.upper, b.upper)}; }
void widen(std::optional<Interval>& all, const std::optional<Interval>& one) {
  if (one) all = all ? hull(*all, *one) : *one;
}

/// Narrower, and of equal widths the one with the smaller gap, then with fewer shots.
bool narrower(const AuditedPair& a, const AuditedPair& b) {
  return std::tie(a.half_width, a.gap, a.from_shots, a.to_shots) <
         std::tie(b.half_width, b.gap, b.from_shots, b.to_shots);
}
bool wider(const AuditedPair& a, const AuditedPair& b) {
  return a.half_width != b.half_width ? a.half_width > b.half_width : narrower(a, b);
}
template <class Better>
void keep(std::optional<AuditedPair>& best, const std::optional<AuditedPair>& other, const Better& better) {
  if (other && (!best || better(*other, *best))) best = other;
}

/// One gap of the audit: two set-ups and the rules they are judged by.
class GapJudge {
 public:
  GapJudge(const AuditedSetup& from, const AuditedSetup& to, const AuditOptions& options, Family family)
      : from_{from}, to_{to}, options_{options}, family_{family}, step_{from.figures.display_step} {
    if (options.memory) options.memory->kept().begin(options.level.alpha(), family.setups());
  }

  std::optional<Interval> difference(const ReadingSets& a, const ReadingSets& b) const {
    if (!a.sums || !b.sums) return std::nullopt;
    return Interval{.lower = gap(a.sums->greatest, a.shots, b.sums->least, b.shots),
                    .upper = gap(a.sums->least, a.shots, b.sums->greatest, b.shots)};
  }

  /// Fills in the verdicts and the extreme pairs.
  void judge(const ReadingSets& a, const ReadingSets& b, const Interval& difference, GapAtShots& result) const {
    const bool endless = !a.sets || !b.sets;
    if (a.shots < 2 || b.shots < 2) {
      result.verdicts = VerdictCounts{.open = endless ? std::nullopt : std::optional{*a.sets * *b.sets}};
      return;
    }
    if (!endless) {
      judge_states(a, b, std::numeric_limits<double>::infinity(), result);
      return;
    }
    double reach = std::max({std::abs(difference.lower), std::abs(difference.upper), options_.margin.value_or(0.0)});
    const double factor = family_.factor(options_.level.alpha(), static_cast<double>(a.shots + b.shots - 2));
    // Every pair whose interval could be shorter than `reach` is looked at, so the tightest of these is the tightest of
    // all once it is. A wider reach adds open pairs only.
    for (;;) {
      GapAtShots calm_pairs = result;
      try {
        judge_states(calm(a, from_, reach / factor), calm(b, to_, reach / factor), reach / factor, calm_pairs);
      } catch (const NoAnswer&) {
        if (!result.verdicts) throw;
        result.tightest.reset();
        return;
      }
      result.verdicts = calm_pairs.verdicts;
      result.verdicts->open.reset();
      result.tightest = calm_pairs.tightest;
      if (result.tightest && result.tightest->half_width <= reach) return;
      reach = result.tightest ? result.tightest->half_width : std::max(2.0 * reach, step_.value());
    }
  }

 private:
  double gap(std::int64_t sum_a, std::int64_t n, std::int64_t sum_b, std::int64_t m) const {
    return step_.times(WideInteger{sum_b} * n - WideInteger{sum_a} * m, WideInteger{n} * m);
  }

  /// Of sets without end those with √V ≤ limit.
  ReadingSets calm(const ReadingSets& sets, const AuditedSetup& setup, double limit) const {
    if (sets.sets) return sets;
    ReportedFigures figures = setup.figures;
    figures.shots = sets.shots;
    return calm_reading_sets(figures, most_deviations(limit, sets.shots), options_.budget);
  }

  /// The largest D with D/(n²(n−1)) ≤ limit², generously rounded.
  std::int64_t most_deviations(double limit, std::int64_t shots) const {
    const double n = static_cast<double>(shots), in_steps = limit / step_.value();
    const double most = n * n * (n - 1.0) * in_steps * in_steps * (1.0 + 1e-9) + 1.0;
    if (!(most < 1e15))
      throw NoAnswer{"the gap is too many display steps for the sets that would carry it to be counted"};
    return static_cast<std::int64_t>(most);
  }

  /// Where in b the classes end that are looked at with one of a: V_a + V_b ≤ limit².
  static std::vector<std::size_t> partners(const std::vector<SpreadClass>& a, const std::vector<SpreadClass>& b,
                                           double variance_limit) {
    std::vector<std::size_t> ends;
    for (const SpreadClass& p : a) {
      const auto end = std::partition_point(b.begin(), b.end(), [&](const SpreadClass& q) {
        return p.spread.variance + q.spread.variance <= variance_limit;
      });
      ends.push_back(static_cast<std::size_t>(end - b.begin()));
    }
    return ends;
  }

  /// Throws when judging would cost too much; else tells whether half-widths are worth a table.
  bool many_half_widths(const std::vector<SpreadClass>& a, const std::vector<SpreadClass>& b,
                        const std::vector<std::size_t>& ends, double gaps) const {
    std::vector<double> states_before{0.0};
    for (const SpreadClass& q : b) states_before.push_back(states_before.back() + static_cast<double>(q.states.size()));
    double spreads = 0.0, pairs = 0.0;
    for (std::size_t i = 0; i < a.size(); ++i) {
      spreads += static_cast<double>(ends[i]);
      pairs += static_cast<double>(a[i].states.size()) * states_before[ends[i]];
    }
    const double factor = family_.is_pair() ? factor_cost : family_factor_cost;
    const bool many = spreads > few_half_widths && !widened();
    const double operations = many ? few_half_widths * factor + half_width_cost * spreads + verdict_cost * pairs
                                   : 2.0 * factor * (widened() ? spreads + pairs : spreads) + verdict_cost * pairs;
    require_within("audit: judging the pairs of reading sets of \"" + from_.name + "\" and \"" + to_.name + "\"",
                   {.operations = operations, .bytes = sizeof(double) * gaps}, options_.budget,
                   "A printed SD, spread, low or high, or a larger budget would fit.");
    return many;
  }

  bool widened() const { return from_.accuracy || to_.accuracy; }

  /// In steps.
  double exact_half_width(const SpreadClass& p, const SpreadClass& q) const {
    const auto worked_out = [&] {
      return detail::RoundingAwareGap{p.group, q.group, family_}.terms(options_.level.alpha()).largest();
    };
    if (!options_.memory) return worked_out();
    auto& known = options_.memory->kept().half_widths;
    const AuditMemory::Kept::Pair pair{p.group.moments.n, p.deviations,   q.group.moments.n,
                                       q.deviations,      p.spread.tight, q.spread.tight};
    if (const auto at = known.find(pair); at != known.end()) return at->second;
    if (known.size() >= AuditMemory::Kept::most_half_widths) known.clear();
    return known.emplace(pair, worked_out()).first->second;
  }

  /// Interpolated half-widths of two numbers of shots; `own` holds them where there is no memory.
  const detail::HalfWidthSquare& squares(std::int64_t shots_a, std::int64_t shots_b,
                                         std::optional<detail::HalfWidthSquare>& own) const {
    const GroupDesign a{shots_a, 1.0}, b{shots_b, 1.0};
    if (!options_.memory) return own.emplace(a, b, options_.level, family_);
    auto& known = options_.memory->kept().squares;
    if (known.size() >= AuditMemory::Kept::most_squares) known.clear();
    return known.try_emplace({shots_a, shots_b}, a, b, options_.level, family_).first->second;
  }

  /// The half-width in the readings' unit, with what the chronographs add.
  double final_half_width(double gap, const SpreadClass& p, const SpreadClass& q, double half_width, double mean_a,
                          double mean_b) const {
    const double step = step_.value();
    if (!widened()) return half_width * step;
    const detail::RoundingAwareGap rounded{p.group, q.group, family_};
    const double w =
        std::hypot(from_.accuracy.value_or(0.0) * mean_a, to_.accuracy.value_or(0.0) * mean_b) / std::numbers::sqrt3;
    return widened_gap({.gap = gap,
                        .standard_error = rounded.u(0.0) * step,
                        .degrees_of_freedom = rounded.degrees_of_freedom(0.0),
                        .half_width = half_width * step},
                       w, options_.level, family_)
        .half_width;
  }

  /// The verdict at a half-width, in steps, that is known nearly; `exact` gives it as it is.
  template <class Exact>
  Verdict verdict_near(double gap, double half_width, const Exact& exact) const {
    const double h = half_width * step_.value();
    if (std::abs(h - detail::finding_limit(gap)) > too_near * (std::abs(gap) + h)) {
      if (h < detail::finding_limit(gap)) return gap > 0.0 ? Verdict::faster : Verdict::slower;
      if (!options_.margin) return Verdict::open;
      const double room = detail::same_limit(gap, *options_.margin);
      if (std::abs(h - room) > too_near * *options_.margin) return h < room ? Verdict::same : Verdict::open;
    }
    return verdict(centred(gap, exact() * step_.value()), options_.margin);
  }

  /// Of the pairs with √(V_a + V_b) ≤ limit.
  void judge_states(const ReadingSets& a, const ReadingSets& b, double limit, GapAtShots& result) const {
    result.verdicts = VerdictCounts{};
    if (!a.possible || !b.possible) return;
    const auto classes_a = spread_classes(a.states, a.shots), classes_b = spread_classes(b.states, b.shots);
    const double variance_limit = (limit / step_.value()) * (limit / step_.value()) * (1.0 + 1e-9);
    const auto ends = partners(classes_a, classes_b, variance_limit);
    const std::int64_t sums_a = a.sums->greatest - a.sums->least + 1, sums_b = b.sums->greatest - b.sums->least + 1;
    const bool many =
        many_half_widths(classes_a, classes_b, ends, static_cast<double>(sums_a) * static_cast<double>(sums_b));
    std::optional<detail::HalfWidthSquare> own;
    const detail::HalfWidthSquare* const interpolated = many ? &squares(a.shots, b.shots, own) : nullptr;

    std::vector<double> gaps;
    for (std::int64_t x = a.sums->least; x <= a.sums->greatest; ++x)
      for (std::int64_t y = b.sums->least; y <= b.sums->greatest; ++y)
        gaps.push_back(ratio(WideInteger{y} * a.shots - WideInteger{x} * b.shots, WideInteger{a.shots} * b.shots) *
                       step_.value());
    const bool all = std::isinf(limit);  // else wider ones are left out
    std::array<Tally, 4> counts{};
    for (std::size_t i = 0; i < classes_a.size(); ++i)
      for (std::size_t j = 0; j < ends[i]; ++j) {
        const SpreadClass &p = classes_a[i], &q = classes_b[j];
        std::optional<double> known;
        const auto exact = [&] {
          if (!known) known = exact_half_width(p, q);
          return *known;
        };
        const double half_width = many ? std::sqrt((*interpolated)(p.spread, q.spread)) : exact();
        const double h = half_width * step_.value();
        const bool extreme = widened() || !result.tightest || h <= result.tightest->half_width * (1.0 + too_near) ||
                             (all && h >= result.widest->half_width * (1.0 - too_near));
        for (const ReadingState* x : p.states) {
          const double* const row = gaps.data() + (x->sum - a.sums->least) * sums_b;
          for (const ReadingState* y : q.states) {
            const double gap = row[y->sum - b.sums->least];
            Verdict found = Verdict::open;
            if (extreme) {
              AuditedPair pair{.from_shots = a.shots,
                               .to_shots = b.shots,
                               .from = *x,
                               .to = *y,
                               .gap = gap,
                               .half_width = final_half_width(gap, p, q, exact(), mean(*x, a), mean(*y, b)),
                               .interval = {},
                               .verdict = Verdict::open};
              pair.interval = centred(gap, pair.half_width);
              found = pair.verdict = verdict(pair.interval, options_.margin);
              keep(result.tightest, pair, narrower);
              if (all) keep(result.widest, pair, wider);
            } else {
              found = verdict_near(gap, half_width, exact);
            }
            counts[static_cast<std::size_t>(found)] += x->sets * y->sets;
          }
        }
      }
    result.verdicts = VerdictCounts{counts[0], counts[1], counts[2], counts[3]};
  }

  double mean(const ReadingState& state, const ReadingSets& sets) const {
    return static_cast<double>(state.sum) / static_cast<double>(sets.shots) * step_.value();
  }

  const AuditedSetup& from_;
  const AuditedSetup& to_;
  const AuditOptions& options_;
  Family family_;
  DisplayStep step_;
};

SetupAudit audit_setup(const AuditedSetup& setup, const AuditOptions& options) {
  SetupAudit result{.name = setup.name,
                    .possible = false,
                    .sets = Tally{0},
                    .mean = std::nullopt,
                    .sd = std::nullopt,
                    .by_shots = {},
                    .causes = {}};
  ReportedFigures figures = setup.figures;
  const std::int64_t most = setup.most_shots.value_or(figures.shots);
  bool sd_known = true;
  for (; figures.shots <= most; ++figures.shots) {
    ReadingSets sets = reading_sets(figures, options.budget);
    result.possible = result.possible || sets.possible;
    result.sets = result.sets + sets.sets;
    widen(result.mean, sets.mean);
    widen(result.sd, sets.sd);
    if (sets.possible && !sets.sd && sets.shots > 1) sd_known = false;
    result.by_shots.push_back(std::move(sets));
  }
  if (!sd_known) result.sd.reset();
  if (result.possible || !options.explain) return result;
  for (const ReadingSets& sets : result.by_shots) {
    figures.shots = sets.shots;
    result.causes.push_back(innocent_causes(figures, options.budget));
  }
  return result;
}

std::optional<double> printed_gap(const AuditedSetup& from, const AuditedSetup& to) {
  const auto& a = from.figures.average;
  const auto& b = to.figures.average;
  if (!a || !b) return std::nullopt;
  const WideInteger numerator = WideInteger{b->coefficient()} * Decimal::power_of_ten(a->decimals()) -
                                WideInteger{a->coefficient()} * Decimal::power_of_ten(b->decimals());
  return ratio(numerator, WideInteger{Decimal::power_of_ten(a->decimals())} * Decimal::power_of_ten(b->decimals()));
}

ClaimSupport support_of(Verdict claimed, const VerdictCounts& counts) {
  const std::optional<Tally>& carrying = counts.of(claimed);
  if (carrying && *carrying == Tally{0}) return ClaimSupport::no_pair;
  for (const Verdict other : {Verdict::faster, Verdict::slower, Verdict::same, Verdict::open}) {
    const std::optional<Tally>& count = counts.of(other);
    if (other != claimed && (!count || !(*count == Tally{0}))) return ClaimSupport::some_pairs;
  }
  return ClaimSupport::every_pair;
}

GapAudit audit_gap(const std::vector<AuditedSetup>& setups, const std::vector<SetupAudit>& audits, std::size_t from,
                   std::size_t to, const AuditOptions& options, Family family) {
  const AuditedSetup &a = setups[from], &b = setups[to];
  GapAudit result{.from = from,
                  .to = to,
                  .printed_gap = printed_gap(a, b),
                  .difference = std::nullopt,
                  .verdicts = VerdictCounts{},
                  .why_no_verdicts = {},
                  .tightest = std::nullopt,
                  .widest = std::nullopt,
                  .support = std::nullopt,
                  .by_shots = {}};
  const GapJudge judge{a, b, options, family};
  bool endless = false;
  for (const ReadingSets& p : audits[from].by_shots)
    for (const ReadingSets& q : audits[to].by_shots) {
      GapAtShots at{.from_shots = p.shots,
                    .to_shots = q.shots,
                    .difference = judge.difference(p, q),
                    .verdicts = std::nullopt,
                    .tightest = std::nullopt,
                    .widest = std::nullopt,
                    .tipping = std::nullopt};
      if (at.difference) {
        widen(result.difference, at.difference);
        endless = endless || !p.sets || !q.sets;
        if (result.why_no_verdicts.empty()) {
          try {
            judge.judge(p, q, *at.difference, at);
          } catch (const NoAnswer& e) {
            result.over_budget = dynamic_cast<const BudgetExceeded*>(&e) != nullptr;
            result.why_no_verdicts = e.what();
          }
        }
        if (options.explain && result.printed_gap && p.shots > 1 && q.shots > 1)
          at.tipping = tipping_shot_sd(*result.printed_gap, *at.difference, p.shots, q.shots, options.level, family);
        if (at.verdicts && result.verdicts) result.verdicts = *result.verdicts + *at.verdicts;
        keep(result.tightest, at.tightest, narrower);
        keep(result.widest, at.widest, wider);
      } else if (p.possible && q.possible) {
        result.why_no_verdicts = "nothing that was printed tells where the readings lie";
      }
      result.by_shots.push_back(at);
    }
  for (const std::size_t i : {from, to})
    if (!audits[i].possible) result.why_no_verdicts = "no readings have the figures of \"" + audits[i].name + "\"";
  if (!result.why_no_verdicts.empty()) {
    result.verdicts.reset();
    result.tightest.reset();
  }
  if (endless || !result.verdicts) result.widest.reset();
  if (options.claimed && result.verdicts) result.support = support_of(*options.claimed, *result.verdicts);

  return result;
}

void require_question(const std::vector<AuditedSetup>& setups, const AuditOptions& options) {
  if (setups.empty()) throw DomainError{"audit: needs one or more set-ups"};
  for (std::size_t i = 0; i < setups.size(); ++i) {
    const AuditedSetup& s = setups[i];
    if (s.most_shots && *s.most_shots < s.figures.shots)
      throw DomainError{"audit: \"" + s.name + "\" has from " + std::to_string(s.figures.shots) + " to " +
                        std::to_string(*s.most_shots) + " shots"};
    if (s.accuracy && !(*s.accuracy >= 0.0 && *s.accuracy <= 0.5))
      throw DomainError{"audit: the accuracy of \"" + s.name + "\" must lie from 0 to 0.5, got " +
                        std::to_string(*s.accuracy)};
    require_one_lattice(Sample{{0}, setups[0].figures.display_step}, Sample{{0}, s.figures.display_step});
    for (std::size_t j = 0; j < i; ++j)
      if (setups[j].name == s.name) throw DomainError{"audit: two set-ups are named \"" + s.name + "\""};
  }
  if (options.margin && !(*options.margin > 0.0 && std::isfinite(*options.margin)))
    throw DomainError{"audit: the margin must be positive, got " + std::to_string(*options.margin)};
}

}  // namespace

Audit audit(const std::vector<AuditedSetup>& setups, const AuditOptions& options) {
  require_question(setups, options);
  const auto compared = std::count_if(setups.begin(), setups.end(),
                                      [](const AuditedSetup& s) { return s.most_shots.value_or(s.figures.shots) > 1; });
  Audit result{.level = options.level,
               .margin = options.margin,
               .claimed = options.claimed,
               .family = std::max(2, static_cast<int>(compared)),
               .setups = {},
               .gaps = {}};
  for (const AuditedSetup& setup : setups) result.setups.push_back(audit_setup(setup, options));
  for (std::size_t from = 0; from < setups.size(); ++from)
    for (std::size_t to = from + 1; to < setups.size(); ++to)
      result.gaps.push_back(audit_gap(setups, result.setups, from, to, options, Family{result.family}));
  return result;
}

}  // namespace shotassay
