#include <doctest/doctest.h>

#include <shotassay/records/sheet.hpp>

#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <shotassay/core/errors.hpp>

using namespace shotassay;
using namespace std::string_literals;

namespace {

/// The problems of a text, one a line: "line | column | found | message".
std::string problems(std::string_view text, const SheetOptions& options = {}) {
  std::string out;
  const auto read = read_sheet(text, options);
  CHECK(read.sheet.has_value() == read.problems.empty());
  for (const auto& p : read.problems)
    out += std::to_string(p.line) + " | " + p.column + " | " + p.found + " | " + p.message + "\n";
  return out;
}

Sheet sheet(std::string_view text, const SheetOptions& options = {}) {
  CHECK(problems(text, options) == "");
  return *read_sheet(text, options).sheet;
}

std::vector<std::int64_t> steps(const Sheet& sheet, std::size_t setup) {
  const auto sample = sample_of(sheet, setup);
  return {sample.steps().begin(), sample.steps().end()};
}

std::string example(const std::string& name) {
  std::ifstream file{SHOTASSAY_SOURCE_DIR "/data/examples/" + name, std::ios::binary};
  REQUIRE(file);
  return {std::istreambuf_iterator<char>{file}, {}};
}

using Steps = std::vector<std::int64_t>;

constexpr auto no_number =
    "is not a number: write digits alone, such as 271 or 81.4, without unit, plus sign, exponent or grouping\n";

}  // namespace

// Tall sheets

TEST_CASE("sheet: a tall sheet is read whole, columns in any order") {
  const auto s = sheet(
      "# title: Two bowstrings\n# date: 2024-05-04\n# place: hall\n# archer: club\n# accuracy: 0.5 %\n# margin: 1.5\n"
      "note,order,speed_fps,arrow,round,session,bow,setup,arrow_mass_gr,draw_weight_lbf,draw_length_in\n"
      "first,2,191,7,1,am,b1,14 strands,402.5,38.2,28\n"
      ",1,188,8,1,am,b1,18 strands,,,\n"
      ",3,190,7,2,pm,b1,14 strands,,,\n");
  CHECK(s.title == "Two bowstrings");
  CHECK(s.date == "2024-05-04");
  CHECK(s.place == "hall");
  CHECK(s.archer == "club");
  CHECK(s.accuracy == "0.5 %");
  CHECK(s.margin->text() == "1.5");
  CHECK(s.layout == SheetLayout::tall);
  CHECK(s.separator == ',');
  CHECK(s.unit == SpeedUnit::feet_per_second);
  CHECK(s.unit_origin == UnitOrigin::column_name);
  CHECK(s.display_step.size().text() == "1");
  CHECK(s.display_origin == DisplayOrigin::last_decimal_written);
  CHECK(s.order_given);
  REQUIRE(s.setups.size() == 2);
  CHECK(s.setups[0].name == "14 strands");
  CHECK(s.setups[0].line == 8);
  CHECK(s.setups[0].shots == 2);
  CHECK(s.setups[0].excluded == 0);
  CHECK(s.setups[1].name == "18 strands");
  REQUIRE(s.shots.size() == 3);
  CHECK(s.shots[0].reading.text() == "191");
  CHECK(s.shots[0].steps == 191);
  CHECK(s.shots[0].line == 8);
  CHECK(s.shots[0].order == 2);
  CHECK(s.shots[1].order == 1);
  CHECK(s.shots[1].setup == 1);
  CHECK(s.label(s.shots[0].arrow) == "7");
  CHECK(s.label(s.shots[2].round) == "2");
  CHECK(s.label(s.shots[2].session) == "pm");
  CHECK(s.label(s.shots[2].bow) == "b1");
  CHECK(s.shots[0].bow == s.shots[2].bow);
  REQUIRE(s.arrow_mass_gr.size() == 1);
  CHECK(s.arrow_mass_gr[0].value.text() == "402.5");
  CHECK(s.arrow_mass_gr[0].line == 8);
  CHECK(s.arrow_mass_gr[0].setup == 0);
  CHECK(s.label(s.arrow_mass_gr[0].bow) == "b1");
  CHECK(s.draw_weight_lbf[0].value.text() == "38.2");
  CHECK(s.draw_length_in[0].value.text() == "28");
  REQUIRE(s.notes.size() == 1);
  CHECK(s.notes[0].line == 8);
  CHECK(s.notes[0].text == "first");
  CHECK(s.ignored_columns.empty());
  CHECK(s.ignored_lines.empty());
}

TEST_CASE("sheet: what a sheet does not give stays absent") {
  const auto s = sheet("setup,speed_mps\nA,57.5\nB,58\n");
  CHECK(s.title == "");
  CHECK_FALSE(s.margin);
  CHECK(s.unit == SpeedUnit::metres_per_second);
  CHECK(s.unit_origin == UnitOrigin::column_name);
  CHECK_FALSE(s.order_given);
  CHECK(s.shots[0].order == 1);
  CHECK(s.shots[1].order == 2);
  CHECK(s.shots[0].bow == 0);
  CHECK(s.label(0) == "");
  CHECK(s.draw_weight_lbf.empty());
  CHECK(s.excluded.empty());
}

TEST_CASE("sheet: a quoted cell may hold separators, quotes and line ends, and lines are still right") {
  const auto s = sheet("setup,speed_fps,note\nA,191,\"one\ntwo, \"\"three\"\"\"\nB,190,\n");
  CHECK(s.notes[0].text == "one\ntwo, \"three\"");
  CHECK(s.shots[1].line == 4);
  // the note stands before the reading: the shot's line is that of its reading
  CHECK(sheet("note,setup,speed_fps\n\"one\ntwo\",A,191\n").shots[0].line == 3);
}

TEST_CASE("sheet: BOM, CRLF, CR, blank lines and lines of separators change nothing") {
  for (const auto text : {"\uFEFFsetup,speed_fps\r\nA,191\r\n\r\nB,190\r\n,\r\n \r\n", "setup,speed_fps\rA,191\rB,190",
                          "\n,,\nsetup,speed_fps\n,,,,\nA,191\nB,190\n\n\n"}) {
    CAPTURE(text);
    const auto s = sheet(text);
    CHECK(s.shots.size() == 2);
    CHECK(steps(s, 1) == Steps{190});
  }
}

TEST_CASE("sheet: unknown columns are told and ignored") {
  const auto s = sheet("setup,wind,speed_fps,notes,speed\nA,calm,191,x,fast\nB,,190,,\n");
  CHECK(s.ignored_columns == std::vector<std::string>{"wind", "notes", "speed"});
  CHECK(s.notes.empty());
}

TEST_CASE("sheet: a column without a name may stand there as long as it is empty") {
  CHECK(sheet("setup,speed_fps,,\nA,191,,\nB,190,, \n").shots.size() == 2);
  CHECK(problems("setup,speed_fps,\nA,191,x\n") ==
        "2 | column 3 | x | text in a column without a name: name it in the header\n");
  CHECK(problems("A,,B\n191,192,193\n") ==
        "2 | column 2 | 192 | text in a column without a name: name it in the header\n");
}

