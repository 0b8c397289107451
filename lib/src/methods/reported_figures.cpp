#include <shotassay/methods/reported_figures.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>

#include <shotassay/core/errors.hpp>

#include "lattice_figures.hpp"

namespace shotassay {
namespace detail {
namespace {

constexpr std::int64_t most_shots = 1000;
constexpr std::int64_t endless = std::int64_t{1} << 60;  ///< beyond every sum of readings that is let in
constexpr WholeRange nothing{1, 0};

constexpr std::size_t index(std::int64_t i) { return static_cast<std::size_t>(i); }

/// ⌊√x⌋ of x ≥ 0.
std::int64_t whole_root(WideInteger x) {
  auto root = static_cast<std::int64_t>(std::sqrt(ratio(x, 1)));
  while (WideInteger{root} * root > x) --root;
  while (WideInteger{root + 1} * (root + 1) <= x) ++root;
  return root;
}

enum class Ends { included, left_out };

/// Whole x with p ≤ q·x ≤ r; without the ends p < q·x < r.
WholeRange whole_between(WideInteger p, WideInteger r, WideInteger q, Ends ends) {
  const bool in = ends == Ends::included;
  return {static_cast<std::int64_t>(in ? ceiling_ratio(p, q) : floor_ratio(p, q) + 1),
          static_cast<std::int64_t>(in ? floor_ratio(r, q) : ceiling_ratio(r, q) - 1)};
}

WholeRange sums_between(Decimal average, int from, int to, std::int64_t shots, DisplayStep step, Ends ends) {
  const int finer = step.size().decimals() - average.decimals();
  const WideInteger factor = WideInteger{shots} * Decimal::power_of_ten(std::max(0, finer));
  const WideInteger divisor = WideInteger{2} * step.size().coefficient() * Decimal::power_of_ten(std::max(0, -finer));
  const WideInteger twice = WideInteger{2} * average.coefficient();
  return whole_between((twice + from) * factor, (twice + to) * factor, divisor, ends);
}

WholeRange deviations_between(Decimal sd, int from, int to, std::int64_t shots, SdDivisor divisor, DisplayStep step,
                              Ends ends) {
  const WideInteger squared = WideInteger{shots} * (divisor == SdDivisor::n ? shots : shots - 1);
  if (squared == 0) return nothing;  // one shot has no such SD
  const int finer = step.size().decimals() - sd.decimals();
  const WideInteger c = step.size().coefficient();
  const WideInteger scale = Decimal::power_of_ten(std::abs(finer));
  const WideInteger below = 4 * c * c * (finer < 0 ? scale * scale : 1);
  // From below 0 is from 0 on, that included: an SD of 0 is no end of the range.
  const auto square = [&](int halves) {
    const WideInteger x = WideInteger{2} * sd.coefficient() + halves;
    const WideInteger scaled = x * (finer > 0 ? scale : 1);
    return x < 0 ? WideInteger{-1} : scaled * scaled * squared;
  };
  if (square(to) < 0) return nothing;
  return whole_between(square(from), square(to), below, ends);
}

WholeRange steps_near(Decimal figure, DisplayStep step) { return sums_between(figure, -1, 1, 1, step, Ends::included); }

std::optional<std::int64_t> exact_steps(Decimal reading, DisplayStep step) {
  const WholeRange at = sums_between(reading, 0, 0, 1, step, Ends::included);
  return at.empty() ? std::nullopt : std::optional{at.from};
}

WholeRange both(WholeRange a, WholeRange b) { return {std::max(a.from, b.from), std::min(a.to, b.to)}; }
WholeRange mirrored(WholeRange a) { return {-a.to, -a.from}; }

/// x → −x: what holds of a greatest reading alone is then said of a least one.
LatticeFigures mirrored(const LatticeFigures& f) {
  LatticeFigures m = f;
  if (f.sum) m.sum = mirrored(*f.sum);
  m.low.reset();
  m.high.reset();
  if (f.high) m.low = mirrored(*f.high);
  if (f.low) m.high = mirrored(*f.low);
  std::transform(f.known.rbegin(), f.known.rend(), m.known.begin(), [](std::int64_t x) { return -x; });
  return m;
}

/// Where sets of readings may lie: the lowest reading L and how far the highest is above it, w.
///
/// Requires  figures that name a least reading wherever they name a greatest.
class Room {
 public:
  explicit Room(const LatticeFigures& figures) : f_{figures} {
    const std::int64_t n = f_.shots, known = static_cast<std::int64_t>(f_.known.size());
    placed_ = f_.sum || f_.low || known > 0;
    for (const auto* range : {&f_.sum, &f_.deviations, &f_.low, &f_.high, &f_.spread})
      if (*range && (*range)->empty()) impossible_ = true;
    if (!f_.known_on_lattice || known > n) impossible_ = true;
    if (impossible_) return;

    if (n == 1) widths_.to = 0;
    if (f_.spread) widths_ = both(widths_, *f_.spread);
    if (f_.low && f_.high) widths_ = both(widths_, {f_.high->from - f_.low->to, f_.high->to - f_.low->from});
    if (f_.deviations) {
      const WideInteger least = WideInteger{4} * f_.deviations->from;  // D ≤ n²w²/4
      std::int64_t narrowest = whole_root(std::max<WideInteger>(0, least)) / n;
      while (WideInteger{narrowest} * narrowest * n * n < least) ++narrowest;
      widths_ = both(widths_, {narrowest, whole_root(WideInteger{2} * f_.deviations->to / n)});
    }
    if (f_.sum && f_.low) widths_.to = std::min(widths_.to, f_.sum->to - n * f_.low->from);
    if (known > 0) {
      const std::int64_t apart = f_.known.back() - f_.known.front();
      widths_.from = std::max(widths_.from, apart);
      if (known == n) widths_.to = std::min(widths_.to, apart);
      if (known == n - 1 && f_.sum) {
        std::int64_t total = 0;
        for (const std::int64_t x : f_.known) total += x;
        widths_.to = std::min(widths_.to, std::max(f_.known.back(), f_.sum->to - total) -
                                              std::min(f_.known.front(), f_.sum->from - total));
      }
    }
    impossible_ = widths_.empty() || (bounded() && placed_ && sums().empty());
  }

