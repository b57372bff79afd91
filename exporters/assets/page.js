"use strict";
// Find in the document, and filter the columns of long tables. Reads and writes text only.

const find = document.getElementById("find");
const found = document.getElementById("found");
const LONG = 8; // rows from which a table gets filters

const words = (text) => text.toLowerCase().split(/\s+/).filter(Boolean);
const texts = new WeakMap(); // what an element says never changes
function holds(element, wanted) {
  if (wanted.length === 0) return true;
  let text = texts.get(element);
  if (text === undefined) texts.set(element, (text = element.textContent.toLowerCase()));
  return wanted.every((word) => text.includes(word));
}

// A section is groups: what stands under each heading, up to the next.
const sections = [...document.querySelectorAll("main > section")].map((element) => {
  const groups = [];
  for (const child of element.children) {
    if (groups.length === 0 || child.matches("h1, h2, h3")) groups.push({ parts: [], tables: [] });
    const group = groups[groups.length - 1];
    group.parts.push(child);
    for (const table of child.querySelectorAll("table")) {
      const rows = [...table.tBodies].flatMap((body) => [...body.rows]);
      group.tables.push({ table, box: child, rows, filters: [] });
    }
  }
  return { element, groups };
});
const tables = sections.flatMap(({ groups }) => groups.flatMap((group) => group.tables));

const passes = (row, typed) =>
  typed.every((wanted, column) => wanted.length === 0 || holds(row.cells[column], wanted));

// Shows of a group the rows that hold the words; all of it when its heading does, or the whole of
// it together; nothing when it does not. Gives the number of rows found, or -1 for nothing.
function showGroup({ parts, tables }, wanted) {
  const whole = holds(parts[0], wanted);
  const matching = new Set(tables.flatMap(({ rows }) => rows.filter((row) => holds(row, wanted))));
  const some = !whole && matching.size > 0;
  const none = !whole && !some && !wanted.every((word) => parts.some((part) => holds(part, [word])));
  for (const part of parts) if (part.hidden !== none) part.hidden = none;
  for (const { box, rows, filters } of tables) {
    const typed = filters.map((filter) => words(filter.value));
    for (const row of rows) {
      const hidden = (some && !matching.has(row)) || !passes(row, typed);
      if (row.hidden !== hidden) row.hidden = hidden;
    }
    if (some) box.hidden = !rows.some((row) => matching.has(row));
  }
  return none ? -1 : matching.size;
}

// Lets the browser draw and take keys in between, so that a large document never stands still.
const SLICE_MS = 30;
const drawn = () => new Promise((done) => requestAnimationFrame(() => done()));
let asked = 0;

async function show() {
  const mine = (asked += 1);
  const wanted = words(find.value);
  let rows = 0;
  let places = 0;
  let until = performance.now() + SLICE_MS;
  for (const { element, groups } of sections) {
    let some = false;
    for (const group of groups) {
      if (performance.now() > until) {
        await drawn();
        if (mine !== asked) return; // other words were typed meanwhile
        until = performance.now() + SLICE_MS;
      }
      const count = showGroup(group, wanted);
      if (count >= 0) some = true;
      rows += Math.max(count, 0);
    }
    if (element.hidden === some) element.hidden = !some;
    groups[0].parts[0].hidden = false; // the section's own heading
    if (some) places += 1;
  }
  found.textContent = wanted.length === 0 ? ""
    : places === 0 ? "Not found"
    : `${rows} ${rows === 1 ? "row" : "rows"}, ${places} ${places === 1 ? "section" : "sections"}`;
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
