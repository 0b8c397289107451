#include <algorithm>
#include <cmath>
#include <map>
#include <shotassay/methods/measured_coverage.hpp>

#include "../document/formatted.hpp"
#include "comparison_words.hpp"

namespace shotassay::narrative {

namespace {

class NoteWriter {
 public:
  explicit NoteWriter(const ComparisonStory& story) : story_{story}, c_{story.comparison}, words_{story} {}

  std::vector<Note> write() {
    about_the_sheet();
    about_the_plan();
    about_exclusions();
    about_setups();
    about_the_family();
    for (const GapOutcome& gap : c_.gaps) about_gap(gap);
    about_replicates();
    about_history();
    about_equal_setups();
    about_budgets();
    about_influence();
    about_methods();
    about_coverage();
    return std::move(notes_);
  }

 private:
  void add(const std::string& code, const std::string& text) {
    const bool said = std::any_of(notes_.begin(), notes_.end(), [&](const Note& n) { return n.text == text; });
    if (!said) notes_.push_back({code, text});
  }

  void about_the_sheet() {
    const Sheet& sheet = story_.sheet;
    if (sheet.unit_origin == UnitOrigin::assumed)
      add("unit_assumed", "The sheet does not say its unit; fps was assumed. A line \"# unit: m/s\" says otherwise.");
    if (story_.printed != sheet.unit)
      add("unit_converted",
          formatted("The sheet is in {}; speeds are shown in {}.", name(sheet.unit), name(story_.printed)));
    const std::string step = SpeedWords{c_.display_step, sheet.unit, sheet.unit}.as_typed(c_.display_step.value());
    switch (sheet.display_origin) {
      case DisplayOrigin::last_decimal_written:
        add("display_from_decimals",
            formatted("The display is taken to show steps of {}, the last decimal written.", step));
        break;
      case DisplayOrigin::display_line:
        add("display_from_sheet", formatted("The display shows steps of {}, as the sheet says.", step));
        break;
      case DisplayOrigin::option:
        add("display_from_option", formatted("The display shows steps of {}, as asked.", step));
        break;
    }
    std::vector<std::string> columns;
    for (const auto& column : sheet.ignored_columns) columns.push_back(document::shown_name(column));
    if (!columns.empty())
      add("unknown_columns", formatted("Not used, for their names mean nothing to a shot sheet: {} {}.",
                                       columns.size() == 1 ? "column" : "columns", listed(columns)));
    std::vector<std::string> lines;
    for (const auto& line : sheet.ignored_lines)
      lines.push_back(
          formatted("line {} ({})", line.line, document::shown_name(line.key.empty() ? line.value : line.key)));
    if (!lines.empty())
      add("unknown_lines", "Not used, for their keys mean nothing to a shot sheet: " + listed(lines) + ".");
    const auto any = [&](Label Shot::*label) {
      return std::any_of(sheet.shots.begin(), sheet.shots.end(), [&](const Shot& s) { return s.*label != 0; });
    };
    const auto used = [&](Method method) {
      return std::any_of(c_.gaps.begin(), c_.gaps.end(), [&](const GapOutcome& gap) {
        return std::any_of(gap.methods.begin(), gap.methods.end(),
                           [&](const MethodOutcome& m) { return m.method == method && m.interval; });
      });
    };
    if (any(&Shot::round) && !used(Method::round_paired))
      add("rounds_not_used", "The sheet's rounds are not used: no two of them have shots of two set-ups.");
    if (any(&Shot::session) && !used(Method::session_gaps))
      add("sessions_not_used",
          "The sheet's sessions are taken together: no two of them have two shots or more of two set-ups.");
  }

