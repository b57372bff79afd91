"use strict";
// Find in the document, and filter the columns of long tables. Reads and writes text only.

const find = document.getElementById("find");
const found = document.getElementById("found");
const sections = [...document.querySelectorAll("main > section")];
const tables = [...document.querySelectorAll("main table")].map((table) => ({
  table,
  rows: [...table.tBodies].flatMap((body) => [...body.rows]),
  filters: [],
}));
const LONG = 8; // rows from which a table gets filters

const words = (text) => text.toLowerCase().split(/\s+/).filter(Boolean);
const holds = (element, wanted) => {
  const text = element.textContent.toLowerCase();
  return wanted.every((word) => text.includes(word));
};

function passes(row, filters) {
  return filters.every((filter, column) => holds(row.cells[column], words(filter.value)));
}

function show() {
  const wanted = words(find.value);
  let count = 0;
  for (const { rows, filters } of tables) {
    const matching = rows.filter((row) => holds(row, wanted));
    // A table without a match stays whole: its section may match by its words.
    const kept = new Set(matching.length > 0 ? matching : rows);
    for (const row of rows) row.hidden = !(kept.has(row) && passes(row, filters));
    if (wanted.length > 0) count += matching.length;
  }
  let places = 0;
  for (const section of sections) {
    section.hidden = !holds(section, wanted);
    if (!section.hidden) places += 1;
  }
  found.textContent = wanted.length === 0 ? ""
    : places === 0 ? "Not found"
    : `${count} ${count === 1 ? "row" : "rows"}, ${places} ${places === 1 ? "section" : "sections"}`;
}

function addFilters(entry) {
  const line = document.createElement("tr");
  line.className = "filters";
  for (const heading of entry.table.tHead.rows[0].cells) {
    const cell = document.createElement("td");
    const input = document.createElement("input");
    input.type = "search";
    input.setAttribute("aria-label", `Rows whose ${heading.textContent} contains`);
    input.addEventListener("input", show);
    cell.append(input);
    line.append(cell);
    entry.filters.push(input);
  }
  entry.table.tHead.append(line);
}

tables.filter((entry) => entry.rows.length >= LONG).forEach(addFilters);
find.addEventListener("input", show);
document.querySelector(".find").hidden = false;

// A link to a place that the search hides shows everything again.
window.addEventListener("hashchange", () => {
  const target = document.getElementById(location.hash.slice(1));
  if (target && target.closest("[hidden]")) {
    find.value = "";
    show();
  }
  document.querySelector("details.narrow").open = false;
});
