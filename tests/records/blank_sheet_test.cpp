#include <doctest/doctest.h>

#include <shotassay/records/blank_sheet.hpp>

#include <array>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include <shotassay/core/errors.hpp>
#include <shotassay/numerics/random.hpp>
#include <shotassay/records/sheet.hpp>

using namespace shotassay;
using namespace std::string_literals;

namespace {

PlannedSheet plan_of(std::vector<PlannedShot> shots) { return {.title = "Two bowstrings", .shots = std::move(shots)}; }

/// A-B-B-A with these names.
PlannedSheet there_and_back(const std::string& a, const std::string& b) {
  return plan_of({{.order = 1, .setup = a, .round = "1"},
                  {.order = 2, .setup = b, .round = "1"},
                  {.order = 3, .setup = b, .round = "1"},
                  {.order = 4, .setup = a, .round = "1"}});
}

Sheet read(const std::string& text) {
  const auto read = read_sheet(text);
  for (const auto& p : read.problems) MESSAGE(p.line << " " << p.column << " " << p.found << " " << p.message);
  REQUIRE(read.sheet);
  return *read.sheet;
}

std::string refusal(const PlannedSheet& plan) {
  try {
    blank_sheet(plan);
  } catch (const DomainError& error) {
    return error.what();
  }
  return "";
}

}  // namespace

TEST_CASE("blank_sheet: a sheet with everything in it, letter by letter") {
  const PlannedSheet plan{.title = "14 against 18 strands, invented",
                          .unit = SpeedUnit::metres_per_second,
                          .display_step = DisplayStep{Decimal{1, 1}},
                          .margin = 0.5,
                          .confidence = ConfidenceLevel{0.9},
                          .power = Power{0.85},
                          .seed = 42,
                          .check_standard = "club bow",
                          .shots = {{.order = 1, .setup = "18 strands", .bow = "b2", .arrow = "4", .warm_up = true},
                                    {.order = 2, .setup = "club bow", .round = "start", .check_standard = true},
                                    {.order = 3, .setup = "14 strands", .bow = "b1", .round = "1", .arrow = "4"},
                                    {.order = 4, .setup = "18 strands", .bow = "b2", .round = "1", .arrow = "4"},
                                    {.order = 5, .setup = "18 strands", .bow = "b3", .round = "1", .arrow = "5"}}};
  CHECK(blank_sheet(plan) ==
        "\"# title: 14 against 18 strands, invented\"\n"
        "# date:\n# place:\n# archer:\n# display: 0.1\n# margin: 0.5\n# plan: shotassay 1\n# confidence: 0.9\n"
        "# power: 0.85\n# planned shots: 2 of 18 strands\n# planned shots: 1 of 14 strands\n# seed: 42\n"
        "# check standard: club bow\n"
        "order,round,setup,bow,arrow,speed_mps,draw_weight_lbf,excluded,note\n"
        "1,,18 strands,b2,4,,,\"warm-up, declared beforehand\",\n"
        "2,start,club bow,,,,,,\n"
        "3,1,14 strands,b1,4,,,,\n"
        "4,1,18 strands,b2,4,,,,\n"
        "5,1,18 strands,b3,5,,,,\n");
}

TEST_CASE("blank_sheet: what is not planned is not written, lines for the place are left to be filled in") {
  PlannedSheet plan = there_and_back("A", "B");
  plan.title = "";
  CHECK(blank_sheet(plan) ==
        "# title:\n# date:\n# place:\n# archer:\n# display: 1\n# plan: shotassay 1\n# confidence: 0.95\n# power: 0.8\n"
        "# planned shots: 2 of A\n# planned shots: 2 of B\n# seed: 1\n"
        "order,round,setup,speed_fps,draw_weight_lbf,excluded,note\n"
        "1,1,A,,,,\n2,1,B,,,,\n3,1,B,,,,\n4,1,A,,,,\n");
}

