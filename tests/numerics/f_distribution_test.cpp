#include <shotassay/numerics/f_distribution.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/chi_square.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

TEST_CASE("f_distribution: upper tails agree with values of 20 digits") {
  // mpmath, 40 digits: betainc(b/2, a/2, 0, b/(b + a f), regularized=True)
  struct Case {
    double f, above, below, tail;
  };
  const std::vector<Case> cases = {
      {1, 2, 16, 0.38974434312894587256},         {3.5, 2, 8, 0.080908641975308641975},
      {0.05, 10, 40, 0.9999899791622812889},      {7.2, 4, 21.5, 0.00076996585502701797337},
      {250, 3, 5, 7.2536734498997930477e-6},      {1e-6, 2, 4, 0.9999990000007499995},
      {1.02, 1000, 2000, 0.35645034529345506753}, {0.3, 0.7, 12, 0.51366487607840498921},
      {4000, 2, 60, 1.4272046675483692532e-64}};
  for (const auto& c : cases) {
    CAPTURE(c.f);
    CHECK(f_upper_tail(c.f, c.above, c.below) == digits(c.tail, 12));
  }
}

TEST_CASE("f_distribution: many degrees of freedom cost no digit, nor do 1 and 1") {
  // mpmath, 50 digits and more: data/reference/distributions.csv
  CHECK(f_upper_tail(2, 30, 1e6) == digits(0.00092092884870348509117127033056, 13));
  CHECK(f_upper_tail(30, 30, 1e6) == digits(7.38342045069707726423365140804e-170, 13));
  CHECK(f_upper_tail(1e-10, 1, 1) == digits(0.999993633802276536393044053825, 15));
  // With so many below, 30 F is a chi-square over 30: the tails differ by less than (30 f)²/1e9 of themselves.
  CHECK(f_upper_tail(2, 30, 1e9) == digits(chi_square_upper_tail(60, 30), 6));
  CHECK(f_upper_tail(1, 1e9, 1e9) == digits(0.5, 13));
}

TEST_CASE("f_distribution: upper quantiles agree with values of 20 digits, lower ones are their mirror") {
  // mpmath, 40 digits: root of the tail above
  struct Case {
    double p, above, below, quantile;
  };
  const std::vector<Case> cases = {{0.025, 2, 16, 4.6866654010979469053},   {0.975, 2, 16, 0.0253579122420298362},
                                   {0.025, 10, 36, 2.4285934486994591646},  {0.5, 3.5, 7, 0.90227636048126549441},
                                   {0.001, 4, 8, 14.391584514382375383},    {0.025, 1, 2, 38.506329113924048413},
                                   {0.975, 1, 2, 0.0012507817385866188586}, {0.025, 5, 24, 3.1548163425331144836},
                                   {0.4, 300, 70, 1.0568356713388294317}};
  for (const auto& c : cases) {
    CAPTURE(c.quantile);
    CHECK(f_upper_quantile(c.p, c.above, c.below) == digits(c.quantile, 12));
    CHECK(f_lower_quantile(c.p, c.below, c.above) == digits(1 / c.quantile, 12));
  }
}

TEST_CASE("f_distribution: with one degree of freedom above it is Student's t squared") {
  for (const double nu : {1.0, 2.5, 16.0, 400.0}) {
    const double t = t_two_sided_factor(0.05, nu);
    CHECK(f_upper_quantile(0.05, 1, nu) == digits(t * t, 11));
    CHECK(f_upper_tail(t * t, 1, nu) == digits(0.05, 11));
  }
}

TEST_CASE("f_distribution: a ratio of 0 is always exceeded, an infinite one never") {
  CHECK(f_upper_tail(0, 3, 4) == 1);
  CHECK(f_upper_tail(std::numeric_limits<double>::infinity(), 3, 4) == 0);
}

TEST_CASE("f_distribution: impossible arguments are refused") {
  CHECK_THROWS_WITH_AS(f_upper_tail(-1, 3, 4), "f_distribution: needs a ratio of 0 or more, got -1", DomainError);
  CHECK_THROWS_AS(f_upper_tail(std::nan(""), 3, 4), DomainError);
  CHECK_THROWS_WITH_AS(f_upper_tail(1, 0, 4), "f_distribution: needs degrees of freedom above 0, at most 1e9, got 0",
                       DomainError);
  CHECK_THROWS_AS(f_upper_quantile(0.5, 3, 2e9), DomainError);
  CHECK_THROWS_AS(f_lower_quantile(0.5, std::nan(""), 4), DomainError);
  CHECK_THROWS_WITH_AS(f_upper_quantile(1, 3, 4), "f_distribution: needs a probability between 0 and 1, got 1",
                       DomainError);
  CHECK_THROWS_AS(f_lower_quantile(0, 3, 4), DomainError);
}
