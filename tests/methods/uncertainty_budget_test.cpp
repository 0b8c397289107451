#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include <shotassay/methods/uncertainty_budget.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

UncertainInput input(std::string name, double x, double u, double nu = infinite) {
  return {.name = std::move(name), .estimate = x, .standard_uncertainty = u, .degrees_of_freedom = nu};
}

std::string message_of(const auto& call) {
  try {
    call();
  } catch (const std::exception& error) {
    return error.what();
  }
  return "";
}

bool has(const std::string& text, const char* part) { return text.find(part) != std::string::npos; }

/// JCGM 100:2008, H.1: length of an end gauge in nm, l = ls + d − ls (δα·θ + αs·δθ).
std::vector<UncertainInput> end_gauge() {
  return {input("ls", 50000623, 25, 18), input("d", 215, 9.7, 25.6),        input("d_alpha", 0, 5.8e-7, 50),
          input("d_theta", 0, 0.029, 2), input("alpha_s", 11.5e-6, 1.2e-6), input("theta", -0.1, 0.41)};
}
double end_gauge_length(std::span<const double> x) { return x[0] + x[1] - x[0] * (x[2] * x[5] + x[4] * x[3]); }

}  // namespace

TEST_CASE("uncertainty_budget: the end gauge of the GUM, H.1, from its function") {
  const Published check{"gum-h1"};
  const auto inputs = end_gauge();
  const auto b = uncertainty_budget(end_gauge_length, inputs, {}, ConfidenceLevel{0.99}, EffectiveDegrees::truncated);
  CHECK(b.estimate == check.expected("y"));
  CHECK(b.standard_uncertainty == check.expected("uc"));
  CHECK(b.contributions[0].contribution == within(check.value("contrib_ls"), 1e-6));
  CHECK(b.contributions[1].contribution == within(check.value("contrib_d"), 1e-6));
  CHECK(b.contributions[2].contribution == check.expected("contrib_d_alpha"));
  CHECK(b.contributions[3].contribution == check.expected("contrib_d_theta"));
  CHECK(b.contributions[4].sensitivity == within(0.0, 1e-3));  // δθ is 0: no first-order effect
  CHECK(b.degrees_of_freedom == 16.0);
  CHECK(b.coverage_factor == check.expected("k_trunc"));
  CHECK(b.expanded_uncertainty == check.expected("U_trunc"));
  // The printed 16.7 comes from rounded contributions; unrounded it is 16.66 (same note of the check).
  CHECK(uncertainty_budget(end_gauge_length, inputs).degrees_of_freedom == within(16.66, 0.005));
  CHECK_FALSE(b.stated_correlations);
}

TEST_CASE("uncertainty_budget: the end gauge with second-order terms, H.1.7") {
  CHECK(second_order_uncertainty(end_gauge_length, end_gauge()) == Published{"gum-h1-2nd"}.expected("value"));
}

TEST_CASE("uncertainty_budget: second-order terms of products and squares, by hand") {
  // y = a·b at 0: f_ab = 1, so u² = u_a² u_b² once for each order of the pair, ½ each: u = u_a·u_b exactly.
  const std::vector<UncertainInput> ab{input("a", 0, 2), input("b", 0, 3)};
  CHECK(second_order_uncertainty([](std::span<const double> x) { return x[0] * x[1]; }, ab) == digits(6.0, 9));
  // y = x² at 5: Var = 4·25·u² + 2u⁴ for a normal x; third derivative 0.
  const std::vector<UncertainInput> x{input("x", 5, 0.5)};
  CHECK(second_order_uncertainty([](std::span<const double> v) { return v[0] * v[0]; }, x) ==
        digits(std::sqrt(100 * 0.25 + 2 * 0.0625), 9));
  // y = x³ at 1: f′ = 3, f″ = 6, f‴ = 6: u² = 9u² + (½·36 + 3·6)u⁴.
  const std::vector<UncertainInput> cube{input("x", 1, 0.1)};
  CHECK(second_order_uncertainty([](std::span<const double> v) { return v[0] * v[0] * v[0]; }, cube) ==
        digits(std::sqrt(9 * 0.01 + 36 * 1e-4), 9));
  // f = a²b, at (1, 2): f_a = 4, f_b = 1, f_aa = 4, f_ab = 2, f_aab = 2.
  // Σ½f² = ½·16·u_a⁴ + 4·u_a²u_b²;  f_i f_ijj: f_b f_baa u_b²u_a² = 2 u_a²u_b², others 0.
  const std::vector<UncertainInput> mixed{input("a", 1, 0.1), input("b", 2, 0.3)};
  CHECK(second_order_uncertainty([](std::span<const double> v) { return v[0] * v[0] * v[1]; }, mixed) ==
        digits(std::sqrt(16 * 0.01 + 0.09 + 8 * 1e-4 + 6 * 0.01 * 0.09), 9));
}

