#include <shotassay/methods/rounding_aware_power.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

#include "rounded_half_width.hpp"

namespace shotassay {
namespace {

using detail::GroupSpread;

/// Phases that are worked on together, so that the bookkeeping of states is done once for all of them.
constexpr std::size_t lanes = 8;
using Lanes = std::array<double, lanes>;

/// States and cells less likely than this at every phase of a block are left out; what was is in the result's `error`.
constexpr double negligible = 1e-13;

void add_product(Lanes& sum, const Lanes& a, const Lanes& b) {
  for (std::size_t i = 0; i < lanes; ++i) sum[i] += a[i] * b[i];
}

void add(Lanes& sum, const Lanes& x) {
  for (std::size_t i = 0; i < lanes; ++i) sum[i] += x[i];
}

double greatest(const Lanes& x) { return *std::max_element(x.begin(), x.end()); }

/// Chances of the readings first, first + 1, …
struct Cells {
  std::int64_t first;
  std::vector<Lanes> chance;

  Cells(double sd, const Lanes& mean) {
    const double reach = 7.5 * sd + 0.5;  // beyond 7.5 SD: 3e-14
    first = static_cast<std::int64_t>(std::ceil(mean.front() - reach));
    const auto last = static_cast<std::int64_t>(std::floor(mean.back() + reach));
    for (std::int64_t y = first; y <= last; ++y) {
      Lanes chances;
      for (std::size_t i = 0; i < lanes; ++i) {
        // From the nearer tail, so that small chances keep their digits.
        const double distance = std::abs(static_cast<double>(y) - mean[i]);
        chances[i] = detail::fast_upper_tail((distance - 0.5) / sd) - detail::fast_upper_tail((distance + 0.5) / sd);
      }
      chance.push_back(chances);
    }
  }
};

/// floor(s/n)
std::int64_t floor_divided(std::int64_t s, std::int64_t n) { return s >= 0 ? s / n : -((n - 1 - s) / n); }

/// Least sum of squares of `count` whole readings with sum s: as equal as can be.
std::int64_t least_squares(std::int64_t s, std::int64_t count) {
  const std::int64_t q = floor_divided(s, count), r = s - count * q;
  return count * q * q + r * (2 * q + 1);
}

/// The joint law of S and k, k = (Q − least Q of that S)/2, of some readings: a row for each S from `first` on.
class Rows {
 public:
  explicit Rows(const Cells& cells) : first_{cells.first}, mass_{cells.chance} {
    for (std::size_t i = 0; i < mass_.size(); ++i) rows_.push_back({0, 1, i});
  }

  /// One reading more than `count`.
  Rows(const Rows& from, std::int64_t count, const Cells& cells) : first_{from.first_ + cells.first} {
    rows_.resize(from.rows_.size() + cells.chance.size() - 1);
    struct Piece {
      std::size_t source, cell, shift;
    };
    std::vector<Piece> pieces;
    for (std::size_t i = 0; i < from.rows_.size(); ++i) {
      const Row& source = from.rows_[i];
      if (source.end <= source.begin) continue;
      const double heaviest = from.row_total(i);
      const std::int64_t s = from.first_ + static_cast<std::int64_t>(i), least = least_squares(s, count);
      for (std::size_t c = 0; c < cells.chance.size(); ++c) {
        if (heaviest * greatest(cells.chance[c]) < 0.1 * negligible) continue;
        const std::int64_t y = cells.first + static_cast<std::int64_t>(c);
        const auto shift = static_cast<std::size_t>((least + y * y - least_squares(s + y, count + 1)) / 2);
        pieces.push_back({i, c, shift});
        Row& target = rows_[i + c];
        if (target.end == 0) target.begin = source.begin + shift;
        target.begin = std::min(target.begin, source.begin + shift);
        target.end = std::max(target.end, source.end + shift);
      }
    }
    std::size_t states = 0;
    for (Row& row : rows_) {
      row.offset = states;
      states += row.end - row.begin;
    }
    mass_.assign(states, Lanes{});
    for (const Piece& piece : pieces) {
      const Row& source = from.rows_[piece.source];
      const Row& target = rows_[piece.source + piece.cell];
      const Lanes chance = cells.chance[piece.cell];
      const Lanes* in = &from.mass_[source.offset];
      Lanes* out = &mass_[target.offset + source.begin + piece.shift - target.begin];
      for (std::size_t k = source.begin; k < source.end; ++k) add_product(*out++, *in++, chance);
    }
    trim();
  }

