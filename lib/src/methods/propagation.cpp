#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>
#include <shotassay/methods/propagation.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/random.hpp>
#include <span>
#include <string>
#include <vector>

#include "in_threads.hpp"

namespace shotassay {
namespace {

constexpr std::uint64_t most_allowed = 100'000'000;
constexpr std::uint64_t least_block = 10'000;
constexpr std::uint64_t least_blocks = 10;

const std::string method = "propagation";

void require_sound(const PropagationOptions& how, ConfidenceLevel level, std::uint64_t block) {
  if (how.significant_digits != 1 && how.significant_digits != 2)
    throw DomainError{method + ": significant digits must be 1 or 2, got " + std::to_string(how.significant_digits)};
  if (!(how.tolerance_share > 0.0 && how.tolerance_share <= 1.0))
    throw DomainError{method + ": the share of the tolerance must be more than 0 and at most 1, got " +
                      std::to_string(how.tolerance_share)};
  if (!(level.alpha() >= 0.0001 * (1.0 - 1e-9)))
    throw DomainError{method + ": the level must be at most 0.9999, got " + std::to_string(level.value())};
  if (how.most_trials < least_blocks * block || how.most_trials > most_allowed)
    throw DomainError{method + ": trials must be " + std::to_string(least_blocks * block) + " to " +
                      std::to_string(most_allowed) + " at this level, got " + std::to_string(how.most_trials)};
  if (how.threads < 1) throw DomainError{method + ": threads must be 1 or more, got 0"};
}

constexpr std::size_t most_at_once = 256;

/// Student's t from two uniforms, as a coordinate of a point of the plane whose distance R has P(R² > r) =
/// (1 + r/ν)^(−ν/2), of the bivariate t: R² = ν(w^(−2/ν) − 1) with w uniform, the direction uniform too. Any ν > 0.
/// Source: Bailey (1994) [bailey1994], who draws both from one point of the unit disc.
double student(double w, double turn, double nu) {
  return std::sqrt(nu * std::expm1(-2.0 / nu * std::log(w))) * std::cos(2.0 * std::numbers::pi * turn);
}

/// Draws the inputs of trials, some at a time: column i holds input i.
class Draw {
 public:
  Draw(std::span<const UncertainInput> inputs, std::span<const Correlation> correlations)
      : inputs_{inputs}, r_{method, inputs, correlations}, joint_(inputs.size(), false) {
    for (const Correlation& link : correlations)
      if (link.coefficient != 0.0) joint_[link.first] = joint_[link.second] = true;
    for (std::size_t i = 0; i < inputs.size(); ++i) {
      first_uniform_.push_back(uniforms_);
      if (drawn(i)) uniforms_ += kind(i) == InputShape::t || kind(i) == InputShape::triangular ? 2 : 1;
    }
    u_.resize((uniforms_ + 1) / 2 * 2 * most_at_once);
    x_.resize(inputs.size() * most_at_once);
  }

  /// Inputs of `count` trials, at most most_at_once, from this one on.
  void operator()(std::uint64_t seed, std::uint64_t trial, std::size_t count) {
    for (std::size_t k = 0; k < uniforms_; k += 2)
      numerics::uniform_pairs(seed, trial, numerics::RandomPurpose::propagation, static_cast<std::uint32_t>(k / 2),
                              uniforms(k, count), uniforms(k + 1, count));
    for (std::size_t i = 0; i < inputs_.size(); ++i)
      if (joint_[i]) numerics::to_normals(uniforms(first_uniform_[i], count));
    for (std::size_t i = 0; i < inputs_.size(); ++i) fill(i, count);
  }

  double value(std::size_t input, std::size_t at) const { return x_[input * most_at_once + at]; }

  /// Of the laws drawn, not of the inputs as stated: joint ones are normal.
  double least_degrees() const {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < inputs_.size(); ++i)
      if (!joint_[i] && drawn(i) && kind(i) == InputShape::t) least = std::min(least, inputs_[i].degrees_of_freedom);
    return least;
  }

 private:
  bool drawn(std::size_t i) const { return joint_[i] || inputs_[i].standard_uncertainty > 0.0; }

  /// What is drawn: a normal of finite ν is a t, a t of infinite ν or a joint one a normal.
  InputShape kind(std::size_t i) const {
    if (joint_[i]) return InputShape::normal;
    if (inputs_[i].shape != InputShape::normal && inputs_[i].shape != InputShape::t) return inputs_[i].shape;
    return std::isinf(inputs_[i].degrees_of_freedom) ? InputShape::normal : InputShape::t;
  }

  std::span<double> uniforms(std::size_t k, std::size_t count) { return {&u_[k * most_at_once], count}; }

