#pragma once
#include <array>
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/budget.hpp>
#include <shotassay/core/decimal.hpp>
#include <shotassay/core/interval.hpp>
#include <shotassay/core/level.hpp>
#include <shotassay/records/claim_table.hpp>
#include <shotassay/studies/audit.hpp>

namespace shotassay {

/// What holds for a row that says nothing else.
struct ClaimRules {
  ConfidenceLevel level{0.95};
  Decimal display{1, 0};
  std::optional<Decimal> margin = {};
  std::optional<ShotCount> shots = {};                                ///< absent: each row must tell its own
  WorkBudget budget{.operations = 2e6, .bytes = 16.0 * 1024 * 1024};  ///< of one row
};

/// One row of a table, audited. What cannot be said is absent.
struct AuditedClaim {
  std::size_t line = 0;
  std::string name = {};
  std::array<std::optional<bool>, 2> possible = {};  ///< absent: not printed, or more work than the budget allows
  std::optional<Interval> difference = {};           ///< set-up 2 against set-up 1
  std::optional<VerdictCounts> verdicts = {};        ///< all 0 where a set-up is impossible
  std::optional<ClaimSupport> support = {};          ///< of the verdict claimed; absent where there is no pair
  std::optional<double> tipping_sd = {};             ///< at the printed averages and the fewest shots, 2 or more
  std::optional<Interval> tightest = {};             ///< narrowest interval for the gap
  bool over_budget = false;                          ///< so something is absent
  std::string why_uncounted = {};                    ///< why `verdicts` is absent
  std::vector<Problem> problems = {};                ///< what is wrong with the row: nothing is said of it then
};

/// Audits the rows of a table one after the other.
///
/// Every answer is that of `audit` with the row's figures and depends on no other row: rows that differ only by a
/// common number of whole speeds and display steps share one, and half-widths are kept (AuditMemory).
///
/// Cost      each row within the budget: shared equally among its numbers of shots, 1500 operations for each at least.
/// Memory    some ten megabytes a thread, however many rows.
/// Requires  a positive display step and margin; else DomainError. One thread at a time: each has its own auditor.
class ClaimAuditor {
 public:
  explicit ClaimAuditor(const ClaimRules& rules);
  ~ClaimAuditor();
  ClaimAuditor(const ClaimAuditor&) = delete;
  ClaimAuditor& operator=(const ClaimAuditor&) = delete;

  /// An auditor by the same rules for another thread; answers that one has found the other need not look for.
  std::unique_ptr<ClaimAuditor> another() const;

  AuditedClaim operator()(const ClaimRow& claim);

 private:
  class Answers;
  ClaimAuditor(const ClaimRules& rules, std::shared_ptr<Answers> answers);

  ClaimRules rules_;
  std::shared_ptr<Answers> answers_;
  AuditMemory memory_;
};

}  // namespace shotassay
