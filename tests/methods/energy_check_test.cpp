#include <shotassay/methods/energy_check.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <shotassay/core/named_quantity.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;

namespace {

Decimal printed(const char* text) { return Decimal::parse(text).value(); }

FigureCheck energy(const char* mass, const char* speed, const char* figure) {
  return energy_check({.mass = printed(mass), .speed = printed(speed)}, printed(figure));
}
FigureCheck momentum(const char* mass, const char* speed, const char* figure) {
  return momentum_check({.mass = printed(mass), .speed = printed(speed)}, printed(figure));
}

/// The numerators of those constants that give the figure from mass and speed just as printed.
std::vector<std::int64_t> as_printed(const FigureCheck& check) {
  std::vector<std::int64_t> found;
  for (const ConstantFit& fit : check.fits)
    if (fit.as_printed) found.push_back(fit.constant.numerator);
  return found;
}

using Numerators = std::vector<std::int64_t>;
constexpr std::int64_t exact_numerator = 171'616'375;

std::string message(auto ask) {
  try {
    ask();
  } catch (const DomainError& e) {
    return e.what();
  }
  return {};
}

}  // namespace

TEST_CASE("energy_check: the exact constants are those of the definitions") {
  // 2·7000·9.80665/0.3048 = 14000·980665/30480 = 171616375/381
  CHECK(std::int64_t{14'000} * 980'665 * 381 == std::int64_t{171'616'375} * 30'480);
  const Published check{"kinetic-exact"};
  CHECK(exact_energy_constant.value() == check.expected("ke_const"));
  CHECK(exact_momentum_constant.value() == check.expected("mom_const"));
  CHECK(exact_energy_constant.value() == digits(kinetic_energy_divisor, 15));
  CHECK(exact_momentum_constant.value() == digits(momentum_divisor, 15));
  CHECK(energy_constants.front() == exact_energy_constant);
  CHECK(momentum_constants.front() == exact_momentum_constant);
}

TEST_CASE("energy_check: the worked arrows of the trade are reproduced, in energy and in momentum") {
  const Published check{"kinetic-exact"};
  struct Arrow {
    const char *mass, *speed, *energy, *momentum, *name;
  };
  for (const Arrow& a : {Arrow{"350", "300", "69.93", "0.4662", "1"}, Arrow{"350", "335", "87.20", "0.5206", "2"},
                         Arrow{"540", "240", "69.05", "0.5754", "3"}, Arrow{"350", "190", "28.05", "0.2953", "4"}}) {
    CAPTURE(a.energy);
    const auto e = energy(a.mass, a.speed, a.energy);
    CHECK(e.verdict == FigureVerdict::reproduced);
    CHECK(e.fits.front().as_printed);
    CHECK(e.exact == check.expected(std::string{"ftlbf_"} + a.name));
    CHECK(e.relative_deviation == within(printed(a.energy).value() / e.exact - 1, 1e-15));
    const auto p = momentum(a.mass, a.speed, a.momentum);
    CHECK(p.verdict == FigureVerdict::reproduced);
    CHECK(p.fits.front().as_printed);
    CHECK(p.exact == check.expected(std::string{"slugfts_"} + a.name));
  }
}

TEST_CASE("energy_check: the constant in use shows in the decimals") {
  // 350·300² = 31 500 000, by 450240, 450380, 450436, 450437, 450800, 448000:
  // 69.96268657, 69.94093876, 69.93224343, 69.93208817, 69.87577640, 70.3125; exactly 69.93213789
  CHECK(as_printed(energy("350", "300", "69.9627")) == Numerators{450'240});
  CHECK(as_printed(energy("350", "300", "69.9409")) == Numerators{450'380});
  CHECK(as_printed(energy("350", "300", "69.9322")) == Numerators{450'436});
  CHECK(as_printed(energy("350", "300", "69.9321")) == Numerators{exact_numerator, 450'437});
  CHECK(as_printed(energy("350", "300", "69.88")) == Numerators{450'800});
  CHECK(as_printed(energy("350", "300", "70.31")) == Numerators{448'000});
  CHECK(as_printed(energy("350", "300", "69.93")) == Numerators{exact_numerator, 450'437, 450'436});
  CHECK(as_printed(energy("350", "300", "70.1")).empty());
  // 350·300 = 105 000, by 225218, 225120, 225400, 224000: 0.46621496, 0.46641791, 0.46583851, 0.46875
  CHECK(as_printed(momentum("350", "300", "0.4662")) == Numerators{exact_numerator, 225'218});
  CHECK(as_printed(momentum("350", "300", "0.4664")) == Numerators{225'120});
  CHECK(as_printed(momentum("350", "300", "0.4658")) == Numerators{225'400});
  CHECK(as_printed(momentum("350", "300", "0.4688")) == Numerators{224'000});  // 0.46875: a tie, rounded up
  CHECK(as_printed(momentum("350", "300", "0.4687")) == Numerators{224'000});  // and down
}

TEST_CASE("energy_check: a whole speed leaves room for every constant that differs in g alone") {
  // 350 ± ½ gr at 300 ± ½ fps: 69.60 to 70.27 ft·lbf
  const auto check = energy("350", "300", "69.96");
  CHECK(check.verdict == FigureVerdict::reproduced);
  CHECK(check.possible.lower == digits(349.5 * 299.5 * 299.5 * 381 / 171'616'375, 14));
  CHECK(check.possible.upper == digits(350.5 * 300.5 * 300.5 * 381 / 171'616'375, 14));
  CHECK(check.constant.lower == digits(349.5 * 299.5 * 299.5 / 69.965, 14));
  CHECK(check.constant.upper == digits(350.5 * 300.5 * 300.5 / 69.955, 14));
  for (const ConstantFit& fit : check.fits) {
    CAPTURE(fit.constant.numerator);
    CHECK(fit.within_rounding == check.constant.contains(fit.constant.value()));
  }
}

TEST_CASE("energy_check: both ends of a printed figure are in, whichever way a tie is rounded") {
  // 448 gr at 100.0 fps by 448000 are 10 exactly; at mass and speed with many decimals only the energy's rounding is
  // left.
  const auto fit = [](const char* figure) { return energy("448.0500", "100.0000", figure).fits.back(); };
  CHECK(fit("10.00").as_printed);  // 10.00111…
  // m·v²/448000 = 10.005 exactly at 448.224 gr: a tie for 10.00 and 10.01
  const auto tie = [](const char* figure) { return energy("448.224", "100", figure).fits.back().as_printed; };
  CHECK(tie("10.00"));
  CHECK(tie("10.01"));
  CHECK(!tie("9.99"));
  CHECK(!tie("10.02"));
  // One unit of the last decimal of the mass more, and the lower figure is out.
  CHECK(!energy("448.225", "100", "10.00").fits.back().as_printed);
  // A mass printed 448 may be 447.5: 447.5·100²/450436.68 = 9.9348; with the speed fixed to 4 decimals 9.93 prints so.
  CHECK(energy("448", "100.0000", "9.93").verdict == FigureVerdict::reproduced);
  CHECK(energy("448.0000", "100.0000", "9.93").verdict != FigureVerdict::reproduced);
}

TEST_CASE("energy_check: within 0.1 % it is the same figure, rounded otherwise") {
  // Mass and speed to 4 decimals: exactly 69.93213789 ± 0.00007, a thousandth of it 0.06993
  const auto of = [](const char* figure) { return energy("350.0000", "300.0000", figure).verdict; };
  CHECK(of("69.9321") == FigureVerdict::reproduced);
  CHECK(of("69.9627") == FigureVerdict::same_other_rounding);  // 450240
  CHECK(of("69.8758") == FigureVerdict::same_other_rounding);  // 450800
  CHECK(of("70.0020") == FigureVerdict::same_other_rounding);  // 69.93213789 · 1.001 = 70.00207
  CHECK(of("70.0030") == FigureVerdict::not_reproduced);
  CHECK(of("69.8623") == FigureVerdict::same_other_rounding);  // 69.93213789 · 0.999 = 69.86221
  CHECK(of("69.8615") == FigureVerdict::not_reproduced);
  // The printed decimals count too: a whole 70 stands for 69.5 to 70.5.
  CHECK(of("70") == FigureVerdict::reproduced);
}

TEST_CASE("energy_check: cut-off decimals and division by 32 are told from a figure that cannot be reproduced") {
  const auto cut = energy("350.0", "300.0", "69");  // 69.93 cut off; rounded it would be 70
  CHECK(cut.verdict == FigureVerdict::cut_off);
  CHECK(!cut.fits.front().within_rounding);
  const auto by32 = energy("350.0", "300.0", "70.31");
  CHECK(by32.verdict == FigureVerdict::other_constant);
  CHECK(by32.relative_deviation == digits(70.31 / 69.93213788602633 - 1, 10));
  for (const ConstantFit& fit : by32.fits) CHECK(fit.within_rounding == (fit.constant.numerator == 448'000));
  const auto wrong = energy("350", "300", "75.0");
  CHECK(wrong.verdict == FigureVerdict::not_reproduced);
  for (const ConstantFit& fit : wrong.fits) CHECK(!(fit.as_printed || fit.within_rounding));
  CHECK(momentum("350.0", "300.0", "0.4688").verdict == FigureVerdict::other_constant);
  CHECK(momentum("350.0", "300.0", "0.46").verdict == FigureVerdict::cut_off);
  CHECK(momentum("350.0", "300.0", "0.40").verdict == FigureVerdict::not_reproduced);
}

TEST_CASE("energy_check: no figure that somebody can have computed and rounded is called impossible") {
  // Every arrow on a grid finer than what is printed, its energy by each constant rounded or cut to two decimals.
  for (int mass = 3480; mass <= 3520; mass += 3)
    for (int speed = 2890; speed <= 2910; ++speed)
      for (const TradeConstant& c : energy_constants) {
        const double e = mass / 10.0 * (speed / 10.0) * (speed / 10.0) / c.value();
        const PrintedArrow arrow{.mass = Decimal{(mass + 5) / 10, 0}, .speed = Decimal{(speed + 5) / 10, 0}};
        for (const double hundredths : {std::round(100 * e), std::floor(100 * e)}) {
          const auto check = energy_check(arrow, Decimal{static_cast<std::int64_t>(hundredths), 2});
          CHECK(check.verdict != FigureVerdict::not_reproduced);
        }
        const auto check = energy_check(arrow, Decimal{std::llround(100 * e), 2});
        bool found = false;
        for (const ConstantFit& fit : check.fits) found = found || (fit.constant == c && fit.within_rounding);
        CHECK(found);
      }
}

TEST_CASE("energy_check: the largest figures allowed do not overflow") {
  const auto check = energy("9999.9999", "999.9999", "99999.9999");
  CHECK(check.exact == digits(9999.9999 * 999.9999 * 999.9999 / (171'616'375.0 / 381), 14));
  CHECK(check.verdict == FigureVerdict::not_reproduced);
  const auto large = energy("99999999", "9999999", "999999999");
  CHECK(large.exact == digits(99999999.0 * 9999999.0 * 9999999.0 / (171'616'375.0 / 381), 14));
  CHECK(large.verdict == FigureVerdict::not_reproduced);
  CHECK(momentum("99999999", "9999999", "0.0001").verdict == FigureVerdict::not_reproduced);
  CHECK(energy("0.0001", "0.0001", "99999.9999").verdict == FigureVerdict::not_reproduced);
}

TEST_CASE("energy_check: figures that are not positive or too long are refused") {
  const std::string mass = "energy_check: arrow mass must be positive, with at most 8 digits and 4 decimals, got ";
  CHECK(message([] { energy("0", "300", "70"); }) == mass + "0");
  CHECK(message([] { energy("-350", "300", "70"); }) == mass + "-350");
  CHECK(message([] { energy("100000000", "300", "70"); }) == mass + "100000000");
  CHECK(message([] { energy("350.00000", "300", "70"); }) == mass + "350.00000");
  CHECK(message([] { energy("350", "10000000", "70"); }) ==
        "energy_check: speed must be positive, with at most 7 digits and 4 decimals, got 10000000");
  CHECK(message([] { energy("350", "300", "0.0"); }) ==
        "energy_check: kinetic energy must be positive, with at most 9 digits and 4 decimals, got 0.0");
  CHECK(message([] { momentum("350", "300", "0"); }) ==
        "energy_check: momentum must be positive, with at most 9 digits and 4 decimals, got 0");
}
