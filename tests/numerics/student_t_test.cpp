#include <shotassay/numerics/student_t.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <string>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/normal.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
}  // namespace

TEST_CASE("student_t: upper tails agree with 40-digit values for real degrees of freedom, down to 1e-300") {
  // mpmath, mp.dps = 40.  nu < 3000: betainc(nu/2, 1/2, 0, nu/(nu + t*t), regularized=True)/2;  above: quad of the
  // density over [t, t + 98/t] in pieces of 2/t (from 0 to t, taken from 1/2, where t < 1);  inf: erfc(t/sqrt(2))/2
  struct Row {
    double t, degrees_of_freedom, upper_tail;
  };
  constexpr Row rows[] = {
      {0.001, 1, 0.49968169021991944105},
      {0.5, 1, 0.35241638234956672582},
      {2, 1, 0.14758361765043327418},
      {8, 1, 0.039583424160565542011},
      {37, 1, 0.0086008761054331540724},
      {1e+100, 1, 3.1830988618379066648e-101},
      {0.001, 1.5, 0.49965926511335986967},
      {0.5, 1.5, 0.34028355533497000429},
      {2, 1.5, 0.11209416517802553316},
      {8, 1.5, 0.016459175470453410604},
      {37, 1.5, 0.001674488445964834833},
      {1e+100, 1.5, 3.7708524320162462616e-151},
      {0.001, 2, 0.49964644669779504073},
      {0.5, 2, 0.33333333333333333333},
      {2, 2, 0.091751709536136983634},
      {8, 2, 0.007634036082669069063},
      {37, 2, 0.00036483040246253179714},
      {1e+100, 2, 4.999999999999999841e-201},
      {0.001, 3, 0.499632447484730469},
      {0.5, 3, 0.32572398242407549722},
      {2, 3, 0.069662984279421588424},
      {8, 3, 0.0020382887938927341222},
      {37, 3, 0.000021711744062489562766},
      {1e+100, 3, 1.1026577908435840464e-300},
      {0.001, 30, 0.49960436788324254506},
      {0.5, 30, 0.31036150244256364298},
      {2, 30, 0.02731252248149155196},
      {8, 30, 3.1329112378503794717e-9},
      {37, 30, 6.8029031457099319091e-27},
      {10000000000.0, 30, 1.0364534652562066867e-279},
      {0.001, 1000000.0, 0.49960105788582454491},
      {0.5, 1000000.0, 0.30853759373618569389},
      {2, 1000000.0, 0.022750266925659604211},
      {8, 1000000.0, 6.2275317166012598048e-16},
      {37, 1000000.0, 9.1498654309011315305e-300},
      {0.001, 10000000000.0, 0.49960105778609891097},
      {0.5, 10000000000.0, 0.30853753873148791709},
      {2, 10000000000.0, 0.022750131961676948829},
      {8, 10000000000.0, 6.2209612310670568731e-16},
      {37, 10000000000.0, 5.725839886633447464e-300},
      {0.001, infinity, 0.49960105778608893741},
      {0.5, infinity, 0.30853753872598689636},
      {2, infinity, 0.0227501319481792072},
      {8, infinity, 6.2209605742717841235e-16},
      {37, infinity, 5.7255712225245768227e-300},
  };
  for (const Row& row : rows) {
    CAPTURE(row.t);
    CAPTURE(row.degrees_of_freedom);
    CHECK(t_upper_tail(row.t, row.degrees_of_freedom) == digits(row.upper_tail, row.upper_tail > 1e-30 ? 14 : 13));
    CHECK(t_upper_tail(-row.t, row.degrees_of_freedom) == within(1 - row.upper_tail, 2e-16));
  }
}

