#include <algorithm>
#include <cmath>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/methods/bow_means.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/holm.hpp>
#include <shotassay/methods/mean_interval.hpp>
#include <shotassay/methods/mixed.hpp>
#include <shotassay/methods/moderated.hpp>
#include <shotassay/methods/permutation.hpp>
#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/session_gaps.hpp>
#include <shotassay/methods/tipping_bow_sd.hpp>
#include <shotassay/methods/welch.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/replicates.hpp>

namespace shotassay {

namespace {

std::string why(NoBootstrapInterval reason) {
  switch (reason) {
    case NoBootstrapInterval::law_is_a_point:
      return "each set-up shows a single value, so resampling sees no scatter; it cannot see the display";
    case NoBootstrapInterval::bca_denominator_not_positive:
      return "the readings are too skewed for this level";
    case NoBootstrapInterval::bias_correction_infinite:
      return "no drawn resample fell on one side of the estimate; more resamples are needed";
  }
  return {};
}

MethodOutcome outcome(Method method, ConfidenceLevel level) {
  MethodOutcome m{};
  m.method = method;
  m.level = level.value();
  return m;
}

MethodOutcome outcome(Method method, ConfidenceLevel level, const BootstrapResult& r) {
  MethodOutcome m = outcome(method, level);
  m.interval = r.interval;
  if (r.reason) m.why_absent = why(*r.reason);
  m.standard_error = r.standard_error;
  m.exact = r.exact;
  m.resamples = r.resamples;
  m.lower_range = r.lower_range;
  m.upper_range = r.upper_range;
  return m;
}

/// One of the four bootstraps, of a mean or of a gap, exact or sampled as the options ask.
template <typename... Samples>
MethodOutcome bootstrap(Method method, ConfidenceLevel level, const ComparisonOptions& options,
                        const Samples&... samples) {
  const auto pick = [&](auto exact, auto sampled) {
    if (!options.sampled) return outcome(method, level, exact());
    return outcome(method, level,
                   sampled(Resampling{.resamples = options.sampled->resamples,
                                      .seed = options.sampled->seed,
                                      .threads = options.sampled->threads}));
  };
  switch (method) {
    case Method::bootstrap_percentile:
      return pick([&] { return bootstrap_percentile(samples..., level, options.budget); },
                  [&](const Resampling& r) { return bootstrap_percentile(samples..., level, r); });
    case Method::bootstrap_basic:
      return pick([&] { return bootstrap_basic(samples..., level, options.budget); },
                  [&](const Resampling& r) { return bootstrap_basic(samples..., level, r); });
    case Method::bootstrap_bca:
      return pick([&] { return bootstrap_bca(samples..., level, options.budget); },
                  [&](const Resampling& r) { return bootstrap_bca(samples..., level, r); });
    default:
      return pick([&] { return bootstrap_t(samples..., level, options.budget); },
                  [&](const Resampling& r) { return bootstrap_t(samples..., level, r); });
  }
}

/// Runs one method; what has no answer becomes an absent interval with its reason.
template <typename Answer>
MethodOutcome answered(Method method, ConfidenceLevel level, const ComparisonOptions& options, Answer answer) {
  const auto absent = [&](const NoAnswer& reason) {
    MethodOutcome m = outcome(method, level);
    m.why_absent = reason.what();
    const std::string own = std::string{name(method)} + ": ";
    if (m.why_absent.starts_with(own)) m.why_absent.erase(0, own.size());
    return m;
  };
  try {
    return answer();
  } catch (const BudgetExceeded& reason) {
    if (!options.skip_over_budget) throw;
    return absent(reason);
  } catch (const NoAnswer& reason) {
    return absent(reason);
  }
}

MethodOutcome of_mean(Method method, const Sample& sample, const ComparisonOptions& options) {
  return answered(method, options.level, options, [&] {
    MethodOutcome m = outcome(method, options.level);
    if (method == Method::rounding_aware) {
      const auto r = rounding_aware_mean(sample, options.level);
      m.interval = r.interval;
      m.standard_error = r.standard_error;
      m.degrees_of_freedom = r.degrees_of_freedom;
      return m;
    }
    if (method == Method::mean_interval) {
      const auto r = mean_interval(sample, options.level);
      m.interval = r.interval;
      m.standard_error = r.standard_error;
      m.degrees_of_freedom = r.degrees_of_freedom;
      return m;
    }
    return bootstrap(method, options.level, options, sample);
  });
}

/// One bow and one session: nothing but shot scatter between the shots.
bool is_one_string(const ComparedSetup& setup) {
  if (setup.bows > 1) return false;
  return std::all_of(setup.places.begin(), setup.places.end(), [&](const ShotPlace& place) {
    return place.bow == setup.places.front().bow && place.session == setup.places.front().session;
  });
}

/// Compares the pairs of one family.
class PairComparer {
 public:
  PairComparer(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options)
      : setups_{setups}, options_{options} {
    for (const auto& s : setups_) {
      kinds_.push_back(bows_of(s));
      if (!s.sample || s.sample->size() < 2) continue;
      samples_.push_back(*s.sample);
      if (!is_one_string(s)) several_strings_.push_back(s.name);
    }
    family_ = Family{std::max(2, static_cast<int>(samples_.size()))};
  }

