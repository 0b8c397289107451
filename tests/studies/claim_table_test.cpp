#include <shotassay/studies/claim_table.hpp>

#include <doctest/doctest.h>

#include <string>

#include <shotassay/core/errors.hpp>

#include "support/close.hpp"

using namespace shotassay;

namespace {

Decimal printed(const char* text) { return *Decimal::parse(text); }

ClaimedSetup figures(std::int64_t shots, const char* average, const char* sd = nullptr) {
  ClaimedSetup setup{.shots = ShotCount{shots, shots}, .average = printed(average)};
  if (sd) setup.sd = printed(sd);
  return setup;
}

ClaimRow row(ClaimedSetup a, ClaimedSetup b) {
  return {.line = 7, .name = "x", .setups = {std::move(a), std::move(b)}};
}

AuditedClaim audited(const ClaimRow& claim, const ClaimRules& rules = {}) { return ClaimAuditor{rules}(claim); }

/// The only thing that is wrong with a row.
Problem problem_of(const ClaimRow& claim, const ClaimRules& rules = {}) {
  const AuditedClaim result = audited(claim, rules);
  REQUIRE(result.problems.size() == 1);
  CHECK_FALSE(result.possible[0]);
  CHECK_FALSE(result.verdicts);
  return result.problems[0];
}

void check_same(const std::optional<Interval>& a, const std::optional<Interval>& b) {
  CHECK(a.has_value() == b.has_value());
  if (a && b) CHECK(*a == *b);
}

void check_same(const std::optional<Tally>& a, const std::optional<Tally>& b) {
  CHECK(a.has_value() == b.has_value());
  if (a && b) CHECK(*a == *b);
}

/// Says the row what `audit` says of the same figures, asked alone?
void check_against_audit(ClaimAuditor& auditor, const ClaimRow& claim, const ClaimRules& rules) {
  const AuditedClaim result = auditor(claim);
  std::vector<AuditedSetup> setups;
  for (const ClaimedSetup& s : claim.setups)
    setups.push_back({.name = setups.empty() ? "a" : "b",
                      .figures = {.shots = s.shots->fewest,
                                  .display_step = DisplayStep{claim.display.value_or(rules.display)},
                                  .average = s.average,
                                  .sd = s.sd,
                                  .low = s.low,
                                  .high = s.high,
                                  .spread = s.spread},
                      .most_shots = s.shots->most});
  AuditOptions options{.level = rules.level, .claimed = Verdict::faster};
  if (claim.margin) options.margin = claim.margin->value();
  const Audit alone = audit(setups, options);
  const GapAudit& gap = alone.gaps[0];
  CHECK(result.possible[0] == alone.setups[0].possible);
  CHECK(result.possible[1] == alone.setups[1].possible);
  check_same(result.difference, gap.difference);
  if (gap.verdicts) {
    REQUIRE(result.verdicts);
    for (const Verdict v : {Verdict::faster, Verdict::slower, Verdict::same, Verdict::open})
      check_same(result.verdicts->of(v), gap.verdicts->of(v));
    CHECK(result.support == gap.support);
    check_same(result.tightest, gap.tightest ? std::optional{gap.tightest->interval} : std::nullopt);
  }
  const auto& tipping = gap.by_shots[0].tipping;
  if (tipping) CHECK(result.tipping_sd == tipping->at_printed);
}

}  // namespace

TEST_CASE("claim table: a row that lacks what is needed is wrong, and nothing is said of it") {
  CHECK(problem_of({.line = 7}).column == "average_1");
  CHECK(problem_of({.line = 7}).line == 7);
  ClaimRow no_shots = row(figures(3, "281"), figures(3, "284"));
  no_shots.setups[1].shots.reset();
  CHECK(problem_of(no_shots).column == "shots_2");
  CHECK(audited(no_shots, {.shots = ShotCount{3, 3}}).problems.empty());
  ClaimRow alone = row(figures(3, "281"), {});
  alone.word = ClaimWord::faster;
  CHECK(problem_of(alone).message == "needs figures of set-up 2");
  ClaimRow same = row(figures(3, "281"), figures(3, "284"));
  same.word = ClaimWord::same;
  CHECK(problem_of(same).message.find("needs a margin") != std::string::npos);
  CHECK(audited(same, {.margin = printed("4")}).problems.empty());
  // What the reader found is kept, and nothing more is looked for.
  ClaimRow wrong = row(figures(3, "281"), {});
  wrong.problems.push_back({.line = 7, .column = "sd_1", .found = "x", .message = "is not a number"});
  CHECK(problem_of(wrong).column == "sd_1");
}

TEST_CASE("claim table: figures beyond what can be worked with are the row's mistake, told as printed") {
  const Problem problem = problem_of(row(figures(3, "1234567890123"), figures(3, "284")));
  CHECK(problem.line == 7);
  CHECK(problem.message == "an average needs at most 12 digits and 9 decimals, got 1234567890123");
}

TEST_CASE("claim table: rules that cannot be are refused") {
  CHECK_THROWS_WITH_AS(ClaimAuditor(ClaimRules{.display = printed("0")}),
                       "ClaimAuditor: the display step must be positive, got 0", DomainError);
  CHECK_THROWS_WITH_AS(ClaimAuditor(ClaimRules{.margin = printed("-1")}),
                       "ClaimAuditor: the margin must be positive, got -1", DomainError);
}