TEST_CASE("uncertainty_budget: second-order terms that would make a variance negative are refused") {
  // sin at 0 with u = 2: u² = 4 + f′f‴·16 = 4 − 16 < 0, before higher terms that the expansion leaves out.
  const std::vector<UncertainInput> x{input("x", 0, 2)};
  CHECK_THROWS_AS(second_order_uncertainty([](std::span<const double> v) { return v[0] - v[0] * v[0] * v[0]; }, x),
                  NoAnswer);
}

TEST_CASE("uncertainty_budget: degrees of freedom of the comparator difference, H.1.3.2") {
  const Published check{"gum-h1-d"};
  const auto u = check.numbers("u"), nu = check.numbers("nu");
  std::vector<UncertainInput> parts;
  for (std::size_t i = 0; i < u.size(); ++i) parts.push_back(input("part", 0, u[i], nu[i]));
  const auto b = uncertainty_budget(0.0, parts, std::vector<double>{1, 1, 1});
  CHECK(b.standard_uncertainty == check.expected("uc"));
  CHECK(b.degrees_of_freedom == check.expected("nu_eff"));
}

TEST_CASE("uncertainty_budget: resistance, reactance and impedance from five paired readings, H.2") {
  const Published check{"gum-h2"};
  const std::vector<std::vector<double>> readings{check.numbers("V"), check.numbers("I"), check.numbers("phi")};
  const double n = 5.0;
  std::vector<double> mean(3, 0.0);
  for (std::size_t i = 0; i < 3; ++i)
    for (const double y : readings[i]) mean[i] += y / n;
  const auto products = [&](std::size_t i, std::size_t j) {
    double sum = 0.0;
    for (std::size_t k = 0; k < 5; ++k) sum += (readings[i][k] - mean[i]) * (readings[j][k] - mean[j]);
    return sum;
  };
  std::vector<UncertainInput> inputs;
  for (std::size_t i = 0; i < 3; ++i)
    inputs.push_back(input("x", mean[i], std::sqrt(products(i, i) / (n - 1) / n), n - 1));
  std::vector<Correlation> r;
  for (const auto& [i, j] : {std::pair{0, 1}, std::pair{0, 2}, std::pair{1, 2}}) {
    const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(j);
    r.push_back({a, b, products(a, b) / std::sqrt(products(a, a) * products(b, b)), true});
  }
  CHECK(r[0].coefficient == check.expected("rVI"));
  CHECK(r[1].coefficient == check.expected("rVphi"));
  CHECK(r[2].coefficient == check.expected("rIphi"));
  const auto resistance = [](std::span<const double> x) { return x[0] / x[1] * std::cos(x[2]); };
  const auto reactance = [](std::span<const double> x) { return x[0] / x[1] * std::sin(x[2]); };
  const auto impedance = [](std::span<const double> x) { return x[0] / x[1]; };
  const auto R = uncertainty_budget(resistance, inputs, r), X = uncertainty_budget(reactance, inputs, r),
             Z = uncertainty_budget(impedance, inputs, r);
  CHECK(R.estimate == check.expected("R"));
  CHECK(X.estimate == check.expected("X"));
  CHECK(Z.estimate == check.expected("Z"));
  CHECK(R.standard_uncertainty == check.expected("uR"));
  CHECK(X.standard_uncertainty == check.expected("uX"));
  CHECK(Z.standard_uncertainty == check.expected("uZ"));
  // Correlation of two results: from u(R + X)² = u(R)² + u(X)² + 2 r u(R) u(X), as all is linear in first order.
  const auto correlation = [&](const MeasurementModel& f, const UncertaintyBudget& a, const MeasurementModel& g,
                               const UncertaintyBudget& b) {
    const auto sum = uncertainty_budget([&](std::span<const double> x) { return f(x) + g(x); }, inputs, r);
    const double s = sum.standard_uncertainty, p = a.standard_uncertainty, q = b.standard_uncertainty;
    return (s * s - p * p - q * q) / (2 * p * q);
  };
  CHECK(correlation(resistance, R, reactance, X) == check.expected("rRX"));
  CHECK(correlation(resistance, R, impedance, Z) == check.expected("rRZ"));
  CHECK(correlation(reactance, X, impedance, Z) == check.expected("rXZ"));
  // A linear combination of five paired readings has 4 degrees of freedom.
  CHECK(R.degrees_of_freedom == digits(4.0, 12));
  CHECK_FALSE(R.stated_correlations);
  double shares = 0.0;
  for (const auto& c : R.contributions) shares += c.share;
  CHECK(shares == digits(1.0, 12));
}

