#include <shotassay/numerics/reml.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"
#include "support/published.hpp"

using namespace shotassay;
using namespace shotassay::numerics;

namespace {

const std::vector<double> one_mean = {1};
const std::vector<double> gap = {-1, 1};

NestedGroup group(std::size_t kind, const std::vector<double>& y) {
  NestedGroup g{.kind = kind, .readings = static_cast<double>(y.size()), .mean = 0, .within_squares = 0};
  for (const double x : y) g.mean += x / g.readings;
  for (const double x : y) g.within_squares += (x - g.mean) * (x - g.mean);
  return g;
}

/// Columns "Yield" and "Batch" of a published check: six batches of five, one kind.
std::vector<NestedGroup> batches(const std::vector<double>& yield) {
  std::vector<NestedGroup> groups;
  for (std::size_t i = 0; i < yield.size(); i += 5)
    groups.push_back(
        group(0, {yield.begin() + static_cast<std::ptrdiff_t>(i), yield.begin() + static_cast<std::ptrdiff_t>(i + 5)}));
  return groups;
}

// The columns stand in published.json (davies-dyestuff, box-tiao-dyestuff2), five to a batch.
const std::vector<double> dyestuff = {1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495,
                                      1595, 1550, 1605, 1510, 1560, 1445, 1440, 1595, 1465, 1545,
                                      1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445};
const std::vector<double> dyestuff2 = {7.298, 3.846,  2.434,  9.566, 7.99,  5.22,  6.556, 0.608, 11.788, -0.892,
                                       0.11,  10.386, 13.434, 5.51,  8.166, 2.212, 4.852, 7.092, 9.288,  4.98,
                                       0.282, 9.014,  4.458,  9.446, 7.198, 1.722, 4.782, 8.106, 0.758,  3.758};

/// −2 log restricted likelihood by dense matrices with naive elimination: the density of N − K independent contrasts.
double dense_criterion(const std::vector<std::vector<double>>& groups, const std::vector<std::size_t>& kind,
                       std::size_t kinds, double between, double within) {
  std::vector<double> y;
  std::vector<std::size_t> of;
  for (std::size_t g = 0; g < groups.size(); ++g)
    for (const double x : groups[g]) {
      y.push_back(x);
      of.push_back(g);
    }
  const std::size_t n = y.size();
  // Columns of X, then y, ride along in the elimination of V; Gram matrix of what is left gives X'V⁻¹X, X'V⁻¹y, y'V⁻¹y.
  std::vector<std::vector<double>> v(n, std::vector<double>(n + kinds + 1, 0.0));
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) v[i][j] = (of[i] == of[j] ? between : 0.0) + (i == j ? within : 0.0);
    v[i][n + kind[of[i]]] = 1;
    v[i][n + kinds] = y[i];
  }
  double log_det = 0;
  std::vector<std::vector<double>> gram(kinds + 1, std::vector<double>(kinds + 1, 0.0));
  for (std::size_t i = 0; i < n; ++i) {
    log_det += std::log(v[i][i]);
    for (std::size_t a = 0; a <= kinds; ++a)
      for (std::size_t b = 0; b <= kinds; ++b) gram[a][b] += v[i][n + a] * v[i][n + b] / v[i][i];
    for (std::size_t r = i + 1; r < n; ++r) {
      const double factor = v[r][i] / v[i][i];
      for (std::size_t c = i; c <= n + kinds; ++c) v[r][c] -= factor * v[i][c];
    }
  }
  double residual = 0;
  for (std::size_t i = 0; i <= kinds; ++i) {
    if (i == kinds) residual = gram[i][i];
    if (i < kinds) log_det += std::log(gram[i][i]);
    for (std::size_t r = i + 1; r <= kinds; ++r) {
      const double factor = gram[r][i] / gram[i][i];
      for (std::size_t c = i; c <= kinds; ++c) gram[r][c] -= factor * gram[i][c];
    }
  }
  return log_det + residual + static_cast<double>(n - kinds) * std::log(2 * std::numbers::pi);
}

}  // namespace

