#include <shotassay/methods/innocent_causes.hpp>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>
#include <string>

#include "lattice_figures.hpp"

namespace shotassay {
namespace {

using detail::LatticeFigures;
using detail::WholeRange;

Decimal next_to(Decimal d, std::int64_t units) { return {d.coefficient() + units, d.decimals()}; }

/// The tenth of a display step.
std::optional<DisplayStep> finer(DisplayStep step) {
  const Decimal size = step.size();
  if (size.coefficient() % 10 == 0) return DisplayStep{Decimal{size.coefficient() / 10, size.decimals()}};
  if (size.decimals() >= 9) return std::nullopt;
  return DisplayStep{Decimal{size.coefficient(), size.decimals() + 1}};
}

/// Every number that differs from this one in one digit, nearest first; a leading 0 is not put before other digits.
std::vector<Decimal> one_digit_away(Decimal printed) {
  const std::string text = printed.text();
  std::vector<Decimal> others;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] < '0' || text[i] > '9') continue;
    const bool leading = (i == 0 || text[i - 1] == '-') && i + 1 < text.size() && text[i + 1] != '.';
    for (char digit = leading ? '1' : '0'; digit <= '9'; ++digit) {
      std::string other = text;
      other[i] = digit;
      if (digit != text[i]) others.push_back(*Decimal::parse(other));
    }
  }
  const auto away = [&](Decimal d) { return std::abs(d.coefficient() - printed.coefficient()); };
  std::stable_sort(others.begin(), others.end(), [&](Decimal a, Decimal b) {
    return away(a) != away(b) ? away(a) < away(b) : a.coefficient() < b.coefficient();
  });
  return others;
}

class Search {
 public:
  Search(const ReportedFigures& figures, WorkBudget budget)
      : printed_{figures}, lattice_{detail::lattice_figures(figures)}, budget_{budget} {}

  bool possible(const LatticeFigures& f) { return detail::some_reading_set(f, budget_, spent_); }
  bool possible(const ReportedFigures& r) { return possible(detail::lattice_figures(r)); }

  bool possible_with_sums(WholeRange sums) {
    LatticeFigures f = lattice_;
    f.sum = sums;
    return possible(f);
  }

  bool possible_with_deviations(WholeRange deviations) {
    LatticeFigures f = lattice_;
    f.deviations = deviations;
    return possible(f);
  }

  /// Whole numbers next to the range that `holds` accepts in ranges: the largest below, the smallest above.
  /// A range holds when one of its numbers does, so a range that does is halved.
  template <class Holds>
  static std::optional<std::int64_t> nearest_below(std::int64_t from, std::int64_t limit, const Holds& holds) {
    std::int64_t top = from - 1;
    for (std::int64_t length = 1; top >= limit; length *= 2) {
      std::int64_t bottom = std::max(limit, top - length + 1);
      if (holds(WholeRange{bottom, top})) {
        while (bottom < top) {
          const std::int64_t middle = bottom + (top - bottom + 1) / 2;
          if (holds(WholeRange{middle, top}))
            bottom = middle;
          else
            top = middle - 1;
        }
        return top;
      }
      top = bottom - 1;
    }
    return std::nullopt;
  }
  template <class Holds>
  static std::optional<std::int64_t> nearest_above(std::int64_t to, std::int64_t limit, const Holds& holds) {
    const auto below = nearest_below(-to, -limit, [&](WholeRange r) { return holds(WholeRange{-r.to, -r.from}); });
    return below ? std::optional{-*below} : std::nullopt;
  }

  std::vector<Decimal> sd_with_other_divisor() {
    ReportedFigures other = printed_;
    other.sd_divisor = printed_.sd_divisor == SdDivisor::n ? SdDivisor::n_minus_1 : SdDivisor::n;
    if (!possible(other)) return {};
    std::vector<Decimal> sds;
    const ReadingSets sets = reading_sets(other, budget_);
    for (const ReadingState& state : sets.states)
      for (const Decimal sd : sds_that_print(state.deviations)) sds.push_back(sd);
    // Nothing told where the readings lie, so their states are not listed; the range of their SDs is.
    if (sets.states.empty() && sets.sd)
      for (const double sd : {sets.sd->lower, sets.sd->upper}) sds.push_back(nearest_print(sd));
    std::sort(sds.begin(), sds.end(), [](Decimal a, Decimal b) { return a.coefficient() < b.coefficient(); });
    sds.erase(
        std::unique(sds.begin(), sds.end(), [](Decimal a, Decimal b) { return a.coefficient() == b.coefficient(); }),
        sds.end());
    return sds;
  }