  Family family() const { return family_; }

  /// Every set-up has two bows or more: then each bow is one replicate.
  bool by_bows() const {
    return std::all_of(kinds_.begin(), kinds_.end(), [](const auto& bows) { return bows.size() >= 2; });
  }
  const std::vector<Sample>& bows(std::size_t setup) const { return kinds_[setup]; }

  MethodOutcome of_gap(Method method, std::size_t from, std::size_t to) const {
    const Sample &a = *setups_[from].sample, &b = *setups_[to].sample;
    // Bootstrap and permutation know no law for a family: Bonferroni's share of α for each pair.
    const bool bonferroni = method != Method::rounding_aware && method != Method::welch && method != Method::pooled &&
                            method != Method::bow_means && method != Method::bow_means_welch &&
                            method != Method::mixed && method != Method::moderated;
    const ConfidenceLevel level = bonferroni && !family_.is_pair()
                                      ? ConfidenceLevel::from_alpha(options_.level.alpha() / family_.pairs())
                                      : options_.level;
    return answered(method, level, options_, [&] {
      MethodOutcome m = outcome(method, level);
      switch (method) {
        case Method::rounding_aware: {
          const auto r = rounding_aware(a, b, level, family_);
          fill(m, r);
          if (options_.margin) m.p_equivalence = rounding_aware_p_equivalence(a, b, *options_.margin, family_);
          return m;
        }
        case Method::welch: {
          const auto r = welch(a, b, level, family_);
          fill(m, r);
          m.t = r.t;
          add_equivalence(m, r.difference);
          return m;
        }
        case Method::pooled: {
          const auto r = pooled(samples_, index_of(from), index_of(to), level);
          fill(m, r);
          m.t = r.t;
          add_equivalence(m, r.difference);
          return m;
        }
        case Method::permutation: {
          const auto r = permutation(a, b, level, options_.budget);
          m.interval = r.interval;
          m.p_two_sided = std::min(1.0, r.p_two_sided * family_.pairs());
          m.exact = r.exact;
          if (r.interval_state == PermutationInterval::too_few_arrangements)
            m.why_absent = "so few shots can be dealt to two set-ups in too few ways for a range at this level";
          if (r.interval_state == PermutationInterval::no_scatter_in_readings)
            m.why_absent = "each set-up shows a single value, so dealing the readings anew tells nothing of scatter";
          return m;
        }
        case Method::round_paired: {
          const auto rounds = rounds_of(setups_[from], setups_[to]);
          if (rounds.empty()) throw NoAnswer{"no round has shots of both set-ups"};
          const auto r = round_paired(rounds, level);
          fill(m, r);
          m.p_two_sided = std::min(1.0, r.p_two_sided * family_.pairs());
          m.replicates = ReplicateDetail{.from = rounds.size(), .to = rounds.size(), .floor_acted = r.floor_acted};
          return m;
        }
        case Method::session_gaps: {
          const auto sessions = sessions_of(setups_[from], setups_[to]);
          if (sessions.empty()) throw NoAnswer{"no session has two shots or more of both set-ups"};
          const auto r = session_gaps(sessions, level);
          fill(m, r);
          m.p_two_sided = std::min(1.0, r.p_two_sided * family_.pairs());
          m.replicates = ReplicateDetail{
              .from = sessions.size(), .to = sessions.size(), .floor_acted = r.floor_acted, .gaps = r.gaps};
          return m;
        }
        case Method::bow_means:
        case Method::bow_means_welch:
        case Method::mixed:
          return of_kinds(std::move(m), level, from, to);
        case Method::moderated:
          return with_history(std::move(m), level, from, to);
        default:
          return bootstrap(method, level, options_, a, b);
      }
    });
  }

