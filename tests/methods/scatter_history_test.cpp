#include "support/close.hpp"
#include "support/samples.hpp"
#include "support/table.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <shotassay/methods/scatter_history.hpp>
#include <sstream>
#include <string>
#include <vector>

using namespace shotassay;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

std::vector<double> numbers_in(const std::string& text) {
  std::vector<double> numbers;
  std::istringstream words{text};
  for (std::string word; words >> word;) numbers.push_back(word == "Inf" ? infinity : number_in(word));
  return numbers;
}

std::vector<StringScatter> strings(const std::vector<double>& variances, const std::vector<double>& degrees) {
  std::vector<StringScatter> all;
  for (std::size_t i = 0; i < variances.size(); ++i)
    all.push_back({.variance = variances[i], .degrees_of_freedom = degrees[i]});
  return all;
}

/// Strings of five shots with these SDs.
std::vector<StringScatter> of_five(const std::vector<double>& sds) {
  std::vector<StringScatter> all;
  for (const double sd : sds) all.push_back({.variance = sd * sd, .degrees_of_freedom = 4});
  return all;
}

}  // namespace

TEST_CASE("scatter_prior: two hundred histories agree with limma to 1e-8, squeezed variances too") {
  int infinite = 0, finite = 0;
  for (const auto& row : reference_table("limma.csv", "prior")) {
    CAPTURE(row[1]);
    CAPTURE(row[2]);
    const auto variances = numbers_in(row[1]), degrees = numbers_in(row[2]), squeezed = numbers_in(row[5]);
    const auto history = strings(variances, degrees);
    const ScatterPrior prior = scatter_prior(history, false);
    const double d0 = numbers_in(row[4]).at(0);
    CHECK(prior.variance == digits(number_in(row[3]), 9));
    if (std::isinf(d0)) {
      CHECK(std::isinf(prior.degrees_of_freedom));
      ++infinite;
    } else {
      CHECK(prior.degrees_of_freedom == digits(d0, 9));
      ++finite;
    }
    double total = 0;
    for (std::size_t i = 0; i < variances.size(); ++i) {
      // squeezed as it stands: only the fit lifts a variance far below the others
      CHECK(squeezed_variance(prior, variances[i], degrees[i]) == digits(squeezed.at(i), 9));
      total += degrees[i];
    }
    CHECK(prior.degrees_of_freedom_of_strings == total);
    CHECK(prior.strings == variances.size());
    CHECK_FALSE(prior.wild);
  }
  CHECK(infinite > 20);
  CHECK(finite > 100);
}

TEST_CASE("scatter_prior: strings that differ less than by chance have infinitely many degrees of freedom") {
  // Equal variances: nothing but chance, in fact less. Their mean is the prior's variance.
  const ScatterPrior same = scatter_prior(of_five({2, 2, 2, 2}));
  CHECK(std::isinf(same.degrees_of_freedom));
  CHECK(same.variance == 4);
  CHECK(same.sd() == 2);
  // They can tell no more than their 16 degrees of freedom, however alike they are.
  CHECK(same.usable_degrees_of_freedom() == 16);
  CHECK(squeezed_variance(same, 100, 4) == 4);
  const ScatterPrior uneven = scatter_prior(of_five({0.5, 4, 1, 9, 2}), false);
  CHECK(uneven.degrees_of_freedom < 20);
  CHECK(uneven.usable_degrees_of_freedom() == uneven.degrees_of_freedom);
}

TEST_CASE("scatter_prior: of two degrees of freedom each, by hand") {
  // d_g = 2: ψ(1) = −γ, ψ′(1) = π²/6. Variances with logarithms −c, 0, c have variance c². With c² = π²/6 + ψ′(2),
  // ψ′(2) = π²/6 − 1, d0 is 4; ē = 0 + γ + ln 1, ψ(2) = 1 − γ: s0² = exp(γ + 1 − γ − ln 2) = e/2.
  const double basel = std::numbers::pi * std::numbers::pi / 6, c = std::exp(std::sqrt(2 * basel - 1));
  const ScatterPrior prior = scatter_prior(strings({1 / c, 1, c}, {2, 2, 2}));
  CHECK(prior.degrees_of_freedom == digits(4, 12));
  CHECK(prior.variance == digits(std::exp(1.0) / 2, 12));
  // (4·e/2 + 2·3)/6
  CHECK(squeezed_variance(prior, 3, 2) == digits((2 * std::exp(1.0) + 6) / 6, 12));
}

TEST_CASE("scatter_prior: a change of unit changes the variance by its square and nothing else") {
  const auto feet = of_five({1.1, 2.5, 0.4, 1.9, 3.8, 1.2});
  auto metres = feet;
  for (auto& s : metres) s.variance *= 0.3048 * 0.3048;
  const ScatterPrior p = scatter_prior(feet), q = scatter_prior(metres);
  CHECK(q.variance == digits(p.variance * 0.3048 * 0.3048, 13));
  CHECK(q.degrees_of_freedom == digits(p.degrees_of_freedom, 11));
}

