#pragma once
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/core/sample.hpp>
#include <shotassay/core/unit.hpp>

namespace shotassay::narrative {

/// Speeds of one sheet as they are written in an answer: converted, with one decimal more than the display shows, and
/// with more where a speed that is not 0 would be written as 0.
class SpeedWords {
 public:
  SpeedWords(DisplayStep step, SpeedUnit sheet, SpeedUnit printed);

  /// The same with enough decimals to show a half-width: with a million shots one decimal shows nothing of it.
  SpeedWords fine_enough_for(double half_width) const;

  double converted(double speed) const { return speed * factor_; }
  double step() const { return step_; }  ///< display step in the unit printed
  int decimals() const { return decimals_; }
  std::string unit() const { return std::string{name(unit_)}; }

  std::string bare(double speed) const;                ///< "193.4"
  std::string bare(double speed, int decimals) const;  ///< a given number of decimals
  std::string with_unit(double speed) const;           ///< "193.4 fps"
  std::string signed_bare(double gap) const;           ///< "+3.4", "−3.4", "0.0"
  std::string as_typed(double speed) const;            ///< shortest: a margin of 3 is "3 fps", not "3.0 fps"

  /// A limit of an interval: as many decimals as it takes to stay on its side of 0 and of ±margin, and no "0.0" for a
  /// limit that is not 0. "no finite limit" for an infinite one.
  std::string limit(double limit, std::optional<double> margin) const;
  /// The same with a sign before a limit above 0.
  std::string signed_limit(double limit, std::optional<double> margin) const;
  /// "from −5.3 to +2.1 fps"
  std::string range(const Interval& interval, std::optional<double> margin) const;
  /// "3.4 fps faster than with A, give or take 1.2 fps": both with as many decimals as it takes for their difference
  /// and their sum to stay on their sides of 0 and of the margin. Sizes; `half_width` finite.
  std::string give_or_take(double gap, double half_width, std::optional<double> margin,
                           const std::string& between) const;
  /// "5.3 fps slower", "2.1 fps faster", "no gap at all"
  std::string side(double limit, std::optional<double> margin) const;

 private:
  double factor_;
  double step_;
  int decimals_;
  SpeedUnit unit_;
};

/// Fixed decimals, no locale; a true minus sign; never "−0.0".
std::string fixed(double x, int decimals);

/// A level as a shop customer says it: "19 of 20", "9 of 10", "99 of 100"; "97.33 % of" where no small fraction says
/// it.
std::string of_tests(double probability);
/// "8 times in 10"; "in 97.33 % of tests"
std::string times(double probability);

/// "95 %"
std::string percent(double share);

/// A share of tests, without digits nobody needs: "81 %", "99.7 %", "more than 99.9 %", "less than 0.1 %".
std::string percent_of_tests(double share);

/// A p-value: three decimals, four for a small one, "below 0.0001" under that.
std::string p_text(double p);

/// "1 shot", "5 shots"
std::string counted(std::size_t n, const std::string& noun);

/// "a", "a and b", "a, b and c"
std::string listed(const std::vector<std::string>& items);

}  // namespace shotassay::narrative