  void about_the_plan() {
    const Sheet& sheet = story_.sheet;
    if (!sheet.check_standard.empty())
      add("check_standard", formatted("Shots of the check standard {} watch the conditions; they are in no gap.",
                                      document::shown_name(sheet.check_standard)));
    if (!story_.planned) return;
    const PlannedTest& test = *story_.planned;
    std::vector<std::string> shots, open, missing;
    for (const PlannedSetup& s : test.setups) {
      const std::string setup = document::shown_name(s.name);
      if (s.open > 0) open.push_back(formatted("{} with {}", s.open, setup));
      if (!s.planned) continue;
      shots.push_back(formatted("{} with {}", counted(*s.planned, "shot"), setup));
      if (s.excluded > 0 && s.open == 0 && s.analysed < *s.planned)
        missing.push_back(formatted("with {} {} of {}", setup, s.analysed, *s.planned));
    }
    const SpeedWords& speed = words_.speed();
    std::string text = "The sheet comes from a plan";
    if (!shots.empty()) text += " for " + listed(shots);
    std::vector<std::string> terms;
    if (sheet.plan->confidence) terms.push_back("confidence " + percent(sheet.plan->confidence->value()));
    if (sheet.plan->power) terms.push_back("power " + percent(sheet.plan->power->value()));
    if (sheet.margin) terms.push_back("margin " + speed.as_typed(sheet.margin->value()));
    if (!terms.empty()) text += (shots.empty() ? ", " : ", at ") + listed(terms);
    add("plan_read", text + ".");
    if (!missing.empty())
      add("shots_left_out",
          formatted(
              "Planned shots were left out, so that fewer count: {}. To keep to the plan fire as many more and add "
              "their rows; that is not going on longer.",
              listed(missing)));
    if (!open.empty()) add("open_shots", "Planned and not shot yet: " + listed(open) + ".");
    if (sheet.plan->confidence && sheet.plan->confidence->value() != c_.level.value())
      add("plan_overruled", formatted("The confidence of {} was asked for in place of the plan's {}.",
                                      percent(c_.level.value()), percent(sheet.plan->confidence->value())));
    if (sheet.margin && c_.margin && *c_.margin != sheet.margin->value())
      add("plan_overruled", formatted("The margin of {} was asked for in place of the plan's {}.",
                                      speed.as_typed(*c_.margin), speed.as_typed(sheet.margin->value())));
    about_stopping(test);
  }

  /// What it does to the error rate not to shoot as planned.
  void about_stopping(const PlannedTest& test) {
    if (test.course == Course::as_planned) return;
    const bool went_on = test.course == Course::went_on;
    if (!test.stopping) {
      add(went_on ? "went_on" : "stopped_early",
          went_on ? "More shots were fired than planned: a test that goes on until it looks right errs more often than "
                    "its confidence says."
                  : "Fewer shots are here than planned: a test that stops when it looks right errs more often than its "
                    "confidence says.");
      return;
    }
    const StoppingError& e = *test.stopping;
    const std::string looks =
        went_on ? formatted(
                      "More shots were fired than planned. Who goes on from {} with each because the verdict is "
                      "open, looks after every further shot up to {} and stops at the first gap found",
                      test.from_shots, test.to_shots)
                : formatted(
                      "Fewer shots are here than planned. Who looks after every shot from {} with each and stops "
                      "at the first gap found, at {} at the latest,",
                      test.from_shots, test.to_shots);
    const std::string meaning =
        e.error_rate > c_.level.alpha()
            ? "The confidence holds only if the number of shots was not chosen by looking."
            : "With scatter this small beside the display's step the range is wide enough to bear that.";
    add(went_on ? "went_on" : "stopped_early",
        formatted("{} is wrong in {} of tests of like set-ups, where {} are allowed ({} simulated tests, standard "
                  "error {:.1f} %, seed {}). {}",
                  looks, percent_of_tests(e.error_rate), percent(c_.level.alpha()), e.tests, e.standard_error * 100.0,
                  e.seed, meaning));
  }

  void about_exclusions() {
    for (const ExcludedShot& shot : story_.sheet.excluded) {
      const std::string setup = document::shown_name(story_.sheet.setups[shot.setup].name);
      const bool compared = std::any_of(c_.setups.begin(), c_.setups.end(), [&](const SetupOutcome& s) {
        return s.name == story_.sheet.setups[shot.setup].name;
      });
      if (!compared) continue;
      add("excluded_shot", formatted("Left out of {}: {} on line {}, \"{}\".", setup,
                                     shot.reading ? shot.reading->text() : std::string{"a shot without reading"},
                                     shot.line, document::printable(shot.reason)));
    }
  }

  bool still_open(const std::string& setup) const {
    return std::any_of(story_.sheet.setups.begin(), story_.sheet.setups.end(),
                       [&](const SetUp& s) { return s.name == setup && s.open > 0; });
  }

