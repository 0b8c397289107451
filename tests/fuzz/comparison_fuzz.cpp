// What a sheet of few shots leads to: comparison, words, and all forms in which the answer is written.
#include <shotassay/core/errors.hpp>
#include <shotassay/narrative/comparison.hpp>
#include <shotassay/records/sheet.hpp>
#include <shotassay/report/html.hpp>
#include <shotassay/report/json.hpp>
#include <shotassay/report/svg.hpp>
#include <shotassay/report/text.hpp>
#include <shotassay/studies/compared_setups.hpp>
#include <shotassay/studies/comparison.hpp>
#include <shotassay/studies/influence.hpp>
#include <shotassay/studies/planned_test.hpp>
#include <shotassay/studies/replicates.hpp>

#include <algorithm>
#include <string>

#include "checks.hpp"
#include "markup.hpp"

using namespace shotassay;
using namespace shotassay::fuzz;

namespace {

constexpr std::size_t most_shots = 16;

/// Lines that end, without blanks behind them and without anything that a terminal would obey.
void check_text(std::string text, bool color) {
  if (color)
    for (std::size_t at = text.find("\x1b["); at != std::string::npos; at = text.find("\x1b[", at)) {
      const std::size_t end = text.find_first_not_of("0123456789;", at + 2);
      require(end != std::string::npos && text[end] == 'm');  // colours are the only escapes
      text.erase(at, end + 1 - at);
    }
  require(text.ends_with('\n'));
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at);
    require(harmless(std::string_view{text}.substr(at, end - at)));
    require(end == at || text[end - 1] != ' ');
    at = end + 1;
  }
}

void check_markup(const std::string& markup) {
  require(well_formed(markup));
  std::string lines = markup;
  std::replace(lines.begin(), lines.end(), '\n', ' ');
  require(harmless(lines));
}

void check_outcome(const Comparison& comparison) {
  for (const GapOutcome& gap : comparison.gaps)
    for (const MethodOutcome& m : gap.methods) {
      require(m.interval || !m.why_absent.empty());
      if (m.interval) require(m.interval->lower <= m.interval->upper);
      for (const auto& p : {m.p_two_sided, m.p_holm, m.p_equivalence}) require(!p || (*p >= 0.0 && *p <= 1.0));
    }
}

void check_answer(const Sheet& sheet, const std::vector<ComparedSetup>& setups, SpeedUnit printed) {
  ComparisonOptions options{.budget = {.operations = 2e4, .bytes = 1024 * 1024}, .skip_over_budget = true};
  for (const MethodName& m : method_names)
    if (m.method != Method::moderated) options.methods.push_back(m.method);
  if (sheet.plan && sheet.plan->confidence) options.level = *sheet.plan->confidence;
  if (sheet.margin) options.margin = sheet.margin->value();
  const Comparison comparison = compare(setups, options);
  check_outcome(comparison);
  const narrative::ComparisonStory story{
      .comparison = comparison,
      .sheet = sheet,
      .printed = printed,
      .planned = planned_test(sheet, options.level),
      .influence = influence(setups, {.level = options.level, .margin = options.margin}),
      .equal_setups = std::vector<std::optional<EqualisedGap>>(comparison.gaps.size())};
  const document::Document answer = narrative::comparison_document(story);
  check_text(report::render_text(answer, {.width = 80}), false);
  check_text(report::render_text(answer, {.width = 30, .color = true}), true);
  check_markup(report::render_html(narrative::comparison_page(story), {.title = document::printable(sheet.title)}));
  if (const auto picture = report::render_main_figure(answer)) check_markup(*picture);
  require(is_json(report::render_json(
      narrative::envelope("compare", {}, narrative::comparison_data(story), narrative::comparison_notes(story)))));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const ReadResult read = read_sheet(text_of(data, size), {.any_speed = true});
  if (!read.sheet || read.sheet->shots.empty() || read.sheet->shots.size() > most_shots) return 0;
  const auto setups = compared_setups(*read.sheet);
  if (setups.size() < 2 || setups.size() > 4) return 0;
  try {
    check_answer(*read.sheet, setups, size % 3 == 0 ? SpeedUnit::metres_per_second : read.sheet->unit);
  } catch (const DomainError&) {
    // The program tells it as a mistake of its user: readings beyond all speeds, for instance.
  } catch (const NoAnswer&) {
  }
  return 0;
}
