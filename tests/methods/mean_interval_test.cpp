#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <shotassay/methods/mean_interval.hpp>
#include <string>
#include <vector>

using shotassay::ConfidenceLevel;
using shotassay::DomainError;
using shotassay::mean_interval;
using shotassay::NoAnswer;

TEST_CASE("mean interval: the heat-flow-meter factor of the NIST handbook, 195 readings") {
  const Published check{"ehb-zarr13-ci"};
  const auto r = mean_interval(sample_of(reference_column("nist_zarr13.csv")), ConfidenceLevel{0.95});
  CHECK(r.mean == check.expected("mean"));
  CHECK(r.standard_error * std::sqrt(195.0) == check.expected("sd"));
  CHECK(r.degrees_of_freedom == check.value("n") - 1);
  CHECK(r.interval.lower == check.expected("lo"));
  CHECK(r.interval.upper == check.expected("hi"));
  CHECK((r.mean - 5) / r.standard_error == check.expected("t"));
}

TEST_CASE("mean interval: the factor is that of the t table in the Guide to uncertainty, at every level of it") {
  const Published table{"gum-table-g2"};
  const auto rows = table.number_rows("rows");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto nu = static_cast<std::size_t>(rows[i][0]);
    std::vector<std::int64_t> readings(nu + 1, 280);
    readings.back() = 284;
    const auto r = mean_interval(sample(readings), ConfidenceLevel{rows[i][1]});
    CAPTURE(i);
    CHECK(r.interval.half_width() / r.standard_error == table.expected("t" + std::to_string(i + 1)));
  }
}

TEST_CASE("mean interval: Student's ten differences of sleep, against zero") {
  // A paired t is one mean of differences: y − x in tenths, by hand from the data of the check.
  const Published check{"sleep-paired"};
  const auto x = check.numbers("x"), y = check.numbers("y");
  std::vector<std::int64_t> tenths;
  for (std::size_t i = 0; i < x.size(); ++i) tenths.push_back(std::llround(10 * x[i]) - std::llround(10 * y[i]));
  const auto r = mean_interval(decimal_sample(tenths, 1));
  CHECK(r.mean == check.expected("mean_diff"));
  CHECK(r.mean / r.standard_error == check.expected("t"));
  CHECK(r.degrees_of_freedom == check.value("df"));
}

TEST_CASE("mean interval: two shots by hand, where Student's t is Cauchy's law") {
  // 280 284: mean 282, s² = 8, se = 2; ν = 1, t(0.975) = tan(0.475π) = 12.7062
  const auto r = mean_interval(sample({280, 284}));
  CHECK(r.mean == 282);
  CHECK(r.standard_error == digits(2.0, 15));
  CHECK(r.degrees_of_freedom == 1);
  const double t = std::tan(0.475 * 3.14159265358979324);
  CHECK(r.interval.lower == digits(282 - 2 * t, 13));
  CHECK(r.interval.upper == digits(282 + 2 * t, 13));
}

TEST_CASE("mean interval: it scales with the display step and lengthens with the level") {
  const auto whole = mean_interval(sample({281, 284, 282}), ConfidenceLevel{0.9});
  const auto tenth = mean_interval(decimal_sample({281, 284, 282}, 1), ConfidenceLevel{0.9});
  CHECK(tenth.mean == digits(whole.mean / 10, 15));
  CHECK(tenth.interval.half_width() == digits(whole.interval.half_width() / 10, 13));
  CHECK(mean_interval(sample({281, 284, 282}), ConfidenceLevel{0.99}).interval.half_width() >
        whole.interval.half_width());
}

TEST_CASE("mean interval: one shot is refused and equal readings claim no width of 0") {
  CHECK_THROWS_WITH_AS(mean_interval(sample({281})), "mean_interval: needs 2 or more shots, got 1", DomainError);
  CHECK_THROWS_WITH_AS(mean_interval(sample({281, 281, 281})),
                       "mean_interval: all readings are equal, so their SD of 0 tells no width", NoAnswer);
}
