#include <algorithm>
#include <cmath>
#include <numeric>
#include <shotassay/narrative/budget.hpp>
#include <shotassay/narrative/cautions.hpp>

#include "../document/formatted.hpp"
#include "comparison_words.hpp"
#include "equal_setups_words.hpp"
#include "method_words.hpp"
#include "scope_words.hpp"
#include "sheet_table.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

Tone tone_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::faster:
    case Verdict::slower:
      return Tone::resolved;
    case Verdict::same:
      return Tone::same;
    case Verdict::open:
      break;
  }
  return Tone::open;
}

bool any_open(const Comparison& c) {
  return std::any_of(c.gaps.begin(), c.gaps.end(), [](const GapOutcome& g) { return g.verdict == Verdict::open; });
}

bool bows_decide(const Comparison& c) {
  return std::any_of(c.gaps.begin(), c.gaps.end(), [](const GapOutcome& g) { return g.claim == Claim::kinds_of_bow; });
}

/// Above three pairs one sentence a pair is a wall: the open ones are then listed together.
constexpr std::size_t most_sentences = 3;

/// What the ranges for kinds rest on, and what each bow counts for: said with numbers where bows had unequal shots.
std::string weights_of_bows(const Comparison& c) {
  const ReplicateDetail& first = *c.gaps.front().deciding().replicates;
  std::int64_t least = first.least_shots, most = first.most_shots;
  for (const GapOutcome& gap : c.gaps) {
    least = std::min(least, gap.deciding().replicates->least_shots);
    most = std::max(most, gap.deciding().replicates->most_shots);
  }
  const std::string once =
      least == most ? "each bow counting once."
                    : formatted("each bow counting once, whatever its shots: {} to {} of them.", least, most);
  if (c.gaps.size() > 1)
    return "The ranges speak of the kinds: they rest on the averages of the bows of each kind, " + once;
  return formatted("The range speaks of the kinds: it rests on the averages of {} and {} bows, {}", first.from,
                   first.to, once);
}

void say_aloud(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  std::vector<std::string> open;
  for (const GapOutcome& gap : c.gaps) {
    if (c.gaps.size() > most_sentences && gap.verdict == Verdict::open)
      open.push_back(words.to(gap) + " or " + words.from(gap));
    else
      out.blocks.push_back(Headline{words.sentence(gap), tone_of(gap.verdict)});
  }
  if (!open.empty())
    out.blocks.push_back(Headline{
        "Which is faster stays open for " + counted(open.size(), "pair") + ": " + listed(open) + ".", Tone::open});
  const auto ranged = static_cast<std::size_t>(std::count_if(
      c.gaps.begin(), c.gaps.end(), [](const GapOutcome& g) { return g.deciding().interval.has_value(); }));
  if (ranged == 0) return;
  const std::string share = formatted("in about {} such tests", of_tests(c.level.value()));
  const GapOutcome& first = c.gaps.front();
  if (first.claim == Claim::kinds_of_bow && first.deciding().replicates)
    out.blocks.push_back(Paragraph{weights_of_bows(c)});
  if (ranged == 1)
    out.blocks.push_back(Paragraph{"A range worked out this way holds the true gap " + share + " (confidence " +
                                   percent(c.level.value()) + ")."});
  else
    out.blocks.push_back(
        Paragraph{formatted("All {} ranges, worked out this way, hold the true gaps together {} "
                            "(confidence {} for the family of all pairs).",
                            ranged, share, percent(c.level.value()))});
}

/// A test that is not as planned: to be seen before anybody repeats its verdict.
void show_course(const ComparisonStory& story, Document& out) {
  if (!story.planned) return;
  if (story.planned->course == Course::went_on) {
    std::string text = "More shots than planned.";
    if (const auto& e = story.planned->stopping; e && e->error_rate > story.comparison.level.alpha())
      text += formatted(
          " If you went on because it was open, the {} does not hold: of tests without any gap about {} end "
          "in a false verdict so, not {}.",
          of_tests(story.comparison.level.value()), percent_of_tests(e->error_rate),
          percent(story.comparison.level.alpha()));
    out.blocks.push_back(Paragraph{text, Tone::caution});
  }
  if (story.planned->open == 0) return;
  std::vector<std::string> parts;
  for (const PlannedSetup& s : story.planned->setups)
    if (s.open > 0) parts.push_back(formatted("{} with {}", s.open, document::shown_name(s.name)));
  out.blocks.push_back(Paragraph{
      formatted("The planned test is not finished: {} still open, {}.",
                counted(story.planned->open, "shot") + (story.planned->open == 1 ? " is" : " are"), listed(parts)),
      Tone::caution});
}

