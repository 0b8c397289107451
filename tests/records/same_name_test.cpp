#include <doctest/doctest.h>

#include <shotassay/records/same_name.hpp>

using namespace shotassay;

TEST_CASE("same_name: case, blanks and what nobody sees make no other name") {
  CHECK(same_name("18 strands", "18 Strands"));
  CHECK(same_name("18 strands", " 18\u00a0 strands"));
  CHECK(same_name("ÉTÉ Ж", "été ж"));
  for (const char* unseen : {"a\u200bb", "a\u202eb", "a\u2066b", "a\u061cb", "a\u2062b", "a\ufeffb", "a\U000e0041b"})
    CHECK(same_name("ab", unseen));
}

TEST_CASE("same_name: another letter, digit or sign makes another name") {
  CHECK(!same_name("14 strands", "18 strands"));
  CHECK(!same_name("A", "B"));
  CHECK(!same_name("a b", "ab"));
  CHECK(!same_name("e", "é"));
  CHECK(!same_name("", "a"));
}