  bool impossible() const { return impossible_; }
  bool placed() const { return placed_; }
  bool bounded() const { return widths_.to < endless; }
  WholeRange widths() const { return widths_; }

  /// Where the lowest reading may lie when the highest is w above it.
  WholeRange lowest(std::int64_t w) const {
    const std::int64_t n = f_.shots;
    WholeRange at{-endless, endless};
    if (f_.low) at = both(at, *f_.low);
    if (f_.high) at = both(at, {f_.high->from - w, f_.high->to - w});
    if (!f_.known.empty()) at = both(at, {f_.known.back() - w, f_.known.front()});
    if (f_.sum) {
      const WideInteger others = WideInteger{n - 1} * w;
      at = both(at, {static_cast<std::int64_t>(ceiling_ratio(f_.sum->from - others, n)),
                     static_cast<std::int64_t>(floor_ratio(WideInteger{f_.sum->to} - w, n))});
    }
    return at;
  }

  /// Sums that sets in here may have.
  WholeRange sums() const {
    if (f_.sum) return *f_.sum;
    const WholeRange widest = lowest(widths_.to);
    return {f_.shots * widest.from, f_.shots * (widest.to + widths_.to)};
  }

  /// No reading beside the lowest lies higher above it, all together.
  std::int64_t most_above() const { return std::max<std::int64_t>(0, sums().to - f_.shots * lowest(widths_.to).from); }

  /// Most readings that are neither known nor an end.
  std::int64_t most_free() const {
    return std::max<std::int64_t>(0, f_.shots - std::max<std::int64_t>(2, static_cast<std::int64_t>(f_.known.size())));
  }

  std::int64_t most_deviations() const {
    const WideInteger widest = WideInteger{f_.shots} * f_.shots * widths_.to * widths_.to / 4;
    return static_cast<std::int64_t>(f_.deviations ? std::min<WideInteger>(widest, f_.deviations->to) : widest);
  }

 private:
  const LatticeFigures& f_;
  bool impossible_ = false, placed_ = false;
  WholeRange widths_{0, endless};
};

/// What every set with these ends has for certain: known readings, and the ends where no known one is there.
/// Counted from the lowest.
struct FixedReadings {
  std::int64_t count = 0, sum = 0, squares = 0;

