#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "dot_plot.hpp"
#include "figure_scale.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const BowFigure& figure) {
  Picture out{
      .name = "The bows of each kind, their shots and averages", .description = {}, .numbers = {}, .shapes = {}};
  const auto has_shots = [](const BowFigure::Kind& kind) {
    return std::any_of(kind.bows.begin(), kind.bows.end(), [](const auto& bow) { return !bow.steps.empty(); });
  };
  if (std::none_of(figure.kinds.begin(), figure.kinds.end(), has_shots))
    return nothing(std::move(out), "There is no shot to show.");

  DotPlot plot{.rows = {},
               .step = figure.step,
               .decimals = figure.decimals,
               .unit = figure.unit,
               .average = "the average of a kind",
               .small_average = "the average of a bow",
               .tallest_stack = 5};
  const bool any_interval =
      std::any_of(figure.kinds.begin(), figure.kinds.end(), [](const auto& kind) { return kind.interval.has_value(); });
  out.numbers.columns = {{"kind"}, {"bow"}, {"readings"}, {"average", true}};
  if (any_interval) out.numbers.columns.insert(out.numbers.columns.end(), {{"from", true}, {"to", true}});
  std::vector<std::string> sentences;
  for (const auto& kind : figure.kinds) {
    plot.rows.push_back({.label = said_of(figure, kind), .steps = {}, .mean = kind.mean, .interval = kind.interval});
    sentences.push_back(kind.label + ". " + plot.sentence(plot.rows.back()));
    std::vector<std::string> cells{kind.label, "all together", "", plot.average_text(kind.mean)};
    if (any_interval)
      for (const auto end : {&Interval::lower, &Interval::upper})
        cells.push_back(kind.interval ? limit_text(*kind.interval.*end, plot.average_text(*kind.interval.*end)) : "");
    out.numbers.rows.push_back(std::move(cells));
    for (const auto& bow : kind.bows) {
      plot.rows.push_back({.label = said_of(figure, bow),
                           .steps = bow.steps,
                           .mean = bow.mean,
                           .interval = std::nullopt,
                           .small = true,
                           .name = bow.label});
      sentences.push_back(bow.label + ". " + plot.sentence(plot.rows.back()));
      cells = {kind.label, bow.label, plot.readings(bow.steps), plot.average_text(bow.mean)};
      cells.resize(out.numbers.columns.size());
      out.numbers.rows.push_back(std::move(cells));
    }
  }
  out.description = joined(sentences);

  Drawing drawing;
  draw_dots(drawing, plot);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
