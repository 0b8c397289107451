#pragma once
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include <shotassay/core/decimal.hpp>
#include <shotassay/core/errors.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/wide_integer.hpp>

namespace shotassay {

/// A divisor C of the trade's formulas E = m·v²/C and p = m·v/C; grains, fps, ft·lbf or slug·ft/s.
struct TradeConstant {
  std::int64_t numerator;
  std::int64_t denominator;

  double value() const { return ratio(numerator, denominator); }

  friend bool operator==(const TradeConstant&, const TradeConstant&) = default;
};

/// 2·7000·g with g = 9.80665/0.3048 ft/s², as a fraction.
inline constexpr TradeConstant exact_energy_constant{171'616'375, 381};
inline constexpr TradeConstant exact_momentum_constant{171'616'375, 762};

/// Divisors met in the trade, the exact one first; they stand for g = 32.17405, 32.174, 32.17, 32.16 and 32.2 ft/s².
/// The last is "divide by 7000, then by 32" (and by 2): 0.54 % more.
inline constexpr std::array<TradeConstant, 7> energy_constants{
    {exact_energy_constant, {450'437, 1}, {450'436, 1}, {450'380, 1}, {450'240, 1}, {450'800, 1}, {448'000, 1}}};
inline constexpr std::array<TradeConstant, 5> momentum_constants{
    {exact_momentum_constant, {225'218, 1}, {225'120, 1}, {225'400, 1}, {224'000, 1}}};

/// What stands behind a printed energy or momentum.
enum class FigureVerdict {
  reproduced,           ///< by the exact constant
  same_other_rounding,  ///< within ±0.1 % of it: another constant, or rounding on the way
  cut_off,              ///< by the exact constant, the digits beyond those printed cut off instead of rounded
  other_constant,       ///< none of these, but a constant met in the trade gives it
  not_reproduced        ///< cannot be reproduced from the figures given
};

/// Can this constant give the printed figure?
struct ConstantFit {
  TradeConstant constant;
  bool as_printed;       ///< from mass and speed just as printed
  bool within_rounding;  ///< from some mass and speed that print so
};

struct FigureCheck {
  FigureVerdict verdict;
  double exact;                   ///< of mass and speed as printed, by the exact constant
  double relative_deviation;      ///< printed/exact − 1
  Interval possible;              ///< by the exact constant, of every mass and speed that print so
  Interval constant;              ///< the divisors that can stand behind the three printed figures
  std::vector<ConstantFit> fits;  ///< of every constant met in the trade, the exact one first
};

/// An arrow as printed: 350 gr, 281.3 fps.
struct PrintedArrow {
  Decimal mass;   ///< gr
  Decimal speed;  ///< fps
};

/// Can a printed energy come from the printed mass and speed, and by which of the trade's constants?
///
///   E·C = m·v²,   each printed x standing for [x − u/2, x + u/2], u one unit of its last decimal, both ends included
///
/// since nobody knows which way a tie went. Compared in whole numbers, without rounding of ours. The 0.1 % of
/// `same_other_rounding` spans the constants that differ in g alone; it matters to nobody beside a speed known to 1
/// fps. Units     gr, fps; ft·lbf. Requires  positive figures, 4 decimals or fewer; at most 8 digits of the mass, 7 of
/// the speed, 9 of the energy; else
///           DomainError.
/// Source    1 lb = 7000 gr = 0.45359237 kg, 1 ft = 0.3048 m (1959), g = 9.80665 m/s² (CGPM 1901): exact by definition
/// [nist-sp811].
FigureCheck energy_check(const PrintedArrow& arrow, Decimal energy);

/// The same for momentum, p·C = m·v in slug·ft/s.
FigureCheck momentum_check(const PrintedArrow& arrow, Decimal momentum);

// ---- computation ----

namespace detail {

struct WideRange {
  WideInteger lower, upper;