  void fill(std::size_t i, std::size_t count) {
    const std::span x{&x_[i * most_at_once], count};
    const double estimate = inputs_[i].estimate, u = inputs_[i].standard_uncertainty;
    if (joint_[i]) {
      for (std::size_t at = 0; at < count; ++at) {
        double sum = 0.0;
        for (std::size_t k = 0; k <= i; ++k)
          if (joint_[k]) sum += r_.factor(i, k) * uniforms(first_uniform_[k], count)[at];
        x[at] = estimate + u * sum;
      }
      return;
    }
    std::fill(x.begin(), x.end(), estimate);
    if (!drawn(i)) return;
    const std::span<double> a = uniforms(first_uniform_[i], count);
    const auto add = [&](const auto& standardised) {
      for (std::size_t at = 0; at < count; ++at) x[at] += u * standardised(at);
    };
    switch (kind(i)) {
      case InputShape::rectangular:
        return add([&](std::size_t at) { return std::sqrt(3.0) * (2.0 * a[at] - 1.0); });
      case InputShape::triangular:
        return add([&, b = uniforms(first_uniform_[i] + 1, count)](std::size_t at) {
          return std::sqrt(6.0) * (a[at] + b[at] - 1.0);
        });
      case InputShape::arcsine:
        return add([&](std::size_t at) { return std::sqrt(2.0) * std::sin(std::numbers::pi * (a[at] - 0.5)); });
      case InputShape::normal:
        numerics::to_normals(a);
        return add([&](std::size_t at) { return a[at]; });
      case InputShape::t:
        return add([&, b = uniforms(first_uniform_[i] + 1, count), nu = inputs_[i].degrees_of_freedom](std::size_t at) {
          return student(a[at], b[at], nu);
        });
    }
  }

  std::span<const UncertainInput> inputs_;
  detail::CorrelationMatrix r_;
  std::vector<bool> joint_;
  std::vector<std::size_t> first_uniform_;
  std::size_t uniforms_ = 0;
  std::vector<double> u_, x_;
};

/// What a block, or all trials, give.
struct Summary {
  double mean, sd;
  Interval symmetric, shortest;
};

/// Steps between the ends of an interval, in sorted values: q of JCGM 101, 7.7.
std::size_t steps_between(std::size_t values, ConfidenceLevel level) {
  return std::min(values - 1, static_cast<std::size_t>(std::floor(level.value() * static_cast<double>(values) + 0.5)));
}

/// The lowest and the highest of some values, as many of each as may be ends of an interval, in rising order.
class Ends {
 public:
  /// Looks for `count` of each, 0 < count ≤ values.size(), all finite. Few are sorted: a sample tells which values can
  /// be among them, and where it told wrong, all are taken.
  void find(std::span<const double> values, std::size_t count) {
    sample(values);
    const double rank = static_cast<double>(count * sample_.size()) / static_cast<double>(values.size());
    const auto safe = static_cast<std::size_t>(rank + 4.0 * std::sqrt(rank + 1.0)) + 1;
    const bool told = safe < sample_.size();
    constexpr double all = std::numeric_limits<double>::infinity();
    if (!told || !gather(values, sample_[safe], sample_[sample_.size() - 1 - safe], count))
      gather(values, all, -all, count);
  }

  std::span<const double> low() const { return std::span{low_}.first(count_); }
  std::span<const double> high() const { return std::span{high_}.subspan(from_, count_); }

 private:
  void sample(std::span<const double> values) {
    const std::size_t size = std::clamp<std::size_t>(values.size() / 32, 1, 1024);
    sample_.resize(size);
    for (std::size_t i = 0; i < size; ++i) sample_[i] = values[i * values.size() / size];
    std::sort(sample_.begin(), sample_.end());
  }

  /// Takes the values up to `low` and those from `high` on; false where they are too few.
  bool gather(std::span<const double> values, double low, double high, std::size_t count) {
    // Counted first, so that no more memory is taken than for them.
    std::size_t lows = 0, highs = 0;
    for (const double y : values) {
      lows += y <= low ? 1U : 0U;
      highs += y >= high ? 1U : 0U;
    }
    if (lows < count || highs < count) return false;
    count_ = count;
    from_ = highs - count;
    // One more place: each value is written where the next one goes, and stays if it belongs there.
    low_.resize(std::max(low_.size(), lows + 1));
    high_.resize(std::max(high_.size(), highs + 1));
    double* next_low = low_.data();
    double* next_high = high_.data();
    for (const double y : values) {
      *next_low = y;
      next_low += y <= low ? 1 : 0;
      *next_high = y;
      next_high += y >= high ? 1 : 0;
    }
    const auto at = [](std::vector<double>& all, std::size_t place) {
      return all.begin() + static_cast<std::ptrdiff_t>(place);
    };
    std::nth_element(low_.begin(), at(low_, count - 1), at(low_, lows));
    std::sort(low_.begin(), at(low_, count));
    std::nth_element(high_.begin(), at(high_, from_), at(high_, highs));
    std::sort(at(high_, from_), at(high_, highs));
    return true;
  }

