// Sorts and filters tables by keyboard. Every table[data-sortable] gets a button in each head cell; with data-filter
// (its label) it gets a filter line above. Cells may carry data-value where the text does not sort as it reads.

const fewRows = 8; // a table that short needs no filter

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });

function valueOf(row, column) {
  const cell = row.cells[column];
  if (!cell) return "";
  return cell.dataset.value ?? cell.textContent.trim();
}

function compare(a, b) {
  const x = Number(a), y = Number(b);
  if (a !== "" && b !== "" && !Number.isNaN(x) && !Number.isNaN(y)) return x - y;
  if (a === "" || b === "") return (a === "") - (b === ""); // empty cells last
  return collator.compare(a, b);
}

function sortBy(table, head, button) {
  const column = head.cellIndex;
  const falling = head.getAttribute("aria-sort") === "ascending";
  for (const other of head.parentElement.cells) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", falling ? "descending" : "ascending");
  const body = table.tBodies[0];
  const rows = [...body.rows].map((row) => ({ row, value: valueOf(row, column) }));
  rows.sort((a, b) => (falling ? compare(b.value, a.value) : compare(a.value, b.value)));
  body.append(...rows.map((r) => r.row));
  button.focus();
}

function addSorting(table) {
  const heads = table.tHead?.rows[table.tHead.rows.length - 1]?.cells ?? [];
  for (const head of heads) {
    if (head.dataset.sort === "off" || head.textContent.trim() === "") continue;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.append(...head.childNodes);
    head.append(button);
    button.addEventListener("click", () => sortBy(table, head, button));
  }
}

function addFilter(table) {
  const line = document.createElement("p");
  line.className = "filter no-print";
  const label = document.createElement("label");
  const input = document.createElement("input");
  const count = document.createElement("output");
  input.type = "search";
  input.autocomplete = "off";
  input.spellcheck = false;
  label.append(table.dataset.filter + " ", input);
  count.setAttribute("aria-live", "polite");
  line.append(label, " ", count);
  const frame = table.closest(".table-frame") ?? table;
  frame.before(line);
  const body = table.tBodies[0];
  input.addEventListener("input", () => {
    const words = input.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of body.rows) {
      const text = row.textContent.toLowerCase();
      row.hidden = !words.every((word) => text.includes(word));
      if (!row.hidden) shown++;
    }
    count.value = words.length ? `${shown} of ${body.rows.length} rows` : "";
  });
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    input.value = "";
    input.dispatchEvent(new Event("input"));
  });
}

for (const table of document.querySelectorAll("table[data-sortable]")) {
  addSorting(table);
  if (table.dataset.filter && table.tBodies[0].rows.length > fewRows) addFilter(table);
}

// On a phone the ways to a page's layers are one row that scrolls: it begins at the layer that is shown.
const here = document.querySelector("nav.layers [aria-current]");
if (here) here.parentElement.scrollLeft = here.offsetLeft - here.parentElement.firstElementChild.offsetLeft;
