#pragma once
#include <algorithm>
#include <cmath>
#include <shotassay/narrative/clinic.hpp>
#include <string>
#include <vector>

#include "../document/formatted.hpp"
#include "wording.hpp"

namespace shotassay::narrative {

/// "5 of 12"
inline std::string of(std::size_t count, std::size_t total) { return formatted("{} of {}", count, total); }

inline std::string share(std::size_t count, std::size_t total) {
  if (total == 0) return "none";
  if (count == 0) return "0 %";
  if (count == total) return "100 %";
  return percent_of_tests(static_cast<double>(count) / static_cast<double>(total));
}

/// The readings as the display shows them.
inline std::vector<std::string> readings(const Sample& sample) {
  std::vector<std::string> out;
  for (const std::int64_t s : sample.steps()) {
    const Decimal step = sample.step().size();
    out.push_back(Decimal{s * step.coefficient(), step.decimals()}.text());
  }
  return out;
}

inline std::string readings_in_line(const Sample& sample) {
  std::string out;
  for (const auto& text : readings(sample)) out += (out.empty() ? "" : ", ") + text;
  return out;
}

/// Shots as dots, each row with its readings in the order shot.
inline document::ShotFigure shots_in_order(const std::string& a_name, const Sample& a, const std::string& b_name,
                                           const Sample& b, SpeedUnit unit) {
  document::ShotFigure figure{
      .rows = {}, .step = a.step().value(), .decimals = a.step().size().decimals(), .unit = std::string{name(unit)}};
  for (const auto& [label, sample] : {std::pair{a_name, &a}, std::pair{b_name, &b}}) {
    const Moments m = moments(*sample);
    figure.rows.push_back({.label = label + ": " + readings_in_line(*sample),
                           .steps = {sample->steps().begin(), sample->steps().end()},
                           .mean = m.mean(),
                           .interval = {}});
  }
  return figure;
}

/// "with each bowstring 3 shots" and the like come with the shots of the question.
inline std::string shots_each(std::int64_t shots) {
  return counted(static_cast<std::size_t>(shots), "shot") + " with each";
}

/// Counts of what was right, fooled and missed, as rows of a table.
document::Table outcome_table(const std::vector<std::pair<std::string, OutcomeCounts>>& rows, bool as_shares);

document::Data counts_data(const OutcomeCounts& counts);
document::Data by_truth_data(const ByTruth& counts);
document::Data series_counts(const LuckSeries& series);
document::Data question_data(const ClinicQuestion& q, SpeedUnit unit);

/// What a long series of such tests gives, in two sentences.
std::string in_the_long_run(const LuckSeries& series, const std::string& gap);

}  // namespace shotassay::narrative
