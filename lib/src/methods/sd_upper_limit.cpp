#include <shotassay/methods/sd_upper_limit.hpp>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <numeric>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/root.hpp>

namespace shotassay {
namespace {

constexpr double reach = 7.5;  ///< readings further from the true average, in SDs, have a chance below 1e-13
constexpr int phases = 17;     ///< 0, 1/32, … ½ of a step; the laws are even in the phase and repeat after a step
constexpr double longest_law = 4e6;  ///< most values of the pooled sum that are kept
constexpr double evaluations = 12;   ///< of a probability while its root is sought
constexpr double widening = 1.3;     ///< of an SD, from guess to guess

/// A cell's chance depends on the phase by harmonics of exp(−2π²k²σ²): above an SD of a step the first is below 3e-9
/// and the middle and the edge of a cell are enough; above half a step the second is, and half of the phases show the
/// first.
int phase_stride(double sd) { return sd > 1.0 ? phases - 1 : sd > 0.5 ? 2 : 1; }

/// Chance of the reading y when the true average is `phase` steps above the reading 0.
double chance_of(std::int64_t y, double sd, double phase) {
  // Both tails on the side away from the average, so that their difference keeps its digits.
  const double distance = std::abs(static_cast<double>(y) - phase), unit = std::numbers::sqrt2 * sd;
  return 0.5 * (std::erfc((distance - 0.5) / unit) - std::erfc((distance + 0.5) / unit));
}

/// Σ(y − ȳ)² of n readings as whole numbers d = n·Σy² − (Σy)², up to `most`.
class DeviationsLaw {
 public:
  DeviationsLaw(std::int64_t n, std::int64_t most) : n_{n}, most_{most}, width_{most / (2 * n) + 1} {}

  /// chance[d] of n rounded normal readings with this SD, in steps, and phase.
  ///
  /// Readings are added one by one. The state is their sum S and the excess e of the sum of squares over the least that
  /// S allows, in twos (its parity is that of S). Deviations only grow, so what has passed `most` is dropped.
  std::vector<double> chances(double sd, double phase) const {
    const auto farthest = static_cast<std::int64_t>(std::ceil(reach * sd + phase + 0.5));
    std::vector<double> cell;
    for (std::int64_t y = -farthest; y <= farthest; ++y) cell.push_back(chance_of(y, sd, phase));

    std::vector<double> now, next;
    std::int64_t bound = farthest;
    now.assign(static_cast<std::size_t>((2 * bound + 1) * width_), 0.0);
    for (std::int64_t y = -farthest; y <= farthest; ++y) row(now, bound, y)[0] = cell[index(y + farthest)];
    for (std::int64_t j = 1; j < n_; ++j) {
      const std::int64_t wider = sum_bound(j + 1, sd, farthest);
      next.assign(static_cast<std::size_t>((2 * wider + 1) * width_), 0.0);
      for (std::int64_t s = -bound; s <= bound; ++s) {
        const std::int64_t last = j == 1 ? 0 : most_excess(s, j);
        if (last < 0) continue;
        const double* const from = row(now, bound, s);
        // The deviations grow by j/(j+1)·(y − s/j)², so only readings near the average of those before can follow.
        const double room = std::sqrt(static_cast<double>(most_) / static_cast<double>(n_) * 2.0) + 1.0;
        const double centre = static_cast<double>(s) / static_cast<double>(j);
        const auto first =
            std::max(std::max(-farthest, -wider - s), static_cast<std::int64_t>(std::floor(centre - room)));
        const auto end = std::min(std::min(farthest, wider - s), static_cast<std::int64_t>(std::ceil(centre + room)));
        for (std::int64_t y = first; y <= end; ++y) {
          const std::int64_t shift = (least_squares(s, j) + y * y - least_squares(s + y, j + 1)) / 2;
          const std::int64_t count = std::min(last, most_excess(s + y, j + 1) - shift) + 1;
          double* const to = row(next, wider, s + y) + shift;
          const double chance = cell[index(y + farthest)];
          for (std::int64_t e = 0; e < count; ++e) to[e] += chance * from[e];
        }
      }
      now.swap(next);
      bound = wider;
    }
    std::vector<double> law(static_cast<std::size_t>(most_) + 1, 0.0);
    for (std::int64_t s = -bound; s <= bound; ++s) {
      const std::int64_t last = n_ == 1 ? 0 : most_excess(s, n_);
      for (std::int64_t e = 0; e <= last; ++e)
        law[index(least_deviations(s, n_) + 2 * n_ * e)] += row(now, bound, s)[e];
    }
    return law;
  }