void show_gaps(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  IntervalFigure figure{.rows = {}, .margin = std::nullopt, .unit = speed.unit(), .decimals = speed.decimals()};
  if (c.margin) figure.margin = speed.converted(*c.margin);
  for (const GapOutcome& gap : c.gaps) {
    if (!gap.deciding().interval) continue;
    const Interval& i = *gap.deciding().interval;
    const SpeedWords fine = words.speed(gap);
    const std::string numbers =
        formatted("{} {}, {}", fine.signed_bare(*gap.difference), speed.unit(), fine.range(i, c.margin));
    figure.rows.push_back({.label = words.pair(gap) + ": " + numbers,
                           .estimate = speed.converted(*gap.difference),
                           .interval = {.lower = speed.converted(i.lower), .upper = speed.converted(i.upper)}});
  }
  if (figure.rows.empty()) return;
  out.blocks.push_back(Heading{figure.rows.size() == 1 ? "The gap" : "The gaps"});
  out.blocks.push_back(std::move(figure));
}

/// The gaps brought to equal set-ups, wherever something was measured on the set-ups.
void show_equal_setups(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  bool headed = false;
  for (std::size_t g = 0; g < story.equal_setups.size(); ++g) {
    const auto& equal = story.equal_setups[g];
    if (!equal) continue;
    if (!headed) out.blocks.push_back(Heading{"Had the set-ups been equal"});
    headed = true;
    const EqualSetupsWords said{words, c.gaps[g], *equal, c.margin};
    out.blocks.push_back(Paragraph{said.sentence()});
    if (said.verdict_changes())
      out.blocks.push_back(Paragraph{
          "The sentence at the top is of the set-ups as they were. With equal set-ups it would be another one.",
          Tone::caution});
    out.blocks.push_back(said.points());
  }
}

/// What gaps and speeds are made of, where it was asked.
void show_budgets(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const auto show = [&](const std::string& heading, const std::optional<ComparedBudget>& budget) {
    if (!budget) return;
    out.blocks.push_back(Heading{heading});
    for (Block& block : budget_blocks({budget->answer, budget->question, budget->stated}))
      out.blocks.push_back(std::move(block));
  };
  const Comparison& c = story.comparison;
  for (std::size_t g = 0; g < story.gap_budgets.size(); ++g) {
    const bool equal = g < story.equal_setups.size() && story.equal_setups[g] && story.equal_setups[g]->equalised;
    show("What the gap is made of: " + words.pair(c.gaps[g]) + (equal ? ", with equal set-ups" : ""),
         story.gap_budgets[g]);
  }
  for (std::size_t s = 0; s < story.speed_budgets.size(); ++s)
    show("What the speed is made of: " + words.setup(s), story.speed_budgets[s]);
}

void show_shots(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  ShotFigure figure{.rows = {}, .step = speed.step(), .decimals = speed.decimals() - 1, .unit = speed.unit()};
  const double step = c.display_step.value();
  for (std::size_t i = 0; i < c.setups.size(); ++i) {
    const SetupOutcome& s = c.setups[i];
    if (!s.sample) continue;
    std::optional<Interval> interval;
    if (!s.methods.empty() && s.methods.front().interval)
      interval = Interval{.lower = s.methods.front().interval->lower / step,
                          .upper = s.methods.front().interval->upper / step};
    figure.rows.push_back({.label = words.setup(i) + ": " + counted(s.sample->size(), "shot") + ", average " +
                                    words.speed(s).with_unit(s.description->mean),
                           .steps = {s.sample->steps().begin(), s.sample->steps().end()},
                           .mean = s.description->mean / step,
                           .interval = interval});
  }
  out.blocks.push_back(Heading{"The shots"});
  out.blocks.push_back(std::move(figure));
}

