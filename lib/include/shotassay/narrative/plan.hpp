#pragma once
#include <vector>

#include <shotassay/core/unit.hpp>
#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/studies/plan.hpp>

namespace shotassay::narrative {

/// A plan and the unit of its speeds.
struct PlanStory {
  const Plan& plan;
  SpeedUnit unit;
};

std::vector<Note> plan_notes(const PlanStory& story);

/// The answer for a person: sentence, what an open verdict would mean, table, what it rests on, cautions.
document::Document plan_document(const PlanStory& story);

/// The answer for a program: `result` of docs/reference/json.md.
document::Data plan_data(const PlanStory& story);

}  // namespace shotassay::narrative
