#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <utility>
#include <vector>

#include <shotassay/methods/welch_power.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"
#include "support/published.hpp"
#include "support/table.hpp"

using namespace shotassay;

namespace {

/// Critical value of the pooled test, the same whatever the split of the variances: with equal n its statistic is
/// Welch's, so a fixed factor turns the quadrature into the pooled test's power, which others print.
struct FixedFactor {
  double value;
  double operator()(double) const { return value; }
};

}  // namespace

TEST_CASE("welch_power: 3 + 5 shots, SD 1.5 and 3, gap 4 agree with the two quadratures on record") {
  const Published check{"power-welch-3-5"};
  const auto sd = check.numbers("sigma");
  const GroupDesign a{3, sd[0]}, b{5, sd[1]};
  const auto r = welch_power(check.number("delta"), a, b, ConfidenceLevel::from_alpha(check.number("alpha")));
  CHECK(r.power == check.expected("power"));
  CHECK(r.power == check.expected("power_simulated"));
  CHECK(r.error_estimate < 1e-9);
}

TEST_CASE("welch_power: random designs agree with R's integral of the noncentral t") {
  // Rscript power_welch_tost.R --seed=1 --n=16 (R 4.2.2); aimed at 1e-8 or better, size at gap 0.
  struct Case {
    GroupDesign a, b;
    double gap, alpha, two_sided, one_sided, size;
  };
  // clang-format off
  const std::vector<Case> cases = {
      {{10, 1.6455388524969734}, {5, 0.7605135159758055}, 5.39033810980618, 0.1, 0.9999999999543975, 0.9999999999992003, 0.09698878856038332},
      {{6, 1.4074637118283568}, {6, 3.933240176081571}, 2.280211076606065, 0.1, 0.32939819850982044, 0.4862254830709524, 0.10130934266317658},
      {{6, 1.0146955957230515}, {6, 1.7395298991146504}, 2.9612478422932327, 0.1, 0.9452932173633838, 0.9822975551638179, 0.09802657765242913},
      {{7, 1.5043692689276247}, {5, 0.5248560160177063}, 2.8633803902193904, 0.01, 0.8427778692500668, 0.9227455645782678, 0.010051862085759077},
      {{8, 1.470088276844252}, {9, 1.1651296997624712}, 5.477255545556545, 0.05, 0.9999999931242055, 0.9999999997883013, 0.048696788787009906},
      {{3, 1.012006680423989}, {7, 1.0281497921346987}, 2.002649584785104, 0.1, 0.7319986973706174, 0.8799809870391823, 0.10331434727103364},
      {{9, 0.9835405612452963}, {8, 0.7621129659273826}, 4.266727334819734, 0.01, 0.9999999991928816, 0.9999999999728315, 0.009155001575568325},
      {{7, 1.8666866789619831}, {2, 1.8666866789619831}, 0.7762340884655714, 0.05, 0.10588464521436182, 0.13498987738475982, 0.0833706841658727},
      {{3, 2.214065953397393}, {11, 2.214065953397393}, 2.6777060916647315, 0.05, 0.31657781274552216, 0.44824687629396576, 0.06620931994895195},
      {{3, 1.7256453413532804}, {11, 0.5869026554944642}, 0.213243477512151, 0.1, 0.1186451110405425, 0.13883955452945826, 0.11452453235310567},
      {{8, 2.2782544257619235}, {9, 0.7196564718541142}, 4.4801896177232265, 0.01, 0.9418074148622334, 0.9778406090335389, 0.01132351585559022},
      {{7, 0.8908582493909862}, {7, 0.8908582493909862}, 1.70874288585037, 0.01, 0.669495359336309, 0.7854828459889579, 0.008694038931893066},
      {{8, 2.8715778251937616}, {4, 1.1282430120992233}, 2.282963313627988, 0.05, 0.4126141387318727, 0.563793196534688, 0.04667259165402355},
      {{12, 0.7410181925534558}, {8, 2.255577220371608}, 5.662348909769207, 0.1, 0.9999966309812091, 0.9999998689777085, 0.10133703404844191},
      {{2, 2.546567593138566}, {8, 2.546567593138566}, 1.3118717093020678, 0.01, 0.054570458845689625, 0.07120776185657902, 0.03434425870793817},
      {{12, 2.4447180163868745}, {4, 2.7432841510595893}, 1.8497539842501283, 0.1, 0.282628822082795, 0.42707783196617466, 0.10668774120732251},
  };
  // clang-format on
  REQUIRE(cases.size() == 16);
  for (const auto& c : cases) {
    CAPTURE(c.a.shots);
    CAPTURE(c.b.shots);
    const auto level = ConfidenceLevel::from_alpha(c.alpha);
    CHECK(welch_power(c.gap, c.a, c.b, level).power == within(c.two_sided, 1e-8));
    CHECK(welch_power(c.gap, c.a, c.b, level, Sides::one).power == within(c.one_sided, 1e-8));
    CHECK(welch_power(0.0, c.a, c.b, level).power == within(c.size, 1e-8));
  }
}