TEST_CASE("blank_sheet: read back, it gives the plan, with every shot open") {
  PlannedSheet plan = plan_of({{.order = 2, .setup = "A", .bow = "x", .warm_up = true},
                               {.order = 3, .setup = "ref", .round = "start", .check_standard = true},
                               {.order = 5, .setup = "A", .bow = "x", .round = "1", .arrow = "7"},
                               {.order = 8, .setup = "B", .round = "1", .arrow = "7"},
                               {.order = 9, .setup = "A", .bow = "y", .round = "2", .arrow = "8"}});
  plan.check_standard = "ref";
  plan.seed = 18446744073709551615u;
  plan.margin = 0.9144000000000001;  // 3 fps in m/s: all digits of the double
  plan.confidence = ConfidenceLevel{0.999};
  plan.power = Power{0.5};
  plan.display_step = DisplayStep{Decimal{50, 2}};
  const Sheet s = read(blank_sheet(plan));
  CHECK(s.title == plan.title);
  CHECK(s.date == "");
  CHECK(s.unit == SpeedUnit::feet_per_second);
  CHECK(s.display_step.size().text() == "0.50");
  CHECK(s.display_origin == DisplayOrigin::display_line);
  CHECK(s.margin->value() == *plan.margin);
  REQUIRE(s.plan);
  CHECK(s.plan->confidence->value() == 0.999);
  CHECK(s.plan->power->value() == 0.5);
  CHECK(s.plan->seed == plan.seed);
  CHECK(s.check_standard == "ref");
  CHECK(s.order_given);
  CHECK(s.ignored_columns.empty());
  CHECK(s.ignored_lines.empty());
  REQUIRE(s.setups.size() == 3);
  CHECK(s.setups[0].planned == 2u);
  CHECK(s.setups[0].open == 2);
  CHECK(s.setups[0].excluded == 1);
  CHECK(s.setups[1].name == "ref");
  CHECK(s.setups[1].check_standard);
  CHECK(s.setups[1].open == 1);
  CHECK_FALSE(s.setups[1].planned);
  CHECK(s.setups[2].planned == 1u);
  CHECK(s.shots.empty());
  REQUIRE(s.open.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    const PlannedShot& planned = plan.shots[i + 1];
    CHECK(s.open[i].order == planned.order);
    CHECK(s.setups[s.open[i].setup].name == planned.setup);
    CHECK(s.label(s.open[i].bow) == planned.bow);
    CHECK(s.label(s.open[i].round) == planned.round);
    CHECK(s.label(s.open[i].arrow) == planned.arrow);
  }
  REQUIRE(s.excluded.size() == 1);
  CHECK(s.excluded[0].reason == "warm-up, declared beforehand");
  CHECK_FALSE(s.excluded[0].reading);
}

TEST_CASE("blank_sheet: filled with readings, it gives the samples, and the rest stays open") {
  std::string text = blank_sheet(there_and_back("A", "B"));
  const auto fill = [&](const std::string& row, const std::string& reading) {
    const auto at = text.find(row + ",,,,\n");
    REQUIRE(at != std::string::npos);
    text.insert(at + row.size() + 1, reading);
  };
  fill("1,1,A", "191");
  fill("2,1,B", "188");
  fill("4,1,A", "193");
  Sheet s = read(text);
  CHECK(s.open.size() == 1);
  CHECK(s.open[0].order == 3);
  const Sample a = sample_of(s, 0), b = sample_of(s, 1);
  CHECK(std::vector<std::int64_t>(a.steps().begin(), a.steps().end()) == std::vector<std::int64_t>{191, 193});
  CHECK(std::vector<std::int64_t>(b.steps().begin(), b.steps().end()) == std::vector<std::int64_t>{188});
  fill("3,1,B", "187");
  s = read(text + "5,,B,186,,,one more\n");
  CHECK(s.open.empty());
  CHECK(s.setups[1].shots == 3);
  CHECK(s.setups[1].planned == 2u);
}

TEST_CASE("blank_sheet: names and title of any text read back as they are") {
  for (const std::string name :
       {"#1", "a,b", "ends,", ",starts", "\"quoted\"", "say \"\"", "semi;colon;", "18: strands", "2 of A", "it's", "\\",
        "007", "\u00e9t\u00e9 \U0001F3F9", "a  b", "setup", "plan: shotassay 2", "a\u200Bb"}) {
    CAPTURE(name);
    PlannedSheet plan = there_and_back(name, "other");
    plan.title = name;
    plan.check_standard = name + "!";
    for (PlannedShot& shot : plan.shots) shot.bow = shot.round = shot.arrow = name;
    plan.shots.push_back({.order = 5, .setup = name + "!", .check_standard = true});
    const Sheet s = read(blank_sheet(plan));
    CHECK(s.title == name);
    CHECK(s.setups[0].name == name);
    CHECK(s.setups[0].planned == 2u);
    CHECK(s.setups[2].check_standard);
    CHECK(s.label(s.open[0].bow) == name);
    CHECK(s.label(s.open[0].round) == name);
    CHECK(s.label(s.open[0].arrow) == name);
  }
}