  std::int64_t first() const { return first_; }
  std::size_t size() const { return rows_.size(); }

  std::size_t begin(std::size_t row) const { return rows_[row].begin; }
  std::size_t end(std::size_t row) const { return rows_[row].end; }
  const Lanes& mass(std::size_t row, std::size_t k) const { return mass_[rows_[row].offset + k - rows_[row].begin]; }

 private:
  struct Row {
    std::size_t begin = 0, end = 0;  ///< of k
    std::size_t offset = 0;
  };

  double row_total(std::size_t row) const {
    Lanes total{};
    for (std::size_t k = begin(row); k < end(row); ++k)
      for (std::size_t i = 0; i < lanes; ++i) total[i] += mass(row, k)[i];
    return greatest(total);
  }

  void trim() {
    for (std::size_t i = 0; i < rows_.size(); ++i) {
      Row& row = rows_[i];
      while (row.end > row.begin && greatest(mass(i, row.end - 1)) < negligible) --row.end;
      while (row.end > row.begin && greatest(mass(i, row.begin)) < negligible) {
        ++row.begin;
        ++row.offset;
      }
    }
  }

  std::int64_t first_;
  std::vector<Row> rows_;
  std::vector<Lanes> mass_;
};

/// The law of one group at the phases of a block, by class (r, k) and by m, S = r + n·m.
class GroupLaw {
 public:
  GroupLaw(GroupDesign group, const Lanes& mean) {
    const auto n = static_cast<std::size_t>(group.shots);
    const std::int64_t shots = group.shots;
    const Cells cells{group.sd, mean};
    Rows rows{cells};
    for (std::int64_t count = 1; count < shots; ++count) rows = Rows{rows, count, cells};

    std::size_t low = 0, high = rows.size();
    while (rows.end(low) <= rows.begin(low)) ++low;
    while (rows.end(high - 1) <= rows.begin(high - 1)) --high;
    first_ = floor_divided(rows.first() + static_cast<std::int64_t>(low), shots);
    const std::int64_t last = floor_divided(rows.first() + static_cast<std::int64_t>(high) - 1, shots);
    width_ = static_cast<std::size_t>(last - first_ + 1);
    classes_.resize(n);
    const std::int64_t origin = rows.first() - shots * first_;  // row i has S = n·first + origin + i
    for (std::size_t i = low; i < high; ++i) {
      Class& c = classes_[static_cast<std::size_t>(origin + static_cast<std::int64_t>(i)) % n];
      c.levels = std::max(c.levels, rows.end(i));
    }
    std::size_t states = 0;
    for (Class& c : classes_) {
      c.offset = states;
      states += (c.levels + 1) * width_;
    }
    mass_.assign(states, Lanes{});
    below_.assign(states, Lanes{});
    for (std::size_t i = low; i < high; ++i) {
      const auto s = static_cast<std::size_t>(origin + static_cast<std::int64_t>(i));
      const Class& c = classes_[s % n];
      Lanes sum{};
      for (std::size_t k = 0; k <= c.levels; ++k) {
        const std::size_t at = c.offset + k * width_ + s / n;
        below_[at] = sum;
        if (k < rows.begin(i) || k >= rows.end(i)) continue;
        mass_[at] = rows.mass(i, k);
        for (std::size_t lane = 0; lane < lanes; ++lane) sum[lane] += mass_[at][lane];
      }
      for (std::size_t lane = 0; lane < lanes; ++lane) total_[lane] += sum[lane];
    }
  }

  std::int64_t first() const { return first_; }  ///< least m
  std::int64_t last() const { return first_ + static_cast<std::int64_t>(width_) - 1; }
  std::size_t width() const { return width_; }
  std::size_t levels(std::size_t r) const { return classes_[r].levels; }
  const Lanes& total() const { return total_; }

  /// P(r, k, m) for each m, and P(r, less than k, m).
  const Lanes* mass(std::size_t r, std::size_t k) const { return &mass_[classes_[r].offset + k * width_]; }
  const Lanes* below(std::size_t r, std::size_t k) const { return &below_[classes_[r].offset + k * width_]; }

