#pragma once
#include <functional>

namespace shotassay::numerics {

/// Root of a continuous f between two points where its signs differ (TOMS algorithm 748).
///
/// Requires  lower < upper, f(lower) and f(upper) of different sign or zero; else DomainError.
/// Accuracy  the bracket is narrowed until it is shorter than `relative_tolerance` times its ends.
double find_root(const std::function<double(double)>& f, double lower, double upper, double relative_tolerance = 1e-13);

}  // namespace shotassay::numerics
