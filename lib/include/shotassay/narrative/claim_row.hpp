#pragma once
#include <string>

#include <shotassay/studies/claim_table.hpp>

namespace shotassay::narrative {

/// How a table of verdicts is written: as the table of claims was.
struct TableForm {
  char separator = ',';
  char decimal_mark = '.';
};

/// Names of the columns, and one row: RFC 4180 text, each ended by LF. The format's page is docs/reference/claims.md.
///
/// Numbers have ten significant digits, counts of pairs all of theirs.
std::string claim_row_header(const TableForm& form);
void append_claim_row(std::string& out, const AuditedClaim& claim, const TableForm& form);

}  // namespace shotassay::narrative