  FixedReadings(const LatticeFigures& f, std::int64_t lowest, std::int64_t w) {
    for (const std::int64_t x : f.known) add(x - lowest);
    if (f.known.empty() || f.known.front() != lowest) add(0);
    if (w > 0 && (f.known.empty() || f.known.back() != lowest + w)) add(w);
  }

 private:
  void add(std::int64_t above) {
    ++count;
    sum += above;
    squares += above * above;
  }
};

/// Multisets of j readings from 0 … v, counted by sum s and sum of squares q, for all j at once; v grows.
///
/// A row (j, s) starts at the least q that s allows, whose parity all q of the row share. Rows end where the spread
/// or the deviations of the whole set would be passed: those of a part around its own mean are never more.
class MultisetTable {
 public:
  MultisetTable(const Room& room, std::int64_t shots)
      : widest_{room.widths().to}, shots_{shots}, most_deviations_{room.most_deviations()} {
    for (std::int64_t j = 0; j <= room.most_free(); ++j) {
      std::vector<std::size_t> starts{0};
      for (std::int64_t s = 0; s <= std::min(j * widest_, room.most_above()); ++s)
        starts.push_back(starts.back() + index(width(j, s, widest_)));
      counts_.emplace_back(starts.back(), 0);
      starts_.push_back(std::move(starts));
    }
    counts_[0][0] = 1;
  }

  static std::int64_t least_squares(std::int64_t j, std::int64_t s) {
    return j == 0 ? 0 : (s * s + least_deviations(s, j)) / j;
  }

  std::int64_t last_sum(std::int64_t j) const { return static_cast<std::int64_t>(starts_[index(j)].size()) - 2; }
  const WideInteger* row(std::int64_t j, std::int64_t s) const {
    return counts_[index(j)].data() + starts_[index(j)][index(s)];
  }

  /// Entries of a row that can be more than 0 with readings from 0 … v.
  std::int64_t width(std::int64_t j, std::int64_t s, std::int64_t v) const {
    if (s > j * v) return 0;
    if (j == 0) return 1;
    const std::int64_t at_top = v == 0 ? 0 : s / v, rest = v == 0 ? 0 : s % v;
    const std::int64_t deviations = static_cast<std::int64_t>(WideInteger{j} * most_deviations_ / shots_);
    const std::int64_t most = std::min(at_top * v * v + rest * rest, (s * s + deviations) / j);
    const std::int64_t least = least_squares(j, s);
    return most < least ? 0 : (most - least) / 2 + 1;
  }

  /// From 0 … v − 1 to 0 … v: sets of j with at least one v are the sets of j − 1 with a v added.
  void add_value(std::int64_t v) {
    for (std::int64_t j = 1; j < static_cast<std::int64_t>(counts_.size()); ++j)
      for (std::int64_t s = v; s <= std::min(last_sum(j), j * v); ++s) {
        const std::int64_t shift = (least_squares(j - 1, s - v) + v * v - least_squares(j, s)) / 2;
        const std::int64_t entries = std::min(width(j - 1, s - v, v), width(j, s, v) - shift);
        const WideInteger* const from = row(j - 1, s - v);
        WideInteger* const to = counts_[index(j)].data() + starts_[index(j)][index(s)] + shift;
        for (std::int64_t k = 0; k < entries; ++k) to[k] = (Tally{to[k]} + Tally{from[k]}).value();
      }
  }

