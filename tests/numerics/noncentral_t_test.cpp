#include <shotassay/numerics/noncentral_t.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/student_t.hpp>

#include "support/close.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {

struct Row {
  double t;
  int degrees_of_freedom;
  double noncentrality, upper, outside;
};

// mpmath, mp.dps = 30: quad of the chi density times erfc((t*s - d)/sqrt(2))/2 over s, and of both tails, split at
// every second SD of s.
// clang-format off
const std::vector<Row> rows = {
    {0.5, 1, 0, 0.35241638234956672582, 0.70483276469913345165},
    {2.5, 1, 2, 0.54505117480651053745, 0.54771641648933589794},
    {3, 1, -1, 0.021727035435285922348, 0.29162443682472256221},
    {1.5, 1, 7, 0.99989678255859776466, 0.99989678255869066905},
    {12, 1, 10, 0.59371830588244788334, 0.59371830588244788334},
    {0, 1, 1.5, 0.933192798731141934, 1.0},
    {0.5, 2, 0, 0.33333333333333333333, 0.66666666666666666667},
    {2.5, 2, 2, 0.4631737923489497433, 0.4640231735856898504},
    {3, 2, -1, 0.0076287522335829671838, 0.17406932589644806031},
    {1.5, 2, 7, 0.99999284290327987083, 0.99999284290330010392},
    {12, 2, 10, 0.49934005853788246489, 0.49934005853788246489},
    {0, 2, 1.5, 0.933192798731141934, 1.0},
    {0.5, 3, 0, 0.32572398242407549722, 0.65144796484815099444},
    {2.5, 3, 2, 0.42469058670024581172, 0.42508019831183361887},
    {3, 3, -1, 0.0037230470012880684029, 0.12632202147737773575},
    {1.5, 3, 7, 0.99999837408979522094, 0.99999837408980208377},
    {12, 3, 10, 0.44440622758408114624, 0.44440622758408114624},
    {0, 3, 1.5, 0.933192798731141934, 1.0},
    {0.5, 4, 0, 0.32166498159093163712, 0.64332996318186327424},
    {2.5, 4, 2, 0.40191946366346103559, 0.40213854477572161808},
    {3, 4, -1, 0.0021800854837464663173, 0.10085870980045304186},
    {1.5, 4, 7, 0.9999993523767585935, 0.99999935237676162739},
    {12, 4, 10, 0.40541671150299029271, 0.40541671150299029271},
    {0, 4, 1.5, 0.933192798731141934, 1.0},
    {0.5, 5, 0, 0.31914943582046450335, 0.63829887164092900671},
    {2.5, 5, 2, 0.38675702301846881141, 0.3868972669875500589},
    {3, 5, -1, 0.0014335969988769963001, 0.085171841026070548702},
    {1.5, 5, 7, 0.99999965117403726241, 0.99999965117403886276},
    {12, 5, 10, 0.37513281324637476521, 0.37513281324637476521},
    {0, 5, 1.5, 0.933192798731141934, 1.0},
    {0.5, 8, 0, 0.31526803777848817081, 0.63053607555697634162},
    {2.5, 8, 2, 0.36132596233022722412, 0.36138323960229630207},
    {3, 8, -1, 0.00060790845086631024878, 0.061316518859040248556},
    {1.5, 8, 7, 0.99999987452741494587, 0.99999987452741538611},
    {12, 8, 10, 0.31149278071331717815, 0.31149278071331717815},
    {0, 8, 1.5, 0.933192798731141934, 1.0},
    {0.5, 9, 0, 0.3145356499130132398, 0.62907129982602647961},
    {2.5, 9, 2, 0.3561921531563832601, 0.35623865776991237285},
    {3, 9, -1, 0.00049597209433069784593, 0.056894380437288068461},
    {1.5, 9, 7, 0.99999989735845573911, 0.99999989735845606548},
    {12, 9, 10, 0.29569658766254314266, 0.29569658766254314266},
    {0, 9, 1.5, 0.933192798731141934, 1.0},
    {0.5, 21, 0, 0.31113703782710940802, 0.62227407565421881604},
    {2.5, 21, 2, 0.33059749394540355619, 0.33061117990523705705},
    {3, 21, -1, 0.00014438684927691481951, 0.036955510909659043587},
    {1.5, 21, 7, 0.99999996041949022725, 0.99999996041949028566},
    {12, 21, 10, 0.18883024258098001017, 0.18883024258098001017},
    {0, 21, 1.5, 0.933192798731141934, 1.0},
    {0.5, 60, 0, 0.30945197971899155127, 0.61890395943798310255},
    {2.5, 60, 2, 0.31659122455061734038, 0.31659714266441692261},
    {3, 60, -1, 0.000058969320330110477243, 0.027615953873866906237},
    {1.5, 60, 7, 0.99999997543701781098, 0.99999997543701783009},
    {12, 60, 10, 0.093282432202965154664, 0.093282432202965154664},
    {0, 60, 1.5, 0.933192798731141934, 1.0},
    {0.5, 159, 0, 0.30888317655044658189, 0.61776635310089316377},
    {2.5, 159, 2, 0.31162250842960907132, 0.31162674099874989378},
    {3, 159, -1, 0.000040634161825794262565, 0.024586011737746334881},
    {1.5, 159, 7, 0.99999997907521763694, 0.9999999790752176494},
    {12, 159, 10, 0.049794639253613308545, 0.049794639253613308545},
    {0, 159, 1.5, 0.933192798731141934, 1.0},
    {0.5, 160, 0, 0.30888101842599560202, 0.61776203685199120403},
    {2.5, 160, 2, 0.3116034038718032058, 0.31160763080549833096},
    {3, 160, -1, 0.000040573315727617717436, 0.024574655759335976278},
    {1.5, 160, 7, 0.99999997908791290832, 0.99999997908791292076},
    {12, 160, 10, 0.04962224021728282307, 0.04962224021728282307},
    {0, 160, 1.5, 0.933192798731141934, 1.0},
};
// clang-format on

}  // namespace

