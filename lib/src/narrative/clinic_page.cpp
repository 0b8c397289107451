#include <shotassay/narrative/clinic.hpp>

#include <shotassay/document/printable.hpp>

#include "clinic_words.hpp"

namespace shotassay::narrative {

using document::Data;

document::Document page_written(const std::string& file) {
  return {{document::Headline{"The page lies in " + document::printable(file) + "."},
           document::Paragraph{
               "Open it in a browser; it needs no network. Set the truth with the sliders, shoot, and watch "
               "the pile of verdicts grow."}}};
}

Data clinic_page_texts(SpeedUnit unit, ConfidenceLevel level) {
  const bool metres = unit == SpeedUnit::metres_per_second;
  const std::string u{name(unit)};
  const Data::List fps_steps{0.1, 0.5, 1.0, 2.0, 5.0}, metre_steps{0.01, 0.05, 0.1, 0.5, 1.0};
  return Data::Object{
      {"title", "Is it faster, or is it luck?"},
      {"headline", "Is it faster, or is it luck?"},
      {"invitation",
       "Two bowstrings, A and B, on one bow. You set the truth, the dice shoot, and you see what a test makes of it. "
       "Everything is invented; nobody shoots."},
      {"no_script", "This page draws its shots with a script; switch scripts on to use it."},
      {"shots_label", "Shots with each"},
      {"sd_label", "SD (how far single shots usually lie from their average)"},
      {"gap_label", "True gap: B is faster than A by"},
      {"step_label", "Step of the display"},
      {"sd_value", metres ? "0.4" : "1.2"},
      {"gap_value", metres ? "0.6" : "2"},
      {"again", "Shoot again"},
      {"many", "Shoot 100 tests"},
      {"restart", "Start over"},
      {"figure", "The shots. A: {a}. B: {b} " + u + "."},
      {"figure_legend", "● a shot, ◆ the average, in " + u},
      {"verdict",
       "By the averages: {averages}. By the tool: {tool}; B against A {gap} " + u + ", from {from} to {to}."},
      {"truth", "The truth: B is faster by {gap} " + u + "."},
      {"truth_none", "The truth: there is no gap at all."},
      {"pile_title", "The pile of verdicts"},
      {"tests", "Tests with this truth so far: {tests}."},
      {"by_averages", "by the averages"},
      {"by_tool", "by the tool"},
      {"a_faster", "A is faster"},
      {"b_faster", "B is faster"},
      {"cannot_tell", "cannot tell"},
      {"what_to_try",
       fmt::format(
           "Try: a true gap of 0, and a hundred tests: the averages name a faster one nearly always, the tool in "
           "about {} of tests at most. Then more shots, until the tool finds the gap. Then a coarser display, until "
           "all "
           "readings are equal.",
           percent(1.0 - level.value()))},
      {"unit", u},
      {"speed", metres ? 58.0 : 190.0},
      {"steps", metres ? metre_steps : fps_steps},
      {"alpha", level.alpha()}};
}

}  // namespace shotassay::narrative
