#include <doctest/doctest.h>

#include <cstddef>
#include <string>

#include <shotassay/studies/reported_conditions.hpp>

using namespace shotassay;

TEST_CASE("reported_conditions: each item stands where its name says, and no other text is one") {
  for (std::size_t i = 0; i < checklist.size(); ++i) {
    CHECK(static_cast<std::size_t>(checklist[i].item) == i);
    CHECK(reported_item_named(checklist[i].name) == checklist[i].item);
  }
  for (const char* name : {"", "Shots", "shot", "weight", "arrow mass"}) CHECK(!reported_item_named(name));
}

TEST_CASE("reported_conditions: what nobody stated cannot be checked, and is nothing worse") {
  const ReportedConditions nothing;
  for (const ChecklistItem& line : checklist) {
    CHECK(nothing.state_of(line.item, true) == ReportedState::cannot_be_checked);
    CHECK(!nothing.words(line.item));
  }
  CHECK(nothing.count(ReportedState::cannot_be_checked, true) == 16);
  CHECK(nothing.count(ReportedState::stated, true) == 0);
}

TEST_CASE("reported_conditions: order and a common arrow are asked of a comparison only") {
  const ReportedConditions nothing;
  CHECK(nothing.count(ReportedState::not_asked, true) == 0);
  CHECK(nothing.count(ReportedState::not_asked, false) == 2);
  CHECK(nothing.state_of(ReportedItem::order, false) == ReportedState::not_asked);
  CHECK(nothing.state_of(ReportedItem::same_arrow, false) == ReportedState::not_asked);
  CHECK(nothing.count(ReportedState::cannot_be_checked, false) == 14);
}

TEST_CASE("reported_conditions: what was stated is kept as it was said, the last word counting") {
  ReportedConditions r;
  r.state(ReportedItem::draw_weight, "70 lb");
  r.state(ReportedItem::draw_weight, "70 lb, as marked");
  r.state(ReportedItem::order, "one bow after the other");
  CHECK(*r.words(ReportedItem::draw_weight) == "70 lb, as marked");
  CHECK(r.state_of(ReportedItem::draw_weight, false) == ReportedState::stated);
  CHECK(r.state_of(ReportedItem::order, true) == ReportedState::stated);
  CHECK(r.state_of(ReportedItem::order, false) == ReportedState::not_asked);
  CHECK(r.count(ReportedState::stated, true) == 2);
  CHECK(r.count(ReportedState::stated, false) == 1);
  CHECK(r.count(ReportedState::cannot_be_checked, true) == 14);
}
