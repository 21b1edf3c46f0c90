"use strict";

const AROUND_ONE = 30;  // pixels that a small multiple needs besides its own width

const read = (id) => JSON.parse(document.getElementById(id).textContent);
const parts = document.getElementById("parts") ? read("parts") : [];  // what several charts have in common

function unpacked(packed) {
  if (!packed.names) return packed;
  const day = (first, plus) => new Date(Date.parse(first) + plus * 86400000).toISOString().slice(0, 10);
  const value = (column, at) => {
    if (Array.isArray(column)) return column[at];
    if ("plus" in column) return day(column.day, column.plus[at]);
    return "same" in column ? column.same : column.words[column.at[at]];
  };
  const row = (at) => Object.fromEntries(packed.names.map((name, place) => [name, value(packed.columns[place], at)]));
  return Array.from({ length: packed.count }, (_, at) => row(at));
}

async function draw(box) {
  const spec = read(box.dataset.spec);
  if (spec.layer) spec.layer = spec.layer.map((place) => parts[place]);
  if ("config" in spec) spec.config = parts[spec.config];
  for (const [name, packed] of Object.entries(spec.datasets || {})) spec.datasets[name] = unpacked(packed);
  const width = box.clientWidth || document.querySelector("main").clientWidth;  // a folded box has none
  if (width < 900) {  // a legend in one line would be cut off
    spec.config = { ...spec.config, legend: { columns: 2, ...(spec.config || {}).legend } };
  }
  if (!box.clientWidth && spec.width === "container") {
    spec.width = width;
    spec.autosize = { type: "fit-x", contains: "padding" };
  }
  if (spec.columns) {  // small multiples: as many side by side as have room
    const one = spec.spec.width + AROUND_ONE;
    spec.columns = Math.max(1, Math.min(spec.columns, Math.floor((width - AROUND_ONE) / one)));
  }
  const look = { renderer: "svg", actions: false, defaultStyle: false, tooltip: { disableDefaultStyle: true } };
  try {
    await window.vegaEmbed(box, spec, { mode: "vega-lite", ast: true, ...look });
  } catch (problem) {
    box.dataset.failed = "yes";
    box.textContent = "This chart could not be drawn (" + problem.message + "). Its numbers stand below.";
  }
}

// One after the other: the same page gives the same print, however busy the machine is.
(async () => {
  for (const box of document.querySelectorAll("[data-spec]")) await draw(box);
})();

// A print shows what a screen keeps folded.
const folds = [...document.querySelectorAll("details.fold")];
let opened = [];
addEventListener("beforeprint", () => {
  opened = folds.filter((fold) => !fold.open);
  for (const fold of opened) fold.open = true;
});
addEventListener("afterprint", () => {
  for (const fold of opened) fold.open = false;
});

function bar(name, links) {
  const nav = document.createElement("nav");
  nav.setAttribute("aria-label", name);
  for (const [text, address] of links) {
    const link = document.createElement("a");
    link.textContent = text;
    link.href = address;
    nav.append(link, " ");
  }
  return nav;
}

// Contents: a line of links to the parts of a page that has many.
const headings = [...document.querySelectorAll("main h2")];
if (headings.length > 3) {
  headings.forEach((heading, at) => (heading.id = "part-" + (at + 1)));
  const links = headings.map((heading) => [heading.textContent, "#" + heading.id]);
  document.querySelector("header").append(bar("Contents", links));
}

// From athlete to athlete in the order in which the roster page showed them.  The order travels in the address
// only: no athlete's page holds the name of another one.
const WALK = /^#walk=([A-Za-z0-9_-]+(?:,[A-Za-z0-9_-]+)*)$/;
const walk = WALK.exec(location.hash);
if (walk) {
  const order = walk[1].split(",");
  const here = order.indexOf(decodeURIComponent(location.pathname.split("/").pop().replace(/\.html$/, "")));
  const links = [["Previous: ", order[here - 1]], ["Next: ", order[here + 1]]].filter((link) => link[1]);
  const step = ([word, id]) => [word + id, id + ".html" + location.hash];
  if (here >= 0 && links.length) document.querySelector("header nav").append(" ", ...bar("", links.map(step)).childNodes);
}
document.addEventListener("click", (event) => {
  const link = event.target.closest("td a, th a");
  const rows = link ? [...link.closest("tbody").rows].filter((row) => !row.hidden) : [];
  const id = (one) => (/^athletes\/([A-Za-z0-9_-]+)\.html/.exec((one && one.getAttribute("href")) || "") || [])[1];
  const ids = rows.map((row) => id(row.querySelector("a"))).filter(Boolean);
  if (ids.length) link.href = "athletes/" + id(link) + ".html#walk=" + [...new Set(ids)].join(",");
});

const collator = new Intl.Collator("en", { numeric: true });
const key = (row, column) => {
  const cell = row.cells[column];
  return cell.dataset.v !== undefined ? Number(cell.dataset.v) : cell.textContent === "–" ? null : cell.textContent;
};
const compare = (a, b) => (typeof a === "number" && typeof b === "number" ? a - b : collator.compare(a, b));

function sortBy(table, column, button) {
  const heading = button.parentElement;
  const down = heading.getAttribute("aria-sort") === "ascending";
  for (const other of table.tHead.rows[0].cells) other.removeAttribute("aria-sort");
  heading.setAttribute("aria-sort", down ? "descending" : "ascending");
  const rows = [...table.tBodies[0].rows];
  rows.sort((first, second) => {
    const a = key(first, column), b = key(second, column);
    if (a === null || b === null) return (a === null) - (b === null);
    return down ? compare(b, a) : compare(a, b);
  });
  table.tBodies[0].append(...rows);
}

for (const table of document.querySelectorAll("table.sortable")) {
  [...table.tHead.rows[0].cells].forEach((heading, column) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = heading.textContent;
    button.addEventListener("click", () => sortBy(table, column, button));
    heading.replaceChildren(button);
  });
  const label = document.createElement("label");
  const box = document.createElement("input");
  const count = document.createElement("output");
  box.type = "search";
  label.className = "filter";
  label.append("Show rows with ", box, " ", count);
  box.addEventListener("input", () => {
    const wanted = box.value.trim().toLowerCase().split(/\s+/);
    let shown = 0;
    for (const row of table.tBodies[0].rows) {
      const text = row.textContent.toLowerCase();
      row.hidden = !wanted.every((word) => text.includes(word));
      shown += row.hidden ? 0 : 1;
    }
    count.textContent = box.value.trim() ? shown + " of " + table.tBodies[0].rows.length : "";
  });
  table.parentElement.before(label);
}
