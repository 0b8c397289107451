#pragma once
#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <shotassay/core/level.hpp>
#include <shotassay/core/named_quantity.hpp>
#include <shotassay/core/uncertain_input.hpp>
#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// An input that acts upon other inputs instead of standing in the formula: the chronograph's scale error, a display's
/// rounding, a draw weight that was not quite what the scale read.
struct BudgetEffect {
  enum class Way { adds, scales };
  Way way = Way::adds;
  std::vector<std::size_t> on{};  ///< indices of the inputs it acts on
  double sensitivity = 1.0;       ///< adds: x + sensitivity·e. scales: x·(1 + sensitivity·e)
};

struct BudgetFileInput {
  UncertainInput known{};  ///< in `unit`
  std::string unit{};      ///< as stated, or that of the quantity's part; empty = not stated
  std::size_t line = 0;
  std::vector<double> readings{};  ///< where the uncertainty comes from them
  std::optional<BudgetEffect> effect{};
};

/// A measurement as stated in a file: what is worked out, from what, and how well each input is known.
struct BudgetFile {
  std::string title{};                   ///< may be empty
  std::optional<NamedQuantity> named{};  ///< absent: `formula`
  std::string formula{};
  std::string formula_name{};  ///< what the formula gives; may be empty
  std::string unit{};          ///< of the result; empty = not stated
  std::optional<ConfidenceLevel> confidence{};
  std::vector<BudgetFileInput> inputs{};  ///< in file order
  std::vector<Correlation> correlations{};

  /// Indices of the inputs that the quantity or formula is worked out from, in the order it takes them: that of the
  /// definition, or for a formula that of the file. The others are effects.
  std::vector<std::size_t> parts{};
};

/// A mistake in a formula: where, counted in characters from 1, and what.
struct FormulaProblem {
  std::size_t character;
  std::string found;
  std::string message;
};

/// Everything that is wrong with a formula, given the names it may use. Formulas are read by whoever evaluates them.
using FormulaCheck =
    std::function<std::vector<FormulaProblem>(const std::string& formula, const std::vector<std::string>& names)>;

/// A budget's file, or everything that is wrong with it; never both, never neither.
struct BudgetFileResult {
  std::optional<BudgetFile> file;
  std::vector<Problem> problems;  ///< in file order; `column` is the JSON pointer of the value: /inputs/0/u
};

/// What does a budget's file say? Reads JSON text, and guesses at nothing.
///
/// The format's page is docs/reference/budget.md. A text with any problem gives no file. Without `check` a file with a
/// formula has a problem: nobody could evaluate it.
BudgetFileResult read_budget_file(std::string_view text, const FormulaCheck& check = {});

}  // namespace shotassay
