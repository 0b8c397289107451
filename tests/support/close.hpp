#pragma once
#include <doctest/doctest.h>

#include <cmath>
#include <ostream>

/// CHECK(x == digits(value, 14)): equal to 14 significant digits, |x − value| ≤ 0.5·10^(1−14)·|value|.
struct digits {
  digits(double expected, int count)
      : value{expected}, tolerance{0.5 * std::pow(10.0, 1 - count) * std::abs(expected)} {}
  double value;
  double tolerance;
  friend bool operator==(double x, const digits& d) { return std::abs(x - d.value) <= d.tolerance; }
  friend std::ostream& operator<<(std::ostream& out, const digits& d) {
    out.precision(17);
    return out << d.value << " ± " << d.tolerance;
  }
};

/// CHECK(x == within(value, 5e-6)): |x − value| ≤ 5e-6.
struct within {
  within(double expected, double distance) : value{expected}, tolerance{distance} {}
  double value;
  double tolerance;
  friend bool operator==(double x, const within& w) { return std::abs(x - w.value) <= w.tolerance * (1 + 1e-9); }
  friend std::ostream& operator<<(std::ostream& out, const within& w) {
    out.precision(17);
    return out << w.value << " ± " << w.tolerance;
  }
};
