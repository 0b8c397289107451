#pragma once
#include <vector>

#include <shotassay/document/data.hpp>
#include <shotassay/document/document.hpp>
#include <shotassay/narrative/envelope.hpp>
#include <shotassay/records/budget_file.hpp>
#include <shotassay/studies/budget.hpp>

namespace shotassay::narrative {

/// A budget and what has to be known to speak of it.
struct BudgetStory {
  const BudgetAnswer& answer;
  const BudgetQuestion& question;
  const BudgetFile& file;
};

/// What a reader of the numbers must know: what acts on what, how the trials stand to the law of propagation.
std::vector<Note> budget_notes(const BudgetStory& story);

/// The answer for a person: sentence, what the uncertainty is made of, the inputs, what it rests on.
document::Document budget_document(const BudgetStory& story);

/// The same within another answer: its parts, what they add up to, its inputs. No heading, no headline.
std::vector<document::Block> budget_blocks(const BudgetStory& story);

/// The same as a page that travels: with the methods and their sources.
document::Document budget_page(const BudgetStory& story);

/// The answer for a program: `result` of docs/reference/json.md.
document::Data budget_data(const BudgetStory& story);

}  // namespace shotassay::narrative