 private:
  struct Class {
    std::size_t levels = 0;  ///< k below this
    std::size_t offset = 0;
  };
  std::int64_t first_;
  std::size_t width_;
  std::vector<Class> classes_;
  std::vector<Lanes> mass_, below_;
  Lanes total_{};
};

using Laws = std::vector<GroupLaw>;  ///< of each block of phases

std::size_t mirrored(std::size_t r, std::size_t n) { return r == 0 ? 0 : n - r; }

/// Most k + 1 over the phases, of r and n − r.
std::size_t levels(const Laws& laws, std::size_t r, std::size_t n) {
  std::size_t most = 0;
  for (const GroupLaw& law : laws) most = std::max({most, law.levels(r), law.levels(mirrored(r, n))});
  return most;
}

std::vector<std::vector<GroupSpread>> spreads(const Laws& laws, GroupDesign group) {
  const auto n = static_cast<std::size_t>(group.shots);
  std::vector<std::vector<GroupSpread>> of(n / 2 + 1);
  for (std::size_t r = 0; r < of.size(); ++r)
    for (std::size_t k = 0; k < levels(laws, r, n); ++k)
      of[r].push_back(detail::group_spread(group.shots, static_cast<double>(r), static_cast<double>(k)));
  return of;
}

/// P(r, k) over both r and n − r, at each phase of a block: [r][k].
std::vector<std::vector<Lanes>> class_masses(const GroupLaw& law, std::size_t n) {
  std::vector<std::vector<Lanes>> of(n / 2 + 1);
  for (std::size_t r = 0; r < of.size(); ++r)
    for (const std::size_t side : {r, mirrored(r, n)}) {
      if (law.levels(side) > of[r].size()) of[r].resize(law.levels(side), Lanes{});
      for (std::size_t k = 0; k < law.levels(side); ++k)
        for (std::size_t m = 0; m < law.width(); ++m) add(of[r][k], law.mass(side, k)[m]);
      if (mirrored(r, n) == r) break;
    }
  return of;
}

/// P(r, k) of both r and n − r, by some measure of its chances at all phases.
template <class Measure>
std::vector<std::vector<double>> class_masses(const Laws& laws, GroupDesign group, const Measure& measure) {
  const auto n = static_cast<std::size_t>(group.shots);
  std::vector<std::vector<double>> of(n / 2 + 1);
  for (const GroupLaw& law : laws) {
    const auto masses = class_masses(law, n);
    for (std::size_t r = 0; r < of.size(); ++r) {
      if (masses[r].size() > of[r].size()) of[r].resize(masses[r].size(), 0.0);
      for (std::size_t k = 0; k < masses[r].size(); ++k) measure(of[r][k], masses[r][k]);
    }
  }
  return of;
}

void take_greatest(double& so_far, const Lanes& chances) { so_far = std::max(so_far, greatest(chances)); }
void take_sum(double& so_far, const Lanes& chances) {
  so_far = std::accumulate(chances.begin(), chances.end(), so_far);
}

/// The phases averaged over: their number N makes e^(−2π²N²/κ), κ = n_a/σ_a² + n_b/σ_b², about 1e-9.
double phase_precision(GroupDesign a, GroupDesign b) {
  return static_cast<double>(a.shots) / (a.sd * a.sd) + static_cast<double>(b.shots) / (b.sd * b.sd);
}
std::size_t phase_blocks(GroupDesign a, GroupDesign b) {
  const double phases = std::sqrt(phase_precision(a, b) * std::log(1e9) / 2.0) / std::numbers::pi;
  return static_cast<std::size_t>(std::ceil(std::clamp(phases, 8.0, 256.0) / static_cast<double>(lanes)));
}

}  // namespace

class RoundingAwarePower::Enumeration {
 public:
  Enumeration(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level)
      : a_{a}, b_{b}, step_{step}, half_width_{a, b, level}, blocks_{phase_blocks(a, b)}, laws_a_{laws(a, 0.0)} {}

  DisplayStep step() const { return step_; }