  WideRange times(WideInteger factor) const { return {lower * factor, upper * factor}; }
};

/// figure·C = m·v^k with every printed number doubled and without its point, so that half a unit is a whole 1:
/// m·v^k = product/scale.
class FigureEquation {
 public:
  FigureEquation(const PrintedArrow& arrow, Decimal figure, int power, const char* what) {
    require(arrow.mass, 8, "arrow mass");
    require(arrow.speed, 7, "speed");
    require(figure, 9, what);
    constexpr WideInteger two = 2;
    const WideInteger mass = two * arrow.mass.coefficient(), speed = two * arrow.speed.coefficient();
    const auto product = [&](int shift) {
      return (mass + shift) * (speed + shift) * (power == 2 ? speed + shift : WideInteger{1});
    };
    as_printed_ = product(0);
    every_ = {product(-1), product(1)};
    scale_ = WideInteger{Decimal::power_of_ten(arrow.mass.decimals() + power * arrow.speed.decimals())} << (1 + power);
    figure_ = two * figure.coefficient();
    figure_scale_ = two * Decimal::power_of_ten(figure.decimals());
  }

  bool as_printed(TradeConstant c) const { return meets({as_printed_, as_printed_}, rounded(), c); }
  bool within_rounding(TradeConstant c) const { return meets(every_, rounded(), c); }
  bool cut_off(TradeConstant c) const { return meets(every_, {figure_, figure_ + 2}, c); }
  /// Some value less than a thousandth off one of the possible ones prints as the figure.
  bool nearly(TradeConstant c) const {
    return meets({999 * every_.lower, 1001 * every_.upper}, rounded().times(1000), c);
  }

  double exact(TradeConstant c) const { return value(as_printed_, c); }
  Interval possible(TradeConstant c) const { return {value(every_.lower, c), value(every_.upper, c)}; }
  double relative_deviation(TradeConstant c) const {
    const WideInteger exact = as_printed_ * figure_scale_ * c.denominator;
    return ratio(figure_ * scale_ * c.numerator - exact, exact);
  }
  Interval constant() const {
    const WideRange product = every_.times(figure_scale_), figures = rounded().times(scale_);
    return {ratio(product.lower, figures.upper), ratio(product.upper, figures.lower)};
  }

 private:
  static void require(Decimal x, int digits, const char* what) {
    if (x.coefficient() <= 0 || x.decimals() > 4 || x.coefficient() >= Decimal::power_of_ten(digits))
      throw DomainError{std::string{"energy_check: "} + what + " must be positive, with at most " +
                        std::to_string(digits) + " digits and 4 decimals, got " + x.text()};
  }

  WideRange rounded() const { return {figure_ - 1, figure_ + 1}; }

  bool meets(WideRange product, WideRange figures, TradeConstant c) const {
    const WideRange left = product.times(figure_scale_ * c.denominator), right = figures.times(scale_ * c.numerator);
    return left.lower <= right.upper && left.upper >= right.lower;
  }

  double value(WideInteger product, TradeConstant c) const {
    return ratio(product * c.denominator, scale_ * c.numerator);
  }

  WideInteger as_printed_, scale_, figure_, figure_scale_;
  WideRange every_;
};

inline FigureCheck figure_check(const FigureEquation& equation, std::span<const TradeConstant> constants) {
  const TradeConstant exact = constants.front();
  FigureCheck check{.verdict = FigureVerdict::not_reproduced,
                    .exact = equation.exact(exact),
                    .relative_deviation = equation.relative_deviation(exact),
                    .possible = equation.possible(exact),
                    .constant = equation.constant(),
                    .fits = {}};
  bool any = false;
  for (const TradeConstant& c : constants) {
    check.fits.push_back({c, equation.as_printed(c), equation.within_rounding(c)});
    any = any || check.fits.back().within_rounding;
  }
  if (check.fits.front().within_rounding)
    check.verdict = FigureVerdict::reproduced;
  else if (equation.nearly(exact))
    check.verdict = FigureVerdict::same_other_rounding;
  else if (equation.cut_off(exact))
    check.verdict = FigureVerdict::cut_off;
  else if (any)
    check.verdict = FigureVerdict::other_constant;
  return check;
}

}  // namespace detail

inline FigureCheck energy_check(const PrintedArrow& arrow, Decimal energy) {
  return detail::figure_check({arrow, energy, 2, "kinetic energy"}, energy_constants);
}

inline FigureCheck momentum_check(const PrintedArrow& arrow, Decimal momentum) {
  return detail::figure_check({arrow, momentum, 1, "momentum"}, momentum_constants);
}

}  // namespace shotassay