TEST_CASE("nested_reml: the dyestuff batches give the published variances, mean, its error and the criterion") {
  const Published check{"davies-dyestuff"};
  const NestedReml r = nested_reml(batches(dyestuff), one_mean);
  CHECK(r.between_variance == check.expected("var_Batch"));
  CHECK(r.within_variance == check.expected("var_Residual"));
  CHECK(r.contrast == check.expected("b0"));
  CHECK(r.standard_error == check.expected("se0"));
  CHECK(r.criterion == check.expected("reml"));
  CHECK_FALSE(r.at_zero);
  CHECK(r.satterthwaite == digits(5, 10));  // the mean's variance is the mean square between batches over 30
  for (const double w : r.weights) CHECK(w == digits(1.0 / 6, 14));
}

TEST_CASE("nested_reml: the second dyestuff data have no variance between batches") {
  const Published check{"box-tiao-dyestuff2"};
  const NestedReml r = nested_reml(batches(dyestuff2), one_mean);
  CHECK(r.between_variance == 0);
  CHECK(r.at_zero);
  CHECK(std::sqrt(r.within_variance) == check.expected("sd_Residual"));
  CHECK(r.contrast == check.expected("b0"));
  CHECK(r.standard_error == check.expected("se0"));
  CHECK(r.criterion == check.expected("reml"));
  CHECK(r.satterthwaite == 29);  // thirty readings taken for independent
}

TEST_CASE(
    "nested_reml: eight laboratories with three results each agree with the precision statistics of the standard") {
  // sr² = within, sR² = between + within; the standard's estimates are the mean squares', REML's at equal numbers.
  for (const std::string material : {"A", "B", "C", "D", "E"}) {
    CAPTURE(material);
    const Published check{"e691-glucose-" + material};
    std::ifstream in{SHOTASSAY_SOURCE_DIR "/data/reference/astm_e691_glucose.csv"};
    std::string line;
    std::getline(in, line);
    std::map<std::string, std::vector<double>> results;
    while (std::getline(in, line)) {
      std::vector<std::string> field{""};
      for (const char c : line)
        if (c == ',')
          field.emplace_back();
        else if (c != '"' && c != '\r')
          field.back().push_back(c);
      if (field.at(1) == material) results[field.at(0)].push_back(std::stod(field.back()));
    }
    REQUIRE(results.size() == 8);
    std::vector<NestedGroup> laboratories;
    for (const auto& [laboratory, y] : results) laboratories.push_back(group(0, y));
    const NestedReml r = nested_reml(laboratories, one_mean);
    CHECK(r.contrast == check.expected("mean"));
    // At material A the mean squares' estimate is negative; the standard then keeps sr, REML takes all for one sample.
    CHECK(r.at_zero == (material == "A"));
    if (r.at_zero) continue;
    CHECK(std::sqrt(r.within_variance) == check.expected("sr"));
    CHECK(std::sqrt(r.within_variance + r.between_variance) == check.expected("sR"));
  }
}

TEST_CASE("nested_reml: with equal numbers the estimates are those of the mean squares") {
  // kind 0: means 2, 5; kind 1: means 11, 12, 16; each group mean ± 1, so within = 2 each, 5 degrees of freedom:
  // σ² = 2.  Between: (1.5² + 1.5²) + (2² + 1² + 3²) = 18.5 on 3; n·18.5/3 = 12.333, τ = (12.333 − 2)/2 = 5.1667
  const std::vector<NestedGroup> groups = {group(0, {1, 3}), group(0, {4, 6}), group(1, {10, 12}), group(1, {11, 13}),
                                           group(1, {15, 17})};
  const NestedReml r = nested_reml(groups, gap);
  CHECK(r.within_variance == digits(2, 11));
  CHECK(r.between_variance == digits((2 * 18.5 / 3 - 2) / 2, 11));
  CHECK(r.contrast == digits(13 - 3.5, 14));
  CHECK(r.standard_error == digits(std::sqrt(18.5 / 3 * (1.0 / 2 + 1.0 / 3)), 11));
  CHECK(r.satterthwaite == digits(3, 10));
}

