"""How a page looks and what it does by itself: its style sheet for screen and A4, and its one script.

Without the script everything can still be read: details open at a click, tables stand in their own order.
"""

from typing import Final

STYLE: Final = """
:root { --accent: #0b6e6e; }
body { font: 16px/1.45 "Source Sans 3", "Noto Sans", "DejaVu Sans", sans-serif; color: #111; background: #fff;
       max-width: 72rem; margin: 1rem auto; padding: 0 1rem; overflow-wrap: break-word; }
h1 { font-size: 1.5rem; margin: 0 0 .2rem; color: var(--accent); }
h2 { font-size: 1.15rem; margin: 1.6rem 0 .4rem; border-bottom: 1px solid var(--accent); }
a { color: var(--accent); }
p { margin: .5rem 0; max-width: 48rem; }
p.marked { border-left: 4px solid #111; padding-left: .7rem; }
p.marked::before { content: "! "; font-weight: bold; }
header p.printed { display: none; }
table { border-collapse: collapse; margin: .6rem 0; font-size: .9rem; overflow-wrap: normal; }
th, td { text-align: left; vertical-align: top; padding: .15rem .8rem .15rem 0; border-bottom: 1px solid #ddd; }
th { border-bottom: 1px solid #111; }
th[tabindex] { cursor: pointer; }
th[aria-sort=descending]::after { content: " ▾"; } th[aria-sort=ascending]::after { content: " ▴"; }
td.number, th.number { text-align: right; font-variant-numeric: tabular-nums; }
td.bar { font-family: "DejaVu Sans Mono", monospace; white-space: pre; }
pre { font-size: .85rem; white-space: pre-wrap; user-select: all; margin: .2rem 0; }
figure { margin: .8rem 0; break-inside: avoid; }
figcaption { font-size: .85rem; color: #333; }
nav ol { columns: 20rem; margin: .4rem 0; padding-left: 1.6rem; font-size: .9rem; }
summary { cursor: pointer; } summary h2 { display: inline-block; border: none; margin: .5rem 0; }
section.caution { border: 2px solid #111; padding: .2rem .8rem; margin: 1.2rem 0; break-inside: avoid; }
section.caution h2 { border: none; margin: .3rem 0; }
.wide, .drawing { overflow-x: auto; }
.requirement input { width: 100%; max-width: 36rem; accent-color: var(--accent); }
header { border-bottom: 2px solid var(--accent); } header p { color: #333; display: inline; }
header { padding-bottom: .4rem; }
.lead p { margin: .35rem 0; } .lead figure, .lead table { margin: .5rem 0; }
.foot p { font-size: .85rem; color: #333; }
.verdict p { font-size: 1.05rem; } .verdict strong { font-size: 1.2rem; line-height: 1.3; }
@media (min-width: 900px) {
  .lead { display: grid; grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); gap: 0 1.5rem; align-items: start; }
  .shown { grid-area: 1 / 2; } .lead > section { grid-column: 1 / 3; } .lead svg { max-height: 27rem; }
}
@media screen and (max-width: 600px) {
  .stacks thead { display: none; } .stacks tr, .stacks td { display: block; border: none; padding: 0; }
  .stacks tr { border-bottom: 1px solid #ddd; padding: .3rem 0; } .stacks td:first-child { font-weight: bold; }
  .stacks td:empty { display: none; } .stacks td:not([data-head]) { display: inline; padding-right: .5rem; }
  .stacks td.number { text-align: left; }
  .stacks td[data-head]::before { content: attr(data-head) ": "; color: #333; font-weight: normal; }
  th, td { padding-right: .5rem; } figure svg { min-width: 30rem; }
}
@media print {
  @page { size: A4; margin: 15mm 15mm 18mm;
          @bottom-right { font: 8pt sans-serif; content: counter(page) " / " counter(pages); } }
  body { font-size: 10pt; margin: 0; padding: 0; max-width: none; }
  header p.printed { display: block; } nav, .requirement p { display: none; }
  .lead { display: block; } .lead svg { max-height: 75mm; }
  .wide, .drawing { overflow: visible; } table { font-size: 8pt; } th, td { padding-right: .45rem; }
  table.many { font-size: 6.5pt; } table.many :is(th, td) { padding-right: .25rem; }
  tr, table.short, pre { break-inside: avoid; } thead { display: table-header-group; }
  h1, h2, summary, p:has(+ .wide) { break-after: avoid; } section.caution { font-size: 9pt; margin: .5rem 0; }
  tbody tr:nth-child(-n+2) { break-after: avoid; } tbody tr:nth-last-child(-n+2) { break-before: avoid; }
  p { orphans: 3; widows: 3; } summary { list-style: none; }
  details::details-content { content-visibility: visible; display: block; }
  div.reviewer { break-before: page; }
}
"""