// Header

TEST_CASE("sheet: a missing column is named, with the header that was likely meant") {
  const auto needs_setup = "a sheet with one row a shot needs the column setup"s;
  const auto needs_speed = "a sheet with one row a shot needs the column speed_fps or speed_mps"s;
  const auto meant = "; if this column is it, name it so\n"s;
  CHECK(problems("speed_fps\n191\n") == "1 | setup |  | " + needs_setup + "\n");
  CHECK(problems("setup\nA\n") == "1 | speed_fps |  | " + needs_speed + "\n");
  CHECK(problems("arrow,round\n1,1\n") ==
        "1 | setup |  | " + needs_setup + "\n1 | speed_fps |  | " + needs_speed + "\n");
  CHECK(problems("setups,speed_fps\nA,191\n") == "1 | setup | setups | " + needs_setup + meant);
  CHECK(problems("setpu,speed_fps\nA,191\n") == "1 | setup | setpu | " + needs_setup + meant);
  CHECK(problems("setup,speed_fsp\nA,191\n") == "1 | speed_fps | speed_fsp | " + needs_speed + meant);
  CHECK(problems("bow 1,speed_fsp\nA,191\n") ==
        "1 | setup |  | " + needs_setup + "\n1 | speed_fps | speed_fsp | " + needs_speed + meant);
  CHECK(problems("setup,velocity\nA,191\n") == "1 | speed_fps |  | " + needs_speed + "\n");
}

TEST_CASE("sheet: a speed without its unit is asked for it") {
  const auto message = "a speed needs its unit: name the column speed_fps or speed_mps\n"s;
  CHECK(problems("setup,speed\nA,191\n") == "1 | speed_fps | speed | " + message);
  CHECK(problems("setup,Speed\nA,191\n") == "1 | speed_fps | Speed | " + message);
  CHECK(problems("speed\n191\n") ==
        "1 | setup |  | a sheet with one row a shot needs the column setup\n1 | speed_fps | speed | " + message);
}

TEST_CASE("sheet: a column's name that differs only in case, blanks or signs is told its spelling") {
  CHECK(problems("Set-up,Speed (fps), ORDER\nA,191,1\n") ==
        "1 | Set-up | Set-up | write the column's name setup\n"
        "1 | Speed (fps) | Speed (fps) | write the column's name speed_fps\n"
        "1 | ORDER |  ORDER | write the column's name order\n");
  CHECK(problems("setup,speed_fps,Excluded\nA,191,wind\n") ==
        "1 | Excluded | Excluded | write the column's name excluded\n");
  CHECK(problems("\uFEFF\uFEFFsetup,speed_fps\u00A0\nA,191\n") ==
        "1 | \\u{FEFF}setup | \\u{FEFF}setup | write the column's name setup\n"
        "1 | speed_fps | speed_fps\u00A0 | write the column's name speed_fps\n");
  // rows are still read by it, so that one run shows all
  CHECK(problems("Setup,speed_fps\nA,191\nB,x\n") ==
        "1 | Setup | Setup | write the column's name setup\n3 | speed_fps | x | "s + no_number);
}

TEST_CASE("sheet: a column that looks like a mistyped one of ours is not passed over") {
  CHECK(problems("setup,speed_fps,exclude\nA,191,wind\n") ==
        "1 | exclude | exclude | not a column of a shot sheet; if excluded is meant, write it so, otherwise choose a "
        "name less like it\n");
  CHECK(problems("setup,speed_fps,bows\nA,191,1\n") ==
        "1 | bows | bows | not a column of a shot sheet; if bow is meant, write it so, otherwise choose a name less "
        "like it\n");
  CHECK(problems("setup,speed_fps,arrow_mass_g\nA,191,20\n") ==
        "1 | arrow_mass_g | arrow_mass_g | not a column of a shot sheet; if arrow_mass_gr is meant, write it so, "
        "otherwise choose a name less like it\n");
  // no harm where the right one stands beside it
  CHECK(sheet("setup,speed_fps,bow,bows\nA,191,1,9\n").ignored_columns == std::vector<std::string>{"bows"});
  CHECK(sheet("setup,speed_fps,row,box,low\nA,191,1,1,1\n").ignored_columns.size() == 3);
}

TEST_CASE("sheet: names twice in the header and two units are problems") {
  CHECK(problems("setup,speed_fps,setup\nA,191,A\n") ==
        "1 | setup | setup | the header has this name twice, in columns 1 and 3\n");
  CHECK(problems("setup,speed_fps,x,x\nA,191,,\n") ==
        "1 | x | x | the header has this name twice, in columns 3 and 4\n");
  CHECK(problems("A,B,A\n191,190,189\n") == "1 | A | A | the header has this name twice, in columns 1 and 3\n");
  CHECK(problems("setup,speed_mps,speed_fps\nA,58,190\n") ==
        "1 | speed_fps | speed_fps | two units in one sheet: keep one of speed_fps and speed_mps\n");
}

TEST_CASE("sheet: faults of the header are told") {
  CHECK(problems("setup,speed_fps,a\"b\nA,191,\n") ==
        "1 | a\"b | a\"b | a quote inside a cell without quotes: quote the whole cell, and write the quote twice\n");
}

// Wide sheets

TEST_CASE("sheet: a wide sheet has a column a set-up, of any length") {
  const auto s = sheet("14 strands,18 strands\n191,188\n190,187\n,186\n");
  CHECK(s.layout == SheetLayout::wide);
  CHECK(s.unit == SpeedUnit::feet_per_second);
  CHECK(s.unit_origin == UnitOrigin::assumed);
  CHECK(s.setups[0].name == "14 strands");
  CHECK(s.setups[0].shots == 2);
  CHECK(s.setups[1].shots == 3);
  CHECK(steps(s, 0) == Steps{191, 190});
  CHECK(steps(s, 1) == Steps{188, 187, 186});
  CHECK_FALSE(s.order_given);
  CHECK(s.shots[4].line == 4);
  CHECK(s.shots[4].order == 5);
}

TEST_CASE("sheet: a wide sheet's unit is that of its unit line") {
  CHECK(sheet("# unit: m/s\nA,B\n58,57\n").unit == SpeedUnit::metres_per_second);
  CHECK(sheet("# unit: m/s\nA,B\n58,57\n").unit_origin == UnitOrigin::unit_line);
  CHECK(sheet("# unit: fps\nA,B\n190,191\n").unit == SpeedUnit::feet_per_second);
  CHECK(sheet("# unit: fps\nA,B\n190,191\n").unit_origin == UnitOrigin::unit_line);
}