TEST_CASE("nested_reml: the criterion is the density written with dense matrices, and nothing near it is lower") {
  const std::vector<std::vector<double>> y = {{3, 5, 4}, {9}, {6, 8}, {12, 15, 11, 13}, {7, 7.5}, {16}};
  const std::vector<std::size_t> kind = {0, 0, 0, 1, 1, 1};
  std::vector<NestedGroup> groups;
  for (std::size_t i = 0; i < y.size(); ++i) groups.push_back(group(kind[i], y[i]));
  const NestedReml r = nested_reml(groups, gap);
  CHECK(r.criterion == digits(dense_criterion(y, kind, 2, r.between_variance, r.within_variance), 12));
  for (double f : {0.03, 0.3, 0.9, 0.999, 1.0, 1.001, 1.1, 3.0, 30.0})
    for (double g : {0.3, 0.9, 0.999, 1.0, 1.001, 1.1, 3.0})
      CHECK(dense_criterion(y, kind, 2, f * r.between_variance, g * r.within_variance) >= r.criterion - 1e-11);
  CHECK(dense_criterion(y, kind, 2, 0, r.within_variance) > r.criterion);
  // Satterthwaite from second differences of the dense criterion, f = Σ 1/Σ_g u, u = 1/(τ + σ²/n).
  const auto variance = [&](double tau, double sigma2) {
    double u[2] = {0, 0};
    for (const auto& g : groups) u[g.kind] += 1 / (tau + sigma2 / g.readings);
    return 1 / u[0] + 1 / u[1];
  };
  const auto at = [&](double a, double b) {
    return dense_criterion(y, kind, 2, r.between_variance + a, r.within_variance + b);
  };
  const double h = 1e-3 * r.between_variance, k = 1e-3 * r.within_variance;
  const double tt = (at(h, 0) - 2 * at(0, 0) + at(-h, 0)) / (h * h);
  const double ss = (at(0, k) - 2 * at(0, 0) + at(0, -k)) / (k * k);
  const double ts = (at(h, k) - at(h, -k) - at(-h, k) + at(-h, -k)) / (4 * h * k);
  const double f = variance(r.between_variance, r.within_variance);
  const double ft =
      (variance(r.between_variance + h, r.within_variance) - variance(r.between_variance - h, r.within_variance)) /
      (2 * h);
  const double fs =
      (variance(r.between_variance, r.within_variance + k) - variance(r.between_variance, r.within_variance - k)) /
      (2 * k);
  const double spread = 2 * (ft * ft * ss - 2 * ft * fs * ts + fs * fs * tt) / (tt * ss - ts * ts);
  CHECK(r.standard_error == digits(std::sqrt(f), 12));
  CHECK(r.satterthwaite == digits(2 * f * f / spread, 5));  // second differences are good to the step's square, 1e-6
}

TEST_CASE("nested_reml: weights of a kind's groups sum to 1, and go with the shots when groups do not scatter") {
  const std::vector<NestedGroup> alike = {group(0, {1, 9, 5, 6, 4}), group(0, {5, 5.5}), group(1, {9, 1, 5}),
                                          group(1, {5})};
  const NestedReml r = nested_reml(alike, gap);
  REQUIRE(r.at_zero);
  CHECK(r.weights[0] == digits(5.0 / 7, 14));
  CHECK(r.weights[1] == digits(2.0 / 7, 14));
  CHECK(r.weights[2] == digits(3.0 / 4, 14));
  CHECK(r.satterthwaite == 9);  // 11 readings, 2 kinds
}

TEST_CASE("nested_reml: adding 1e6 to every mean changes nothing to 8 digits, a unit only the scale") {
  std::vector<NestedGroup> groups = {group(0, {3, 5, 4}), group(0, {9}), group(1, {12, 15, 11, 13}),
                                     group(1, {7, 7.5})};
  const NestedReml r = nested_reml(groups, gap);
  auto far = groups, small = groups;
  for (auto& g : far) g.mean += 1e6;
  for (auto& g : small) {
    g.mean *= 1e-100;
    g.within_squares *= 1e-200;
  }
  const NestedReml s = nested_reml(far, gap), u = nested_reml(small, gap);
  CHECK(s.between_variance == digits(r.between_variance, 8));
  CHECK(s.satterthwaite == digits(r.satterthwaite, 8));
  CHECK(s.contrast == digits(r.contrast, 9));
  CHECK(u.satterthwaite == digits(r.satterthwaite, 10));
  CHECK(u.contrast == digits(r.contrast * 1e-100, 12));
  CHECK(u.standard_error == digits(r.standard_error * 1e-100, 10));
}

