#pragma once
#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/methods/bow_means.hpp>
#include <shotassay/methods/family.hpp>
#include <shotassay/numerics/reml.hpp>

namespace shotassay {

struct MixedResult {
  double difference;  ///< kind b − kind a
  double standard_error;
  double degrees_of_freedom;  ///< Satterthwaite's; bows − kinds when bow_sd_zero
  double t;
  double p_two_sided;  ///< of the family when there are three or more kinds
  Interval interval;
  double bow_sd;              ///< σ_b, bow to bow within a kind; 0 when the scatter of shots explains all of it
  Interval bow_sd_interval;   ///< Tukey and Williams; the lower end may be 0
  double shot_sd;             ///< σ, shot to shot with one bow
  Interval shot_sd_interval;  ///< χ², from the scatter within bows alone
  bool bow_sd_zero;
  double satterthwaite;   ///< what common software takes: shots − kinds when bow_sd_zero, else degrees_of_freedom
  double reml_criterion;  ///< −2 log restricted likelihood, readings in their unit
  int iterations;
  std::vector<double> weights_a;  ///< of each bow in its kind's average, in the order given; they sum to 1
  std::vector<double> weights_b;
};

/// The mixed model by name: do two kinds of bow differ, from all shots at once?
///
///   y = kind + bow + shot,   bow ~ N(0, σ_b²) nested in kind,   shot ~ N(0, σ²);   REML
///   Ȳ_g = Σ_i u_i ȳ_i / Σ_i u_i,   u_i = 1/(σ_b² + σ²/n_i),   SE² = 1/Σ_a u_i + 1/Σ_b u_i
///   ν after Satterthwaite from the observed information of (σ_b², σ²)
///
/// A bow SD estimated as zero is ordinary with few bows. There Satterthwaite's formula takes every shot for an
/// independent replicate: ν leaps from bows − kinds to shots − kinds, and the error rate rises. Here ν stays at
/// bows − kinds, as it does in every other fit when shots are equal in number; `satterthwaite` tells the other.
///
/// Units     the readings'.
/// Requires  a bow of each kind, one display step (else DomainError); two or more bows of each kind, a bow with two or
///           more shots, scatter within a bow (else NoAnswer).
/// Assumes   as bow_means; readings not rounded. Not checked here.
/// Accuracy  agrees with lme4 and lmerTest as far as those converge, 1e-5.
/// Source    Patterson & Thompson (1971) [patterson1971]; Satterthwaite (1946) [satterthwaite1946].
MixedResult mixed(const std::vector<Sample>& a, const std::vector<Sample>& b,
                  ConfidenceLevel level = ConfidenceLevel{0.95});

/// Of three or more kinds, one bow SD and one shot SD for all: the pair `from`, `to`.
/// Requires  also two different indices within the kinds; else DomainError.
MixedResult mixed(std::span<const std::vector<Sample>> kinds, std::size_t from, std::size_t to,
                  ConfidenceLevel level = ConfidenceLevel{0.95});

// ---- computation ----

namespace detail {

/// Bows as groups, in steps from the lowest reading of all.
inline std::vector<numerics::NestedGroup> nested_groups(std::span<const std::vector<Sample>> kinds) {
  std::int64_t offset = kinds[0][0].low();
  for (const auto& bows : kinds)
    for (const Sample& bow : bows) offset = std::min(offset, bow.low());
  std::vector<numerics::NestedGroup> groups;
  for (std::size_t g = 0; g < kinds.size(); ++g)
    for (const Sample& bow : kinds[g]) {
      const Moments m = moments(bow);
      groups.push_back({.kind = g,
                        .readings = static_cast<double>(m.n),
                        .mean = ratio(m.total() - WideInteger{m.n} * offset, m.n),
                        .within_squares = ratio(m.scaled_deviations(), m.n)});
    }
  return groups;
}

}  // namespace detail

inline MixedResult mixed(std::span<const std::vector<Sample>> kinds, std::size_t from, std::size_t to,
                         ConfidenceLevel level) {
  detail::require_pair_of_kinds("mixed", kinds.size(), from, to);
  detail::require_two_bows_of_each_kind("mixed", kinds);
  const std::vector<numerics::NestedGroup> groups = detail::nested_groups(kinds);
  double shots = 0, squares = 0;
  for (const auto& g : groups) {
    shots += g.readings;
    squares += g.within_squares;
  }
  const auto bows = static_cast<double>(groups.size()), number_of_kinds = static_cast<double>(kinds.size());
  if (shots == bows)
    throw NoAnswer{"mixed: with one shot a bow, shots and bows cannot be told apart; bow_means answers"};
  if (!(squares > 0.0))
    throw NoAnswer{"mixed: with no bow do the readings differ, so nothing tells the SD of shots; bow_means answers"};

  std::vector<double> contrast(kinds.size(), 0.0);
  contrast[from] = -1.0;
  contrast[to] = 1.0;
  const numerics::NestedReml fit = numerics::nested_reml(groups, contrast);
  const double step = kinds[0][0].step().value();
  const auto sd = [step](const Interval& variance) {
    return Interval{.lower = std::sqrt(variance.lower) * step, .upper = std::sqrt(variance.upper) * step};
  };
  const Family family{static_cast<int>(kinds.size())};
  MixedResult r{};
  r.difference = fit.contrast * step;
  r.standard_error = fit.standard_error * step;
  r.degrees_of_freedom = fit.at_zero ? bows - number_of_kinds : fit.satterthwaite;
  r.t = fit.contrast / fit.standard_error;
  r.p_two_sided = family.p_two_sided(r.t, r.degrees_of_freedom);
  r.interval = centred(r.difference, family.factor(level.alpha(), r.degrees_of_freedom) * r.standard_error);
  r.bow_sd = std::sqrt(fit.between_variance) * step;
  r.bow_sd_interval = sd(numerics::between_variance_interval(groups, kinds.size(), level));
  r.shot_sd = std::sqrt(fit.within_variance) * step;
  r.shot_sd_interval = sd(numerics::within_variance_interval(groups, level));
  r.bow_sd_zero = fit.at_zero;
  r.satterthwaite = fit.satterthwaite;
  // N − K readings' worth of density: a unit of one step becomes the readings' unit.
  r.reml_criterion = fit.criterion + 2.0 * (shots - number_of_kinds) * std::log(step);
  r.iterations = fit.evaluations;
  for (std::size_t i = 0; i < groups.size(); ++i) {
    if (groups[i].kind == from) r.weights_a.push_back(fit.weights[i]);
    if (groups[i].kind == to) r.weights_b.push_back(fit.weights[i]);
  }
  return r;
}

inline MixedResult mixed(const std::vector<Sample>& a, const std::vector<Sample>& b, ConfidenceLevel level) {
  const std::vector<Sample> both[] = {a, b};
  return mixed(both, 0, 1, level);
}

}  // namespace shotassay
