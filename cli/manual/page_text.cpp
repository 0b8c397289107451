#include "page_text.hpp"

#include <algorithm>
#include <stdexcept>

namespace shotassay::cli {

namespace {

const std::vector<PageText>& all() {
  static const std::vector<PageText> texts{
      {"shotassay",
       {"A chronograph shows whole feet per second, a test has a handful of shots, and two averages lie "
        "some fps apart. shotassay says whether the gap is more than shot scatter and display rounding, how "
        "large it may be, and for which claim that holds; before anybody shoots, how many shots it takes.",
        "Every answer begins with the sentence that may be said aloud, followed by the range of the gap. "
        "\"Open\" is not \"no difference\": it says what would settle it. Nothing is dropped or guessed: "
        "whatever is wrong in a file or on the command line is told at once, with its place.",
        "Each command has a page of its own. Options stand before or after the names of files; -- ends the "
        "options, for a name that begins with a dash. \"shotassay help COMMAND\" is \"shotassay COMMAND "
        "--help\"."},
       {{"Plan a test of two bowstrings, and write the sheet to fill in",
         "shotassay plan --resolve 3 --sd 1.2 --setup '14 strands' \\\n    --setup '18 strands' --sheet strings.csv"},
        {"Compare what was shot", "shotassay compare bowstrings.csv"}}},
      {"shotassay compare",
       {"Reads a sheet with one row a shot, and says for each pair of set-ups how large the gap between "
        "their averages is, in which range it may lie, and whether the second is faster, slower, or the "
        "same within a margin; or that the readings leave it open.",
        "The verdict rests on a method that knows that a reading of 191 stands for anything from 190.5 to "
        "191.5. Other methods stand beside it with --method. With one bow of each kind the answer is about "
        "these two bows, however many shots there are."},
       {{"Compare two bowstrings", "shotassay compare bowstrings.csv"},
        {"Say whether they are the same within 3 fps", "shotassay compare bowstrings.csv --margin 3"},
        {"Two of three set-ups, the first as the one compared against",
         "shotassay compare three-bowstrings.csv --setup '18 strands' \\\n    --setup '14 strands'"},
        {"Two days, one sheet each, as a page for a browser",
         "shotassay compare saturday.csv sunday.csv --report two-days.html"}}},
      {"shotassay plan",
       {"Answers before anybody shoots, for the very range that compare will give afterwards. Ask one "
        "question, with --resolve, --within, --same-within, --shots, --total-shots or --kinds, and say how "
        "much shots scatter, with --sd, --from an earlier sheet, or by the --shooter.",
        "With --sheet it writes a blank sheet in firing order; compare then knows the plan.",
        "Never dry-fire; inspect arrows; the maker's limits, the range rules and local law override "
        "anything printed."},
       {{"Shots with each of two bowstrings to find a gap of 3 fps", "shotassay plan --resolve 3 --sd 1.2"},
        {"What three shots with each can see", "shotassay plan --shots 3 --sd 1.2"},
        {"The scatter taken from an earlier sheet", "shotassay plan --resolve 2 --from bowstrings.csv"},
        {"Bows and shots for a claim about kinds of bow", "shotassay plan --kinds --bow-sd 2.5 --sd 1.2 --resolve 5"}}},
      {"shotassay budget",
       {"Reads inputs with their standard uncertainties and a formula, and says how well the result is "
        "known: combined and expanded uncertainty, and the share of each input. Drawn inputs check it."},
       {{"The kinetic energy of an arrow", "shotassay budget kinetic-energy.json"}}},
      {"shotassay audit",
       {"Takes figures that somebody published, an average and a number of shots, say, and tells whether "
        "they can be true at all, how little shots would have to scatter for the gap to be more than luck, "
        "what was left unsaid, and how many shots the claim would have needed.",
        "A figure goes to the set-ups in their order, or to one by its name, as in --sd B=1.4. With --table "
        "it reads many claims, one a row, and writes a verdict for each."},
       {{"Two averages of three shots each", "shotassay audit --shots 3 --average 281 --average 284"},
        {"By name, with the SDs that were printed",
         "shotassay audit --setup '14 strands' --setup '18 strands' --shots 5 \\\n    --average 191.4 "
         "--average 187.2 --sd 1.14 --sd 0.84"},
        {"The first as a page for a browser",
         "shotassay audit --shots 3 --average 281 --average 284 \\\n    --report audit.html"}}},
      {"shotassay clinic",
       {"For a coach's evening. make draws small tests whose truth only the key knows, tally counts how "
        "often eyes were fooled, show draws one test after another on the terminal, and page writes a page "
        "to play with."},
       {{"Handouts for twelve students", "shotassay clinic make --students 12 --seed 7 --out evening"},
        {"A page to play with", "shotassay clinic page --out luck.html"}}},
      {"shotassay clinic make",
       {"Writes a folder with a handout for each student, a page for the wall, a sheet for the answers, and "
        "the key. The same seed draws the same lesson."},
       {{"Handouts for twelve students", "shotassay clinic make --students 12 --seed 7 --out evening"},
        {"Scatter and display as in a sheet that the class has shot",
         "shotassay clinic make --from bowstrings.csv --out evening"}}},
      {"shotassay clinic tally",
       {"Reads the answers that the class gave and the lesson's key, and counts how often a gap was seen "
        "where there was none, and missed where there was one."},
       {{"With the key beside the answers", "shotassay clinic tally evening/answers.csv"}}},
      {"shotassay clinic show",
       {"Draws tests of two set-ups one after another, some with a true gap and some without, and counts "
        "how often the averages alone, and the range, tell which. On a terminal a key press goes on, and q "
        "ends it."},
       {{"Tests of five shots with each", "shotassay clinic show luck --shots 5"}}},
      {"shotassay clinic page",
       {"Writes one file that a browser opens without a network: draw tests, and watch averages move with "
        "nothing behind them."},
       {{"Write it", "shotassay clinic page --out luck.html"}}},
  };
  return texts;
}

}  // namespace

const PageText& page_text(const std::string& command) {
  const auto found = std::find_if(all().begin(), all().end(), [&](const PageText& t) { return t.command == command; });
  if (found == all().end()) throw std::logic_error{command + ": cli/manual/page_text.cpp has no text for its page"};
  return *found;
}

const Meanings& exit_statuses() {
  static const Meanings statuses{{"0", "answered"},
                                 {"1", "no answer with these data; the error stream says why"},
                                 {"2", "wrong use of the program"},
                                 {"3", "a bad input file, or one that cannot be read"},
                                 {"4", "the machine failed: the disk is full, memory is short"},
                                 {"10, 11, 12, 13", "--exit-on-verdict: faster, slower, same, open"}};
  return statuses;
}

const Meanings& environment_variables() {
  static const Meanings variables{
      {"COLUMNS", "Width of what is printed, in columns. Else that of the terminal, or 80 where there is none."},
      {"NO_COLOR", "Set and not empty: no colour, unless --color always asks for it."},
      {"TERM", "dumb: no colour, and nothing that moves the cursor."}};
  return variables;
}

const Meanings& files() {
  static const Meanings all{
      {"SHEET",
       "A shot sheet (CSV): one row a shot, with the columns setup and speed_fps or speed_mps, readings as the "
       "display showed them. A name of - is standard input."},
      {"FILE",
       "A budget (JSON): inputs, each with a value and how well it is known, and the quantity worked out from "
       "them, by name or by a formula. A name of - is standard input."},
      {"CLAIMS.csv",
       "Claims, one a row, with the columns shots_1, average_1, shots_2, average_2 and others. A name of - is "
       "standard input."},
      {"ANSWERS",
       "What each student marked: one row a student and test, in the sheet answers.csv that clinic make writes."},
      {"KEY.csv", "What clinic make drew: the file key.csv of its folder."},
      {"/usr/share/doc/shotassay/examples", "Invented sheets, claims and budgets, where the Debian package put them."}};
  return all;
}

}  // namespace shotassay::cli