TEST_CASE("sheet: set-ups called Setup A and Bow 1 make a wide sheet, a lone Bow does not") {
  CHECK(sheet("Setup A,Setup B\n191,190\n").layout == SheetLayout::wide);
  CHECK(sheet("Bow 1,Bow 2\n191,190\n").layout == SheetLayout::wide);
  CHECK(problems("Bow,Other\n191,190\n") ==
        "1 | Bow | Bow | write the column's name bow\n"
        "1 | setup |  | a sheet with one row a shot needs the column setup\n"
        "1 | speed_fps |  | a sheet with one row a shot needs the column speed_fps or speed_mps\n");
}

TEST_CASE("sheet: text in a wide sheet is a problem under its set-up's name") {
  CHECK(problems("A,B\n191,x\nERR,190\n") == "2 | B | x | "s + no_number + "3 | A | ERR | " + no_number);
}

TEST_CASE("sheet: a first row of numbers is not taken for names") {
  const auto message =
      "the first row holds numbers only, so it may be readings: a sheet starts with a header; give the set-ups names, "
      "such as \"14 strands\"\n"s;
  CHECK(problems("191,188\n190,187\n") == "1 |  | 191 | " + message);
  CHECK(problems("191,5;188,5\n190,5;187,5\n") == "1 |  | 191,5 | " + message);
  CHECK(sheet("14 strands,18\n191,188\n").setups[1].name == "18");
}

TEST_CASE("sheet: a column of a wide sheet may be empty, and has then no sample") {
  const auto s = sheet("A,B\n191,\n");
  CHECK(s.setups[1].shots == 0);
  CHECK(samples_of(s)[0].has_value());
  CHECK_FALSE(samples_of(s)[1].has_value());
  CHECK_THROWS_WITH_AS(sample_of(s, 1), "set-up \"B\" has no shot to analyse, 0 excluded", NoAnswer);
}

// # lines

TEST_CASE("sheet: # lines are trimmed, may come back from a spreadsheet program, and are ignored when unknown") {
  const auto s = sheet(
      "#title:  spare  \n\"# place: hall \"\"B\"\", left\",,\n  # date: today,,,\n# archer: one, two,,\n# wind: calm\n"
      "# just a remark\n# title: spare\n# accuracy:\nsetup,speed_fps,\nA,191,\n");
  CHECK(s.title == "spare");
  CHECK(s.place == "hall \"B\", left");
  CHECK(s.date == "today");
  CHECK(s.archer == "one, two");
  CHECK(s.accuracy == "");
  REQUIRE(s.ignored_lines.size() == 2);
  CHECK(s.ignored_lines[0].key == "wind");
  CHECK(s.ignored_lines[0].value == "calm");
  CHECK(s.ignored_lines[0].line == 5);
  CHECK(s.ignored_lines[1].key == "");
  CHECK(s.ignored_lines[1].value == "just a remark");
}

TEST_CASE("sheet: a title that a spreadsheet program split into cells is joined again") {
  CHECK(sheet("\"# title: say \"\"hi\"\"\",\" b\",\nsetup,speed_fps,\nA,191,\n").title == "say \"hi\", b");
}

TEST_CASE("sheet: a separator that ends what is quoted is text, those that follow are not") {
  CHECK(sheet("\"# title: one, two,\",,\nsetup,speed_fps\nA,191\n").title == "one, two,");
  CHECK(sheet("# title: one, two, ,\nsetup,speed_fps\nA,191\n").title == "one, two");
  CHECK(problems("\"# title: one\",\"\nsetup,speed_fps\nA,191\n") ==
        "1 |  | \"# title: one\",\" | the quotes of this # line do not match: write it without quotes\n");
}

TEST_CASE("sheet: a # line over two lines is told, and lines are still counted right") {
  CHECK(problems("\"# title: a\nb\"\nsetup,speed_fps\nA,x\n") ==
        "1 |  |  title: a\\nb | control characters or a line end in a # line: delete them\n4 | speed_fps | x | "s +
            no_number);
  CHECK(problems("\"# title: a\nsetup,speed_fps\nA,191\n") ==
        "1 |  | \"# title: a | the quotes of this # line do not match: write it without quotes\n");
  CHECK(problems("\"# title\": a\nsetup,speed_fps\nA,191\n") ==
        "1 |  | \"# title\": a | the quotes of this # line do not match: write it without quotes\n");
}

TEST_CASE("sheet: a key with two values, and a key misspelt, are problems") {
  CHECK(problems("# display: 1\n# display: 0.1\nsetup,speed_fps\nA,191\n") ==
        "2 | display | 0.1 | a second value: line 1 says \"1\"; keep one of them\n");
  CHECK(problems("# Display: 0.1\n# dispaly: 1\n# units: fps\nsetup,speed_fps\nA,191\n") ==
        "1 | Display | 0.1 | not a key of a shot sheet; if \"display\" is meant, write it so\n"
        "2 | dispaly | 1 | not a key of a shot sheet; if \"display\" is meant, write it so\n"
        "3 | units | fps | not a key of a shot sheet; if \"unit\" is meant, write it so\n");
}

TEST_CASE("sheet: display, margin and unit want their kind of value") {
  CHECK(problems("# display: 0\n# margin: -1\n# unit: km/h\nsetup,speed_fps\nA,191\n") ==
        "1 | display | 0 | must be greater than 0\n2 | margin | -1 | must be greater than 0\n"
        "3 | unit | km/h | not a unit of a shot sheet: write fps or m/s\n");
  CHECK(problems("# display: fine\n# margin: 1.5 fps\nsetup,speed_fps\nA,191\n") ==
        "1 | display | fine | "s + no_number + "2 | margin | 1.5 fps | " + no_number);
  CHECK(problems("# display: 1234567891\nsetup,speed_fps\nA,191\n") ==
        "1 | display | 1234567891 | a display step has nine digits at most\n");
}

TEST_CASE("sheet: a unit line that contradicts the column is a problem, one that agrees is not") {
  CHECK(problems("# unit: m/s\nsetup,speed_fps\nA,191\n") ==
        "1 | unit | m/s | contradicts the column speed_fps: delete this line or rename the column\n");
  CHECK(problems("# unit: fps\nsetup,speed_mps\nA,58\n") ==
        "1 | unit | fps | contradicts the column speed_mps: delete this line or rename the column\n");
  CHECK(sheet("# unit: m/s\nsetup,speed_mps\nA,58\n").unit_origin == UnitOrigin::column_name);
}

TEST_CASE("sheet: after the header # begins a name like any other") {
  CHECK(sheet("setup,speed_fps\n#1,191\n#2,190\n").setups[0].name == "#1");
}

// Separators and decimal marks

TEST_CASE("sheet: semicolons and tabs separate, and then a decimal comma is read") {
  for (const auto text : {"A;B\n191,5;190,0\n", "A\tB\n191,5\t190,0\n"}) {
    const auto s = sheet(text);
    CHECK(s.decimal_mark == ',');
    CHECK(s.shots[0].reading.text() == "191.5");
    CHECK(s.display_step.size().text() == "0.1");
    CHECK(steps(s, 1) == Steps{1900});
  }
  CHECK(sheet("A;B\n191.5;190.0\n").decimal_mark == '.');
  CHECK(sheet("# display: 0,5;\n# margin: 1,5;\nA;B\n191,5;190\n").margin->text() == "1.5");
}

