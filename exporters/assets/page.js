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

// A section is places: what stands under each heading, up to the next.
const sections = [...document.querySelectorAll("main > section")].map((element) => {
  const places = [];
  for (const child of element.children) {
    if (places.length === 0 || child.matches("h1, h2, h3")) places.push({ parts: [], tables: [] });
    const place = places[places.length - 1];
    place.parts.push(child);
    for (const table of child.querySelectorAll("table")) {
      const groups = [...table.tBodies].map((body) => ({ body, rows: [...body.rows] }));
      place.tables.push({ table, box: child, groups, filters: [] });
    }
  }
  return { element, places };
});
const tables = sections.flatMap(({ places }) => places.flatMap((place) => place.tables));

// Lets the browser draw and take keys in between, so that a large document never stands still.
// False when other words were typed meanwhile.
const SLICE_MS = 30;
let asked = 0;
let until = 0;
async function goesOn(mine) {
  if (performance.now() > until) {
    await new Promise(requestAnimationFrame);
    until = performance.now() + SLICE_MS;
  }
  return mine === asked;
}

const passes = (row, typed) =>
  typed.every((wanted, column) => wanted.length === 0 || holds(row.cells[column], wanted));

const ROW_REM = 1.96; // of one line, as page.css has it: how large a group is while out of sight
function showRows({ body, rows }, wanted) {
  let shown = 0;
  for (const row of rows) {
    const hidden = !wanted(row);
    if (row.hidden !== hidden) row.hidden = hidden;
    if (!hidden) shown += 1;
  }
  body.hidden = shown === 0;
  body.style.containIntrinsicSize = shown < rows.length ? `${shown * ROW_REM}rem` : "";
}

// Shows of a place the rows that hold the words; all of it when its heading does, or the whole of
// it together; nothing when it does not. Gives the number of rows found, or -1 for nothing.
async function showPlace({ parts, tables }, wanted, mine) {
  const matching = new Set();
  for (const { groups } of tables) {
    for (const { rows } of groups) {
      if (!(await goesOn(mine))) return -1;
      for (const row of rows) if (holds(row, wanted)) matching.add(row);
    }
  }
  const whole = holds(parts[0], wanted);
  const some = !whole && matching.size > 0;
  const none = !whole && !some && !wanted.every((word) => parts.some((part) => holds(part, [word])));
  for (const part of parts) if (part.hidden !== none) part.hidden = none;
  for (const { box, groups, filters } of tables) {
    const typed = filters.map((filter) => words(filter.value));
    for (const group of groups) {
      if (!(await goesOn(mine))) return -1;
      showRows(group, (row) => (!some || matching.has(row)) && passes(row, typed));
    }
    if (some) box.hidden = !groups.some(({ rows }) => rows.some((row) => matching.has(row)));
  }
  return none ? -1 : matching.size;
}

async function show() {
  const mine = (asked += 1);
  const wanted = words(find.value);
  let rows = 0;
  let count = 0;
  until = performance.now() + SLICE_MS;
  for (const { element, places } of sections) {
    let some = false;
    for (const place of places) {
      if (!(await goesOn(mine))) return;
      const held = await showPlace(place, wanted, mine);
      if (held >= 0) some = true;
      rows += Math.max(held, 0);
    }
    if (mine !== asked) return;
    if (element.hidden === some) element.hidden = !some;
    places[0].parts[0].hidden = false; // the section's own heading
    if (some) count += 1;
  }
  found.textContent = wanted.length === 0 ? ""
    : count === 0 ? "Not found"
    : `${rows} ${rows === 1 ? "row" : "rows"}, ${count} ${count === 1 ? "section" : "sections"}`;
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

const length = ({ groups }) => groups.reduce((sum, { rows }) => sum + rows.length, 0);
tables.filter((entry) => length(entry) >= LONG).forEach(addFilters);
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