 private:
  std::int64_t widest_, shots_, most_deviations_;
  std::vector<std::vector<std::size_t>> starts_;  ///< of each j: where each row begins, and the end
  std::vector<std::vector<WideInteger>> counts_;
};

/// Entries of the table for readings from 0 … v: with sv − s²/j less what a reading between costs, v²/6 on average,
/// half of it summed over s is j(j − 1)v³/12. Less where sums or deviations end sooner.
double table_entries(const Room& room, std::int64_t shots, double v) {
  const double n = static_cast<double>(shots), above = static_cast<double>(room.most_above());
  const double scatter = static_cast<double>(room.most_deviations()) / (2.0 * n) + 1.0;
  double entries = 1.0;
  for (double j = 1.0; j <= static_cast<double>(room.most_free()); ++j) {
    const double rows = std::min(j * v, above) + 1.0;
    entries += std::min({j * (j - 1.0) * v * v * v / 12.0 + rows, 0.25 * rows * rows * v + rows, scatter * rows});
  }
  return entries;
}

WorkCost cost_of(const Room& room, std::int64_t shots) {
  if (room.impossible()) return {};
  const WholeRange widths = room.widths();
  const double widest = static_cast<double>(widths.to), n = static_cast<double>(shots);
  if (widest * static_cast<double>(room.most_free() + 1) > 1e8) return {.operations = widest * n * 1e3, .bytes = 0};
  double operations = 0.0;
  const double sums = static_cast<double>(room.sums().to - room.sums().from) + 1.0;
  const double scatter = static_cast<double>(room.most_deviations()) / (2.0 * n) + 1.0;
  // D from nw²/2 of the least w on.
  const double kept = scatter - 0.25 * static_cast<double>(widths.from) * static_cast<double>(widths.from);
  const double rest = static_cast<double>(room.most_free());
  const double longest = rest > 1.0 ? rest / 8.0 : 0.0;  ///< row, in v²
  for (std::int64_t w = 0; w <= widths.to; ++w) {
    const double v = static_cast<double>(w);
    if (rest > 0.0) operations += table_entries(room, shots, v);
    const WholeRange lowest = room.lowest(w);
    if (w < widths.from || lowest.empty()) continue;
    const double rows = std::min({rest * v, sums, static_cast<double>(room.most_above())}) + 1.0;
    operations += (static_cast<double>(lowest.to - lowest.from) + 1.0) *
                  (10.0 + rows * (5.0 + std::min(scatter, longest * v * v + 1.0)));
  }
  return {.operations = operations,
          .bytes = sizeof(WideInteger) * (table_entries(room, shots, widest) + sums * std::max(1.0, kept))};
}

void require_room(const Room& room, std::int64_t shots, WorkBudget budget, double spent) {
  WorkCost cost = cost_of(room, shots);
  cost.operations += spent;
  require_within("reading_sets: counting the sets of " + std::to_string(shots) + " readings that span up to " +
                     std::to_string(room.widths().to) + " display steps",
                 cost, budget, "A printed SD, spread, low or high, or a larger budget would fit.");
}

/// Counts of sets by state. The D of one sum lie 2n apart, from the least that is possible here.
class StateCounts {
 public:
  StateCounts(const Room& room, std::int64_t shots, WholeRange deviations)
      : shots_{shots}, sums_{room.sums()}, deviations_{deviations}, rows_(index(sums_.to - sums_.from + 1)) {
    first_ = std::max(deviations.from, shots * room.widths().from * room.widths().from / 2);  // D ≥ nw²/2
  }

  /// `sets[k]` more sets with sum S and deviations D + 2nk, k from 0 to `entries`.
  void add(std::int64_t sum, std::int64_t deviations, const WideInteger* sets, std::int64_t entries) {
    const std::int64_t apart = 2 * shots_;
    const std::int64_t skipped =
        deviations >= deviations_.from ? 0 : (deviations_.from - deviations + apart - 1) / apart;
    const std::int64_t end =
        deviations > deviations_.to ? 0 : std::min(entries, (deviations_.to - deviations) / apart + 1);
    if (skipped >= end) return;
    std::vector<WideInteger>& row = rows_[index(sum - sums_.from)];
    const std::int64_t place = (deviations - first(sum)) / apart;
    if (static_cast<std::int64_t>(row.size()) < place + end) row.resize(index(place + end), 0);
    for (std::int64_t k = skipped; k < end; ++k)
      row[index(place + k)] = (Tally{row[index(place + k)]} + Tally{sets[k]}).value();
  }

  std::vector<ReadingState> states() const {
    std::vector<ReadingState> states;
    for (std::int64_t sum = sums_.from; sum <= sums_.to; ++sum) {
      std::int64_t deviations = first(sum);
      for (const WideInteger sets : rows_[index(sum - sums_.from)]) {
        if (sets != 0) states.push_back({sum, deviations, sets});
        deviations += 2 * shots_;
      }
    }
    return states;
  }

 private:
  /// The largest D not above `first_` that this sum could have; its least where that is above.
  std::int64_t first(std::int64_t sum) const {
    const std::int64_t least = least_deviations(sum, shots_);
    return least + std::max<std::int64_t>(0, first_ - least) / (2 * shots_) * (2 * shots_);
  }