TEST_CASE("welch_equivalence_power: random designs agree with R's double integral") {
  // Rscript power_welch_tost.R --seed=1 --n=16: two one-sided tests at alpha, hence an interval of level 1 − 2·alpha.
  struct Case {
    GroupDesign a, b;
    double gap, margin, alpha, power;
  };
  // clang-format off
  const std::vector<Case> cases = {
      {{10, 1.6455388524969734}, {5, 0.7605135159758055}, 0.17580639036235893, 1.7070688501074374, 0.1, 0.8117835810645282},
      {{6, 1.4074637118283568}, {6, 3.933240176081571}, 0.6476694148649855, 10.316895700745235, 0.1, 0.9999535845026591},
      {{6, 1.0146955957230515}, {6, 1.7395298991146504}, 0.8938311529371686, 2.470133021554394, 0.1, 0.6949981003858808},
      {{7, 1.5043692689276247}, {5, 0.5248560160177063}, 0.97323815372156, 4.443024789130011, 0.01, 0.9846975279163684},
      {{8, 1.470088276844252}, {9, 1.1651296997624712}, 0.5059838510492897, 3.92210033504512, 0.05, 0.9995252763350067},
      {{3, 1.012006680423989}, {7, 1.0281497921346987}, 1.2501665409743137, 3.21660427375228, 0.1, 0.871354483231909},
      {{9, 0.9835405612452963}, {8, 0.7621129659273826}, 0.3720551129992838, 1.1585300153224312, 0.01, 0.14285761938607772},
      {{7, 1.8666866789619831}, {2, 1.8666866789619831}, 4.30795604425939, 11.773709007127803, 0.05, 0.7803666508958196},
      {{3, 2.214065953397393}, {11, 2.214065953397393}, 0.6393577283497887, 7.3725682813982765, 0.05, 0.9330820260312415},
      {{3, 1.7256453413532804}, {11, 0.5869026554944642}, 1.4747067611842763, 5.606954516432829, 0.1, 0.9634715056677295},
      {{8, 2.2782544257619235}, {9, 0.7196564718541142}, 0.7626554801880123, 4.639343628595218, 0.01, 0.9251018281679169},
      {{7, 0.8908582493909862}, {7, 0.8908582493909862}, 0.7211342024042514, 3.4911253604444967, 0.01, 0.9965997223718502},
      {{8, 2.8715778251937616}, {4, 1.1282430120992233}, 1.2720379849797516, 8.661269283368096, 0.05, 0.999985786236066},
      {{12, 0.7410181925534558}, {8, 2.255577220371608}, 1.1350118787281156, 2.447987323000236, 0.1, 0.5868132520779547},
      {{2, 2.546567593138566}, {8, 2.546567593138566}, 3.004774025149415, 10.678269840885944, 0.01, 0.43994953205196513},
      {{12, 2.4447180163868745}, {4, 2.7432841510595893}, 0.8712761203301841, 6.638949037230384, 0.1, 0.9775705931737225},
  };
  // clang-format on
  REQUIRE(cases.size() == 16);
  for (const auto& c : cases) {
    CAPTURE(c.a.shots);
    CAPTURE(c.b.shots);
    const auto r = welch_equivalence_power(c.gap, c.margin, c.a, c.b, ConfidenceLevel::from_alpha(2.0 * c.alpha));
    CHECK(r.power == within(c.power, 1e-8));
    CHECK(r.error_estimate < 1.2e-9);
  }
}

TEST_CASE("welch_power: groups of two and three agree with a sum over two separate chi-squares") {
  // Python, NumPy 1.24 and SciPy 1.10: trapezoid rule, step 0.05, in the logs of both chi variables z = e^y, weight
  // z^ν·exp(−z²/2), of norm.sf(x − λ) + norm.sf(x + λ), x = stdtrit(ν(A, B), 1 − α/2)·√(A + B)/τ, A = v₁z₁²/ν₁. SciPy's
  // t quantile is good to 3e-9 relative, and power changes by less than x·φ ≤ 0.25 for a unit relative change of t.
  struct Case {
    GroupDesign a, b;
    double gap, alpha, two_sided, one_sided;
  };
  const std::vector<Case> cases = {
      {{2, 1}, {2, 1}, 10, 0.05, 0.7827859880364749, 0.9753456373271664},
      {{2, 1}, {2, 2}, 6, 0.2, 0.8313470365351798, 0.9839602711695984},
      {{2, 1.5}, {3, 0.5}, 5, 0.05, 0.44132548313708464, 0.6205786369834152},
      {{2, 3}, {8, 1}, 8, 0.05, 0.34543353414236805, 0.5042650156436578},
      {{3, 1.5}, {3, 1.5}, 3, 0.05, 0.36753905631669503, 0.5766119174980802},
      {{3, 1}, {4, 0.05}, 3, 0.01, 0.25082878950081194, 0.4304206284126379},
  };
  for (const auto& c : cases) {
    const auto level = ConfidenceLevel::from_alpha(c.alpha);
    CHECK(welch_power(c.gap, c.a, c.b, level).power == within(c.two_sided, 2e-9));
    CHECK(welch_power(c.gap, c.a, c.b, level, Sides::one).power == within(c.one_sided, 2e-9));
  }
}

