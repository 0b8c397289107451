// The reading of a table of claims in pieces of any length, and the verdict row of each claim.
#include <shotassay/narrative/claim_row.hpp>
#include <shotassay/records/claim_table.hpp>
#include <shotassay/records/csv_row.hpp>
#include <shotassay/studies/claim_table.hpp>

#include <algorithm>
#include <cstring>

#include "checks.hpp"

using namespace shotassay;
using namespace shotassay::fuzz;

namespace {

class Pieces : public ByteSource {
 public:
  Pieces(std::string_view text, std::size_t most) : rest_{text}, most_{most} {}
  std::size_t read(char* to, std::size_t most) override {
    const std::size_t n = std::min({most, most_, rest_.size()});
    std::memcpy(to, rest_.data(), n);
    rest_.remove_prefix(n);
    return n;
  }

 private:
  std::string_view rest_;
  std::size_t most_;
};

bool same(const std::optional<Decimal>& a, const std::optional<Decimal>& b) {
  return a.has_value() == b.has_value() && (!a || a->text() == b->text());
}

bool same(const ClaimRow& a, const ClaimRow& b) {
  bool equal = a.line == b.line && a.name == b.name && a.word == b.word && same(a.display, b.display) &&
               same(a.margin, b.margin) && a.problems.size() == b.problems.size();
  for (std::size_t s = 0; s < 2; ++s) {
    const ClaimedSetup &x = a.setups[s], &y = b.setups[s];
    equal = equal && x.shots.has_value() == y.shots.has_value() && same(x.average, y.average) && same(x.sd, y.sd) &&
            same(x.low, y.low) && same(x.high, y.high) && same(x.spread, y.spread);
  }
  for (std::size_t p = 0; equal && p < a.problems.size(); ++p)
    equal = a.problems[p].message == b.problems[p].message && a.problems[p].found == b.problems[p].found &&
            a.problems[p].column == b.problems[p].column && a.problems[p].line == b.problems[p].line;
  return equal;
}

void check_row(const ClaimRow& row) {
  for (const ClaimedSetup& setup : row.setups)
    if (setup.shots) require(setup.shots->fewest >= 1 && setup.shots->fewest <= setup.shots->most);
  if (!row.problems.empty()) return;
  require(!row.display || row.display->coefficient() > 0);
  require(!row.margin || row.margin->coefficient() > 0);
}

/// One row of RFC 4180 that gives the claim's text back, in a form that no spreadsheet program obeys.
void check_verdict(const ClaimRow& claim, ClaimAuditor& auditor, const narrative::TableForm& form) {
  const AuditedClaim audited = auditor(claim);
  std::string text;
  narrative::append_claim_row(text, audited, form);
  const std::string header_text = narrative::claim_row_header(form);
  CsvReader header{header_text, form.separator}, rows{text, form.separator};
  const std::size_t columns = header.next().size();
  const auto cells = rows.next();
  require(cells.size() == columns && rows.position() == text.size());
  for (const Cell& cell : cells) {
    require(cell.fault == CellFault::none);
    require(cell.text.empty() || std::string_view{"=+@\t\r\n"}.find(cell.text.front()) == std::string_view::npos);
  }
  require(cells[1].text == without_formula(claim.name));
  require(harmless(cells.back().text));
  if (audited.difference) require(audited.difference->lower <= audited.difference->upper);
  if (audited.tightest) require(audited.tightest->lower <= audited.tightest->upper);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const std::size_t lines = line_count(text);
  Pieces whole{text, text.size()}, bytes{text, 1};
  ClaimTableReader reader{whole}, slow{bytes};
  check_problems(reader.problems(), lines);
  require(reader.problems().size() == slow.problems().size());
  ClaimRules rules{.shots = ShotCount{3, 3}};
  rules.budget = {.operations = 1e4, .bytes = 1024 * 1024};
  ClaimAuditor auditor{rules};
  std::size_t last = 0, audited = 0;
  for (;;) {
    const auto row = reader.next(), again = slow.next();
    require(row.has_value() == again.has_value());
    if (!row) break;
    require(same(*row, *again));
    require(row->line > last && row->line <= lines);
    last = row->line;
    check_problems(row->problems, lines);
    check_row(*row);
    if (++audited > 4) continue;  // each costs as much as all the reading
    check_verdict(*row, auditor,
                  {.separator = reader.separator(), .decimal_mark = reader.decimal_mark().value_or('.')});
  }
  require(reader.problems().empty() || last == 0);
  return 0;
}
