#include <shotassay/narrative/claim_row.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <string_view>

#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/csv_row.hpp>

namespace shotassay::narrative {

namespace {

constexpr std::array<std::string_view, 15> names = {
    "row",  "claim", "possible_1", "possible_2", "gap_low",      "gap_high",      "faster", "slower",
    "same", "open",  "support",    "tipping_sd", "tightest_low", "tightest_high", "problem"};

std::string number(double x, char decimal_mark) {
  char buffer[40];
  const double value = x == 0.0 ? 0.0 : x;  // no minus before 0
  std::string text(buffer, std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::general, 10).ptr);
  std::replace(text.begin(), text.end(), '.', decimal_mark);
  return text;
}

std::string count(const std::optional<Tally>& pairs) { return pairs ? pairs->text() : std::string{}; }

std::string yes_or_no(const std::optional<bool>& answer) { return !answer ? "" : *answer ? "yes" : "no"; }

std::string_view support_word(const std::optional<ClaimSupport>& support) {
  if (!support) return {};
  switch (*support) {
    case ClaimSupport::every_pair:
      return "every";
    case ClaimSupport::some_pairs:
      return "some";
    case ClaimSupport::no_pair:
      return "none";
  }
  return {};
}

std::string problem(const AuditedClaim& claim) {
  std::string text;
  for (const Problem& problem : claim.problems) text += (text.empty() ? "" : " | ") + problem_text({"", problem});
  if (!text.empty()) return text;
  return (claim.over_budget ? "too many reading sets to count: " : "") + claim.why_uncounted;
}

}  // namespace

std::string claim_row_header(const TableForm& form) {
  std::string out;
  append_csv_row(out, names, form.separator);
  return out;
}

void append_claim_row(std::string& out, const AuditedClaim& claim, const TableForm& form) {
  const auto low = [&](const std::optional<Interval>& range) {
    return range ? number(range->lower, form.decimal_mark) : std::string{};
  };
  const auto high = [&](const std::optional<Interval>& range) {
    return range ? number(range->upper, form.decimal_mark) : std::string{};
  };
  const auto verdicts = [&](Verdict verdict) {
    return claim.verdicts ? count(claim.verdicts->of(verdict)) : std::string{};
  };
  const std::array<std::string, names.size()> texts = {
      std::to_string(claim.line),
      without_formula(claim.name),
      yes_or_no(claim.possible[0]),
      yes_or_no(claim.possible[1]),
      low(claim.difference),
      high(claim.difference),
      verdicts(Verdict::faster),
      verdicts(Verdict::slower),
      verdicts(Verdict::same),
      verdicts(Verdict::open),
      std::string{support_word(claim.support)},
      claim.tipping_sd ? number(*claim.tipping_sd, form.decimal_mark) : std::string{},
      low(claim.tightest),
      high(claim.tightest),
      problem(claim)};
  std::array<std::string_view, names.size()> cells;
  std::copy(texts.begin(), texts.end(), cells.begin());
  append_csv_row(out, cells, form.separator);
}

}  // namespace shotassay::narrative