  std::size_t count_ = 0, from_ = 0;
  std::vector<double> low_, high_, sample_;
};

/// Σ term(y). Four sums side by side: the order is fixed, and no addition waits for the one before it.
template <class Term>
double sum_of(std::span<const double> values, const Term& term) {
  std::array<double, 4> part{};
  std::size_t i = 0;
  for (; i + part.size() <= values.size(); i += part.size())
    for (std::size_t lane = 0; lane < part.size(); ++lane) part[lane] += term(values[i + lane]);
  for (; i < values.size(); ++i) part[0] += term(values[i]);
  return (part[0] + part[1]) + (part[2] + part[3]);
}

Summary summarised(std::span<const double> values, ConfidenceLevel level, Ends& ends) {
  const auto m = static_cast<double>(values.size());
  const double mean = sum_of(values, [](double y) { return y; }) / m;
  const double squares = sum_of(values, [mean](double y) { return (y - mean) * (y - mean); });
  const std::size_t left = values.size() - steps_between(values.size(), level);
  ends.find(values, left);
  const std::span low = ends.low(), high = ends.high();
  const std::size_t r = std::max<std::size_t>(1, (left + 1) / 2);
  std::size_t best = 0;
  for (std::size_t i = 1; i < left; ++i)
    if (high[i] - low[i] < high[best] - low[best]) best = i;
  return {mean, std::sqrt(squares / (m - 1.0)), {low[r - 1], high[r - 1]}, {low[best], high[best]}};
}

/// Average of a figure over blocks, and the standard error of that average.
class Running {
 public:
  void add(double x) {
    ++n_;
    const double d = x - mean_;
    mean_ += d / n_;
    squares_ += d * (x - mean_);
  }
  double mean() const { return mean_; }
  double error() const { return std::sqrt(squares_ / (n_ - 1) / n_); }

 private:
  double n_ = 0, mean_ = 0, squares_ = 0;
};

/// What the blocks so far say of the results.
class Progress {
 public:
  Progress(const PropagationOptions& how, ConfidenceLevel level, bool has_mean, bool has_sd)
      : how_{how},
        half_width_of_u_{numerics::normal_upper_quantile(0.5 * level.alpha())},
        has_mean_{has_mean},
        has_sd_{has_sd} {}

  void add(const Summary& block) {
    const Interval& interval = how_.settled_by == CoverageKind::symmetric ? block.symmetric : block.shortest;
    mean_.add(block.mean);
    sd_.add(block.sd);
    lower_.add(interval.lower);
    upper_.add(interval.upper);
  }

  /// Half a unit of the last digit wanted, or the share of it.
  double tolerance() const {
    const double u = has_sd_ ? sd_.mean() : 0.5 * (upper_.mean() - lower_.mean()) / half_width_of_u_;
    return how_.tolerance_share * 0.5 * std::pow(10.0, std::floor(std::log10(u)) + 1.0 - how_.significant_digits);
  }

  bool settled() const {
    double worst = std::max(lower_.error(), upper_.error());
    if (has_mean_) worst = std::max(worst, mean_.error());
    if (has_sd_) worst = std::max(worst, sd_.error());
    return 2.0 * worst <= tolerance();
  }

  bool constant() const { return !(upper_.mean() > lower_.mean()); }

  PropagationErrors errors() const {
    return {.estimate = has_mean_ ? std::optional{mean_.error()} : std::nullopt,
            .standard_uncertainty = has_sd_ ? std::optional{sd_.error()} : std::nullopt,
            .lower = lower_.error(),
            .upper = upper_.error()};
  }

 private:
  PropagationOptions how_;
  double half_width_of_u_;
  bool has_mean_, has_sd_;
  Running mean_, sd_, lower_, upper_;
};

std::string number_text(double x) {
  std::array<char, 32> buffer{};
  return {buffer.data(),
          std::to_chars(buffer.data(), buffer.data() + buffer.size(), x, std::chars_format::general, 6).ptr};
}

/// The blocks of one propagation, drawn several at a time.
class Blocks {
 public:
  Blocks(const MeasurementModel& model, std::span<const UncertainInput> inputs,
         std::span<const Correlation> correlations, ConfidenceLevel level, const PropagationOptions& how,
         std::uint64_t size)
      : inputs_{inputs}, level_{level}, how_{how}, size_{size} {
    for (unsigned i = 0; i < how.threads; ++i) workers_.push_back({model, Draw{inputs, correlations}, {}});
  }