TEST_CASE("uncertainty_budget: a correction read off a calibration line, H.3") {
  // b(30 °C) = b0 + b1·(30 − 20) with the line's own correlation.
  const Published check{"gum-h3"};
  const auto x = check.numbers("x"), y = check.numbers("y");
  const double shift = check.number("x_shift"), at = check.number("x0") - shift;
  const auto n = static_cast<double>(x.size());
  double sx = 0, sxx = 0, sy = 0, sxy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double t = x[i] - shift;
    sx += t, sxx += t * t, sy += y[i], sxy += t * y[i];
  }
  const double D = n * sxx - sx * sx, b0 = (sy * sxx - sx * sxy) / D, b1 = (n * sxy - sx * sy) / D;
  double residuals = 0;
  for (std::size_t i = 0; i < x.size(); ++i) residuals += std::pow(y[i] - b0 - b1 * (x[i] - shift), 2);
  const double s2 = residuals / (n - 2);
  const std::vector<UncertainInput> line{input("b0", b0, std::sqrt(s2 * sxx / D), n - 2),
                                         input("b1", b1, std::sqrt(s2 * n / D), n - 2)};
  const std::vector<Correlation> r{{0, 1, -sx / std::sqrt(n * sxx), true}};
  CHECK(r[0].coefficient == check.expected("r01"));
  const auto b = uncertainty_budget([at](std::span<const double> v) { return v[0] + v[1] * at; }, line, r);
  CHECK(b.estimate == check.expected("fit"));
  CHECK(b.standard_uncertainty == check.expected("se_fit"));
  CHECK(b.degrees_of_freedom == digits(n - 2, 10));
}

TEST_CASE("uncertainty_budget: coverage factors of Table G.2") {
  const Published check{"gum-table-g2"};
  const auto rows = check.number_rows("rows");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::vector<UncertainInput> x{input("x", 0, 1, rows[i][0])};
    const auto b = uncertainty_budget(0.0, x, std::vector<double>{1}, {}, ConfidenceLevel{rows[i][1]});
    CHECK(b.coverage_factor == check.expected("t" + std::to_string(i + 1)));
  }
}

TEST_CASE("uncertainty_budget: the type A budget of resistivity in the NIST handbook, 2.6.3") {
  const Published check{"ehb-2.6.3-budget"};
  const auto s = check.numbers("s"), c2 = check.numbers("c2"), df = check.numbers("df");
  std::vector<UncertainInput> parts;
  std::vector<double> c;
  for (std::size_t i = 0; i < s.size(); ++i) {
    parts.push_back(input("part", 0, s[i], df[i]));
    c.push_back(std::sqrt(c2[i]));
  }
  const auto b = uncertainty_budget(0.0, parts, c, {}, ConfidenceLevel{check.number("p")});
  CHECK(b.standard_uncertainty == check.expected("u"));
  CHECK(b.degrees_of_freedom == check.expected("nu_eff"));
  CHECK(b.coverage_factor == check.expected("k"));
  CHECK(b.expanded_uncertainty == check.expected("U"));
}

