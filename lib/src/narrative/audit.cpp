#include <algorithm>
#include <cmath>
#include <shotassay/document/printable.hpp>
#include <shotassay/narrative/audit.hpp>
#include <shotassay/studies/usual_gaps.hpp>

#include "../document/formatted.hpp"
#include "audit_words.hpp"
#include "method_words.hpp"

namespace shotassay::narrative {

namespace {

using namespace document;

/// Items that hold commas of their own.
std::string semicolons(const std::vector<std::string>& items) {
  std::string text;
  for (const std::string& item : items) text += (text.empty() ? "" : "; ") + item;
  return text;
}

/// Does every pair of reading sets lead to one and the same range?
bool one_range(const GapAudit& gap) {
  return gap.tightest && gap.widest && gap.tightest->interval.lower == gap.widest->interval.lower &&
         gap.tightest->interval.upper == gap.widest->interval.upper;
}

class AuditWriter {
 public:
  explicit AuditWriter(const AuditStory& story)
      : words_{story}, found_{story.found}, audit_{story.found.audit}, claim_{story.claim} {}

  Document page() {
    Document page = document();
    page.blocks.push_back(Heading{"The figures as published"});
    page.blocks.push_back(words_.printed());
    const bool best =
        std::any_of(found_.setups.begin(), found_.setups.end(), [](const auto& s) { return !s.best.empty(); });
    show_sources(audit_methods(best), page);
    return page;
  }

  Document document() {
    headline();
    possible();
    for (const GapAudit& gap : audit_.gaps) implied(gap);
    for (const GapAudit& gap : audit_.gaps) needed(gap);
    best();
    same_conditions();
    energies();
    checklist_points();
    to_bear_in_mind();
    return std::move(out_);
  }

 private:
  void headline();
  void possible();
  void implied(const GapAudit& gap);
  void draw(const GapAudit& gap);
  void needed(const GapAudit& gap);
  void best();
  void same_conditions();
  void energies();
  void checklist_points();
  void to_bear_in_mind();
  std::string gap_headline(const GapAudit& gap) const;

