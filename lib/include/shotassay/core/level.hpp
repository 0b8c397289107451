#pragma once
#include <string>

#include <shotassay/core/errors.hpp>

namespace shotassay {

/// A confidence level 1 − α, strictly between 0 and 1: 0.95, not 95.
class ConfidenceLevel {
 public:
  explicit ConfidenceLevel(double level) : alpha_{1.0 - level}, level_{level} {
    if (!(level > 0.0 && level < 1.0))
      throw DomainError{"confidence level must lie between 0 and 1, got " + std::to_string(level)};
  }

  /// From the error rate itself: 1 − α loses digits of a small α.
  static ConfidenceLevel from_alpha(double alpha) {
    if (!(alpha > 0.0 && alpha < 1.0))
      throw DomainError{"error rate must lie between 0 and 1, got " + std::to_string(alpha)};
    ConfidenceLevel c{0.5};
    c.alpha_ = alpha;
    c.level_ = 1.0 - alpha;
    return c;
  }

  double value() const { return level_; }
  double alpha() const { return alpha_; }

 private:
  double alpha_;
  double level_;
};

/// The chance that a true gap is found, strictly between 0 and 1.
class Power {
 public:
  explicit Power(double power) : power_{power} {
    if (!(power > 0.0 && power < 1.0))
      throw DomainError{"power must lie between 0 and 1, got " + std::to_string(power)};
  }
  double value() const { return power_; }

 private:
  double power_;
};

}  // namespace shotassay