  void about_setups() {
    std::vector<std::string> equal, alone;
    for (std::size_t i = 0; i < c_.setups.size(); ++i) {
      const auto& d = c_.setups[i].description;
      if (!d)
        add("no_shots",
            words_.setup(i) +
                (still_open(c_.setups[i].name) ? " has no reading yet." : " has no shot left: every one is excluded."));
      if (d && d->shots == 1) alone.push_back(words_.setup(i));
      if (d && d->shots >= 2 && d->all_equal) equal.push_back(words_.setup(i));
    }
    if (!alone.empty())
      add("one_shot", "One shot tells nothing of the scatter: no range for " + listed(alone) +
                          ". Two are needed, three are better.");
    if (!equal.empty())
      add("all_equal", "All readings are equal with " + listed(equal) +
                           ": the scatter is too small for this display, not 0. The range allows for that.");
  }

  void about_the_family() {
    if (c_.family < 3) return;
    add("family", formatted("The {} is one for all {} pairs of the {} set-ups together: the ranges are wider than for "
                            "two set-ups alone. They decide; Holm's p stands beside.",
                            "error rate", c_.family * (c_.family - 1) / 2, c_.family));
    std::optional<std::int64_t> shots;
    bool unequal = false;
    for (const auto& s : c_.setups) {
      if (s.methods.empty()) continue;
      unequal = unequal || (shots && *shots != s.description->shots);
      shots = s.description->shots;
    }
    if (unequal)
      add("family_unequal_shots",
          "With unequal numbers of shots, or scatter that differs much between set-ups, the ranges of a family hold "
          "together somewhat less often than they say: 92 to 94 of 100 tests instead of 95 in the worst cases studied "
          "with three set-ups of three or more shots.");
  }

  void about_gap(const GapOutcome& gap) {
    const auto &from = c_.setups[gap.from], &to = c_.setups[gap.to];
    if (gap.deciding().interval) {
      const auto a = from.description->shots, b = to.description->shots;
      if (a != b && std::min(a, b) == 2)
        add("two_shots",
            formatted("{} has two shots beside {} with {}: the range may be too short, and a third shot mends it.",
                      a == 2 ? words_.from(gap) : words_.to(gap), a == 2 ? words_.to(gap) : words_.from(gap),
                      std::max(a, b)));
    }
    const MethodOutcome& deciding = gap.deciding();
    if (deciding.p_equivalence && *deciding.p_equivalence < c_.level.alpha() && gap.verdict == Verdict::open)
      add("same_needs_the_whole_range",
          formatted("{}: the usual two one-sided tests would call this the same within the margin (p of same {}). With "
                    "rounded readings they err too often on one side; the verdict asks for the whole range inside.",
                    words_.pair(gap), p_text(*deciding.p_equivalence)));
    if (gap.decided_by == RoundingTerm::display_bound)
      add("display_limits",
          formatted("{}: the display, not the scatter, sets the width of the range, so no gap that such shots find 8 "
                    "times in 10 can be stated.",
                    words_.pair(gap)));
    if (gap.holm_disagrees)
      add("holm_disagrees",
          formatted("{}: the range and Holm's p fall on different sides of the error rate; the range decides.",
                    words_.pair(gap)));
    for (const MethodOutcome& m : gap.methods) about_method(m, words_.pair(gap), c_.gaps.size() > 1);
  }

  void about_method(const MethodOutcome& m, const std::string& of, bool name_it) {
    const std::string lead = std::string{name(m.method)} + (name_it ? ", " + of : "") + ": ";
    if (!m.why_absent.empty()) add("no_interval", lead + document::printable(m.why_absent));
    if (m.interval && (!std::isfinite(m.interval->lower) || !std::isfinite(m.interval->upper)))
      add("no_finite_limit", lead + "these readings give no finite limit on one side or on both.");
    if (m.resamples)
      add("monte_carlo",
          formatted("{}{} random resamples{}, not the exact law; {}.", lead, *m.resamples,
                    story_.seed ? formatted(", seed {}", *story_.seed) : std::string{}, monte_carlo_error(m)));
  }

  void about_equal_setups() {
    for (std::size_t g = 0; g < story_.equal_setups.size(); ++g)
      if (const auto& equal = story_.equal_setups[g]; equal && equal->equalised && equal->weight_and_length_differ)
        add("weight_and_length_differ",
            words_.pair(c_.gaps[g]) +
                ": draw weight and draw length both differ. If the weight is larger only because the bow was drawn "
                "further, as without let-off, the same cause is taken off twice: give the weights at one draw length "
                "then.");
  }