/// Where bows decide, every bow stands for itself: the averages that are compared are theirs.
void show_bows(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  BowFigure figure{.kinds = {}, .step = speed.step(), .decimals = speed.decimals() - 1, .unit = speed.unit()};
  for (std::size_t i = 0; i < c.setups.size(); ++i) {
    BowFigure::Kind kind{.label = words.setup(i), .bows = {}, .mean = 0, .interval = std::nullopt};
    std::vector<Label> labels;
    for (const Shot& shot : story.sheet.shots) {
      if (story.sheet.setups[shot.setup].name != c.setups[i].name) continue;
      const auto known = static_cast<std::size_t>(std::find(labels.begin(), labels.end(), shot.bow) - labels.begin());
      if (known == labels.size()) {
        labels.push_back(shot.bow);
        kind.bows.push_back({.label = document::shown_name(story.sheet.label(shot.bow)), .steps = {}, .mean = 0});
      }
      kind.bows[known].steps.push_back(shot.steps);
    }
    if (kind.bows.empty()) continue;
    for (auto& bow : kind.bows) {
      const auto total = std::accumulate(bow.steps.begin(), bow.steps.end(), std::int64_t{0});
      bow.mean = static_cast<double>(total) / static_cast<double>(bow.steps.size());
      kind.mean += bow.mean / static_cast<double>(kind.bows.size());
    }
    figure.kinds.push_back(std::move(kind));
  }
  out.blocks.push_back(Heading{"The bows"});
  out.blocks.push_back(std::move(figure));
}

/// The claims that a test may carry, each with the reason where it does not.
class ScopeWriter {
 public:
  ScopeWriter(const ComparisonStory& story, const ComparisonWords& words)
      : c_{story.comparison}, words_{words}, many_{story.comparison.gaps.size() > 1} {}

  Points points() {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < c_.setups.size(); ++i) names.push_back(words_.setup(i));
    const std::string these = listed(names) + " as they stood in this test";
    const bool any_range =
        std::any_of(c_.gaps.begin(), c_.gaps.end(), [](const GapOutcome& g) { return g.deciding().interval; });
    const std::string ranges = many_ ? "ranges for the gaps between " : "a range for the gap between ";
    if (!any_range)
      add("carried", "the readings themselves, of " + these + "; no range for a gap.");
    else if (by_bows())
      add("carried", ranges + listed(names) + " as kinds of bow, as far as the bows were picked at random from them.");
    else
      add("carried", ranges + these + ", with these arrows, this archer and chronograph.");
    any_day();
    if (!by_bows()) kinds();
    return std::move(points_);
  }

 private:
  bool by_bows() const { return bows_decide(c_); }
  void add(const std::string& lead, const std::string& text) { points_.points.push_back({lead, text}); }
  static std::string after_space(const std::string& sentence) { return sentence.empty() ? sentence : " " + sentence; }
  std::string of(const GapOutcome& gap) const { return many_ ? words_.pair(gap) + ": " : ""; }

  void any_day() {
    bool told = false;
    for (const GapOutcome& gap : c_.gaps)
      for (const MethodOutcome& m : gap.methods) {
        if (m.method != Method::session_gaps || !m.interval) continue;
        told = true;
        const auto sessions = m.replicates->from;
        const std::string range = formatted("{}one gap a session, {} sessions: {}", of(gap), sessions,
                                            words_.speed().range(*m.interval, c_.margin));
        if (*gap.any_day == Verdict::open)
          add("not carried", formatted("any other day: {}, so it stays open for other days.{}{}", range,
                                       after_space(needs_sentence(NeedCode::several_days, gap, words_)),
                                       sessions < 4 ? " So few know little of how days differ." : ""));
        else
          add("carried", formatted("any day like these: {}.", range));
      }
    if (told) return;
    const auto& needs = c_.gaps.front().needs;
    const auto need =
        std::find_if(needs.begin(), needs.end(), [](const Need& n) { return n.code == NeedCode::several_days; });
    add("not carried",
        formatted("any other day: that needs the test on {} days or more. From 2 the range is on average {} times "
                  "as wide as from 4.",
                  *need->sessions, fixed(*need->two_sessions_wider, 0)));
  }

  void kinds() {
    std::vector<std::string> single;
    for (std::size_t i = 0; i < c_.setups.size(); ++i)
      if (c_.setups[i].bows < 2) single.push_back(words_.setup(i));
    if (single.size() < c_.setups.size()) {
      add("not carried",
          "kinds of bow: all shots are taken together, each counting once, and the range knows shot scatter only. That "
          "needs a second bow of " +
              listed(single) + ".");
      return;
    }
    const bool stated = std::any_of(c_.gaps.begin(), c_.gaps.end(), [](const GapOutcome& g) { return g.stated_kinds; });
    add("not carried",
        std::string{"kinds of bow or bowstring: the gap belongs to the single specimens shot. With one of each, no "
                    "number of shots tells a gap between kinds from the ordinary spread between two specimens; that "
                    "needs several of each."} +
            (stated ? "" : " With an SD between specimens that you state, --bow-sd or plan --kinds says how many."));
    for (const GapOutcome& gap : c_.gaps) {
      if (gap.tipping_bow_sd)
        add("", formatted("{}Were the SD between specimens of one kind {} or more, the gap could be nothing but that.",
                          of(gap), words_.speed().with_unit(*gap.tipping_bow_sd)));
      if (gap.stated_kinds)
        add("stated",
            formatted("{}with the SD between specimens that was stated, not measured, the gap between the kinds lies "
                      "{}. {} of that variance is the stated figure.{}",
                      of(gap), words_.speed().range(gap.stated_kinds->interval, c_.margin),
                      percent_of_tests(gap.stated_kinds->added_share),
                      after_space(needs_sentence(NeedCode::several_bows, gap, words_))));
    }
  }

  const Comparison& c_;
  const ComparisonWords& words_;
  bool many_;
  Points points_;
};