  /// Multiplications and bytes of one law.
  WorkCost cost(double sd) const {
    const auto n = static_cast<double>(n_), width = static_cast<double>(width_);
    const double farthest = reach * sd + 1.0;
    const double followers =
        std::min(2.0 * farthest + 1.0, 2.0 * std::sqrt(2.0 * static_cast<double>(most_) / n) + 3.0);
    double products = 0.0, widest = 2.0 * farthest + 1.0;
    for (std::int64_t j = 1; j < n_; ++j) {
      widest = 2.0 * static_cast<double>(sum_bound(j, sd, static_cast<std::int64_t>(farthest) + 1)) + 1.0;
      // A row's bookkeeping costs as much as some ten products.
      products += widest * followers * (10.0 + (j == 1 ? 1.0 : width));
    }
    return {.operations = products + static_cast<double>(most_),
            .bytes = 2.0 * 8.0 * (widest + 2.0 * farthest) * width};
  }

 private:
  static std::size_t index(std::int64_t i) { return static_cast<std::size_t>(i); }

  double* row(std::vector<double>& states, std::int64_t bound, std::int64_t s) const {
    return states.data() + (s + bound) * width_;
  }
  const double* row(const std::vector<double>& states, std::int64_t bound, std::int64_t s) const {
    return states.data() + (s + bound) * width_;
  }

  /// Sums of j readings beyond this have a chance below 1e-13: rounding moves each reading by half a step at most.
  static std::int64_t sum_bound(std::int64_t j, double sd, std::int64_t farthest) {
    const auto count = static_cast<double>(j);
    return std::min(j * farthest, static_cast<std::int64_t>(std::ceil(reach * sd * std::sqrt(count) + count)));
  }

  static std::int64_t least_deviations(std::int64_t s, std::int64_t j) {
    const std::int64_t rest = ((s % j) + j) % j;
    return rest * (j - rest);
  }
  static std::int64_t least_squares(std::int64_t s, std::int64_t j) { return (s * s + least_deviations(s, j)) / j; }

  /// Largest excess e with (least deviations + 2·j·e)/j ≤ most/n; below 0 where there is none.
  std::int64_t most_excess(std::int64_t s, std::int64_t j) const {
    const std::int64_t room = most_ * j - n_ * least_deviations(s, j);
    return room < 0 ? -1 : room / (2 * j * n_);
  }

  std::int64_t n_, most_, width_;
};

enum class Over {
  worst_phase,  ///< the upper envelope of the laws
  all_phases    ///< their average
};

/// Chance of a pooled sum of squared deviations no larger than the one seen.
class PooledDeviations {
 public:
  explicit PooledDeviations(const std::vector<Sample>& groups) {
    for (const Sample& group : groups) {
      const Moments m = moments(group);
      if (m.n < 2) continue;
      ++count_[m.n];
      degrees_ += static_cast<double>(m.n - 1);
      seen_ += ratio(m.scaled_deviations(), m.n);
    }
    for (const auto& [n, groups_of_n] : count_) {
      multiple_ = std::lcm(multiple_, n);
      if (static_cast<double>(multiple_) * (1.0 + seen_) > longest_law) break;
    }
    countable_ = static_cast<double>(multiple_) * (1.0 + seen_) <= longest_law;
    if (!countable_) return;
    WideInteger total = 0;
    for (const Sample& group : groups) {
      const Moments m = moments(group);
      if (m.n >= 2) total += m.scaled_deviations() * (multiple_ / m.n);
    }
    total_ = static_cast<std::int64_t>(total);
  }

  double degrees_of_freedom() const { return degrees_; }
  double seen() const { return seen_; }  ///< Q, in squared steps

  /// Whether whole numbers up to the pooled sum can be listed at all.
  bool countable() const { return countable_; }

