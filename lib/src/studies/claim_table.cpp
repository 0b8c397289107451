#include <shotassay/studies/claim_table.hpp>

#include <algorithm>
#include <cstdint>
#include <mutex>
#include <string_view>
#include <unordered_map>
#include <utility>

#include <shotassay/core/errors.hpp>
#include <shotassay/methods/tipping_shot_sd.hpp>

#include "../methods/lattice_figures.hpp"

namespace shotassay {

namespace {

/// Operations that a pair of numbers of shots takes at least: factors, tables, lists.
constexpr double pair_cost = 1500.0;
constexpr std::size_t most_known = 15'000;

using Figure = std::optional<Decimal> ClaimedSetup::*;
constexpr std::array<Figure, 3> places = {&ClaimedSetup::average, &ClaimedSetup::low, &ClaimedSetup::high};

/// What an error says, without the name of the function that found it: who wrote the table has called none.
std::string without_function(std::string_view text) {
  const std::size_t colon = text.find(": ");
  const bool function =
      colon != std::string_view::npos && text.find_first_not_of("abcdefghijklmnopqrstuvwxyz_") == colon;
  return std::string{function ? text.substr(colon + 2) : text};
}

/// A row with nothing left to fill in.
struct Question {
  std::vector<ClaimedSetup> setups;  ///< 1 or 2, with their shots
  Decimal display;
  std::optional<Decimal> margin;
  std::optional<Verdict> claimed;
};

Verdict verdict_of(ClaimWord word) {
  return word == ClaimWord::faster ? Verdict::faster : word == ClaimWord::slower ? Verdict::slower : Verdict::same;
}

Question question_of(const ClaimRow& claim, const ClaimRules& rules, std::vector<Problem>& problems) {
  const auto report = [&](std::string column, std::string message) {
    problems.push_back({.line = claim.line, .column = std::move(column), .message = std::move(message)});
  };
  Question q{.setups = {},
             .display = claim.display.value_or(rules.display),
             .margin = claim.margin ? claim.margin : rules.margin,
             .claimed = claim.word ? std::optional{verdict_of(*claim.word)} : std::nullopt};
  for (std::size_t s = 0; s < 2; ++s) {
    ClaimedSetup setup = claim.setups[s];
    if (!setup.has_figures()) continue;
    if (!setup.shots) setup.shots = rules.shots;
    if (!setup.shots)
      report("shots_" + std::to_string(s + 1),
             "the number of shots is missing: write it, or the range it lies in, such as 3..10");
    q.setups.push_back(setup);
  }
  if (!claim.setups[0].has_figures())
    report("average_1", "no figure of set-up 1: write an average, SD, low, high or spread");
  else if (claim.word && q.setups.size() < 2)
    report("claims", "needs figures of set-up 2");
  if (q.claimed == Verdict::same && !q.margin)
    report("claims", "\"same\" needs a margin: how far apart may two speeds be that count as the same?");
  return q;
}

/// Moves all speeds by one number of whole speeds, a multiple of the display step, so that set-up 1 lies near 0.
/// Their decimals stay, and so do the gap and all that is said of it.
void bring_near_zero(Question& q) {
  std::optional<Decimal> anchor;
  for (const Figure place : places)
    if (!anchor) anchor = q.setups[0].*place;
  if (!anchor) return;
  const WideInteger period = q.display.coefficient();
  const WideInteger periods =
      detail::floor_ratio(anchor->coefficient(), period * Decimal::power_of_ten(anchor->decimals()));
  const WideInteger by = periods * period;
  std::vector<ClaimedSetup> moved = q.setups;
  for (ClaimedSetup& setup : moved)
    for (const Figure place : places)
      if (auto& figure = setup.*place) {
        const WideInteger coefficient = figure->coefficient() - by * Decimal::power_of_ten(figure->decimals());
        // Where it does not fit, the speeds are none: they stay, and are refused as they are.
        if (coefficient > INT64_MAX || coefficient < -WideInteger{INT64_MAX}) return;
        figure = Decimal{static_cast<std::int64_t>(coefficient), figure->decimals()};
      }
  q.setups = std::move(moved);
}

/// The question, byte for byte.
std::string key_of(const Question& q) {
  std::string key;
  const auto whole = [&](std::int64_t x) { key.append(reinterpret_cast<const char*>(&x), sizeof x); };
  const auto number = [&](const std::optional<Decimal>& x) {
    key += static_cast<char>(x ? x->decimals() : -1);
    if (x) whole(x->coefficient());
  };
  for (const ClaimedSetup& setup : q.setups) {
    whole(setup.shots->fewest);
    whole(setup.shots->most);
    for (const auto& figure : {setup.average, setup.sd, setup.low, setup.high, setup.spread}) number(figure);
  }
  number(q.display);
  number(q.margin);
  key += static_cast<char>(q.claimed ? static_cast<int>(*q.claimed) : -1);
  return key;
}

AuditedSetup audited(const Question& q, std::size_t s) {
  const ClaimedSetup& setup = q.setups[s];
  return {.name = "set-up " + std::to_string(s + 1),
          .figures = {.shots = setup.shots->fewest,
                      .display_step = DisplayStep{q.display},
                      .average = setup.average,
                      .sd = setup.sd,
                      .low = setup.low,
                      .high = setup.high,
                      .spread = setup.spread},
          .most_shots = setup.shots->most};
}

double numbers_of_shots(const ClaimedSetup& setup) {
  return static_cast<double>(setup.shots->most - setup.shots->fewest) + 1.0;
}

/// Of the printed averages. More shots only raise it.
std::optional<double> tipping_sd(const Question& q, ConfidenceLevel level) {
  if (q.setups.size() < 2 || !q.setups[0].average || !q.setups[1].average) return std::nullopt;
  std::array<std::int64_t, 2> shots{};
  for (std::size_t s = 0; s < 2; ++s) {
    shots[s] = std::max<std::int64_t>(2, q.setups[s].shots->fewest);
    if (shots[s] > q.setups[s].shots->most) return std::nullopt;
  }
  const Decimal &a = *q.setups[0].average, &b = *q.setups[1].average;
  const WideInteger unit_a = Decimal::power_of_ten(a.decimals()), unit_b = Decimal::power_of_ten(b.decimals());
  const double gap =
      ratio(WideInteger{b.coefficient()} * unit_a - WideInteger{a.coefficient()} * unit_b, unit_a * unit_b);
  return tipping_shot_sd(gap, shots[0], shots[1], level);
}

/// Is there any set of readings with these figures? Absent when finding out takes more than the budget.
std::optional<bool> possible(const AuditedSetup& setup, WorkBudget budget) {
  ReportedFigures figures = setup.figures;
  double spent = 0.0;
  try {
    for (; figures.shots <= *setup.most_shots; ++figures.shots)
      if (detail::some_reading_set(detail::lattice_figures(figures), budget, spent)) return true;
    return false;
  } catch (const BudgetExceeded&) {
    return std::nullopt;
  }
}

AuditedClaim answer(const Question& q, const ClaimRules& rules, AuditMemory& memory) {
  AuditedClaim result;
  std::vector<AuditedSetup> setups;
  double pairs = 1.0;
  for (std::size_t s = 0; s < q.setups.size(); ++s) {
    setups.push_back(audited(q, s));
    detail::require_figures(setups.back().figures);
    pairs *= numbers_of_shots(q.setups[s]);
  }
  result.tipping_sd = tipping_sd(q, rules.level);
  AuditOptions options{.level = rules.level,
                       .margin = q.margin ? std::optional{q.margin->value()} : std::nullopt,
                       .claimed = q.claimed,
                       .budget = {.operations = rules.budget.operations / pairs, .bytes = rules.budget.bytes},
                       .explain = false,
                       .memory = &memory};
  try {
    require_within("auditing " + std::to_string(static_cast<std::int64_t>(pairs)) + " pairs of numbers of shots",
                   {.operations = pair_cost * pairs, .bytes = 0}, rules.budget, "Fewer numbers of shots would fit.");
    const Audit found = audit(setups, options);
    for (std::size_t s = 0; s < setups.size(); ++s) result.possible[s] = found.setups[s].possible;
    if (setups.size() < 2) return result;
    const GapAudit& gap = found.gaps[0];
    const bool both = *result.possible[0] && *result.possible[1];
    result.difference = gap.difference;
    result.verdicts = both ? gap.verdicts : VerdictCounts{};
    result.support = gap.support;
    if (gap.tightest) result.tightest = gap.tightest->interval;
    result.over_budget = both && gap.over_budget;
    if (both && !gap.verdicts) result.why_uncounted = without_function(gap.why_no_verdicts);
  } catch (const BudgetExceeded& e) {
    for (std::size_t s = 0; s < setups.size(); ++s) result.possible[s] = possible(setups[s], rules.budget);
    result.over_budget = true;
    result.why_uncounted = without_function(e.what());
  }
  return result;
}

}  // namespace

/// Answers found, by question; shared by threads.
class ClaimAuditor::Answers {
 public:
  std::optional<AuditedClaim> find(const std::string& key) const {
    const std::lock_guard lock{mutex_};
    const auto at = answers_.find(key);
    return at == answers_.end() ? std::nullopt : std::optional{at->second};
  }
  void keep(const std::string& key, const AuditedClaim& answer) {
    const std::lock_guard lock{mutex_};
    if (answers_.size() >= most_known) answers_.clear();
    answers_.emplace(key, answer);
  }

