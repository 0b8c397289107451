#pragma once
#include <array>
#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/records/csv.hpp>
#include <shotassay/records/sheet.hpp>

#include "findings.hpp"

/// Which column of a sheet is which?
namespace shotassay {

enum class Column : std::size_t {
  setup,
  speed_fps,
  speed_mps,
  bow,
  round,
  order,
  session,
  arrow,
  draw_weight_lbf,
  arrow_mass_gr,
  draw_length_in,
  excluded,
  note
};
inline constexpr std::array<std::string_view, 13> column_names = {
    "setup",           "speed_fps",     "speed_mps",      "bow",      "round", "order", "session", "arrow",
    "draw_weight_lbf", "arrow_mass_gr", "draw_length_in", "excluded", "note"};

constexpr std::string_view name(Column column) { return column_names[static_cast<std::size_t>(column)]; }

class Columns {
 public:
  explicit Columns(std::span<const Cell> header) {
    index_.fill(nowhere);
    for (const Cell& cell : header) names_.emplace_back(trimmed(cell.text));
  }

  SheetLayout layout = SheetLayout::tall;
  std::vector<std::string> ignored;

  std::size_t size() const { return names_.size(); }
  const std::vector<std::string>& names() const { return names_; }  ///< trimmed; empty = a column without a name

  std::size_t index_of(Column column) const { return index_[static_cast<std::size_t>(column)]; }
  bool has(Column column) const { return index_of(column) != nowhere; }
  bool has_speed() const { return has(Column::speed_fps) || has(Column::speed_mps); }
  void place(Column column, std::size_t index) {
    if (!has(column)) index_[static_cast<std::size_t>(column)] = index;
  }

  /// As problems name it.
  std::string shown_name(std::size_t index) const {
    if (index < names_.size() && !names_[index].empty()) return shown(names_[index]);
    return "column " + std::to_string(index + 1);
  }

 private:
  std::array<std::size_t, column_names.size()> index_;
  std::vector<std::string> names_;
};

/// The columns of a header; a wide sheet's names are not looked at beyond their writing.
Columns read_header(std::span<const Cell> header, Findings& findings);

/// What is wrong with a cell, and how to mend it; empty for no fault.
std::string_view fault_message(CellFault fault);

}  // namespace shotassay
