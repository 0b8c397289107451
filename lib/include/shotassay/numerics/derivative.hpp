#pragma once
#include <functional>

namespace shotassay::numerics {

struct Derivative {
  double value;
  double error;  ///< as estimated from the two ways it was found
};

/// f′(x) by differences at `scale`, half of it, a quarter, … extrapolated to 0, in two ways that must agree.
///
///   central   (f(x + h) − f(x − h)) / 2h, whose error is a series in h²
///   one-sided (f(x ± h) − f(x)) / ±h, whose error is a series in h, on either side
///
/// The central value is returned. Where a side disagrees with it by more than their errors and 1e-6 of the steepest
/// slope seen, f has a kink or a jump at x. Where f is not finite at x ± scale, the first step is shortened.
///
/// Requires  x finite, scale > 0 and finite; else DomainError. f(x) not finite, no finite f near x on one of the
///           sides, or a kink: NoAnswer.
/// Accuracy  about 1e-10 of |f(x)|/scale or of the slope, for f smooth within a few scales of x.
/// Source    extrapolation after Richardson [richardson1911] with Ridders' choice of the entry [ridders1982].
Derivative derivative(const std::function<double(double)>& f, double x, double scale);

}  // namespace shotassay::numerics
