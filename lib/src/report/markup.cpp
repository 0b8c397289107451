#include "markup.hpp"

#include <shotassay/document/printable.hpp>

namespace shotassay::report {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : document::printable(text)) {
    if (c == '&')
      out += "&amp;";
    else if (c == '<')
      out += "&lt;";
    else if (c == '>')
      out += "&gt;";
    else if (c == '"')
      out += "&quot;";
    else if (c == '\'')
      out += "&#39;";
    else
      out += c;
  }
  return out;
}

// Blue, orange and a grey green stay apart for those who tell red and green badly; every mark has its own shape anyway.
std::string_view figure_style() {
  return R"(:root {
  color-scheme: light dark;
  --paper: #fbfaf6;
  --ink: #1c232e;
  --soft: #4d5766;
  --rule: #d3d1c8;
  --edge: #747b87;
  --fact: #1d5c96;
  --mark: #a34a00;
  --limit: #2f7d5f;
  --band: #e2eee7;
}
@media screen and (prefers-color-scheme: dark) {
  :root {
    --paper: #15181d;
    --ink: #e9e7e1;
    --soft: #b0b6c0;
    --rule: #363d47;
    --edge: #7d8490;
    --fact: #86bdf2;
    --mark: #f2a65a;
    --limit: #4c9079;
    --band: #1e2d27;
  }
}
@media print {
  :root { --paper: #ffffff; }
}
.figure { font-family: system-ui, sans-serif; font-size: 15px; }
.figure text { fill: var(--ink); }
.figure text.name { font-weight: 600; }
.figure text.soft { fill: var(--soft); }
.figure .paper { fill: var(--paper); }
.figure .grid { stroke: var(--rule); stroke-width: 1; }
.figure .axis { stroke: var(--edge); stroke-width: 1.5; }
.figure .zero { stroke: var(--ink); stroke-width: 1.5; }
.figure .bar { stroke: var(--ink); stroke-width: 2.5; }
.figure .slim { stroke-width: 1.5; }
.figure .astray { stroke: var(--mark); stroke-dasharray: 5 3; }
.figure .cross { stroke: var(--mark); stroke-width: 2; fill: none; }
.figure .end { fill: var(--ink); }
.figure .dot { fill: var(--fact); }
.figure .curve { stroke: var(--fact); stroke-width: 1.5; fill: none; }
.figure .mean { fill: var(--mark); stroke: var(--paper); stroke-width: 1.5; }
.figure .pointer { stroke: var(--mark); stroke-width: 2; stroke-dasharray: 2 4; }
.figure .limit { stroke: var(--limit); stroke-width: 2; stroke-dasharray: 8 5; }
.figure .band { fill: var(--band); }
.figure .share { fill: var(--fact); }
.figure .taken { fill: var(--paper); stroke: var(--fact); stroke-width: 2; stroke-dasharray: 5 3; }
@media (max-width: 30rem) {
  .figure { font-size: 20px; }
}
)";
}

}  // namespace shotassay::report
