#include "support/close.hpp"
#include "support/published.hpp"
#include "support/samples.hpp"

#include <doctest/doctest.h>

#include <shotassay/methods/describe.hpp>
#include <string>
#include <vector>

using shotassay::Decimal;
using shotassay::describe;
using shotassay::Description;
using shotassay::Sample;

namespace {

/// NIST's rule for NumAcc2 to 4: the centre once, then one tenth below and above it, alternately, 500 times each.
Sample tenths_about(const std::string& centre) {
  const std::int64_t middle = Decimal::parse(centre)->coefficient();
  std::vector<std::int64_t> steps{middle};
  for (int i = 0; i < 500; ++i) {
    steps.push_back(middle - 1);
    steps.push_back(middle + 1);
  }
  return decimal_sample(steps, 1);
}

/// All 15 digits NIST prints: |x − c| ≤ 5e-15·|c|.
void agrees(const Sample& readings, const std::string& id) {
  CAPTURE(id);
  const Published certified{id};
  const Description d = describe(readings);
  CHECK(d.mean == digits(certified.value("mean"), 15));
  REQUIRE(d.sd.has_value());
  CHECK(*d.sd == digits(certified.value("sd"), 15));
}

}  // namespace

TEST_CASE("describe: mean and SD agree with the 15 digits that NIST certifies, on every set") {
  for (const char* name : {"lew", "lottery", "mavro", "michelso", "pidigits"})
    agrees(sample_of(reference_column("strd_" + std::string{name} + ".csv")), "strd-univ-" + std::string{name});
  agrees(Published{"strd-univ-numacc1"}.readings("y"), "strd-univ-numacc1");
  for (const char* id : {"strd-univ-numacc2", "strd-univ-numacc4"}) agrees(tenths_about(Published{id}.text("c")), id);
}

TEST_CASE("describe: a large centre costs no digit of the SD") {
  // NumAcc3 by NIST's rule about 1000000.2, then far beyond it: Σ(x − x̄)² = 1000 × 0.01, n − 1 = 1000, SD = 0.1.
  for (const char* centre : {"1000000.2", "100000000000000.2"}) {
    const Description d = describe(tenths_about(centre));
    CHECK(d.mean == Decimal::parse(centre)->value());
    CHECK(*d.sd == digits(0.1, 15));
  }
}

TEST_CASE("describe: three shots by hand") {
  // 281 284 282: mean 847/3; deviations −4/3 5/3 −1/3, squares 42/9, s² = 21/9
  const Description d = describe(sample({281, 284, 282}));
  CHECK(d.shots == 3);
  CHECK(d.mean == 847.0 / 3);
  CHECK(*d.sd == digits(std::sqrt(21.0 / 9), 15));
  CHECK(d.low == 281);
  CHECK(d.high == 284);
  CHECK(d.spread == 3);
  CHECK_FALSE(d.all_equal);
}

TEST_CASE("describe: tenths are scaled in one step, not summed in binary") {
  // 81.2 81.3 81.4 81.4: mean 325.3/4 = 81.325; deviations ×1000: −125 −25 75 75, squares 27500, s² = 0.0275/3
  const Description d = describe(decimal_sample({812, 813, 814, 814}, 1));
  CHECK(d.mean == 81.325);
  CHECK(*d.sd == digits(std::sqrt(0.0275 / 3), 15));
  CHECK(d.low == 81.2);
  CHECK(d.high == 81.4);
  CHECK(d.spread == 0.2);
}

TEST_CASE("describe: one shot has no SD, not an SD of 0") {
  const Description d = describe(sample({281}));
  CHECK(d.shots == 1);
  CHECK(d.mean == 281);
  CHECK_FALSE(d.sd.has_value());
  CHECK(d.spread == 0);
  CHECK(d.all_equal);
}

TEST_CASE("describe: equal readings are an ordinary case and are marked") {
  const Description d = describe(sample({281, 281, 281}));
  CHECK(d.mean == 281);
  CHECK(*d.sd == 0);
  CHECK(d.spread == 0);
  CHECK(d.all_equal);
}

TEST_CASE("describe: the order of the shots changes nothing, and a shift moves only the place") {
  const Description a = describe(sample({281, 284, 282, 279})), b = describe(sample({279, 282, 281, 284}));
  CHECK(a.mean == b.mean);
  CHECK(*a.sd == *b.sd);
  const Description far = describe(sample({1'000'281, 1'000'284, 1'000'282, 1'000'279}));
  CHECK(*far.sd == *a.sd);
  CHECK(far.mean == a.mean + 1e6);
}
