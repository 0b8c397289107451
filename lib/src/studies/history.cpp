#include <shotassay/studies/history.hpp>

#include <shotassay/core/errors.hpp>
#include <shotassay/studies/pilot.hpp>

namespace shotassay {
namespace {

std::string counted(std::size_t n, const std::string& one, const std::string& many) {
  return std::to_string(n) + " " + (n == 1 ? one : many);
}

}  // namespace

ShotHistory shot_history(std::span<const Sheet> earlier, SpeedUnit unit, DisplayStep display_step, bool robust) {
  ShotHistory history{.strings = {}, .single_shots = 0, .prior = {.variance = 0}};
  std::vector<StringScatter> scatter;
  for (std::size_t i = 0; i < earlier.size(); ++i) {
    const Sheet& sheet = earlier[i];
    const double factor = conversion(sheet.unit, unit);
    for (const StringOfShots& string : strings_of_shots(sheet)) {
      if (string.shots.size() < 2) {
        ++history.single_shots;
        continue;
      }
      StringScatter s = string_scatter(string.shots, display_step.value() / factor);
      s.variance *= factor * factor;
      scatter.push_back(s);
      history.strings.push_back({.sheet = i,
                                 .setup = sheet.setups[string.setup].name,
                                 .bow = std::string{sheet.label(string.bow)},
                                 .session = std::string{sheet.label(string.session)},
                                 .shots = string.shots.size(),
                                 .all_equal = string.shots.all_equal(),
                                 .scatter = s});
    }
  }
  if (scatter.size() < 3)
    throw NoAnswer{
        "history: " + counted(earlier.size(), "earlier sheet holds", "earlier sheets hold") + " " +
        counted(scatter.size(), "string", "strings") +
        " of two or more shots from one set-up, bow and session; three are needed to tell how scatter itself "
        "varies, and ten or more to lean on it. Give more sheets, or compare without a history."};
  history.prior = scatter_prior(scatter, robust);
  return history;
}

}  // namespace shotassay
