#include <shotassay/report/clinic_page.hpp>

#include <shotassay/report/json.hpp>
#include <string_view>

#include "markup.hpp"
#include "page_style.hpp"

namespace shotassay::report {

namespace {

using document::Data;

constexpr std::string_view style =
    R"(form { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 0.8rem 2rem; margin: 0 0 1.2rem; }
label { display: block; }
figcaption { color: var(--soft); font-size: 0.95rem; }
label span { display: flex; justify-content: space-between; }
output { white-space: nowrap; font-weight: 600; font-variant-numeric: tabular-nums; }
input { width: 100%; margin: 0.2rem 0 0; accent-color: var(--fact); }
button { font: inherit; margin: 0 0.6rem 0.6rem 0; padding: 0.5rem 1rem; color: var(--ink); background: var(--paper);
  border: 1.5px solid var(--edge); border-radius: 0.4rem; cursor: pointer; }
button:first-of-type { background: var(--ink); color: var(--paper); }
:focus-visible { outline: 2px solid var(--fact); outline-offset: 2px; }
#pile { width: 100%; max-width: 40rem; }
#pile .share { height: 0.7rem; background: var(--fact); }
#pile tr > :nth-child(n + 2) { width: 36%; }
)";

// The script's own arithmetic; its texts are those of `texts`.
constexpr std::string_view script = R"('use strict';
const clinic = (() => {
  // ln(Gamma(a + 1/2) / Gamma(a)): shifted up to where its series in 1/a is short.
  function gammaRatio(a) {
    let factor = 1;
    for (; a < 25; ++a) factor *= a / (a + 0.5);
    const w = 1 / (a * a);
    const series = (-1 / 8 + w * (1 / 192 + w * (-1 / 640 + w * (17 / 14336 - w * 31 / 18432)))) / a;
    return factor * Math.sqrt(a) * Math.exp(series);
  }
  // Continued fraction of the incomplete beta function, by modified Lentz.
  function betaFraction(a, b, x) {
    const tiny = 1e-300;
    let c = 1, d = 1 - (a + b) * x / (a + 1);
    d = 1 / (Math.abs(d) < tiny ? tiny : d);
    let h = d;
    for (let m = 1; m <= 2000; ++m) {
      for (const k of [m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
                       -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))]) {
        d = 1 + k * d;
        d = 1 / (Math.abs(d) < tiny ? tiny : d);
        c = 1 + k / c;
        if (Math.abs(c) < tiny) c = tiny;
        h *= d * c;
      }
      if (Math.abs(d * c - 1) < 1e-16) break;
    }
    return h;
  }
  function tDensity(t, nu) {
    return gammaRatio(nu / 2) / Math.sqrt(nu * Math.PI) * Math.exp(-(nu + 1) / 2 * Math.log1p(t * t / nu));
  }
  // P(T > t), t >= 0.
  function tUpperTail(t, nu) {
    const a = nu / 2, x = nu / (nu + t * t), y = t * t / (nu + t * t);
    const front = gammaRatio(a) / Math.sqrt(Math.PI) * Math.exp(-a * Math.log1p(t * t / nu)) * Math.sqrt(y);
    return x < (a + 1) / (a + 2.5) ? 0.5 * front * betaFraction(a, 0.5, x) / a
                                   : 0.5 - front * betaFraction(0.5, a, y);
  }
  // The tail is convex for t > 0, so Newton's steps from 0 never pass the root.
  function tUpperQuantile(p, nu) {
    let t = 0;
    for (let i = 0; i < 200; ++i) {
      const step = (tUpperTail(t, nu) - p) / tDensity(t, nu);
      t += step;
      if (Math.abs(step) <= 1e-15 * t) break;
    }
    return t;
  }

  // Readings in whole display steps.
  function group(readings) {
    const n = readings.length, low = Math.min(...readings), high = Math.max(...readings);
    let sum = 0, squares = 0;
    for (const y of readings) { sum += y - low; squares += (y - low) * (y - low); }
    const variance = (n * squares - sum * sum) / (n * (n - 1));
    return {n, mean: low + sum / n, equal: high === low, edge: high - low <= 1 ? Math.abs(sum / n - 0.5) : 0,
            v: Math.max(variance, n === 2 ? 1 / 4 : 1 / 12) / n};
  }
  // The gap of b against a and its half-width, in steps, at error rate alpha.
  function interval(a, b, alpha) {
    const g = group(a), h = group(b);
    const sampling = (extra) => {
      const total = g.v + h.v + extra, p = g.v / total, q = h.v / total;
      const nu = 1 / (p * p / (g.n - 1) + q * q / (h.n - 1));
      return tUpperQuantile(alpha / 2, nu) * Math.sqrt(total);
    };
    let bound = g.edge + h.edge;
    if (g.equal !== h.equal) {
      const other = g.equal ? h : g;
      bound = Math.max(bound, 0.5 + tUpperQuantile(alpha, other.n - 1) * Math.sqrt(other.v));
    }
    return {gap: h.mean - g.mean,
            half: Math.max(sampling(0), sampling((g.edge * g.edge + h.edge * h.edge) / 3), bound)};
  }
  // -1: a is faster, 0: cannot tell, 1: b is faster. A limit on 0 does not leave it out.
  function verdict({gap, half}) {
    const slack = 1e-11 * (Math.abs(gap) + half);
    return gap - half > slack ? 1 : gap + half < -slack ? -1 : 0;
  }
  return {interval, verdict, tUpperQuantile};
})();