  AuditWords words_;
  const PublishedAudit& found_;
  const Audit& audit_;
  const PublishedClaim& claim_;
  Document out_;
};

void AuditWriter::headline() {
  bool impossible = false;
  for (std::size_t i = 0; i < audit_.setups.size(); ++i) {
    if (audit_.setups[i].possible) continue;
    impossible = true;
    out_.blocks.push_back(Headline{formatted("The figures of {} cannot be reproduced: no {} of {} have them.",
                                             words_.setup(i), words_.readings(i), words_.step()),
                                   Tone::caution});
  }
  if (impossible) return;
  for (const GapAudit& gap : audit_.gaps) out_.blocks.push_back(Headline{gap_headline(gap), Tone::plain});
  if (audit_.gaps.empty())
    out_.blocks.push_back(Headline{"The figures can be true: there are readings that have them.", Tone::plain});
}

std::string AuditWriter::gap_headline(const GapAudit& gap) const {
  const std::string from = words_.setup(gap.from), to = words_.setup(gap.to);
  if (gap.support) {
    const std::string claim = words_.claim(gap);
    switch (*gap.support) {
      case ClaimSupport::every_pair:
        return "Whatever readings stand behind these figures, they carry the claim that " + claim + ".";
      case ClaimSupport::no_pair:
        return "No readings with these figures carry the claim that " + claim + ".";
      case ClaimSupport::some_pairs:
        return "Whether " + claim + " depends on readings that were not published.";
    }
  }
  if (gap.verdicts) {
    const auto none = [](const std::optional<Tally>& t) { return t && t->value() == 0; };
    const VerdictCounts& v = *gap.verdicts;
    if (none(v.faster) && none(v.slower) && none(v.same))
      return "No readings with these figures settle whether " + to + " or " + from + " is faster.";
    if (none(v.open) && none(v.slower) && none(v.same)) return "These figures carry that " + to + " was faster.";
    if (none(v.open) && none(v.faster) && none(v.same)) return "These figures carry that " + to + " was slower.";
  }
  if (gap.printed_gap && !gap.widest && gap.by_shots.size() == 1 && gap.by_shots.front().tipping &&
      gap.by_shots.front().tipping->highest &&
      !found_.needs[static_cast<std::size_t>(&gap - audit_.gaps.data())].chronographs)
    return formatted(
        "On paper {} is {} {} than {}. With {} shots that is more than luck only where shots scatter little: where "
        "they "
        "scatter alike, with an SD below {}. How they did was not published.",
        to, words_.speed().with_unit(std::abs(*gap.printed_gap)), *gap.printed_gap > 0 ? "faster" : "slower", from,
        words_.shots_of(gap, gap.by_shots.front()), words_.speed().with_unit(*gap.by_shots.front().tipping->highest));
  return "These figures alone do not settle whether " + to + " or " + from +
         " is faster: it depends on readings that were not published.";
}

void AuditWriter::possible() {
  out_.blocks.push_back(Heading{"Can the figures be true?"});
  Points points;
  for (std::size_t i = 0; i < audit_.setups.size(); ++i)
    points.points.push_back({words_.setup(i), words_.possible_text(i)});
  out_.blocks.push_back(std::move(points));
  for (std::size_t i = 0; i < audit_.setups.size(); ++i) {
    if (audit_.setups[i].possible) continue;
    out_.blocks.push_back(Paragraph{"Any one of these would make the figures of " + words_.setup(i) +
                                    " possible; none is evidence of what happened:"});
    Points causes;
    for (const std::string& cause : words_.causes(i)) causes.points.push_back({"", cause});
    out_.blocks.push_back(std::move(causes));
  }
}

void AuditWriter::implied(const GapAudit& gap) {
  if (!gap.difference) return;
  out_.blocks.push_back(Heading{"What the figures imply" + (audit_.gaps.size() > 1 ? ": " + words_.pair(gap) : "")});
  draw(gap);
  Points points;
  const SpeedWords& speed = words_.speed();
  const auto plainly = [&](const Interval& i) { return i.lower == i.upper; };
  points.points.push_back(
      {"gap", plainly(*gap.difference)
                  ? formatted("{} {}.", speed.signed_bare(gap.difference->lower), speed.unit())
                  : formatted("anything from {} to {} {}.", speed.signed_bare(gap.difference->lower),
                              speed.signed_bare(gap.difference->upper), speed.unit())});
  if (gap.verdicts)
    points.points.push_back({"verdicts", words_.counts(gap)});
  else
    points.points.push_back({"verdicts", "not counted: " + words_.plainly(gap.why_no_verdicts) + "."});
  const auto end = [&](const char* lead, const std::optional<AuditedPair>& pair) {
    if (!pair) return;
    points.points.push_back(
        {lead, formatted("{} ({}).", speed.range(pair->interval, audit_.margin), words_.verdict(gap, pair->verdict))});
  };
  if (one_range(gap)) {
    end("range", gap.tightest);
  } else {
    end("tightest", gap.tightest);
    end("widest", gap.widest);
  }
  if (!gap.widest && gap.difference)
    points.points.push_back({"widest", "without end: nothing printed bounds the scatter."});
  out_.blocks.push_back(std::move(points));
}

/// The narrowest and the widest range that readings with these figures lead to.
void AuditWriter::draw(const GapAudit& gap) {
  IntervalFigure figure{
      .rows = {}, .margin = audit_.margin, .unit = words_.speed().unit(), .decimals = words_.speed().decimals()};
  const auto row = [&](const char* label, const std::optional<AuditedPair>& pair) {
    if (pair)
      figure.rows.push_back({.label = std::string{label} + ": " + words_.speed().range(pair->interval, audit_.margin),
                             .estimate = pair->gap,
                             .interval = pair->interval});
  };
  if (one_range(gap)) {
    row("range", gap.tightest);
  } else {
    row("tightest range", gap.tightest);
    row("widest range", gap.widest);
  }
  if (!figure.rows.empty()) out_.blocks.push_back(std::move(figure));
}

void AuditWriter::needed(const GapAudit& gap) {
  const ClaimNeeds& needs = found_.needs[static_cast<std::size_t>(&gap - audit_.gaps.data())];
  const bool tips = !needs.same_within && !needs.chronographs &&
                    std::any_of(gap.by_shots.begin(), gap.by_shots.end(), [](const auto& g) { return g.tipping; });
  if (!tips && needs.shots.empty() && !needs.chronographs) return;
  out_.blocks.push_back(
      Heading{"What the claim would have needed" + (audit_.gaps.size() > 1 ? ": " + words_.pair(gap) : "")});
  if (needs.chronographs)
    out_.blocks.push_back(Paragraph{
        formatted("The two chronographs alone may differ by {} either way, as accurate as they are said to be: no "
                  "number of shots tells a smaller gap from none. One chronograph for both would.",
                  words_.speed().with_unit(*needs.chronographs))});
  if (tips) {
    Table table{.columns = {{words_.shots_title(gap)}, {"SD of a shot below, " + words_.speed().unit(), true}},
                .rows = {}};
    for (const GapAtShots& at : words_.told(gap))
      table.rows.push_back({words_.shots_of(gap, at), words_.tipping(*at.tipping)});
    out_.blocks.push_back(
        Paragraph{"With scatter alike in both, and the display apart, the printed gap is more than luck where the SD "
                  "of a shot is "
                  "below this; in brackets for the smallest and the largest gap that the printed one may stand for."});
    out_.blocks.push_back(std::move(table));
  }
  if (!needs.shots.empty()) {
    Table table{.columns = {{"SD of a shot, " + words_.speed().unit()}, {""}, {"shots with each", true}}, .rows = {}};
    for (const ClaimNeed& n : needs.shots)
      table.rows.push_back({words_.shot_sd(n), words_.shot_sd_origin(n), words_.shots_needed(n)});
    out_.blocks.push_back(
        Paragraph{needs.same_within
                      ? "Shots with each set-up that show two alike to be the same within ±" +
                            words_.speed().as_typed(*needs.same_within) + " 8 times in 10:"
                      : std::string{"Shots with each set-up that find a true gap of the printed size 8 times in 10:"}});
    out_.blocks.push_back(std::move(table));
  }
  out_.blocks.push_back(Paragraph{words_.two_bows()});
}

void AuditWriter::best() {
  Points points;
  for (std::size_t i = 0; i < found_.setups.size(); ++i)
    for (const BestOfUsual& b : found_.setups[i].best) points.points.push_back({words_.setup(i), words_.best_of(i, b)});
  if (points.points.empty()) return;
  out_.blocks.push_back(Heading{"The best is not the average"});
  out_.blocks.push_back(Paragraph{
      "The best of several shots lies above their true average by what luck adds. How shots scatter was not published; "
      "these are usual figures, assumed."});
  out_.blocks.push_back(std::move(points));
}

void AuditWriter::same_conditions() {
  const bool any =
      std::any_of(found_.setups.begin(), found_.setups.end(), [](const auto& s) { return s.at_common.has_value(); });
  const bool rated =
      std::any_of(claim_.setups.begin(), claim_.setups.end(), [](const auto& s) { return s.convention; });
  if (!any && !rated) return;
  out_.blocks.push_back(Heading{"Which speed is it?"});
  Points points;
  for (std::size_t i = 0; i < claim_.setups.size(); ++i)
    if (claim_.setups[i].convention) points.points.push_back({words_.setup(i), words_.convention_text(i)});
  for (std::size_t i = 0; i < found_.setups.size(); ++i)
    if (found_.setups[i].at_common)
      for (const std::string& text : words_.at_common(i)) points.points.push_back({words_.setup(i), text});
  if (found_.common_gap)
    points.points.push_back(
        {"gap", formatted("under one set of conditions {} {}, standard uncertainty of the conversion {} {}; shot "
                          "scatter comes on top.",
                          words_.speed().signed_bare(found_.common_gap->gap), words_.speed().unit(),
                          words_.speed().bare(found_.common_gap->standard_uncertainty), words_.speed().unit())});
  out_.blocks.push_back(std::move(points));
}

void AuditWriter::energies() {
  Points points;
  for (std::size_t i = 0; i < found_.setups.size(); ++i) {
    const PublishedSetupAudit& s = found_.setups[i];
    if (!s.no_energy.empty())
      points.points.push_back({words_.setup(i), "a printed energy or momentum " + s.no_energy + "."});
    if (s.energy) points.points.push_back({words_.setup(i), words_.figure("kinetic energy", "ft·lbf", *s.energy)});
    if (s.momentum) points.points.push_back({words_.setup(i), words_.figure("momentum", "slug·ft/s", *s.momentum)});
  }
  if (points.points.empty()) return;
  out_.blocks.push_back(Heading{"Do energy and speed agree?"});
  out_.blocks.push_back(std::move(points));
}

void AuditWriter::checklist_points() {
  out_.blocks.push_back(Heading{"What is stated, and what cannot be checked"});
  std::vector<std::string> stated, missing;
  for (const ChecklistItem& line : checklist) {
    const auto state = claim_.stated.state_of(line.item, claim_.setups.size() > 1);
    if (state == ReportedState::stated) stated.push_back(words_.item(line.item));
    if (state == ReportedState::cannot_be_checked) missing.push_back(words_.item(line.item));
  }
  Points points;
  if (!stated.empty()) points.points.push_back({"stated", semicolons(stated) + "."});
  if (!missing.empty())
    points.points.push_back(
        {"not stated", semicolons(missing) + ". On these points nothing can be checked; that is no mistake found."});
  out_.blocks.push_back(std::move(points));
}

void AuditWriter::to_bear_in_mind() {
  const auto notes = words_.notes();
  if (notes.empty()) return;
  out_.blocks.push_back(Heading{"To bear in mind"});
  Points points;
  for (const Note& note : notes) points.points.push_back({"", note.text});
  out_.blocks.push_back(std::move(points));
}

}  // namespace

std::vector<Note> audit_notes(const AuditStory& story) { return AuditWords{story}.notes(); }
Document audit_page(const AuditStory& story) { return AuditWriter{story}.page(); }
Document audit_document(const AuditStory& story) { return AuditWriter{story}.document(); }

}  // namespace shotassay::narrative