TEST_CASE("sheet: a sheet has one decimal mark, measured values and # lines included") {
  CHECK(problems("A;B\n191,5;190.0\n189,5;188.5\n") ==
        "2 | B | 190.0 | a decimal point, while line 2 has \"191,5\": write all numbers of a sheet one way\n"
        "3 | B | 188.5 | a decimal point, while line 2 has \"191,5\": write all numbers of a sheet one way\n");
  // a row's readings are looked at after its measured values
  CHECK(problems("setup;speed_fps;draw_weight_lbf\nA;191.5;38\nA;191;38,2\n") ==
        "3 | draw_weight_lbf | 38,2 | a decimal comma, while line 2 has \"191.5\": write all numbers of a sheet one "
        "way\n");
  CHECK(problems("# display: 0.5\nA;B\n191,5;190\n") ==
        "3 | A | 191,5 | a decimal comma, while line 1 has \"0.5\": write all numbers of a sheet one way\n");
}

TEST_CASE("sheet: a decimal comma in a comma-separated sheet is a problem") {
  const auto message = "a decimal comma in a comma-separated sheet: write a point, or separate the cells with ;\n"s;
  CHECK(problems("setup,speed_fps\nA,\"191,5\"\n") == "2 | speed_fps | 191,5 | " + message);
  CHECK(problems("# margin: 1,5\nsetup,speed_fps\nA,191\n") == "1 | margin | 1,5 | " + message);
  CHECK(
      problems("setup,speed_fps\nA,191,5\n") ==
      "2 | column 3 | 5 | this row has 3 cells, the header 2: a cell with a comma in it needs quotes, a decimal comma "
      "is written as a point\n");
}

// Readings

TEST_CASE("sheet: a reading is digits with one decimal mark, blanks around it trimmed") {
  CHECK(steps(sheet("setup,speed_fps\nA, 191 \nA,\u00A0190\nA,\"\t189\"\n"), 0) == Steps{191, 190, 189});
  for (const auto bad : {"l91", "1e2", "+191", "191 fps", "191.", ".5", "1 910", "--191", "191-", "1.9.1", "n/a", "-",
                         "\u2212191", "0x64", "191%", "inf", "nan"}) {
    CAPTURE(bad);
    CHECK(problems("setup,speed_fps\nA,"s + bad + "\n") == "2 | speed_fps | "s + bad + " | " + no_number);
  }
  CHECK(problems("setup;speed_fps\nA;1.191,5\nA;191,\n") ==
        "2 | speed_fps | 1.191,5 | "s + no_number + "3 | speed_fps | 191, | " + no_number);
  CHECK(problems("setup,speed_fps\nA,191.0000000000000000001\n") ==
        "2 | speed_fps | 191.0000000000000000001 | has more than 18 digits\n");
}

TEST_CASE("sheet: a speed that no bow reaches is a problem, unless any speed is asked for") {
  const auto message = "no bow's speed: readings lie between 20 and 600 fps\n"s;
  for (const auto bad : {"19.9", "600.1", "0", "-191", "1910"}) {
    CAPTURE(bad);
    const auto text = "setup,speed_fps\nA,"s + bad + "\n";
    CHECK(problems(text) == "2 | speed_fps | "s + bad + " | " + message);
    CHECK(sheet(text, {.any_speed = true}).shots[0].reading.text() == bad);
  }
  CHECK(steps(sheet("setup,speed_fps\nA,20\nA,600\n"), 0) == Steps{20, 600});
}

TEST_CASE("sheet: the same limits in metres a second are 20 and 600 times 0.3048, exactly") {
  CHECK(sheet("setup,speed_mps\nA,6.096\nA,182.88\nA,182.880000\n").shots.size() == 3);
  CHECK(problems("setup,speed_mps\nA,6.0959999999\nA,182.8800000001\nA,191\n") ==
        "2 | speed_mps | 6.0959999999 | no bow's speed: readings lie between 6.096 and 182.88 m/s\n"
        "3 | speed_mps | 182.8800000001 | no bow's speed: readings lie between 6.096 and 182.88 m/s\n"
        "4 | speed_mps | 191 | no bow's speed: readings lie between 6.096 and 182.88 m/s\n");
}

TEST_CASE("sheet: a missing reading is a problem") {
  CHECK(problems("setup,speed_fps\nA,\nA,191\n") ==
        "2 | speed_fps |  | the reading is missing: write it, or a reason in the column excluded\n");
}

// Excluded shots

TEST_CASE("sheet: an excluded shot is kept apart with its reason, with or without a reading") {
  const auto s = sheet(
      "setup,speed_fps,excluded,order,note,arrow\nA,191,,1,,4\nA,27,misread,2,odd,5\nB,,no display,3,,\nB,190, ,4,,\n");
  CHECK(s.shots.size() == 2);
  REQUIRE(s.excluded.size() == 2);
  CHECK(s.excluded[0].reason == "misread");
  CHECK(s.excluded[0].reading->text() == "27");
  CHECK(s.excluded[0].line == 3);
  CHECK(s.excluded[0].order == 2);
  CHECK(s.excluded[0].setup == 0);
  CHECK(s.label(s.excluded[0].arrow) == "5");
  CHECK_FALSE(s.excluded[1].reading.has_value());
  CHECK(s.setups[0].shots == 1);
  CHECK(s.setups[0].excluded == 1);
  CHECK(s.notes[0].line == 3);
  CHECK(s.shots[1].order == 4);
  CHECK(steps(s, 0) == Steps{191});
}

TEST_CASE("sheet: an excluded reading is a number on the display step all the same") {
  CHECK(problems("setup,speed_fps,excluded\nA,191,\nA,Err,failed\n") == "3 | speed_fps | Err | "s + no_number);
  CHECK(problems("# display: 1\nsetup,speed_fps,excluded\nA,191,\nA,190.5,failed\n") ==
        "4 | speed_fps | 190.5 | off the display step of 1 in line 1: a reading is a whole number of steps\n");
  CHECK(sheet("setup,speed_fps,excluded\nA,191,\nA,19.05,failed\n").display_step.size().text() == "0.01");
}

TEST_CASE("sheet: a set-up with every shot excluded has no sample, and says so") {
  const auto s = sheet("setup,speed_fps,excluded\nA,191,\nB,190,wind\nB,,wind\n");
  CHECK_THROWS_WITH_AS(sample_of(s, 1), "set-up \"B\" has no shot to analyse, 2 excluded", NoAnswer);
  CHECK_THROWS_WITH_AS(sample_of(s, 2), "sample_of: the sheet has 2 set-ups, asked for index 2", DomainError);
}