  std::int64_t shots_;
  WholeRange sums_, deviations_;
  std::int64_t first_;
  std::vector<std::vector<WideInteger>> rows_;
};

/// Every state of the sets in a bounded and placed room.
std::vector<ReadingState> states_in(const Room& room, const LatticeFigures& f) {
  const std::int64_t n = f.shots;
  const WholeRange sums = room.sums(), widths = room.widths();
  StateCounts counts{room, n, f.deviations ? *f.deviations : WholeRange{0, endless}};
  const WideInteger one = 1;
  MultisetTable table{room, n};
  for (std::int64_t w = 0; w <= widths.to; ++w) {
    table.add_value(w);
    if (w < widths.from) continue;
    const WholeRange lowest = room.lowest(w);
    for (std::int64_t low = lowest.from; low <= lowest.to; ++low) {
      const FixedReadings fixed{f, low, w};
      const std::int64_t free = n - fixed.count, base = n * low + fixed.sum;
      if (w == 0 && sums.contains(n * low)) counts.add(n * low, 0, &one, 1);
      if (w == 0 || free < 0) continue;
      const std::int64_t last = std::min(table.last_sum(free), sums.to - base);
      for (std::int64_t s = std::max<std::int64_t>(0, sums.from - base); s <= last; ++s) {
        const std::int64_t above = s + fixed.sum, squares = table.least_squares(free, s) + fixed.squares;
        counts.add(base + s, n * squares - above * above, table.row(free, s), table.width(free, s, w));
      }
    }
  }
  return counts.states();
}

/// Is there a set in a room without bound? Readings then may lie as far out as they like, on one side at least, so
/// every sum that was printed is reached.
bool endless_room_holds_a_set(const LatticeFigures& f) {
  return !f.low || f.known.empty() || f.low->from <= f.known.front();
}

/// The figures so that a greatest reading is never named without a least one.
LatticeFigures turned(const LatticeFigures& f) { return f.high && !f.low ? mirrored(f) : f; }

/// Figures that say how the readings scatter and not where they lie, put at 0.
LatticeFigures put_at_zero(LatticeFigures f) {
  f.low = WholeRange{0, 0};
  return f;
}

std::vector<ReadingState> states_of(const LatticeFigures& figures, WorkBudget budget) {
  const LatticeFigures f = turned(figures);
  const Room room{f};
  if (room.impossible()) return {};
  require_room(room, f.shots, budget, 0.0);
  std::vector<ReadingState> states = states_in(room, f);
  if (figures.high && !figures.low) {
    for (ReadingState& state : states) state.sum = -state.sum;
    std::sort(states.begin(), states.end(), [](const ReadingState& a, const ReadingState& b) {
      return a.sum != b.sum ? a.sum < b.sum : a.deviations < b.deviations;
    });
  }
  return states;
}

std::optional<Interval> sd_range(const std::vector<ReadingState>& states, std::int64_t shots, DisplayStep step) {
  if (states.empty() || shots < 2) return std::nullopt;
  const auto [least, most] =
      std::minmax_element(states.begin(), states.end(),
                          [](const ReadingState& a, const ReadingState& b) { return a.deviations < b.deviations; });
  return Interval{.lower = sd_of(least->deviations, shots, step), .upper = sd_of(most->deviations, shots, step)};
}

/// Does a set print as reported only because an exact half was rounded?
class Ties {
 public:
  explicit Ties(const ReportedFigures& r) {
    if (r.average) sums_ = sums_between(*r.average, -1, 1, r.shots, r.display_step, Ends::left_out);
    if (r.sd) deviations_ = deviations_between(*r.sd, -1, 1, r.shots, r.sd_divisor, r.display_step, Ends::left_out);
  }
  bool of_sum(std::int64_t sum) const { return sums_ && !sums_->contains(sum); }
  bool of(const ReadingState& s) const {
    return of_sum(s.sum) || (deviations_ && !deviations_->contains(s.deviations));
  }