  /// Of the two searches for an SD between these.
  WorkCost cost(double least_sd, double greatest_sd) const {
    const double values_kept = static_cast<double>(multiple_) * (1.0 + seen_);
    if (!countable_) return {.operations = values_kept * values_kept, .bytes = 8.0 * values_kept};
    WorkCost all;
    double kinds = 0.0;
    const int places = (phases - 1) / phase_stride(least_sd) + 1;
    for (const auto& [n, groups_of_n] : count_) {
      const DeviationsLaw law{n, most_of(n)};
      const WorkCost one = law.cost(greatest_sd);
      all.operations += one.operations * places;
      all.bytes = std::max(all.bytes, one.bytes);
      const std::int64_t stride = multiple_ / n;
      const auto values = static_cast<double>(total_) / static_cast<double>(stride) / 2.0 + 1.0;
      all.operations += static_cast<double>(groups_of_n) * values * static_cast<double>(total_ + 1);
      kinds += 1.0;
    }
    all.operations *= 2.0 * evaluations;
    all.bytes += 8.0 * static_cast<double>(total_ + 1) * (kinds + 3.0);
    return all;
  }

  double chance(double sd, Over over) const {
    std::vector<double> pooled{1.0};
    pooled.resize(static_cast<std::size_t>(total_) + 1, 0.0);
    std::vector<double> next(pooled.size());
    for (const auto& [n, groups_of_n] : count_) {
      const std::vector<double> law = law_of(n, sd, over);
      const std::int64_t stride = multiple_ / n;
      for (std::int64_t group = 0; group < groups_of_n; ++group) {
        std::fill(next.begin(), next.end(), 0.0);
        for (std::size_t d = 0; d < law.size(); ++d) {
          if (law[d] == 0.0) continue;
          const std::size_t shift = d * static_cast<std::size_t>(stride);
          for (std::size_t t = shift; t < next.size(); ++t) next[t] += law[d] * pooled[t - shift];
        }
        pooled.swap(next);
      }
    }
    return std::accumulate(pooled.begin(), pooled.end(), 0.0);
  }

 private:
  /// Largest d of a group of n that the pooled sum leaves room for.
  std::int64_t most_of(std::int64_t n) const { return total_ / (multiple_ / n); }

  std::vector<double> law_of(std::int64_t n, double sd, Over over) const {
    const DeviationsLaw deviations{n, most_of(n)};
    const int step = phase_stride(sd);
    std::vector<double> result(static_cast<std::size_t>(most_of(n)) + 1, 0.0);
    double weights = 0.0;
    for (int i = 0; i < phases; i += step) {
      std::vector<double> law = deviations.chances(sd, 0.5 * i / (phases - 1));
      if (over == Over::all_phases) {
        const double weight = i == 0 || i == phases - 1 ? 0.5 : 1.0;
        weights += weight;
        for (std::size_t d = 0; d < law.size(); ++d) result[d] += weight * law[d];
      } else {
        std::partial_sum(law.begin(), law.end(), law.begin());
        for (std::size_t d = 0; d < law.size(); ++d) result[d] = std::max(result[d], law[d]);
      }
    }
    if (over == Over::all_phases)
      for (double& chance : result) chance /= weights;
    else
      std::adjacent_difference(result.begin(), result.end(), result.begin());
    return result;
  }