(() => {
  const at = (id) => document.getElementById(id);
  const decimalsOf = (step) => Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
  let pile;

  function question() {
    const step = texts.steps[+at('step').value];
    return {shots: +at('shots').value, sd: +at('sd').value, gap: +at('gap').value, step};
  }
  function normal() {
    return Math.sqrt(-2 * Math.log(1 - Math.random())) * Math.cos(2 * Math.PI * Math.random());
  }
  function shoot(q) {
    const slower = texts.speed + (Math.random() - 0.5) * q.step;
    const shots = (average) => Array.from({length: q.shots}, () => Math.floor((average + q.sd * normal()) / q.step + 0.5));
    return {a: shots(slower), b: shots(slower + q.gap)};
  }
  function number(x, decimals) {
    const text = Math.abs(x).toFixed(decimals);
    return x < 0 && Number(text) !== 0 ? '\u2212' + text : text;
  }
  const signed = (x, decimals) => (x > 0 && Number(x.toFixed(decimals)) !== 0 ? '+' : '') + number(x, decimals);
  const filled = (text, values) => text.replace(/\{(\w+)\}/g, (_, key) => values[key]);
  const says = (who) => who > 0 ? texts.b_faster : who < 0 ? texts.a_faster : texts.cannot_tell;

  function judge(test) {
    const found = clinic.interval(test.a, test.b, texts.alpha);
    return {...found, tool: clinic.verdict(found), averages: Math.sign(found.gap)};
  }
  function add(judged) {
    ++pile.tests;
    ++pile.tool[judged.tool + 1];
    ++pile.averages[judged.averages + 1];
  }
  function dots(test, q) {
    const all = [...test.a, ...test.b], low = Math.min(...all) - 1, high = Math.max(...all) + 1;
    const place = (s) => 20 + (s - low) / (high - low) * 520, decimals = decimalsOf(q.step);
    const radius = Math.max(3, Math.min(7, 0.42 * 520 / (high - low)));
    let out = '', y = 14;
    for (const [label, shots] of [['A', test.a], ['B', test.b]]) {
      const heights = {};
      for (const s of shots) heights[s] = (heights[s] || 0) + 1;
      const tallest = Math.min(10, Math.max(...Object.values(heights)));
      const ground = y + 30 + tallest * (2 * radius + 1);
      out += `<text class="name" x="14" y="${y + 16}">${label}</text>`;
      for (const s in heights)
        for (let i = 0; i < Math.min(10, heights[s]); ++i)
          out += `<circle class="dot" cx="${place(+s)}" cy="${ground - radius - i * (2 * radius + 1)}" r="${radius}"/>`;
      const mean = shots.reduce((x, s) => x + s, 0) / shots.length;
      out += `<path class="mean" d="M${place(mean)} ${ground + 4}l8 8l-8 8l-8 -8z"/>`;
      y = ground + 24;
    }
    out += `<line class="axis" x1="20" x2="540" y1="${y + 4}" y2="${y + 4}"/>`;
    const every = Math.max(1, Math.ceil((high - low) / 7));
    for (let s = low; s <= high; s += every) {
      out += `<line class="axis" x1="${place(s)}" x2="${place(s)}" y1="${y + 4}" y2="${y + 10}"/>` +
             `<text text-anchor="middle" x="${place(s)}" y="${y + 30}">${number(s * q.step, decimals)}</text>`;
    }
    const svg = at('shots-figure');
    svg.setAttribute('viewBox', `0 0 560 ${y + 40}`);
    svg.innerHTML = out;
    svg.setAttribute('aria-label', filled(texts.figure, {
      a: test.a.map((s) => number(s * q.step, decimals)).join(', '),
      b: test.b.map((s) => number(s * q.step, decimals)).join(', ')}));
  }
  function show(test, judged, q) {
    const d = decimalsOf(q.step) + 1;
    dots(test, q);
    at('verdict').textContent = filled(texts.verdict, {
      averages: says(judged.averages), tool: says(judged.tool), gap: signed(judged.gap * q.step, d),
      from: signed((judged.gap - judged.half) * q.step, d), to: signed((judged.gap + judged.half) * q.step, d)});
    at('truth').textContent = q.gap === 0 ? texts.truth_none : filled(texts.truth, {gap: number(q.gap, 1)});
    at('tests').textContent = filled(texts.tests, {tests: pile.tests});
    for (const who of [-1, 0, 1])
      for (const by of ['averages', 'tool']) {
        const cell = at(by + who), share = pile[by][who + 1] / pile.tests;
        cell.querySelector('.share').style.width = `${100 * share}%`;
        cell.querySelector('.count').textContent = `${pile[by][who + 1]} (${Math.round(100 * share)} %)`;
      }
  }
  function run(tests) {
    const q = question();
    let test, judged;
    for (let i = 0; i < tests; ++i) {
      test = shoot(q);
      judged = judge(test);
      add(judged);
    }
    show(test, judged, q);
  }
  function restart() {
    const q = question();
    at('shots-value').textContent = q.shots;
    at('sd-value').textContent = `${number(q.sd, 1)} ${texts.unit}`;
    at('gap-value').textContent = `${number(q.gap, 1)} ${texts.unit}`;
    at('step-value').textContent = `${q.step} ${texts.unit}`;
    pile = {tests: 0, tool: [0, 0, 0], averages: [0, 0, 0]};
    run(1);
  }
  at('settings').addEventListener('input', restart);
  at('again').addEventListener('click', () => run(1));
  at('many').addEventListener('click', () => run(100));
  at('restart').addEventListener('click', restart);
  restart();
})();
)";

