#include <doctest/doctest.h>

#include <shotassay/core/budget.hpp>

using shotassay::BudgetExceeded;
using shotassay::NoAnswer;
using shotassay::require_within;

TEST_CASE("budget: a cost up to the budget is allowed") {
  CHECK_NOTHROW(require_within("m", {.operations = 10, .bytes = 20}, {.operations = 10, .bytes = 20}, "-"));
}

TEST_CASE("budget: a cost over it in operations or in bytes is refused with both figures and the way out") {
  const double mib = 1024 * 1024;
  CHECK_THROWS_WITH_AS(
      require_within("permutation", {.operations = 1.26e6, .bytes = 3 * mib}, {.operations = 1e6, .bytes = 64 * mib},
                     "Fewer shots would fit."),
      "permutation needs about 1.3e+06 operations and 3 MiB; allowed are 1e+06 and 64 MiB. Fewer shots would fit.",
      BudgetExceeded);
  CHECK_THROWS_AS(require_within("m", {.operations = 1, .bytes = 21}, {.operations = 10, .bytes = 20}, "-"), NoAnswer);
  try {
    require_within("m", {.operations = 11, .bytes = 1}, {.operations = 10, .bytes = 20}, "-");
    FAIL("not refused");
  } catch (const BudgetExceeded& e) {
    CHECK(e.cost().operations == 11.0);
    CHECK(e.cost().bytes == 1.0);
  }
}
