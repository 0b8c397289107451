#include <doctest/doctest.h>

#include <shotassay/records/csv.hpp>

#include <string>
#include <vector>

using namespace shotassay;
using namespace std::string_literals;

namespace {

/// Rows on lines; cells as [text]line:column, q behind the text of a quoted one, the fault's number where there is one.
std::string cells(std::string_view text, char separator = ',') {
  std::string out;
  CsvReader csv{text, separator};
  for (auto row = csv.next(); !row.empty(); row = csv.next()) {
    for (const auto& cell : row) {
      out += "[" + std::string{cell.text} + "]" + (cell.quoted ? "q" : "") + std::to_string(cell.line) + ":" +
             std::to_string(cell.column);
      if (cell.fault != CellFault::none) out += "!" + std::to_string(static_cast<int>(cell.fault));
    }
    out += "\n";
  }
  return out;
}

}  // namespace

TEST_CASE("csv: CR, LF and CRLF end a row, and the last row needs no end") {
  CHECK(cells("a,b\nc,d\r\ne,f\rg,h") == "[a]1:1[b]1:3\n[c]2:1[d]2:3\n[e]3:1[f]3:3\n[g]4:1[h]4:3\n");
  CHECK(cells("a\n") == "[a]1:1\n");
  CHECK(cells("") == "");
}

TEST_CASE("csv: an empty line is a row of one empty cell, and an empty cell at the end of a row is there") {
  CHECK(cells("a\n\nb,\n") == "[a]1:1\n[]2:1\n[b]3:1[]3:3\n");
  CHECK(cells("a,") == "[a]1:1[]1:3\n");
  CHECK(cells(",,") == "[]1:1[]1:2[]1:3\n");
}

TEST_CASE("csv: quotes keep separators, line ends and doubled quotes, and lines are still counted") {
  CHECK(cells("\"a,b\",\"say \"\"hi\"\"\"\n") == "[a,b]q1:1[say \"hi\"]q1:7\n");
  CHECK(cells("\"one\r\ntwo\rthree\nfour\",x\ny") == "[one\r\ntwo\rthree\nfour]q1:1[x]4:7\n[y]5:1\n");
  CHECK(cells("\"\",\"\"\"\"\n") == "[]q1:1[\"]q1:4\n");
}

TEST_CASE("csv: blanks are kept, and a blank before a quote makes the cell a plain one with a quote inside") {
  CHECK(cells(" a , b") == "[ a ]1:1[ b]1:5\n");
  CHECK(cells(" \"a\"") == "[ \"a\"]1:1!3\n");
}

TEST_CASE("csv: the separator asked for is the only one") {
  CHECK(cells("a,b;c\td", ';') == "[a,b]1:1[c\td]1:5\n");
  CHECK(cells("a,b;c\td", '\t') == "[a,b;c]1:1[d]1:7\n");
}

TEST_CASE("csv: columns count characters, not bytes") {
  // é 2 bytes, 字 3, 🏹 4
  CHECK(cells("é,字,🏹,x\n\"éé\",y") == "[é]1:1[字]1:3[🏹]1:5[x]1:7\n[éé]q2:1[y]2:6\n");
}

TEST_CASE("csv: a quote that is never closed ends with its line, and the rows after it are read") {
  CHECK(cells("a,\"b,c\nd,é,e") == "[a]1:1[b,c]q1:3!1\n[d]2:1[é]2:3[e]2:5\n");
  CHECK(cells("a,\"é\"\"c\r\nd") == "[a]1:1[é\"\"c]q1:3!1\n[d]2:1\n");
  CHECK(cells("\"") == "[]q1:1!1\n");
}

