#include <shotassay/records/claim_table.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <string>
#include <string_view>
#include <vector>

using namespace shotassay;

namespace {

/// A text handed out in pieces of one size.
class Pieces : public ByteSource {
 public:
  Pieces(std::string text, std::size_t piece) : text_{std::move(text)}, piece_{piece} {}
  std::size_t read(char* to, std::size_t most) override {
    const std::size_t got = std::min({most, piece_, text_.size() - at_});
    std::memcpy(to, text_.data() + at_, got);
    at_ += got;
    return got;
  }

 private:
  std::string text_;
  std::size_t piece_, at_ = 0;
};

/// Rows of one line over and over, made as they are asked for.
class Endless : public ByteSource {
 public:
  Endless(std::string header, std::string row, std::size_t rows)
      : next_{std::move(header)}, row_{std::move(row)}, left_{rows} {}
  std::size_t read(char* to, std::size_t most) override {
    std::size_t got = 0;
    while (got < most) {
      if (next_.empty()) {
        if (left_-- == 0) {
          left_ = 0;
          break;
        }
        next_ = row_;
      }
      const std::size_t part = std::min(most - got, next_.size());
      std::memcpy(to + got, next_.data(), part);
      next_.erase(0, part);
      got += part;
    }
    return got;
  }

 private:
  std::string next_, row_;
  std::size_t left_;
};

std::vector<ClaimRow> rows_of(const std::string& text, std::size_t piece = 1000) {
  Pieces source{text, piece};
  ClaimTableReader reader{source};
  REQUIRE(reader.problems().empty());
  std::vector<ClaimRow> rows;
  while (auto row = reader.next()) rows.push_back(std::move(*row));
  return rows;
}

ClaimRow row_of(const std::string& text) {
  const auto rows = rows_of(text);
  REQUIRE(rows.size() == 1);
  return rows[0];
}

std::vector<Problem> header_problems(const std::string& text) {
  Pieces source{text, 1000};
  ClaimTableReader reader{source};
  CHECK_FALSE(reader.next());
  return reader.problems();
}

/// The only thing that is wrong with the only row.
Problem problem_of(const std::string& text) {
  const ClaimRow row = row_of(text);
  REQUIRE(row.problems.size() == 1);
  return row.problems[0];
}

bool holds(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("claim table: a header that cannot be right gives no rows, and says why") {
  CHECK(header_problems("")[0].message == "the file is empty");
  CHECK(header_problems("\n\n\r\n")[0].kind == ProblemKind::empty_file);
  CHECK(holds(header_problems("shots_1,average_2\n3,281\n")[0].message, "needs the column average_1"));
  const auto misspelt = header_problems("averge_1,average_2\n281,284\n");
  CHECK(misspelt[0].line == 1);
  CHECK(misspelt[0].found == "averge_1");
  CHECK(holds(misspelt[0].message, "if average_1 is meant, write it so"));
  CHECK(header_problems("average_1,average_3\n281,284\n").size() == 1);  // there is no third set-up
  CHECK(holds(header_problems("average_1,sd_1,sd_1\n281,1,1\n")[0].message, "twice"));
  CHECK(holds(header_problems("average_1,\"sd_1\n281,1\n")[0].message, "never closed"));
  CHECK(holds(header_problems(std::string{"PK\x03\x04\0\0", 6})[0].message, "a spreadsheet file"));
  CHECK(holds(header_problems("average_1,gr\xF6\xDF"
                              "e\n281,1\n")[0]
                  .message,
              "older encoding"));
  CHECK(holds(header_problems("average_1," + std::string(70000, 'x') + "\n")[0].message, "longer than 65536 bytes"));
}

TEST_CASE("claim table: a wrong cell is told with its line, column and text, and the next row is read") {
  const auto rows = rows_of("shots_1,average_1\n3,28l\n3,281\n");
  REQUIRE(rows.size() == 2);
  REQUIRE(rows[0].problems.size() == 1);
  CHECK(rows[0].problems[0].line == 2);
  CHECK(rows[0].problems[0].column == "average_1");
  CHECK(rows[0].problems[0].found == "28l");
  CHECK(rows[1].problems.empty());
  CHECK(rows[1].line == 3);
  CHECK(rows[1].setups[0].average->text() == "281");
}

TEST_CASE("claim table: what a row may not hold") {
  CHECK(holds(problem_of("shots_1,average_1\n0,281\n").message, "from 1 to 1000"));
  for (const char* shots : {"3.5", "-3", "3..2", "3..", "..3", "3-10", "1001", "three"})
    CHECK(problem_of("shots_1,average_1\n" + std::string{shots} + ",281\n").column == "shots_1");
  CHECK(problem_of("average_1,sd_1\n281,-0.1\n").message == "must not be negative");
  CHECK(problem_of("average_1,spread_2\n281,-1\n").column == "spread_2");
  CHECK(holds(problem_of("average_1,display\n281,0\n").message, "greater than 0"));
  CHECK(holds(problem_of("average_1,display\n281,1000000001\n").message, "nine digits"));
  CHECK(holds(problem_of("average_1,display\n281,1000000000\n").message, "nine digits"));
  CHECK(rows_of("average_1,display\n281,999999999\n")[0].problems.empty());
  CHECK(problem_of("average_1,margin\n281,-2\n").column == "margin");
  CHECK(holds(problem_of("average_1,claims\n281,Faster\n").message, "write faster, same or slower"));
  CHECK(holds(problem_of("average_1,sd_1\n281\n").message, "has 1 cell, the header 2"));
  CHECK(holds(problem_of("average_1,sd_1\n281,1,\n").message, "has 3 cells"));
  CHECK(holds(problem_of("average_1,sd_1\n281,5,1\n").message, "a decimal comma is written as a point"));
  CHECK(holds(problem_of("average_1,sd_1\n\"281,5\",1\n").message, "decimal comma in a comma-separated"));
  CHECK(holds(problem_of("average_1,\n281,x\n").message, "a column without a name"));
  CHECK(holds(problem_of("claim,average_1\nan \"old\" one,281\n").message, "a quote inside a cell"));
  CHECK(holds(problem_of("claim,average_1\n\x07,281\n").message, "control character"));
  const Problem bytes = problem_of(
      "claim,average_1\ngr\xF6\xDF"
      "er,281\n");
  CHECK(bytes.kind == ProblemKind::not_text);
  CHECK(bytes.line == 2);
}

TEST_CASE("claim table: all that is wrong with a row is told, in the order of its cells") {
  const ClaimRow row = row_of("shots_1,average_1,sd_1\nx,y,z\n");
  REQUIRE(row.problems.size() == 3);
  CHECK(row.problems[0].column == "shots_1");
  CHECK(row.problems[2].column == "sd_1");
}

TEST_CASE("claim table: every column reaches its member") {
  const ClaimRow row = row_of(
      "claim,shots_1,average_1,sd_1,low_1,high_1,spread_1,shots_2,average_2,sd_2,low_2,high_2,spread_2,display,margin,"
      "claims,url\nno. 7, 3 ,281.30,1.5,280,283,3,4..10,284,2,281,287,6,0.1,2.5,slower,somewhere\n");
  CHECK(row.problems.empty());
  CHECK(row.name == "no. 7");
  CHECK(row.setups[0].shots->fewest == 3);
  CHECK(row.setups[0].shots->most == 3);
  CHECK(row.setups[0].average->text() == "281.30");  // its decimals stay
  CHECK(row.setups[0].sd->text() == "1.5");
  CHECK(row.setups[0].low->text() == "280");
  CHECK(row.setups[0].high->text() == "283");
  CHECK(row.setups[0].spread->text() == "3");
  CHECK(row.setups[1].shots->fewest == 4);
  CHECK(row.setups[1].shots->most == 10);
  CHECK(row.setups[1].average->text() == "284");
  CHECK(row.setups[1].sd->text() == "2");
  CHECK(row.setups[1].low->text() == "281");
  CHECK(row.setups[1].high->text() == "287");
  CHECK(row.setups[1].spread->text() == "6");
  CHECK(row.display->text() == "0.1");
  CHECK(row.margin->text() == "2.5");
  CHECK(row.word == ClaimWord::slower);
}

TEST_CASE("claim table: columns stand in any order, and those it does not know are named") {
  Pieces source{
      "\xEF\xBB\xBF"
      "url,average_1,shots_1\r\nx,281,3\r\n",
      7};
  ClaimTableReader reader{source};
  CHECK(reader.ignored_columns() == std::vector<std::string>{"url"});
  CHECK(reader.has_column("shots_1"));
  CHECK_FALSE(reader.has_column("shots_2"));
  const auto row = reader.next();
  REQUIRE(row);
  CHECK(row->setups[0].shots->fewest == 3);
  CHECK_FALSE(row->setups[1].has_figures());
}

TEST_CASE("claim table: semicolons and tabs separate, and go with decimal commas") {
  for (const char separator : {';', '\t'}) {
    const std::string s{separator};
    Pieces source{"average_1" + s + "sd_1\n281" + s + "2\n281,5" + s + "1,5\n281.5" + s + "1\n", 1000};
    ClaimTableReader reader{source};
    CHECK(reader.separator() == separator);
    CHECK(reader.next()->problems.empty());
    CHECK_FALSE(reader.decimal_mark());
    CHECK(reader.next()->setups[0].average->text() == "281.5");
    CHECK(reader.decimal_mark() == ',');
    CHECK(holds(reader.next()->problems[0].message, "write all numbers of a sheet one way"));
  }
}

TEST_CASE("claim table: the size of the pieces it comes in changes nothing") {
  std::string text = "claim,average_1\r\n";
  // Line ends and quotes in quotes, blank rows, CR, LF and CRLF, a quote never closed, letters of two bytes, no last
  // end.
  text += "\"two\r\nlines, \"\"quoted\"\"\",281\r\n\r\n\n,\nplain,282\rgrün,283\n\"open,284\nlast,28x\n\"\",285";
  const auto whole = rows_of(text, 1 << 20);
  REQUIRE(whole.size() == 6);
  CHECK(whole[0].name == "two\r\nlines, \"quoted\"");
  const std::size_t lines[] = {2, 7, 8, 9, 10, 11};
  for (std::size_t i = 0; i < 6; ++i) CHECK(whole[i].line == lines[i]);
  CHECK(holds(whole[3].problems[0].message, "never closed"));
  for (const std::size_t piece : {1u, 2u, 3u, 7u, 50u}) {
    const auto rows = rows_of(text, piece);
    REQUIRE(rows.size() == whole.size());
    for (std::size_t i = 0; i < rows.size(); ++i) {
      CHECK(rows[i].name == whole[i].name);
      CHECK(rows[i].line == whole[i].line);
      CHECK(rows[i].problems.size() == whole[i].problems.size());
    }
  }
}

TEST_CASE("claim table: a row that is far too long is one wrong row, and the rest goes on") {
  for (const std::size_t length : {70'000u, 300'000u, 1'000'000u}) {
    for (const char* end : {"\n", "\r\n", "\r"}) {
      const auto rows = rows_of("claim,average_1\n" + std::string(length, 'x') + end + "next,281\n", 999);
      REQUIRE(rows.size() == 2);
      CHECK(rows[0].line == 2);
      CHECK(rows[0].problems[0].message == "this row is longer than 65536 bytes");
      CHECK(rows[1].line == 3);
      CHECK(rows[1].name == "next");
    }
  }
  CHECK(rows_of("claim,average_1\n" + std::string(200'000, 'x')).size() == 1);  // at the very end
  CHECK(rows_of("claim,average_1\n" + std::string(60'000, 'x') + ",281\n")[0].problems.empty());
}

TEST_CASE("claim table: a quote that is never closed spoils one row, wherever the text is cut") {
  std::string text = "claim,average_1\n\"open,281\n";
  for (int i = 0; i < 30'000; ++i) text += "row,282\n";
  const auto rows = rows_of(text, 4096);
  REQUIRE(rows.size() == 30'001);
  CHECK(holds(rows[0].problems[0].message, "never closed"));
  CHECK(std::all_of(rows.begin() + 1, rows.end(), [](const ClaimRow& row) { return row.problems.empty(); }));
  CHECK(rows.back().line == 30'002);
}

TEST_CASE("claim table: half a million rows are read one by one, with their lines") {
  Endless source{"claim,average_1\n", "a name,281.5\n", 500'000};
  ClaimTableReader reader{source};
  std::size_t rows = 0, last = 0;
  while (const auto row = reader.next()) {
    ++rows;
    last = row->line;
  }
  CHECK(rows == 500'000);
  CHECK(last == 500'001);
}