  /// A pair's own p, as if there were no other set-ups: what Holm's rule starts from.
  std::optional<double> own_p(Method method, std::size_t from, std::size_t to) const {
    const Sample &a = *setups_[from].sample, &b = *setups_[to].sample;
    try {
      switch (method) {
        case Method::rounding_aware:
          return rounding_aware(a, b, options_.level).p_two_sided;
        case Method::welch:
          return welch(a, b, options_.level).p_two_sided;
        case Method::pooled: {
          const auto r = pooled(samples_, index_of(from), index_of(to), options_.level);
          return Family{}.p_two_sided(r.t, r.degrees_of_freedom);
        }
        case Method::permutation:
          return permutation(a, b, options_.level, options_.budget).p_two_sided;
        case Method::bow_means:
          return bow_means(kinds_[from], kinds_[to], options_.level).p_two_sided;
        case Method::bow_means_welch:
          return bow_means_welch(kinds_[from], kinds_[to], options_.level).p_two_sided;
        case Method::moderated:
          return moderated(a, b, options_.history->prior, options_.level).p_two_sided;
        default:
          return std::nullopt;
      }
    } catch (const NoAnswer&) {
      return std::nullopt;
    }
  }

 private:
  /// The methods whose replicates are bows. For three kinds or more one spread is pooled over all that have two bows.
  MethodOutcome of_kinds(MethodOutcome m, ConfidenceLevel level, std::size_t from, std::size_t to) const {
    const std::vector<Sample>&a = kinds_[from], &b = kinds_[to];
    if (a.size() < 2 || b.size() < 2) throw NoAnswer{"needs two bows or more of each kind"};
    const bool all = by_bows() && kinds_.size() > 2;
    m.replicates = ReplicateDetail{.from = a.size(), .to = b.size()};
    std::vector<std::int64_t> shots;
    for (const auto* bows : {&a, &b})
      for (const Sample& bow : *bows) shots.push_back(static_cast<std::int64_t>(bow.size()));
    const auto [least, most] = std::minmax_element(shots.begin(), shots.end());
    m.replicates->least_shots = *least;
    m.replicates->most_shots = *most;
    if (m.method == Method::bow_means) {
      const auto r = all ? bow_means(kinds_, from, to, level) : bow_means(a, b, level);
      fill(m, r);
      m.t = r.t;
      m.replicates->floor_acted = r.floor_acted;
      if (options_.margin && !all) m.p_equivalence = bow_means_p_equivalence(a, b, *options_.margin);
      return m;
    }
    if (m.method == Method::bow_means_welch) {
      const auto r = bow_means_welch(a, b, level, family_);
      fill(m, r);
      m.t = r.t;
      m.replicates->floor_acted = r.floor_acted_a || r.floor_acted_b;
      if (options_.margin) m.p_equivalence = bow_means_welch_p_equivalence(a, b, *options_.margin, family_);
      return m;
    }
    const auto r = all ? mixed(kinds_, from, to, level) : mixed(a, b, level);
    fill(m, r);
    m.t = r.t;
    m.replicates->bow_sd = r.bow_sd;
    m.replicates->shot_sd = r.shot_sd;
    m.replicates->bow_sd_interval = r.bow_sd_interval;
    m.replicates->shot_sd_interval = r.shot_sd_interval;
    if (r.bow_sd_zero) m.replicates->satterthwaite = r.satterthwaite;
    return m;
  }

