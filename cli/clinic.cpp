#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <shotassay/core/errors.hpp>
#include <shotassay/core/moments.hpp>
#include <shotassay/methods/sd_upper_limit.hpp>
#include <shotassay/narrative/clinic.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/clinic_files.hpp>
#include <shotassay/report/clinic_page.hpp>
#include <shotassay/report/html.hpp>
#include <shotassay/studies/pilot.hpp>

#include "commands.hpp"
#include "input_sheet.hpp"
#include "keyboard.hpp"
#include "output_file.hpp"
#include "output_folder.hpp"
#include "page_files.hpp"

namespace shotassay::cli {

namespace {

using document::Data;

/// What all shots of a lesson are drawn from, as typed.
struct DrawnFrom {
  CommonOptions common;
  std::string gap, sd, shots = "3", from;
};

struct MakeOptions : DrawnFrom {
  std::string students = "12", out;
  bool force = false;
};

struct ShowOptions : DrawnFrom {
  std::string what, tests = "100";
};

struct TallyOptions {
  CommonOptions common;
  std::string answers, key;
  PageOptions pages;
};

bool given(const std::string& text) { return !text.empty(); }

struct Drawn {
  ClinicQuestion question;
  SpeedUnit unit = SpeedUnit::feet_per_second;
};

/// Three digits, as a person would say an SD.
double rounded(double x) {
  const double unit = std::pow(10.0, std::floor(std::log10(x)) - 2);
  return unit >= 1.0 ? std::round(x / unit) * unit : std::round(x / unit) / std::round(1.0 / unit);
}

/// What a sheet says of unit, display, SD and speed; what was typed goes first.
void from_sheet(const DrawnFrom& typed, const std::optional<Decimal>& display, Drawn& out, OptionReader& read,
                const std::optional<SpeedUnit>& unit) {
  const Sheet sheet = input_sheet(typed.from, {.display = display});
  const std::vector<Sample> groups = repeated_shots(sheet);
  try {
    out.question.sd = rounded(sd_upper_limit(groups).sd);
  } catch (const NoAnswer& error) {
    throw stop(no_answer, "--from " + typed.from + ": " + said(error));
  }
  const Moments m = moments(groups.front());
  out.unit = sheet.unit;
  out.question.step = sheet.display_step;
  out.question.speed = std::max(1.0, std::round(sheet.display_step.times(m.total(), m.n)));
  if (unit && *unit != sheet.unit)
    read.problem("--unit", typed.common.unit,
                 "the sheet of --from is in another unit; a lesson from it is in that one");
}

Drawn drawn_from(const DrawnFrom& typed, OptionReader& read) {
  Drawn out;
  ClinicQuestion& q = out.question;
  const auto unit = read.unit(typed.common.unit);
  const auto display = read.display(typed.common.display);
  const auto shots = read.whole("--shots", typed.shots, 2, 20);
  const auto gap = given(typed.gap) ? read.speed("--gap", typed.gap) : std::nullopt;
  const auto sd = given(typed.sd) ? read.speed("--sd", typed.sd) : std::nullopt;
  const auto seed = read.whole("--seed", typed.common.seed, 0, INT64_MAX);
  if (const auto level = read.confidence(typed.common)) q.level = *level;
  read.color(typed.common.color);
  read.threads(typed.common.threads);
  if (given(typed.from) && given(typed.sd)) read.problem("--sd", typed.sd, "the SD comes from the sheet of --from");
  out.unit = unit.value_or(SpeedUnit::feet_per_second);
  const bool metres = out.unit == SpeedUnit::metres_per_second;
  q.step = DisplayStep{display.value_or(metres ? Decimal{1, 1} : Decimal{1, 0})};
  q.sd = sd.value_or(metres ? 0.4 : 1.2);
  q.speed = metres ? 58.0 : 190.0;
  if (given(typed.from)) {
    read.finish();  // a wrong option is told before a file is looked at
    from_sheet(typed, display, out, read, unit);
  }
  q.gap = gap.value_or(out.unit == SpeedUnit::metres_per_second ? 0.6 : 2.0);
  if (shots) q.shots = static_cast<std::int64_t>(*shots);
  if (seed) q.seed = *seed;
  const double step = q.step.value();
  if (q.sd < 0.1 * step)
    read.problem("--sd", typed.sd.empty() ? typed.from : typed.sd,
                 "is below a tenth of the display step of " + q.step.size().text() + ": there would be nothing to see");
  if (std::max({q.sd, q.gap, q.speed}) > 1e6 * step)
    read.problem("--display", q.step.size().text(), "is too fine for these speeds");
  return out;
}

void add_drawn_from(CLI::App& app, DrawnFrom& typed) {
  app.add_option("--gap", typed.gap, "True gap of the tests that have one (2 fps, 0.6 m/s)")->type_name("GAP");
  app.add_option("--sd", typed.sd, "SD of a shot (1.2 fps, 0.4 m/s)")->type_name("SD");
  app.add_option("--shots", typed.shots, "Shots with each of the two (3)")->type_name("N");
  app.add_option("--from", typed.from, "Take SD, display and speed from this sheet")->type_name("SHEET");
}

Data text_or_null(const std::string& text) { return text.empty() ? Data{} : Data{text}; }

/// The files of a lesson, in the order of the evening.
std::vector<narrative::LessonFile> lesson_files() {
  return {{"exercise-1-luck.html", "a page for each student, to print"},
          {"exercise-2-shots.html", "for everybody, to print"},
          {"exercise-3-display.html", "for everybody, to print"},
          {"exercise-4-fooling.html", "for everybody, to print"},
          {"projector.html", "for the wall, after each exercise"},
          {"answers.csv", "to write the students' answers into"},
          {"key.html", "for you: the evening and the truth"},
          {"key.csv", "the same for the tally"}};
}

/// Answers of a class are no copy of anything: a lesson that has some is not replaced.
void require_no_answers(const std::string& lesson) {
  const std::string file = lesson + "/answers.csv";
  std::error_code error;
  if (!std::filesystem::exists(file, error)) return;
  const ClinicAnswersResult found = read_clinic_answers(read_input(file));
  const bool filled = !found.answers || std::any_of(found.answers->rows.begin(), found.answers->rows.end(),
                                                    [](const ClinicAnswerRow& row) { return row.faster.has_value(); });
  if (filled)
    throw stop(wrong_use, "--force " + file + ": students' answers stand in it; move it away, or name another folder");
}

ExitStatus make(const MakeOptions& typed) {
  OptionReader read;
  const auto students = read.whole("--students", typed.students, 1, 60);
  if (typed.out.empty()) read.problem("clinic make", "--out", "name the folder that the lesson is written to");
  Drawn drawn = drawn_from(typed, read);
  read.finish();
  drawn.question.students = static_cast<int>(*students);

  const OutputFolder folder{"--out", typed.out, typed.force};
  const auto files = lesson_files();
  std::vector<std::string> names;
  for (const auto& file : files) names.push_back(file.name);
  require_free(folder, names);
  if (typed.force) require_no_answers(typed.out);

  const Lesson made = lesson(drawn.question);
  const narrative::LessonStory story{made, drawn.unit, typed.from, typed.out, files};
  const ClinicQuestion& q = made.question;
  ClinicKey key{.seed = q.seed,
                .unit = drawn.unit,
                .step = q.step,
                .level = q.level,
                .gap = q.gap,
                .sd = q.sd,
                .speed = q.speed,
                .rows = {}};
  for (std::size_t i = 0; i < made.luck.size(); ++i) {
    const ClinicTest& test = made.luck[i];
    key.rows.push_back(
        {static_cast<int>(i) + 1, test.true_gap, test.a, test.b, std::string{name(tool_says(test, q.level).said)}});
  }
  const auto handout = [](const document::Document& page, const std::string& title) {
    return report::render_html(page, {.title = title, .numbers_on_paper = false});
  };
  write(folder, {{names[0], handout(narrative::luck_handouts(story), "Luck")},
                 {names[1], handout(narrative::sizes_handout(story), "How many shots?")},
                 {names[2], handout(narrative::displays_handout(story), "The display")},
                 {names[3], handout(narrative::fooling_handout(story), "Fooling oneself")},
                 {names[4], handout(narrative::projector_page(story), "What luck looks like")},
                 {names[5], blank_clinic_answers(key)},
                 {names[6], report::render_html(narrative::lesson_key(story), {.title = "Key"})},
                 {names[7], clinic_key_text(key)}});
  if (typed.common.json)
    print(narrative::envelope("clinic make",
                              Data::Object{{"students", q.students},
                                           {"seed", static_cast<std::int64_t>(q.seed)},
                                           {"from", text_or_null(typed.from)},
                                           {"out", typed.out}},
                              narrative::lesson_data(story), narrative::lesson_notes(story)));
  else
    print(narrative::lesson_document(story), typed.common);
  return answered;
}

/// Every problem of one file.
Stop bad_file(const std::string& file, std::vector<Problem> problems) {
  Stop stopped{bad_input, {}};
  for (auto& problem : problems)
    stopped.problems.push_back({file == "-" ? "standard input" : file, std::move(problem)});
  return stopped;
}

Said said_of(ClinicAnswer answer) {
  return answer == ClinicAnswer::a ? Said::a : answer == ClinicAnswer::b ? Said::b : Said::cannot_tell;
}

ExitStatus tally(const TallyOptions& typed) {
  OptionReader read;
  read.color(typed.common.color);
  for (const auto& [option, text] :
       {std::pair{"--confidence", typed.common.confidence}, std::pair{"--display", typed.common.display},
        std::pair{"--unit", typed.common.unit}})
    if (given(text)) read.problem(option, text, "the key says what the lesson was made with");
  if (typed.answers == "-" && !given(typed.key))
    read.problem("--key", "", "say where the key is; answers from standard input have none beside them");
  if (typed.pages.force && !given(typed.pages.report) && !given(typed.pages.svg))
    read.problem("--force", "", "goes with --report or --svg");
  read.finish();
  const PageFiles files{typed.pages};

  const std::string key_file =
      given(typed.key) ? typed.key : (std::filesystem::path{typed.answers}.parent_path() / "key.csv").string();
  ClinicAnswersResult answers = read_clinic_answers(read_input(typed.answers));
  ClinicKeyResult key = read_clinic_key(read_input(key_file));
  Stop stopped = bad_file(typed.answers, std::move(answers.problems));
  for (auto& problem : bad_file(key_file, std::move(key.problems)).problems)
    stopped.problems.push_back(std::move(problem));
  if (!stopped.problems.empty()) throw stopped;
  if (auto problems = answers_against_key(*answers.answers, *key.key); !problems.empty())
    throw bad_file(typed.answers, std::move(problems));

  const ClinicKey& k = *key.key;
  std::vector<ToldTest> told;
  for (const ClinicKeyRow& row : k.rows) {
    const ClinicTest test{row.a, row.b, row.true_gap};
    std::optional<Said> eye;
    for (const ClinicAnswerRow& answer : answers.answers->rows)
      if (answer.student == row.student && answer.faster) eye = said_of(*answer.faster);
    told.push_back({row.student, test, tool_says(test, k.level), eye});
  }
  const ClassTally counted = class_tally(std::move(told));
  ClinicQuestion question{.students = 1,
                          .seed = k.seed,
                          .shots = static_cast<std::int64_t>(k.rows.front().a.size()),
                          .speed = k.speed,
                          .gap = k.gap,
                          .sd = k.sd,
                          .step = k.step,
                          .level = k.level};
  // Numbers can each be sound and yet make no lesson together.
  try {
    require_sound(question);
  } catch (const DomainError& error) {
    throw bad_file(key_file, {{.line = 0, .column = {}, .found = {}, .message = said(error)}});
  }
  constexpr std::uint64_t long_run = 20'000;
  const LuckSeries series = luck_series(question, long_run);
  const narrative::TallyStory story{counted, k, series, answers.answers->ignored_columns};
  const document::Document document = narrative::tally_document(story);
  if (files.any()) write(files.texts(document, "What luck looks like"));
  if (typed.common.json)
    print(narrative::envelope("clinic tally",
                              Data::Object{{"answers", typed.answers},
                                           {"key", key_file},
                                           {"report", text_or_null(typed.pages.report)},
                                           {"svg", text_or_null(typed.pages.svg)}},
                              narrative::tally_data(story), narrative::tally_notes(story)));
  else
    print(document, typed.common);
  return answered;
}

/// One test after another, each at a key.
LuckSeries demonstrate(const Drawn& drawn, std::uint64_t tests, const CommonOptions& common) {
  const char* term = std::getenv("TERM");
  const std::string clear = term == nullptr || std::string{term} == "dumb" ? "\n" : "\x1b[2J\x1b[H";
  LuckSeries series{.tests = 0, .seed = drawn.question.seed, .tool = {}, .averages = {}};
  const Keyboard keyboard;
  for (std::uint64_t i = 0; i < tests; ++i) {
    const ClinicTest test = luck_test(drawn.question, i);
    ++series.tests;
    series.tool.add(test.true_gap, outcome(tool_says(test, drawn.question.level).said, test.true_gap));
    series.averages.add(test.true_gap, outcome(averages_say(test), test.true_gap));
    print(clear);
    print(narrative::series_step({drawn.question, drawn.unit, series}, test), common);
    print(std::string{"\nAny key: the next test. q: the end.\n"});
    if (!keyboard.goes_on()) break;
  }
  print(clear);
  return series;
}

ExitStatus show(const ShowOptions& typed) {
  OptionReader read;
  if (typed.what != "luck") read.problem("clinic show", typed.what, "there is luck to be shown, and nothing else");
  const auto tests = read.whole("--tests", typed.tests, 1, 1'000'000);
  Drawn drawn = drawn_from(typed, read);
  read.finish();
  drawn.question.students = 1;
  require_sound(drawn.question);
  const bool steps = !typed.common.json && at_a_terminal();
  const LuckSeries series = steps ? demonstrate(drawn, *tests, typed.common) : luck_series(drawn.question, *tests);
  const narrative::SeriesStory story{drawn.question, drawn.unit, series};
  if (typed.common.json)
    print(narrative::envelope("clinic show",
                              Data::Object{{"what", typed.what},
                                           {"tests", static_cast<std::int64_t>(*tests)},
                                           {"seed", static_cast<std::int64_t>(drawn.question.seed)},
                                           {"from", text_or_null(typed.from)}},
                              narrative::series_data(story), narrative::series_notes(story)));
  else
    print(narrative::series_document(story), typed.common);
  return answered;
}

struct PlayOptions {
  CommonOptions common;
  std::string out;
  bool force = false;
};

ExitStatus page(const PlayOptions& typed) {
  OptionReader read;
  read.color(typed.common.color);
  const auto unit = read.unit(typed.common.unit);
  const auto level = read.confidence(typed.common);
  if (typed.out.empty()) read.problem("clinic page", "--out", "name the file that the page is written to");
  read.finish();
  const OutputFile file{"--out", typed.out, typed.force};
  require_free(file);
  const SpeedUnit used = unit.value_or(SpeedUnit::feet_per_second);
  const ConfidenceLevel at = level.value_or(ConfidenceLevel{0.95});
  write({{file, report::render_clinic_page(narrative::clinic_page_texts(used, at))}});
  if (typed.common.json)
    print(narrative::envelope(
        "clinic page", Data::Object{{"out", typed.out}},
        Data::Object{{"files", Data::List{typed.out}}, {"unit", std::string{name(used)}}, {"confidence", at.value()}},
        {}));
  else
    print(narrative::page_written(typed.out), typed.common);
  return answered;
}

template <class Options>
Command command(CLI::App& app, const std::shared_ptr<Options>& typed, ExitStatus (*run)(const Options&)) {
  return {&app, std::shared_ptr<CommonOptions>(typed, &typed->common), [typed, run] { return run(*typed); }};
}

}  // namespace

std::vector<Command> bind_clinic(CLI::App& clinic) {
  std::vector<Command> commands;
  {
    const auto typed = std::make_shared<MakeOptions>();
    CLI::App& app = *clinic.add_subcommand("make", "Write handouts, a page for the wall, and the key");
    app.add_option("--out", typed->out, "Folder to write to")->type_name("DIR");
    app.add_option("--students", typed->students, "Students of the class, 1 to 60 (12)")->type_name("N");
    add_drawn_from(app, *typed);
    app.add_flag("--force", typed->force, "Replace a lesson that lies there");
    add_common_options(app, typed->common);
    app.footer("Example:\n  shotassay clinic make --students 12 --seed 7 --out evening");
    commands.push_back(command(app, typed, make));
  }
  {
    const auto typed = std::make_shared<TallyOptions>();
    CLI::App& app = *clinic.add_subcommand("tally", "Count how often eyes were fooled");
    app.add_option("ANSWERS", typed->answers, "The answers as filled in; - reads standard input")
        ->required()
        ->type_name("ANSWERS.csv");
    app.add_option("--key", typed->key, "The lesson's key (key.csv beside the answers)")->type_name("KEY.csv");
    add_page_options(app, typed->pages, "Write a page with the result");
    add_common_options(app, typed->common);
    // Read, so that a refusal can say why; not shown.
    for (const char* refused : {"--confidence", "--display", "--unit"}) app.get_option(refused)->group("");
    app.footer("Example:\n  shotassay clinic tally evening/answers.csv");
    commands.push_back(command(app, typed, tally));
  }
  {
    const auto typed = std::make_shared<ShowOptions>();
    CLI::App& app = *clinic.add_subcommand("show", "Draw one test after another on the terminal");
    app.add_option("WHAT", typed->what, "What to show: luck")->required()->type_name("luck");
    app.add_option("--tests", typed->tests, "So many tests at most (100)")->type_name("N");
    add_drawn_from(app, *typed);
    add_common_options(app, typed->common);
    app.footer("Example:\n  shotassay clinic show luck --shots 5");
    commands.push_back(command(app, typed, show));
  }
  {
    const auto typed = std::make_shared<PlayOptions>();
    CLI::App& app = *clinic.add_subcommand("page", "Write a page to play with, for a browser");
    app.add_option("--out", typed->out, "File to write to")->type_name("FILE.html");
    app.add_flag("--force", typed->force, "Replace a file that exists");
    add_common_options(app, typed->common);
    app.footer("Example:\n  shotassay clinic page --out luck.html");
    commands.push_back(command(app, typed, page));
  }
  clinic.footer("Example:\n  shotassay clinic make --students 12 --seed 7 --out evening");
  return commands;
}

}  // namespace shotassay::cli