  std::vector<Decimal> average_cut_off() {
    const Decimal average = *printed_.average;
    if (average.coefficient() < 0) return {};
    WholeRange sums = detail::sums_near(average, 0, 2, printed_.shots, printed_.display_step);
    const WholeRange next = detail::sums_near(average, 2, 2, printed_.shots, printed_.display_step);
    if (!next.empty()) sums.to = next.from - 1;  // that one would print as itself
    return possible_with_sums(sums) ? std::vector{next_to(average, 1)} : std::vector<Decimal>{};
  }

  std::vector<Decimal> sd_cut_off() {
    WholeRange deviations = deviations_near(*printed_.sd, 0, 2);
    const WholeRange next = deviations_near(*printed_.sd, 2, 2);
    if (!next.empty()) deviations.to = next.from - 1;
    return possible_with_deviations(deviations) ? std::vector{next_to(*printed_.sd, 1)} : std::vector<Decimal>{};
  }

  std::vector<Decimal> with_shots(std::int64_t shots) {
    if (shots < 1 || shots > 1000) return {};
    ReportedFigures other = printed_;
    other.shots = shots;
    return possible(other) ? std::vector{Decimal{shots, 0}} : std::vector<Decimal>{};
  }

  std::vector<Decimal> finer_display() {
    const auto step = finer(printed_.display_step);
    if (!step) return {};
    ReportedFigures other = printed_;
    other.display_step = *step;
    return possible(other) ? std::vector{step->size()} : std::vector<Decimal>{};
  }

  std::vector<Decimal> average_nearby() {
    LatticeFigures others = lattice_;
    others.sum.reset();
    const std::int64_t n = printed_.shots;
    WholeRange limits{lattice_.sum->from - n, lattice_.sum->to + n};
    const auto widen = [&](WholeRange sums) {
      if (!sums.empty()) limits = {std::min(limits.from, sums.from), std::max(limits.to, sums.to)};
    };
    if (const auto open = detail::sums_left_open(others)) {
      widen(*open);
    } else {
      for (const auto& end : {others.low, others.high})
        if (end) widen({n * (end->from - 1), n * (end->to + 1)});
      if (!others.known.empty()) widen({n * (others.known.front() - 1), n * (others.known.back() + 1)});
    }
    const auto holds = [&](WholeRange sums) { return possible_with_sums(sums); };
    const auto below = nearest_below(lattice_.sum->from, limits.from, holds);
    const auto above = nearest_above(lattice_.sum->to, limits.to, holds);
    std::vector<Decimal> averages;
    if (below) averages.push_back(average_printed(*below, 1));
    if (above) averages.push_back(average_printed(*above, -1));
    return averages;
  }

  std::vector<Decimal> sd_nearby() {
    LatticeFigures others = lattice_;
    others.deviations.reset();
    const WholeRange here = *lattice_.deviations;
    if (printed_.shots < 2) return {};
    const auto open = detail::deviations_left_open(others);
    const std::int64_t two_steps = static_cast<std::int64_t>(std::ceil(
        2.0 * printed_.display_step.value() * static_cast<double>(Decimal::power_of_ten(printed_.sd->decimals()))));
    const std::int64_t limit = open ? open->to : deviations_near(next_to(*printed_.sd, two_steps), -1, 1).to;
    const auto holds = [&](WholeRange deviations) { return possible_with_deviations(deviations); };
    const auto below = nearest_below(here.from, 0, holds), above = nearest_above(here.to, limit, holds);
    std::vector<Decimal> sds;
    if (below) sds.push_back(sds_that_print(*below).back());
    if (above) sds.push_back(sds_that_print(*above).front());
    return sds;
  }

