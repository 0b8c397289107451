#pragma once
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <optional>
#include <tuple>
#include <vector>

#include "support/samples.hpp"

/// Coverage of an interval for the gap of two averages of rounded normal shots, summed over every outcome.
///
/// Lengths in display steps. What such an interval can see of n readings is their sum, their squared deviations and
/// whether they are tight, so outcomes that agree in these are taken together.
class ExactCoverage {
 public:
  struct Result {
    double average;  ///< over the phases of both means
    double worst;    ///< at the worst pair of phases
  };

  /// `phases`: true means at 0, 1/phases, … steps above a lattice point, for each of the two set-ups.
  ExactCoverage(int n_a, double sd_a, int n_b, double sd_b, int phases) : phases_{phases} {
    for (int i = 0; i < phases; ++i) {
      const double phase = static_cast<double>(i) / phases;
      a_.push_back(outcomes(n_a, sd_a, phase, shapes_a_));
      b_.push_back(outcomes(n_b, sd_b, phase, shapes_b_));
    }
    n_a_ = n_a;
    n_b_ = n_b;
  }

  /// How many products of chances `of` adds up.
  double terms() const {
    double a = 0, b = 0;
    for (const auto& outcomes : a_) a += static_cast<double>(outcomes.size());
    for (const auto& outcomes : b_) b += static_cast<double>(outcomes.size());
    return a * b;
  }

  /// `half_width(a, b)` in steps; absent counts as a miss.
  template <class HalfWidth>
  Result of(const HalfWidth& half_width) const {
    std::vector<double> widths(shapes_a_.size() * shapes_b_.size(), -1.0);
    for (const auto& [key, i] : shapes_a_)
      for (const auto& [other, j] : shapes_b_) {
        const std::optional<double> h = half_width(sample(i.readings), sample(j.readings));
        if (h) widths[i.number * shapes_b_.size() + j.number] = *h;
      }
    double total = 0, worst = 1;
    for (int i = 0; i < phases_; ++i)
      for (int j = 0; j < phases_; ++j) {
        const double truth = static_cast<double>(j - i) / phases_;
        double covered = 0;
        for (const Outcome& x : a_[static_cast<std::size_t>(i)])
          for (const Outcome& y : b_[static_cast<std::size_t>(j)]) {
            const double gap = static_cast<double>(y.sum) / n_b_ - static_cast<double>(x.sum) / n_a_;
            // A limit exactly on the truth covers it; lattice sums differ by far more than 1e-9.
            if (std::abs(gap - truth) <= widths[x.shape * shapes_b_.size() + y.shape] + 1e-9)
              covered += x.chance * y.chance;
          }
        total += covered;
        if (covered < worst) worst = covered;
      }
    return {total / (phases_ * phases_), worst};
  }

 private:
  struct Outcome {
    std::int64_t sum;
    std::size_t shape;
    double chance;
  };
  struct Shape {
    std::size_t number;
    std::vector<std::int64_t> readings;
  };
  using Shapes = std::map<std::tuple<std::int64_t, bool>, Shape>;

  /// Readings beyond 7 SD (chance 3e-12 each) are left out.
  static std::vector<Outcome> outcomes(int n, double sd, double phase, Shapes& shapes) {
    const auto low = static_cast<std::int64_t>(std::floor(phase - 7 * sd));
    const auto high = static_cast<std::int64_t>(std::ceil(phase + 7 * sd));
    const auto below = [&](std::int64_t y) {
      return 0.5 * std::erfc((phase + 0.5 - static_cast<double>(y)) / sd / std::numbers::sqrt2);
    };
    std::map<std::tuple<std::int64_t, std::int64_t, bool>, double> chances;
    std::vector<std::int64_t> readings;
    // Unordered sets: k readings at y take the share C(left, k) of the places that are left.
    const auto descend = [&](const auto& self, std::int64_t y, double chance) -> void {
      const int left = n - static_cast<int>(readings.size());
      if (left == 0) {
        std::int64_t sum = 0, squares = 0;
        for (const auto r : readings) sum += r, squares += r * r;
        const std::int64_t deviations = n * squares - sum * sum;
        const bool tight = readings.back() - readings.front() <= 1;
        chances[{sum, deviations, tight}] += chance;
        shapes.try_emplace({deviations, tight}, Shape{shapes.size(), readings});
        return;
      }
      if (y > high || chance < 1e-17) return;
      const double each = below(y + 1) - below(y);
      for (int k = 0; k <= left; ++k) {
        self(self, y + 1, chance);
        chance *= each * (left - k) / (k + 1);
        readings.push_back(y);
      }
      readings.resize(readings.size() - static_cast<std::size_t>(left) - 1);
    };
    descend(descend, low, 1.0);
    std::vector<Outcome> list;
    for (const auto& [key, chance] : chances) {
      const auto& [sum, deviations, tight] = key;
      list.push_back({sum, shapes.at({deviations, tight}).number, chance});
    }
    return list;
  }

  int phases_;
  double n_a_ = 0, n_b_ = 0;
  Shapes shapes_a_, shapes_b_;
  std::vector<std::vector<Outcome>> a_, b_;
};