TEST_CASE("welch_power: with a fixed critical value and equal set-ups it is the noncentral t of the pooled test") {
  const Published cohen{"cohen-ex-2.1"}, help{"r-power-t-test"};
  const GroupDesign thirty{30, 1.0}, twenty{20, 1.0};
  const WelchPowerCurve of_thirty{thirty, thirty, FixedFactor{numerics::t_upper_quantile(0.025, 58)}};
  const WelchPowerCurve of_twenty{twenty, twenty, FixedFactor{numerics::t_upper_quantile(0.025, 38)}};
  CHECK(of_thirty.two_sided(2.0 / 2.8).power == cohen.expected("power"));
  // R's help page leaves out the far tail, so it is printed there as one side at α/2.
  CHECK(of_twenty.one_sided(1.0).power == help.expected("r1"));
  // R 4.2.2: pt(qt(.975,38), 38, sqrt(10), lower=F) + pt(-qt(.975,38), 38, sqrt(10))
  CHECK(of_twenty.two_sided(1.0).power == within(0.8689530277246, 1e-10));
  // R 4.2.2: pt(qt(.975,8), 8, -2, lower=F), an effect of the other sign
  const GroupDesign five{5, 1.0};
  const WelchPowerCurve of_five{five, five, FixedFactor{numerics::t_upper_quantile(0.025, 8)}};
  CHECK(of_five.one_sided(-2.0 * std::sqrt(0.4)).power == within(0.0000868608363, 1e-12));
}

TEST_CASE("welch_power: pooled powers agree with R's power.t.test in its strict form") {
  // R 4.2.2: power.t.test(n, delta, sd = 1, strict = TRUE)$power, printed with %.12f
  struct Case {
    std::int64_t n;
    double gap, power;
  };
  const std::vector<Case> cases = {
      {3, 2, 0.462640811891},  {5, 1.5, 0.549385597763},  {8, 1, 0.461238849504}, {10, 1, 0.562006646586},
      {20, 1, 0.868953027725}, {64, 0.5, 0.801459557922}, {5, 2, 0.790542377973},
  };
  for (const auto& c : cases) {
    CAPTURE(c.n);
    const GroupDesign g{c.n, 1.0};
    const WelchPowerCurve pooled{g, g,
                                 FixedFactor{numerics::t_upper_quantile(0.025, 2.0 * static_cast<double>(c.n) - 2.0)}};
    CHECK(pooled.two_sided(c.gap).power == within(c.power, 1e-9));
  }
}

TEST_CASE("welch_power: ten million simulated tests of unequal set-ups agree within four standard errors") {
  const auto rows = reference_table("power_simulation.csv");
  REQUIRE(rows.size() == 8);
  for (const auto& row : rows) {
    const GroupDesign a{static_cast<std::int64_t>(number_in(row.at(0))), number_in(row.at(1))};
    const GroupDesign b{static_cast<std::int64_t>(number_in(row.at(2))), number_in(row.at(3))};
    CAPTURE(a.shots);
    CAPTURE(b.shots);
    const double share = number_in(row.at(6)), error = std::sqrt(share * (1 - share) / number_in(row.at(5)));
    CHECK(error < 1.6e-4);
    CHECK(welch_power(number_in(row.at(4)), a, b).power == within(share, 4 * error));
  }
}

TEST_CASE("welch_power: the quadrature's own error shows neither in many shots nor in uneven ones") {
  // With a fixed factor c and equal v_i/ν_i the scale r is 1 for every split, so power is a noncentral t:
  // σ_i² ∝ n_i(n_i − 1).  R 4.2.2: pt(2, n1+n2-2, 2.5, lower=F) + pt(-2, n1+n2-2, 2.5)
  struct Case {
    std::int64_t n1, n2;
    double power;
  };
  for (const auto& c : std::vector<Case>{{3, 3, 0.6989329324236},
                                         {4, 4, 0.6953295432157},
                                         {3, 9, 0.6930578477578},
                                         {10, 10, 0.6920086380102},
                                         {6, 40, 0.6915648414157},
                                         {100, 100, 0.6914712687119},
                                         {5000, 5000, 0.6914658689289},
                                         {4, 3000, 0.6914659075990},
                                         {2, 2, 0.7118860509639},
                                         {2, 50, 0.6915431904706}}) {
    const auto sd = [](std::int64_t n) { return std::sqrt(static_cast<double>(n * (n - 1))); };
    const GroupDesign a{c.n1, sd(c.n1)}, b{c.n2, sd(c.n2)};
    const WelchPowerCurve curve{a, b, FixedFactor{2.0}};
    const auto r = curve.two_sided(2.5 * curve.standard_error());
    CHECK(r.power == within(c.power, 1e-10));
    CHECK(r.error_estimate < 1.2e-9);
  }
}

TEST_CASE(
    "welch_power: the finite sum of few shots and the quadrature of many agree where one gives way to the other") {
  // Up to 160 degrees of freedom a sum, from 161 on an integral over s. σ_i² ∝ n_i(n_i − 1) and a fixed factor make
  // power a noncentral t again.  R 4.2.2: pt(2, nu, 2.5, lower=F) + pt(-2, nu, 2.5), nu = 159, 160, 161, 162
  struct Case {
    std::int64_t n1, n2;
    double power;
  };
  for (const auto& c : std::vector<Case>{{80, 81, 0.6914741013950},
                                         {81, 81, 0.6914740025381},
                                         {81, 82, 0.6914739054847},
                                         {82, 82, 0.6914738101911}}) {
    const auto sd = [](std::int64_t n) { return std::sqrt(static_cast<double>(n * (n - 1))); };
    const GroupDesign a{c.n1, sd(c.n1)}, b{c.n2, sd(c.n2)};
    const WelchPowerCurve curve{a, b, FixedFactor{2.0}};
    CHECK(curve.two_sided(2.5 * curve.standard_error()).power == within(c.power, 1e-10));
  }
}