void show_scope(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  out.blocks.push_back(Heading{"What these readings carry, and what they do not"});
  out.blocks.push_back(ScopeWriter{story, words}.points());
}

/// What finding a gap, or showing that there is none to speak of, takes of shots.
std::string takes(const Need& need, const SpeedWords& speed, bool first) {
  const std::string goal = need.gap ? "A true gap of " + speed.with_unit(*need.gap)
                                    : "To show that two which do not differ lie within ±" +
                                          speed.as_typed(*need.same_within) + " of each other";
  if (need.code == NeedCode::finer_display)
    return goal + " takes a smaller display step, for this one hides much of it, or many shots (plan says how many).";
  if (!need.shots)
    return goal + " takes more than 10\u00a0000 shots with each: less scatter or a finer display is the way.";
  return formatted("{} takes about {} shots with each{}", goal, *need.shots,
                   first ? ", if shots scatter as these did." : ".");
}

void show_next_test(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  if (!any_open(c)) return;
  const SpeedWords& speed = words.speed();
  out.blocks.push_back(Heading{"What would settle it"});
  Points points;
  const bool many = c.gaps.size() > 1;
  for (const GapOutcome& gap : c.gaps) {
    if (gap.verdict != Verdict::open) continue;
    const std::string lead = many ? words.pair(gap) + ". " : "";
    if (!gap.deciding().interval) {
      points.points.push_back({"", lead + "Two or more shots with each set-up; three or more are better."});
      continue;
    }
    std::string text = lead;
    if (gap.claim == Claim::kinds_of_bow) {
      text += needs_sentence(NeedCode::more_bows, gap, words);
      points.points.push_back({"", text});
      continue;
    }
    if (!gap.detectable && gap.decided_by != RoundingTerm::display_bound) text += "More shots with each set-up.";
    if (gap.detectable)
      text += "For the next test, not as evidence about this one: with shots like these a true gap of " +
              speed.with_unit(gap.detectable->gap) + " is found " + times(gap.detectable->power) + ".";
    bool told = false;
    for (const Need& need : gap.needs) {
      if (need.claim != Claim::setups_today || !need.asks_for_numbers()) continue;
      if (need.gap && !(*need.gap < gap.detectable->gap)) continue;
      text += " " + takes(need, speed, !told);
      told = true;
    }
    if (gap.decided_by == RoundingTerm::display_bound)
      text +=
          "Here the display is the limit: a chronograph that shows a smaller step narrows the range, more shots "
          "hardly do.";
    points.points.push_back({"", text});
  }
  out.blocks.push_back(std::move(points));
}

