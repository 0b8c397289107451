#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/clinic.hpp>

#include "clinic_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

constexpr const char* invented = "Everything here is invented; the shots come out of a computer's dice.";

SpeedWords words(const LessonStory& story) { return {story.lesson.question.step, story.unit, story.unit}; }

/// A line for handwriting.
Paragraph line_for(const std::string& what) { return {what + ": ______________________________"}; }

std::string display_name(DisplayStep step, SpeedUnit unit) {
  return step.size().text() + " " + std::string{name(unit)};
}

}  // namespace

Document luck_handouts(const LessonStory& story) {
  const ClinicQuestion& q = story.lesson.question;
  const std::string gap = words(story).as_typed(q.gap);
  Document out;
  for (std::size_t i = 0; i < story.lesson.luck.size(); ++i) {
    const ClinicTest& test = story.lesson.luck[i];
    if (i > 0) out.blocks.push_back(PageBreak{});
    out.blocks.push_back(Heading{fmt::format("Exercise 1: Luck. The test of student {}", i + 1)});
    out.blocks.push_back(line_for("Your name"));
    out.blocks.push_back(Paragraph{fmt::format(
        "Two bowstrings, one of 14 strands and one of 18, were to be tested on one club recurve, {} bowstring. {} "
        "In about half of the class's tests the arrows of one bowstring truly fly {} faster. In the others somebody "
        "shot the same bowstring twice, and there is no true gap at all. Which one is called A was drawn by lot.",
        shots_each(q.shots), invented, gap)});
    out.blocks.push_back(shots_in_order("A", test.a, "B", test.b, story.unit));
    out.blocks.push_back(Paragraph{"Look at the shots and make up your mind. Who is faster? Mark one."});
    out.blocks.push_back(Table{{{"A is faster"}, {"B is faster"}, {"cannot tell"}}, {{"\u2610", "\u2610", "\u2610"}}});
    out.blocks.push_back(Paragraph{"Would you say so in front of a camera?"});
    out.blocks.push_back(Table{{{"yes"}, {"no"}}, {{"\u2610", "\u2610"}}});
  }
  return out;
}

IntervalStackFigure stacked(const LessonStory& story, bool misses_marked) {
  IntervalStackFigure figure{.row_title = "student",
                             .groups = {},
                             .misses_marked = misses_marked,
                             .unit = std::string{name(story.unit)},
                             .decimals = words(story).decimals()};
  for (const SizeOfTest& size : story.lesson.sizes) {
    IntervalStackFigure::Group group{.label = shots_each(size.shots), .truth = story.lesson.question.gap, .rows = {}};
    for (std::size_t i = 0; i < size.gaps.size(); ++i)
      group.rows.push_back({std::to_string(i + 1), size.gaps[i].difference, size.gaps[i].interval});
    figure.groups.push_back(std::move(group));
  }
  return figure;
}

Document sizes_handout(const LessonStory& story) {
  const ClinicQuestion& q = story.lesson.question;
  Document out;
  out.blocks.push_back(Heading{"Exercise 2: How many shots?"});
  out.blocks.push_back(Paragraph{fmt::format(
      "This time you know the truth: with 14 strands the arrows fly {} faster than with 18 strands. Everybody shoots "
      "four "
      "tests, from {} to {} bowstring. (Invented, as before.)",
      words(story).as_typed(q.gap), story.lesson.sizes.front().shots, shots_each(story.lesson.sizes.back().shots))});
  out.blocks.push_back(
      Paragraph{fmt::format("Each line is the test of one student. The dot is the gap of the averages; the line is how "
                            "far off it may be, worked "
                            "out from the scatter of the shots: {} such lines hold the truth.",
                            of_tests(q.level.value()))});
  out.blocks.push_back(stacked(story, false));
  Table table{{{"shots with each", true}, {"lines that miss the true gap"}, {"lines wholly on the right of no gap"}},
              {}};
  for (const SizeOfTest& size : story.lesson.sizes)
    table.rows.push_back({std::to_string(size.shots), fmt::format("____ of {}", size.gaps.size()),
                          fmt::format("____ of {}", size.gaps.size())});
  out.blocks.push_back(Paragraph{
      "Count them. A line wholly on the right of no gap may say: \u201cfaster\u201d. One that crosses it leaves the "
      "question open."});
  out.blocks.push_back(std::move(table));
  out.blocks.push_back(line_for("With how many shots would you speak into a camera"));
  return out;
}