  /// P(H < limit(difference)), the limit a function of the difference's size.
  template <class Limit>
  PhasePower power(double gap, const Limit& limit) const {
    const double whole = std::floor(gap), part = gap - whole;
    const Laws own = like(part) ? Laws{} : laws(b_, part);
    const Laws& laws_b = like(part) ? laws_a_ : own;
    const auto spread_a = spreads(laws_a_, a_), spread_b = spreads(laws_b, b_);
    const auto mass_a = class_masses(laws_a_, a_, take_greatest),
               tails_b = tails(class_masses(laws_b, b_, take_greatest));
    std::vector<Lanes> sums(blocks_, Lanes{});
    std::vector<double> squares;
    double skipped = 0.0;
    for (std::size_t r = 0; r < spread_a.size(); ++r)
      for (std::size_t s = 0; s < spread_b.size(); ++s) {
        const std::vector<Place> places =
            places_of(r, s, laws_b, [&](double difference) { return limit(whole + difference); });
        for (std::size_t k = 0; k < spread_a[r].size(); ++k) {
          std::size_t classes = spread_b[s].size();
          while (classes > 0 && mass_a[r][k] * tails_b[s][classes - 1] < negligible) --classes;
          if (classes < spread_b[s].size()) skipped += mass_a[r][k] * tails_b[s][classes];
          if (classes == 0) continue;
          squares.resize(classes);
          for (std::size_t l = 0; l < classes; ++l) squares[l] = half_width_(spread_a[r][k], spread_b[s][l]);
          add(sums, places, k, squares, laws_b);
        }
      }
    return summarised(sums, laws_b, skipped);
  }

  template <class Value>
  double over_classes(const Value& value) const {
    const Laws own = like(0.0) ? Laws{} : laws(b_, 0.0);
    const Laws& laws_b = like(0.0) ? laws_a_ : own;
    const auto spread_a = spreads(laws_a_, a_), spread_b = spreads(laws_b, b_);
    const auto mass_a = class_masses(laws_a_, a_, take_sum), mass_b = class_masses(laws_b, b_, take_sum);
    const auto tails_b = tails(mass_b);
    double sum = 0.0, total = 0.0;
    for (std::size_t r = 0; r < spread_a.size(); ++r)
      for (std::size_t k = 0; k < spread_a[r].size(); ++k)
        for (std::size_t s = 0; s < spread_b.size(); ++s)
          for (std::size_t l = 0; l < spread_b[s].size() && mass_a[r][k] * tails_b[s][l] > negligible; ++l) {
            const double mass = mass_a[r][k] * mass_b[s][l];
            sum += mass * value(std::sqrt(half_width_(spread_a[r][k], spread_b[s][l])));
            total += mass;
          }
    return sum / total;
  }

 private:
  /// Is the law of b, moved by this part of a step, that of a?
  bool like(double part) const { return a_.shots == b_.shots && a_.sd == b_.sd && part == 0.0; }

  /// Of each k the chance of k or more.
  static std::vector<std::vector<double>> tails(std::vector<std::vector<double>> masses) {
    for (auto& of_r : masses)
      for (std::size_t k = of_r.size(); k-- > 1;) of_r[k - 1] += of_r[k];
    return masses;
  }

  /// Two residues and a distance m_b − m_a: one size of the difference, and the limit below which H must be.
  struct Place {
    double limit_square;
    std::size_t r, s;
    std::int64_t distance;
  };

  Laws laws(GroupDesign group, double shift) const {
    Laws all;
    for (std::size_t block = 0; block < blocks_; ++block) {
      Lanes mean;
      for (std::size_t i = 0; i < lanes; ++i)
        mean[i] = static_cast<double>(block * lanes + i) / static_cast<double>(blocks_ * lanes) + shift;
      all.emplace_back(group, mean);
    }
    return all;
  }

  /// In ascending order of the limit; places where no H is small enough are left out.
  template <class Limit>
  std::vector<Place> places_of(std::size_t r, std::size_t s, const Laws& laws_b, const Limit& limit) const {
    const auto n = static_cast<std::size_t>(a_.shots), m = static_cast<std::size_t>(b_.shots);
    std::int64_t least = INT64_MAX, most = INT64_MIN;
    for (std::size_t i = 0; i < blocks_; ++i) {
      least = std::min(least, laws_b[i].first() - laws_a_[i].last());
      most = std::max(most, laws_b[i].last() - laws_a_[i].first());
    }
    std::vector<Place> places;
    for (const std::size_t p : {r, mirrored(r, n)}) {
      for (const std::size_t q : {s, mirrored(s, m)}) {
        for (std::int64_t distance = least; distance <= most; ++distance) {
          const double difference =
              static_cast<double>(distance) +
              static_cast<double>(static_cast<std::int64_t>(q * n) - static_cast<std::int64_t>(p * m)) /
                  static_cast<double>(n * m);
          const double bound = limit(difference);
          if (bound > 0.0) places.push_back({bound * bound, p, q, distance});
        }
        if (mirrored(s, m) == s) break;
      }
      if (mirrored(r, n) == r) break;
    }
    std::sort(places.begin(), places.end(),
              [](const Place& x, const Place& y) { return x.limit_square < y.limit_square; });
    return places;
  }