  MethodOutcome with_history(MethodOutcome m, ConfidenceLevel level, std::size_t from, std::size_t to) const {
    if (!options_.history)
      throw NoAnswer{options_.why_no_history.empty() ? "no earlier strings of shots were given"
                                                     : options_.why_no_history};
    if (!several_strings_.empty())
      throw NoAnswer{"the shots with " + several_strings_.front() +
                     " come from several bows or sessions, and an earlier string tells only how the shots of one "
                     "bow in one session scatter"};
    const auto r = moderated(samples_, index_of(from), index_of(to), options_.history->prior, level);
    fill(m, r);
    m.t = r.t;
    m.history = HistoryUse{.fits = r.history_fits,
                           .p_scatter = r.p_scatter,
                           .pooled_sd = r.pooled_sd,
                           .pooled_degrees_of_freedom = r.pooled_degrees_of_freedom,
                           .moderated_sd = r.moderated_sd,
                           .decided_by = r.decided_by};
    return m;
  }

  template <typename Result>
  static void fill(MethodOutcome& m, const Result& r) {
    m.difference = r.difference;
    m.interval = r.interval;
    m.standard_error = r.standard_error;
    m.degrees_of_freedom = r.degrees_of_freedom;
    m.p_two_sided = r.p_two_sided;
  }

  void add_equivalence(MethodOutcome& m, double difference) const {
    if (options_.margin)
      m.p_equivalence = p_equivalence(difference, *m.standard_error, *m.degrees_of_freedom, *options_.margin, family_);
  }

  /// Place of a set-up among those with two shots or more.
  std::size_t index_of(std::size_t setup) const {
    std::size_t place = 0;
    for (std::size_t i = 0; i < setup; ++i) place += setups_[i].sample && setups_[i].sample->size() >= 2 ? 1 : 0;
    return place;
  }