// Display step

TEST_CASE("sheet: the display step is one unit of the last decimal written, never a common divisor") {
  CHECK(sheet("setup,speed_fps\nA,270\nA,280\n").display_step.size().text() == "1");
  const auto s = sheet("setup,speed_mps\nA,81.40\nA,81\nB,81.5\n");
  CHECK(s.display_step.size().text() == "0.01");
  CHECK(s.shots[1].reading.text() == "81");
  CHECK(steps(s, 0) == Steps{8140, 8100});
  CHECK(steps(s, 1) == Steps{8150});
}

TEST_CASE("sheet: a display line sets the step, and an option is over it") {
  const auto text = "# display: 0.5\nsetup,speed_fps\nA,191.5\nA,190\n";
  const auto s = sheet(text);
  CHECK(s.display_step.size().text() == "0.5");
  CHECK(s.display_origin == DisplayOrigin::display_line);
  CHECK(steps(s, 0) == Steps{383, 380});
  const auto finer = sheet(text, {.display = Decimal{1, 1}});
  CHECK(finer.display_origin == DisplayOrigin::option);
  CHECK(steps(finer, 0) == Steps{1915, 1900});
  CHECK(steps(sheet("setup,speed_fps\nA,190\nA,200\n", {.display = Decimal{10, 0}}), 0) == Steps{19, 20});
  CHECK(sample_of(finer, 0).step().size().text() == "0.1");
}

TEST_CASE("sheet: a reading off the display step is a problem") {
  CHECK(problems("# display: 0.5\nsetup,speed_fps\nA,191.5\nA,191.25\n") ==
        "4 | speed_fps | 191.25 | off the display step of 0.5 in line 1: a reading is a whole number of steps\n");
  CHECK(problems("A,B\n191,190\n192,189\n", {.display = Decimal{2, 0}}) ==
        "2 | A | 191 | off the display step of 2 that was asked for: a reading is a whole number of steps\n"
        "3 | B | 189 | off the display step of 2 that was asked for: a reading is a whole number of steps\n");
}

TEST_CASE("sheet: an option that is no display step is the caller's mistake") {
  CHECK_THROWS_AS(read_sheet("A\n191\n", {.display = Decimal{0, 0}}), DomainError);
}

TEST_CASE("sheet: readings that a sample could not hold are problems, not a later failure") {
  CHECK(problems("setup,speed_fps\nA,191.00000000000000\n") ==
        "2 | speed_fps | 191.00000000000000 | too many display steps of 0.00000000000001: 15 digits can be worked "
        "with\n");
  CHECK(problems("setup,speed_fps\nA,-900000000000000000\n", {.any_speed = true}) ==
        "2 | speed_fps | -900000000000000000 | too many display steps of 1: 15 digits can be worked with\n");
  // span 9e15 × 1001 shots > 6.5e18
  std::string text = "setup,speed_fps\nA,9000000000000000\n";
  for (int i = 0; i < 1000; ++i) text += "A,0\n";
  CHECK(problems(text, {.any_speed = true}) ==
        "0 |  | A | the readings of this set-up span too many display steps of 1 to be worked with\n");
  text.resize(text.size() - 4 * 300);
  CHECK(sample_of(sheet(text, {.any_speed = true}), 0).size() == 701);
}

// Names

TEST_CASE("sheet: set-up names that differ only in case, blanks or invisible characters are problems") {
  for (const auto other : {"club bow", "Club Bow ", " Club Bow", "Club  Bow", "Club\u00A0Bow", "Club\u200B Bow"}) {
    CAPTURE(other);
    const auto told = problems("setup,speed_fps\nClub Bow,191\n"s + other + ",190\n" + other + ",189\n");
    CHECK(told.starts_with("3 | setup | "));
    CHECK(
        told.ends_with(" | differs from \"Club Bow\" in line 2 only in case, blanks or invisible characters: write the "
                       "name one way\n"));
  }
  CHECK(problems("setup,speed_fps\nÉTÉ Ж,191\nété ж,190\n") ==
        "3 | setup | été ж | differs from \"ÉTÉ Ж\" in line 2 only in case, blanks or invisible characters: write the "
        "name one way\n");
  CHECK(problems("A,a\n191,190\n") ==
        "1 | a | a | differs from \"A\" in line 1 only in case, blanks or invisible characters: write the name one "
        "way\n");
}

TEST_CASE("sheet: a name always written with the same blank is taken without it") {
  const auto s = sheet("setup,speed_fps,bow\nA ,191, b\nB,190,c\nA ,189, b\n");
  CHECK(s.setups[0].name == "A");
  CHECK(s.setups[0].shots == 2);
  CHECK(s.label(s.shots[2].bow) == "b");
}

TEST_CASE("sheet: a set-up needs a name, on one line") {
  CHECK(problems("setup,speed_fps\n,191\n  ,190\n") ==
        "2 | setup |  | the name of the set-up is missing\n3 | setup |    | the name of the set-up is missing\n");
  CHECK(problems("setup,speed_fps\n\"A\nB\",191\n") == "2 | setup | A\\nB | the name of a set-up stands on one line\n");
}

TEST_CASE("sheet: bows, rounds, sessions and arrows are written one way too") {
  CHECK(problems("setup,speed_fps,bow,round,session,arrow\nA,191,b,r,s,a\nA,190,B,R,S,A\n") ==
        "3 | bow | B | differs from \"b\" in line 2 only in case, blanks or invisible characters: write it one way\n"
        "3 | round | R | differs from \"r\" in line 2 only in case, blanks or invisible characters: write it one way\n"
        "3 | session | S | differs from \"s\" in line 2 only in case, blanks or invisible characters: write it one "
        "way\n"
        "3 | arrow | A | differs from \"a\" in line 2 only in case, blanks or invisible characters: write it one "
        "way\n");
}

TEST_CASE("sheet: the same text in two columns is no clash") {
  const auto s = sheet("setup,speed_fps,bow,round\nA,191,1,1\na1,190,a1,A1\n");
  CHECK(s.label(s.shots[1].round) == "A1");
}

TEST_CASE("sheet: a set-up's bow is given for every shot or for none") {
  CHECK(
      problems("setup,speed_fps,bow\nA,191,1\nB,190,\nA,189,\nA,188,\n") ==
      "4 | bow |  | no bow here, while line 2 has one for \"A\": name the bow of every shot of a set-up or of none\n");
  CHECK(sheet("setup,speed_fps,bow,excluded\nA,191,1,\nA,189,,wind\nB,190,,\n").shots[1].bow == 0);
}

// Order