TEST_CASE("uncertainty_budget: the gap of two averages of three shots") {
  const Published check{"budget-gap-3-3"};
  const double display = 1.0 / std::sqrt(12.0);
  const std::vector<UncertainInput> inputs{input("average_a", 281, 1.5 / std::sqrt(3.0), 2),
                                           input("average_b", 284, 2.1 / std::sqrt(3.0), 2),
                                           input("draw_weight", 0, 0.2, 4),
                                           input("arrow_mass", 0, 0.5, 9),
                                           input("display_a", 0, display),
                                           input("display_b", 0, display)};
  const std::vector<double> c{-1, 1, 2.0, -0.35, -1, 1};
  for (const auto degrees : {EffectiveDegrees::as_computed, EffectiveDegrees::truncated}) {
    const auto b = uncertainty_budget(3.0, inputs, c, {}, ConfidenceLevel{0.95}, degrees);
    CHECK(b.standard_uncertainty == check.expected("uc"));
    for (std::size_t i = 0; i < inputs.size(); ++i)
      CHECK(b.contributions[i].contribution == check.expected("contrib_" + inputs[i].name));
    // uc² = 0.75 + 1.47 + 0.16 + 0.030625 + 2/12
    CHECK(b.contributions[1].share == digits(1.47 / (0.75 + 1.47 + 0.16 + 0.030625 + 2.0 / 12), 12));
    const std::string which = degrees == EffectiveDegrees::truncated ? "_trunc" : "_real";
    if (degrees == EffectiveDegrees::as_computed) CHECK(b.degrees_of_freedom == check.expected("nu_eff"));
    CHECK(b.coverage_factor == check.expected("k" + which));
    CHECK(b.expanded_uncertainty == check.expected("U" + which));
    CHECK(b.interval.lower == digits(3.0 - check.value("U" + which), 9));
  }
}

TEST_CASE("sensitivities: agree with the analytic ones of an arrow's energy and of a drag loss") {
  // E = m v²/k: ∂E/∂m = v²/k, ∂E/∂v = 2mv/k.   w = v e^(−kd): e^(−kd), −dw, −kw
  const std::vector<UncertainInput> arrow{input("m", 350, 0.3), input("v", 300, 1.2)};
  const auto c = sensitivities([](std::span<const double> x) { return x[0] * x[1] * x[1] / 450436.68; }, arrow);
  CHECK(c[0] == digits(300.0 * 300 / 450436.68, 10));
  CHECK(c[1] == digits(2 * 350.0 * 300 / 450436.68, 10));
  const std::vector<UncertainInput> flight{input("v", 290, 1.5), input("k", 0.003, 0.0004), input("d", 20, 0.05)};
  const auto f = sensitivities([](std::span<const double> x) { return x[0] * std::exp(-x[1] * x[2]); }, flight);
  const double w = 290 * std::exp(-0.06);
  CHECK(f[0] == digits(w / 290, 9));
  CHECK(f[1] == digits(-20 * w, 9));
  CHECK(f[2] == digits(-0.003 * w, 9));
}

TEST_CASE("sensitivities: of exact inputs are found too, and one without a slope is named") {
  const std::vector<UncertainInput> exact{input("a", 4, 0), input("zero", 0, 0)};
  const auto c = sensitivities([](std::span<const double> x) { return 3 * x[0] + 2 * x[1]; }, exact);
  CHECK(c[0] == digits(3.0, 9));
  CHECK(c[1] == digits(2.0, 9));
  const std::vector<UncertainInput> x{input("span", 1, 0.1), input("offset", 0, 0.1)};
  const auto text =
      message_of([&] { sensitivities([](std::span<const double> v) { return v[0] + std::abs(v[1]); }, x); });
  CHECK(has(text, "\"offset\""));
  CHECK(has(text, "kink"));
}