TEST_CASE("student_t: upper quantiles agree with 40-digit values") {
  // mpmath, mp.dps = 40: the tails above, bisected in log t, then six Newton steps on log(tail) - log(p); p the double
  struct Row {
    double p, degrees_of_freedom, quantile;
  };
  constexpr Row rows[] = {
      {1e-15, 1, 318309886183790.6468},
      {1e-06, 1, 318309.88618274348839},
      {0.005, 1, 63.65674116287157967},
      {0.025, 1, 12.706204736174703938},
      {0.05, 1, 6.3137515146750427427},
      {0.2, 1, 1.3763819204711734373},
      {0.4, 1, 0.32491969623290624903},
      {0.49, 1, 0.031426266043351175749},
      {0.8, 1, -1.376381920471173942},
      {0.975, 1, -12.706204736174693314},
      {1e-15, 1.5, 5219469427.3446361461},
      {1e-06, 1.5, 5219.469324706945951},
      {0.005, 1.5, 17.820310514462807021},
      {0.025, 1.5, 6.0166631044279316927},
      {0.05, 1.5, 3.705180820096751525},
      {0.2, 1.5, 1.1533643782954685738},
      {0.4, 1.5, 0.30074539256979535288},
      {0.49, 1.5, 0.029355346255080507651},
      {0.8, 1.5, -1.153364378295468934},
      {0.975, 1.5, -6.0166631044279282546},
      {1e-15, 2, 22360679.774997862554},
      {1e-06, 2, 707.10572052593381853},
      {0.005, 2, 9.9248432009182930099},
      {0.025, 2, 4.3026527297494637234},
      {0.05, 2, 2.9199855803537255922},
      {0.2, 2, 1.0606601717798212253},
      {0.4, 2, 0.28867513459481281549},
      {0.49, 2, 0.028289929799333576827},
      {0.8, 2, -1.0606601717798215319},
      {0.975, 2, -4.3026527297494617894},
      {1e-15, 3, 103311.08359284988403},
      {1e-06, 3, 103.2994677804193443},
      {0.005, 3, 5.8409093097333572173},
      {0.025, 3, 3.1824463052837095204},
      {0.05, 3, 2.3533634348018238165},
      {0.2, 3, 0.97847231236330438961},
      {0.4, 3, 0.27667066233268984701},
      {0.49, 3, 0.027211467049118020418},
      {0.8, 3, -0.97847231236330465242},
      {0.975, 3, -3.1824463052837084359},
      {1e-15, 30, 14.925858475139001464},
      {1e-06, 30, 5.8711171204188826617},
      {0.005, 30, 2.7499956535672253238},
      {0.025, 30, 2.0422724563012382836},
      {0.05, 30, 1.6972608865939578196},
      {0.2, 30, 0.85376726147129758626},
      {0.4, 30, 0.25560536495191271444},
      {0.49, 30, 0.025278783971765814411},
      {0.8, 30, -0.85376726147129778982},
      {0.975, 30, -2.0422724563012378878},
      {1e-15, 1000000.0, 7.941472518403508474},
      {1e-06, 1000000.0, 4.7534523482796808065},
      {0.005, 1000000.0, 2.5758342201053341471},
      {0.025, 1000000.0, 1.9599663568141070115},
      {0.05, 1000000.0, 1.6448551507220404657},
      {0.2, 1000000.0, 0.84162159301398397242},
      {0.4, 1000000.0, 0.253347170537841622},
      {0.49, 1000000.0, 0.025068914529877548599},
      {0.8, 1000000.0, -0.8416215930139841707},
      {0.975, 1000000.0, -1.9599663568141066553},
      {1e-15, 10000000000.0, 7.941345338890047165},
      {1e-06, 10000000000.0, 4.7534243116268301924},
      {0.005, 10000000000.0, 2.5758293040405555137},
      {0.025, 10000000000.0, 1.9599639847772813348},
      {0.05, 10000000000.0, 1.6448536271038496027},
      {0.2, 10000000000.0, 0.84162123360885825774},
      {0.4, 10000000000.0, 0.25334710314253994444},
      {0.49, 10000000000.0, 0.025068908259338174603},
      {0.8, 10000000000.0, -0.84162123360885845602},
      {0.975, 10000000000.0, -1.9599639847772809787},
      {1e-15, infinity, 7.9413453261709967713},
      {1e-06, infinity, 4.7534243088228989573},
      {0.005, infinity, 2.5758293035489007538},
      {0.025, infinity, 1.9599639845400542118},
      {0.05, infinity, 1.644853626951472688},
      {0.2, infinity, 0.84162123357291416552},
      {0.4, infinity, 0.25334710313579974132},
      {0.49, infinity, 0.025068908258711058033},
      {0.8, infinity, -0.8416212335729143638},
      {0.975, infinity, -1.9599639845400538556},
  };
  for (const Row& row : rows) {
    CAPTURE(row.p);
    CAPTURE(row.degrees_of_freedom);
    CHECK(t_upper_quantile(row.p, row.degrees_of_freedom) == digits(row.quantile, 14));
  }
}

TEST_CASE("student_t: two-sided factors agree with the published table") {
  const Published table{"gum-table-g2"};
  const auto rows = table.number_rows("rows");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CAPTURE(i);
    CHECK(t_two_sided_factor(1 - rows[i].at(1), rows[i].at(0)) == table.expected("t" + std::to_string(i + 1)));
  }
}

TEST_CASE("student_t: 1 and 2 degrees of freedom have closed forms") {
  for (const double t : {1e-9, 0.3, 1.0, 4.0, 1e5, 1e150}) {
    CAPTURE(t);
    // Cauchy: ½ − arctan(t)/π = arctan(1/t)/π
    CHECK(t_upper_tail(t, 1) == digits(std::atan(1 / t) / std::numbers::pi, 15));
    // ν = 2: ½(1 − t/r), r = √(2 + t²), which is 1 / (r (r + t)) as r² − t² = 2
    const double r = std::hypot(std::numbers::sqrt2, t);
    CHECK(t_upper_tail(t, 2) == digits(1 / r / (r + t), 14));
  }
  for (const double p : {1e-200, 1e-9, 0.05, 0.2, 0.3, 0.499}) {
    CAPTURE(p);
    const double cauchy = p < 0.25 ? 1 / std::tan(std::numbers::pi * p) : std::tan(std::numbers::pi * (0.5 - p));
    CHECK(t_upper_quantile(p, 1) == digits(cauchy, 14));
    CHECK(t_upper_quantile(p, 2) == digits((1 - 2 * p) / std::sqrt(2 * p * (1 - p)), 14));
  }
}