TEST_CASE("sheet: a firing order is a whole number from 1, each once") {
  for (const auto bad : {"0", "-1", "1.0", "first", "1e3", "+1"}) {
    CAPTURE(bad);
    CHECK(problems("setup,speed_fps,order\nA,191,"s + bad + "\n") ==
          "2 | order | "s + bad + " | a firing order is a whole number from 1\n");
  }
  CHECK(problems("setup,speed_fps,order,excluded\nA,191,3,\nA,190,1,\nB,190,3,\nB,189,3,wind\nB,188,1,\n") ==
        "4 | order | 3 | line 2 has this firing order already\n5 | order | 3 | line 2 has this firing order already\n"
        "6 | order | 1 | line 3 has this firing order already\n");
}

TEST_CASE("sheet: a firing order is given for every shot or for none") {
  const auto message = "while line 2 has one: give it for every shot or for none\n"s;
  CHECK(problems("setup,speed_fps,order\nA,191,1\nA,190,\nB,190,2\n") ==
        "3 | order |  | no firing order here, " + message);
  CHECK(problems("setup,speed_fps,order\nA,191,1\nA,190,\nB,190,\n") ==
        "3 | order |  | no firing order here and in 1 other row, " + message);
  const auto s = sheet("setup,speed_fps,order\nA,191,\nB,190,\n");
  CHECK_FALSE(s.order_given);
  CHECK(s.shots[1].order == 2);
}

// Measured values

TEST_CASE("sheet: measured values are positive numbers or absent") {
  CHECK(problems("setup,speed_fps,draw_weight_lbf,arrow_mass_gr,draw_length_in\nA,191,38 lb,0,-28\n") ==
        "2 | draw_weight_lbf | 38 lb | "s + no_number +
            "2 | arrow_mass_gr | 0 | must be greater than 0; leave the cell empty where it was not measured\n"
            "2 | draw_length_in | -28 | must be greater than 0; leave the cell empty where it was not measured\n");
  CHECK(sheet("setup,speed_fps,draw_weight_lbf\nA,191,38.2\nA,190,\nB,190,38.4\n").draw_weight_lbf[1].setup == 1);
}

// Rows

TEST_CASE("sheet: cells too many or too few are problems") {
  CHECK(
      problems("setup,speed_fps,note\nA,191\nB,190,x,y,z\n") ==
      "2 | note |  | this row has 2 cells, the header 3: an empty cell needs its separator too\n"
      "3 | column 4 | y | this row has 5 cells, the header 3: a cell with a comma in it needs quotes, a decimal comma "
      "is written as a point\n");
  CHECK(problems("setup;speed_fps\nB;190;x\nC\n") ==
        "2 | column 3 | x | this row has 3 cells, the header 2: a cell with a separator in it needs quotes\n"
        "3 | speed_fps |  | this row has 1 cell, the header 2: an empty cell needs its separator too\n");
}

TEST_CASE("sheet: faults of cells are told, and the rows after them are read") {
  CHECK(problems("setup,speed_fps\n\"A\"x,191\nA\"x,191\nA\x01,191\n\"A,191\nB,2\n") ==
        "2 | setup | \"A\"x | text after the closing quote: quote the whole cell, and write a quote inside it twice\n"
        "3 | setup | A\"x | a quote inside a cell without quotes: quote the whole cell, and write the quote twice\n"
        "4 | setup | A\\x01 | a control character: delete it\n"
        "5 | setup | A,191 | the quote that opens this cell is never closed\n"
        "6 | speed_fps | 2 | no bow's speed: readings lie between 20 and 600 fps\n");
}

TEST_CASE("sheet: a row that a stray quote cuts is told for its quote alone, with cells too few or too many") {
  const auto message = "the quote that opens this cell is never closed\n"s;
  CHECK(problems("A,B,C\n191,\"190,189\n") == "2 | B | 190,189 | " + message);
  CHECK(problems("A,B\n191,190,\"189\n") == "2 | column 3 | 189 | " + message);
  CHECK(problems("setup,speed_fps\nA,191,\"x\n") == "2 | column 3 | x | " + message);
}

TEST_CASE("sheet: problems come in the order of the file, left to right") {
  CHECK(problems("# margin: x\nspeed_fps,order,setup\nx,y,\n191,1,A\n190,1,A\n") ==
        "1 | margin | x | "s + no_number + "3 | speed_fps | x | " + no_number +
            "3 | order | y | a firing order is a whole number from 1\n"
            "3 | setup |  | the name of the set-up is missing\n5 | order | 1 | line 4 has this firing order already\n");
}

TEST_CASE("sheet: the text found is cut at 40 characters and shows what cannot be seen") {
  const auto found = [](const std::string& cell) {
    return read_sheet("setup,speed_fps\nA," + cell + "\n").problems.at(0).found;
  };
  const std::string forty(40, 'x');
  CHECK(found(forty) == forty);
  CHECK(found(forty + "x") == std::string(39, 'x') + "…");
  CHECK(found("é\u200B\u202E\t1") == "é\\u{200B}\\u{202E}\\t1");
  CHECK(found("\"a\r\nb\"") == "a\\r\\nb");
  CHECK(found("\u0085") == "\\u{0085}");
  CHECK(found("🏹") == "🏹");
  std::string arrows;
  for (int i = 0; i < 41; ++i) arrows += "🏹";
  CHECK(found(arrows).size() == 39 * 4 + 3);
}

// Sheets that a plan wrote

TEST_CASE("sheet: a plan is read back, and a shot without a reading is open") {
  const auto s = sheet(
      "# plan: shotassay 1\n# confidence: 0.9\n# power: 0.8\n# planned shots: 2 of 14 strands\n"
      "# planned shots: 3 of 18 strands\n# seed: 18446744073709551615\n# check standard: club bow\n"
      "order,round,setup,bow,session,arrow,speed_fps,excluded\n"
      "1,,14 strands,b1,am,2,,\"warm-up, declared beforehand\"\n2,start,club bow,,am,,180,\n"
      "3,1,14 strands,b1,am,1,191,\n4,1,18 strands,b2,am,1,,\n5,1,18 strands,b3,am,2,,\n6,1,14 strands,b1,am,2,,no "
      "reading\n");
  REQUIRE(s.plan);
  CHECK(s.plan->line == 1);
  CHECK(s.plan->confidence->value() == 0.9);
  CHECK(s.plan->power->value() == 0.8);
  CHECK(s.plan->seed == 18446744073709551615u);
  CHECK(s.check_standard == "club bow");
  REQUIRE(s.setups.size() == 3);
  CHECK(s.setups[0].name == "14 strands");
  CHECK(s.setups[0].shots == 1);
  CHECK(s.setups[0].excluded == 2);
  CHECK(s.setups[0].open == 0);
  CHECK(s.setups[0].planned == 2u);
  CHECK_FALSE(s.setups[0].check_standard);
  CHECK(s.setups[1].check_standard);
  CHECK_FALSE(s.setups[1].planned);
  CHECK(s.setups[1].shots == 1);
  CHECK(s.setups[2].shots == 0);
  CHECK(s.setups[2].open == 2);
  CHECK(s.setups[2].planned == 3u);
  REQUIRE(s.open.size() == 2);
  CHECK(s.open[1].line == 13);
  CHECK(s.open[1].order == 5);
  CHECK(s.open[1].setup == 2);
  CHECK(s.label(s.open[1].bow) == "b3");
  CHECK(s.label(s.open[1].round) == "1");
  CHECK(s.label(s.open[1].session) == "am");
  CHECK(s.label(s.open[1].arrow) == "2");
  CHECK(s.excluded.size() == 2);
  CHECK(s.ignored_lines.empty());
  CHECK_FALSE(samples_of(s)[2].has_value());
  CHECK_THROWS_WITH_AS(sample_of(s, 2), "set-up \"18 strands\" has no shot to analyse, 0 excluded, 2 open", NoAnswer);
}

