#include "page_style.hpp"

#include <algorithm>
#include <shotassay/document/printable.hpp>

namespace shotassay::report {

namespace {

/// A table's rows as lists, each cell behind its column's title.
std::string lists(const std::string& table) {
  return table + ", " + table + " tbody, " + table + " tr, " + table + " td { display: block; }\n" +  //
         table + " thead { display: none; }\n" +                                                      //
         table + " tr { padding: 0.4rem 0; border-bottom: 1px solid var(--edge); }\n" +               //
         table + " td { padding: 0.1rem 0; border: 0; text-align: left; }\n" +                        //
         table + " td:first-child { font-weight: 600; }\n" +                                          //
         table + " td.number:not(:first-child), " + table +
         " td:not([data-label]) { display: inline-block; margin-right: 1.2rem; }\n" +  //
         table + " td:empty { display: none; }\n" +                                    //
         table +
         " td[data-label]::before { content: attr(data-label) \": \"; color: var(--soft); font-weight: 400; }\n";
}

constexpr const char* everywhere = R"(* { box-sizing: border-box; }
body {
  margin: 0;
  background: var(--paper);
  color: var(--ink);
  font: 1rem/1.5 system-ui, sans-serif;
  overflow-wrap: anywhere;
}
main { max-width: 46rem; margin: 0 auto; padding: 1.25rem 1rem 3rem; }
.page-title { margin: 0 0 1rem; color: var(--soft); font-size: 0.9rem; font-weight: 400; }
.headline { margin: 0 0 1rem; padding: 0.1rem 0 0.1rem 0.9rem; border-left: 0.35rem solid var(--edge); }
.headline { font-size: clamp(1.4rem, 1.1rem + 1.6vw, 2rem); font-weight: 650; line-height: 1.25; text-wrap: pretty; }
div.page-break { margin: 3rem 0; border-top: 1px solid var(--rule); }
h2 { margin: 2.2rem 0 0.6rem; font-size: 1.2rem; line-height: 1.3; break-after: avoid; }
p { margin: 0 0 0.9rem; max-width: 40rem; }
p[class^="tone-"] { padding-left: 0.9rem; border-left: 0.2rem solid var(--edge); }
[class].tone-resolved { border-color: var(--fact); }
[class].tone-same { border-color: var(--limit); border-left-style: double; }
[class].tone-open { border-color: var(--mark); border-left-style: dashed; }
[class].tone-caution { border-color: var(--mark); border-left-style: dotted; }
ul { margin: 0 0 0.9rem; padding: 0 0 0 1.2rem; max-width: 40rem; }
li { margin: 0 0 0.35rem; }
figure { margin: 0 0 1.2rem; break-inside: avoid; }
svg.figure { display: block; width: 100%; max-width: 40rem; height: auto; }
details { margin: 0.4rem 0 1.2rem; }
summary { color: var(--soft); font-size: 0.95rem; cursor: pointer; }
summary:focus-visible { outline: 2px solid var(--fact); outline-offset: 2px; }
.beside { columns: 18rem; column-gap: 2rem; margin: 0.3rem 0 1.2rem; }
.beside table { width: 100%; margin: 0; }
table { border-collapse: collapse; margin: 0.3rem 0 1.2rem; font-variant-numeric: tabular-nums; }
th, td { overflow-wrap: break-word; }
.long { overflow-wrap: anywhere; min-width: 12ch; }
th, td { padding: 0.3rem 0.9rem 0.3rem 0; text-align: left; vertical-align: top; border-bottom: 1px solid var(--rule); }
th { color: var(--soft); font-weight: 600; font-size: 0.9rem; vertical-align: bottom; }
thead th { border-bottom: 1.5px solid var(--edge); }
.number { text-align: right; }
td.number { white-space: nowrap; }
tr { break-inside: avoid; }
.sheet { margin: 2.5rem 0; padding: 1rem; border: 1.5px solid var(--edge); border-radius: 0.4rem; }
.sheet h2 { margin-top: 0; }
.sheet table { width: 100%; }
.sheet td { height: 2rem; border: 1px solid var(--edge); padding: 0.2rem 0.5rem; vertical-align: middle; }
.sheet th { padding: 0.2rem 0.5rem; }
.sheet .written { width: 1%; }
.sheet .written:not(.long) { white-space: nowrap; }
.sheet .blank { text-align: left; }
.particulars { color: var(--soft); font-size: 0.95rem; margin: 0 0 0.2rem; max-width: none; }
.remarks { display: grid; grid-template-columns: 1fr 1fr; gap: 0 1.5rem; margin: 0 0 1rem; padding: 0; max-width: none; }
.remarks li { display: flex; gap: 0.5rem; align-items: flex-end; height: 2.2rem; margin: 0; list-style: none; }
.remarks li::after { content: ""; flex: 1; border-bottom: 1px solid var(--edge); min-width: 4rem; }
.cautions { font-size: 0.9rem; max-width: none; }
)";

constexpr const char* narrow = R"(@media screen and (max-width: 40rem) {
  .remarks { grid-template-columns: 1fr; }
  .sheet { padding: 0.6rem; }
  .sheet th, .sheet td { padding: 0.2rem 0.35rem; }
  .sheet .blank { display: none; }
}
)";

