#include <shotassay/records/sessions.hpp>

#include <algorithm>
#include <map>
#include <utility>

#include <shotassay/core/errors.hpp>

namespace shotassay {

namespace {

void check(const std::vector<NamedSheet>& sheets) {
  if (sheets.empty()) throw DomainError{"as_sessions: needs a sheet, got none"};
  const NamedSheet& first = sheets.front();
  for (std::size_t i = 1; i < sheets.size(); ++i) {
    const NamedSheet& other = sheets[i];
    const auto clash = [&](const std::string& what, const std::string& a, const std::string& b) {
      throw DomainError{first.name + " and " + other.name + " differ in " + what + ", " + a + " and " + b +
                        ": sheets that are compared as sessions need the same"};
    };
    for (std::size_t j = 0; j < i; ++j)
      if (sheets[j].name == other.name) throw DomainError{other.name + " is given twice"};
    if (first.sheet.unit != other.sheet.unit)
      clash("unit", std::string{name(first.sheet.unit)}, std::string{name(other.sheet.unit)});
    const Decimal a = first.sheet.display_step.size(), b = other.sheet.display_step.size();
    if (a.value() != b.value()) clash("display step", a.text(), b.text());
  }
}

/// Puts one sheet after another into a whole.
class Joining {
 public:
  explicit Joining(const Sheet& first) {
    whole_.unit = first.unit;
    whole_.unit_origin = first.unit_origin;
    whole_.display_step = first.display_step;
    whole_.display_origin = first.display_origin;
    whole_.layout = first.layout;
    whole_.order_given = true;
  }

  void add(const NamedSheet& named) {
    const Sheet& sheet = named.sheet;
    add_setups(sheet);
    const auto shot_as_whole = [&](auto shot) {
      const std::string own{sheet.label(shot.session)};
      const std::string session = own.empty() ? named.name : named.name + ", " + own;
      const std::string round{sheet.label(shot.round)};
      shot.setup = setup_of_[shot.setup];
      shot.bow = label(std::string{sheet.label(shot.bow)});
      shot.round = round.empty() ? Label{0} : label(named.name + ", " + round);
      shot.arrow = label(std::string{sheet.label(shot.arrow)});
      shot.session = label(session);
      last_order_ = std::max(last_order_, shot.order + order_before_);
      shot.order += order_before_;
      return shot;
    };
    for (const Shot& shot : sheet.shots) whole_.shots.push_back(shot_as_whole(shot));
    for (const ExcludedShot& shot : sheet.excluded) whole_.excluded.push_back(shot_as_whole(shot));
    for (const OpenShot& shot : sheet.open) whole_.open.push_back(shot_as_whole(shot));
    const auto add_measured = [&](const std::vector<Measurement>& from, std::vector<Measurement>& to) {
      for (Measurement m : from) {
        m.setup = setup_of_[m.setup];
        m.bow = label(std::string{sheet.label(m.bow)});
        to.push_back(m);
      }
    };
    add_measured(sheet.draw_weight_lbf, whole_.draw_weight_lbf);
    add_measured(sheet.arrow_mass_gr, whole_.arrow_mass_gr);
    add_measured(sheet.draw_length_in, whole_.draw_length_in);
    whole_.notes.insert(whole_.notes.end(), sheet.notes.begin(), sheet.notes.end());
    for (const auto& column : sheet.ignored_columns)
      if (std::find(whole_.ignored_columns.begin(), whole_.ignored_columns.end(), column) ==
          whole_.ignored_columns.end())
        whole_.ignored_columns.push_back(column);
    whole_.ignored_lines.insert(whole_.ignored_lines.end(), sheet.ignored_lines.begin(), sheet.ignored_lines.end());
    order_before_ = last_order_;
  }

  Sheet take() && { return std::move(whole_); }

 private:
  void add_setups(const Sheet& sheet) {
    setup_of_.clear();
    for (const SetUp& setup : sheet.setups) {
      const auto known = std::find_if(whole_.setups.begin(), whole_.setups.end(),
                                      [&](const SetUp& s) { return s.name == setup.name; });
      setup_of_.push_back(static_cast<std::uint32_t>(known - whole_.setups.begin()));
      if (known == whole_.setups.end()) {
        whole_.setups.push_back({.name = setup.name, .line = setup.line});
      }
      SetUp& all = whole_.setups[setup_of_.back()];
      if (setup.check_standard) whole_.check_standard = setup.name;
      all.check_standard = all.check_standard || setup.check_standard;
      all.shots += setup.shots;
      all.excluded += setup.excluded;
      all.open += setup.open;
    }
  }

  Label label(const std::string& text) {
    if (text.empty()) return 0;
    const auto [known, added] = labels_.try_emplace(text, static_cast<Label>(whole_.labels.size()));
    if (added) whole_.labels.push_back(text);
    return known->second;
  }

  Sheet whole_;
  std::vector<std::uint32_t> setup_of_;  ///< of the sheet at hand: index in the whole
  std::map<std::string, Label> labels_;
  std::int64_t order_before_ = 0, last_order_ = 0;
};

/// What all sheets that say something agree on.
template <class Value, class Given>
void keep_if_agreed(const std::vector<NamedSheet>& sheets, Value Sheet::*member, Sheet& whole, const Given& given) {
  const Value* agreed = nullptr;
  for (const NamedSheet& named : sheets) {
    const Value& value = named.sheet.*member;
    if (!given(value)) continue;
    if (agreed != nullptr && !(*agreed == value)) return;
    agreed = &value;
  }
  if (agreed != nullptr) whole.*member = *agreed;
}

}  // namespace

Sheet as_sessions(std::vector<NamedSheet> sheets) {
  check(sheets);
  if (sheets.size() == 1) return std::move(sheets.front().sheet);
  Joining joining{sheets.front().sheet};
  for (const NamedSheet& named : sheets) joining.add(named);
  Sheet whole = std::move(joining).take();
  const auto written = [](const std::string& text) { return !text.empty(); };
  for (auto member : {&Sheet::title, &Sheet::date, &Sheet::place, &Sheet::archer, &Sheet::accuracy})
    keep_if_agreed(sheets, member, whole, written);
  std::optional<Decimal> margin;
  bool agree = true;
  for (const NamedSheet& named : sheets)
    if (const auto& m = named.sheet.margin) {
      agree = agree && (!margin || margin->value() == m->value());
      margin = m;
    }
  if (agree) whole.margin = margin;
  return whole;
}

}  // namespace shotassay
