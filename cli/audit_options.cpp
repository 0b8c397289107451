#include "audit_options.hpp"

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <functional>
#include <shotassay/records/same_name.hpp>
#include <shotassay/studies/gap_budget.hpp>
#include <string_view>

namespace shotassay::cli {

namespace {

/// The names of the set-ups: as typed, or A, B, C for as many as figures were given.
std::vector<std::string> setup_names(const AuditOptionsTyped& typed) {
  if (!typed.setups.empty()) return typed.setups;
  std::size_t most = 1;
  std::vector<std::string> named;
  for (const FigureOption& f : typed.figures) {
    std::size_t unnamed = 0;
    for (const std::string& text : f.typed) {
      const auto sign = text.find('=');
      if (sign == std::string::npos)
        ++unnamed;
      else if (const std::string name = text.substr(0, sign);
               std::find(named.begin(), named.end(), name) == named.end())
        named.push_back(name);
    }
    most = std::max(most, unnamed);
  }
  std::vector<std::string> names;
  for (std::size_t i = 0; i < most; ++i)
    names.emplace_back(1, static_cast<char>('A' + static_cast<int>(std::min<std::size_t>(i, 25))));
  for (const std::string& name : named)
    if (name.size() == 1 && name[0] > names.back()[0] && name[0] <= 'Z')
      while (names.back()[0] < name[0]) names.emplace_back(1, static_cast<char>(names.back()[0] + 1));
  return names;
}

/// Hands each typed text to the set-up that it is for.
void distribute(const FigureOption& figure, const std::vector<std::string>& names, OptionReader& read,
                const std::function<void(std::size_t, const std::string&)>& give) {
  std::size_t next = 0;
  std::size_t unnamed = 0;
  for (const std::string& text : figure.typed) unnamed += text.find('=') == std::string::npos ? 1 : 0;
  for (const std::string& text : figure.typed) {
    const auto sign = text.find('=');
    if (sign == std::string::npos) {
      if (figure.for_all && unnamed == 1) {
        for (std::size_t i = 0; i < names.size(); ++i) give(i, text);
      } else if (next >= names.size()) {
        read.problem(
            figure.option, text,
            "there " +
                std::string{names.size() == 1 ? "is one set-up" : "are " + std::to_string(names.size()) + " set-ups"} +
                " only");
      } else {
        give(next++, text);
      }
      continue;
    }
    const auto named = std::find(names.begin(), names.end(), text.substr(0, sign));
    if (named == names.end()) {
      const std::string near = nearest(text.substr(0, sign), names);
      read.problem(figure.option, text,
                   "no set-up is called so" + (near.empty() ? std::string{} : "; did you mean " + near + "?"));
    } else {
      give(static_cast<std::size_t>(named - names.begin()), text.substr(sign + 1));
    }
  }
}

void read_figures(AuditOptionsTyped& typed, const std::vector<std::string>& names, PublishedClaim& claim,
                  OptionReader& read) {
  const auto each = [&](const char* option, const std::function<void(std::size_t, const std::string&)>& give) {
    distribute(typed.figure(option), names, read, give);
  };
  const auto printed = [&](const char* option, auto member) {
    each(option, [&, option, member](std::size_t i, const std::string& text) {
      std::optional<Decimal>& place = member(claim.setups[i]);
      if (place) {
        read.problem(option, text, "given twice for " + names[i]);
        return;
      }
      place = printed_decimal(option, text, read);
    });
  };
  using S = PublishedSetup;
  const auto at_least_0 = [&](const char* option, const std::optional<Decimal>& d, bool zero) {
    if (d && (d->coefficient() < 0 || (!zero && d->coefficient() == 0)))
      read.problem(option, d->text(), zero ? "is 0 or more" : "must be more than 0");
  };
  printed(
      "--average", [](S & s) -> auto& { return s.reported.figures.average; });
  printed(
      "--best", [](S & s) -> auto& { return s.best; });
  printed(
      "--sd", [](S & s) -> auto& { return s.reported.figures.sd; });
  printed(
      "--low", [](S & s) -> auto& { return s.reported.figures.low; });
  printed(
      "--high", [](S & s) -> auto& { return s.reported.figures.high; });
  printed(
      "--spread", [](S & s) -> auto& { return s.reported.figures.spread; });
  printed(
      "--draw-weight", [](S & s) -> auto& { return s.draw_weight; });
  printed(
      "--arrow-mass", [](S & s) -> auto& { return s.arrow_mass; });
  printed(
      "--draw-length", [](S & s) -> auto& { return s.draw_length; });
  printed(
      "--energy", [](S & s) -> auto& { return s.energy; });
  printed(
      "--momentum", [](S & s) -> auto& { return s.momentum; });
  for (const S& s : claim.setups) {
    const ReportedFigures& f = s.reported.figures;
    for (const auto& [option, d] : {std::pair{"--average", f.average},
                                    {"--best", s.best},
                                    {"--low", f.low},
                                    {"--high", f.high},
                                    {"--draw-weight", s.draw_weight},
                                    {"--arrow-mass", s.arrow_mass},
                                    {"--draw-length", s.draw_length},
                                    {"--energy", s.energy},
                                    {"--momentum", s.momentum}})
      at_least_0(option, d, false);
    at_least_0("--sd", f.sd, true);
    at_least_0("--spread", f.spread, true);
  }
  each("--shots", [&](std::size_t i, const std::string& text) {
    if (const auto n = printed_shots(text, read)) {
      claim.setups[i].reported.figures.shots = n->first;
      if (n->second > n->first) claim.setups[i].reported.most_shots = n->second;
    }
  });
  each("--reading", [&](std::size_t i, const std::string& text) {
    for (std::size_t at = 0; at <= text.size();) {
      const std::size_t comma = std::min(text.find(',', at), text.size());
      if (comma == at)
        read.problem("--reading", text, "an empty place between two commas");
      else if (const auto d = printed_decimal("--reading", text.substr(at, comma - at), read))
        claim.setups[i].reported.figures.readings.push_back(*d);
      at = comma + 1;
    }
  });
  each("--accuracy", [&](std::size_t i, const std::string& text) {
    const auto accuracy = stated_accuracy(text, claim.unit);
    if (!accuracy || !(accuracy->relative > 0.0) || accuracy->relative > 0.5)
      read.problem("--accuracy", text, "is a share up to 50%, as in 0.5%");
    else
      claim.setups[i].reported.accuracy = accuracy->relative;
  });
  each("--convention", [&](std::size_t i, const std::string& text) {
    claim.setups[i].convention = rating_named(text);
    if (!claim.setups[i].convention) {
      std::string known;
      for (const RatingConvention& c : rating_conventions) known += (known.empty() ? "" : ", ") + std::string{c.name};
      read.problem("--convention", text, "no such convention; there are " + known);
    }
  });
}

/// What the options themselves state of the publication, and what was stated in words.
void read_checklist(const AuditOptionsTyped& typed, PublishedClaim& claim, OptionReader& read) {
  const auto given = [&](const char* option) {
    return std::any_of(typed.figures.begin(), typed.figures.end(),
                       [&](const FigureOption& f) { return std::string_view{f.option} == option && !f.typed.empty(); });
  };
  const std::pair<const char*, ReportedItem> by_option[] = {{"--shots", ReportedItem::shots},
                                                            {"--sd", ReportedItem::scatter},
                                                            {"--spread", ReportedItem::scatter},
                                                            {"--reading", ReportedItem::scatter},
                                                            {"--average", ReportedItem::average_or_best},
                                                            {"--best", ReportedItem::average_or_best},
                                                            {"--accuracy", ReportedItem::accuracy},
                                                            {"--draw-weight", ReportedItem::draw_weight},
                                                            {"--arrow-mass", ReportedItem::arrow_mass},
                                                            {"--draw-length", ReportedItem::draw_length},
                                                            {"--convention", ReportedItem::convention}};
  for (const auto& [option, item] : by_option)
    if (given(option)) claim.stated.state(item, "");
  if (!typed.common.display.empty()) claim.stated.state(ReportedItem::display_step, "");
  std::vector<std::string> known;
  for (const ChecklistItem& line : checklist) known.emplace_back(line.name);
  for (const std::string& text : typed.states) {
    const auto sign = text.find('=');
    const std::string name = text.substr(0, sign);
    const auto item = reported_item_named(name);
    if (!item) {
      std::string list;
      for (const std::string& k : known) list += (list.empty() ? "" : ", ") + k;
      read.problem("--states", text, "no such item; there are " + list);
    } else {
      claim.stated.state(*item, sign == std::string::npos ? "" : text.substr(sign + 1));
    }
  }
}

std::optional<Verdict> claimed(const std::string& text, bool margin, OptionReader& read) {
  if (text.empty()) return std::nullopt;
  for (const Verdict v : {Verdict::faster, Verdict::slower, Verdict::same})
    if (text == name(v)) {
      if (v == Verdict::same && !margin)
        read.problem("--claims", text, "\"the same\" needs --margin: how much would not matter");
      return v;
    }
  read.problem("--claims", text, "is faster, slower or same: of the second set-up against the first");
  return std::nullopt;
}

bool anything_printed(const PublishedSetup& s) {
  const ReportedFigures& f = s.reported.figures;
  return f.average || f.sd || f.low || f.high || f.spread || !f.readings.empty() || s.best;
}

}  // namespace

void add_audit_options(CLI::App& command, AuditOptionsTyped& typed) {
  add_repeatable(command, "--setup", typed.setups, "Name of a set-up (A, B, ...); repeat it");
  for (FigureOption& f : typed.figures)
    command.add_option(f.option, f.typed, f.help)->allow_extra_args(false)->type_name("[NAME=]FIGURE");
  command.add_flag("--sd-of-n", typed.sd_of_n, "The SD was divided by the number of shots, not one less");
  command.add_option("--claims", typed.claims, "What was claimed of the second: faster, slower or same")
      ->type_name("VERDICT");
  command.add_option("--margin", typed.margin, "Gap that would not matter")->type_name("GAP");
  command.add_option("--at", typed.at, "Convention to bring the speeds to (the first set-up's conditions)")
      ->type_name("CONVENTION");
  command.add_option("--bow-type", typed.bow_type, "recurve, longbow or compound")->type_name("TYPE");
  command.add_option("--states", typed.states, "What is stated, as in distance=\"10 ft\"; repeat it")
      ->allow_extra_args(false)
      ->type_name("ITEM[=WORDS]");
  command.add_option("--max-operations", typed.max_operations, "What counting may cost (1e8; 2e6 a row of a table)")
      ->type_name("N");
  command.add_option("--table", typed.table, "Claims to audit, one a row (CSV), or - for standard input")
      ->type_name("CLAIMS.csv");
  command.add_option("--out", typed.out, "Write the verdicts of a table there (standard output)")
      ->type_name("FILE.csv");
  add_page_options(command, typed.pages, "Write a page with the audit");
  CommonOptions& common = typed.common;
  command.add_option("--confidence", common.confidence, "Confidence level, 0.5 to below 1 (0.95)")->type_name("LEVEL");
  command.add_option("--display", common.display, "Step of the display (1)")->type_name("STEP");
  command.add_option("--unit", common.unit, "Unit of every speed here: fps or m/s (fps)")->type_name("UNIT");
  command.add_option("--threads", common.threads, "Processors to use for a table; changes no result")->type_name("N");
  command.add_option("--color", common.color, "auto, always or never (auto)")->type_name("WHEN");
  command.add_flag("--json", common.json, "Print JSON instead of text");
}

std::optional<Decimal> printed_decimal(const std::string& option, const std::string& text, OptionReader& read) {
  if (!read.number(option, text)) return std::nullopt;
  if (const auto d = Decimal::parse(text)) return d;
  read.problem(option, text, "must be written in digits, as it was printed");
  return std::nullopt;
}

std::optional<std::pair<std::int64_t, std::int64_t>> printed_shots(const std::string& text, OptionReader& read) {
  const auto dots = text.find("..");
  const auto whole = [&](const std::string& part) { return read.whole("--shots", part, 1, 1000); };
  if (dots == std::string::npos) {
    const auto n = whole(text);
    if (!n) return std::nullopt;
    return std::pair{static_cast<std::int64_t>(*n), static_cast<std::int64_t>(*n)};
  }
  const auto least = whole(text.substr(0, dots)), most = whole(text.substr(dots + 2));
  if (!least || !most) return std::nullopt;
  if (*most < *least) {
    read.problem("--shots", text, "the second number is the larger one");
    return std::nullopt;
  }
  return std::pair{static_cast<std::int64_t>(*least), static_cast<std::int64_t>(*most)};
}

void read_rules(const AuditOptionsTyped& typed, PublishedClaim& claim, OptionReader& read) {
  if (const auto unit = read.unit(typed.common.unit)) claim.unit = *unit;
  if (const auto level = read.confidence(typed.common)) claim.options.level = *level;
  if (!typed.margin.empty()) claim.options.margin = read.positive("--margin", typed.margin);
  claim.options.claimed = claimed(typed.claims, !typed.margin.empty(), read);
  const auto operations = typed.max_operations.empty() ? std::optional<double>{1e8}
                                                       : read.positive("--max-operations", typed.max_operations);
  if (operations) claim.options.budget.operations = *operations;
  if (typed.bow_type == "recurve" || typed.bow_type == "longbow" || typed.bow_type == "compound")
    claim.bow = typed.bow_type == "recurve"   ? BowType::recurve
                : typed.bow_type == "longbow" ? BowType::longbow
                                              : BowType::compound;
  else if (!typed.bow_type.empty())
    read.problem("--bow-type", typed.bow_type, "is recurve, longbow or compound");
  if (!typed.at.empty()) {
    claim.at = rating_named(typed.at);
    if (!claim.at) read.problem("--at", typed.at, "is a convention, as ata");
  }
}

void read_published(AuditOptionsTyped& typed, PublishedClaim& claim, const std::optional<Decimal>& display,
                    OptionReader& read) {
  const auto names = setup_names(typed);
  for (std::size_t i = 0; i < names.size(); ++i)
    if (std::find(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(i), names[i]) !=
        names.begin() + static_cast<std::ptrdiff_t>(i))
      read.problem("--setup", names[i], "named twice");
  for (std::size_t i = 0; i < names.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (names[i] != names[j] && same_name(names[i], names[j])) read.problem("--setup", names[i], one_name(names[j]));
  for (const std::string& name : names)
    if (name.empty() || name.find('=') != std::string::npos)
      read.problem("--setup", name, "a name is not empty and has no =: that tells a name from a figure");
  if (!typed.claims.empty() && names.size() < 2)
    read.problem("--claims", typed.claims, "is of one set-up against another: give the figures of both");
  const DisplayStep step{display.value_or(Decimal{1, 0})};
  for (const std::string& name : names)
    claim.setups.push_back(
        {.reported = {.name = name,
                      .figures = {.shots = 0,
                                  .display_step = step,
                                  .sd_divisor = typed.sd_of_n ? SdDivisor::n : SdDivisor::n_minus_1}}});
  read_figures(typed, names, claim, read);
  read_checklist(typed, claim, read);
  for (const PublishedSetup& s : claim.setups) {
    if (s.reported.figures.shots == 0)
      read.problem("audit", s.reported.name, "needs its number of shots: --shots 3, or --shots 3..10 where not known");
    if (!anything_printed(s))
      read.problem("audit", s.reported.name,
                   "has no printed figure: give --average, --best, --sd, --low, --high, "
                   "--spread or --reading");
    if (s.best && s.reported.figures.average)
      read.problem("--best", s.reported.name, "is printed in place of an average; give the highest reading as --high");
    if (s.best && s.reported.figures.high)
      read.problem("--best", s.reported.name, "is the highest reading already: leave --high out");
  }
}

}  // namespace shotassay::cli
