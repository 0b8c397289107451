#pragma once
#include <string>
#include <vector>

#include <shotassay/records/sheet.hpp>

namespace shotassay {

/// A sheet and the name of the sitting it was shot in.
struct NamedSheet {
  std::string name;
  Sheet sheet;
};

/// Several sheets as one, each sheet a session of its own.
///
/// A shot's session is the sheet's name, followed by the sheet's own session where it has one. Set-ups, bows, rounds
/// and arrows are the same when they are written the same; rounds belong to their session. Firing orders go on from
/// sheet to sheet. Title, date, place, archer, accuracy and margin are kept where all sheets that give one agree, and
/// left out otherwise; so is the plan, which belongs to one sheet.
///
/// Requires  one sheet or more, names that differ, one unit and one display step for all; otherwise DomainError, which
///           names the two sheets.
Sheet as_sessions(std::vector<NamedSheet> sheets);

}  // namespace shotassay