TEST_CASE("welch_power: interpolated critical values are the quantiles themselves to 1e-10") {
  struct Range {
    double lowest, highest;
  };
  for (const int setups : {2, 3, 40})
    for (const double alpha : {0.2, 0.05, 0.001})
      for (const Range range : {Range{1, 2}, {1, HUGE_VAL}, {3, 8}, {60, 20'202}}) {
        CAPTURE(setups);
        CAPTURE(alpha);
        CAPTURE(range.lowest);
        const CriticalFactor exact{ConfidenceLevel::from_alpha(alpha), Sides::two, Family{setups}};
        const detail::CriticalCurve curve = detail::curve_between(exact, range.lowest, range.highest);
        for (int i = 0; i <= 10; ++i) {
          const double share = 0.1 * i, inverse = (1 - share) / range.lowest + share / range.highest;
          if (inverse == 0.0) continue;
          const double factor = exact(1.0 / inverse);
          CHECK(curve(1.0 / inverse) == within(factor, 1e-10 * factor));
        }
      }
}

TEST_CASE("welch_power: never above the pooled test's power at equal shots, where only the critical value differs") {
  // Welch's ν is at most 2n − 2, its critical value at least the pooled one; and ν ≥ n − 1 bounds it from below.
  for (const std::int64_t n : {2, 3, 5, 20}) {
    const GroupDesign g{n, 1.0};
    const double nu = 2.0 * static_cast<double>(n) - 2.0, gap = 3.0 / std::sqrt(static_cast<double>(n));
    const double pooled =
        WelchPowerCurve{g, g, FixedFactor{numerics::t_upper_quantile(0.025, nu)}}.two_sided(gap).power;
    const double least =
        WelchPowerCurve{g, g, FixedFactor{numerics::t_upper_quantile(0.025, 0.5 * nu)}}.two_sided(gap).power;
    const double power = welch_power(gap, g, g).power;
    CHECK(power < pooled);
    CHECK(power > least);
  }
}

TEST_CASE("welch_power: a family of set-ups uses the studentised range") {
  // R: the sum of power_welch_tost.R with srange_q(0.95, k, ν)/sqrt(2) of common.R in place of qt, splined over 40 ν.
  CHECK(welch_power(2, {5, 1}, {5, 1}, ConfidenceLevel{0.95}, Sides::two, Family{3}).power ==
        within(0.5891951057, 1e-8));
  CHECK(welch_power(3, {6, 1}, {9, 2}, ConfidenceLevel{0.95}, Sides::two, Family{4}).power ==
        within(0.7805570305, 1e-8));
}

TEST_CASE("welch_power: power is not monotone in the number of shots") {
  // SD 1 and 3, gap 6, three shots of b: 40 shots of a find the gap less often than 4 do.
  const double four = welch_power(6, {4, 1}, {3, 3}).power, forty = welch_power(6, {40, 1}, {3, 3}).power;
  CHECK(four == within(0.531, 5e-4));
  CHECK(forty == within(0.482, 5e-4));
  CHECK(forty < four);
}

TEST_CASE("welch_power: 3 + 3 shots reach 0.37 where the noncentral t at the population's ν says 0.46") {
  // R 4.2.2: k = qt(.975, 4); pt(k, 4, 3/1.5/sqrt(2/3), lower=F) + pt(-k, 4, 3/1.5/sqrt(2/3)) = 0.4626408119
  const double shortcut = 0.4626408119;
  const double power = welch_power(3, {3, 1.5}, {3, 1.5}).power;
  CHECK(power == within(0.37, 5e-3));
  CHECK(shortcut - power > 0.08);
}

TEST_CASE("welch_power: swapping the set-ups, turning the gap or changing the unit moves nothing") {
  for (const auto& [n1, n2] : std::vector<std::pair<std::int64_t, std::int64_t>>{{3, 7}, {5, 12}, {2, 2}}) {
    const GroupDesign a{n1, 1.3}, b{n2, 2.9};
    const GroupDesign large_a{n1, 1.3e150}, large_b{n2, 2.9e150}, small_a{n1, 1.3e-150}, small_b{n2, 2.9e-150};
    const double power = welch_power(4, a, b).power;
    CHECK(welch_power(4, b, a).power == within(power, 1e-9));
    CHECK(welch_power(-4, a, b).power == power);
    CHECK(welch_power(4e150, large_a, large_b).power == within(power, 1e-13));
    CHECK(welch_power(4e-150, small_a, small_b).power == within(power, 1e-13));
    const double same = welch_equivalence_power(0.5, 6, a, b).power;
    CHECK(welch_equivalence_power(0.5, 6, b, a).power == within(same, 1e-9));
    CHECK(welch_equivalence_power(-0.5, 6, a, b).power == same);
    CHECK(welch_equivalence_power(0.5e150, 6e150, large_a, large_b).power == within(same, 1e-13));
  }
}

TEST_CASE("welch_power: rises strictly with the gap, from the size at 0 to 1") {
  for (const auto& [n1, n2] : std::vector<std::pair<std::int64_t, std::int64_t>>{{2, 3}, {4, 4}, {3, 40}}) {
    const GroupDesign a{n1, 1.0}, b{n2, 2.0};
    double before = welch_power(0, a, b).power;
    CHECK(before > 0.0);
    CHECK(before < 0.1);
    for (double gap = 0.5; gap < 8; gap += 0.5) {
      const double power = welch_power(gap, a, b).power;
      CHECK(power > before);
      before = power;
    }
    CHECK(welch_power(1e6, a, b).power == within(1.0, 1e-9));
    CHECK(welch_power(1e300, a, b).power == within(1.0, 1e-9));
  }
}

TEST_CASE("welch_power: one side at α has the two sides at 2α, less the far tail") {
  const GroupDesign a{5, 1.0}, b{6, 2.0};
  const double one = welch_power(2, a, b, ConfidenceLevel{0.975}, Sides::one).power;
  const double far = welch_power(-2, a, b, ConfidenceLevel{0.975}, Sides::one).power;
  CHECK(one + far == within(welch_power(2, a, b, ConfidenceLevel{0.95}).power, 1e-9));
  CHECK(far < 1e-3);
}

TEST_CASE("welch_power: simulated tests agree within four standard errors") {
  // 200 000 tests; standard error √(0.25/200 000) = 0.0011 at most, four of them 0.0045.
  struct Case {
    GroupDesign a, b;
    double gap, margin;
  };
  std::mt19937_64 words{20};
  const auto uniform = [&] { return (static_cast<double>(words() >> 11) + 0.5) * 0x1p-53; };
  const auto normal = [&] {  // Box and Muller: not the inversion the library uses
    return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
  };
  for (const auto& c : std::vector<Case>{{{3, 1.0}, {4, 2.0}, 3.0, 7.0}, {{6, 1.5}, {5, 1.0}, 1.6, 3.5}}) {
    constexpr int tests = 200'000;
    int found = 0, inside = 0;
    for (int i = 0; i < tests; ++i) {
      double mean[2], variance[2], nu[2];
      const GroupDesign* design[] = {&c.a, &c.b};
      for (int g = 0; g < 2; ++g) {
        const auto n = static_cast<double>(design[g]->shots);
        double sum = 0, squares = 0;
        for (int shot = 0; shot < design[g]->shots; ++shot) {
          const double x = design[g]->sd * normal();
          sum += x;
          squares += x * x;
        }
        mean[g] = sum / n;
        nu[g] = n - 1;
        variance[g] = (squares - sum * sum / n) / (n - 1) / n;
      }
      const double v = variance[0] + variance[1];
      const double degrees = v * v / (variance[0] * variance[0] / nu[0] + variance[1] * variance[1] / nu[1]);
      const double half = numerics::t_upper_quantile(0.025, degrees) * std::sqrt(v);
      const double chance = mean[1] - mean[0];
      found += std::abs(chance + c.gap) > half;
      inside += std::abs(chance + 0.25 * c.gap) + half < c.margin;
    }
    CHECK(welch_power(c.gap, c.a, c.b).power == within(static_cast<double>(found) / tests, 0.0045));
    CHECK(welch_equivalence_power(0.25 * c.gap, c.margin, c.a, c.b).power ==
          within(static_cast<double>(inside) / tests, 0.0045));
  }
}

TEST_CASE("welch_equivalence_power: the published power of 24 + 24 pooled bounds Welch's from above") {
  // Two one-sided tests at 0.05 on 46 degrees of freedom; Welch's ν is at most 46, so its interval is never shorter.
  const Published check{"tost-parallel-48"};
  const GroupDesign g{24, 0.2};
  const WelchPowerCurve pooled{g, g, FixedFactor{numerics::t_upper_quantile(0.05, 46)}};
  CHECK(pooled.equivalence(-0.05, 0.2).power == check.expected("power"));
  const double power = welch_equivalence_power(-0.05, 0.2, g, g, ConfidenceLevel::from_alpha(0.1)).power;
  CHECK(power < pooled.equivalence(-0.05, 0.2).power);
  CHECK(power > check.value("power") - 0.002);  // t at ν = 44 instead of 46 changes it by less
}

TEST_CASE("welch_equivalence_power: the published power of a 2 × 2 crossover of 40, on the log scale") {
  // Its standard error s·√(2/40) on 38 degrees of freedom is that of 20 + 20 with SD s/√2.
  const Published check{"tost-crossover-40"};
  const double s = std::sqrt(std::log(1.0 + 0.3 * 0.3)), gap = std::log(0.95), margin = std::log(1.25);
  const auto power = [&](std::int64_t n, double nu) {
    const GroupDesign g{n, s / std::numbers::sqrt2};
    return WelchPowerCurve{g, g, FixedFactor{numerics::t_upper_quantile(0.05, nu)}}.equivalence(gap, margin).power;
  };
  CHECK(power(20, 38) == check.expected("power"));
  CHECK(check.value("n_is_minimal") == 1);
  CHECK(power(19, 36) < 0.8);
}

TEST_CASE("half_width_at_most: designs of all kinds agree with SciPy's adaptive quadrature") {
  // Python, NumPy 1.24 and SciPy 1.10: integrate.quad over θ, b = sin²θ, in 17 pieces, of the Beta density times
  // special.gammainc(ν/2, ½·(w/t)²/(A + B)), t = −stdtrit polished by two Newton steps on betainc; stated to 1e-12.
  struct Case {
    GroupDesign a, b;
    double alpha, w, share;
  };
  const std::vector<Case> cases = {
      {{3, 1.5}, {3, 1.5}, 0.05, 4, 0.6180273211383},    {{2, 1}, {2, 1}, 0.05, 6, 0.5167704670680},
      {{2, 1}, {2, 1}, 0.2, 2, 0.5081773639337},         {{2, 3}, {8, 1}, 0.05, 10, 0.3959542688089},
      {{3, 1}, {5, 3}, 0.05, 4, 0.6525220575974},        {{10, 2}, {10, 2}, 0.05, 1.8, 0.4270987004980},
      {{4, 1}, {12, 3}, 0.01, 2.5, 0.2031412060091},     {{30, 1}, {30, 2}, 0.05, 0.8, 0.4279334651131},
      {{4, 1}, {300, 1.75}, 0.05, 1.5, 0.5764293891091}, {{4, 1}, {1200, 1.75}, 0.05, 1.5, 0.5602996297416},
      {{2, 1}, {400, 20}, 0.05, 5, 0.9057799478372},     {{200, 1}, {200, 1}, 0.05, 0.2, 0.6951492339155},
      {{3, 0.05}, {4, 1}, 0.05, 1.5, 0.5560316031709},
  };
  for (const auto& c : cases) {
    CAPTURE(c.a.shots);
    CAPTURE(c.b.shots);
    const WelchPowerCurve curve{c.a, c.b, CriticalFactor{ConfidenceLevel::from_alpha(c.alpha)}};
    CHECK(curve.half_width_at_most(c.w) == within(c.share, 1e-9));
    const WelchPowerCurve turned{c.b, c.a, CriticalFactor{ConfidenceLevel::from_alpha(c.alpha)}};
    CHECK(turned.half_width_at_most(c.w) == within(c.share, 1e-9));
    CHECK(curve.half_width_quantile(c.share) == digits(c.w, 7));
  }
}

TEST_CASE("half_width_at_most: with a fixed factor and equal set-ups it is a chi-square tail") {
  // se = τ·s whatever the split, s² = χ²_ν/ν:  P(c·τ·s ≤ w) = P(χ²_ν ≤ ν·(w/(c·τ))²)
  for (const std::int64_t n : {2, 5, 40}) {
    const GroupDesign g{n, 1.7};
    const double nu = 2.0 * static_cast<double>(n) - 2.0, tau = 1.7 * std::sqrt(2.0 / static_cast<double>(n));
    const WelchPowerCurve curve{g, g, FixedFactor{2.5}};
    for (const double w : {0.3, 1.0, 2.0, 4.0}) {
      const double z = w / (2.5 * tau);
      CHECK(curve.half_width_at_most(w) == within(numerics::chi_square_lower_tail(nu * z * z, nu), 1e-12));
    }
    CHECK(curve.half_width_quantile(0.8) ==
          digits(2.5 * tau * std::sqrt(numerics::chi_square_quantile(0.8, nu) / nu), 8));
  }
}

TEST_CASE("half_width_at_most: its distribution has the expected half-width as its mean") {
  // E[H] = ∫ (1 − P(H ≤ w)) dw, by Simpson's rule up to where the tail is below 1e-7.
  for (const auto& [a, b] : std::vector<std::pair<GroupDesign, GroupDesign>>{{{4, 1}, {7, 2}}, {{10, 1}, {10, 1}}}) {
    const WelchPowerCurve curve{a, b, CriticalFactor{ConfidenceLevel{0.95}}};
    const double end = curve.half_width_quantile(1.0 - 1e-7), h = end / 400;
    double sum = 0.0;
    for (int i = 0; i <= 400; ++i)
      sum += (i == 0 || i == 400 ? 1.0 : i % 2 == 1 ? 4.0 : 2.0) * (1.0 - curve.half_width_at_most(h * i));
    CHECK(sum * h / 3.0 == digits(curve.expected_half_width(), 6));
  }
}

TEST_CASE("half_width_at_most: simulated intervals agree within four standard errors") {
  // 100 000 intervals, four standard errors of a share 0.0063 at most.
  std::mt19937_64 words{21};
  const auto uniform = [&] { return (static_cast<double>(words() >> 11) + 0.5) * 0x1p-53; };
  const auto normal = [&] {
    return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::numbers::pi * uniform());
  };
  const GroupDesign a{3, 1.0}, b{5, 2.5};
  const WelchPowerCurve curve{a, b, CriticalFactor{ConfidenceLevel{0.95}}};
  constexpr int tests = 100'000;
  int narrow = 0, middling = 0;
  for (int i = 0; i < tests; ++i) {
    const auto variance_of_mean = [&](const GroupDesign& g) {
      const auto n = static_cast<double>(g.shots);
      double chi_square = 0;
      for (std::int64_t k = 1; k < g.shots; ++k) {
        const double z = normal();
        chi_square += z * z;
      }
      return g.sd * g.sd * chi_square / (n - 1) / n;
    };
    const double v = variance_of_mean(a), w = variance_of_mean(b);
    const double nu = (v + w) * (v + w) / (v * v / 2.0 + w * w / 4.0);
    const double half = numerics::t_upper_quantile(0.025, nu) * std::sqrt(v + w);
    narrow += half <= 2.0;
    middling += half <= 3.5;
  }
  CHECK(curve.half_width_at_most(2.0) == within(static_cast<double>(narrow) / tests, 0.0063));
  CHECK(curve.half_width_at_most(3.5) == within(static_cast<double>(middling) / tests, 0.0063));
}

TEST_CASE("half_width_at_most: 0 at 0, 1 without limit, rising between; the quantile turns it round") {
  for (const GroupDesign b : {GroupDesign{2, 1.0}, GroupDesign{9, 0.2}, GroupDesign{1000, 30.0}}) {
    const WelchPowerCurve curve{{4, 1.0}, b, CriticalFactor{ConfidenceLevel{0.95}, Sides::two, Family{3}}};
    CHECK(curve.half_width_at_most(0.0) == 0.0);
    CHECK(curve.half_width_at_most(HUGE_VAL) == within(1.0, 1e-12));  // weights sum to 1 but for rounding
    double before = 0.0;
    for (const double share : {1e-7, 1e-3, 0.1, 0.5, 0.8, 0.999, 1.0 - 1e-7}) {
      const double w = curve.half_width_quantile(share);
      CHECK(w > before);
      CHECK(curve.half_width_at_most(w) == within(share, 2e-9));
      before = w;
    }
  }
  // So many shots know their SD: every interval is z·τ wide, to a few parts in a thousand.
  const WelchPowerCurve many{{1'000'000, 2.0}, {1'000'000, 1.0}, CriticalFactor{ConfidenceLevel{0.95}}};
  for (const double share : {0.01, 0.5, 0.99})
    CHECK(many.half_width_quantile(share) == within(1.959964 * std::sqrt(5e-6), 1.96 * std::sqrt(5e-6) * 2e-3));
  CHECK(many.half_width_at_most(0.9 * 1.96 * std::sqrt(5e-6)) == 0.0);
}

TEST_CASE("half_width_at_most: widths below 0 and shares beyond its accuracy are refused") {
  const WelchPowerCurve curve{{4, 1.0}, {4, 1.0}, CriticalFactor{ConfidenceLevel{0.95}}};
  CHECK_THROWS_WITH_AS(curve.half_width_at_most(-1.0),
                       "half_width_at_most: needs a half-width of 0 or more, got -1.000000", DomainError);
  CHECK_THROWS_WITH_AS(curve.half_width_at_most(NAN), "half_width_at_most: needs a half-width of 0 or more, got nan",
                       DomainError);
  CHECK_THROWS_WITH_AS(curve.half_width_quantile(1.0),
                       "half_width_quantile: needs a share from 1e-7 to 1 - 1e-7, got 1.000000", DomainError);
  CHECK_THROWS_AS(curve.half_width_quantile(0.0), DomainError);
  CHECK_THROWS_AS(curve.half_width_quantile(NAN), DomainError);
}

TEST_CASE("welch_equivalence_power: one small beside a large set-up takes a finer rule and keeps its accuracy") {
  // The room left in the margin is then an edge in the split b. R 4.2.2, tost_power_welch(gap, margin, s1, s2, n1, n2,
  // .05) of power_welch_tost.R.
  struct Case {
    GroupDesign a, b;
    double gap, margin, power;
  };
  const std::vector<Case> cases = {
      {{4, 1}, {300, 1.75}, 0.3, 1.5, 0.499309166004},
      {{5, 3}, {60, 1}, 0.5, 5, 0.817118457386},
      {{8, 1}, {120, 0.3}, 0.2, 0.9, 0.442063310703},
      {{4, 1}, {1214, 1.75}, 0.1, 1.32, 0.409560059872},
  };
  for (const auto& c : cases) {
    const auto r = welch_equivalence_power(c.gap, c.margin, c.a, c.b, ConfidenceLevel{0.9});
    CHECK(r.power == within(c.power, 5e-9));
    CHECK(r.error_estimate < 1.2e-9);
  }
}

TEST_CASE("welch_equivalence_power: rises with the margin, falls with the gap, and is 0 where nothing fits") {
  const GroupDesign a{4, 1.0}, b{5, 1.5};
  CHECK(welch_equivalence_power(0, 3, a, b).power < welch_equivalence_power(0, 4, a, b).power);
  CHECK(welch_equivalence_power(1, 4, a, b).power < welch_equivalence_power(0, 4, a, b).power);
  CHECK(welch_equivalence_power(0, 1e9, a, b).power == within(1.0, 1e-9));
  CHECK(welch_equivalence_power(0, 1e-3, a, b).power < 1e-6);
  // A gap at the margin: the interval lies inside at most as often as one limit misses, α/2.
  CHECK(welch_equivalence_power(4, 4, a, b).power < 0.05);
  CHECK(welch_equivalence_power(400, 4, a, b).power == 0.0);
  // The stricter interval of `same` against the classical 1 − 2α.
  CHECK(welch_equivalence_power(0, 4, a, b, ConfidenceLevel{0.95}).power <
        welch_equivalence_power(0, 4, a, b, ConfidenceLevel{0.9}).power);
  // A family of set-ups: wider intervals still.
  CHECK(welch_equivalence_power(0, 4, a, b, ConfidenceLevel{0.95}, Family{3}).power <
        welch_equivalence_power(0, 4, a, b, ConfidenceLevel{0.95}).power);
}

TEST_CASE("welch_power: critical values between the interpolation's points are those asked for") {
  const auto student = [](double nu) { return numerics::t_upper_quantile(0.0005, nu); };
  const detail::CriticalCurve curve{student, 1.0, 20'000.0};
  for (const double nu : {1.0, 1.01, 1.5, 2.0, 2.7, 3.3, 10.0, 77.7, 1234.5, 19'999.0, 20'000.0})
    CHECK(curve(nu) == digits(student(nu), 10));
}

TEST_CASE("welch_power: impossible designs are refused with what was got") {
  const GroupDesign good{3, 1.0}, one_shot{1, 1.0}, no_sd{3, 0.0}, endless{3, HUGE_VAL}, not_a_number{3, NAN};
  CHECK_THROWS_WITH_AS(welch_power(1, one_shot, good), "power: needs 2 to 10000000 shots in a set-up, got 1",
                       DomainError);
  CHECK_THROWS_WITH_AS(welch_power(1, good, {10'000'001, 1.0}),
                       "power: needs 2 to 10000000 shots in a set-up, got 10000001", DomainError);
  CHECK_THROWS_WITH_AS(welch_power(1, good, no_sd), "power: needs a positive SD, got 0.000000", DomainError);
  CHECK_THROWS_AS(welch_power(1, endless, good), DomainError);
  CHECK_THROWS_AS(welch_power(1, not_a_number, good), DomainError);
  CHECK_THROWS_WITH_AS(welch_power(HUGE_VAL, good, good), "welch_power: needs a finite gap, got inf", DomainError);
  CHECK_THROWS_WITH_AS(welch_power(1, good, good, ConfidenceLevel{0.5}, Sides::one),
                       "a one-sided test needs a confidence level above 0.5, got 0.500000", DomainError);
  CHECK_THROWS_WITH_AS(welch_equivalence_power(0, 0, good, good),
                       "welch_equivalence_power: needs a positive margin, got 0.000000", DomainError);
  CHECK_THROWS_WITH_AS(welch_equivalence_power(NAN, 1, good, good),
                       "welch_equivalence_power: needs a finite gap, got nan", DomainError);
}

TEST_CASE("expected_half_width: half of the interval's width is its average over all tests") {
  // E[t(0.975; ν)·√(s_a²/n + s_b²/n)] with SciPy 1.10: trapezoid rule, step 0.02, in the logs of both chi variables
  // z = e^y, y from −34 to 4, weight z^ν·exp(−z²/2)·2^(1−ν/2)/Γ(ν/2), of stdtrit(ν(A, B), 0.975)·√(A + B),
  // A = σ²z²/(n·(n − 1)). Halving the step changes no digit printed. Simulated in R with set.seed(1), 400 000 tests:
  // 6.948 (SE 0.0074), 2.4740 (SE 0.0015), 1.7599 (SE 0.0007).
  struct Case {
    std::int64_t shots;
    double sd, half_width;
  };
  for (const Case c : {Case{2, 1, 6.94979726519}, Case{3, 1, 2.47298809497}, Case{5, 1.2, 1.75962026332},
                       Case{10, 2, 1.8667274641}, Case{40, 1, 0.443917370307}}) {
    CAPTURE(c.shots);
    const WelchPowerCurve curve{{c.shots, c.sd}, {c.shots, c.sd}, CriticalFactor{ConfidenceLevel{0.95}}};
    // stdtrit is good to 3e-9 relative.
    CHECK(curve.expected_half_width() == within(c.half_width, 1e-8 * c.half_width));
  }
}

TEST_CASE("expected_half_width: unequal designs and another level agree with the same double sum") {
  // As above with both designs: (n_a, σ_a), (n_b, σ_b), level.
  const auto half_width = [](GroupDesign a, GroupDesign b, double level) {
    return WelchPowerCurve{a, b, CriticalFactor{ConfidenceLevel{level}}}.expected_half_width();
  };
  CHECK(half_width({2, 1}, {3, 1}, 0.95) == within(4.51712443955, 5e-8));
  CHECK(half_width({3, 1}, {8, 2.5}, 0.95) == within(2.4316150598, 2.5e-8));
  CHECK(half_width({8, 2.5}, {3, 1}, 0.95) == within(2.4316150598, 2.5e-8));
  CHECK(half_width({4, 0.5}, {4, 3}, 0.95) == within(4.32983812399, 4.5e-8));
  CHECK(half_width({2, 1}, {2, 1}, 0.8) == within(2.15432920001, 2.5e-8));
  CHECK(half_width({5, 1.2}, {5, 1.2}, 0.8) == within(1.04668691654, 1.1e-8));
  CHECK(half_width({3, 100}, {8, 250}, 0.95) == within(243.16150598, 2.5e-6));
}
