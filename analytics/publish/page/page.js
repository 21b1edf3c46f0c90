"use strict";

async function draw(box) {
  const spec = JSON.parse(document.getElementById(box.dataset.spec).textContent);
  for (const [name, packed] of Object.entries(spec.datasets || {})) {
    if (!packed.names) continue;
    const columns = packed.columns.map((c) => (c.words ? c.at.map((place) => c.words[place]) : c));
    const row = (at) => Object.fromEntries(packed.names.map((key, column) => [key, columns[column][at]]));
    spec.datasets[name] = columns[0].map((_, at) => row(at));
  }
  if (box.clientWidth < 900) {  // a legend in one line would be cut off
    const config = spec.config || {};
    spec.config = { ...config, legend: { columns: 2, ...config.legend } };
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
