#include <shotassay/numerics/quadrature.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <thread>
#include <vector>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {

double integral(const QuadratureRule& rule, double (*f)(double)) {
  double sum = 0;
  for (std::size_t i = 0; i < rule.nodes.size(); ++i) sum += rule.weights[i] * f(rule.nodes[i]);
  return sum;
}

}  // namespace

TEST_CASE("quadrature: rules of 1, 2, 3 and 5 nodes are the closed forms") {
  const QuadratureRule one = gauss_legendre(1);
  CHECK(one.nodes[0] == 0);
  CHECK(one.weights[0] == digits(2, 15));
  const QuadratureRule two = gauss_legendre(2);
  CHECK(two.nodes[1] == within(1 / std::sqrt(3.0), 2e-16));
  CHECK(two.weights[1] == digits(1, 15));
  const QuadratureRule three = gauss_legendre(3);
  CHECK(three.nodes[1] == 0);
  CHECK(three.nodes[2] == within(std::sqrt(0.6), 2e-16));
  CHECK(three.weights[1] == digits(8.0 / 9, 15));
  CHECK(three.weights[2] == digits(5.0 / 9, 15));
  const QuadratureRule five = gauss_legendre(5);
  CHECK(five.nodes[3] == within(std::sqrt(5 - 2 * std::sqrt(10.0 / 7)) / 3, 4e-16));
  CHECK(five.nodes[4] == within(std::sqrt(5 + 2 * std::sqrt(10.0 / 7)) / 3, 4e-16));
  CHECK(five.weights[2] == digits(128.0 / 225, 15));
  CHECK(five.weights[3] == digits((322 + 13 * std::sqrt(70.0)) / 900, 15));
  CHECK(five.weights[4] == digits((322 - 13 * std::sqrt(70.0)) / 900, 15));
}

TEST_CASE("quadrature: nodes and weights agree with 50-digit values, up to the outermost of 512") {
  // mpmath, mp.dps = 50: Newton on P_n by its recurrence, w = 2/((1 - x²) P'_n(x)²); columns n, place, node, weight
  struct Row {
    int n;
    std::size_t place;
    double node, weight;
  };
  constexpr Row rows[] = {
      {6, 5, 0.93246951420315202781, 0.17132449237917034504},
      {6, 4, 0.66120938646626451366, 0.36076157304813860757},
      {6, 3, 0.23861918608319690863, 0.46791393457269104739},
      {15, 14, 0.98799251802048542849, 0.030753241996117268355},
      {15, 8, 0.2011940939974345223, 0.19843148532711157646},
      {48, 47, 0.9987710072524261186, 0.0031533460523058386327},
      {48, 46, 0.99353017226635075755, 0.0073275539012762621024},
      {48, 24, 0.032380170962869362033, 0.064737696812683922503},
      {512, 511, 0.99998899098438186799, 0.000028252637373934692039},
      {512, 510, 0.99994199460684565364, 0.000065765731659240195831},
      {512, 412, 0.81880967705918680055, 0.0035189776088657205262},
      {512, 256, 0.0030649621851593961529, 0.0061299051754057857592},
  };
  for (const Row& row : rows) {
    CAPTURE(row.n);
    CAPTURE(row.place);
    const QuadratureRule rule = gauss_legendre(row.n);
    CHECK(rule.nodes[row.place] == within(row.node, 2e-16));
    CHECK(rule.weights[row.place] == digits(row.weight, 15));
  }
}

TEST_CASE("quadrature: every rule is ascending, symmetric, inside (-1, 1), with positive weights of sum 2") {
  for (int n = 1; n <= 512; ++n) {
    CAPTURE(n);
    const QuadratureRule rule = gauss_legendre(n);
    const auto size = static_cast<std::size_t>(n);
    REQUIRE(rule.nodes.size() == size);
    REQUIRE(rule.weights.size() == size);
    CHECK(std::is_sorted(rule.nodes.begin(), rule.nodes.end()));
    CHECK(std::adjacent_find(rule.nodes.begin(), rule.nodes.end()) == rule.nodes.end());
    CHECK(rule.nodes.front() > -1);
    CHECK(rule.nodes.back() < 1);
    double sum = 0;
    for (std::size_t i = 0; i < size; ++i) {
      CHECK(rule.nodes[i] == -rule.nodes[size - 1 - i]);
      CHECK(rule.weights[i] == rule.weights[size - 1 - i]);
      CHECK(rule.weights[i] > 0);
      sum += rule.weights[i];
    }
    CHECK(sum == within(2, 1e-14));  // n roundings of at most 2.2e-16, mostly far fewer
  }
}

TEST_CASE("quadrature: n nodes integrate powers up to 2n - 1 exactly and the next one wrongly") {
  for (const int n : {1, 2, 3, 4, 7, 16, 33, 64}) {
    CAPTURE(n);
    const QuadratureRule rule = gauss_legendre(n);
    for (int power = 0; power <= 2 * n; ++power) {
      CAPTURE(power);
      double sum = 0;
      for (std::size_t i = 0; i < rule.nodes.size(); ++i) sum += rule.weights[i] * std::pow(rule.nodes[i], power);
      const double exact = power % 2 == 0 ? 2.0 / (power + 1) : 0;
      if (power < 2 * n)
        CHECK(sum == within(exact, 2e-15));
      else if (n <= 16)
        CHECK(std::abs(sum - exact) > 1e-12);  // the error is 2^(2n+1) n!⁴ / ((2n+1) (2n)!²), 1e-9 at n = 16
    }
  }
}

TEST_CASE("quadrature: a function with a narrow peak needs, and gets, more nodes") {
  const auto peak = [](double x) { return 1 / (x * x + 0.01); };
  const double exact = 20 * std::atan(10.0);
  CHECK(std::abs(integral(gauss_legendre(8), peak) - exact) > 1);
  // The error falls like (0.1 + √1.01)^(−2n) = e^(−0.2n): 1e-44 at 512.
  CHECK(integral(gauss_legendre(512), peak) == digits(exact, 14));
}

TEST_CASE("quadrature: a rule is computed once, stays where it is, and threads may ask together") {
  const double* const before = gauss_legendre(40).nodes.data();
  for (int n = 1; n <= 512; ++n) gauss_legendre(n);
  CHECK(gauss_legendre(40).nodes.data() == before);

  std::vector<const double*> seen(4);
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < seen.size(); ++i)
    threads.emplace_back([&seen, i] { seen[i] = gauss_legendre(177).weights.data(); });
  for (std::thread& thread : threads) thread.join();
  for (const double* weights : seen) CHECK(weights == seen.front());
}

TEST_CASE("quadrature: no rule, and one beyond 512 nodes, are refused") {
  CHECK_THROWS_WITH_AS(gauss_legendre(0), "gauss_legendre: needs 1 to 512 nodes, got 0", DomainError);
  CHECK_THROWS_WITH_AS(gauss_legendre(-3), "gauss_legendre: needs 1 to 512 nodes, got -3", DomainError);
  CHECK_THROWS_WITH_AS(gauss_legendre(513), "gauss_legendre: needs 1 to 512 nodes, got 513", DomainError);
}