  std::map<std::int64_t, std::int64_t> count_;  ///< groups of each size
  std::int64_t multiple_ = 1;                   ///< of the sizes: pooled sums are whole in units of 1/multiple
  std::int64_t total_ = 0;                      ///< the pooled sum seen, in these units
  double degrees_ = 0.0;
  double seen_ = 0.0;
  bool countable_ = false;
};

/// The σ at which a chance that falls with σ reaches a value.
template <class Chance>
double sd_with(const Chance& chance, double wanted, double guess) {
  double low = guess, high = guess;
  if (chance(guess) >= wanted) {
    do {
      low = high;
      high *= widening;
    } while (chance(high) >= wanted);
  } else {
    do {
      high = low;
      low /= widening;
    } while (chance(low) < wanted);
  }
  return numerics::find_root([&](double sd) { return chance(sd) - wanted; }, low, high, 1e-9);
}

/// Variance of one rounded reading, in squared steps: the least over the phases, or their average.
double variance_of_reading(double sd, Over over) {
  const auto farthest = static_cast<std::int64_t>(std::ceil(reach * sd + 1.0));
  double least = HUGE_VAL, average = 0.0;
  for (int i = 0; i < phases; ++i) {
    double mean = 0.0, square = 0.0;
    for (std::int64_t y = -farthest; y <= farthest; ++y) {
      const double chance = chance_of(y, sd, 0.5 * i / (phases - 1)), reading = static_cast<double>(y);
      mean += chance * reading;
      square += chance * reading * reading;
    }
    const double variance = square - mean * mean;
    least = std::min(least, variance);
    average += variance * (i == 0 || i == phases - 1 ? 0.5 : 1.0) / (phases - 1);
  }
  return over == Over::worst_phase ? least : average;
}

/// The σ whose readings have this variance, which is σ² + 1/12 from a step on.
double sd_of_variance(double variance, Over over) {
  if (variance >= 1.0 + 1.0 / 12.0) return std::sqrt(variance - 1.0 / 12.0);
  return numerics::find_root([&](double sd) { return variance_of_reading(sd, over) - variance; }, 0.01, 1.01, 1e-9);
}

}  // namespace

SdEstimate sd_upper_limit(const std::vector<Sample>& groups, ConfidenceLevel one_sided, WorkBudget budget) {
  if (!(one_sided.value() >= 0.5))
    throw DomainError{"sd_upper_limit: needs a one-sided level of 0.5 or more, got " +
                      std::to_string(one_sided.value())};
  for (std::size_t i = 1; i < groups.size(); ++i) require_one_lattice(groups.front(), groups[i]);
  const PooledDeviations pooled{groups};
  const double nu = pooled.degrees_of_freedom(), seen = pooled.seen();
  if (nu == 0.0)
    throw NoAnswer{
        "sd_upper_limit: no set-up has two shots or more, so nothing shows how shots scatter; fire one set-up at least "
        "twice, better five times"};
  const double step = groups.front().step().value();
  const double variance_of_readings = seen / nu;
  const auto result = [&](double sd, double upper, bool exact) {
    return SdEstimate{.sd = sd * step,
                      .sd_of_readings = std::sqrt(variance_of_readings) * step,
                      .sd_display_corrected = std::sqrt(std::max(0.0, variance_of_readings - 1.0 / 12.0)) * step,
                      .degrees_of_freedom = nu,
                      .upper = upper * step,
                      .level = one_sided,
                      .exact = exact};
  };

  const double miss = one_sided.alpha();
  const double variance = seen / numerics::chi_square_quantile(0.5, nu);
  const double greatest_variance = seen / numerics::chi_square_quantile(miss, nu);
  const auto near = [](double of_readings) { return std::sqrt(std::max(0.1, of_readings - 1.0 / 12.0)); };
  const double guess = near(variance), upper_guess = near(greatest_variance);
  const WorkCost cost = pooled.cost(guess / widening, upper_guess * widening);
  if (pooled.countable() && cost.operations <= budget.operations && cost.bytes <= budget.bytes) {
    const double sd = sd_with([&](double s) { return pooled.chance(s, Over::all_phases); }, 0.5, guess);
    const double upper = sd_with([&](double s) { return pooled.chance(s, Over::worst_phase); }, miss, upper_guess);
    // At a level of ½ the two agree but for the accuracy of their roots.
    return result(sd, std::max(sd, upper), true);
  }
  if (variance < 0.25 + 1.0 / 12.0)
    throw BudgetExceeded{"sd_upper_limit", cost, budget,
                         "Fewer readings, or set-ups with equal numbers of shots, would fit."};
  const double sd = sd_of_variance(variance, Over::all_phases);
  // Below a step the outcomes are coarse: half of what one reading one step off adds to q keeps the limit on the safe
  // side.
  const double raised = sd < 1.0 ? greatest_variance * (1.0 + 0.5 / seen) : greatest_variance;
  return result(sd, std::max(sd, sd_of_variance(raised, Over::worst_phase)), false);
}

}  // namespace shotassay
