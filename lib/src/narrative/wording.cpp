#include "wording.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>

#include "../document/formatted.hpp"

namespace shotassay::narrative {

namespace {

std::string with_minus(std::string text) {
  if (text.empty() || text.front() != '-') return text;
  if (text.find_first_not_of("-0.") == std::string::npos) return text.substr(1);
  return "−" + text.substr(1);
}

/// The smallest of a few round numbers of which a probability is a whole part.
std::optional<int> denominator(double probability) {
  for (const int n : {10, 20, 40, 50, 100, 200, 1000}) {
    const double k = std::round(probability * n);
    if (k > 0 && k < n && std::abs(k / n - probability) < 1e-9) return n;
  }
  return std::nullopt;
}

bool shows_zero(const std::string& text) { return text.find_first_not_of("0.") == std::string::npos; }

/// The number that a text with so many decimals shows, read back from it: arithmetic of our own could round 2.045 up
/// where the text rounds it down.
double rounded(double x, int decimals) {
  const std::string text = formatted("{:.{}f}", x, decimals);
  double shown = 0.0;
  std::from_chars(text.data(), text.data() + text.size(), shown);
  return shown;
}

constexpr int most_more_decimals = 12;

/// Does `shown` stand on the same side of the bound as `x`, or on it where x does?
bool same_side(double x, double shown, double bound, double unit) {
  if (std::abs(x - bound) < 1e-9 * unit) return true;
  return (x > bound) == (shown > bound) && std::abs(shown - bound) > 1e-6 * unit;
}

}  // namespace

std::string fixed(double x, int decimals) { return with_minus(formatted("{:.{}f}", x, decimals)); }

SpeedWords::SpeedWords(DisplayStep step, SpeedUnit sheet, SpeedUnit printed)
    : factor_{conversion(sheet, printed)},
      step_{step.value() * factor_},
      decimals_{std::max(0, static_cast<int>(std::ceil(-std::log10(step_) - 1e-9))) + 1},
      unit_{printed} {}

SpeedWords SpeedWords::fine_enough_for(double half_width) const {
  SpeedWords finer = *this;
  const double x = half_width * factor_;
  if (std::isfinite(x) && x > 0.0)
    while (finer.decimals_ < decimals_ + 8 && x * std::pow(10.0, finer.decimals_) < 2.5) ++finer.decimals_;
  return finer;
}

std::string SpeedWords::bare(double speed) const { return limit(speed, std::nullopt); }
std::string SpeedWords::bare(double speed, int decimals) const { return fixed(speed * factor_, decimals); }
std::string SpeedWords::with_unit(double speed) const { return bare(speed) + " " + unit(); }

std::string SpeedWords::signed_bare(double gap) const {
  const std::string text = bare(gap);
  return gap > 0 && !shows_zero(text) ? "+" + text : text;
}

std::string SpeedWords::as_typed(double speed) const {
  // Nine digits: what a person types, without the last bits of a conversion.
  const double x = speed * factor_;
  return with_minus(formatted("{:.9g}", x)) + " " + unit();
}

std::string SpeedWords::limit(double limit, std::optional<double> margin) const {
  if (!std::isfinite(limit)) return "no finite limit";
  const double x = limit * factor_;
  std::vector<double> bounds{0.0};
  if (margin) bounds.insert(bounds.end(), {*margin * factor_, -*margin * factor_});
  for (int decimals = decimals_; decimals <= decimals_ + most_more_decimals; ++decimals) {
    const double unit = std::pow(10.0, -decimals_), shown = rounded(x, decimals);
    if (std::all_of(bounds.begin(), bounds.end(), [&](double b) { return same_side(x, shown, b, unit); }))
      return fixed(x, decimals);
  }
  return fixed(x, decimals_);
}

std::string SpeedWords::give_or_take(double gap, double half_width, std::optional<double> margin,
                                     const std::string& between) const {
  const double x = gap * factor_, half = half_width * factor_;
  std::vector<double> bounds{0.0};
  if (margin) bounds.push_back(*margin * factor_);
  int decimals = decimals_;
  for (; decimals < decimals_ + most_more_decimals; ++decimals) {
    const double unit = std::pow(10.0, -decimals_), a = rounded(x, decimals), h = rounded(half, decimals);
    if (h > 0.0 && std::all_of(bounds.begin(), bounds.end(), [&](double b) {
          return same_side(x - half, a - h, b, unit) && same_side(x + half, a + h, b, unit);
        }))
      break;
  }
  return fixed(x, decimals) + " " + unit() + between + ", give or take " + fixed(half, decimals) + " " + unit();
}

std::string SpeedWords::range(const Interval& interval, std::optional<double> margin) const {
  return "from " + signed_limit(interval.lower, margin) + " to " + signed_limit(interval.upper, margin) + " " + unit();
}

std::string SpeedWords::signed_limit(double end, std::optional<double> margin) const {
  const std::string text = limit(end, margin);
  return end > 0 && std::isfinite(end) && !shows_zero(text) ? "+" + text : text;
}

std::string SpeedWords::side(double end, std::optional<double> margin) const {
  if (!std::isfinite(end)) return end < 0 ? "any amount slower" : "any amount faster";
  const std::string text = limit(std::abs(end), margin);
  if (shows_zero(text)) return "no gap at all";
  return text + " " + unit() + (end < 0 ? " slower" : " faster");
}

std::string of_tests(double probability) {
  const auto n = denominator(probability);
  return n ? formatted("{:.0f} of {}", probability * *n, *n) : percent(probability) + " of";
}

std::string times(double probability) {
  const auto n = denominator(probability);
  if (n && std::lround(probability * *n) == 1) return formatted("once in {}", *n);
  return n ? formatted("{:.0f} times in {}", probability * *n, *n) : "in " + percent(probability) + " of tests";
}

std::string percent(double share) {
  // What is less than certain is never written as 100 %.
  int digits = 6;
  std::string text;
  do text = formatted("{:.{}g}", share * 100.0, digits++);
  while (text == "100" && share < 1.0 && digits <= 17);
  return text + " %";
}

std::string percent_of_tests(double share) {
  if (share > 0.999) return "more than 99.9 %";
  if (share < 0.001) return "less than 0.1 %";
  const bool near_an_end = share > 0.985 || share < 0.015;
  return formatted("{:.{}f} %", share * 100.0, near_an_end ? 1 : 0);
}

std::string p_text(double p) {
  if (p >= 0.9995) return "1";
  if (p >= 0.001) return formatted("{:.3f}", p);
  return p >= 0.0001 ? formatted("{:.4f}", p) : "below 0.0001";
}

std::string counted(std::size_t n, const std::string& noun) { return formatted("{} {}{}", n, noun, n == 1 ? "" : "s"); }

std::string listed(const std::vector<std::string>& items) {
  std::string out;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += i + 1 == items.size() ? " and " : ", ";
    out += items[i];
  }
  return out;
}

}  // namespace shotassay::narrative
