#pragma once
#include <charconv>
#include <string>

#include <shotassay/core/errors.hpp>

namespace shotassay {

/// What an exact method may spend before it stops. Counted beforehand from the number and span of the readings.
struct WorkBudget {
  double operations = 1e9;
  double bytes = 256.0 * 1024 * 1024;
};

/// What an exact method will spend.
struct WorkCost {
  double operations = 0;
  double bytes = 0;
};

/// An exact method would exceed its budget. Nothing was computed; another method is the caller's decision.
class BudgetExceeded : public NoAnswer {
 public:
  BudgetExceeded(const std::string& method, WorkCost cost, WorkBudget budget, const std::string& what_would_fit)
      : NoAnswer{method + " needs about " + rounded(cost.operations) + " operations and " +
                 rounded(cost.bytes / (1024 * 1024)) + " MiB; allowed are " + rounded(budget.operations) + " and " +
                 rounded(budget.bytes / (1024 * 1024)) + " MiB. " + what_would_fit},
        cost_{cost} {}

  WorkCost cost() const { return cost_; }

 private:
  /// Two significant digits, no locale.
  static std::string rounded(double x) {
    char buffer[32];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::general, 2).ptr;
    return std::string(buffer, end);
  }

  WorkCost cost_;
};

/// Throws BudgetExceeded when the cost is over the budget.
inline void require_within(const std::string& method, WorkCost cost, WorkBudget budget,
                           const std::string& what_would_fit) {
  if (cost.operations > budget.operations || cost.bytes > budget.bytes)
    throw BudgetExceeded{method, cost, budget, what_would_fit};
}

}  // namespace shotassay