TEST_CASE("uncertainty_budget: correlations of ±1 add and cancel contributions") {
  const std::vector<UncertainInput> inputs{input("a", 0, 3), input("b", 0, 4), input("c", 0, 12)};
  const std::vector<double> ones{1, 1, 1};
  const auto u = [&](double r) {
    const std::vector<Correlation> link{{0, 1, r}};
    return uncertainty_budget(0.0, inputs, ones, link).standard_uncertainty;
  };
  CHECK(u(1.0) == digits(std::sqrt(49.0 + 144), 12));  // 3 + 4 together
  CHECK(u(-1.0) == digits(std::sqrt(1.0 + 144), 12));  // 4 − 3
  CHECK(u(0.0) == digits(13.0, 12));                   // 3, 4, 12
  const std::vector<Correlation> link{{0, 1, -0.9}};
  const auto b = uncertainty_budget(0.0, inputs, ones, link);
  // a's share: 3·(3 − 0.9·4) / (9 + 16 − 21.6 + 144) is below 0
  CHECK(b.contributions[0].share == digits(3 * (3 - 3.6) / 147.4, 12));
}

TEST_CASE("uncertainty_budget: stated correlations never lend degrees of freedom, and cancelling ones take them") {
  const std::vector<double> ones{1, 1}, opposed{1, -1};
  const std::vector<UncertainInput> inputs{input("a", 0, 1, 4), input("b", 0, 1, 9)};
  const std::vector<Correlation> half{{0, 1, 0.5}}, close{{0, 1, 0.95}};
  // Shares ½ and ½: 1/(¼/4 + ¼/9) = 11.08 is more than the least, 4.
  const auto b = uncertainty_budget(0.0, inputs, ones, half);
  CHECK(b.degrees_of_freedom == digits(4.0, 12));
  CHECK(b.stated_correlations);
  // The difference of two that agree closely is 0.1 of a variance of 2, shares ½ each again.
  CHECK(uncertainty_budget(0.0, inputs, opposed, close).degrees_of_freedom == digits(4.0, 12));
  // Unequal: a = 2·(2 − 0.9), b = −1·(1.8 − 1), v = 2.2 − 0.8 = 1.4; ν = 1.4²/(2.2²/4 + 0.8²/9) = 1.53
  const std::vector<UncertainInput> unequal{input("a", 0, 2, 4), input("b", 0, 1, 9)};
  const std::vector<Correlation> strong{{0, 1, 0.9}};
  CHECK(uncertainty_budget(0.0, unequal, opposed, strong).degrees_of_freedom ==
        digits(1.4 * 1.4 / (2.2 * 2.2 / 4 + 0.8 * 0.8 / 9), 12));
  // Paired readings, but not as many of each: no common n − 1 to take.
  const std::vector<Correlation> paired{{0, 1, 0.5, true}};
  CHECK(uncertainty_budget(0.0, inputs, ones, paired).stated_correlations);
  // A coefficient of 0 leaves them independent: 4/(1/4 + 1/9)
  const std::vector<Correlation> none{{0, 1, 0.0}};
  const auto independent = uncertainty_budget(0.0, inputs, ones, none);
  CHECK(independent.degrees_of_freedom == digits(4.0 / (1.0 / 4 + 1.0 / 9), 12));
  CHECK_FALSE(independent.stated_correlations);
}

TEST_CASE("uncertainty_budget: infinite degrees of freedom give the normal factor") {
  const std::vector<UncertainInput> x{input("x", 1, 2)};
  const auto b = uncertainty_budget(1.0, x, std::vector<double>{-3});
  CHECK(std::isinf(b.degrees_of_freedom));
  CHECK(b.coverage_factor == digits(1.959963984540054, 14));
  CHECK(b.contributions[0].contribution == 6.0);
  CHECK(uncertainty_budget(1.0, x, std::vector<double>{-3}, {}, ConfidenceLevel{0.95}, EffectiveDegrees::truncated)
            .coverage_factor == b.coverage_factor);
}