TEST_CASE("sheet: the mark alone makes a sheet a plan's, and every shot may be open") {
  const auto s = sheet("# plan: shotassay 1\nsetup,speed_fps\nA,\n");
  CHECK_FALSE(s.plan->confidence);
  CHECK_FALSE(s.plan->power);
  CHECK_FALSE(s.plan->seed);
  CHECK_FALSE(s.setups[0].planned);
  CHECK(s.open.size() == 1);
  CHECK(s.shots.empty());
  CHECK(s.display_step.size().text() == "1");
}

TEST_CASE("sheet: without the mark a reading that is missing is a problem, and so are a plan's lines") {
  const auto missing = "the reading is missing: write it, or a reason in the column excluded\n"s;
  CHECK(problems("setup,speed_fps\nA,\n") == "2 | speed_fps |  | " + missing);
  CHECK(problems("# plan:\nsetup,speed_fps\nA,\n") == "3 | speed_fps |  | " + missing);
  const auto stray =
      "stands only in a sheet that a plan wrote, with the line \"# plan: shotassay 1\": add that line, or delete this "
      "one\n"s;
  CHECK(problems("# confidence: 0.9\n# power: 0.8\n# planned shots: 2 of A\n# planned shots: two\n# seed: "
                 "1\nsetup,speed_fps\nA,191\n") ==
        "1 | confidence | 0.9 | " + stray + "2 | power | 0.8 | " + stray + "3 | planned shots | 2 of A | " + stray +
            "4 | planned shots | two | " + stray + "5 | seed | 1 | " + stray);
}

TEST_CASE("sheet: the mark of another version is refused, and said once") {
  CHECK(problems("# plan: shotassay 2\n# seed: 1\nsetup,speed_fps\nA,\n") ==
        "1 | plan | shotassay 2 | not a plan that can be read here: shotassay 1 can\n");
  CHECK(problems("# plan: morning\nsetup,speed_fps\nA,191\n") ==
        "1 | plan | morning | not a plan that can be read here: shotassay 1 can\n");
}

TEST_CASE("sheet: a plan's numbers want their kind of value") {
  const auto plan = [](const std::string& line) {
    return problems("# plan: shotassay 1\n# " + line + "\nsetup,speed_fps\nA,191\n");
  };
  // 0.999999999999999999 is 1 as a double
  for (const auto bad : {"0", "1", "95", "-0.1", "0.999999999999999999"}) {
    CAPTURE(bad);
    for (const auto key : {"confidence", "power"})
      CHECK(plan(key + ": "s + bad) == "2 | "s + key + " | " + bad + " | must lie between 0 and 1, such as 0.95\n");
  }
  CHECK(plan("confidence: 95 %") == "2 | confidence | 95 % | "s + no_number);
  CHECK(plan("power: 0,8") ==
        "2 | power | 0,8 | a decimal comma in a comma-separated sheet: write a point, or separate "
        "the cells with ;\n");
  for (const auto bad : {"-1", "1.5", "18446744073709551616", "x", "1 2"}) {
    CAPTURE(bad);
    CHECK(plan("seed: "s + bad) == "2 | seed | "s + bad + " | a seed is a whole number from 0, below 2^64\n");
  }
  CHECK(plan("seed: 0") == "");
  for (const auto bad : {"6", "0 of A", "six of A", "6 of", "6 ofA", "6of A", "-1 of A", "1.5 of A", "6 A",
                         "99999999999999999999 of A", "of A"}) {
    CAPTURE(bad);
    CHECK(plan("planned shots: "s + bad) ==
          "2 | planned shots | "s + bad +
              " | write a whole number from 1 and the set-up's name, such as \"6 of 14 strands\"\n");
  }
}

TEST_CASE("sheet: planned shots name their set-up by any text, once") {
  const auto head = "# plan: shotassay 1\n"s;
  for (const std::string name : {"18", "2 of A", "A: of 3; x", "of", "# 1", "é 🏹"}) {
    CAPTURE(name);
    CHECK(
        sheet(head + "# planned shots:  7  of  " + name + "\nsetup,speed_fps\n" + name + ",191\n").setups[0].planned ==
        7u);
  }
  CHECK(sheet(head + "\"# planned shots: 7 of A, B,\",,\nsetup,speed_fps\n\"A, B,\",191\n").setups[0].planned == 7u);
  CHECK(
      sheet(head + "# planned shots: 7 of A,,\n# planned shots: 7 of A\nsetup,speed_fps\nA,191\n").setups[0].planned ==
      7u);
  CHECK(problems(head + "# planned shots: 7 of A\n# planned shots: 8 of A\n# planned shots: 7 of A\nsetup,speed_fps\n"
                        "A,191\n") ==
        "3 | planned shots | 8 of A | a second number for this set-up: line 2 says 7; keep one of them\n");
}

TEST_CASE("sheet: a set-up that a # line names must be one of the sheet") {
  CHECK(problems("# check standard: spare\n# plan: shotassay 1\n# planned shots: 3 of B\nsetup,speed_fps\nA,191\n") ==
        "1 | check standard | spare | no set-up of this sheet has this name: write it as the rows do, or delete this "
        "line\n"
        "3 | planned shots | 3 of B | no set-up of this sheet has this name: write it as the rows do, or delete this "
        "line\n");
  CHECK(problems("# check standard: club  Bow\nsetup,speed_fps\nA,191\nClub Bow,180\n") ==
        "1 | check standard | club  Bow | line 4 writes the name \"Club Bow\": write it one way\n");
  // where no name could be read, that alone is told
  CHECK(problems("# check standard: spare\nspeed_fps\n191\n") ==
        "2 | setup |  | a sheet with one row a shot needs the column setup\n");
}

TEST_CASE("sheet: a check standard needs no plan, and may be a wide sheet's column") {
  CHECK(sheet("# check standard: B\nsetup,speed_fps\nA,191\nB,180\n").setups[1].check_standard);
  const auto s = sheet("# plan: shotassay 1\n# planned shots: 2 of A\n# check standard: B\nA,B\n191,180\n,181\n");
  CHECK(s.setups[0].planned == 2u);
  CHECK(s.setups[0].shots == 1);
  CHECK(s.setups[1].check_standard);
  CHECK(s.open.empty());
}

