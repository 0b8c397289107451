#include "audit_words.hpp"

#include <algorithm>
#include <cmath>
#include <shotassay/studies/usual_gaps.hpp>

#include "../document/formatted.hpp"

namespace shotassay::narrative {

namespace {

using document::printable;

std::string as_printed(const Decimal& d) {
  const std::string text = d.text();
  return text.starts_with('-') ? "−" + text.substr(1) : text;
}

std::string listed_values(const std::vector<Decimal>& values, std::size_t most = 4) {
  std::vector<std::string> texts;
  for (const Decimal& d : values) {
    if (texts.size() == most) break;
    texts.push_back(as_printed(d));
  }
  std::string text;
  for (std::size_t i = 0; i < texts.size(); ++i)
    text += (i == 0 ? "" : i + 1 == texts.size() ? " or " : ", ") + texts[i];
  return values.size() > most ? text + " and others" : text;
}

std::string cause_text(InnocentCause cause, const std::string& fits) {
  switch (cause) {
    case InnocentCause::sd_with_other_divisor:
      return "The SD was divided by the number of shots instead of one less, or the other way round: it should then "
             "read " +
             fits + ".";
    case InnocentCause::average_cut_off:
      return "The average was cut off instead of rounded: it should then read " + fits + ".";
    case InnocentCause::sd_cut_off:
      return "The SD was cut off instead of rounded: it should then read " + fits + ".";
    case InnocentCause::one_shot_fewer:
      return "One shot was left out of the figures: they fit " + fits + " shots.";
    case InnocentCause::one_shot_more:
      return "One shot more is in the figures: they fit " + fits + " shots.";
    case InnocentCause::finer_display:
      return "The display shows steps of " + fits + ".";
    case InnocentCause::average_nearby:
      return "Nearest averages that are possible: " + fits + ".";
    case InnocentCause::sd_nearby:
      return "Nearest SDs that are possible: " + fits + ".";
    case InnocentCause::average_misprinted:
      return "One digit of the average is misprinted: " + fits + " would do.";
    case InnocentCause::sd_misprinted:
      return "One digit of the SD is misprinted: " + fits + " would do.";
    case InnocentCause::low_misprinted:
      return "One digit of the lowest reading is misprinted: " + fits + " would do.";
    case InnocentCause::high_misprinted:
      return "One digit of the highest reading is misprinted: " + fits + " would do.";
    case InnocentCause::spread_misprinted:
      break;
  }
  return "One digit of the spread is misprinted: " + fits + " would do.";
}

std::string signed_digits(double x) { return formatted("{}{:.3g}", x < 0.0 ? "−" : "+", std::abs(x)); }

bool shots_differ(const GapAudit& gap) {
  return std::any_of(gap.by_shots.begin(), gap.by_shots.end(),
                     [](const GapAtShots& at) { return at.from_shots != at.to_shots; });
}

std::string shooter_words(const Shooter& shooter) {
  return shooter.name == "machine" ? "shooting machine" : shooter.name == "release" ? "release aid" : "finger release";
}

std::string constant_text(const TradeConstant& c) {
  return c.denominator == 1 ? formatted("{}", c.numerator) : formatted("{:.2f}", c.value());
}

}  // namespace

std::string count_text(Tally count) {
  if (count.at_least()) return "more than 10^38";
  if (count.value() >= 1'000'000'000) return formatted("about {:.2g}", count.approximately());
  std::string digits = count.text();
  for (std::size_t at = digits.size(); at > 3; at -= 3) digits.insert(at - 3, "\u00a0");
  return digits;
}

std::string AuditWords::step() const {
  const double step = claim_.setups.front().reported.figures.display_step.value();
  return step == 1.0 ? "whole " + speed_.unit() : "steps of " + speed_.as_typed(step);
}

std::string AuditWords::readings(std::size_t i) const {
  const auto& s = claim_.setups[i].reported;
  if (s.most_shots) return formatted("{} to {} readings", s.figures.shots, *s.most_shots);
  return counted(static_cast<std::size_t>(s.figures.shots), "reading");
}

std::string AuditWords::claim(const GapAudit& gap) const {
  return verdict(gap, audit_.claimed.value_or(Verdict::open));
}

std::string AuditWords::verdict(const GapAudit& gap, Verdict verdict) const {
  switch (verdict) {
    case Verdict::faster:
      return setup(gap.to) + " was faster than " + setup(gap.from);
    case Verdict::slower:
      return setup(gap.to) + " was slower than " + setup(gap.from);
    case Verdict::same:
      return setup(gap.to) + " and " + setup(gap.from) + " were the same within ±" + speed_.as_typed(*audit_.margin);
    case Verdict::open:
      break;
  }
  return "which is faster stays open";
}

std::string AuditWords::interval(const Interval& i, int more_decimals) const {
  const int decimals = speed_.decimals() + more_decimals;
  const std::string low = speed_.bare(i.lower, decimals), high = speed_.bare(i.upper, decimals);
  return low == high ? low : low + " to " + high;
}

std::string AuditWords::possible_text(std::size_t i) const {
  const SetupAudit& s = audit_.setups[i];
  if (!s.possible)
    return formatted("no: no {} of {} have these figures. They cannot be reproduced from what is given.", readings(i),
                     step());
  std::string text = "yes.";
  if (s.sets)
    text += " " + count_text(*s.sets) +
            (s.sets->value() == 1 ? " set of readings has them" : " sets of readings have them");
  else
    text += " Readings without end have them";
  if (s.mean) text += ": average " + interval(*s.mean, 1);
  if (s.sd)
    text += ", SD " + interval(*s.sd, 1);
  else if (s.mean)
    text += "; nothing printed bounds the scatter";
  text += ".";
  const auto tie = std::all_of(s.by_shots.begin(), s.by_shots.end(),
                               [](const ReadingSets& r) { return !r.possible || r.only_by_a_tie; });
  if (tie) text += " Only by an exact half that was rounded one way or the other.";
  if (const auto& f = claim_.setups[i].reported.figures; f.average && !f.sd) {
    const double unit = Decimal{1, f.average->decimals()}.value();
    if (static_cast<double>(f.shots) * unit >= f.display_step.value() && !f.low && !f.high && !f.spread &&
        f.readings.empty())
      text +=
          formatted(" An average with so few decimals is always possible with {}: that it is possible says nothing.",
                    readings(i));
  }
  return text;
}

std::vector<std::string> AuditWords::causes(std::size_t i) const {
  std::vector<std::string> texts;
  const SetupAudit& s = audit_.setups[i];
  if (s.possible) return texts;
  for (const InnocentCauses& causes : s.causes)
    for (const FittingChange& change : causes.fitting) {
      std::string text = cause_text(change.cause, listed_values(change.fits));
      if (std::find(texts.begin(), texts.end(), text) == texts.end()) texts.push_back(std::move(text));
    }
  if (texts.empty()) texts.emplace_back("No single small slip that was tried explains it.");
  return texts;
}

std::string AuditWords::counts(const GapAudit& gap) const {
  const VerdictCounts& v = *gap.verdicts;
  std::vector<std::string> parts;
  const auto add = [&](Verdict verdict) {
    const auto& count = v.of(verdict);
    const std::string ends =
        verdict == Verdict::open ? "leave it open" : "carry \"" + std::string{name(verdict)} + "\"";
    if (!count)
      parts.push_back("pairs without end " + ends);
    else if (count->value() > 0)
      parts.push_back(count_text(*count) + " " +
                      (count->value() > 1         ? ends
                       : verdict == Verdict::open ? "leaves it open"
                                                  : "carries \"" + std::string{name(verdict)} + "\""));
  };
  for (const Verdict verdict : {Verdict::faster, Verdict::slower, Verdict::same, Verdict::open}) add(verdict);
  return "pairs of reading sets: " + listed(parts) + ".";
}

std::string AuditWords::shots_of(const GapAudit& gap, const GapAtShots& at) const {
  if (shots_differ(gap)) return formatted("{} and {}", at.from_shots, at.to_shots);
  return std::to_string(at.from_shots);
}

std::vector<GapAtShots> AuditWords::told(const GapAudit& gap) const {
  constexpr std::size_t most = 12;
  std::vector<GapAtShots> all, alike;
  for (const GapAtShots& at : gap.by_shots) {
    if (!at.tipping) continue;
    all.push_back(at);
    if (at.from_shots == at.to_shots) alike.push_back(at);
  }
  if (all.size() <= most) return all;
  if (alike.empty()) alike = std::move(all);
  if (alike.size() > most) alike.erase(alike.begin() + most / 2, alike.end() - static_cast<std::ptrdiff_t>(most / 2));
  return alike;
}

std::string AuditWords::plainly(const std::string& reason) const {
  std::string text = printable(reason);
  const auto colon = text.find(": ");
  if (colon != std::string::npos && text.find_first_not_of("abcdefghijklmnopqrstuvwxyz_") == colon)
    text.erase(0, colon + 2);
  while (!text.empty() && text.back() == '.') text.pop_back();
  return text;
}

std::string AuditWords::tipping(const TippingShotSd& t) const {
  const auto text = [&](const std::optional<double>& x) { return x ? speed_.bare(*x, speed_.decimals() + 1) : "0"; };
  if (!t.at_printed && !t.highest) return "none: no gap";
  if (t.at_printed && t.lowest == t.highest) return text(t.at_printed);
  return formatted("{} ({} to {})", text(t.at_printed), text(t.lowest), text(t.highest));
}

std::string AuditWords::shots_title(const GapAudit& gap) const {
  return shots_differ(gap) ? "shots, " + setup(gap.from) + " and " + setup(gap.to) : "shots with each";
}

std::string AuditWords::shots_needed(const ClaimNeed& needed) const {
  if (needed.shots) return std::to_string(*needed.shots);
  return needed.finer_display ? "a finer display" : "more than 10\u00a0000";
}

std::string AuditWords::shot_sd(const ClaimNeed& needed) const {
  const auto text = [&](double sd) { return speed_.bare(sd, speed_.decimals() + 1); };
  return needed.sd_from == needed.sd_to ? text(needed.sd_from) : text(needed.sd_from) + " and " + text(needed.sd_to);
}

std::string AuditWords::shot_sd_origin(const ClaimNeed& needed) const {
  if (needed.origin == ShotSdOrigin::least_of_sets) return "the least the figures and the display allow";
  if (needed.origin == ShotSdOrigin::greatest_of_sets) return "the largest the figures allow";
  return "usual for a " + shooter_words(*needed.shooter) + ", assumed";
}

std::string AuditWords::two_bows() const {
  return "Two single bows of one kind differ too, by a few fps as people of the trade say (common practice, no "
         "source): "
         "a gap between two bows is not yet one between two kinds.";
}

std::string AuditWords::best_of(std::size_t i, const BestOfUsual& b) const {
  return formatted("with an SD of {} ({}) the best of {} adds {} on average: the true average then lies from {} to {}.",
                   speed_.with_unit(b.sd), shooter_words(b.shooter), claim_.setups[i].reported.figures.shots,
                   speed_.with_unit(b.added), speed_.bare(b.behind.interval.lower),
                   speed_.with_unit(b.behind.interval.upper));
}

std::string AuditWords::convention_text(std::size_t i) const {
  const RatingConvention& c = convention(*claim_.setups[i].convention);
  const auto fixing = [](const RatedCondition& r, const std::string& what, const std::string& unit) {
    const std::string value = formatted("{:.4g} {}", r.value, unit);
    switch (r.fixing) {
      case Fixing::fixed:
        return what + " " + value;
      case Fixing::limited:
        return what + " limited, usually " + value;
      case Fixing::customary:
        return what + " not fixed, usually " + value;
      case Fixing::left_open:
        return what + " left open";
      case Fixing::not_known:
        break;
    }
    return what + " not known to us";
  };
  const std::string shots = c.shots == Fixing::fixed && c.least_shots
                                ? formatted("the average of {} shots or more", *c.least_shots)
                                : "number of shots and average not fixed";
  const std::string status = c.status == RatingStatus::test_standard ? "a test standard"
                             : c.status == RatingStatus::former_standard
                                 ? "an older standard"
                                 : "a competition's equipment rule, no test standard";
  return formatted("quoted as {}: {}; {}, {}, {}; {} ({}).", std::string{c.words}, status,
                   fixing(c.draw_weight, "draw weight", "lbf"), fixing(c.draw_length, "draw length", "in"),
                   fixing(c.arrow_mass, "arrow", "gr"), shots, std::string{words(c.grounds)});
}

std::vector<std::string> AuditWords::at_common(std::size_t i) const {
  const SpeedAtConditions& at = *found_.setups[i].at_common;
  const std::string where = claim_.at ? "under the conditions of " + std::string{convention(*claim_.at).words}
                                      : "under the conditions of " + setup(0);
  std::vector<std::string> texts;
  for (const SpeedConversion& c : at.conversions) {
    const std::string what{name(c.quantity)};
    const std::string unit{shotassay::unit(c.quantity)};
    if (c.state == ConversionState::applied && *c.difference != 0.0) {
      const char* origins[] = {"worked out", "common practice", "entered"};
      texts.push_back(formatted("{} {} {}: {} {} ({}).", what, signed_digits(*c.difference), unit,
                                speed_.signed_bare(*c.change), speed_.unit(),
                                origins[static_cast<int>(c.sensitivity->origin)]));
    }
    if (c.state == ConversionState::not_told) texts.push_back(what + " not told: cannot be brought there.");
    if (c.state == ConversionState::too_far)
      texts.push_back(formatted("{} {} {} away: too far for any figure to be sound (limit {:.3g} {}).", what,
                                signed_digits(*c.difference), unit, largest_difference(c.quantity), unit));
  }
  if (at.speed && !texts.empty())
    texts.push_back(formatted("{} the speed would be {}, standard uncertainty of the conversion {}.", where,
                              speed_.with_unit(*at.speed), speed_.with_unit(at.standard_uncertainty.value_or(0.0))));
  return texts;
}

std::string AuditWords::figure(const std::string& what, const std::string& unit, const FigureCheck& check) const {
  const std::string exact = formatted("{:.4g} {} by mass and speed", check.exact, unit);
  switch (check.verdict) {
    case FigureVerdict::reproduced:
      return formatted("{} agrees: {}.", what, exact);
    case FigureVerdict::same_other_rounding:
    case FigureVerdict::other_constant:
    case FigureVerdict::cut_off:
      break;
    case FigureVerdict::not_reproduced:
      return formatted("{} cannot be reproduced from the figures given: {}, so the printed one is {:+.2f} % off.", what,
                       exact, 100.0 * check.relative_deviation);
  }
  std::vector<std::string> constants;
  for (const ConstantFit& fit : check.fits)
    if (fit.within_rounding) constants.push_back(constant_text(fit.constant));
  std::string text = formatted("{} {}: {}, {:+.2f} % apart", what,
                               check.verdict == FigureVerdict::cut_off ? "agrees where its digits were cut off"
                               : check.verdict == FigureVerdict::same_other_rounding ? "is the same but for rounding"
                                                                                     : "comes from another constant",
                               exact, 100.0 * check.relative_deviation);
  if (!constants.empty()) text += formatted("; the trade's divisor {} gives it", listed(constants));
  return text + ".";
}

std::string AuditWords::item(ReportedItem item) const {
  constexpr const char* words[] = {"convention",
                                   "draw weight, and whether measured or as marked",
                                   "draw length, and how defined",
                                   "arrow mass",
                                   "how the bowstring was dressed",
                                   "distance to the chronograph",
                                   "number of shots",
                                   "average or best",
                                   "scatter",
                                   "machine or shooter",
                                   "order of the shots",
                                   "whether both shot the same arrow",
                                   "how many bows of each kind",
                                   "display step",
                                   "the chronograph's accuracy",
                                   "date, place, light and temperature"};
  const auto& own = claim_.stated.words(item);
  std::string text = words[static_cast<std::size_t>(item)];
  if (own && !own->empty()) text += " (" + document::shown_name(*own) + ")";
  return text;
}

document::Table AuditWords::printed() const {
  document::Table table{.columns = {{speed_.unit()}, {"shots", true}}, .rows = {}};
  for (const auto& s : claim_.setups) {
    const auto& f = s.reported.figures;
    table.rows.push_back(
        {document::shown_name(s.reported.name),
         s.reported.most_shots ? formatted("{} to {}", f.shots, *s.reported.most_shots) : std::to_string(f.shots)});
  }
  const auto column = [&](const std::string& title, const auto& value) {
    std::vector<std::string> cells;
    bool any = false;
    for (const auto& s : claim_.setups) {
      const std::optional<Decimal>& d = value(s);
      cells.push_back(d ? as_printed(*d) : "");
      any = any || d;
    }
    if (!any) return;
    table.columns.push_back({title, true});
    for (std::size_t i = 0; i < cells.size(); ++i) table.rows[i].push_back(cells[i]);
  };
  using S = PublishedSetup;
  column(
      "average", [](const S& s) -> auto& { return s.reported.figures.average; });
  column(
      "best", [](const S& s) -> auto& { return s.best; });
  column(
      "SD", [](const S& s) -> auto& { return s.reported.figures.sd; });
  column(
      "low", [](const S& s) -> auto& { return s.reported.figures.low; });
  column(
      "high", [](const S& s) -> auto& { return s.reported.figures.high; });
  column(
      "spread", [](const S& s) -> auto& { return s.reported.figures.spread; });
  column(
      "lbf", [](const S& s) -> auto& { return s.draw_weight; });
  column(
      "gr", [](const S& s) -> auto& { return s.arrow_mass; });
  column(
      "in", [](const S& s) -> auto& { return s.draw_length; });
  column(
      "ft·lbf", [](const S& s) -> auto& { return s.energy; });
  column(
      "slug·ft/s", [](const S& s) -> auto& { return s.momentum; });
  return table;
}

std::vector<Note> AuditWords::notes() const {
  std::vector<Note> notes;
  notes.push_back(
      {"display_assumed", formatted("The display is taken to show {}; readings lie nowhere between.", step())});
  const bool counted_any =
      std::any_of(audit_.gaps.begin(), audit_.gaps.end(), [](const auto& g) { return g.verdicts; });
  if (counted_any)
    notes.push_back(
        {"count_is_no_probability",
         "A count of reading sets is not a probability: some sets are far more likely to be shot than others."});
  for (const GapAudit& gap : audit_.gaps)
    if (!gap.verdicts && !gap.why_no_verdicts.empty() && audit_.setups[gap.from].possible &&
        audit_.setups[gap.to].possible)
      notes.push_back(
          {"not_counted", pair(gap) + ": " + plainly(gap.why_no_verdicts) + ". --max-operations allows more."});
  for (std::size_t i = 0; i < audit_.setups.size(); ++i) {
    const bool left = std::any_of(audit_.setups[i].causes.begin(), audit_.setups[i].causes.end(),
                                  [](const InnocentCauses& c) { return !c.not_examined.empty(); });
    if (left)
      notes.push_back(
          {"causes_left_out", setup(i) + ": not every small slip could be tried. --max-operations allows more."});
    const auto& s = claim_.setups[i];
    if (s.reported.figures.average && s.reported.figures.sd == std::nullopt)
      notes.push_back({"averages_say_little",
                       "Averages of whole readings can only be found impossible while there are fewer shots than the "
                       "average's decimals tell apart: 10 with one decimal, 100 with two."});
    if (s.reported.accuracy)
      notes.push_back({"accuracy", formatted("{}: the chronograph's accuracy of {:.3g} % is in the ranges; with two "
                                             "chronographs the errors do not cancel.",
                                             setup(i), 100.0 * *s.reported.accuracy)});
  }
  if (audit_.family > 2) notes.push_back({"family", "The error rate is one for all pairs of set-ups together."});
  notes.push_back(
      {"both_ends",
       "A printed figure stands for everything within half a unit of its last decimal, both ends included."});
  std::vector<Note> once;
  for (Note& note : notes)
    if (std::none_of(once.begin(), once.end(), [&](const Note& n) { return n.text == note.text; }))
      once.push_back(std::move(note));
  return once;
}

}  // namespace shotassay::narrative