/// The two ends of a method's range as cells.
std::vector<std::string> ends_of_gap(const MethodOutcome& m, const SpeedWords& speed, std::optional<double> margin) {
  if (!m.interval) return {"none", "none"};
  return {speed.signed_limit(m.interval->lower, margin), speed.signed_limit(m.interval->upper, margin)};
}

/// What a range that does not decide says beside an open verdict.
std::string would_be(const ComparisonWords& words, const GapOutcome& gap, Verdict verdict) {
  if (verdict == Verdict::same) return "By the second range the two would be the same within the margin. ";
  return "By the second range " + words.to(gap) + " would be " + std::string{name(verdict)} + ". ";
}

/// The range with the history beside the one without it, on which the verdict rests.
void show_history(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  std::vector<const GapOutcome*> gaps;
  for (const GapOutcome& gap : c.gaps)
    if (with_history(gap) != nullptr && gap.deciding().interval) gaps.push_back(&gap);
  if (gaps.empty()) return;
  out.blocks.push_back(Heading{"What earlier tests add"});
  const MethodOutcome& first = *with_history(*gaps.front());
  const HistoryCount count = counted_history(*c.history);
  const std::string rests_on = formatted("{} of shots ({} on {})", counted(count.strings, "earlier string"),
                                         counted(count.shots, "shot"), counted(count.sheets, "sheet"));
  std::string text =
      first.history->fits
          ? formatted("How shots scatter is better known with {}.", rests_on)
          : formatted(
                "Nothing: these shots scatter more than {} allow, so the history was set aside. The range that "
                "stands beside is of these shots alone, taken to have one SD.",
                rests_on);
  if (c.gaps.size() == 1) {
    const GapOutcome& gap = *gaps.front();
    const MethodOutcome& with = first;
    IntervalFigure figure{.rows = {}, .margin = std::nullopt, .unit = speed.unit(), .decimals = speed.decimals()};
    if (c.margin) figure.margin = speed.converted(*c.margin);
    const auto row = [&](const std::string& label, const MethodOutcome& m) {
      const SpeedWords fine = speed.fine_enough_for(m.interval->half_width());
      figure.rows.push_back(
          {.label = formatted("{}: ±{} {}, {}", label, fine.bare(m.interval->half_width()), speed.unit(),
                              fine.range(*m.interval, c.margin)),
           .estimate = speed.converted(*gap.difference),
           .interval = {.lower = speed.converted(m.interval->lower), .upper = speed.converted(m.interval->upper)}});
    };
    row(first.history->fits ? "without them" : "as above", gap.deciding());
    row(first.history->fits ? "with them" : "these shots alone, one SD", with);
    out.blocks.push_back(Paragraph{text});
    out.blocks.push_back(std::move(figure));
    text.clear();
    if (gap.verdict == Verdict::open && verdict(with.interval, c.margin) != Verdict::open)
      text = would_be(words, gap, verdict(with.interval, c.margin));
  } else {
    out.blocks.push_back(Paragraph{text});
    text.clear();
    Table table{.columns = {{"range in " + speed.unit()},
                            {"without", true},
                            {"to", true},
                            {first.history->fits ? "with" : "one SD", true},
                            {"to", true}},
                .rows = {}};
    for (const GapOutcome* gap : gaps) {
      const auto without = ends_of_gap(gap->deciding(), words.speed(*gap), c.margin);
      const auto with = ends_of_gap(*with_history(*gap), words.speed(*gap), c.margin);
      table.rows.push_back({words.pair(*gap), without[0], without[1], with[0], with[1]});
    }
    out.blocks.push_back(std::move(table));
  }
  out.blocks.push_back(Paragraph{
      text + (c.gaps.size() == 1 ? "The verdict rests on the first range, whatever the second says."
                                 : "The verdicts rest on the ranges without them, whatever the others say.")});
}

void show_notes(const ComparisonStory& story, Document& out) {
  const auto notes = comparison_notes(story);
  if (notes.empty()) return;
  out.blocks.push_back(Heading{"To bear in mind"});
  Points points;
  for (const Note& note : notes) points.points.push_back({"", note.text});
  out.blocks.push_back(std::move(points));
}