TEST_CASE("sheet: a plan writes points, whatever a spreadsheet program makes of the readings") {
  const auto text = "display: 0.1;\n# margin: 0.5;\n# confidence: 0.95;\nsetup;speed_mps\nA;58,2\nB;57,3\n"s;
  const auto s = sheet("# plan: shotassay 1;\n# " + text);
  CHECK(s.decimal_mark == ',');
  CHECK(s.display_step.size().text() == "0.1");
  CHECK(s.margin->text() == "0.5");
  CHECK(s.plan->confidence->value() == 0.95);
  CHECK(steps(s, 0) == Steps{582});
  // among themselves they are still written one way
  CHECK(problems("# plan: shotassay 1\n# margin: 0,5\n# power: 0.8\nsetup;speed_mps\nA;58,2\n") ==
        "3 | power | 0.8 | a decimal point, while line 2 has \"0,5\": write all numbers of a sheet one way\n");
}

TEST_CASE("sheet: an open shot keeps the rules of order and bow") {
  CHECK(problems("# plan: shotassay 1\norder,setup,bow,speed_fps\n1,A,b,191\n1,A,b,\n") ==
        "4 | order | 1 | line 3 has this firing order already\n");
  CHECK(
      problems("# plan: shotassay 1\nsetup,bow,speed_fps\nA,b,191\nA,,\n") ==
      "4 | bow |  | no bow here, while line 3 has one for \"A\": name the bow of every shot of a set-up or of none\n");
  CHECK(problems("# plan: shotassay 1\nsetup,speed_fps,note\nA\n") ==
        "3 | speed_fps |  | this row has 1 cell, the header 3: an empty cell needs its separator too\n");
}

// Files

TEST_CASE("sheet: an empty file is told so") {
  for (const auto text : {"", "\uFEFF", "\n\n", " ,,\n;;\t\n"}) {
    CAPTURE(text);
    const auto read = read_sheet(text);
    REQUIRE(read.problems.size() == 1);
    CHECK(read.problems[0].kind == ProblemKind::empty_file);
    CHECK(read.problems[0].line == 0);
    CHECK(read.problems[0].message == "the file is empty");
  }
  CHECK(problems("# title: x\n") == "0 |  |  | the sheet has # lines and no header row after them\n");
  CHECK(problems("setup,speed_fps\n\n,\n") == "0 |  |  | the sheet has a header and no shots\n");
}

TEST_CASE("sheet: a file that is not text is told for what it looks like") {
  const auto only = [](const std::string& bytes) {
    const auto read = read_sheet(bytes);
    REQUIRE(read.problems.size() == 1);
    CHECK(read.problems[0].kind == ProblemKind::not_text);
    return std::to_string(read.problems[0].line) + " " + read.problems[0].message;
  };
  const auto looks = "this is not CSV text; it looks like "s;
  CHECK(only("PK\x03\x04\x14\0\0\0"s) ==
        "0 " + looks +
            "a spreadsheet file (.xlsx, .ods) or another zip archive: in the spreadsheet "
            "program save the sheet as CSV in UTF-8");
  CHECK(only("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1"s) ==
        "0 " + looks + "an old spreadsheet file (.xls): in the spreadsheet program save the sheet as CSV in UTF-8");
  CHECK(only("%PDF-1.4\n\xE2\xE3"s) == "0 " + looks + "a PDF file: a shot sheet is CSV text in UTF-8");
  const auto utf16 = "0 " + looks + "text in UTF-16: save it as CSV in UTF-8";
  CHECK(only("\xFF\xFEs\0e\0t\0"s) == utf16);
  CHECK(only("\xFE\xFF\0s\0e\0t"s) == utf16);
  CHECK(only("s\0e\0t\0u\0p\0"s) == utf16);
  CHECK(only("setup\0"s) == "1 " + looks + "a binary file, with a NUL byte here: a shot sheet is CSV text in UTF-8");
  CHECK(only("setup,speed_fps\r\nA\xE9,191\r\n"s) ==
        "2 " + looks + "text in an older encoding, for this byte is not UTF-8: save it as CSV in UTF-8");
  CHECK(read_sheet("A\xE9,1").problems[0].found == "\\xE9,1");
  CHECK(read_sheet("\xED\xBB\xBF").problems[0].found == "\\xED\\xBB\\xBF");  // a surrogate written as UTF-8
}

TEST_CASE("sheet: the examples of two bowstrings are read, tall in fps and wide in m/s") {
  const auto fps = sheet(example("bowstrings.csv"));
  CHECK(fps.setups[0].name == "14 strands");
  CHECK(steps(fps, 0) == Steps{191, 190, 192, 191, 193});
  CHECK(steps(fps, 1) == Steps{188, 187, 187, 186, 188});
  CHECK(fps.order_given);
  CHECK(fps.title.find("invented") != std::string::npos);
  const auto mps = sheet(example("wide-decimal-comma.csv"));
  CHECK(mps.layout == SheetLayout::wide);
  CHECK(mps.unit == SpeedUnit::metres_per_second);
  CHECK(mps.separator == ';');
  CHECK(mps.decimal_mark == ',');
  CHECK(mps.display_step.size().text() == "0.1");
  CHECK(mps.title == fps.title);
  CHECK(steps(mps, 0) == Steps{582, 579, 585, 582, 588});
  CHECK(steps(mps, 1) == Steps{573, 570, 570, 567, 576});
}

TEST_CASE("sheet: the example with mistakes is told all of them") {
  CHECK(
      problems(example("problems.csv")) ==
      "5 | speed_fps | 18l | "s + no_number +
          "6 | setup | 18 Strands | differs from \"18 strands\" in line 5 only in case, blanks or invisible "
          "characters: write the name one way\n"
          "7 | speed_fps | 190,5 | a decimal comma in a comma-separated sheet: write a point, or separate the cells "
          "with ;\n"
          "8 | speed_fps | 1870 | no bow's speed: readings lie between 20 and 600 fps\n"
          "8 | order | 4 | line 7 has this firing order already\n"
          "9 | speed_fps |  | the reading is missing: write it, or a reason in the column excluded\n"
          "10 | speed_fps | 191.5 | off the display step of 1 in line 2: a reading is a whole number of steps\n"
          "11 | column 5 |  then calm | this row has 5 cells, the header 4: a cell with a comma in it needs quotes, a "
          "decimal comma is written as a point\n");
}

TEST_CASE("sheet: samples_of gives the samples of sample_of") {
  const auto s = sheet("setup,speed_fps\nB,191\nA,188\nB,190\n");
  const auto all = samples_of(s);
  REQUIRE(all.size() == 2);
  CHECK(s.setups[0].name == "B");
  CHECK(Steps(all[0]->steps().begin(), all[0]->steps().end()) == Steps{191, 190});
  CHECK(steps(s, 0) == Steps{191, 190});
  CHECK(steps(s, 1) == Steps{188});
}
