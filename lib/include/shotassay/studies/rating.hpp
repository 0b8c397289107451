#pragma once
#include <array>
#include <cstddef>
#include <optional>
#include <string_view>

#include <shotassay/studies/grounds.hpp>

namespace shotassay {

/// Conventions under which a speed may be quoted.
enum class Rating { ata, ibo, amo, amo_light_arrow, ata_intermediate_40, ata_intermediate_50 };

/// What kind of text stands behind a convention.
enum class RatingStatus {
  test_standard,    ///< prescribes how to measure
  former_standard,  ///< did so before a later one
  competition_rule  ///< says what may be shot in a competition, not how to measure a speed
};

/// How the text treats a condition.
enum class Fixing {
  fixed,      ///< prescribed
  limited,    ///< a limit is prescribed; the value is what is usual within it
  customary,  ///< not in the text; the value is what is usual
  left_open,  ///< not in the text, and nothing is usual
  not_known   ///< the text was not read on this point
};

/// A condition of the shot as a convention has it.
struct RatedCondition {
  Fixing fixing;
  double value;
  /// Tolerance, value − below to value + above; absent where the convention gives none, or none that could be read.
  std::optional<double> below = {}, above = {};
};

struct RatingConvention {
  Rating rating;
  std::string_view name;   ///< as typed: "ata"
  std::string_view words;  ///< as said
  RatingStatus status;
  RatedCondition draw_weight;  ///< peak, lbf
  RatedCondition draw_length;  ///< ATA's and AMO's: nocking point to grip pivot point and 1¾ in more
  RatedCondition arrow_mass;   ///< gr
  double grains_per_pound;     ///< at these values; of a competition rule the least allowed
  Fixing shots;                ///< how many; where fixed, `least_shots` or more, and their average
  std::optional<int> least_shots;
  Fixing shooting_machine;  ///< fixed: by machine and mechanical release
  Grounds grounds;
};

/// Which speed is it? What each convention fixes and what it leaves open.
///
/// A speed "by the rule" of the last kind of status has no fixed draw length, tolerance, number of shots or average, so
/// it may look like one by a standard and be another thing.
///
/// Source  ASTM F1544 [astm-f1544], read in part: the tolerance of its draw weight could not be. ATA/BOW-105
///         [ata-bow-105]. AMO's older rating [amo-standards] and the competition rule [ibo-rules] second-hand.
inline constexpr std::array<RatingConvention, 6> rating_conventions{
    {{.rating = Rating::ata,
      .name = "ata",
      .words = "ATA speed, by ASTM F1544",
      .status = RatingStatus::test_standard,
      .draw_weight = {Fixing::limited, 70.0},  // a peak of 70 lbf or less
      .draw_length = {Fixing::fixed, 30.0},
      .arrow_mass = {Fixing::fixed, 350.0, 0.5, 0.5},
      .grains_per_pound = 5.0,
      .shots = Fixing::fixed,
      .least_shots = 5,
      .shooting_machine = Fixing::fixed,
      .grounds = Grounds::source_read},
     {.rating = Rating::ibo,
      .name = "ibo",
      .words = "IBO speed, by an equipment rule of competitions",
      .status = RatingStatus::competition_rule,
      .draw_weight = {Fixing::limited, 70.0},  // up to 80 ± 2 lbf
      .draw_length = {Fixing::customary, 30.0},
      .arrow_mass = {Fixing::limited, 350.0},
      .grains_per_pound = 5.0,
      .shots = Fixing::left_open,
      .least_shots = std::nullopt,
      .shooting_machine = Fixing::left_open,
      .grounds = Grounds::second_hand},
     {.rating = Rating::amo,
      .name = "amo",
      .words = "AMO speed, the older rating",
      .status = RatingStatus::former_standard,
      .draw_weight = {Fixing::fixed, 60.0},
      .draw_length = {Fixing::fixed, 30.0},
      .arrow_mass = {Fixing::fixed, 540.0},
      .grains_per_pound = 9.0,
      .shots = Fixing::not_known,
      .least_shots = std::nullopt,
      .shooting_machine = Fixing::not_known,
      .grounds = Grounds::second_hand},
     {.rating = Rating::amo_light_arrow,
      .name = "amo-light",
      .words = "AMO speed with the light arrow",
      .status = RatingStatus::former_standard,
      .draw_weight = {Fixing::fixed, 60.0},
      .draw_length = {Fixing::fixed, 30.0},
      .arrow_mass = {Fixing::fixed, 360.0},
      .grains_per_pound = 6.0,
      .shots = Fixing::not_known,
      .least_shots = std::nullopt,
      .shooting_machine = Fixing::not_known,
      .grounds = Grounds::second_hand},
     {.rating = Rating::ata_intermediate_40,
      .name = "ata-40",
      .words = "rating of intermediate bows at 40 lbf, by ATA/BOW-105",
      .status = RatingStatus::test_standard,
      .draw_weight = {Fixing::fixed, 40.0, 0.1, 0.1},
      .draw_length = {Fixing::fixed, 28.0, 0.0, 0.25},
      .arrow_mass = {Fixing::fixed, 200.0, 0.5, 0.5},
      .grains_per_pound = 5.0,
      .shots = Fixing::fixed,
      .least_shots = 5,
      .shooting_machine = Fixing::fixed,
      .grounds = Grounds::source_read},
     {.rating = Rating::ata_intermediate_50,
      .name = "ata-50",
      .words = "rating of intermediate bows at 50 lbf, by ATA/BOW-105",
      .status = RatingStatus::test_standard,
      .draw_weight = {Fixing::fixed, 50.0, 0.1, 0.1},
      .draw_length = {Fixing::fixed, 28.0, 0.0, 0.25},
      .arrow_mass = {Fixing::fixed, 250.0, 0.5, 0.5},
      .grains_per_pound = 5.0,
      .shots = Fixing::fixed,
      .least_shots = 5,
      .shooting_machine = Fixing::fixed,
      .grounds = Grounds::source_read}}};

constexpr const RatingConvention& convention(Rating rating) {
  return rating_conventions[static_cast<std::size_t>(rating)];
}

constexpr std::optional<Rating> rating_named(std::string_view name) {
  for (const RatingConvention& c : rating_conventions)
    if (c.name == name) return c.rating;
  return std::nullopt;
}

}  // namespace shotassay