  std::span<const double> values() const { return values_; }

  /// The summaries of the next `count` blocks.
  std::vector<Summary> draw(std::uint64_t count) {
    const std::uint64_t first = values_.size() / size_;
    values_.resize(static_cast<std::size_t>((first + count) * size_));
    std::vector<Summary> summaries(static_cast<std::size_t>(count));
    const std::uint64_t threads = std::min<std::uint64_t>(workers_.size(), count);
    detail::in_threads(threads, [&](std::uint64_t t) {
      Worker& worker = workers_[static_cast<std::size_t>(t)];
      for (std::uint64_t b = t; b < count; b += threads)
        summaries[static_cast<std::size_t>(b)] = block(worker, first + b);
    });
    require_finite(first);
    return summaries;
  }

  void keep(std::uint64_t blocks) { values_.resize(static_cast<std::size_t>(blocks * size_)); }

 private:
  struct Worker {
    MeasurementModel model;
    Draw draw;
    Ends ends;
  };

  Summary block(Worker& worker, std::uint64_t number) {
    std::vector<double> x(inputs_.size());
    const std::span values =
        std::span{values_}.subspan(static_cast<std::size_t>(number * size_), static_cast<std::size_t>(size_));
    for (std::size_t done = 0; done < values.size(); done += most_at_once) {
      const std::size_t count = std::min(most_at_once, values.size() - done);
      worker.draw(how_.seed, number * size_ + done, count);
      for (std::size_t at = 0; at < count; ++at) {
        for (std::size_t i = 0; i < x.size(); ++i) x[i] = worker.draw.value(i, at);
        values[done + at] = worker.model(x);
      }
    }
    // Values that are not finite have no order; require_finite refuses them.
    for (const double y : values)
      if (!std::isfinite(y)) return {};
    return summarised(values, level_, worker.ends);
  }

  /// The first trial without a value is named, whichever thread met it.
  void require_finite(std::uint64_t first_block) {
    for (std::size_t i = static_cast<std::size_t>(first_block * size_); i < values_.size(); ++i) {
      if (std::isfinite(values_[i])) continue;
      workers_[0].draw(how_.seed, i, 1);
      std::string where;
      for (std::size_t k = 0; k < inputs_.size(); ++k)
        where += (k == 0 ? "" : ", ") + inputs_[k].name + " = " + number_text(workers_[0].draw.value(k, 0));
      throw NoAnswer{method + ": the inputs as stated reach where the model has no finite value, for example " + where};
    }
  }

  std::span<const UncertainInput> inputs_;
  ConfidenceLevel level_;
  PropagationOptions how_;
  std::uint64_t size_;
  std::vector<Worker> workers_;
  std::vector<double> values_;
};

}  // namespace

PropagationResult propagation(const MeasurementModel& model, std::span<const UncertainInput> inputs,
                              std::span<const Correlation> correlations, ConfidenceLevel level,
                              PropagationOptions how) {
  detail::require_inputs(method, inputs);
  // 100/α may come out a hair above a whole number.
  const auto block = std::max(least_block, static_cast<std::uint64_t>(std::ceil(100.0 / level.alpha() - 1e-6)));
  require_sound(how, level, block);
  const double least_degrees = Draw{inputs, correlations}.least_degrees();
  const bool has_mean = least_degrees > 1.0, has_sd = least_degrees > 2.0;

  Blocks blocks{model, inputs, correlations, level, how, block};
  Progress progress{how, level, has_mean, has_sd};
  const std::uint64_t most = how.most_trials / block;
  std::uint64_t used = 0;
  bool settled = false;
  while (!settled && used < most) {
    // Some blocks ahead of need, so that threads have work; those beyond the stopping point are dropped again.
    const std::uint64_t ahead = std::min(most - used, std::max<std::uint64_t>(least_blocks, used / 4));
    for (const Summary& summary : blocks.draw(ahead)) {
      progress.add(summary);
      ++used;
      if (used < least_blocks) continue;
      if (progress.constant()) throw NoAnswer{method + ": the model gives the same in every trial"};
      settled = progress.settled();
      if (settled) break;
    }
  }
  blocks.keep(used);
  Ends ends;
  const Summary all = summarised(blocks.values(), level, ends);
  return {.estimate = has_mean ? std::optional{all.mean} : std::nullopt,
          .standard_uncertainty = has_sd ? std::optional{all.sd} : std::nullopt,
          .symmetric = all.symmetric,
          .shortest = all.shortest,
          .trials = used * block,
          .settled = settled,
          .tolerance = progress.tolerance(),
          .errors = progress.errors()};
}

}  // namespace shotassay