TEST_CASE("nested_reml: groups a million times as far apart as their readings keep their degrees of freedom") {
  const std::vector<NestedGroup> groups = {group(0, {1e6, 1e6 + 1}), group(0, {-1e6, -1e6 + 1}),
                                           group(1, {3e6, 3e6 + 1}), group(1, {5e6, 5e6 + 1, 5e6 + 2})};
  const NestedReml r = nested_reml(groups, gap);
  CHECK(r.satterthwaite == digits(2, 9));
  CHECK(std::sqrt(r.between_variance) == digits(std::sqrt(2e12), 6));
}

TEST_CASE("between_variance_interval: equal numbers give the interval of Tukey and Williams") {
  // dyestuff: SSB = 56357.5 on 5, SSW = 58830 on 24, n = 5 (published.json: MS 11271.5 = 5·1764.05 + 2451.25, 2451.25)
  // lower SSB(1 − F_u/F)/(n χ²_u), upper with the other quantiles; R: qf(c(.975,.025),5,24), qchisq(c(.975,.025),5)
  const double between = 5 * (5 * 1764.05 + 2451.25), f = (5 * 1764.05 + 2451.25) / 2451.25;
  const double lower = between * (1 - 3.15481634253311 / f) / (5 * 12.8325019940300);
  const double upper = between * (1 - 0.159285378462895 / f) / (5 * 0.831211613486663);
  const Interval i = between_variance_interval(batches(dyestuff), 1, ConfidenceLevel{0.95});
  CHECK(i.lower == digits(lower, 9));
  CHECK(i.upper == digits(upper, 9));
}

TEST_CASE(
    "between_variance_interval: groups that agree by chance leave 0 open below, and not less above than F = 1 does") {
  // upper end with SSB = (B − K)·MSW: (B − K)·MSW·(1 − F_l)/(n χ²_l)
  // dyestuff2: MSW on 24; R: qf(.025, 5, 24), qchisq(.025, 5)
  const auto groups = batches(dyestuff2);
  double within = 0;
  for (const auto& g : groups) within += g.within_squares / 24;
  const Interval i = between_variance_interval(groups, 1, ConfidenceLevel{0.95});
  CHECK(i.lower == 0);
  CHECK(i.upper == digits(5 * within * (1 - 0.159285378462895) / (5 * 0.831211613486663), 9));
  // Exactly alike: MSW = 32 on 3; R: qf(.025, 2, 3), qchisq(.025, 2)
  const std::vector<NestedGroup> alike = {group(0, {1, 9}), group(0, {1, 9}), group(0, {1, 9})};
  const Interval j = between_variance_interval(alike, 1, ConfidenceLevel{0.95});
  CHECK(j.lower == 0);
  CHECK(j.upper == digits(2 * 32 * (1 - 0.0255326789852114) / (2 * 0.0506356159685798), 9));
}

