#include <shotassay/records/csv_row.hpp>

#include <doctest/doctest.h>

#include <string>
#include <string_view>
#include <vector>

#include <shotassay/records/csv.hpp>

using namespace shotassay;

TEST_CASE("csv row: what would be misread stands in quotes") {
  std::string out;
  append_csv_row(out, std::vector<std::string_view>{"a", "", "b,c", "d\"e", "f\ng", "h;i"});
  CHECK(out == "a,,\"b,c\",\"d\"\"e\",\"f\ng\",h;i\n");
  out.clear();
  append_csv_row(out, std::vector<std::string_view>{"1,5", "h;i"}, ';');
  CHECK(out == "1,5;\"h;i\"\n");
}

TEST_CASE("csv row: the reader finds the same cells") {
  const std::vector<std::string_view> cells = {"\"", "\r\n", ",;\t", " blank ", "", "=1+1"};
  for (const char separator : {',', ';', '\t'}) {
    std::string out;
    append_csv_row(out, cells, separator);
    CsvReader reader{out, separator};
    const auto read = reader.next();
    REQUIRE(read.size() == cells.size());
    for (std::size_t i = 0; i < cells.size(); ++i) CHECK(read[i].text == cells[i]);
  }
}

TEST_CASE("without_formula: a text that begins like a formula begins with an apostrophe") {
  for (const char* risky :
       {"=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx", "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff20x"})
    CHECK(without_formula(risky) == "'" + std::string{risky});
  for (const char* plain : {"", "a=1", "7", "'=1", "\uff1e1", "\u22121"}) CHECK(without_formula(plain) == plain);
}