TEST_CASE("uncertainty_budget: contributions far apart neither overflow nor vanish") {
  const std::vector<UncertainInput> x{input("a", 0, 3e200, 5), input("b", 0, 4e200, 5)};
  const auto b = uncertainty_budget(0.0, x, std::vector<double>{1e50, 1e50});
  CHECK(b.standard_uncertainty == digits(5e250, 12));
  const std::vector<UncertainInput> small{input("a", 0, 3e-200), input("b", 0, 4e-200)};
  CHECK(uncertainty_budget(0.0, small, std::vector<double>{1, 1}).standard_uncertainty == digits(5e-200, 12));
}

TEST_CASE("uncertainty_budget: what cannot be is refused, by name") {
  const std::vector<double> one{1}, two{1, 1};
  const std::vector<UncertainInput> x{input("speed", 300, 1)}, both{input("a", 0, 1), input("b", 0, 1)},
      three{input("a", 0, 1), input("b", 0, 1), input("c", 0, 1)};
  const auto single = [&](UncertainInput changed) {
    return message_of([&] { uncertainty_budget(0.0, std::vector{changed}, one); });
  };
  CHECK(has(message_of([&] { uncertainty_budget(0.0, std::vector<UncertainInput>{}, {}); }), "needs an input"));
  CHECK(has(single(input("speed", 300, -1)), "\"speed\" must be 0 or more"));
  CHECK(has(single(input("speed", 300, infinite)), "\"speed\" must be 0 or more"));
  CHECK(has(single(input("speed", std::nan(""), 1)), "estimate of \"speed\""));
  CHECK(has(single(input("speed", 300, 1, 0)), "degrees of freedom of \"speed\""));
  CHECK(has(message_of([&] { uncertainty_budget(0.0, x, two); }), "for each of 1 inputs, got 2"));
  CHECK(
      has(message_of([&] { uncertainty_budget(0.0, x, std::vector<double>{infinite}); }), "sensitivity to \"speed\""));
  const auto linked = [&](std::vector<Correlation> r) {
    return message_of([&] { uncertainty_budget(0.0, three, std::vector<double>{1, 1, 1}, r); });
  };
  CHECK(has(linked({{0, 0, 0.5}}), "two different inputs"));
  CHECK(has(linked({{0, 3, 0.5}}), "two different inputs"));
  CHECK(has(linked({{0, 1, 1.1}}), "between -1 and 1"));
  CHECK(has(linked({{0, 1, std::nan("")}}), "between -1 and 1"));
  CHECK(has(linked({{0, 1, 0.1}, {1, 0, 0.2}}), "stated twice"));
  CHECK(has(linked({{0, 1, 0.9}, {0, 2, 0.9}, {1, 2, -0.9}}), "contradict each other"));
  CHECK(has(linked({{0, 1, 1.0}, {0, 2, 1.0}, {1, 2, 0.5}}), "contradict each other"));
  CHECK(linked({{0, 1, 1.0}, {0, 2, 1.0}, {1, 2, 1.0}}).empty());
}

TEST_CASE("uncertainty_budget: a budget without uncertainty has no answer, never a u of 0") {
  const std::vector<UncertainInput> exact{input("a", 1, 0)}, both{input("a", 0, 1), input("b", 0, 1)};
  CHECK_THROWS_AS(uncertainty_budget(0.0, exact, std::vector<double>{1}), NoAnswer);
  CHECK_THROWS_AS(uncertainty_budget(0.0, both, std::vector<double>{0, 0}), NoAnswer);
  const std::vector<Correlation> same{{0, 1, 1.0}};
  CHECK_THROWS_AS(uncertainty_budget(0.0, both, std::vector<double>{1, -1}, same), NoAnswer);
  CHECK_THROWS_AS(uncertainty_budget([](std::span<const double>) { return std::nan(""); }, both), NoAnswer);
}