TEST_CASE("csv: text after a closing quote, a quote in a plain cell and a control character are faults") {
  CHECK(cells("\"a\"b,c") == "[\"a\"b]q1:1!2[c]1:6\n");
  CHECK(cells("\"a\"\"b\" \"c\",d\n") == "[\"a\"\"b\" \"c\"]q1:1!2[d]1:12\n");
  CHECK(cells("a\"b,c") == "[a\"b]1:1!3[c]1:5\n");
  CHECK(cells("a\x01z,\"b\x7F\",c\td") == "[a\x01z]1:1!4[b\x7F]q1:5!4[c\td]1:10\n");
  // U+0085 and U+009F are control characters, U+00A0 is a blank
  CHECK(cells("a\u0085,\u009F,\"\u0085\",\u00A0") == "[a\u0085]1:1!4[\u009F]1:4!4[\u0085]q1:6!4[\u00A0]1:10\n");
}

TEST_CASE("csv: of two faults in a plain cell the first is told") {
  CHECK(cells("a\x01\"") == "[a\x01\"]1:1!4\n");
  CHECK(cells("a\"\x01") == "[a\"\x01]1:1!3\n");
}

TEST_CASE("csv: lines are counted from the number given, and the position is that of the next row") {
  CsvReader csv{"a,b\r\nc", ',', 12};
  CHECK(csv.next()[1].line == 12);
  CHECK(csv.position() == 5);
  CHECK(csv.next()[0].line == 13);
  CHECK(csv.position() == 6);
  CHECK(csv.next().empty());
  CHECK(csv.next().empty());
}

TEST_CASE("csv: many doubled quotes in one row keep their own texts") {
  std::string text, expected;
  for (int i = 0; i < 200; ++i) {
    text += (i ? ",\"" : "\"") + std::to_string(i) + "\"\"\"";
    expected += std::to_string(i) + "\"";
  }
  CsvReader csv{text};
  std::string joined;
  for (const auto& cell : csv.next()) joined += cell.text;
  CHECK(joined == expected);
}

TEST_CASE("separator_of: a tab, else a semicolon, else a comma, outside quotes only") {
  CHECK(separator_of("a,b;c\td") == '\t');
  CHECK(separator_of("a,b;c") == ';');
  CHECK(separator_of("a,b") == ',');
  CHECK(separator_of("a") == ',');
  CHECK(separator_of("\"a;b\",\"c\td\"") == ',');
  CHECK(separator_of("\"a\"\";\";b") == ';');
}

TEST_CASE("row_end: line ends in quotes do not end a row, unless the quote is never closed") {
  CHECK(row_end("ab\ncd\n", 0) == 3);
  CHECK(row_end("ab\ncd\n", 3) == 6);
  CHECK(row_end("ab\r\ncd", 0) == 4);
  CHECK(row_end("ab\rcd", 0) == 3);
  CHECK(row_end("ab", 0) == 2);
  CHECK(row_end("\"a\nb\"\nc", 0) == 6);
  CHECK(row_end("\"a\nb\nc", 0) == 3);
  CHECK(row_end("\"a", 0) == 2);
}

TEST_CASE("first_not_text: UTF-8 of every length is text") {
  CHECK_FALSE(first_not_text(""));
  CHECK_FALSE(first_not_text("plain text, long enough for several steps of eight bytes at once"));
  CHECK_FALSE(first_not_text("\u007F\u0080\u07FF\u0800\uD7FF\uE000\uFFFF\U00010000\U0010FFFF"));
}

TEST_CASE("first_not_text: NUL, stray bytes, overlong forms, surrogates and cut characters are not") {
  const std::string head = "twenty characters...";
  for (const auto& bad : {"\0"s, "\x80"s, "\xBF"s, "\xC0\x80"s, "\xC1\xBF"s, "\xE0\x9F\xBF"s, "\xED\xA0\x80"s,
                          "\xED\xBF\xBF"s, "\xF0\x8F\xBF\xBF"s, "\xF4\x90\x80\x80"s, "\xF5\x80\x80\x80"s, "\xFF"s,
                          "\xC3"s, "\xE5\xAD"s, "\xF0\x9F\x8F"s, "\xC3("s, "\xE5\xAD("s, "\xF0\x9F\x8F("s}) {
    CAPTURE(bad);
    CHECK(first_not_text(bad) == 0);
    CHECK(first_not_text(head + bad) == 20);
    CHECK(first_not_text(head + bad + " and more text after it") == 20);
  }
}
