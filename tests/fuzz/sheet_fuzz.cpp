// The reading of a shot sheet.
#include <shotassay/records/csv.hpp>
#include <shotassay/records/sheet.hpp>

#include "checks.hpp"

using namespace shotassay;
using namespace shotassay::fuzz;

namespace {

/// Every byte is in a cell, a separator, a quote or a line end, and cells come in order.
void check_cells(std::string_view text, char separator) {
  CsvReader csv{text, separator};
  std::size_t line = 1, column = 0, position = 0;
  for (auto row = csv.next(); !row.empty(); row = csv.next()) {
    require(csv.position() > position && csv.position() <= text.size());
    position = csv.position();
    for (const auto& cell : row) {
      require(cell.line > line || (cell.line == line && cell.column > column));
      line = cell.line;
      column = cell.column;
      require(cell.quoted || cell.text.find_first_of("\r\n") == std::string_view::npos);
      require(cell.quoted || cell.text.find(separator) == std::string_view::npos);
    }
  }
  require(position == text.size());
}

void check_sheet(std::string_view text, const SheetOptions& options) {
  const auto read = read_sheet(text, options);
  require(read.sheet.has_value() == read.problems.empty());
  const std::size_t lines = line_count(text);
  check_problems(read.problems, lines);
  if (!read.sheet) return;
  const Sheet& sheet = *read.sheet;
  std::size_t shots = 0, excluded = 0, open = 0, check_standards = 0;
  for (const auto& setup : sheet.setups) {
    require(!setup.name.empty());
    shots += setup.shots;
    excluded += setup.excluded;
    open += setup.open;
    require(!setup.planned || (sheet.plan && *setup.planned > 0));
    require(setup.check_standard == (setup.name == sheet.check_standard));
    check_standards += setup.check_standard;
  }
  require(shots == sheet.shots.size() && excluded == sheet.excluded.size() && open == sheet.open.size());
  require(shots + excluded + open > 0 && (open == 0 || sheet.plan));
  require(check_standards == (sheet.check_standard.empty() ? 0 : 1));
  for (const auto& shot : sheet.open) {
    require(shot.setup < sheet.setups.size() && shot.order > 0 && shot.line > 0 && shot.line <= lines);
    for (const Label label : {shot.bow, shot.round, shot.session, shot.arrow}) require(label < sheet.labels.size());
  }
  const Decimal step = sheet.display_step.size();
  for (const auto& shot : sheet.shots) {
    require(shot.setup < sheet.setups.size() && shot.order > 0 && shot.line > 0 && shot.line <= lines);
    for (const Label label : {shot.bow, shot.round, shot.session, shot.arrow}) require(label < sheet.labels.size());
    // steps × step is the reading, digit for digit
    require(WideInteger{shot.steps} * step.coefficient() * Decimal::power_of_ten(shot.reading.decimals()) ==
            WideInteger{shot.reading.coefficient()} * Decimal::power_of_ten(step.decimals()));
    if (!options.any_speed) require(shot.reading.value() > 6 && shot.reading.value() <= 600);
  }
  const auto samples = samples_of(sheet);  // a sheet that was read can be analysed
  for (std::size_t s = 0; s < samples.size(); ++s)
    require(samples[s] ? samples[s]->size() == sheet.setups[s].shots : sheet.setups[s].shots == 0);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  for (const char separator : {',', ';', '\t'}) check_cells(text, separator);
  check_sheet(text, {});
  check_sheet(text, {.any_speed = true});
  check_sheet(text, {.display = Decimal{5, 1}});
  return 0;
}