TEST_CASE("blank_sheet: of odd names and titles none is read back as another: it reads back or is refused") {
  constexpr std::array pieces = {"a", "B",    "b",      " ",      ",",      ";",      "\"",   "\"\"",
                                 "#", ":",    "=",      "@",      "-",      "\t",     "\n",   "\r",
                                 "'", "of 2", "\u00A0", "\u00C4", "\u00E4", "\u200B", "\xC3", "7"};
  numerics::ReplicateStream random{1, 0, numerics::RandomPurpose::firing_order};
  const auto odd = [&] {
    std::string text;
    for (auto n = random.below(5) + 1; n > 0; --n)
      text += pieces[random.below(static_cast<std::uint32_t>(pieces.size()))];
    return text;
  };
  int written = 0;
  for (int i = 0; i < 10'000; ++i) {
    PlannedSheet plan = there_and_back(odd(), odd());
    plan.title = odd();
    plan.check_standard = odd();
    plan.shots.push_back({.order = 5, .setup = plan.check_standard, .check_standard = true});
    plan.shots[0].arrow = odd();
    std::string text;
    try {
      text = blank_sheet(plan);
    } catch (const DomainError&) {
      continue;
    }
    ++written;
    CAPTURE(text);
    const auto read = read_sheet(text);
    REQUIRE(read.problems.empty());
    CHECK(read.sheet->title == plan.title);
    CHECK(read.sheet->check_standard == plan.check_standard);
    REQUIRE(read.sheet->open.size() == plan.shots.size());
    for (std::size_t k = 0; k < plan.shots.size(); ++k) {
      const OpenShot& open = read.sheet->open[k];
      CHECK(read.sheet->setups[open.setup].name == plan.shots[k].setup);
      CHECK(read.sheet->setups[open.setup].check_standard == plan.shots[k].check_standard);
      CHECK(read.sheet->label(open.arrow) == plan.shots[k].arrow);
    }
  }
  CHECK(written > 100);
  CHECK(written < 9000);
}

TEST_CASE("blank_sheet: a title may begin as a formula does, for in the sheet it does not") {
  for (const auto title : {"=1+1", "a,=1+1", "+", "@home"}) {
    PlannedSheet plan = there_and_back("A", "B");
    plan.title = title;
    const auto text = blank_sheet(plan);
    CHECK((text.starts_with("# title: ") || text.starts_with("\"# title: ")));
    CHECK(read(text).title == title);
  }
}

TEST_CASE("blank_sheet: a name that a spreadsheet program takes for a formula is refused") {
  const auto formula = [](const std::string& kind, const std::string& name) {
    return "blank_sheet: " + kind + " \"" + name + "\" begins with " + name[0] +
           ", so that a spreadsheet program would take it for a formula";
  };
  for (const std::string name : {"=A1", "+3 turns", "-3 turns", "@sum"}) {
    CAPTURE(name);
    CHECK(refusal(there_and_back(name, "B")) == formula("set-up", name));
    for (const auto& [kind, member] :
         {std::pair{"bow", &PlannedShot::bow}, {"round", &PlannedShot::round}, {"arrow", &PlannedShot::arrow}}) {
      PlannedSheet plan = there_and_back("A", "B");
      for (PlannedShot& shot : plan.shots) shot.*member = name;
      CHECK(refusal(plan) == formula(kind, name));
    }
  }
}

TEST_CASE("blank_sheet: texts that would not read back are refused") {
  for (const auto& [text, why] : {std::pair{" A"s, "has a blank at its end or its start"s},
                                  {"A\u00A0"s, "has a blank at its end or its start"s},
                                  {"A\nB"s, "has a control character or a line end in it"s},
                                  {"A\tB"s, "has a control character or a line end in it"s},
                                  {"A\x7F"s, "has a control character or a line end in it"s},
                                  {"A\u0085"s, "has a control character or a line end in it"s},
                                  {"A\xFF"s, "is not UTF-8 text"s},
                                  {"A\0B"s, "is not UTF-8 text"s}}) {
    CHECK(refusal(there_and_back("ok", text)).ends_with(why));
    CHECK(refusal(there_and_back("ok", text)).starts_with("blank_sheet: set-up \""));
    PlannedSheet plan = there_and_back("A", "B");
    plan.title = text;
    CHECK(refusal(plan).ends_with(why));
    CHECK(refusal(plan).starts_with("blank_sheet: title \""));
  }
  CHECK(refusal(there_and_back("18 strands", "18  Strands")) ==
        "blank_sheet: set-up \"18  Strands\" differs from \"18 strands\" only in case, blanks or invisible characters");
  PlannedSheet plan = there_and_back("A", "B");
  plan.shots[0].bow = plan.shots[3].bow = "b";
  plan.shots[1].bow = plan.shots[2].bow = "B";
  CHECK(refusal(plan) == "blank_sheet: bow \"B\" differs from \"b\" only in case, blanks or invisible characters");
}