 private:
  mutable std::mutex mutex_;
  std::unordered_map<std::string, AuditedClaim> answers_;
};

ClaimAuditor::ClaimAuditor(const ClaimRules& rules) : ClaimAuditor{rules, std::make_shared<Answers>()} {
  if (rules.display.coefficient() <= 0)
    throw DomainError{"ClaimAuditor: the display step must be positive, got " + rules.display.text()};
  if (rules.margin && rules.margin->coefficient() <= 0)
    throw DomainError{"ClaimAuditor: the margin must be positive, got " + rules.margin->text()};
}

ClaimAuditor::ClaimAuditor(const ClaimRules& rules, std::shared_ptr<Answers> answers)
    : rules_{rules}, answers_{std::move(answers)} {}

ClaimAuditor::~ClaimAuditor() = default;

std::unique_ptr<ClaimAuditor> ClaimAuditor::another() const {
  return std::unique_ptr<ClaimAuditor>{new ClaimAuditor{rules_, answers_}};
}

AuditedClaim ClaimAuditor::operator()(const ClaimRow& claim) {
  AuditedClaim result;
  std::vector<Problem> problems = claim.problems;
  if (problems.empty()) {
    Question question = question_of(claim, rules_, problems);
    if (problems.empty()) {
      try {
        // As printed, for a message that names them.
        for (std::size_t s = 0; s < question.setups.size(); ++s) detail::require_figures(audited(question, s).figures);
        bring_near_zero(question);
        const std::string key = key_of(question);
        if (auto known = answers_->find(key)) {
          result = std::move(*known);
        } else {
          result = answer(question, rules_, memory_);
          answers_->keep(key, result);
        }
      } catch (const DomainError& e) {
        problems.push_back({.line = claim.line, .message = without_function(e.what())});
      }
    }
  }
  result.line = claim.line;
  result.name = claim.name;
  result.problems = std::move(problems);
  return result;
}

}  // namespace shotassay