std::vector<std::string> ends_of_average(const MethodOutcome& m, const SpeedWords& speed) {
  if (!m.interval) return {"none", "none"};
  return {speed.limit(m.interval->lower, std::nullopt), speed.limit(m.interval->upper, std::nullopt)};
}

void show_setups(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  Table table{.columns = {{speed.unit(), false},
                          {"shots", true},
                          {"average", true},
                          {"from", true},
                          {"to", true},
                          {"SD", true},
                          {"low", true},
                          {"high", true},
                          {"spread", true}},
              .rows = {}};
  const auto reading = [&](double x) { return speed.bare(x, speed.decimals() - 1); };
  for (std::size_t i = 0; i < c.setups.size(); ++i) {
    const SetupOutcome& s = c.setups[i];
    if (!s.description) {
      table.rows.push_back({words.setup(i), "0", "", "", "", "", "", "", ""});
      continue;
    }
    const Description& d = *s.description;
    const std::string sd = !d.sd ? "none" : d.all_equal ? "0 shown" : speed.bare(*d.sd, speed.decimals() + 1);
    const bool ranged = !s.methods.empty() && s.methods.front().interval;
    const SpeedWords fine = words.speed(s);
    table.rows.push_back({words.setup(i), std::to_string(d.shots), fine.bare(d.mean),
                          ranged ? fine.bare(s.methods.front().interval->lower) : "",
                          ranged ? fine.bare(s.methods.front().interval->upper) : "", sd, reading(d.low),
                          reading(d.high), reading(d.spread)});
  }
  out.blocks.push_back(Heading{"The numbers"});
  out.blocks.push_back(std::move(table));
  for (std::size_t i = 0; i < c.setups.size(); ++i) {
    const auto& methods = c.setups[i].methods;
    if (methods.size() < 2) continue;
    Table beside{.columns = {{"average of " + words.setup(i)}, {"from", true}, {"to", true}, {"level", true}},
                 .rows = {}};
    for (const MethodOutcome& m : methods) {
      const auto ends = ends_of_average(m, words.speed(c.setups[i]));
      beside.rows.push_back({std::string{name(m.method)}, ends[0], ends[1], percent(m.level)});
    }
    out.blocks.push_back(std::move(beside));
  }
}

std::string optional_p(std::optional<double> p) { return p ? p_text(*p) : ""; }

void show_methods(const ComparisonStory& story, const ComparisonWords& words, Document& out) {
  const Comparison& c = story.comparison;
  const SpeedWords& speed = words.speed();
  const bool family = c.family > 2;
  const auto columns = [&](const std::string& first) {
    Table t{.columns = {{first}, {"gap", true}, {"from", true}, {"to", true}, {"level", true}, {"p", true}},
            .rows = {}};
    if (family) t.columns.push_back({"Holm's p", true});
    if (c.margin) t.columns.push_back({"p of same", true});
    return t;
  };
  const auto cells = [&](const std::string& first, const GapOutcome& gap, const MethodOutcome& m) {
    const SpeedWords fine = words.speed(gap);
    const auto ends = ends_of_gap(m, fine, c.margin);
    // With every shot of a set-up left out there is no gap at all.
    const std::optional<double> difference = m.difference ? m.difference : gap.difference;
    std::vector<std::string> row{first,
                                 difference ? fine.signed_bare(*difference) : "none",
                                 ends[0],
                                 ends[1],
                                 percent(m.level),
                                 optional_p(m.p_two_sided)};
    if (family) row.push_back(optional_p(m.p_holm));
    if (c.margin) row.push_back(optional_p(m.p_equivalence));
    return row;
  };
  const bool one_method =
      std::all_of(c.gaps.begin(), c.gaps.end(), [](const GapOutcome& g) { return g.methods.size() == 1; });
  if (one_method) {
    Table table = columns("gap in " + speed.unit());
    for (const GapOutcome& gap : c.gaps)
      if (gap.deciding().interval) table.rows.push_back(cells(words.pair(gap), gap, gap.deciding()));
    if (!table.rows.empty()) out.blocks.push_back(std::move(table));
    return;
  }
  for (const GapOutcome& gap : c.gaps) {
    Table table = columns(words.pair(gap));
    for (const MethodOutcome& m : gap.methods) table.rows.push_back(cells(std::string{name(m.method)}, gap, m));
    out.blocks.push_back(std::move(table));
  }
}