  const std::vector<ComparedSetup>& setups_;
  const ComparisonOptions& options_;
  std::vector<Sample> samples_;
  std::vector<std::string> several_strings_;  ///< set-ups whose shots are not one string
  std::vector<std::vector<Sample>> kinds_;    ///< the bows of each set-up
  Family family_;
};

std::string too_few_shots(const ComparedSetup& a, const ComparedSetup& b) {
  std::string text;
  for (const ComparedSetup* s : {&a, &b}) {
    const std::size_t shots = s->sample ? s->sample->size() : 0;
    if (shots >= 2) continue;
    if (!text.empty()) text += ", ";
    text += s->name + " has " + (shots == 1 ? "one shot" : "no shot");
  }
  return text;
}

GroupDesign design(const Sample& sample) {
  return {.shots = static_cast<std::int64_t>(sample.size()),
          .sd = rounded_group(sample).floored_sd() * sample.step().value()};
}

/// Absent at a level so low that chance alone leaves out 0 as often as the usual power.
std::optional<Detectable> detectable(GroupDesign a, GroupDesign b, const Comparison& c) {
  const WelchPowerCurve curve{a, b, CriticalFactor{c.level, Sides::two, Family{c.family}}};
  if (curve.two_sided(0.0).power >= usual_power) return std::nullopt;
  return Detectable{.power = usual_power, .gap = detectable_gap(curve, Power{usual_power})};
}

/// Those of the needs that find a gap which shots like these would not.
std::vector<NextTest> next_tests(const std::vector<Need>& needs, double detectable) {
  std::vector<NextTest> tests;
  for (const Need& need : needs)
    if (need.gap && *need.gap < detectable)
      tests.push_back(
          {.gap = *need.gap, .shots = need.shots ? std::optional{static_cast<int>(*need.shots)} : std::nullopt});
  return tests;
}

/// Of two gaps that take as many bows the first stands for both; never fewer bows than were shot.
std::vector<NextBows> next_bows(const std::vector<Need>& needs, std::int64_t shot) {
  std::vector<NextBows> next;
  for (const Need& need : needs) {
    if (need.code != NeedCode::more_bows || !need.gap || !need.bows) continue;
    const std::int64_t bows = std::max(*need.bows, shot);
    if (next.empty() || next.back().bows != bows)
      next.push_back({.gap = *need.gap, .bows = bows, .shots = *need.shots});
  }
  return next;
}

/// The interval rests on a spread of bow averages that holds what shots add to it; so many shots a bow go on adding it.
BowsSeen bows_seen(const MethodOutcome& deciding, const std::vector<Sample>& a, const std::vector<Sample>& b) {
  const double k_a = static_cast<double>(a.size()), k_b = static_cast<double>(b.size());
  std::size_t shots = 0;
  for (const auto* bows : {&a, &b})
    for (const Sample& bow : *bows) shots += bow.size();
  return {.bows = static_cast<std::int64_t>(std::min(a.size(), b.size())),
          .shots = static_cast<std::int64_t>(std::lround(static_cast<double>(shots) / (k_a + k_b))),
          .spread = *deciding.standard_error / std::sqrt(1.0 / k_a + 1.0 / k_b)};
}

void append(std::vector<Need>& needs, const std::vector<Need>& more) {
  needs.insert(needs.end(), more.begin(), more.end());
}

/// A pair's share of the error rate: for a family a little cautious, and known to every plan.
ConfidenceLevel shared_level(ConfidenceLevel level, Family family) {
  return family.is_pair() ? level : ConfidenceLevel::from_alpha(level.alpha() / family.pairs());
}

/// What it would take to speak of any day.
std::vector<Need> needs_of_days(const GapOutcome& gap, const Comparison& c) {
  const ConfidenceLevel level = shared_level(c.level, Family{c.family});
  for (const MethodOutcome& m : gap.methods) {
    if (m.method != Method::session_gaps || !m.interval) continue;
    if (gap.any_day != Verdict::open) return {};
    const auto sessions = static_cast<std::int64_t>(m.replicates->from);
    return sessions_needed({*m.difference, c.display_step, c.margin},
                           *m.standard_error * std::sqrt(static_cast<double>(sessions)), sessions, level);
  }
  return {sessions_needed(level)};
}

/// What it would take to speak of the kinds, where bows do not decide.
std::vector<Need> needs_of_kinds(const GapOutcome& gap, const Comparison& c, const ComparisonOptions& options) {
  const auto& setups = c.setups;
  if (std::any_of(setups.begin(), setups.end(), [](const SetupOutcome& s) { return s.bows > 1; }))
    return {{.code = NeedCode::second_bow, .claim = Claim::kinds_of_bow, .bows = 2, .more_bows = 1}};
  if (!options.bow_sd || !gap.deciding().interval)
    return {{.code = NeedCode::several_bows, .claim = Claim::kinds_of_bow}};
  const double a = design(*setups[gap.from].sample).sd, b = design(*setups[gap.to].sample).sd;
  return bows_needed({*gap.difference, c.display_step, c.margin},
                     {.bow_sd = *options.bow_sd, .shot_sd = std::sqrt(0.5 * (a * a + b * b))}, c.display_step,
                     shared_level(c.level, Family{c.family}));
}

/// Absent where the firing order is not known, or the shots are too few.
std::optional<DriftResult> drift_over(const std::vector<ComparedSetup>& setups, ConfidenceLevel level) {
  const auto ordered = ordered_shots(setups);
  if (ordered.empty()) return std::nullopt;
  try {
    return drift(ordered, level);
  } catch (const NoAnswer&) {
    return std::nullopt;
  }
}

void check(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options) {
  if (setups.size() < 2) throw DomainError{"compare: needs 2 or more set-ups, got " + std::to_string(setups.size())};
  if (options.margin && !(*options.margin > 0.0)) throw DomainError{"compare: the margin must be positive"};
  const Sample* first = nullptr;
  for (std::size_t i = 0; i < setups.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j)
      if (setups[i].name == setups[j].name) throw DomainError{"compare: two set-ups are named " + setups[i].name};
    if (!setups[i].sample) continue;
    if (first == nullptr) first = &*setups[i].sample;
    require_one_lattice(*first, *setups[i].sample);
  }
  if (first == nullptr) throw NoAnswer{"no set-up has a shot left: every one is excluded"};
}

/// What decides first: then what rounds and sessions add, then what was asked for.
std::vector<Method> in_order(const std::vector<Method>& asked, bool by_bows, bool rounds, bool sessions) {
  std::vector<Method> methods;
  if (by_bows) methods.push_back(Method::bow_means);
  methods.push_back(Method::rounding_aware);
  if (rounds) methods.push_back(Method::round_paired);
  if (sessions) methods.push_back(Method::session_gaps);
  for (const Method m : asked)
    if (std::find(methods.begin(), methods.end(), m) == methods.end()) methods.push_back(m);
  return methods;
}

}  // namespace