  void about_budgets() {
    if (story_.gap_budgets.empty()) return;
    const SpeedWords& speed = words_.speed();
    if (const auto& a = story_.known.accuracy) {
      std::string text;
      if (a->relative > 0.0)
        text = formatted(
            "The chronograph's accuracy of {:.3g} % is a scale error common to all shots: it counts in each speed in "
            "full, in a gap only by its share of the gap.",
            100.0 * a->relative);
      else
        text = formatted(
            "The chronograph's accuracy of {} is an error common to all shots: it counts in each speed and not in a "
            "gap.",
            speed.as_typed(a->absolute));
      add("accuracy", text);
    } else {
      add("no_accuracy",
          story_.sheet.accuracy.empty()
              ? "How wrong the chronograph itself may be was not stated (\"# accuracy: 0.5 %\" in the sheet or "
                "--accuracy): a speed's budget lacks it, a gap's hardly does."
              : formatted("The sheet's accuracy, \"{}\", is no number with %, fps or m/s: it is in no budget.",
                          document::printable(story_.sheet.accuracy)));
    }
    add("rounding_in_scatter",
        "Display rounding is an input of its own where the readings span one step or less; in a wider spread it is "
        "part "
        "of the scatter.");
    for (std::size_t g = 0; g < story_.gap_budgets.size(); ++g) {
      const auto& budget = story_.gap_budgets[g];
      if (!budget) continue;
      const std::optional<EqualisedGap> equal = g < story_.equal_setups.size() ? story_.equal_setups[g] : std::nullopt;
      const Interval& said = equal && equal->equalised ? equal->equalised->interval : *c_.gaps[g].deciding().interval;
      const Interval& whole =
          budget->answer.trials_preferred ? budget->answer.monte_carlo->symmetric : budget->answer.budget.interval;
      if (verdict(whole) == Verdict::open && verdict(said) != Verdict::open)
        add("budget_leaves_open",
            words_.pair(c_.gaps[g]) +
                ": with all that its budget holds, what was stated beside the readings included, which is faster stays "
                "open.");
      if (c_.gaps[g].decided_by == RoundingTerm::display_bound)
        add("budget_below_display_bound",
            words_.pair(c_.gaps[g]) +
                ": the display's bound makes the range above wider than this budget, which knows rounding as a "
                "distribution only; the range above is the one to go by.");
      else if (c_.family > 2)
        add("budget_of_one_gap", "A budget is of its gap alone; the ranges above hold together for all pairs.");
    }
  }

  std::string monte_carlo_error(const MethodOutcome& m) const {
    if (!m.lower_range || !m.upper_range) return "no error can be stated";
    const SpeedWords& s = words_.speed();
    const auto ends = [&](const Interval& i) { return s.limit(i.lower, {}) + " to " + s.limit(i.upper, {}); };
    return formatted("with all of them counted the lower limit would lie within {}, the upper within {} {}",
                     ends(*m.lower_range), ends(*m.upper_range), s.unit());
  }

  /// Is it one shot? Told in one line, the shots named.
  void about_influence() {
    for (std::size_t g = 0; g < story_.influence.size(); ++g) {
      const GapInfluence& influence = story_.influence[g];
      if (!influence.verdict) continue;
      const std::string lead = c_.gaps.size() > 1 ? words_.pair(c_.gaps[g]) + ": " : "";
      if (influence.nothing_changes_it()) {
        add("no_single_shot",
            lead +
                "No single shot decides: without any one of them, without the first of each string, or "
                "with any reading one display step up or down, the verdict stays what it is.");
        continue;
      }
      std::vector<std::string> cases;
      for (const TippingShots& tipping : influence.tipping) cases.push_back(tipping_case(tipping));
      constexpr std::size_t most_told = 4;
      std::string more;
      if (cases.size() > most_told) {
        more = formatted("; and {} more", counted(cases.size() - most_told, "such change"));
        cases.resize(most_told);
      }
      std::string text = lead + "The verdict hangs on single shots: ";
      for (std::size_t i = 0; i < cases.size(); ++i) text += (i > 0 ? "; " : "") + cases[i];
      add("single_shots", text + more + ".");
    }
  }