constexpr const char* paper = R"(@media print {
  @page { margin: 12mm; }
  body { font-size: 10.5pt; line-height: 1.35; }
  main { max-width: none; padding: 0; }
  h2 { margin-top: 1.1rem; }
  div.page-break { break-before: page; margin: 0; border: 0; }
  div.page-break + h2 { margin-top: 0; }
  summary { list-style: none; break-after: avoid; }
  details::details-content { content-visibility: visible; block-size: auto; }
  .without-numbers details, .without-numbers .page-title { display: none; }
  svg.figure { max-width: 150mm; max-height: 220mm; }
  table:not(:has(tr:nth-child(16))) { break-inside: avoid; }
  .sheet { break-before: page; break-after: page; margin: 0; padding: 0 0.5mm; border: 0; font-size: 10pt; line-height: 1.25; }
  .sheet td { padding-top: 0; padding-bottom: 0; line-height: 1.1; height: min(11mm, var(--room) / var(--rows)); }
  .sheet h2 { margin-bottom: 2mm; }
  .sheet table { margin-bottom: 2mm; }
  .particulars { font-size: 9pt; line-height: 1.25; }
  .remarks { margin: 0 0 2mm; }
  .remarks li { height: 7.5mm; }
  .cautions { font-size: 8.5pt; margin: 0; }
  .cautions li { margin: 0; }
}
)";

}  // namespace

std::string page_style() {
  return std::string{everywhere} + narrow + "@media screen and (max-width: 48rem) {\n" + lists(".broad") + "}\n" +
         "@media screen {\n" + lists(".vast") + "}\n" + paper;
}

// The sizes are those that the rules for paper set, in letters of a wide face.
int room_for_rows(const document::FiringSheet& sheet) {
  const auto lines = [](const std::string& text, std::size_t letters) {
    const std::size_t whole = (document::display_width(text) + letters - 1) / letters;
    return static_cast<double>(whole);
  };
  constexpr double page = 250, heads = 13, line_of_remarks = 7.5, margins = 5;  // of 255 mm between Letter's margins
  double taken = heads + margins + 2 + 6.5 * lines(sheet.title, 55);
  for (const auto& text : sheet.particulars) taken += 0.9 + 4 * lines(text, 92);
  for (const auto& text : sheet.cautions) taken += 3.8 * lines(text, 100);
  const std::size_t lines_of_remarks = (sheet.remarks.size() + 1) / 2;
  taken += line_of_remarks * static_cast<double>(lines_of_remarks);
  return static_cast<int>(page - std::min(taken, page / 2));
}

}  // namespace shotassay::report