TEST_CASE("claim table: each row says what an audit of it alone says, whatever rows came before") {
  const ClaimRules rules{.level = ConfidenceLevel{0.9}, .budget = {.operations = 1e9}};
  ClaimAuditor auditor{rules};
  const auto second = auditor.another();
  for (int turn = 0; turn < 2; ++turn)
    for (const char* gap : {"281", "284", "277", "300"}) {
      for (const char* sd : {static_cast<const char*>(nullptr), "1.5", "0"}) {
        ClaimRow claim = row(figures(3, "281", sd), figures(4, gap, sd));
        claim.word = ClaimWord::faster;
        claim.margin = printed("3");
        check_against_audit(turn == 0 ? auditor : *second, claim, rules);
        claim.margin.reset();
        check_against_audit(auditor, claim, rules);
      }
    }
}

TEST_CASE("claim table: rows that differ by whole speeds say the same, and just as an audit alone says") {
  // Display steps that do and do not divide a whole speed; averages near a rounding tie; below 0.
  const ClaimRules rules{};
  ClaimAuditor auditor{rules};
  for (const char* display : {"1", "0.1", "0.5", "0.3", "2", "5"})
    for (const char* base : {"281.3", "280.3", "82.3", "-1.7", "0.3"}) {
      const Decimal from = printed(base);
      ClaimRow claim = row(figures(3, base, "1.2"), figures(3, "0"));
      claim.setups[1].average = Decimal{from.coefficient() + 34, 1};
      claim.setups[1].sd = printed("1.4");
      claim.setups[1].low = Decimal{from.coefficient() + 20, 1};
      claim.display = printed(display);
      claim.word = ClaimWord::faster;
      check_against_audit(auditor, claim, rules);
    }
}

TEST_CASE("claim table: one set-up alone is only asked whether it can be") {
  const AuditedClaim result = audited(row(figures(3, "281.5", nullptr), {}));
  CHECK(result.possible[0] == false);  // thirds of whole readings: 281.33 and 281.67 print as .3 and .7
  CHECK_FALSE(result.possible[1]);
  CHECK_FALSE(result.verdicts);
  CHECK(result.problems.empty());
  CHECK(audited(row(figures(3, "281.3"), {})).possible[0] == true);
}

TEST_CASE("claim table: with an impossible set-up no pair ends in any verdict") {
  ClaimRow claim = row(figures(3, "281.5"), figures(3, "284"));
  claim.word = ClaimWord::faster;
  const AuditedClaim result = audited(claim);
  CHECK(result.possible[0] == false);
  CHECK(result.possible[1] == true);
  REQUIRE(result.verdicts);
  for (const Verdict v : {Verdict::faster, Verdict::slower, Verdict::same, Verdict::open})
    CHECK(*result.verdicts->of(v) == Tally{0});
  CHECK_FALSE(result.support);
  CHECK(result.why_uncounted.empty());
}

TEST_CASE("claim table: the tipping SD is that of the fewest shots that have one") {
  // |gap| / (t(0.975; 4) √(2/3)); R: 3 / (qt(0.975, 4) * sqrt(2/3))
  const double three = 1.323359358806;
  CHECK(*audited(row(figures(3, "281"), figures(3, "284"))).tipping_sd == digits(three, 11));
  ClaimRow range = row(figures(3, "281"), figures(3, "284"));
  range.setups[0].shots->most = range.setups[1].shots->most = 10;
  CHECK(*audited(range).tipping_sd == digits(three, 11));
  range.setups[0].shots = range.setups[1].shots = ShotCount{1, 3};
  // R: 3 / qt(0.975, 2)
  CHECK(*audited(range).tipping_sd == digits(0.697244278921, 11));
  range.setups[0].shots = ShotCount{1, 1};
  CHECK_FALSE(audited(range).tipping_sd);
  CHECK_FALSE(audited(row(figures(3, "281"), figures(3, "281"))).tipping_sd);
}

TEST_CASE("claim table: more work than a row may take is said, and is no mistake of the row") {
  const AuditedClaim result =
      audited(row(figures(10, "281", "9"), figures(10, "284", "9")), {.budget = {.operations = 1e4}});
  CHECK(result.over_budget);
  CHECK(result.problems.empty());
  CHECK_FALSE(result.verdicts);
  CHECK_FALSE(result.support);
  CHECK(result.why_uncounted.find("operations") != std::string::npos);
  CHECK(result.tipping_sd);
  // Averages alone leave the sets without end: that they exist is known at once.
  const AuditedClaim far = audited(row(figures(5, "281"), figures(5, "321")), {.budget = {.operations = 1e4}});
  CHECK(far.over_budget);
  CHECK(far.possible[0] == true);
  CHECK(far.difference);
}

TEST_CASE("claim table: any number of shots against any other ends within the budget") {
  ClaimRow claim = row(figures(1, "281"), figures(1, "284"));
  claim.setups[0].shots = claim.setups[1].shots = ShotCount{1, 1000};
  const AuditedClaim result = audited(claim);
  CHECK(result.over_budget);
  CHECK(result.possible[0] == true);
  CHECK(result.tipping_sd);
}
