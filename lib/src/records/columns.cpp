#include "columns.hpp"

#include <algorithm>
#include <optional>
#include <unordered_map>

namespace shotassay {

namespace {

/// Tall when a name is one of a tall sheet's, or can hardly be anything else. "Setup A" beside "Setup B" is wide.
bool is_tall(std::span<const Cell> header) {
  return std::any_of(header.begin(), header.end(), [](const Cell& cell) {
    const std::string key = folded_key(cell.text);
    return key == "speed" || key == "setups" || resembles(key, name(Column::speed_fps)) ||
           resembles(key, name(Column::speed_mps)) ||
           std::any_of(column_names.begin(), column_names.end(), [&](auto known) { return key == folded_key(known); });
  });
}

/// The column that an unknown name probably stands for, among those that the header lacks.
std::optional<Column> likely_meant(std::string_view written, const Columns& columns) {
  if (!columns.has_speed() && folded_key(written) == "speed") return Column::speed_fps;
  for (std::size_t c = 0; c < column_names.size(); ++c) {
    const auto column = static_cast<Column>(c);
    const bool speed = column == Column::speed_fps || column == Column::speed_mps;
    if (!columns.has(column) && !(speed && columns.has_speed()) && resembles(written, column_names[c])) return column;
  }
  return std::nullopt;
}

void read_tall_header(std::span<const Cell> header, Columns& columns, Findings& findings) {
  const auto report = [&](std::size_t i, std::string message) {
    findings.report(header[i].line, i, columns.shown_name(i), header[i].text, std::move(message));
  };
  std::vector<bool> settled(header.size(), false);
  const auto settle = [&](auto matches, auto then) {
    for (std::size_t i = 0; i < header.size(); ++i)
      for (std::size_t c = 0; c < column_names.size() && !settled[i]; ++c) {
        if (!matches(header[i].text, column_names[c])) continue;
        settled[i] = true;
        then(i, column_names[c]);
        columns.place(static_cast<Column>(c), i);
      }
  };
  // First the exact names, so that a doubtful one never takes the place of a right one.
  settle([](auto written, auto known) { return written == known; }, [](auto, auto) {});
  settle([](auto written, auto known) { return folded_key(written) == folded_key(known); },
         [&](auto i, auto known) { report(i, "write the column's name " + std::string{known}); });

  std::string_view like_setup, like_speed;
  for (std::size_t i = 0; i < header.size(); ++i) {
    if (settled[i] || columns.names()[i].empty()) continue;
    const auto likely = likely_meant(header[i].text, columns);
    if (likely == Column::setup)
      like_setup = header[i].text;
    else if (likely == Column::speed_fps || likely == Column::speed_mps)
      like_speed = header[i].text;
    else if (likely && likely != Column::note)
      // Passed over as unknown, a misspelt `excluded` would have shots analysed that should not be.
      report(i, "not a column of a shot sheet; if " + std::string{name(*likely)} +
                    " is meant, write it so, otherwise choose a name less like it");
    else
      columns.ignored.push_back(columns.names()[i]);
  }

  const auto missing = [&](Column column, std::string_view found, const std::string& needed) {
    if (!found.empty() && folded_key(found) == "speed")
      findings.report(header[0].line, nowhere, std::string{name(column)}, found,
                      "a speed needs its unit: name the column speed_fps or speed_mps");
    else
      findings.report(header[0].line, nowhere, std::string{name(column)}, found,
                      "a sheet with one row a shot needs the column " + needed +
                          (found.empty() ? std::string{} : std::string{"; if this column is it, name it so"}));
  };
  if (!columns.has(Column::setup)) missing(Column::setup, like_setup, "setup");
  if (!columns.has_speed()) missing(Column::speed_fps, like_speed, "speed_fps or speed_mps");
  if (columns.has(Column::speed_fps) && columns.has(Column::speed_mps))
    report(std::max(columns.index_of(Column::speed_fps), columns.index_of(Column::speed_mps)),
           "two units in one sheet: keep one of speed_fps and speed_mps");
}

}  // namespace

std::string_view fault_message(CellFault fault) {
  switch (fault) {
    case CellFault::unterminated_quote:
      return "the quote that opens this cell is never closed";
    case CellFault::text_after_quote:
      return "text after the closing quote: quote the whole cell, and write a quote inside it twice";
    case CellFault::quote_in_plain_cell:
      return "a quote inside a cell without quotes: quote the whole cell, and write the quote twice";
    case CellFault::control_character:
      return "a control character: delete it";
    case CellFault::none:
      break;
  }
  return {};
}

Columns read_header(std::span<const Cell> header, Findings& findings) {
  Columns columns{header};
  std::unordered_map<std::string_view, std::size_t> first;
  for (std::size_t i = 0; i < header.size(); ++i) {
    const Cell& cell = header[i];
    if (cell.fault != CellFault::none)
      findings.report(cell.line, i, columns.shown_name(i), cell.text, std::string{fault_message(cell.fault)});
    if (columns.names()[i].empty()) continue;
    if (const auto [earlier, added] = first.try_emplace(cell.text, i); !added)
      findings.report(cell.line, i, columns.shown_name(i), cell.text,
                      "the header has this name twice, in columns " + std::to_string(earlier->second + 1) + " and " +
                          std::to_string(i + 1));
  }
  columns.layout = is_tall(header) ? SheetLayout::tall : SheetLayout::wide;
  if (columns.layout == SheetLayout::tall) read_tall_header(header, columns, findings);
  return columns;
}

}  // namespace shotassay
