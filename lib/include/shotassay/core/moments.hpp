#pragma once
#include <cmath>
#include <cstddef>
#include <cstdint>

#include <shotassay/core/sample.hpp>
#include <shotassay/core/wide_integer.hpp>

namespace shotassay {

/// Exact sums of a sample, in display steps. `offset` (the lowest reading) is taken off each reading first.
struct Moments {
  std::int64_t n = 0;
  std::int64_t offset = 0;
  WideInteger sum = 0;      ///< Σ(x − offset)
  WideInteger squares = 0;  ///< Σ(x − offset)²

  WideInteger total() const { return sum + WideInteger{n} * offset; }

  /// n·Σ(x − x̄)² = nQ − S², a whole number.
  WideInteger scaled_deviations() const { return WideInteger{n} * squares - sum * sum; }

  /// Mean in steps.
  double mean() const { return ratio(total(), n); }

  /// Variance in steps², divisor n − 1.   Requires  n ≥ 2.
  double variance() const { return ratio(scaled_deviations(), WideInteger{n} * (n - 1)); }
};

inline Moments moments(const Sample& sample) {
  Moments m{.n = static_cast<std::int64_t>(sample.size()), .offset = sample.low()};
  for (const std::int64_t x : sample.steps()) {
    const WideInteger d = WideInteger{x} - m.offset;
    m.sum += d;
    m.squares += d * d;
  }
  return m;
}

/// n·Σ(x − x̄)(y − ȳ), a whole number of products of steps: y[i] was taken together with x[i].
///
/// Requires  samples of one size whose moments these are.
inline WideInteger scaled_products(const Sample& x, const Moments& of_x, const Sample& y, const Moments& of_y) {
  WideInteger products = 0;
  for (std::size_t i = 0; i < x.size(); ++i)
    products += (WideInteger{x.steps()[i]} - of_x.offset) * (WideInteger{y.steps()[i]} - of_y.offset);
  return WideInteger{of_x.n} * products - of_x.sum * of_y.sum;
}

/// mean(b) − mean(a) in steps, from whole numbers.
inline double mean_difference(const Moments& a, const Moments& b) {
  return ratio(b.total() * a.n - a.total() * b.n, WideInteger{a.n} * b.n);
}

}  // namespace shotassay
