#pragma once
#include <cmath>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/student_t.hpp>
#include <shotassay/numerics/studentized_range.hpp>

namespace shotassay {

/// The set-ups whose pairs are all compared: an error rate α is kept for the whole family of pairs at once.
///
/// With two set-ups the factor is Student's t; with k ≥ 3 it is q(1 − α; k, ν)/√2, the studentised range of
/// Games and Howell [games1976] (each pair has its own ν).
class Family {
 public:
  explicit Family(int setups = 2) : setups_{setups} {
    if (setups < 2) throw DomainError{"a family needs 2 or more set-ups, got " + std::to_string(setups)};
  }

  int setups() const { return setups_; }
  int pairs() const { return setups_ * (setups_ - 1) / 2; }
  bool is_pair() const { return setups_ == 2; }

  /// Factor c with P(|difference| > c·se for some pair) = α.
  double factor(double alpha, double degrees_of_freedom) const {
    if (is_pair()) return numerics::t_two_sided_factor(alpha, degrees_of_freedom);
    return numerics::range_upper_quantile(alpha, setups_, degrees_of_freedom) / std::numbers::sqrt2;
  }

  /// Smallest α whose factor is below |t|: two-sided p of one pair, kept for the family.
  double p_two_sided(double t, double degrees_of_freedom) const {
    if (is_pair()) return 2.0 * numerics::t_upper_tail(std::abs(t), degrees_of_freedom);
    return numerics::range_upper_tail(std::abs(t) * std::numbers::sqrt2, setups_, degrees_of_freedom);
  }

  /// Smallest α whose factor at 2α is below t, t the distance from the interval's centre to the nearer margin in
  /// standard errors; for a pair the one-sided p, for a family 1 when t ≤ 0.
  double p_one_sided(double t, double degrees_of_freedom) const {
    if (is_pair()) return numerics::t_upper_tail(t, degrees_of_freedom);
    return t <= 0.0 ? 1.0 : 0.5 * p_two_sided(t, degrees_of_freedom);
  }

 private:
  int setups_;
};

}  // namespace shotassay