TEST_CASE("noncentral_t: tails agree with mpmath's integrals to 1e-14") {
  REQUIRE(rows.size() == 66);
  for (const Row& r : rows) {
    CAPTURE(r.t);
    CAPTURE(r.degrees_of_freedom);
    CAPTURE(r.noncentrality);
    CHECK(noncentral_t_upper_tail(r.t, r.degrees_of_freedom, r.noncentrality) == within(r.upper, 1e-14));
    CHECK(noncentral_t_outside(r.t, r.degrees_of_freedom, r.noncentrality) == within(r.outside, 1e-14));
    CHECK(noncentral_t_outside(r.t, r.degrees_of_freedom, -r.noncentrality) == within(r.outside, 1e-14));
  }
}

TEST_CASE("noncentral_t: without noncentrality it is Student's t, up to the most degrees of freedom") {
  for (const int nu : {1, 2, 3, 7, 50, 333, 1000})
    for (const double t : {0.0, 0.1, 1.0, 2.5, 40.0}) {
      const double tail = t_upper_tail(t, nu);
      CHECK(noncentral_t_upper_tail(t, nu, 0.0) == within(tail, 1e-14));
      CHECK(noncentral_t_outside(t, nu, 0.0) == within(2.0 * tail, 1e-14));
    }
}

TEST_CASE("noncentral_t: far beyond the range of a square the tails are 0 and 1") {
  for (const int nu : {1, 2, 5, 6}) {
    CHECK(noncentral_t_upper_tail(1e200, nu, 3.0) == within(0.0, 1e-15));
    CHECK(noncentral_t_outside(1e200, nu, 3.0) == within(0.0, 1e-15));
    CHECK(noncentral_t_upper_tail(3.0, nu, 1e150) == 1.0);
    CHECK(noncentral_t_outside(3.0, nu, -1e150) == 1.0);
    CHECK(noncentral_t_upper_tail(3.0, nu, -1e150) == 0.0);
  }
}

TEST_CASE("noncentral_t: what has no tail is refused with what was got") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  CHECK_THROWS_WITH_AS(noncentral_t_upper_tail(1, 0, 1), "noncentral_t: needs 1 to 1000 degrees of freedom, got 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(noncentral_t_outside(1, 1001, 1), "noncentral_t: needs 1 to 1000 degrees of freedom, got 1001",
                       DomainError);
  CHECK_THROWS_WITH_AS(noncentral_t_outside(-1, 3, 1), "noncentral_t: needs a finite t of 0 or more, got -1",
                       DomainError);
  CHECK_THROWS_WITH_AS(noncentral_t_upper_tail(infinity, 3, 1), "noncentral_t: needs a finite t of 0 or more, got inf",
                       DomainError);
  CHECK_THROWS_WITH_AS(noncentral_t_upper_tail(1, 3, NAN), "noncentral_t: needs a finite noncentrality, got nan",
                       DomainError);
}
