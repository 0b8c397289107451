#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include <shotassay/core/unit.hpp>
#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/methods/sd_upper_limit.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/studies/bow_plan.hpp>
#include <shotassay/studies/firing_order.hpp>
#include <shotassay/studies/plan.hpp>
#include <shotassay/studies/shooter.hpp>
#include <shotassay/studies/split_plan.hpp>

namespace shotassay::narrative {

enum class SdOrigin { entered, sheet, assumed };

/// Where the SD of a plan comes from.
struct SdSource {
  SdOrigin origin = SdOrigin::entered;
  std::string sheet = {};                     ///< name of the file, as typed
  std::optional<SdEstimate> estimate = {};    ///< of that sheet
  std::vector<std::size_t> sheet_shots = {};  ///< shots of each of its set-ups
  std::optional<Shooter> shooter = {};        ///< whose usual scatter is assumed
  bool display_entered = true;                ///< false: the display's step is assumed
};

/// The order of the shots, and the file it was written to.
struct PlannedFiring {
  std::vector<PlannedShot> shots;
  std::uint64_t seed;
  std::string title;
  std::string sheet, page;  ///< names of the files; empty where none was asked for
  Change change = Change::easy;
  std::optional<double> margin = {};
  std::string check_standard = {};              ///< its name; empty = none
  bool with_bows = false, with_arrows = false;  ///< the shots name them
};

/// A plan and what has to be known to speak of it.
struct PlanStory {
  const Plan& plan;
  SpeedUnit unit;
  std::array<std::string, 2> setups;  ///< names; "A" and "B" where none were given
  SdSource sd;
  std::optional<PlannedFiring> firing;
};

struct BowPlanStory {
  const BowPlan& plan;
  SpeedUnit unit;
  SdSource sd;
  bool costs_entered;
  std::optional<PlannedFiring> firing;
};

struct SplitStory {
  const SplitPlan& plan;
  SpeedUnit unit;
  std::array<std::string, 2> setups;
  SdSource sd;
  std::optional<PlannedFiring> firing;
};

/// What a reader of the numbers must know: where the SD comes from, how chances were worked out, whose gap it will be.
std::vector<Note> plan_notes(const PlanStory& story);
std::vector<Note> plan_notes(const BowPlanStory& story);
std::vector<Note> plan_notes(const SplitStory& story);

/// The answer for a person: sentence, what an open verdict would mean, curve, table, what it rests on, cautions.
document::Document plan_document(const PlanStory& story);
document::Document plan_document(const BowPlanStory& story);
document::Document plan_document(const SplitStory& story);

/// The same as a page that travels: with the methods and their sources.
document::Document plan_page(const PlanStory& story);
document::Document plan_page(const BowPlanStory& story);
document::Document plan_page(const SplitStory& story);

/// The order of the shots with room for readings, to be printed on one page.
document::FiringSheet firing_sheet(const PlannedFiring& firing, SpeedUnit unit, const DesignPowerOptions& how);

/// The answer for a program: `result` of docs/reference/json.md.
document::Data plan_data(const PlanStory& story);
document::Data plan_data(const BowPlanStory& story);
document::Data plan_data(const SplitStory& story);

}  // namespace shotassay::narrative