  /// "without 188 of B (line 12) it would be open"
  std::string tipping_case(const TippingShots& tipping) const {
    const std::string becomes =
        tipping.becomes ? formatted("it would be {}", name(*tipping.becomes)) : std::string{"there would be no range"};
    if (tipping.change == ReadingChange::without_first_shots) return "without the first shot of each string " + becomes;
    const Shot* first = shot_at(tipping.shots.front());
    std::vector<std::string> lines;
    for (const ShotIndex& index : tipping.shots)
      if (const Shot* shot = shot_at(index)) lines.push_back(std::to_string(shot->line));
    const std::string which = formatted(
        "{} of {} (line {})", first != nullptr ? first->reading.text() : std::string{"a shot"},
        words_.setup(tipping.shots.front().setup), lines.size() > 3 ? lines[0] + " and others" : listed_or(lines));
    switch (tipping.change) {
      case ReadingChange::one_step_up:
        return formatted("with {} one display step higher {}", which, becomes);
      case ReadingChange::one_step_down:
        return formatted("with {} one display step lower {}", which, becomes);
      default:
        return formatted("without {} {}", which, becomes);
    }
  }

  static std::string listed_or(const std::vector<std::string>& items) {
    std::string out;
    for (std::size_t i = 0; i < items.size(); ++i)
      out += (i == 0 ? "" : i + 1 == items.size() ? " or " : ", ") + items[i];
    return out;
  }

  /// The shot on the sheet that an index of a compared sample means.
  const Shot* shot_at(const ShotIndex& index) const {
    std::size_t place = 0;
    for (const Shot& shot : story_.sheet.shots)
      if (story_.sheet.setups[shot.setup].name == c_.setups[index.setup].name && place++ == index.shot) return &shot;
    return nullptr;
  }

  /// What rounds, bows and the firing order tell beside the verdict.
  void about_replicates() {
    const SpeedWords& speed = words_.speed();
    const bool many = c_.gaps.size() > 1;
    for (const GapOutcome& gap : c_.gaps) {
      const std::string lead = many ? words_.pair(gap) + ": " : "";
      for (const MethodOutcome& m : gap.methods) {
        if (!m.replicates || !m.interval) continue;
        if (m.method == Method::round_paired && gap.blocking)
          add("rounds", formatted("{}Round by round, {} rounds, the gap is {} {}, {}. {}", lead, m.replicates->from,
                                  speed.signed_bare(*m.difference), speed.unit(), speed.range(*m.interval, c_.margin),
                                  what_rounds_did(*gap.blocking)));
        if (m.method == Method::bow_means && m.replicates->floor_acted)
          add("bows_agree",
              formatted("{}The bows of each kind agree better than shots and rounding alone would let them, by chance: "
                        "their spread is not taken below that.",
                        lead));
        if (m.method == Method::mixed) about_mixed(m, lead);
      }
    }
    if (c_.drift) about_drift(*c_.drift);
  }

  /// What the history rests on, what was left out of it, and what has to be believed.
  void about_history() {
    const HistoryUse* use = nullptr;
    for (const GapOutcome& gap : c_.gaps)
      if (const MethodOutcome* m = with_history(gap)) use = &*m->history;
    if (use == nullptr) return;
    const ShotHistory& history = *c_.history;
    const HistoryCount count = counted_history(history);
    const SpeedWords& speed = words_.speed();
    const int fine = speed.decimals() + 1;
    const auto sd = [&](double x) { return formatted("{} {}", speed.bare(x, fine), speed.unit()); };
    add("history",
        formatted("The history, {} of {} on {}, gives an SD of {} with a weight of {:.0f} degrees of freedom; these "
                  "shots show {} on {:g}.",
                  counted(count.strings, "string"), counted(count.shots, "shot"), counted(count.sheets, "sheet"),
                  sd(history.prior.sd()), history.prior.usable_degrees_of_freedom(), sd(use->pooled_sd),
                  use->pooled_degrees_of_freedom));
    if (!use->fits)
      add("history_set_aside",
          formatted("The history is set aside and counts for nothing: where one fits, shots scatter as much as these "
                    "only in {} of tests.",
                    percent_of_tests(use->p_scatter)));
    else
      add("history_assumed",
          "Assumed of the history, for no number shows it: the same shooter, the same kind of equipment, shots that "
          "scatter as they did then. In a study with an SD twice the usual one a 95 % range held the true gap in as "
          "few as 85 of 100 tests.");
    for (const GapOutcome& gap : c_.gaps)
      if (const MethodOutcome* m = with_history(gap))
        if (m->history->fits && m->history->decided_by == RoundingTerm::display_bound)
          add("history_display_limits",
              formatted("{}: the display, not the scatter, sets the width of the range with the history too; no "
                        "history narrows that.",
                        words_.pair(gap)));
    if (count.strings < 10)
      add("history_few", formatted("A history of {} is short: ten or more tell better how scatter itself varies.",
                                   counted(count.strings, "string")));
    left_out_of(history);
    if (count.all_equal > 0)
      add("history_all_equal",
          formatted("Of the history's strings {} {} equal readings only; there the SD is taken as what one display "
                    "step hides.",
                    count.all_equal, count.all_equal == 1 ? "shows" : "show"));
    about_earlier_sheets();
  }

