#include <shotassay/narrative/cautions.hpp>
#include <shotassay/narrative/clinic.hpp>

#include "clinic_words.hpp"

namespace shotassay::narrative {

using namespace document;

// In clinic_handouts.cpp.
IntervalStackFigure stacked(const LessonStory& story, bool misses_marked);

namespace {

class Projector {
 public:
  explicit Projector(const LessonStory& story)
      : story_{story}, lesson_{story.lesson}, q_{story.lesson.question}, speed_{q_.step, story.unit, story.unit} {}

  Document document() {
    add(Headline{fmt::format("What {} can show, and what they cannot.", shots_each(q_.shots))});
    luck();
    sizes();
    displays();
    best_of();
    looks();
    leaving_out();
    one_bow();
    next_time();
    return std::move(out_);
  }

 private:
  template <class Kind>
  void add(Kind block) {
    out_.blocks.push_back(std::move(block));
  }
  void say(std::string text) { add(Paragraph{std::move(text)}); }

  std::string gap() const { return speed_.as_typed(q_.gap); }
  std::string sd_of(const Sample& sample) const {
    return speed_.bare(std::sqrt(moments(sample).variance()) * sample.step().value(), speed_.decimals() + 1);
  }

  void luck() {
    add(Heading{"1. Luck"});
    say("Two averages are hardly ever equal, so one of them always looks faster. The question is whether it would be "
        "again. By eye nobody can tell a true gap from luck.");
    say(in_the_long_run(lesson_.series, gap()));
    add(outcome_table({{"no true gap, by averages", lesson_.series.averages.alike},
                       {"no true gap, by the tool", lesson_.series.tool.alike},
                       {"true gap, by averages", lesson_.series.averages.apart},
                       {"true gap, by the tool", lesson_.series.tool.apart}},
                      true));
    say("The tool names a faster one only where luck alone would hardly do so. With few shots it leaves most gaps "
        "open. "
        "\u201cOpen\u201d is not \u201cno difference\u201d: it says that these shots cannot tell.");
  }

  void sizes() {
    add(PageBreak{});
    add(Heading{"2. How many shots?"});
    say(fmt::format("The truth is {}. Each line is one student's test.", gap()));
    add(stacked(story_, true));
    Table table{{{"shots with each", true}, {"miss the truth"}, {"find the gap"}}, {}};
    for (const SizeOfTest& size : lesson_.sizes)
      table.rows.push_back(
          {std::to_string(size.shots), of(size.miss, size.gaps.size()), of(size.found, size.gaps.size())});
    add(std::move(table));
    say(fmt::format(
        "About {} lines, or more, hold the truth, with few shots as with many: lines from few shots are honest, but "
        "long. More shots make them shorter. To halve a line takes about four times the shots.",
        of_tests(q_.level.value())));
  }

  void displays() {
    add(PageBreak{});
    add(Heading{"3. The display"});
    say("SD says how far single shots usually lie from their average. A pocket calculator works it out from the "
        "readings, and knows nothing of the display.");
    Table table{
        {{"steps of"}, {"14 strands"}, {"SD", true}, {"18 strands"}, {"SD", true}, {"gap", true}, {"range of the gap"}},
        {}};
    for (const SeenThrough& d : lesson_.displays)
      table.rows.push_back({d.step.size().text() + " " + speed_.unit(), readings_in_line(d.b), sd_of(d.b),
                            readings_in_line(d.a), sd_of(d.a), signed_text(d.gap.difference), range(d.gap.interval)});
    add(std::move(table));
    const SeenThrough& coarse = lesson_.displays.back();
    say(
        fmt::format("A display with steps of {} shows {} for everything within half a step of it. {} shots that all "
                    "read alike come "
                    "up in {} of such strings of shots, though the true SD is {}{}. Equal readings are not an SD of 0: "
                    "the range of "
                    "the gap stays as wide as the display leaves it.",
                    d_name(coarse), readings(coarse.a)[0], q_.shots, percent_of_tests(coarse.all_equal),
                    speed_.as_typed(q_.sd), coarse.a.all_equal() ? "; one was picked here to show it" : ""));
  }

  void best_of() {
    add(PageBreak{});
    add(Heading{"4. Fooling oneself"});
    add(Heading{"Best of"});
    say("Whoever shows the fastest of several shots shows luck. On average it lies above the true speed by:");
    Table table{{{"the best of", true}, {"above the true average", true}}, {}};
    for (const BestOf& best : lesson_.fooling.best)
      table.rows.push_back({std::to_string(best.shots), speed_.with_unit(best.gain)});
    add(std::move(table));
  }

  void looks() {
    add(Heading{"Shooting until it looks right"});
    say(
        fmt::format("Two bowstrings that are alike. After 3 shots with each somebody looks, shoots one more with each, "
                    "looks again, and stops as soon as the tool names a faster one. How often is a gap "
                    "\u201cfound\u201d that is not "
                    "there? In {} simulated tests:",
                    lesson_.fooling.looks.front().error.tests));
    Table table{{{"looks", true}, {"shots with each"}, {"a gap is found", true}, {"give or take", true}}, {}};
    for (const Looks& look : lesson_.fooling.looks)
      table.rows.push_back(
          {std::to_string(look.last - look.first + 1),
           look.first == look.last ? std::to_string(look.first) : fmt::format("{} to {}", look.first, look.last),
           percent_of_tests(look.error.error_rate), give_or_take(look.error.standard_error)});
    add(std::move(table));
    say("Fix the number of shots first, and look once.");
  }