TEST_CASE("blank_sheet: shots that make no plan are refused") {
  CHECK(refusal(plan_of({})) == "blank_sheet: needs a shot, got none");
  CHECK(refusal(plan_of({{.order = 0, .setup = "A"}})) == "blank_sheet: firing orders rise from 1, got 0 after 0");
  CHECK(refusal(plan_of({{.order = 2, .setup = "A"}, {.order = 2, .setup = "A"}})) ==
        "blank_sheet: firing orders rise from 1, got 2 after 2");
  CHECK(refusal(plan_of({{.order = 1}})) == "blank_sheet: shot 1 has no set-up");
  CHECK(refusal(plan_of({{.order = 1, .setup = "A", .warm_up = true}, {.order = 2, .setup = "B"}})) ==
        "blank_sheet: set-up \"A\" has no shot but warm-ups");
  CHECK(refusal(plan_of({{.order = 1, .setup = "A", .bow = "b"}, {.order = 2, .setup = "A"}})) ==
        "blank_sheet: set-up \"A\" has a bow for 1 of 2 shots: name the bow of every one or of none");
}

TEST_CASE("blank_sheet: the check standard's shots are flagged, and no others") {
  PlannedSheet plan = there_and_back("A", "B");
  plan.check_standard = "ref";
  CHECK(refusal(plan) == "blank_sheet: check standard \"ref\" has no shot");
  plan.shots.push_back({.order = 5, .setup = "ref"});
  CHECK(refusal(plan) == "blank_sheet: shot 5 of \"ref\" is not flagged as a check standard's, whose name is \"ref\"");
  plan.shots.back().check_standard = true;
  CHECK(refusal(plan) == "");
  plan.check_standard = "A";
  CHECK(refusal(plan) == "blank_sheet: shot 1 of \"A\" is not flagged as a check standard's, whose name is \"A\"");
  plan.check_standard = "";
  CHECK(refusal(plan) == "blank_sheet: shot 5 of \"ref\" is flagged as a check standard's, whose name is \"\"");
}

TEST_CASE("blank_sheet: a margin is positive and has the digits of a decimal") {
  PlannedSheet plan = there_and_back("A", "B");
  for (const double margin : {0.1, 3.0, 1e-9, 123456789.0}) {
    plan.margin = margin;
    CHECK(read(blank_sheet(plan)).margin->value() == margin);
  }
  for (const auto& [margin, text] : {std::pair{0.0, "0"}, {-1.5, "-1.5"}}) {
    plan.margin = margin;
    CHECK(refusal(plan) == "blank_sheet: margin must be positive and of at most 18 digits, got "s + text);
  }
  for (const double margin : {1e-30, 1e18, HUGE_VAL}) {
    plan.margin = margin;
    CHECK(refusal(plan).starts_with("blank_sheet: margin must be positive and of at most 18 digits, got "));
  }
}

TEST_CASE("blank_sheet: set-ups are planned in the order asked for, others follow as they are first shot") {
  PlannedSheet plan = there_and_back("A", "B");
  const auto places = [&] {
    std::vector<std::pair<std::string, std::size_t>> out;
    for (const SetUp& setup : read(blank_sheet(plan)).setups) out.emplace_back(setup.name, *setup.place_in_plan);
    return out;
  };
  using Places = std::vector<std::pair<std::string, std::size_t>>;
  CHECK(places() == Places{{"A", 0}, {"B", 1}});
  plan.setups = {"B", "A"};
  CHECK(places() == Places{{"A", 1}, {"B", 0}});
  plan.setups = {"B"};
  CHECK(places() == Places{{"A", 1}, {"B", 0}});
  plan.setups = {"C"};
  CHECK(refusal(plan) == "blank_sheet: set-up \"C\" has no shot");
}