TEST_CASE("scatter_prior: one wild string is left out and named, and the others alone tell the prior") {
  const std::vector<double> usual{1.8, 2.2, 1.5, 2.4, 2.0, 1.7, 2.1};
  const ScatterPrior without = scatter_prior(of_five(usual), false);
  for (const double wild : {20.0, 0.05}) {
    for (std::size_t place = 0; place <= usual.size(); place += 3) {
      auto sds = usual;
      sds.insert(sds.begin() + static_cast<std::ptrdiff_t>(place), wild);
      const ScatterPrior robust = scatter_prior(of_five(sds)), plain = scatter_prior(of_five(sds), false);
      REQUIRE(robust.wild);
      CHECK(*robust.wild == place);
      CHECK(robust.variance == without.variance);
      CHECK(robust.degrees_of_freedom == without.degrees_of_freedom);
      CHECK(robust.degrees_of_freedom_of_strings == 28);
      CHECK(robust.strings == 7);
      // what it would have done: the prior hardly binds any more
      CHECK_FALSE(plain.wild);
      CHECK(plain.degrees_of_freedom < 5);
      CHECK(plain.strings == 8);
    }
  }
}

TEST_CASE("scatter_prior: a string is wild from a two-sided p below 0.01/J on, the most unlikely one only") {
  // The others are alike: variance 4, d0 infinite, Σd = 16. In R qf(1 - 0.001, 4, 16) = 7.9442022711 and
  // qf(1 - 0.001, 16, 4) = 46.596926052; there the two-sided p is 0.002 = 0.01/5.
  const auto with = [](double variance) {
    auto history = of_five({2, 2, 2, 2});
    history.push_back({.variance = variance, .degrees_of_freedom = 4});
    return scatter_prior(history).wild;
  };
  CHECK_FALSE(with(4 * 7.9442022711 * 0.999999));
  CHECK(with(4 * 7.9442022711 * 1.000001) == 4);
  CHECK_FALSE(with(4 / 46.596926052 * 1.000001));
  CHECK(with(4 / 46.596926052 * 0.999999) == 4);
  // Two of them hide each other: at most one is left out, and these are not.
  CHECK_FALSE(scatter_prior(of_five({2, 2, 2, 2, 30, 30})).wild);
}

TEST_CASE("scatter_prior: three strings are too few to call one wild") {
  CHECK_FALSE(scatter_prior(of_five({2, 2, 200})).wild);
  CHECK(scatter_prior(of_five({2, 2, 2, 200})).wild == 3);
}

TEST_CASE("scatter_prior: what cannot be is refused, too few strings have no answer") {
  const auto of = [](std::vector<StringScatter> s) { return scatter_prior(s); };
  CHECK_THROWS_WITH_AS(of({{1, 2}, {0, 2}, {1, 2}}),
                       "scatter_prior: a variance must be above 0 and finite, got 0.000000", DomainError);
  CHECK_THROWS_AS(of({{1, 2}, {infinity, 2}, {1, 2}}), DomainError);
  CHECK_THROWS_AS(of({{1, 2}, {std::nan(""), 2}, {1, 2}}), DomainError);
  CHECK_THROWS_WITH_AS(of({{1, 2}, {1, 0}, {1, 2}}),
                       "scatter_prior: degrees of freedom must be above 0 and finite, got 0.000000", DomainError);
  CHECK_THROWS_AS(of({{1, infinity}, {1, 2}, {1, 2}}), DomainError);
  CHECK_THROWS_WITH_AS(of({{1, 2}, {1, 2}}), "scatter_prior: needs 3 or more earlier strings of shots, got 2",
                       NoAnswer);
  CHECK_THROWS_AS(of({}), NoAnswer);
}

TEST_CASE("string_scatter: the variance of the readings, and a floor for equal ones") {
  const StringScatter s = string_scatter(sample({271, 273, 275}), 1);
  CHECK(s.variance == 4);
  CHECK(s.degrees_of_freedom == 2);
  const StringScatter equal = string_scatter(sample({271, 271, 271, 271}), 1);
  CHECK(equal.variance == digits(1.0 / 12, 15));
  CHECK(equal.degrees_of_freedom == 3);
  // tenths: the same floor in the square of their step
  CHECK(string_scatter(decimal_sample({2710, 2710}, 1), 0.1).variance == digits(0.01 / 12, 14));
}

TEST_CASE("string_scatter: a coarser display adds its own variance, a finer one takes nothing off") {
  // 81.2, 81.4, 81.6 in tenths: s² = 0.04; whole steps add (1 − 0.01)/12
  CHECK(string_scatter(decimal_sample({812, 814, 816}, 1), 1).variance == digits(0.04 + 0.99 / 12, 14));
  // equal tenths on whole steps: all that one whole cell hides
  CHECK(string_scatter(decimal_sample({812, 812}, 1), 1).variance == digits(1.0 / 12, 14));
  CHECK(string_scatter(sample({271, 273, 275}), 0.1).variance == 4);
  CHECK(string_scatter(sample({271, 271}), 0.1).variance == digits(1.0 / 12, 15));
}

TEST_CASE("string_scatter: one shot and a display step of 0 are refused") {
  CHECK_THROWS_WITH_AS(string_scatter(sample({271}), 1), "string_scatter: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(string_scatter(sample({271, 272}), 0),
                       "string_scatter: display step must be positive, got 0.000000", DomainError);
  CHECK_THROWS_AS(string_scatter(sample({271, 272}), std::nan("")), DomainError);
}