/// The methods that an answer shows, the one that decides first, and what else was worked out beside them.
std::vector<MethodWords> methods_used(const ComparisonStory& story) {
  const Comparison& c = story.comparison;
  const auto shown = [&](Method method) {
    const auto is_it = [&](const MethodOutcome& m) { return m.method == method && m.interval; };
    return std::any_of(c.gaps.begin(), c.gaps.end(),
                       [&](const GapOutcome& g) { return std::any_of(g.methods.begin(), g.methods.end(), is_it); }) ||
           std::any_of(c.setups.begin(), c.setups.end(),
                       [&](const SetupOutcome& s) { return std::any_of(s.methods.begin(), s.methods.end(), is_it); });
  };
  const auto any_gap = [&](auto has) { return std::any_of(c.gaps.begin(), c.gaps.end(), has); };
  const bool family = c.family > 2;
  std::vector<MethodWords> used;
  std::vector<Method> methods{c.gaps.front().deciding().method};
  for (const MethodName& m : method_names)
    if (m.method != methods.front()) methods.push_back(m.method);
  for (const Method method : methods)
    if (shown(method)) used.push_back(words_of(method, family));
  if (family && any_gap([](const GapOutcome& g) { return g.deciding().p_holm.has_value(); }))
    used.push_back({"Holm's p",
                    "The p-values of all pairs, made larger so that one error rate holds for them together.",
                    {Source::holm1979}});
  if (c.margin && any_gap([](const GapOutcome& g) { return g.deciding().interval.has_value(); }))
    used.push_back({"the same within the margin",
                    "Said only when the whole range for the gap lies inside the margin, which was set by what matters "
                    "and not by what the readings show.",
                    {Source::schuirmann1987}});
  if (c.drift)
    used.push_back({"drift",
                    "A straight line through the readings over the firing order, the same for every set-up.",
                    {Source::fisher1925, Source::gum}});
  if (any_gap([](const GapOutcome& g) { return g.tipping_bow_sd || g.stated_kinds; }))
    used.push_back(
        {"one bow of each kind",
         "How much bows of one kind would have to differ for the gap to be nothing but that; with an SD that "
         "is stated, the range widened by it.",
         {Source::gum, Source::satterthwaite1946}});
  if (std::any_of(story.equal_setups.begin(), story.equal_setups.end(),
                  [](const auto& equal) { return equal && equal->equalised; }))
    used.push_back({"equal set-ups",
                    "What differed between the set-ups, times how much speed it brings, is taken off the gap; how well "
                    "both are known widens the range.",
                    {Source::gum, Source::satterthwaite1946}});
  bool any_budget = false, any_trials = false;
  for (const auto* budgets : {&story.gap_budgets, &story.speed_budgets})
    for (const auto& budget : *budgets) {
      any_budget |= budget.has_value();
      any_trials |= budget && budget->answer.monte_carlo;
    }
  if (any_budget)
    for (MethodWords& words : budget_methods(any_trials)) used.push_back(std::move(words));
  return used;
}

enum class Medium { terminal, page };

Document told(const ComparisonStory& story, Medium medium) {
  const ComparisonWords words{story};
  Document out;
  say_aloud(story, words, out);
  show_course(story, out);
  show_gaps(story, words, out);
  show_equal_setups(story, words, out);
  if (bows_decide(story.comparison))
    show_bows(story, words, out);
  else
    show_shots(story, words, out);
  show_scope(story, words, out);
  show_next_test(story, words, out);
  // In a terminal they stand where a test is planned; a page may be all that somebody sees before going to shoot.
  if (medium == Medium::page && any_open(story.comparison)) {
    out.blocks.push_back(Heading{"Before you shoot"});
    out.blocks.push_back(cautions());
  }
  show_history(story, words, out);
  show_notes(story, out);
  show_setups(story, words, out);
  show_methods(story, words, out);
  show_budgets(story, words, out);
  if (medium == Medium::page) {
    show_sources(methods_used(story), out);
    show_sheet(story, out);
  }
  return out;
}

}  // namespace

Document comparison_document(const ComparisonStory& story) { return told(story, Medium::terminal); }
Document comparison_page(const ComparisonStory& story) { return told(story, Medium::page); }

}  // namespace shotassay::narrative