class Texts {
 public:
  explicit Texts(const Data& texts) : texts_{std::get<Data::Object>(texts.value())} {}

  std::string operator[](std::string_view key) const {
    for (const auto& [name, value] : texts_)
      if (name == key) return escaped(std::get<std::string>(value.value()));
    return {};
  }

 private:
  const Data::Object& texts_;
};

std::string slider(const Texts& text, const std::string& id, const std::string& range) {
  return "<label><span>" + text[id + "_label"] + " <output id=\"" + id + "-value\"></output></span>" +
         "<input type=\"range\" id=\"" + id + "\" " + range + "></label>\n";
}

/// JSON that may stand in a script element.
std::string in_script(const Data& data) {
  std::string out;
  for (const char c : render_json(data)) {
    if (c == '<')
      out += "\\u003c";
    else
      out += c;
  }
  return out;
}

std::string pile_row(const std::string& label, const std::string& who) {
  const auto cell = [&](const std::string& by) {
    return "<td id=\"" + by + who + "\"><div class=\"share\"></div><span class=\"count\"></span></td>";
  };
  return "<tr><th scope=\"row\">" + label + "</th>" + cell("averages") + cell("tool") + "</tr>\n";
}

}  // namespace

std::string render_clinic_page(const Data& texts) {
  const Texts text{texts};
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
  out += "<title>" + text["title"] + "</title>\n<style>\n";
  out.append(figure_style()).append(page_style()).append(style);
  out += "</style>\n</head>\n<body>\n<main>\n<h1 class=\"headline\">" + text["headline"] + "</h1>\n";
  out += "<p>" + text["invitation"] + "</p>\n<noscript><p>" + text["no_script"] + "</p></noscript>\n";
  out += "<form id=\"settings\">\n";
  out += slider(text, "shots", "min=\"2\" max=\"30\" step=\"1\" value=\"3\"");
  out += slider(text, "sd", "min=\"0.1\" max=\"5\" step=\"0.1\" value=\"" + text["sd_value"] + "\"");
  out += slider(text, "gap", "min=\"0\" max=\"6\" step=\"0.1\" value=\"" + text["gap_value"] + "\"");
  out += slider(text, "step", "min=\"0\" max=\"4\" step=\"1\" value=\"2\"");
  out += "</form>\n<p><button type=\"button\" id=\"again\">" + text["again"] + "</button>" +
         "<button type=\"button\" id=\"many\">" + text["many"] + "</button>" +
         "<button type=\"button\" id=\"restart\">" + text["restart"] + "</button></p>\n";
  out += "<figure><svg class=\"figure\" id=\"shots-figure\" role=\"img\" viewBox=\"0 0 560 200\"></svg><figcaption>" +
         text["figure_legend"] + "</figcaption></figure>\n";
  out += "<p id=\"verdict\" aria-live=\"polite\"></p>\n<p id=\"truth\"></p>\n";
  out += "<h2>" + text["pile_title"] +
         "</h2>\n<p id=\"tests\"></p>\n<table id=\"pile\">\n<thead><tr><td></td><th scope=\"col\">" +
         text["by_averages"] + "</th><th scope=\"col\">" + text["by_tool"] + "</th></tr></thead>\n<tbody>\n";
  out += pile_row(text["a_faster"], "-1") + pile_row(text["cannot_tell"], "0") + pile_row(text["b_faster"], "1");
  out += "</tbody>\n</table>\n<p>" + text["what_to_try"] +
         "</p>\n</main>\n<script>\nconst texts = " + in_script(texts) + ";\n";
  out.append(script);
  out += "</script>\n</body>\n</html>\n";
  return out;
}

}  // namespace shotassay::report