 private:
  std::optional<WholeRange> sums_, deviations_;
};

ReadingSets sets_of(const ReportedFigures& reported, const LatticeFigures& f, WorkBudget budget) {
  const std::int64_t n = f.shots;
  const DisplayStep step = reported.display_step;
  const Ties ties{reported};
  ReadingSets result{.shots = n,
                     .possible = false,
                     .sets = Tally{0},
                     .mean = std::nullopt,
                     .sums = std::nullopt,
                     .sd = std::nullopt,
                     .states = {}};
  const auto place = [&](std::int64_t least, std::int64_t greatest) {
    result.sums = ReadingSums{least, greatest};
    result.mean = Interval{.lower = step.times(least, n), .upper = step.times(greatest, n)};
  };
  const LatticeFigures one_way = turned(f);
  const Room room{one_way};
  if (room.impossible()) return result;
  if (!room.bounded()) {
    result.possible = endless_room_holds_a_set(one_way);
    if (!result.possible) return result;
    result.sets.reset();
    if (f.sum) {
      place(f.sum->from, f.sum->to);
      result.only_by_a_tie = true;
      for (std::int64_t sum = f.sum->from; sum <= f.sum->to && result.only_by_a_tie; ++sum)
        result.only_by_a_tie = ties.of_sum(sum);
    }
    return result;
  }
  result.states = states_of(room.placed() ? f : put_at_zero(f), budget);
  result.possible = !result.states.empty();
  if (!result.possible) return result;
  result.sd = sd_range(result.states, n, step);
  result.only_by_a_tie =
      std::all_of(result.states.begin(), result.states.end(), [&](const ReadingState& s) { return ties.of(s); });
  if (!room.placed()) {
    result.sets.reset();
    result.states.clear();
    return result;
  }
  for (const ReadingState& state : result.states) *result.sets += state.sets;
  place(result.states.front().sum, result.states.back().sum);
  return result;
}

void require_figure(const char* what, const std::optional<Decimal>& figure, DisplayStep step, double most_steps,
                    bool signed_figure) {
  if (!figure) return;
  const std::string who = std::string{"reading_sets: "} + what;
  if (figure->decimals() > 9 || std::abs(figure->coefficient()) >= Decimal::power_of_ten(12))
    throw DomainError{who + " needs at most 12 digits and 9 decimals, got " + figure->text()};
  if (!signed_figure && figure->coefficient() < 0)
    throw DomainError{who + " must not be negative, got " + figure->text()};
  const double unit = 1.0 / static_cast<double>(Decimal::power_of_ten(figure->decimals()));
  if ((std::abs(figure->value()) + unit) / step.value() > most_steps)
    throw DomainError{who + " of " + figure->text() + " is too many display steps of " + step.size().text()};
}

}  // namespace

void require_figures(const ReportedFigures& r) {
  if (r.shots < 1 || r.shots > most_shots)
    throw DomainError{"reading_sets: needs 1 to 1000 shots, got " + std::to_string(r.shots)};
  if (r.display_step.size().decimals() > 9)
    throw DomainError{"reading_sets: needs a display step of at most 9 decimals, got " + r.display_step.size().text()};
  if (!r.average && !r.sd && !r.low && !r.high && !r.spread && r.readings.empty())
    throw DomainError{"reading_sets: needs at least one printed figure"};
  require_figure("an average", r.average, r.display_step, 1e9, true);
  require_figure("an SD", r.sd, r.display_step, 1e6, false);
  require_figure("a low", r.low, r.display_step, 1e9, true);
  require_figure("a high", r.high, r.display_step, 1e9, true);
  require_figure("a spread", r.spread, r.display_step, 1e9, false);
  for (const Decimal& reading : r.readings) require_figure("a reading", reading, r.display_step, 1e9, true);
}

LatticeFigures lattice_figures(const ReportedFigures& r) {
  LatticeFigures f{.shots = r.shots};
  const DisplayStep step = r.display_step;
  if (r.average) f.sum = sums_near(*r.average, -1, 1, r.shots, step);
  if (r.sd) f.deviations = deviations_near(*r.sd, -1, 1, r.shots, r.sd_divisor, step);
  if (r.low) f.low = steps_near(*r.low, step);
  if (r.high) f.high = steps_near(*r.high, step);
  if (r.spread) f.spread = steps_near(*r.spread, step);
  for (const Decimal& reading : r.readings) {
    const auto at = exact_steps(reading, step);
    if (at) f.known.push_back(*at);
    f.known_on_lattice = f.known_on_lattice && at;
  }
  std::sort(f.known.begin(), f.known.end());
  return f;
}

WholeRange sums_near(Decimal average, int from_halves, int to_halves, std::int64_t shots, DisplayStep step) {
  return sums_between(average, from_halves, to_halves, shots, step, Ends::included);
}

WholeRange deviations_near(Decimal sd, int from_halves, int to_halves, std::int64_t shots, SdDivisor divisor,
                           DisplayStep step) {
  return deviations_between(sd, from_halves, to_halves, shots, divisor, step, Ends::included);
}

double sd_of(std::int64_t deviations, std::int64_t shots, DisplayStep step) {
  return std::sqrt(ratio(deviations, WideInteger{shots} * (shots - 1))) * step.value();
}

bool some_reading_set(const LatticeFigures& figures, WorkBudget budget, double& spent) {
  LatticeFigures f = turned(figures);
  {
    const Room room{f};
    if (room.impossible()) return false;
    if (!room.bounded()) return endless_room_holds_a_set(f);
    if (!room.placed()) f = put_at_zero(f);
  }
  const Room room{f};
  if (room.impossible()) return false;
  const std::int64_t n = f.shots;
  if (f.deviations) {
    // Most figures that cannot be have no D at all for any of their sums.
    bool some = false;
    const WholeRange sums = room.sums();
    for (std::int64_t sum = sums.from; sum <= sums.to && sum < sums.from + n && !some; ++sum) {
      const std::int64_t least = least_deviations(sum, n);
      const WideInteger above =
          std::max<WideInteger>(0, ceiling_ratio(WideInteger{f.deviations->from} - least, WideInteger{2} * n));
      some = least + WideInteger{2} * n * above <= f.deviations->to;
    }
    if (!some) return false;
    require_room(room, n, budget, spent);
    spent += cost_of(room, n).operations;
    return !states_in(room, f).empty();
  }
  // Without an SD the free readings, each from one end to the other, reach every sum between.
  for (std::int64_t w = room.widths().from; w <= room.widths().to; ++w) {
    const WholeRange lowest = room.lowest(w);
    for (std::int64_t low = lowest.from; low <= lowest.to; ++low) {
      if (++spent > budget.operations) require_room(room, n, budget, spent);
      const FixedReadings fixed{f, low, w};
      const std::int64_t free = n - fixed.count, least = n * low + fixed.sum;
      if (w == 0 || (free >= 0 && (!f.sum || (least <= f.sum->to && least + free * w >= f.sum->from)))) return true;
    }
  }
  return false;
}

std::optional<WholeRange> sums_left_open(const LatticeFigures& figures) {
  const bool turn = figures.high && !figures.low;
  const LatticeFigures f = turned(figures);
  const Room room{f};
  if (room.impossible()) return nothing;
  if (!room.bounded() || !room.placed()) return std::nullopt;
  return turn ? mirrored(room.sums()) : room.sums();
}

std::optional<WholeRange> deviations_left_open(const LatticeFigures& figures) {
  const LatticeFigures f = turned(figures);
  const Room room{f};
  if (room.impossible()) return nothing;
  if (!room.bounded()) return std::nullopt;
  return WholeRange{0, room.most_deviations()};
}

}  // namespace detail

ReadingSets reading_sets(const ReportedFigures& figures, WorkBudget budget) {
  detail::require_figures(figures);
  return detail::sets_of(figures, detail::lattice_figures(figures), budget);
}

ReadingSets calm_reading_sets(const ReportedFigures& figures, std::int64_t most_deviations, WorkBudget budget) {
  detail::require_figures(figures);
  if (most_deviations < 0 || most_deviations > 1'000'000'000'000'000)
    throw DomainError{"calm_reading_sets: needs deviations from 0 to 1e15, got " + std::to_string(most_deviations)};
  detail::LatticeFigures f = detail::lattice_figures(figures);
  const detail::WholeRange calm{0, most_deviations};
  f.deviations = f.deviations ? detail::both(*f.deviations, calm) : calm;
  return detail::sets_of(figures, f, budget);
}

WorkCost reading_sets_cost(const ReportedFigures& figures) {
  detail::require_figures(figures);
  detail::LatticeFigures f = detail::turned(detail::lattice_figures(figures));
  const detail::Room room{f};
  if (room.impossible() || !room.bounded()) return {};
  if (room.placed()) return detail::cost_of(room, f.shots);
  f = detail::put_at_zero(f);
  return detail::cost_of(detail::Room{f}, f.shots);
}

}  // namespace shotassay
