// shotassay_power_errors [SEED]: how far welch_power and welch_equivalence_power are from the same integrals by slower
// rules, over random designs, as a table in Markdown. Over the split of the scatter the trapezoid, five times as fine
// as the library's or finer; over its scale up to five pieces of 100 Gauss-Legendre nodes, which end where a tail
// changes; no finite sum, no interpolated critical value, wider limits. Some minutes.
#include <shotassay/methods/welch_power.hpp>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numbers>
#include <random>

#include <shotassay/numerics/quadrature.hpp>
#include <shotassay/numerics/student_t.hpp>

using namespace shotassay;

namespace {

struct Powers {
  double finds, same;
};

double upper_tail(double z) { return 0.5 * std::erfc(z / std::numbers::sqrt2); }

class SlowPower {
 public:
  SlowPower(GroupDesign a, GroupDesign b, double alpha)
      : nu1_{static_cast<double>(a.shots - 1)},
        nu2_{static_cast<double>(b.shots - 1)},
        nu_{nu1_ + nu2_},
        v1_{a.sd * a.sd / static_cast<double>(a.shots)},
        v2_{b.sd * b.sd / static_cast<double>(b.shots)},
        alpha_{alpha} {
    constexpr double drop = 36.0;  // the weight ends at e^−36 of its peak
    const auto weight = [this](double s) { return log_scale(s); };
    lowest_ = detail::edge_of(weight, 1.0, 0.0, drop);
    highest_ = detail::edge_of(weight, 1.0, 1.0 + 12.0 / std::sqrt(nu_ - 1.0), drop);
    const auto one = [](double) { return 1.0; };
    total_ = piece(lowest_, 1.0, one) + piece(1.0, highest_, one);
  }

  double standard_error() const { return std::sqrt(v1_ + v2_); }

  Powers operator()(double gap, double margin) const {
    const double step = std::min(0.02, 0.1 * std::sqrt(0.5 / nu1_ + 0.5 / nu2_)), peak = 0.5 * std::log(nu1_ / nu2_);
    double weights = 0.0;
    Powers sum{0.0, 0.0};
    const auto added = [&](double u) {
      const double weight = std::exp(log_split(u) - log_split(peak));
      if (weight < 1e-16) return false;
      const Powers at = given_split(u, gap / standard_error(), margin / standard_error());
      weights += weight;
      sum.finds += weight * at.finds;
      sum.same += weight * at.same;
      return true;
    };
    for (int i = 0; added(peak + step * i); ++i) continue;
    for (int i = 1; added(peak - step * i); ++i) continue;
    return {sum.finds / weights / total_, sum.same / weights / total_};
  }

 private:
  /// s over its most likely value.
  double log_scale(double s) const { return (nu_ - 1.0) * (std::log(s) - 0.5 * (s * s - 1.0)); }
  /// u = ½·log(b/(1 − b)).
  double log_split(double u) const {
    return -0.5 * (nu1_ * std::log1p(std::exp(-2.0 * u)) + nu2_ * std::log1p(std::exp(2.0 * u)));
  }

  template <class Function>
  double piece(double from, double to, const Function& f) const {
    if (!(to > from)) return 0.0;
    double sum = 0.0;
    for (std::size_t i = 0; i < rule_.nodes.size(); ++i) {
      const double s = from + 0.5 * (to - from) * (1.0 + rule_.nodes[i]);
      sum += rule_.weights[i] * std::exp(log_scale(s)) * f(s);
    }
    return 0.5 * (to - from) * sum;
  }

  Powers given_split(double u, double lambda, double mu) const {
    const double a = v1_ / (1.0 + std::exp(-2.0 * u)) / nu1_, b = v2_ / (1.0 + std::exp(2.0 * u)) / nu2_, sum = a + b;
    const double freedom = sum * sum / (a * a / nu1_ + b * b / nu2_);
    const double factor = numerics::t_two_sided_factor(alpha_, freedom) * std::sqrt(nu_ * sum / (v1_ + v2_)) *
                          std::sqrt((nu_ - 1.0) / nu_);
    const auto finds = [&](double s) { return upper_tail(factor * s - lambda) + upper_tail(factor * s + lambda); };
    const auto same = [&](double s) {
      return std::max(0.0, 1.0 - upper_tail(mu - lambda - factor * s) - upper_tail(mu + lambda - factor * s));
    };
    constexpr double flat = 9.0;
    const auto at = [&](double x, double most) { return std::clamp(x / factor, lowest_, most); };
    const double c0 = at(lambda - flat, highest_), c1 = at(lambda, highest_), c2 = at(lambda + flat, highest_);
    const double first = std::min(1.0, c0);
    const double room = at(mu, highest_), k0 = at(mu - lambda - flat, room), k1 = at(mu - lambda, room);
    return {piece(lowest_, first, finds) + piece(first, c0, finds) + piece(c0, c1, finds) + piece(c1, c2, finds) +
                piece(c2, highest_, finds),
            piece(lowest_, k0, same) + piece(k0, k1, same) + piece(k1, room, same)};
  }

  numerics::QuadratureRule rule_ = numerics::gauss_legendre(100);
  double nu1_, nu2_, nu_, v1_, v2_, alpha_;
  double lowest_ = 0.0, highest_ = 0.0, total_ = 1.0;
};

struct Kind {
  int fewest, most;    ///< shots of a set-up
  double largest_gap;  ///< in standard errors of the gap
};

}  // namespace

int main(int count, char** words) {
  std::mt19937 random{static_cast<std::mt19937::result_type>(count > 1 ? std::atoi(words[1]) : 1)};
  const auto between = [&](double low, double high) {
    return low + (high - low) * (static_cast<double>(random()) / 4294967296.0);
  };
  constexpr double alphas[] = {0.2, 0.1, 0.05, 0.01};
  constexpr int designs = 300;
  std::puts("| shots | gaps | designs | worst error, power | worst error, equivalence | above their estimate |");
  std::puts("|---|---|--:|--:|--:|--:|");
  for (const Kind kind : {Kind{4, 30, 8}, Kind{2, 6, 8}, Kind{2, 2000, 8}, Kind{2, 6, 60}, Kind{2, 200, 60}}) {
    double worst = 0.0, worst_same = 0.0;
    int above = 0;
    for (int i = 0; i < designs; ++i) {
      const auto group = [&] {
        const auto shots = std::llround(std::exp(between(std::log(kind.fewest), std::log(kind.most))));
        return GroupDesign{shots, std::exp(between(-1.5, 1.5))};
      };
      const GroupDesign a = group(), b = group();
      const double alpha = alphas[random() % 4];
      const SlowPower slow{a, b, alpha};
      const double gap = between(0.0, kind.largest_gap) * slow.standard_error();
      const double margin = gap + between(0.0, kind.largest_gap) * slow.standard_error();
      const Powers reference = slow(gap, margin);
      const ConfidenceLevel level = ConfidenceLevel::from_alpha(alpha);
      const PowerResult finds = welch_power(gap, a, b, level);
      const PowerResult same = welch_equivalence_power(gap, margin, a, b, level);
      const double error = std::abs(finds.power - reference.finds), error_same = std::abs(same.power - reference.same);
      worst = std::max(worst, error);
      worst_same = std::max(worst_same, error_same);
      above += (error > finds.error_estimate) + (error_same > same.error_estimate);
    }
    std::printf("| %d to %d | to %g τ | %d | %.0e | %.0e | %d |\n", kind.fewest, kind.most, kind.largest_gap, designs,
                worst, worst_same, above);
    std::fflush(stdout);
  }
}