Comparison compare(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options) {
  check(setups, options);
  const PairComparer comparer{setups, options};
  const auto any_pair = [&](const auto& has_two) {
    for (std::size_t i = 0; i < setups.size(); ++i)
      for (std::size_t j = i + 1; j < setups.size(); ++j)
        if (has_two(setups[i], setups[j])) return true;
    return false;
  };
  const bool by_bows = comparer.by_bows();
  const auto methods = in_order(options.methods, by_bows,
                                any_pair([](const auto& a, const auto& b) { return rounds_of(a, b).size() >= 2; }),
                                any_pair([](const auto& a, const auto& b) { return sessions_of(a, b).size() >= 2; }));
  const auto any_sample =
      std::find_if(setups.begin(), setups.end(), [](const auto& s) { return s.sample.has_value(); });
  Comparison out{.level = options.level,
                 .margin = options.margin,
                 .display_step = any_sample->sample->step(),
                 .family = comparer.family().setups(),
                 .setups = {},
                 .gaps = {},
                 .drift = drift_over(setups, options.level),
                 .history = options.history};

  for (const ComparedSetup& s : setups) {
    SetupOutcome setup{.name = s.name,
                       .sample = s.sample,
                       .description = {},
                       .excluded = s.excluded,
                       .bows = s.bows,
                       .tight = false,
                       .methods = {}};
    if (s.sample) {
      setup.description = describe(*s.sample);
      setup.tight = s.sample->span() <= 1;
      if (s.sample->size() >= 2)
        for (const Method m : methods)
          if (entry(m).of_a_mean) setup.methods.push_back(of_mean(m, *s.sample, options));
    }
    out.setups.push_back(std::move(setup));
  }

  for (std::size_t from = 0; from < setups.size(); ++from)
    for (std::size_t to = from + 1; to < setups.size(); ++to) {
      const auto &a = setups[from], &b = setups[to];
      GapOutcome gap{};
      gap.from = from;
      gap.to = to;
      gap.verdict = Verdict::open;
      if (a.sample && b.sample)
        gap.difference = mean_difference(moments(*a.sample), moments(*b.sample)) * a.sample->step().value();
      gap.no_interval = too_few_shots(a, b);
      if (!gap.no_interval.empty()) {
        gap.methods.push_back(outcome(Method::rounding_aware, options.level));
        gap.methods.front().why_absent = gap.no_interval;
        gap.claim = Claim::readings;
        gap.needs = {{.code = NeedCode::second_shot, .claim = Claim::setups_today, .shots = 2}};
        append(gap.needs, needs_of_days(gap, out));
        append(gap.needs, needs_of_kinds(gap, out, options));
        out.gaps.push_back(std::move(gap));
        continue;
      }
      for (const Method m : methods)
        if (entry(m).of_a_gap) gap.methods.push_back(comparer.of_gap(m, from, to));
      const Interval interval = *gap.deciding().interval;
      gap.verdict = verdict(interval, options.margin);
      if (options.margin) gap.position = margin_position(interval, *options.margin);
      if (by_bows) {
        gap.claim = Claim::kinds_of_bow;
        gap.difference = gap.deciding().difference;
        if (gap.verdict == Verdict::open) {
          const auto &bows_a = comparer.bows(from), &bows_b = comparer.bows(to);
          gap.needs =
              bows_needed({*gap.difference, out.display_step, out.margin}, bows_seen(gap.deciding(), bows_a, bows_b),
                          shared_level(out.level, comparer.family()));
          gap.next_bows = next_bows(gap.needs, static_cast<std::int64_t>(std::max(bows_a.size(), bows_b.size())));
        }
      } else {
        const auto r = rounding_aware(*a.sample, *b.sample, options.level, comparer.family());
        gap.decided_by = r.decided_by;
        const GroupDesign da = design(*a.sample), db = design(*b.sample);
        if (gap.decided_by != RoundingTerm::display_bound) gap.detectable = detectable(da, db, out);
        if (gap.detectable && gap.verdict == Verdict::open) {
          gap.needs = shots_needed({*gap.difference, out.display_step, out.margin}, da, db, out.display_step, out.level,
                                   comparer.family());
          gap.next_tests = next_tests(gap.needs, gap.detectable->gap);
        }
        if (gap.verdict == Verdict::open && gap.decided_by == RoundingTerm::display_bound)
          gap.needs.push_back({.code = NeedCode::finer_display, .claim = Claim::setups_today});
        if (a.bows == 1 && b.bows == 1) {
          const GapEstimate these{r.difference, r.standard_error, r.degrees_of_freedom, r.half_width};
          gap.tipping_bow_sd = tipping_bow_sd(these, options.level, comparer.family());
          if (options.bow_sd) gap.stated_kinds = gap_of_kinds(these, *options.bow_sd, options.level, comparer.family());
        }
      }
      for (const MethodOutcome& m : gap.methods)
        if (m.method == Method::session_gaps && m.interval) gap.any_day = verdict(m.interval, options.margin);
      append(gap.needs, needs_of_days(gap, out));
      if (!by_bows) append(gap.needs, needs_of_kinds(gap, out, options));
      if (const auto rounds = rounds_of(a, b); rounds.size() >= 2) gap.blocking = blocking_gain(rounds, options.level);
      out.gaps.push_back(std::move(gap));
    }

  if (!comparer.family().is_pair()) {
    for (std::size_t k = 0; k < methods.size(); ++k) {
      std::vector<double> own;
      std::vector<MethodOutcome*> of;
      for (GapOutcome& gap : out.gaps)
        for (MethodOutcome& m : gap.methods)
          if (m.method == methods[k] && m.interval)
            if (const auto p = comparer.own_p(m.method, gap.from, gap.to)) {
              own.push_back(*p);
              of.push_back(&m);
            }
      const auto adjusted = holm(own);
      for (std::size_t i = 0; i < of.size(); ++i) of[i]->p_holm = adjusted[i];
    }
    for (GapOutcome& gap : out.gaps) {
      const auto& m = gap.deciding();
      if (!m.p_holm) continue;
      const bool leaves_out_zero = verdict(m.interval) != Verdict::open;
      gap.holm_disagrees = leaves_out_zero != (*m.p_holm < options.level.alpha());
    }
  }
  return out;
}

}  // namespace shotassay