  void left_out_of(const ShotHistory& history) {
    if (history.prior.wild) {
      const HistoryString& wild = history.strings[*history.prior.wild];
      std::string whose = document::shown_name(wild.setup);
      if (!wild.bow.empty()) whose += ", bow " + document::shown_name(wild.bow);
      if (!wild.session.empty()) whose += ", session " + document::shown_name(wild.session);
      const SpeedWords& speed = words_.speed();
      add("history_wild",
          formatted("Left out of the history: {}, on {}. The SD of its {} is {} {}, too unlike the other strings.",
                    whose, earlier_name(wild.sheet), counted(wild.shots, "shot"),
                    speed.bare(std::sqrt(wild.scatter.variance), speed.decimals() + 1), speed.unit()));
    }
    std::size_t excluded = 0;
    for (const Sheet& sheet : story_.earlier) excluded += sheet.excluded.size();
    std::vector<std::string> parts;
    if (excluded > 0) parts.push_back(counted(excluded, "shot") + " that the sheets exclude");
    if (history.single_shots > 0)
      parts.push_back(counted(history.single_shots, "string") + " of one shot, where no scatter shows");
    if (!parts.empty()) add("history_left_out", "Left out of the history: " + listed(parts) + ".");
  }

  /// Units that were assumed, and displays other than the test's.
  void about_earlier_sheets() {
    std::vector<std::string> assumed, other;
    for (std::size_t i = 0; i < story_.earlier.size(); ++i) {
      const Sheet& sheet = story_.earlier[i];
      if (sheet.unit_origin == UnitOrigin::assumed) assumed.push_back(earlier_name(i));
      const double step = sheet.display_step.value();
      if (sheet.unit != story_.sheet.unit || step != story_.sheet.display_step.value())
        other.push_back(formatted("{} ({})", earlier_name(i),
                                  SpeedWords{sheet.display_step, sheet.unit, sheet.unit}.as_typed(step)));
    }
    if (!assumed.empty())
      add("history_unit_assumed",
          formatted("No unit is said by {}; fps was assumed. A line \"# unit: m/s\" says otherwise.", listed(assumed)));
    if (!other.empty())
      add("history_display",
          formatted("Earlier displays showed other steps: {}. What this test's display adds to the scatter of a finer "
                    "one is added.",
                    listed(other)));
  }

  std::string earlier_name(std::size_t sheet) const { return document::shown_name(words_.earlier_sheet(sheet)); }

  std::string what_rounds_did(const BlockingGain& b) const {
    const SpeedWords& speed = words_.speed();
    const std::string widths = formatted("±{} {} instead of ±{} {}", speed.bare(b.paired_half_width), speed.unit(),
                                         speed.bare(b.unblocked_half_width), speed.unit());
    if (b.ratio < 0.95) return "The rounds gained: " + widths + ".";
    if (b.ratio > 1.05)
      return "The rounds cost: " + widths + ", for the scatter is known from fewer rounds than shots.";
    return "The rounds neither gained nor cost.";
  }

