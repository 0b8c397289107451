#include <shotassay/core/determinant.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <initializer_list>

using shotassay::determinant;
using shotassay::WideInteger;

namespace {

/// 2^k, 0 ≤ k ≤ 126.
WideInteger two_to(int k) { return WideInteger{1} << k; }

}  // namespace

TEST_CASE("determinant: small ones as by hand, of either sign") {
  CHECK(determinant(1, 2, 3, 4) == -2);
  CHECK(determinant(4, 3, 2, 1) == -2);
  CHECK(determinant(-7, 3, 5, -2) == -1);  // 14 − 15
  CHECK(determinant(7, -3, 5, 2) == 29);   // 14 + 15
  CHECK(determinant(0, 5, 0, 9) == 0);
  CHECK(determinant(6, 4, 9, 6) == 0);
}

TEST_CASE("determinant: what is left of nearly equal products of 2^200 and more is exact") {
  // (x + 1)(x − 1) − x·x = −1 whatever x; (x + 3)(x + 5) − x(x + 8) = 15
  for (const int k : {10, 63, 64, 65, 100, 120, 125}) {
    CAPTURE(k);
    for (const std::int64_t odd : {std::int64_t{0}, std::int64_t{7}, std::int64_t{1'000'003}}) {
      const WideInteger x = two_to(k) + odd;
      CHECK(determinant(x + 1, x, x, x - 1) == -1);
      CHECK(determinant(-x - 1, x, x, -x + 1) == -1);
      CHECK(determinant(x + 3, x, x + 8, x + 5) == 15);
    }
  }
}

TEST_CASE("determinant: what 53 bits do not hold is rounded to the nearest, ties to even") {
  // products of powers of two are doubles; what is added is a quarter, a half or three quarters of the last bit of
  // 2^240
  CHECK(determinant(two_to(120), 0, 0, two_to(120)) == 0x1p240);
  CHECK(determinant(two_to(120), -two_to(93), two_to(93), two_to(120)) == 0x1p240);                // + 2^186: a quarter
  CHECK(determinant(two_to(120), -two_to(93), two_to(94), two_to(120)) == 0x1p240);                // + 2^187: a tie
  CHECK(determinant(two_to(120), -two_to(93), two_to(94) + 1, two_to(120)) == 0x1p240 + 0x1p188);  // just above it
  CHECK(determinant(two_to(120), -two_to(93), 3 * two_to(93), two_to(120)) == 0x1p240 + 0x1p188);  // three quarters
  CHECK(determinant(two_to(120), two_to(93), 3 * two_to(93), two_to(120)) == 0x1p240 - 3 * 0x1p186);  // a tie as well
  CHECK(determinant(two_to(40) + 1, 0, 0, two_to(30)) == 0x1p70 + 0x1p30);
}

TEST_CASE("determinant: agrees with 64-bit numbers multiplied in 128 bits") {
  std::int64_t x = 123'456'789;
  const auto next = [&] { return x = (x * 48271) % 2147483647; };
  for (int i = 0; i < 500; ++i) {
    const std::int64_t a = next() - 1'000'000'000, b = next() - 1'000'000'000, c = next() * 4096, d = next() * 4096;
    CHECK(determinant(a, b, c, d) == static_cast<double>(WideInteger{a} * d - WideInteger{b} * c));
  }
}
