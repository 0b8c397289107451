#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/clinic.hpp>

#include "clinic_words.hpp"

namespace shotassay::narrative {

using namespace document;

namespace {

Data list_of(const Sample& sample) {
  Data::List list;
  for (const std::int64_t s : sample.steps()) list.push_back(sample.step().times(s));
  return list;
}

Data interval_data(const RoundingAwareResult& result, ConfidenceLevel level) {
  return Data::Object{{"method", "rounding_aware"},
                      {"lower", result.interval.lower},
                      {"upper", result.interval.upper},
                      {"level", level.value()}};
}

Data counted_group(const SizeOfTest& size, ConfidenceLevel level) {
  Data::List gaps;
  for (const RoundingAwareResult& gap : size.gaps)
    gaps.push_back(Data::Object{{"difference", gap.difference}, {"interval", interval_data(gap, level)}});
  return Data::Object{{"shots", size.shots},
                      {"tests", size.gaps.size()},
                      {"miss", size.miss},
                      {"found", size.found},
                      {"gaps", std::move(gaps)}};
}

Data test_data(int student, const ClinicTest& test, const ToolSays& tool, ConfidenceLevel level) {
  return Data::Object{{"student", student},
                      {"true_gap", test.true_gap},
                      {"a", list_of(test.a)},
                      {"b", list_of(test.b)},
                      {"difference", tool.result.difference},
                      {"interval", interval_data(tool.result, level)},
                      {"tool", std::string{name(tool.said)}}};
}

Data fooling_data(const Fooling& f) {
  Data::List best, looks, bows;
  for (const BestOf& b : f.best) best.push_back(Data::Object{{"shots", b.shots}, {"gain", b.gain}});
  for (const Looks& l : f.looks)
    looks.push_back(Data::Object{{"first", l.first},
                                 {"last", l.last},
                                 {"error_rate", l.error.error_rate},
                                 {"standard_error", l.error.standard_error},
                                 {"tests", static_cast<std::int64_t>(l.error.tests)}});
  for (const OneBow& o : f.one_bow) bows.push_back(Data::Object{{"shots", o.shots}, {"error_rate", o.error_rate}});
  const LeavingOut& out = f.leaving_out;
  return Data::Object{{"best_of", std::move(best)},
                      {"looks", std::move(looks)},
                      {"leaving_out", Data::Object{{"shots", out.shots},
                                                   {"none_left_out", out.none_left_out},
                                                   {"one_left_out", out.one_left_out},
                                                   {"standard_error", out.standard_error},
                                                   {"tests", static_cast<std::int64_t>(out.tests)},
                                                   {"gain", out.gain}}},
                      {"bow_sd", f.bow_sd},
                      {"one_bow", std::move(bows)}};
}

}  // namespace

Table outcome_table(const std::vector<std::pair<std::string, OutcomeCounts>>& rows, bool as_shares) {
  Table table{{{""}, {"tests", true}, {"right", true}, {"fooled", true}, {"could not tell", true}}, {}};
  for (const auto& [label, counts] : rows) {
    const std::size_t n = counts.tests();
    // Where there is no gap, "cannot tell" is the right answer: it stands in one column only.
    const auto cell = [&](std::size_t count) { return as_shares ? share(count, n) : std::to_string(count); };
    table.rows.push_back({label, std::to_string(n), cell(counts.right), cell(counts.fooled), cell(counts.missed)});
  }
  table.columns.back().title = "missed";
  return table;
}

Data counts_data(const OutcomeCounts& counts) {
  return Data::Object{
      {"tests", counts.tests()}, {"right", counts.right}, {"fooled", counts.fooled}, {"missed", counts.missed}};
}

Data by_truth_data(const ByTruth& counts) {
  return Data::Object{{"alike", counts_data(counts.alike)}, {"apart", counts_data(counts.apart)}};
}

Data series_counts(const LuckSeries& series) {
  return Data::Object{{"tests", static_cast<std::int64_t>(series.tests)},
                      {"seed", static_cast<std::int64_t>(series.seed)},
                      {"tool", by_truth_data(series.tool)},
                      {"averages", by_truth_data(series.averages)}};
}

Data question_data(const ClinicQuestion& q, SpeedUnit unit) {
  return Data::Object{{"unit", std::string{name(unit)}},
                      {"display_step", q.step.value()},
                      {"confidence", q.level.value()},
                      {"shots", q.shots},
                      {"speed", q.speed},
                      {"gap", q.gap},
                      {"sd", q.sd}};
}

std::string in_the_long_run(const LuckSeries& series, const std::string& gap) {
  const OutcomeCounts &alike = series.averages.alike, &apart = series.averages.apart;
  return fmt::format(
      "In {} tests drawn like these: where there is no true gap, whoever goes by the averages names a faster one in {} "
      "of tests, the tool in {}. Where the true gap is {}, the averages name the right one in {}, the tool in {}; it "
      "leaves {} open.",
      series.tests, share(alike.fooled, alike.tests()), share(series.tool.alike.fooled, series.tool.alike.tests()), gap,
      share(apart.right, apart.tests()), share(series.tool.apart.right, series.tool.apart.tests()),
      share(series.tool.apart.missed, series.tool.apart.tests()));
}

std::vector<Note> lesson_notes(const LessonStory& story) {
  const ClinicQuestion& q = story.lesson.question;
  const SpeedWords speed{q.step, story.unit, story.unit};
  std::vector<Note> notes;
  notes.push_back({"invented", fmt::format("Every shot of the lesson is drawn by a computer's dice (seed {}), none was "
                                           "fired. The same seed and options make the same lesson again.",
                                           q.seed)});
  notes.push_back(
      {"truth",
       fmt::format("The truth behind the shots: both bowstrings shoot about {}, or one of them {} faster; single "
                   "shots scatter with an SD of {}{}; the display shows steps of {}.",
                   speed.as_typed(q.speed), speed.as_typed(q.gap), speed.as_typed(q.sd),
                   story.sheet.empty() ? "" : ", that of " + document::printable(story.sheet),
                   speed.as_typed(q.step.value()))});
  notes.push_back({"range", fmt::format("The tool's range is the one that shotassay compare gives, at confidence {}.",
                                        percent(q.level.value()))});
  return notes;
}

Document lesson_document(const LessonStory& story) {
  Document out;
  const std::string folder = document::printable(story.folder);
  out.blocks.push_back(
      Headline{fmt::format("The lesson for {} lies in {}.",
                           counted(static_cast<std::size_t>(story.lesson.question.students), "student"), folder)});
  Points files;
  for (const LessonFile& file : story.files) files.points.push_back({file.name, file.purpose});
  out.blocks.push_back(std::move(files));
  out.blocks.push_back(Heading{"The evening"});
  out.blocks.push_back(Points{{
      {"", "Print the four exercises, and key.html for yourself; the key is not for the class."},
      {"", "After exercise 1 write what each student marked into answers.csv: A, B or cannot tell."},
      {"", "Show projector.html after each of the other exercises."},
      {"", fmt::format("At the end: shotassay clinic tally {}{}answers.csv", folder, folder.ends_with('/') ? "" : "/")},
  }});
  out.blocks.push_back(Heading{"What this rests on"});
  Points notes;
  for (const Note& note : lesson_notes(story)) notes.points.push_back({"", note.text});
  out.blocks.push_back(std::move(notes));
  return out;
}

Data lesson_data(const LessonStory& story) {
  const Lesson& l = story.lesson;
  Data::List files, luck, sizes, displays;
  for (const LessonFile& file : story.files) files.push_back(file.name);
  for (std::size_t i = 0; i < l.luck.size(); ++i)
    luck.push_back(
        test_data(static_cast<int>(i) + 1, l.luck[i], tool_says(l.luck[i], l.question.level), l.question.level));
  for (const SizeOfTest& size : l.sizes) sizes.push_back(counted_group(size, l.question.level));
  for (const SeenThrough& d : l.displays)
    displays.push_back(Data::Object{{"display_step", d.step.value()},
                                    {"a", list_of(d.a)},
                                    {"b", list_of(d.b)},
                                    {"difference", d.gap.difference},
                                    {"interval", interval_data(d.gap, l.question.level)},
                                    {"all_equal", d.all_equal}});
  return Data::Object{{"files", std::move(files)},         {"question", question_data(l.question, story.unit)},
                      {"luck", std::move(luck)},           {"series", series_counts(l.series)},
                      {"sizes", std::move(sizes)},         {"displays", std::move(displays)},
                      {"fooling", fooling_data(l.fooling)}};
}

namespace {

ClinicQuestion question_of(const ClinicKey& key) {
  return {.students = static_cast<int>(key.rows.size()),
          .seed = key.seed,
          .shots = static_cast<std::int64_t>(key.rows.front().a.size()),
          .speed = key.speed,
          .gap = key.gap,
          .sd = key.sd,
          .step = key.step,
          .level = key.level};
}

/// "5 of 6", and "none of 6".
std::string so_many(std::size_t count, std::size_t total) {
  return count == 0                    ? fmt::format("none of {}", total)
         : count == total && total > 1 ? fmt::format("all {}", total)
                                       : of(count, total);
}

std::string tally_headline(const ClassTally& tally) {
  const OutcomeCounts &alike = tally.eye.alike, &apart = tally.eye.apart;
  if (alike.tests() > 0)
    return fmt::format("Where there was no gap, eyes saw one in {} tests; the tool in {}.",
                       so_many(alike.fooled, alike.tests()), so_many(tally.tool_answered.alike.fooled, alike.tests()));
  if (apart.tests() > 0)
    return fmt::format("Where there was a gap, eyes named the right one in {} tests; the tool in {}.",
                       so_many(apart.right, apart.tests()), so_many(tally.tool_answered.apart.right, apart.tests()));
  return "No student has given an answer yet.";
}

IntervalStackFigure end_figure(const TallyStory& story, const SpeedWords& speed) {
  IntervalStackFigure figure{
      .row_title = "student and answer",
      .groups = {{"no true gap", 0.0, {}},
                 {"true gap of " + speed.as_typed(story.key.gap) + ", faster against slower", story.key.gap, {}}},
      .misses_marked = true,
      .unit = speed.unit(),
      .decimals = speed.decimals()};
  for (const ToldTest& told : story.tally.tests) {
    const bool alike = told.test.true_gap == 0.0;
    const double sign = told.test.true_gap < 0.0 ? -1.0 : 1.0;
    const Interval interval = told.tool.result.interval;
    const Interval turned = sign > 0.0 ? interval : Interval{-interval.upper, -interval.lower};
    std::string said = "no answer";
    if (told.eye) {
      const Outcome o = outcome(*told.eye, told.test.true_gap);
      said = fmt::format("{}: {}", *told.eye == Said::cannot_tell ? "?" : std::string{name(*told.eye)},
                         o == Outcome::right    ? "right"
                         : o == Outcome::fooled ? "fooled"
                                                : "missed");
    }
    figure.groups[alike ? 0 : 1].rows.push_back(
        {fmt::format("{} {}", told.student, said), sign * told.tool.result.difference, turned});
  }
  return figure;
}

}  // namespace

std::vector<Note> tally_notes(const TallyStory& story) {
  std::vector<Note> notes;
  const std::size_t answered = story.tally.tests.size() - story.tally.unanswered;
  if (story.tally.unanswered > 0)
    notes.push_back({"unanswered", fmt::format("{} gave no answer and are not counted among the eyes.",
                                               counted(story.tally.unanswered, "student"))});
  if (answered > 0)
    notes.push_back(
        {"few", fmt::format("A class of {} is a small sample: another class would count differently, by luck. "
                            "The long series shows what stays.",
                            answered)});
  if (!story.ignored_columns.empty())
    notes.push_back(
        {"ignored_columns", "Columns of the answers that were not looked at: " + listed(story.ignored_columns) + "."});
  return notes;
}

Document tally_document(const TallyStory& story) {
  const ClassTally& t = story.tally;
  const SpeedWords speed{story.key.step, story.key.unit, story.key.unit};
  Document out;
  out.blocks.push_back(Headline{tally_headline(t), Tone::plain});
  if (t.eye.apart.tests() > 0 && t.eye.alike.tests() > 0)
    out.blocks.push_back(
        Paragraph{fmt::format("Where the true gap was {}, eyes named the right one in {} tests; the tool in {}, and it "
                              "left {} open. Nobody who "
                              "looks at one test knows which kind it is. Eyes named a faster one in {} tests; in {} of "
                              "those there was nothing to "
                              "name.",
                              speed.as_typed(story.key.gap), so_many(t.eye.apart.right, t.eye.apart.tests()),
                              so_many(t.tool_answered.apart.right, t.eye.apart.tests()),
                              so_many(t.tool_answered.apart.missed, t.eye.apart.tests()),
                              t.eye.alike.fooled + t.eye.apart.right + t.eye.apart.fooled, t.eye.alike.fooled)});
  if (t.eye.alike.tests() + t.eye.apart.tests() > 0) {
    out.blocks.push_back(outcome_table({{"no true gap, by eye", t.eye.alike},
                                        {"no true gap, by the tool", t.tool_answered.alike},
                                        {"true gap, by eye", t.eye.apart},
                                        {"true gap, by the tool", t.tool_answered.apart}},
                                       false));
    out.blocks.push_back(Paragraph{
        "Right: named the faster one, or could not tell where there was nothing to tell. Fooled: named one where both "
        "were alike, or the slower one. Missed: could not tell a gap that was there."});
  }
  out.blocks.push_back(Heading{"Every test with its truth"});
  out.blocks.push_back(end_figure(story, speed));
  out.blocks.push_back(Heading{"In the long run"});
  out.blocks.push_back(Paragraph{in_the_long_run(story.series, speed.as_typed(story.key.gap))});
  if (const auto notes = tally_notes(story); !notes.empty()) {
    out.blocks.push_back(Heading{"To bear in mind"});
    Points points;
    for (const Note& note : notes) points.points.push_back({"", note.text});
    out.blocks.push_back(std::move(points));
  }
  return out;
}

Data tally_data(const TallyStory& story) {
  Data::List tests;
  for (const ToldTest& told : story.tally.tests) {
    Data row = test_data(told.student, told.test, told.tool, story.key.level);
    auto object = std::get<Data::Object>(row.value());
    object.emplace_back("eye", told.eye ? Data{std::string{name(*told.eye)}} : Data{});
    tests.push_back(std::move(object));
  }
  return Data::Object{{"question", question_data(question_of(story.key), story.key.unit)},
                      {"eye", by_truth_data(story.tally.eye)},
                      {"tool", by_truth_data(story.tally.tool_answered)},
                      {"unanswered", story.tally.unanswered},
                      {"tests", std::move(tests)},
                      {"series", series_counts(story.series)}};
}

std::vector<Note> series_notes(const SeriesStory& story) {
  const ClinicQuestion& q = story.question;
  const SpeedWords speed{q.step, story.unit, story.unit};
  return {
      {"truth", fmt::format("Every test is drawn anew (seed {}): no true gap or {}, who is faster, and the shots, {}, "
                            "SD {}, on a display with steps of {}.",
                            q.seed, speed.as_typed(q.gap), shots_each(q.shots), speed.as_typed(q.sd),
                            speed.as_typed(q.step.value()))},
      {"range", fmt::format("The tool's range is the one that shotassay compare gives, at confidence {}.",
                            percent(q.level.value()))}};
}

namespace {

Table series_table(const LuckSeries& series, bool as_shares) {
  return outcome_table({{"no true gap, by averages", series.averages.alike},
                        {"no true gap, by the tool", series.tool.alike},
                        {"true gap, by averages", series.averages.apart},
                        {"true gap, by the tool", series.tool.apart}},
                       as_shares);
}

}  // namespace

Document series_document(const SeriesStory& story) {
  const SpeedWords speed{story.question.step, story.unit, story.unit};
  const OutcomeCounts &averages = story.series.averages.alike, &tool = story.series.tool.alike;
  Document out;
  out.blocks.push_back(
      Headline{averages.tests() == 0
                   ? "No test without a true gap has been drawn yet."
                   : fmt::format("Where there was no gap, the averages showed one in {} tests; the tool in {}.",
                                 so_many(averages.fooled, averages.tests()), so_many(tool.fooled, tool.tests()))});
  out.blocks.push_back(series_table(story.series, false));
  out.blocks.push_back(Paragraph{
      "Right: named the faster one, or left open where there was nothing to tell. Fooled: named one where both were "
      "alike, or the slower one. Missed: left a gap open that was there."});
  Points notes;
  for (const Note& note : series_notes(story)) notes.points.push_back({"", note.text});
  out.blocks.push_back(std::move(notes));
  return out;
}

Data series_data(const SeriesStory& story) {
  return Data::Object{{"question", question_data(story.question, story.unit)}, {"series", series_counts(story.series)}};
}

Document series_step(const SeriesStory& story, const ClinicTest& newest) {
  const ClinicQuestion& q = story.question;
  const SpeedWords speed{q.step, story.unit, story.unit};
  const ToolSays tool = tool_says(newest, q.level);
  const Said by_averages = averages_say(newest);
  const auto says = [](Said said) {
    return said == Said::cannot_tell ? std::string{"cannot tell"} : std::string{name(said)} + " is faster";
  };
  const std::string truth = newest.true_gap == 0.0  ? "no true gap"
                            : newest.true_gap > 0.0 ? "B is faster by " + speed.as_typed(newest.true_gap)
                                                    : "A is faster by " + speed.as_typed(-newest.true_gap);
  Document out;
  out.blocks.push_back(Heading{fmt::format("Test {}", story.series.tests)});
  out.blocks.push_back(shots_in_order("A", newest.a, "B", newest.b, story.unit));
  out.blocks.push_back(Points{
      {{"averages", says(by_averages)},
       {"tool", fmt::format("{}; B against A {}", says(tool.said), speed.range(tool.result.interval, std::nullopt))},
       {"truth", truth}}});
  out.blocks.push_back(series_table(story.series, false));
  return out;
}

}  // namespace shotassay::narrative
