#pragma once
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/document/document.hpp>

/// What a figure in characters and the same figure as SVG share: ranges, ticks and the texts of numbers.
namespace shotassay::report {

/// 1, 2, 5, 10, 20, 50, … : the one after `n`.
std::int64_t next_round(std::int64_t n);

/// A number with so many decimals, its minus sign a minus, no minus before a zero; −1 rounds to tens.
std::string number(double x, int decimals);

/// The same with as many more decimals as it takes to stand on the side of every bound on which x stands.
std::string number_apart(double x, int decimals, std::initializer_list<double> bounds);

/// A share of tests in percent: whole, with a decimal near 0 and 100. A share short of `wanted` is never written as it.
std::string percent(double share, std::optional<double> wanted = std::nullopt);

/// A share somebody asked for, as exactly as they did.
std::string percent_asked(double share);

/// A share of a variance in percent: a decimal below 10 %; one too small for that is said to be so.
std::string share_text(double share);

/// The inputs of a budget with their contributions and shares, and what they come to.
document::Table numbers_of(const document::BudgetFigure& figure);

/// A kind, or a bow, with its average: "14 strands: average of 3 bows 191.2 fps".
std::string said_of(const document::BowFigure& figure, const document::BowFigure::Kind& kind);
std::string said_of(const document::BowFigure& figure, const document::BowFigure::Bow& bow);

struct Range {
  double low, high;
};

/// All that an interval figure shows that is finite, 0 and some room at both ends with it.
Range range_of(const document::IntervalFigure& figure);

struct Ticks {
  std::vector<double> values;
  int decimals;  ///< that tell them apart
};

/// Ticks at 1, 2 or 5 times a power of ten, the closest that keep their labels apart where the whole range takes up the
/// room of so many characters.
Ticks round_ticks(Range range, double characters);

}  // namespace shotassay::report