  /// Adds the chance of class k of a, of each place, and of all classes of b whose H is below the place's limit.
  ///
  /// Those are neighbours, and k = 0 perhaps apart from them: for k ≥ 1, where h is 0, each of S and E falls and then
  /// rises with V_b, or only rises. (1/ν is a convex quadratic of s = 1/u², and log t is convex in 1/ν, so log S² is
  /// convex in s.)
  void add(std::vector<Lanes>& sums, const std::vector<Place>& places, std::size_t k,
           const std::vector<double>& squares, const Laws& laws_b) const {
    std::size_t begin = 1;
    for (std::size_t l = 2; l < squares.size(); ++l)
      if (squares[l] < squares[begin]) begin = l;
    std::size_t end = begin;
    for (const Place& place : places) {
      while (end < squares.size() && squares[end] < place.limit_square) ++end;
      while (begin < end && begin > 1 && squares[begin - 1] < place.limit_square) --begin;
      const bool tight = squares[0] < place.limit_square, joined = tight && begin == 1;
      for (std::size_t block = 0; block < blocks_; ++block) {
        if (tight && !joined) add_run(sums[block], place, k, 0, 1, laws_a_[block], laws_b[block]);
        add_run(sums[block], place, k, joined ? 0 : begin, end, laws_a_[block], laws_b[block]);
      }
    }
  }

  static void add_run(Lanes& sums, const Place& place, std::size_t k, std::size_t from, std::size_t to,
                      const GroupLaw& a, const GroupLaw& b) {
    if (k >= a.levels(place.r)) return;
    to = std::min(to, b.levels(place.s));
    if (from >= to) return;
    // m_b = m_a + distance
    const std::int64_t first = std::max(a.first(), b.first() - place.distance);
    const std::int64_t last = std::min(a.last(), b.last() - place.distance);
    if (first > last) return;
    const Lanes* p = a.mass(place.r, k) + (first - a.first());
    const std::int64_t at = first + place.distance - b.first();
    const Lanes* upper = b.below(place.s, to) + at;
    const Lanes* lower = b.below(place.s, from) + at;
    Lanes sum = sums;
    for (std::int64_t m = first; m <= last; ++m, ++p, ++upper, ++lower)
      for (std::size_t i = 0; i < lanes; ++i) sum[i] += (*p)[i] * ((*upper)[i] - (*lower)[i]);
    sums = sum;
  }

  PhasePower summarised(const std::vector<Lanes>& sums, const Laws& laws_b, double skipped) const {
    PhasePower result{.average = 0.0, .worst_phase = 1.0, .error = 0.0};
    double variation = 0.0, before = sums.back().back();
    for (std::size_t block = 0; block < blocks_; ++block)
      for (std::size_t i = 0; i < lanes; ++i) {
        const double power = std::clamp(sums[block][i], 0.0, 1.0);
        result.average += power;
        result.worst_phase = std::min(result.worst_phase, power);
        result.error = std::max(result.error, 1.0 - laws_a_[block].total()[i] * laws_b[block].total()[i]);
        variation += std::abs(power - before);
        before = power;
      }
    const double phases = static_cast<double>(blocks_ * lanes);
    result.average /= phases;
    // The rule over the phases: what its theory says, or what the function's rise and fall allow.
    const double theory =
        2.0 * std::exp(-2.0 * std::numbers::pi * std::numbers::pi * phases * phases / phase_precision(a_, b_));
    result.error += skipped + std::min(theory, variation / phases);
    return result;
  }