SCRIPT: Final = """
"use strict";
const digits = "⁰¹²³⁴⁵⁶⁷⁸⁹";
function numberOf(text) {
  const found = text.replace(/\\u2212/g, "-").replace(/\\u00a0/g, " ")
    .match(/-?\\d+(?:\\.\\d+)?(?:e[-+]?\\d+)?(?: × 10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?/);
  if (!found) return null;
  const power = (found[1] || "").replace("⁻", "-").replace(/[⁰¹²³⁴⁵⁶⁷⁸⁹]/g, digit => digits.indexOf(digit));
  return parseFloat(found[0]) * 10 ** Number(power || 0);
}
function sorted(rows, column, sign, numeric) {
  const key = row => row.cells[column].textContent.trim();
  const value = row => numeric ? numberOf(key(row)) : null;
  return [...rows].sort((a, b) => {
    const first = value(a), second = value(b);
    if (first === null && second === null) return sign * key(a).localeCompare(key(b));
    if (first === null || second === null) return first === null ? 1 : -1;
    return sign * (first - second);
  });
}
function chance(quantiles, value, atLeast) {
  if (!atLeast) return chance(quantiles.map(quantile => -quantile).reverse(), -value, true);
  const below = quantiles.findIndex(quantile => quantile >= value);
  if (below < 0) return 0;
  if (below === 0) return 1;
  const lower = quantiles[below - 1], upper = quantiles[below];
  return 1 - (below - 1 + (value - lower) / (upper - lower)) / (quantiles.length - 1);
}
function said(of, place) {
  const low = of.quantiles[1], high = of.quantiles[of.quantiles.length - 2];
  const value = Number((low + (high - low) * place / of.places).toPrecision(3));
  const share = Math.floor(100 * chance(of.quantiles, value, of.atLeast) + 0.5);
  return [`${value} ${of.unit}`.trim(), `${share} %`];
}
for (const part of document.querySelectorAll(".requirement")) {
  const of = JSON.parse(part.querySelector("script").textContent);
  const slider = part.querySelector("input"), output = part.querySelector("output");
  const tell = () => { output.textContent = said(of, Number(slider.value)).join(": chance "); };
  slider.addEventListener("input", tell);
  part.querySelector("p").hidden = false;
  tell();
}
for (const table of document.querySelectorAll("table.sortable")) {
  const body = table.tBodies[0], asWritten = [...body.rows], heads = [...table.tHead.rows[0].cells];
  heads.forEach((head, column) => {
    head.tabIndex = 0;
    head.title = "sorts: largest first, smallest first, as it was";
    const turn = () => {
      const next = { none: "descending", descending: "ascending", ascending: "none" };
      const order = next[head.getAttribute("aria-sort") || "none"];
      heads.forEach(other => other.setAttribute("aria-sort", "none"));
      head.setAttribute("aria-sort", order);
      const numeric = head.classList.contains("number"), sign = order === "ascending" ? 1 : -1;
      body.append(...(order === "none" ? asWritten : sorted(asWritten, column, sign, numeric)));
    };
    head.addEventListener("click", turn);
    head.addEventListener("keydown", event => { if (event.key === "Enter") turn(); });
  });
}
function opened() {
  const aim = location.hash && document.getElementById(location.hash.slice(1));
  if (aim) for (const part of aim.querySelectorAll("details")) part.open = true;
}
addEventListener("hashchange", opened);
opened();
let shut = [];
addEventListener("beforeprint", () => {
  shut = [...document.querySelectorAll("details:not([open])")];
  for (const part of shut) part.open = true;
  const today = new Date().toLocaleDateString("sv");
  for (const line of document.querySelectorAll("p.printed")) line.textContent = "Printed on " + today;
});
addEventListener("afterprint", () => { for (const part of shut) part.open = false; });
"""
