#include <doctest/doctest.h>

#include <shotassay/core/decimal.hpp>
#include <string>

using shotassay::Decimal;
using shotassay::DomainError;

TEST_CASE("decimal: what a display shows comes back as it was written") {
  for (const char* text : {"281", "81.40", "0", "0.0", "0.05", "-3.2", "-0.001", "999999999999999999",
                           "0.123456789012345678", "0.000000000000000001", "-123456789.123456789"}) {
    const auto number = Decimal::parse(text);
    CAPTURE(std::string{text});
    REQUIRE(number.has_value());
    CHECK(number->text() == text);
  }
}

TEST_CASE("decimal: every coefficient of up to 18 digits is printed so that it reads back") {
  for (int decimals = 0; decimals <= 18; ++decimals)
    for (const std::int64_t coefficient : {std::int64_t{0}, std::int64_t{7}, std::int64_t{-40}, std::int64_t{8140},
                                           std::int64_t{999'999'999'999'999'999}, -Decimal::power_of_ten(17)}) {
      const Decimal number{coefficient, decimals};
      const auto again = Decimal::parse(number.text());
      CAPTURE(number.text());
      REQUIRE(again.has_value());
      CHECK(again->coefficient() == coefficient);
      CHECK(again->decimals() == decimals);
    }
}

TEST_CASE("decimal: 81.40 keeps its two decimals and is not 81.4") {
  CHECK(Decimal::parse("81.40")->coefficient() == 8140);
  CHECK(Decimal::parse("81.40")->decimals() == 2);
  CHECK(Decimal::parse("81.4")->decimals() == 1);
  CHECK(Decimal::parse("81.40")->value() == 81.4);
}

TEST_CASE("decimal: leading zeros and minus zero are read as the number they are") {
  CHECK(Decimal::parse("007")->text() == "7");
  CHECK(Decimal::parse("00000000000000000000081.40")->text() == "81.40");
  CHECK(Decimal::parse("-0.0")->text() == "0.0");
}

TEST_CASE("decimal: anything a display would not show is refused") {
  for (const char* text :
       {"",   "-",     "+1",   "1e6",  "1E6", " 1",  "1 ",    "1.",    ".5",  "-.5",      "--1",   "1-",          "1,5",
        ",5", "1.5.2", "1..5", "0x10", "inf", "nan", "18l.2", "1'000", "1_0", "\xD9\xA1", "1.5\t", "\xEF\xBC\x91"}) {
    CAPTURE(std::string{text});
    CHECK_FALSE(Decimal::parse(text).has_value());
  }
  CHECK_FALSE(Decimal::parse(std::string("1\0", 2)).has_value());
}

TEST_CASE("decimal: with a decimal comma the point is refused, and the other way round") {
  CHECK(Decimal::parse("81,40", ',')->text() == "81.40");
  CHECK(Decimal::parse("-0,5", ',')->value() == -0.5);
  for (const char* text : {"81.40", ",5", "1,", "1,5,2"}) {
    CAPTURE(std::string{text});
    CHECK_FALSE(Decimal::parse(text, ',').has_value());
  }
}

TEST_CASE("decimal: 18 digits are read, 19 refused, and so are 19 decimals") {
  CHECK(Decimal::parse("123456789012345678").has_value());
  CHECK_FALSE(Decimal::parse("1234567890123456789").has_value());
  CHECK(Decimal::parse("1.23456789012345678").has_value());
  CHECK_FALSE(Decimal::parse("1.234567890123456789").has_value());
  CHECK_FALSE(Decimal::parse("0.0000000000000000001").has_value());
  CHECK_FALSE(Decimal::parse("0.0000000000000000000").has_value());
}

TEST_CASE("decimal: more decimals are the same number, fewer or too many are absent") {
  const Decimal reading{8140, 2};
  CHECK(reading.with_decimals(4)->text() == "81.4000");
  CHECK(reading.with_decimals(2)->coefficient() == 8140);
  CHECK_FALSE(reading.with_decimals(1).has_value());
  CHECK_FALSE(reading.with_decimals(19).has_value());
  // 2^63 − 1 = 9223372036854775807 ≈ 9.2e18: 9 with 18 decimals fits, 10 does not.
  CHECK(Decimal{9, 0}.with_decimals(18)->coefficient() == 9'000'000'000'000'000'000);
  CHECK_FALSE(Decimal{10, 0}.with_decimals(18).has_value());
  CHECK(Decimal{-9, 0}.with_decimals(18)->coefficient() == -9'000'000'000'000'000'000);
  CHECK_FALSE(Decimal{-10, 0}.with_decimals(18).has_value());
  CHECK_FALSE(Decimal{INT64_MIN, 0}.with_decimals(0).has_value());
}

TEST_CASE("decimal: the extreme coefficients print all their digits") {
  CHECK(Decimal{INT64_MAX, 0}.text() == "9223372036854775807");
  CHECK(Decimal{INT64_MIN, 3}.text() == "-9223372036854775.808");
}

TEST_CASE("decimal: a number of decimals outside 0 to 18 is the caller's mistake") {
  CHECK_THROWS_WITH_AS(Decimal(1, -1), "Decimal: decimals must be 0 to 18, got -1", DomainError);
  CHECK_THROWS_WITH_AS(Decimal(1, 19), "Decimal: decimals must be 0 to 18, got 19", DomainError);
}

TEST_CASE("decimal: the value is the double nearest to what was written") {
  // The compiler reads its literals correctly rounded, apart from our division.
  CHECK(Decimal::parse("0.1")->value() == 0.1);
  CHECK(Decimal::parse("299.85")->value() == 299.85);
  CHECK(Decimal::parse("9007199254740993")->value() == 9007199254740992.0);
  CHECK(Decimal::parse("-0.123456789012345678")->value() == -0.123456789012345678);
  CHECK(Decimal::parse("0.000000000000000001")->value() == 1e-18);
  CHECK(Decimal{}.value() == 0.0);
  CHECK(Decimal{}.text() == "0");
}