  std::vector<Decimal> misprinted(std::optional<Decimal> ReportedFigures::*figure) {
    std::vector<Decimal> fits;
    ReportedFigures other = printed_;
    for (const Decimal candidate : one_digit_away(*(printed_.*figure))) {
      other.*figure = candidate;
      if (possible(other)) fits.push_back(candidate);
    }
    return fits;
  }

 private:
  WholeRange deviations_near(Decimal sd, int from_halves, int to_halves) const {
    return detail::deviations_near(sd, from_halves, to_halves, printed_.shots, printed_.sd_divisor,
                                   printed_.display_step);
  }

  /// The average that a sum prints as; of two at a tie the one in the direction given.
  Decimal average_printed(std::int64_t sum, int direction) const {
    const Decimal average = *printed_.average;
    const double unit = 1.0 / static_cast<double>(Decimal::power_of_ten(average.decimals()));
    const Decimal near{std::llround(printed_.display_step.times(sum, printed_.shots) / unit), average.decimals()};
    for (const Decimal d : {next_to(near, direction), near, next_to(near, -direction)})
      if (detail::sums_near(d, -1, 1, printed_.shots, printed_.display_step).contains(sum)) return d;
    return near;
  }

  Decimal nearest_print(double sd) const {
    return {std::llround(sd * static_cast<double>(Decimal::power_of_ten(printed_.sd->decimals()))),
            printed_.sd->decimals()};
  }

  /// The SDs, with the divisor taken, that these deviations print as: one, or two at a tie.
  std::vector<Decimal> sds_that_print(std::int64_t deviations) const {
    const double n = static_cast<double>(printed_.shots);
    const double divisor = n * (printed_.sd_divisor == SdDivisor::n ? n : n - 1.0);
    const Decimal near =
        nearest_print(std::sqrt(static_cast<double>(deviations) / divisor) * printed_.display_step.value());
    std::vector<Decimal> sds;
    for (const std::int64_t units : {-1, 0, 1}) {
      const Decimal d = next_to(near, units);
      if (d.coefficient() >= 0 && deviations_near(d, -1, 1).contains(deviations)) sds.push_back(d);
    }
    return sds;
  }

  ReportedFigures printed_;
  LatticeFigures lattice_;
  WorkBudget budget_;
  double spent_ = 0.0;
};

}  // namespace

InnocentCauses innocent_causes(const ReportedFigures& figures, WorkBudget budget) {
  detail::require_figures(figures);
  Search search{figures, budget};
  InnocentCauses causes;
  if (search.possible(figures)) return causes;
  const auto examine = [&](InnocentCause cause, const auto& fits_of) {
    try {
      std::vector<Decimal> fits = fits_of();
      if (!fits.empty()) causes.fitting.push_back({cause, std::move(fits)});
    } catch (const BudgetExceeded&) {
      causes.not_examined.push_back(cause);
    }
  };
  using enum InnocentCause;
  using Figures = ReportedFigures;
  if (figures.sd && figures.shots > 1) examine(sd_with_other_divisor, [&] { return search.sd_with_other_divisor(); });
  if (figures.average) examine(average_cut_off, [&] { return search.average_cut_off(); });
  if (figures.sd) examine(sd_cut_off, [&] { return search.sd_cut_off(); });
  examine(one_shot_fewer, [&] { return search.with_shots(figures.shots - 1); });
  examine(one_shot_more, [&] { return search.with_shots(figures.shots + 1); });
  examine(finer_display, [&] { return search.finer_display(); });
  if (figures.average) examine(average_nearby, [&] { return search.average_nearby(); });
  if (figures.sd) examine(sd_nearby, [&] { return search.sd_nearby(); });
  if (figures.average) examine(average_misprinted, [&] { return search.misprinted(&Figures::average); });
  if (figures.sd) examine(sd_misprinted, [&] { return search.misprinted(&Figures::sd); });
  if (figures.low) examine(low_misprinted, [&] { return search.misprinted(&Figures::low); });
  if (figures.high) examine(high_misprinted, [&] { return search.misprinted(&Figures::high); });
  if (figures.spread) examine(spread_misprinted, [&] { return search.misprinted(&Figures::spread); });
  return causes;
}

}  // namespace shotassay