  GroupDesign a_, b_;  ///< in steps
  DisplayStep step_;
  detail::HalfWidthSquare half_width_;
  std::size_t blocks_;
  Laws laws_a_;
};

namespace {

/// Upper estimates. Sums reach 7.5 SD on either side and the phases of a block, k the chi-square's tail of 1e-13; with
/// a small SD k is at most about the number of readings beyond the two next to the mean.
WorkCost cost_in_steps(GroupDesign a, GroupDesign b) {
  const double phases = static_cast<double>(lanes * phase_blocks(a, b));
  double rows[2], states[2], classes[2];
  WorkCost cost;
  for (int i = 0; i < 2; ++i) {
    const GroupDesign& g = i == 0 ? a : b;
    const double n = static_cast<double>(g.shots), variance = g.sd * g.sd + 1.0 / 12.0;
    const double beyond = 2.0 * n * std::erfc(0.5 / (g.sd * std::numbers::sqrt2));
    const double wide = variance * (n + 7.4 * std::sqrt(2.0 * n) + 36.0);
    const double narrow = beyond + 7.4 * std::sqrt(2.0 * beyond) + 36.0;
    const double levels = 1.0 + 0.5 * (g.sd < 0.4 ? std::min(wide, narrow) : wide);
    const double cells = 15.0 * g.sd + 2.0, reach = 15.0 * std::sqrt(n) * g.sd;
    rows[i] = 2.0 + reach + n * static_cast<double>(lanes) / phases;
    states[i] = rows[i] * levels;
    classes[i] = (0.5 * n + 1.0) * levels;
    cost.operations += states[i] * cells * n * phases / 3.0;
    cost.bytes += 2.0 * sizeof(double) * (2.0 * n + reach) * levels * (phases + static_cast<double>(lanes));
  }
  cost.operations += states[0] * rows[1] * phases + 10.0 * classes[0] * classes[1];
  return cost;
}

/// What to do instead of a design over the budget.
std::string what_would_fit(GroupDesign a, GroupDesign b, WorkBudget budget) {
  const auto fits = [&](std::int64_t shots) {
    const WorkCost cost = cost_in_steps({shots, a.sd}, {shots, b.sd});
    return cost.operations <= budget.operations && cost.bytes <= budget.bytes;
  };
  std::int64_t shots = 1;
  while (shots + 1 < std::max(a.shots, b.shots) && fits(shots + 1)) ++shots;
  return (shots > 1 ? "With these SDs and this display step up to " + std::to_string(shots) + " shots each would fit"
                    : std::string{"A coarser display would fit"}) +
         "; simulated tests take any number.";
}

}  // namespace

WorkCost rounding_aware_power_cost(GroupDesign a, GroupDesign b, DisplayStep step) {
  return cost_in_steps(detail::in_steps(a, step), detail::in_steps(b, step));
}

bool quadrature_suffices(GroupDesign a, GroupDesign b, DisplayStep step) {
  double bias = 0.0, variance = 0.0;
  for (const GroupDesign& g : {detail::in_steps(a, step), detail::in_steps(b, step)}) {
    const auto n = static_cast<double>(g.shots);
    if (g.shots < 3 || std::pow(std::erf(1.0 / (g.sd * std::numbers::sqrt2)), n) > 0.005) return false;
    bias += std::exp(-2.0 * std::numbers::pi * std::numbers::pi * g.sd * g.sd) / std::numbers::pi;
    variance += (g.sd * g.sd + 1.0 / 12.0) / n;
  }
  return bias <= 0.02 * std::sqrt(variance);
}

RoundingAwarePower::RoundingAwarePower(GroupDesign a, GroupDesign b, DisplayStep step, ConfidenceLevel level,
                                       WorkBudget budget) {
  const GroupDesign from = detail::in_steps(a, step), to = detail::in_steps(b, step);
  const WorkCost cost = cost_in_steps(from, to);
  if (cost.operations > budget.operations || cost.bytes > budget.bytes)
    throw BudgetExceeded{"rounding_aware_power", cost, budget, what_would_fit(from, to, budget)};
  enumeration_ = std::make_shared<const Enumeration>(from, to, step, level);
}

PhasePower RoundingAwarePower::finds(double gap) const {
  const double steps = detail::in_steps("a gap", gap, enumeration_->step());
  return enumeration_->power(steps, [](double difference) { return detail::finding_limit(difference); });
}

PhasePower RoundingAwarePower::same(double gap, double margin) const {
  detail::require_margin("rounding_aware_power", margin);
  const double steps = detail::in_steps("a gap", gap, enumeration_->step());
  const double within = margin / enumeration_->step().value();
  return enumeration_->power(steps, [&](double difference) { return detail::same_limit(difference, within); });
}

double RoundingAwarePower::mean_half_width() const {
  return enumeration_->over_classes([](double h) { return h; }) * enumeration_->step().value();
}

double RoundingAwarePower::half_width_at_most(double width) const {
  if (!(width >= 0.0))
    throw DomainError{"rounding_aware_power: needs a width of 0 or more, got " + std::to_string(width)};
  const double most = width / enumeration_->step().value() * (1.0 + detail::touching);
  return enumeration_->over_classes([&](double h) { return h <= most ? 1.0 : 0.0; });
}

}  // namespace shotassay