TEST_CASE("student_t: tails far beyond the square root of the largest double keep their digits") {
  // The leading term of the tail is c·t^−ν exactly to all digits there: a hundredfold t is a tail 100^ν smaller.
  for (const double nu : {0.3, 1.0, 1.5}) {
    CAPTURE(nu);
    for (const double t : {1e8, 1e100, 1e155, 1e190}) {
      CAPTURE(t);
      CHECK(t_upper_tail(100 * t, nu) == digits(t_upper_tail(t, nu) * std::pow(100.0, -nu), 13));
    }
  }
}

TEST_CASE("student_t: the tail at a quantile is the probability asked for") {
  for (double nu = 0.2; nu < 1e21; nu *= 1.9) {
    for (double p = 1e-30; p < 0.5; p *= 3.1) {
      CAPTURE(nu);
      CAPTURE(p);
      const double t = t_upper_quantile(p, nu);
      // A last bit of t changes the tail by at most (t²(ν+1)/(ν+t²) + 1)·1.1e-16 of itself; ten such, and the tail's
      // own error.
      const double sensitivity = (nu + 1) / (nu / (t * t) + 1) + 1;
      CHECK(std::abs(t_upper_tail(t, nu) / p - 1) < 1.1e-15 * sensitivity + 2e-14);
    }
  }
}

TEST_CASE("student_t: quantiles near the middle keep their relative accuracy and change sign at ½") {
  for (const double nu : {0.7, 1.0, 2.5, 9.0, 1e7}) {
    CAPTURE(nu);
    CHECK(t_upper_quantile(0.5, nu) == 0);
    // Near 0 the quantile is (½ − p)/f(0), f(0) = Γ((ν+1)/2) / (√(νπ) Γ(ν/2)); the next term is of order (½ − p)².
    const double density =
        std::exp(std::lgamma(0.5 * nu + 0.5) - std::lgamma(0.5 * nu)) / std::sqrt(nu * std::numbers::pi);
    CHECK(t_upper_quantile(0.5 - 0x1p-30, nu) == digits(0x1p-30 / density, nu > 1e6 ? 8 : 14));
    for (const double p : {0x1p-40, 0.125, 0.25, 0.375}) CHECK(t_upper_quantile(1 - p, nu) == -t_upper_quantile(p, nu));
  }
}

TEST_CASE("student_t: infinite degrees of freedom are the normal law") {
  for (const double z : {-3.0, 0.0, 1.0, 9.0, 35.0}) CHECK(t_upper_tail(z, infinity) == normal_upper_tail(z));
  for (const double p : {1e-100, 0.025, 0.3, 0.9}) CHECK(t_upper_quantile(p, infinity) == normal_upper_quantile(p));
  CHECK(t_two_sided_factor(0.05, infinity) == normal_upper_quantile(0.025));
}

TEST_CASE("student_t: an infinite t has tail 0 or 1, also at few degrees of freedom") {
  for (const double nu : {0.5, 1.0, 3.0, 1e6, infinity}) {
    CAPTURE(nu);
    CHECK(t_upper_tail(infinity, nu) == 0);
    CHECK(t_upper_tail(-infinity, nu) == 1);
  }
}

TEST_CASE("student_t: what has no answer is refused") {
  CHECK_THROWS_WITH_AS(t_upper_tail(1, 0), "student_t: needs degrees of freedom above 0, got 0", DomainError);
  CHECK_THROWS_WITH_AS(t_upper_tail(1, not_a_number), "student_t: needs degrees of freedom above 0, got nan",
                       DomainError);
  CHECK_THROWS_WITH_AS(t_upper_quantile(0.1, -2), "student_t: needs degrees of freedom above 0, got -2", DomainError);
  CHECK_THROWS_WITH_AS(t_upper_tail(not_a_number, 3), "student_t: t is not a number", DomainError);
  CHECK_THROWS_WITH_AS(t_upper_quantile(0, 3), "student_t: needs a probability between 0 and 1, got 0", DomainError);
  CHECK_THROWS_WITH_AS(t_upper_quantile(1, 3), "student_t: needs a probability between 0 and 1, got 1", DomainError);
  CHECK_THROWS_WITH_AS(t_upper_quantile(not_a_number, 3), "student_t: needs a probability between 0 and 1, got nan",
                       DomainError);
  // P(T > t) ~ t^−½: t would be of order 1e400.
  CHECK_THROWS_WITH_AS(t_upper_quantile(1e-200, 0.5),
                       "student_t: the quantile at 1e-200 with 0.5 degrees of freedom is above 1e300", NoAnswer);
}
