#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <exception>
#include <limits>
#include <shotassay/methods/propagation.hpp>
#include <shotassay/numerics/normal.hpp>
#include <shotassay/numerics/random.hpp>
#include <string>
#include <thread>
#include <vector>

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

/// x with density 1/(π√(1 − x²)): the first coordinate of a random direction, drawn as a point of the unit disc.
double arcsine(numerics::ReplicateStream& words) {
  for (;;) {
    const double a = 2.0 * words.uniform() - 1.0, b = 2.0 * words.uniform() - 1.0, square = a * a + b * b;
    if (square <= 1.0 && square > 1e-12) return a / std::sqrt(square);
  }
}

/// Student's t: over few whole degrees of freedom by its definition, else from its quantiles.
double student(numerics::ReplicateStream& words, double nu) {
  if (nu > 30.0 || nu != std::floor(nu)) return numerics::t_upper_quantile(words.uniform(), nu);
  const double z = words.normal();
  double squares = 0.0;
  for (int i = 0; i < static_cast<int>(nu); ++i) {
    const double other = words.normal();
    squares += other * other;
  }
  return z / std::sqrt(squares / nu);
}

/// Draws the inputs of one trial.
class Draw {
 public:
  Draw(std::span<const UncertainInput> inputs, std::span<const Correlation> correlations)
      : inputs_{inputs}, r_{method, inputs, correlations}, joint_(inputs.size(), false), z_(inputs.size(), 0.0) {
    for (const Correlation& link : correlations)
      if (link.coefficient != 0.0) joint_[link.first] = joint_[link.second] = true;
  }

  void operator()(std::uint64_t seed, std::uint64_t trial, std::span<double> x) {
    numerics::ReplicateStream words{seed, trial, numerics::RandomPurpose::propagation};
    for (std::size_t i = 0; i < inputs_.size(); ++i) {
      const UncertainInput& input = inputs_[i];
      const double u = input.standard_uncertainty;
      if (joint_[i]) {
        z_[i] = words.normal();
        double sum = 0.0;
        for (std::size_t k = 0; k <= i; ++k)
          if (joint_[k]) sum += r_.factor(i, k) * z_[k];
        x[i] = input.estimate + u * sum;
      } else {
        x[i] = u > 0.0 ? input.estimate + u * standardised(words, input) : input.estimate;
      }
    }
  }

  /// Of the laws drawn, not of the inputs as stated: joint ones are normal.
  double least_degrees() const {
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < inputs_.size(); ++i)
      if (!joint_[i] && inputs_[i].standard_uncertainty > 0.0 && is_normal(inputs_[i].shape))
        least = std::min(least, inputs_[i].degrees_of_freedom);
    return least;
  }

 private:
  static bool is_normal(InputShape shape) { return shape == InputShape::normal || shape == InputShape::t; }

  static double standardised(numerics::ReplicateStream& words, const UncertainInput& input) {
    switch (input.shape) {
      case InputShape::rectangular:
        return std::sqrt(3.0) * (2.0 * words.uniform() - 1.0);
      case InputShape::triangular:
        return std::sqrt(6.0) * (words.uniform() + words.uniform() - 1.0);
      case InputShape::arcsine:
        return std::sqrt(2.0) * arcsine(words);
      case InputShape::normal:
      case InputShape::t:
        break;
    }
    return std::isinf(input.degrees_of_freedom) ? words.normal() : student(words, input.degrees_of_freedom);
  }

  std::span<const UncertainInput> inputs_;
  detail::CorrelationMatrix r_;
  std::vector<bool> joint_;
  std::vector<double> z_;
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

Summary summarised(std::vector<double>& values, ConfidenceLevel level) {
  const auto m = static_cast<double>(values.size());
  double sum = 0.0, squares = 0.0;
  for (const double y : values) sum += y;
  const double mean = sum / m;
  for (const double y : values) squares += (y - mean) * (y - mean);
  std::sort(values.begin(), values.end());
  const std::size_t q = steps_between(values.size(), level), left = values.size() - q;
  const std::size_t r = std::max<std::size_t>(1, (left + 1) / 2);
  std::size_t best = 0;
  for (std::size_t i = 1; i < left; ++i)
    if (values[i + q] - values[i] < values[best + q] - values[best]) best = i;
  return {mean, std::sqrt(squares / (m - 1.0)), {values[r - 1], values[r - 1 + q]}, {values[best], values[best + q]}};
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
    for (unsigned i = 0; i < how.threads; ++i) workers_.push_back({model, Draw{inputs, correlations}, {}, {}});
  }

  const std::vector<double>& values() const { return values_; }
  std::vector<double>& values() { return values_; }

  /// The summaries of the next `count` blocks.
  std::vector<Summary> draw(std::uint64_t count) {
    const std::uint64_t first = values_.size() / size_;
    values_.resize(static_cast<std::size_t>((first + count) * size_));
    std::vector<Summary> summaries(static_cast<std::size_t>(count));
    const std::uint64_t threads = std::min<std::uint64_t>(workers_.size(), count);
    const auto fill = [&](std::uint64_t t) noexcept {
      Worker& worker = workers_[static_cast<std::size_t>(t)];
      try {
        for (std::uint64_t b = t; b < count; b += threads)
          summaries[static_cast<std::size_t>(b)] = block(worker, first + b);
      } catch (...) {
        worker.failure = std::current_exception();
      }
    };
    {
      std::vector<std::jthread> others;
      for (std::uint64_t t = 1; t < threads; ++t) others.emplace_back(fill, t);
      fill(0);
    }
    for (const Worker& worker : workers_)
      if (worker.failure) std::rethrow_exception(worker.failure);
    require_finite(first);
    return summaries;
  }

  void keep(std::uint64_t blocks) { values_.resize(static_cast<std::size_t>(blocks * size_)); }

 private:
  struct Worker {
    MeasurementModel model;
    Draw draw;
    std::vector<double> sorted;
    std::exception_ptr failure;
  };

  Summary block(Worker& worker, std::uint64_t number) {
    std::vector<double> x(inputs_.size());
    const auto from = values_.begin() + static_cast<std::ptrdiff_t>(number * size_);
    for (std::uint64_t i = 0; i < size_; ++i) {
      worker.draw(how_.seed, number * size_ + i, x);
      from[static_cast<std::ptrdiff_t>(i)] = worker.model(x);
    }
    worker.sorted.assign(from, from + static_cast<std::ptrdiff_t>(size_));
    // Values that are not finite cannot be sorted; require_finite refuses them.
    for (const double y : worker.sorted)
      if (!std::isfinite(y)) return {};
    return summarised(worker.sorted, level_);
  }

  /// The first trial without a value is named, whichever thread met it.
  void require_finite(std::uint64_t first_block) {
    for (std::size_t i = static_cast<std::size_t>(first_block * size_); i < values_.size(); ++i) {
      if (std::isfinite(values_[i])) continue;
      std::vector<double> x(inputs_.size());
      workers_[0].draw(how_.seed, i, x);
      std::string where;
      for (std::size_t k = 0; k < x.size(); ++k)
        where += (k == 0 ? "" : ", ") + inputs_[k].name + " = " + number_text(x[k]);
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
  const Summary all = summarised(blocks.values(), level);
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