Document displays_handout(const LessonStory& story) {
  const auto& displays = story.lesson.displays;
  const std::string unit{name(story.unit)};
  Document out;
  out.blocks.push_back(Heading{"Exercise 3: The display"});
  out.blocks.push_back(Paragraph{fmt::format(
      "The same arrows, {} bowstring, flew through three chronographs at once. One shows steps of {}, one of {}, "
      "one of {}. {}",
      shots_each(story.lesson.question.shots), display_name(displays[0].step, story.unit),
      display_name(displays[1].step, story.unit), display_name(displays[2].step, story.unit), invented)});
  Table table{{{"arrow"}}, {}}, blanks{{{"average of"}}, {}};
  for (const SeenThrough& d : displays) {
    table.columns.push_back({"steps of " + d.step.size().text() + " " + unit, true});
    blanks.columns.push_back({"steps of " + d.step.size().text() + " " + unit});
  }
  const auto rows = [&](const std::string& who, Sample SeenThrough::*sample) {
    for (std::size_t i = 0; i < (displays[0].*sample).size(); ++i) {
      std::vector<std::string> row{fmt::format("{}, shot {}", who, i + 1)};
      for (const SeenThrough& d : displays) row.push_back(readings(d.*sample)[i]);
      table.rows.push_back(std::move(row));
    }
  };
  rows("14 strands", &SeenThrough::b);
  rows("18 strands", &SeenThrough::a);
  for (const char* who : {"14 strands", "18 strands", "gap between them"})
    blanks.rows.push_back({who, "________", "________", "________"});
  out.blocks.push_back(std::move(table));
  out.blocks.push_back(Paragraph{
      "1. Work out the averages: add up the readings of a bowstring and divide by their number. Then the gap."});
  out.blocks.push_back(std::move(blanks));
  out.blocks.push_back(Paragraph{
      "2. Does any display show the same reading for every shot of a bowstring? Did those arrows all fly equally fast? "
      "What does the finest display say?"});
  out.blocks.push_back(line_for("Your answer"));
  out.blocks.push_back(Paragraph{
      fmt::format("3. A display with steps of {} shows {}. Between which two speeds may the arrow have flown?",
                  display_name(displays[2].step, story.unit), readings(displays[2].a)[0])});
  out.blocks.push_back(line_for("From \u2026 to \u2026"));
  return out;
}

Document fooling_handout(const LessonStory& story) {
  const Fooling& f = story.lesson.fooling;
  const std::string unit{name(story.unit)};
  Document out;
  out.blocks.push_back(Heading{"Exercise 4: Fooling oneself"});
  out.blocks.push_back(Paragraph{fmt::format(
      "Ten shots with each of two bowstrings, A and B, that are alike in every respect: whatever gap you find here is "
      "luck. Find one all the same. {}",
      invented)});
  Table table{{{"", false}}, {}};
  const std::vector<std::string> a = readings(f.like.a), b = readings(f.like.b);
  for (std::size_t i = 0; i < a.size(); ++i) table.columns.push_back({std::to_string(i + 1), true});
  table.columns[0].title = "shot";
  table.rows = {{"A, " + unit}, {"B, " + unit}};
  table.rows[0].insert(table.rows[0].end(), a.begin(), a.end());
  table.rows[1].insert(table.rows[1].end(), b.begin(), b.end());
  out.blocks.push_back(std::move(table));
  out.blocks.push_back(Points{{
      {"Best of",
       "Ring the fastest shot of B among its first 3, then among 5, then among all 10. What does the number of shots "
       "do "
       "to it? ____  ____  ____"},
      {"Until it looks right",
       "Work out both averages after 3 shots with each, after 4, after 5, and so on. Where would you stop if you "
       "wanted "
       "one of them to win? After shot ____"},
      {"Leaving out the bad one",
       "You may leave out one shot (\u201cthe release was bad\u201d). Which one makes the gap of the averages largest? "
       "Shot ____ of ____. Gap before: ____ after: ____"},
      {"One bow for a kind",
       "Suppose A and B are two bows, not two bowstrings, each the only one of its kind that was shot. What else might "
       "have made a gap, besides the kind? ____________________"},
  }});
  out.blocks.push_back(Heading{"When you shoot a test of your own"});
  out.blocks.push_back(Points{{
      {"", "Fix the number of shots before the first one, and shoot them all."},
      {"", "Write down every reading as the display shows it. Leave a shot out only for a cause noted at the shot."},
      {"", "Take turns: A, B, B, A. Do not shoot all of one first."},
      {"", "Say of which bow, bowstring and day you speak."},
  }});
  out.blocks.push_back(Heading{"Before anybody shoots"});
  out.blocks.push_back(cautions());
  return out;
}

}  // namespace shotassay::narrative
