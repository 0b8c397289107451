#pragma once
#include <cstddef>
#include <limits>
#include <string>

namespace shotassay {

/// How a standard uncertainty was come by: from the scatter of readings (A), or from other knowledge (B).
enum class Evaluation { type_a, type_b };

/// What is known of a quantity beyond estimate and standard uncertainty u: the shape of its distribution.
///
/// A half-width a means u = a/√3 (rectangular), a/√6 (triangular), a/√2 (arcsine, the U-shaped one).
enum class InputShape { normal, rectangular, triangular, arcsine, t };

/// One input of a measurement: a quantity known with a standard uncertainty.
struct UncertainInput {
  std::string name{};
  double estimate = 0.0;
  double standard_uncertainty = 0.0;  ///< 0 = exact; of a `t` its scale, s/√n for the average of n readings
  double degrees_of_freedom = std::numeric_limits<double>::infinity();
  Evaluation evaluation = Evaluation::type_b;
  InputShape shape = InputShape::normal;
};

/// Two inputs that err together.
struct Correlation {
  std::size_t first;   ///< index of an input
  std::size_t second;  ///< of another
  double coefficient;  ///< −1 to 1
  /// Both are averages of readings taken in pairs, and the coefficient comes from these pairs.
  bool simultaneous = false;
};

}  // namespace shotassay
