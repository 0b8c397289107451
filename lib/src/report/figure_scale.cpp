#include "figure_scale.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <shotassay/document/printable.hpp>

#include "../document/formatted.hpp"

namespace shotassay::report {

namespace {

constexpr int most_more_decimals = 12;

/// The number that a text with so many decimals shows.
double shown(double x, int decimals) {
  const std::string text = formatted("{:.{}f}", x, decimals);
  double value = 0;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return value;
}

bool same_side(double x, double as_shown, double bound) {
  return x < bound ? as_shown < bound : x > bound ? as_shown > bound : true;
}

}  // namespace

std::int64_t next_round(std::int64_t n) {
  std::int64_t power = 1;
  while (n >= 10 * power) power *= 10;
  const std::int64_t digit = n / power;
  return power * (digit < 2 ? 2 : digit < 5 ? 5 : 10);
}

std::string number(double x, int decimals) {
  if (decimals < 0) {
    const double unit = std::pow(10.0, -decimals);
    return number(std::round(x / unit) * unit, 0);
  }
  std::string text = formatted("{:.{}f}", x, decimals);
  if (text.front() != '-') return text;
  text.erase(0, 1);
  return text.find_first_not_of("0.") == std::string::npos ? text : "−" + text;
}

std::string number_apart(double x, int decimals, std::initializer_list<double> bounds) {
  for (int d = decimals; d <= decimals + most_more_decimals; ++d) {
    const double as_shown = shown(x, d);
    if (std::all_of(bounds.begin(), bounds.end(), [&](double b) { return same_side(x, as_shown, b); }))
      return number(x, d);
  }
  return number(x, decimals);  // so close that a double hardly tells them apart
}

std::string percent(double share, std::optional<double> wanted) {
  if (share > 0.999 && share < 1) return "more than 99.9 %";
  if (share < 0.001 && share > 0) return "less than 0.1 %";
  const bool near_an_end = (share > 0.985 && share < 1) || (share < 0.015 && share > 0);
  const int decimals = near_an_end ? 1 : 0;
  return (wanted && share < *wanted ? number_apart(share * 100, decimals, {*wanted * 100})
                                    : number(share * 100, decimals)) +
         " %";
}

std::string share_text(double share) {
  const double size = std::abs(share);
  if (size == 0.0) return "0 %";
  if (size < 0.0005) return share > 0.0 ? "below 0.1 %" : "about 0 %";
  return number(100.0 * share, size < 0.0995 ? 1 : 0) + " %";
}

document::Table numbers_of(const document::BudgetFigure& figure) {
  document::Table table{.columns = {{"input"},
                                    {figure.unit.empty() ? "contribution" : "contribution, " + figure.unit, true},
                                    {"share", true}},
                        .rows = {}};
  for (const auto& row : figure.rows)
    table.rows.push_back({row.label, number(row.contribution, figure.decimals), share_text(row.share)});
  table.rows.push_back({"combined", number(figure.combined, figure.decimals), "100 %"});
  return table;
}

std::string said_of(const document::BowFigure& figure, const document::BowFigure::Kind& kind) {
  return formatted("{}: average of {} bow{} {} {}", kind.label, kind.bows.size(), kind.bows.size() == 1 ? "" : "s",
                   number(kind.mean * figure.step, figure.decimals + 1), figure.unit);
}

std::string said_of(const document::BowFigure& figure, const document::BowFigure::Bow& bow) {
  return formatted("{}: {} shot{}, average {} {}", bow.label, bow.steps.size(), bow.steps.size() == 1 ? "" : "s",
                   number(bow.mean * figure.step, figure.decimals + 1), figure.unit);
}

std::string percent_asked(double share) { return formatted("{:.6g} %", share * 100); }

Range range_of(const document::IntervalFigure& figure) {
  Range range{0, 0};
  const auto include = [&](double x) {
    if (!std::isfinite(x)) return;
    range.low = std::min(range.low, x);
    range.high = std::max(range.high, x);
  };
  for (const auto& row : figure.rows) {
    include(row.interval.lower);
    include(row.interval.upper);
    include(row.estimate);
  }
  if (figure.margin) {
    include(*figure.margin);
    include(-*figure.margin);
  }
  if (range.high - range.low <= 0) range.high = range.low + 1;
  const double room = 0.04 * (range.high - range.low);
  return {range.low - room, range.high + room};
}

Ticks round_ticks(Range range, double characters) {
  const double width = range.high - range.low;
  const double power = std::pow(10.0, std::floor(std::log10(width / (characters + 1))));
  const int decimals_of_power = static_cast<int>(-std::floor(std::log10(power) + 1e-9));
  std::int64_t multiple = 1;
  double every = power;
  Ticks ticks{.values = {}, .decimals = 0};
  for (;; multiple = next_round(multiple), every = power * static_cast<double>(multiple)) {
    ticks.decimals = std::max(0, decimals_of_power);
    for (std::int64_t m = multiple; m % 10 == 0 && ticks.decimals > 0; m /= 10) --ticks.decimals;
    const std::size_t longest = std::max(document::display_width(number(range.low, ticks.decimals)),
                                         document::display_width(number(range.high, ticks.decimals))) +
                                1;
    if (every / width * characters >= static_cast<double>(longest + 2)) break;
  }
  for (auto k = static_cast<std::int64_t>(std::ceil(range.low / every)); static_cast<double>(k) * every <= range.high;
       ++k)
    ticks.values.push_back(static_cast<double>(k) * every);
  return ticks;
}

}  // namespace shotassay::report
