#pragma once
#include <string>

#include <shotassay/studies/claim_table.hpp>

#include "common.hpp"

namespace shotassay::cli {

struct AuditTableOptions {
  std::string table;      ///< "-" is standard input
  std::string out = "-";  ///< "-" is standard output
  bool force = false;     ///< an existing `out` may be replaced
  unsigned threads = 1;
  ClaimRules rules = {};
};

/// Audits the claims of a table row by row. The bytes written do not depend on the number of threads.
///
/// Throws Stop: bad_input when the table's header is wrong, before anything is written, and when rows are, once all
/// others are done and written.
ExitStatus audit_table(const AuditTableOptions& options);

}  // namespace shotassay::cli
