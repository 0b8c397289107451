#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "dot_plot.hpp"
#include "picture.hpp"

namespace shotassay::report {

using namespace document;

Picture picture_of(const ShotFigure& figure) {
  Picture out{.name = "The shots, each a dot on the display's lattice", .description = {}, .numbers = {}, .shapes = {}};
  if (std::all_of(figure.rows.begin(), figure.rows.end(), [](const auto& row) { return row.steps.empty(); }))
    return nothing(std::move(out), "There is no shot to show.");

  DotPlot plot{.rows = {},
               .step = figure.step,
               .decimals = figure.decimals,
               .unit = figure.unit,
               .average = "the average",
               .small_average = {},
               .tallest_stack = 10};
  out.numbers.columns = {{"set-up"}, {"readings"}, {"average", true}, {"from", true}, {"to", true}};
  std::vector<std::string> sentences;
  for (const auto& row : figure.rows) {
    plot.rows.push_back({.label = row.label, .steps = row.steps, .mean = row.mean, .interval = row.interval});
    std::string from, to;
    if (row.interval) {
      from = limit_text(row.interval->lower, plot.average_text(row.interval->lower));
      to = limit_text(row.interval->upper, plot.average_text(row.interval->upper));
    }
    sentences.push_back(row.label + ". " + plot.sentence(plot.rows.back()));
    out.numbers.rows.push_back({row.label, plot.readings(row.steps), plot.average_text(row.mean), from, to});
  }
  out.description = joined(sentences);

  Drawing drawing;
  draw_dots(drawing, plot);
  return finished(std::move(out), std::move(drawing));
}

}  // namespace shotassay::report
