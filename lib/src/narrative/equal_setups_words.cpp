#include "equal_setups_words.hpp"

#include <algorithm>
#include <cmath>
#include <shotassay/studies/verdict.hpp>

#include "../document/formatted.hpp"

namespace shotassay::narrative {

namespace {

using document::Data;

/// As many decimals as the sheet writes: 38.0 stays 38.0. An average of several rows gets one more.
std::string measured_text(const MeasuredValue& m) {
  int decimals = 0;
  for (double unit = m.resolution; unit < 0.999; unit *= 10.0) ++decimals;
  if (m.high != m.low) ++decimals;
  return fixed(m.mean, decimals);
}

std::string three_digits(double x) {
  const std::string text = formatted("{:.3g}", std::abs(x));
  return (x < 0.0 ? "−" : "") + text;
}

std::string two_digits(double x) { return formatted("{:.2g}", x); }

std::string unit_name(SetupQuantity quantity) { return std::string{unit(quantity)}; }

std::string origin_text(SensitivityOrigin origin, SetupQuantity quantity) {
  switch (origin) {
    case SensitivityOrigin::computed:
      return "worked out from speed and draw weight";
    case SensitivityOrigin::common_practice:
      return quantity == SetupQuantity::draw_length ? "from what such bows usually store, common practice"
                                                    : "from the usual mass of moving limbs and string, common practice";
    case SensitivityOrigin::entered:
      break;
  }
  return "as you entered it";
}

}  // namespace

std::string EqualSetupsWords::correction_text(const SetupCorrection& c) const {
  const std::string u = unit_name(c.quantity);
  if (c.state == CorrectionState::as_told) return "not measured; taken as you told, so nothing is taken off.";
  if (c.state == CorrectionState::not_known)
    return c.from || c.to ? "measured in one of the two set-ups only; not corrected." : "not measured; not corrected.";
  const std::string both = formatted("{} {} with {}, {} with {}", measured_text(*c.from), u, words_.from(gap_),
                                     measured_text(*c.to), words_.to(gap_));
  if (c.state != CorrectionState::applied)
    return both + ". Not corrected: " + document::printable(c.reason) + "." +
           (equal_.arrows ? "" : " Tell it with --same-arrow or --same-gpp.");
  const SpeedWords& speed = words_.speed();
  const Sensitivity& s = *c.sensitivity;
  const std::string rate =
      formatted("{} {} a{} {} (standard uncertainty {}; {})", three_digits(speed.converted(s.value)), speed.unit(),
                u == "in" ? "n" : "", u == "in" ? "inch" : u, two_digits(speed.converted(s.standard_uncertainty)),
                origin_text(s.origin, c.quantity));
  const auto uncertainty = [&] { return two_digits(speed.converted(*c.standard_uncertainty)) + " " + speed.unit(); };
  if (*c.difference == 0.0)
    return both + formatted(": equal as read; standard uncertainty from reading them {}.", uncertainty());
  if (*c.corrected_difference == 0.0)
    return both +
           formatted(": all of that goes with the draw weight, nothing more is taken off; standard uncertainty {}.",
                     uncertainty());
  const std::string left =
      *c.corrected_difference == *c.difference
          ? ""
          : formatted(", {} {} of it not with the draw weight", three_digits(*c.corrected_difference), u);
  return formatted("{}{}. At {}: {} {}, standard uncertainty {}.", both, left, rate, speed.signed_bare(*c.correction),
                   speed.unit(), uncertainty());
}

document::Points EqualSetupsWords::points() const {
  document::Points points;
  for (const SetupCorrection& c : equal_.corrections)
    points.points.push_back({std::string{name(c.quantity)}, correction_text(c)});
  if (const std::string arrows = arrows_text(); !arrows.empty()) points.points.push_back({"arrows", arrows});
  return points;
}

std::string EqualSetupsWords::arrows_text() const {
  if (!equal_.arrows) return "whether both shot the same arrow or the same grains per pound is not known.";
  const std::string how = equal_.arrows_inferred ? ", by the sheet's masses." : ", as you told.";
  switch (*equal_.arrows) {
    case ArrowMatch::same_arrow:
      return "the same arrow with both" + how;
    case ArrowMatch::same_grains_per_pound:
      return "the same grains per pound with both" + how;
    case ArrowMatch::neither:
      break;
  }
  return "neither the same mass nor the same grains per pound: each difference is taken off by itself.";
}

std::string EqualSetupsWords::sentence() const {
  const SpeedWords speed = words_.speed(gap_);
  const std::string as_shot =
      formatted("As shot the gap of {} is {} {}, {}.", words_.pair(gap_), speed.signed_bare(*gap_.difference),
                speed.unit(), speed.range(*gap_.deciding().interval, margin_));
  if (!equal_.equalised) {
    const bool refused = std::any_of(equal_.corrections.begin(), equal_.corrections.end(), [](const auto& c) {
      return c.state == CorrectionState::too_far || c.state == CorrectionState::arrows_not_known;
    });
    return as_shot + (refused ? " It cannot be brought to equal set-ups, and correcting it in part would mislead."
                              : " Nothing was measured on both, so it cannot be brought to equal set-ups.");
  }
  const WidenedGapResult& w = *equal_.equalised;
  return formatted(
      "{} With equal set-ups it would be {} {}, {}. {} of its variance comes from the "
      "corrections.",
      as_shot, speed.signed_bare(w.gap), speed.unit(), speed.range(w.interval, margin_),
      percent_of_tests(w.added_share));
}

bool EqualSetupsWords::verdict_changes() const {
  return equal_.equalised && verdict(equal_.equalised->interval, margin_) != gap_.verdict;
}

document::Data equal_setups_data(const EqualisedGap& equal, double factor, std::optional<double> margin) {
  const auto optional = [](std::optional<double> x, double f = 1.0) { return x ? Data{*x * f} : Data{}; };
  const auto value = [](const std::optional<MeasuredValue>& m) {
    return m ? Data{Data::Object{{"value", m->mean}, {"standard_uncertainty", m->standard_uncertainty}}} : Data{};
  };
  constexpr const char* quantities[] = {"draw_weight", "arrow_mass", "draw_length"};
  constexpr const char* states[] = {"applied", "as_told", "not_known", "too_far", "arrows_not_known"};
  constexpr const char* origins[] = {"computed", "common_practice", "entered"};
  constexpr const char* matches[] = {"same_arrow", "same_grains_per_pound", "neither"};
  Data::List corrections;
  for (const SetupCorrection& c : equal.corrections) {
    Data sensitivity;
    if (c.sensitivity)
      sensitivity = Data::Object{{"value", c.sensitivity->value * factor},
                                 {"standard_uncertainty", c.sensitivity->standard_uncertainty * factor},
                                 {"origin", origins[static_cast<int>(c.sensitivity->origin)]}};
    corrections.push_back(Data::Object{{"quantity", quantities[static_cast<int>(c.quantity)]},
                                       {"unit", std::string{unit(c.quantity)}},
                                       {"state", states[static_cast<int>(c.state)]},
                                       {"reason", c.reason.empty() ? Data{} : Data{c.reason}},
                                       {"from", value(c.from)},
                                       {"to", value(c.to)},
                                       {"difference", optional(c.difference)},
                                       {"corrected_difference", optional(c.corrected_difference)},
                                       {"sensitivity", std::move(sensitivity)},
                                       {"correction", optional(c.correction, factor)},
                                       {"standard_uncertainty", optional(c.standard_uncertainty, factor)}});
  }
  Data equalised;
  if (const auto& w = equal.equalised)
    equalised = Data::Object{{"difference", w->gap * factor},
                             {"lower", w->interval.lower * factor},
                             {"upper", w->interval.upper * factor},
                             {"verdict", std::string{name(verdict(w->interval, margin))}},
                             {"standard_uncertainty", w->standard_uncertainty * factor},
                             {"degrees_of_freedom", w->degrees_of_freedom},
                             {"stated_share", w->added_share}};
  return Data::Object{{"arrows", equal.arrows ? Data{matches[static_cast<int>(*equal.arrows)]} : Data{}},
                      {"arrows_inferred", equal.arrows_inferred},
                      {"corrections", std::move(corrections)},
                      {"equalised", std::move(equalised)}};
}

}  // namespace shotassay::narrative
