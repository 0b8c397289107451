#include <shotassay/narrative/claim_row.hpp>

#include <doctest/doctest.h>

#include <string>

using namespace shotassay;

namespace {

std::string text_of(const AuditedClaim& claim, const narrative::TableForm& form = {}) {
  std::string out;
  narrative::append_claim_row(out, claim, form);
  return out;
}

}  // namespace

TEST_CASE("claim row: a row that is wrong says where and why, and nothing else") {
  const AuditedClaim claim{.line = 5,
                           .name = "x",
                           .problems = {{.line = 5, .column = "sd_1", .found = "1,x", .message = "is not a number"},
                                        {.line = 5, .column = {}, .found = {}, .message = "too long"}}};
  CHECK(text_of(claim) ==
        "5,x,,,,,,,,,,,,,\"line 5, column sd_1: found \"\"1,x\"\": is not a number | line 5: too long\"\n");
}

TEST_CASE("claim row: names that a spreadsheet program takes for formulas are made harmless") {
  CHECK(text_of({.line = 2, .name = "=1+1"}) == "2,'=1+1,,,,,,,,,,,,,\n");
  CHECK(text_of({.line = 2, .name = "=\"a\",b"}) == "2,\"'=\"\"a\"\",b\",,,,,,,,,,,,,\n");
}

TEST_CASE("claim row: every member has its column, in the table's own form") {
  AuditedClaim claim{.line = 12,
                     .name = "a",
                     .possible = {true, false},
                     .difference = Interval{-0.0, 10.0 / 3.0},
                     .verdicts = VerdictCounts{Tally{4}, Tally{Tally::most()}, Tally{0}, std::nullopt},
                     .support = ClaimSupport::some_pairs,
                     .tipping_sd = 1.25,
                     .tightest = Interval{-1.5, 2e-7}};
  CHECK(narrative::claim_row_header({}) ==
        "row,claim,possible_1,possible_2,gap_low,gap_high,faster,slower,same,open,support,tipping_sd,tightest_low,"
        "tightest_high,problem\n");
  CHECK(text_of(claim) ==
        "12,a,yes,no,0,3.333333333,4,170141183460469231731687303715884105727,0,,some,1.25,-1.5,2e-07,\n");
  CHECK(text_of(claim, {.separator = ';', .decimal_mark = ','}).find("0;3,333333333;4;") != std::string::npos);
  claim.support = ClaimSupport::every_pair;
  CHECK(text_of(claim).find(",every,") != std::string::npos);
  claim.support = ClaimSupport::no_pair;
  CHECK(text_of(claim).find(",none,") != std::string::npos);
}

TEST_CASE("claim row: pairs that were not counted say why") {
  AuditedClaim claim{.line = 3, .why_uncounted = "nothing tells where"};
  CHECK(text_of(claim).find(",nothing tells where\n") != std::string::npos);
  claim.over_budget = true;
  CHECK(text_of(claim).find(",too many reading sets to count: nothing tells where\n") != std::string::npos);
}