TEST_CASE("between_variance_interval: unequal numbers solve the two equations stated") {
  const std::vector<NestedGroup> groups = {group(0, {3, 5, 4}), group(0, {9}), group(1, {12, 15, 11, 13}),
                                           group(1, {7, 7.5})};
  // SSW = 2 + 8.75 + 0.125 on 6. Q(r) by hand for kind 0: w = 3/(1+3r), 1/(1+r); squares w1·w2/(w1+w2)·(9 − 4)².
  const auto q = [](double r) {
    const auto pair = [](double w, double v, double away) { return w * v / (w + v) * away * away; };
    const double found = pair(3 / (1 + 3 * r), 1 / (1 + r), 5) + pair(4 / (1 + 4 * r), 2 / (1 + 2 * r), 12.75 - 7.25);
    const double shares = (1 / (1 + 3 * r) + 1 / (1 + r) + 1 / (1 + 4 * r) + 1 / (1 + 2 * r)) / 4;
    return std::max(found, 10.875 / 6 * 2 * shares);
  };
  const auto root = [&](double target) {
    double low = 0, high = 1e6;
    for (int i = 0; i < 200; ++i) (q(0.5 * (low + high)) > target ? low : high) = 0.5 * (low + high);
    return low;
  };
  // R: qf(c(.95,.05), 2, 6), qchisq(c(.95,.05), 2)
  const double within = 10.875 / 6;
  const double upper_squares = 2 * 0.051734304573303 * within, lower_squares = 2 * 5.14325284978472 * within;
  const Interval i = between_variance_interval(groups, 2, ConfidenceLevel{0.9});
  CHECK(i.upper == digits(root(upper_squares) * upper_squares / 0.102586588775101, 9));
  CHECK(i.lower == digits(root(lower_squares) * lower_squares / 5.99146454710798, 9));
  CHECK(i.lower > 0);
}

TEST_CASE("within_variance_interval: squares over the quantiles of chi-square") {
  // dyestuff: SSW = 58830 on 24; R: qchisq(c(.975,.025), 24) = 39.3640770266039, 12.4011502174944
  const Interval i = within_variance_interval(batches(dyestuff), ConfidenceLevel{0.95});
  CHECK(i.lower == digits(58830 / 39.3640770266039, 10));
  CHECK(i.upper == digits(58830 / 12.4011502174944, 10));
}

TEST_CASE("nested_reml: what cannot be fitted is refused with the reason") {
  const std::vector<NestedGroup> single = {group(0, {1, 2}), group(1, {3, 5})};
  CHECK_THROWS_WITH_AS(nested_reml(single, gap), "nested_reml: needs more groups than kinds, got 0 more", DomainError);
  const std::vector<NestedGroup> one_each = {group(0, {1}), group(0, {3}), group(1, {4})};
  CHECK_THROWS_WITH_AS(nested_reml(one_each, gap), "nested_reml: needs more readings than groups, got 0 more",
                       DomainError);
  const std::vector<NestedGroup> equal = {group(0, {1, 1}), group(0, {3, 3}), group(1, {4})};
  CHECK_THROWS_WITH_AS(nested_reml(equal, gap), "nested_reml: needs scatter within groups, got a sum of squares of 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(between_variance_interval(equal, 2, ConfidenceLevel{0.95}),
                       "between_variance_interval: needs scatter within groups, got a sum of squares of 0",
                       DomainError);
  CHECK_THROWS_WITH_AS(within_variance_interval(one_each, ConfidenceLevel{0.95}),
                       "within_variance_interval: needs more readings than groups, got 0 more", DomainError);
  CHECK_THROWS_AS(within_variance_interval(equal, ConfidenceLevel{0.95}), DomainError);
  const std::vector<NestedGroup> one_kind = {group(0, {1, 2}), group(0, {3, 5})};
  CHECK_THROWS_WITH_AS(nested_reml(one_kind, gap), "nested_reml: kind 1 has no group", DomainError);
  CHECK_THROWS_WITH_AS(nested_reml(single, one_mean),
                       "nested_reml: group 1 needs a kind below 1, 1 or more readings, a finite mean and squares of 0 "
                       "or more",
                       DomainError);
  CHECK_THROWS_WITH_AS(nested_reml(one_kind, std::vector<double>{0}),
                       "nested_reml: needs a finite contrast other than 0", DomainError);
  auto broken = one_kind;
  broken[0].mean = std::numeric_limits<double>::infinity();
  CHECK_THROWS_AS(nested_reml(broken, one_mean), DomainError);
  broken = one_kind;
  broken[1].within_squares = -1;
  CHECK_THROWS_AS(nested_reml(broken, one_mean), DomainError);
  broken = one_kind;
  broken[1].readings = 0;
  CHECK_THROWS_AS(nested_reml(broken, one_mean), DomainError);
}