  void leaving_out() {
    const LeavingOut& l = lesson_.fooling.leaving_out;
    add(Heading{"Leaving out the bad one"});
    say(fmt::format(
        "Two bowstrings that are alike, {0}. All shots counted, a gap is \u201cfound\u201d in {1} of tests. Where one "
        "shot may be left out because it stands in the way, in {2} (give or take {3}, {4} simulated "
        "tests). To leave out the slowest of {5} alone lifts an average by {6}.",
        shots_each(l.shots), percent_of_tests(l.none_left_out), percent_of_tests(l.one_left_out),
        give_or_take(l.standard_error), l.tests, l.shots, speed_.with_unit(l.gain)));
  }

  void one_bow() {
    const Fooling& f = lesson_.fooling;
    add(PageBreak{});
    add(Heading{"One bow for a kind of bow"});
    say(fmt::format(
        "Two kinds of bow that are alike, one bow of each. Bows of one kind are never quite the same; suppose "
        "they differ as much as single shots do, SD {}. Then the two bows differ, and more shots only "
        "make that clearer:",
        speed_.as_typed(f.bow_sd)));
    Table table{{{"shots with each bow", true}, {"\u201cthe kinds differ\u201d, wrongly", true}}, {}};
    for (const OneBow& one : f.one_bow)
      table.rows.push_back({std::to_string(one.shots), percent_of_tests(one.error_rate)});
    add(std::move(table));
    say("The gap belongs to the two bows. Only several bows of each kind can speak for the kinds.");
  }

  void next_time() {
    add(Heading{"Next time at the range"});
    add(Points{{{"", "Say first which gap would matter, and let shotassay plan say how many shots it takes."},
                {"", "Fix that number. Shoot in turns. Write down every reading. Look once."},
                {"", "Say the gap with its give or take, and of which bows and which day you speak."}}});
    add(Heading{"Before anybody shoots"});
    add(cautions());
  }

  static std::string give_or_take(double standard_error) {
    return standard_error < 0.00025 ? "less than 0.1 %" : fixed(200.0 * standard_error, 1) + " %";
  }
  std::string signed_text(double gap) const { return speed_.signed_bare(gap); }
  std::string range(const Interval& interval) const { return speed_.range(interval, std::nullopt); }
  std::string d_name(const SeenThrough& d) const { return d.step.size().text() + " " + speed_.unit(); }

  const LessonStory& story_;
  const Lesson& lesson_;
  const ClinicQuestion& q_;
  SpeedWords speed_;
  Document out_;
};

}  // namespace

Document projector_page(const LessonStory& story) { return Projector{story}.document(); }

Document lesson_key(const LessonStory& story) {
  const ClinicQuestion& q = story.lesson.question;
  const SpeedWords speed{q.step, story.unit, story.unit};
  Document out;
  out.blocks.push_back(Headline{"The coach's key: not for the class."});
  out.blocks.push_back(Heading{"Exercise 1: the truth behind every test"});
  out.blocks.push_back(Paragraph{fmt::format("Where one bowstring is faster, it is by {}.", speed.as_typed(q.gap))});
  Table table{{{"student", true},
               {"truth"},
               {"A"},
               {"B"},
               {"B against A, " + speed.unit(), true},
               {"range"},
               {"the tool says"}},
              {}};
  for (std::size_t i = 0; i < story.lesson.luck.size(); ++i) {
    const ClinicTest& test = story.lesson.luck[i];
    const ToolSays tool = tool_says(test, q.level);
    table.rows.push_back({std::to_string(i + 1),
                          test.true_gap == 0.0  ? "no gap"
                          : test.true_gap > 0.0 ? "B faster"
                                                : "A faster",
                          readings_in_line(test.a), readings_in_line(test.b), speed.signed_bare(tool.result.difference),
                          speed.signed_limit(tool.result.interval.lower, std::nullopt) + " to " +
                              speed.signed_limit(tool.result.interval.upper, std::nullopt),
                          std::string{name(tool.said)}});
  }
  out.blocks.push_back(std::move(table));
  out.blocks.push_back(Heading{"Exercise 2: what there is to count"});
  Table sizes{{{"shots with each", true}, {"miss the truth"}, {"wholly on the right of no gap"}}, {}};
  for (const SizeOfTest& size : story.lesson.sizes)
    sizes.rows.push_back(
        {std::to_string(size.shots), of(size.miss, size.gaps.size()), of(size.found, size.gaps.size())});
  out.blocks.push_back(std::move(sizes));
  out.blocks.push_back(Heading{"The evening"});
  out.blocks.push_back(Points{{
      {"Luck, 20 minutes",
       "Hand each student the page of exercise 1. Collect the answers in answers.csv: A, B or cannot tell. Say nothing "
       "of "
       "the truth yet."},
      {"How many, 20 minutes", "Hand out exercise 2, let everybody count, then show section 2 of projector.html."},
      {"The display, 15 minutes", "Hand out exercise 3, then show section 3."},
      {"Fooling oneself, 25 minutes", "Hand out exercise 4, then show section 4."},
      {"The end, 10 minutes",
       "shotassay clinic tally answers.csv counts how often eyes were fooled, and draws every test with its truth. "
       "With "
       "--report FILE.html it makes a page for the wall."},
  }});
  out.blocks.push_back(Heading{"What it all rests on"});
  Points notes;
  for (const Note& note : lesson_notes(story)) notes.points.push_back({"", note.text});
  out.blocks.push_back(std::move(notes));
  return out;
}

}  // namespace shotassay::narrative