  void about_mixed(const MethodOutcome& m, const std::string& lead) {
    const SpeedWords& speed = words_.speed();
    const ReplicateDetail& d = *m.replicates;
    const int fine = speed.decimals() + 1;
    const auto range = [&](const Interval& i) {
      return formatted("{} to {}", speed.bare(i.lower, fine),
                       std::isfinite(i.upper) ? speed.bare(i.upper, fine) : std::string{"no finite limit"});
    };
    std::string text = formatted("{}mixed: SD between bows {} {} ({}), of shots {} {} ({}).", lead,
                                 speed.bare(*d.bow_sd, fine), speed.unit(), range(*d.bow_sd_interval),
                                 speed.bare(*d.shot_sd, fine), speed.unit(), range(*d.shot_sd_interval));
    if (d.satterthwaite)
      text += formatted(
          " That the SD between bows comes out as 0 is ordinary with few bows. The degrees of freedom stay "
          "at bows less kinds, {:g}; common software would take {:.1f}.",
          *m.degrees_of_freedom, *d.satterthwaite);
    add("mixed", text);
  }

  void about_drift(const DriftResult& d) {
    const SpeedWords& speed = words_.speed();
    const int fine = speed.decimals() + 1;
    const auto at = [&](double x) {
      const std::string text = speed.bare(x, fine);
      const bool zero = text.find_first_of("123456789") == std::string::npos;
      return (x > 0.0 && !zero ? "+" : "") + text;
    };
    std::string text = formatted("Over the firing order the readings drift by {} {} a shot, from {} to {}{}.",
                                 at(d.slope), speed.unit(), at(d.interval.lower), at(d.interval.upper),
                                 d.interval.contains(0.0) ? ": none that these shots show" : "");
    if (d.false_gap && d.false_gap_as_shot)
      text += formatted(
          " In the order shot that adds {} {} to the gap; had all shots with {} come before all with {}, it "
          "would have added {} {}.",
          at(d.false_gap_as_shot->value), speed.unit(), words_.setup(0), words_.setup(1), at(d.false_gap->value),
          speed.unit());
    add("drift", text);
  }

  /// What a method asked for beside the default is worth at these numbers of shots.
  void about_methods() {
    for (std::size_t i = 0; i < c_.setups.size(); ++i)
      for (const MethodOutcome& m : c_.setups[i].methods) about_method(m, "average of " + words_.setup(i), true);
    for (const GapOutcome& gap : c_.gaps)
      for (const MethodOutcome& m : gap.methods) about_worth(gap, m.method);
  }

  void about_worth(const GapOutcome& gap, Method method) {
    const auto &from = c_.setups[gap.from], &to = c_.setups[gap.to];
    if (!from.description || !to.description || from.description->shots < 2 || to.description->shots < 2) return;
    const auto shots = std::min(from.description->shots, to.description->shots);
    const double sd =
        std::sqrt(0.5 * (*from.description->sd * *from.description->sd + *to.description->sd * *to.description->sd)) /
        c_.display_step.value();
    if (method == Method::rounding_aware) return;
    if ((method == Method::welch || method == Method::pooled) && (from.tight || to.tight))
      add("tight_readings",
          formatted("{}: {} span one display step or less, and this method does not know that readings are rounded.",
                    name(method),
                    from.tight && to.tight ? "the readings of both set-ups" : "the readings of one set-up"));
    if (const auto known = measured_coverage(name(method), shots, sd)) {
      auto& said = coverage_[{known->shots, known->sd, known->default_percent}];
      const std::string worth = formatted("{} {}", name(method), percent(known->percent / 100.0));
      if (std::find(said.begin(), said.end(), worth) == said.end()) said.push_back(worth);
    }
  }

  /// One note a row of the study, with every method asked for.
  void about_coverage() {
    for (const auto& [row, methods] : coverage_)
      add("coverage",
          formatted("In a study of normal shots, {} with each set-up and an SD of {:g} display {}, a 95 % range held "
                    "the true gap in so many tests: {}; rounding_aware {}.",
                    row.shots, row.sd, row.sd == 1 ? "step" : "steps", listed(methods),
                    percent(row.default_percent / 100.0)));
  }

  struct StudyRow {
    std::int64_t shots;
    double sd, default_percent;
    auto operator<=>(const StudyRow&) const = default;
  };

  std::map<StudyRow, std::vector<std::string>> coverage_;
  ComparisonStory story_;
  const Comparison& c_;
  ComparisonWords words_;
  std::vector<Note> notes_;
};

}  // namespace

std::vector<Note> comparison_notes(const ComparisonStory& story) { return NoteWriter{story}.write(); }

}  // namespace shotassay::narrative
