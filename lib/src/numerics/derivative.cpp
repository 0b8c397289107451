#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/derivative.hpp>
#include <string>

namespace shotassay::numerics {

namespace {

constexpr std::size_t levels = 12;

/// Differences at steps h, h/2, …, with the noise that rounding of f leaves in each.
struct Differences {
  std::array<double, levels> value;
  std::array<double, levels> noise;
};

/// The entry of the extrapolation table whose neighbours differ least from it. `first` is by how much the leading
/// error term shrinks at half the step, `next` the same for each further term against the one before.
Derivative extrapolated(const Differences& d, double first, double next) {
  Derivative best{d.value[0], std::numeric_limits<double>::infinity()};
  std::array<double, levels> row{}, before{};
  for (std::size_t i = 0; i < levels; ++i) {
    row[0] = d.value[i];
    double factor = first;
    for (std::size_t k = 1; k <= i; ++k, factor *= next) {
      row[k] = row[k - 1] + (row[k - 1] - before[k - 1]) / (factor - 1.0);
      const double change = std::max(std::abs(row[k] - row[k - 1]), std::abs(row[k] - before[k - 1]));
      const double error = std::max(change, 2.0 * d.noise[i]);
      if (error < best.error) best = {row[k], error};
    }
    before = row;
  }
  return best;
}

}  // namespace

Derivative derivative(const std::function<double(double)>& f, double x, double scale) {
  if (!std::isfinite(x) || !std::isfinite(scale) || !(scale > 0.0))
    throw DomainError{"derivative: needs a finite place and a positive scale, got " + std::to_string(x) + " and " +
                      std::to_string(scale)};
  const double middle = f(x);
  if (!std::isfinite(middle)) throw NoAnswer{"derivative: no finite value at " + std::to_string(x)};
  constexpr double epsilon = std::numeric_limits<double>::epsilon();
  double h = scale;
  for (int halvings = 0; !std::isfinite(f(x + h)) || !std::isfinite(f(x - h)); ++halvings, h *= 0.5)
    if (halvings == 30) throw NoAnswer{"derivative: no finite values on both sides of " + std::to_string(x)};

  Differences central{}, right{}, left{};
  double steepest = 0.0;
  for (std::size_t i = 0; i < levels; ++i, h *= 0.5) {
    // The steps that were really taken: x + h is rounded.
    const double above = x + h, below = x - h;
    const double up = f(above), down = f(below);
    if (!std::isfinite(up) || !std::isfinite(down))
      throw NoAnswer{"derivative: no finite values near " + std::to_string(x)};
    central.value[i] = (up - down) / (above - below);
    right.value[i] = (up - middle) / (above - x);
    left.value[i] = (middle - down) / (x - below);
    const double noise = epsilon * std::max({std::abs(up), std::abs(down), std::abs(middle)}) / h;
    central.noise[i] = right.noise[i] = left.noise[i] = noise;
    steepest = std::max({steepest, std::abs(right.value[i]), std::abs(left.value[i])});
  }
  const Derivative d = extrapolated(central, 4.0, 4.0);
  if (d.error > std::max(1e-3 * steepest, 100.0 * central.noise.front()))
    throw NoAnswer{"derivative: differences do not settle to a slope at " + std::to_string(x)};
  for (const Differences* side : {&right, &left}) {
    const Derivative other = extrapolated(*side, 2.0, 2.0);
    if (std::abs(other.value - d.value) > 10.0 * (d.error + other.error) + 1e-6 * steepest)
      throw NoAnswer{"derivative: a kink or a jump at " + std::to_string(x)};
  }
  return d;
}

}  // namespace shotassay::numerics
