#include <algorithm>
#include <cmath>
#include <shotassay/methods/bootstrap.hpp>
#include <shotassay/methods/bootstrap_monte_carlo.hpp>
#include <shotassay/methods/bootstrap_t.hpp>
#include <shotassay/methods/detectable_gap.hpp>
#include <shotassay/methods/holm.hpp>
#include <shotassay/methods/mean_interval.hpp>
#include <shotassay/methods/permutation.hpp>
#include <shotassay/methods/pooled.hpp>
#include <shotassay/methods/sample_size.hpp>
#include <shotassay/methods/welch.hpp>
#include <shotassay/methods/welch_power.hpp>
#include <shotassay/studies/comparison.hpp>

namespace shotassay {

namespace {

/// Power of the "gap these shots could have resolved" and of the shots a next test would take.
constexpr double usual_power = 0.8;

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

/// Compares the pairs of one family.
class PairComparer {
 public:
  PairComparer(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options)
      : setups_{setups}, options_{options} {
    for (const auto& s : setups_) {
      if (!s.sample || s.sample->size() < 2) continue;
      samples_.push_back(*s.sample);
    }
    family_ = Family{std::max(2, static_cast<int>(samples_.size()))};
  }

  Family family() const { return family_; }

  MethodOutcome of_gap(Method method, std::size_t from, std::size_t to) const {
    const Sample &a = *setups_[from].sample, &b = *setups_[to].sample;
    // Bootstrap and permutation know no law for a family: Bonferroni's share of α for each pair.
    const bool bonferroni = method != Method::rounding_aware && method != Method::welch && method != Method::pooled;
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
        default:
          return std::nullopt;
      }
    } catch (const NoAnswer&) {
      return std::nullopt;
    }
  }

 private:
  template <typename Result>
  static void fill(MethodOutcome& m, const Result& r) {
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

/// What would settle an open gap: shots for the margin, and for a gap like the one seen (one display step at least).
std::vector<NextTest> next_tests(const GapOutcome& gap, GroupDesign a, GroupDesign b, const Comparison& c) {
  std::vector<double> gaps{std::max(std::abs(*gap.difference), c.display_step.value())};
  if (c.margin) gaps.insert(gaps.begin(), *c.margin);
  std::vector<NextTest> tests;
  for (const double g : gaps) {
    if (g >= gap.detectable->gap || (!tests.empty() && tests.back().gap == g)) continue;
    NextTest test{.gap = g, .shots = std::nullopt};
    try {
      test.shots = static_cast<int>(sample_size({.smallest_difference = g,
                                                 .sd_a = a.sd,
                                                 .sd_b = b.sd,
                                                 .power = Power{usual_power},
                                                 .level = c.level,
                                                 .family = Family{c.family}})
                                        .shots_a);
    } catch (const NoAnswer&) {
    }
    tests.push_back(test);
  }
  return tests;
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

std::vector<Method> with_default_first(const std::vector<Method>& asked) {
  std::vector<Method> methods{Method::rounding_aware};
  for (const Method m : asked)
    if (std::find(methods.begin(), methods.end(), m) == methods.end()) methods.push_back(m);
  return methods;
}

}  // namespace

Comparison compare(const std::vector<ComparedSetup>& setups, const ComparisonOptions& options) {
  check(setups, options);
  const auto methods = with_default_first(options.methods);
  const PairComparer comparer{setups, options};
  const auto any_sample =
      std::find_if(setups.begin(), setups.end(), [](const auto& s) { return s.sample.has_value(); });
  Comparison out{.level = options.level,
                 .margin = options.margin,
                 .display_step = any_sample->sample->step(),
                 .family = comparer.family().setups(),
                 .setups = {},
                 .gaps = {}};

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
        out.gaps.push_back(std::move(gap));
        continue;
      }
      for (const Method m : methods)
        if (entry(m).of_a_gap) gap.methods.push_back(comparer.of_gap(m, from, to));
      const Interval interval = *gap.deciding().interval;
      gap.verdict = verdict(interval, options.margin);
      if (options.margin) gap.position = margin_position(interval, *options.margin);
      gap.decided_by = rounding_aware(*a.sample, *b.sample, options.level, comparer.family()).decided_by;
      const GroupDesign da = design(*a.sample), db = design(*b.sample);
      if (gap.decided_by != RoundingTerm::display_bound) gap.detectable = detectable(da, db, out);
      if (gap.detectable && gap.verdict == Verdict::open) gap.next_tests = next_tests(gap, da, db, out);
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
