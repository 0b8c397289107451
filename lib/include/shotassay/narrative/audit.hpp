#pragma once
#include <vector>

#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/studies/published_claim.hpp>

namespace shotassay::narrative {

/// An audit with the publication that it is of.
struct AuditStory {
  const PublishedAudit& found;
  const PublishedClaim& claim;
};

/// What a reader must know: what was assumed, what could not be counted and why, the limits of such an audit.
std::vector<Note> audit_notes(const AuditStory& story);

/// The answer for a person: can the figures be true, what do they imply, what would the claim have needed, which speed
/// is it, what is not stated. It describes figures and accuses nobody.
document::Document audit_document(const AuditStory& story);

/// The same with the figures as typed, and how it was worked out: what a page carries.
document::Document audit_page(const AuditStory& story);

/// The answer for a program: `result` of docs/reference/json.md.
document::Data audit_data(const AuditStory& story);

}  // namespace shotassay::narrative
