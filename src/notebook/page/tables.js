"use strict";
function sortTable(head, down) {
  const row = head.parentNode, table = row.closest("table"), body = table.tBodies[0];
  const column = [...row.children].indexOf(head);
  for (const other of row.children) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", down ? "descending" : "ascending");
  const numeric = head.classList.contains("number");
  const key = line => line.cells[column].textContent.trim();
  // A time of the day such as 05:30 sorts as 5.30.
  const number = line => parseFloat(key(line).replace(":", "."));
  const lines = [...body.rows];
  lines.sort((a, b) => {
    let order;
    if (numeric) {
      const x = number(a), y = number(b);
      if (isNaN(x) || isNaN(y)) return isNaN(x) - isNaN(y);
      order = x - y;
    } else order = key(a).localeCompare(key(b));
    return down ? -order : order;
  });
  body.append(...lines);
}
function foldTables(root) {
  for (const table of root.querySelectorAll("table.long:not([data-folds])")) {
    table.dataset.folds = "";
    const below = table.closest(".table").querySelector(".below");
    const button = document.createElement("button");
    const rows = table.tBodies[0].rows.length;
    table.say = () => {
      const folded = table.classList.contains("folded");
      button.textContent = folded ? "show all " + rows + " rows" : "show fewer rows";
      button.setAttribute("aria-expanded", String(!folded));
    };
    button.type = "button";
    button.addEventListener("click", () => { table.classList.toggle("folded"); table.say(); });
    table.classList.add("folded");
    table.say();
    below.prepend(button);
  }
}
// Where the texts of a table are changed one by one, its lines are in the order of the study, however they are sorted here.
function rememberLines(root) { for (const table of root.querySelectorAll(".table table")) table.lines = [...table.tBodies[0].rows]; }
function changeCells(box, news) {
  const table = box && box.querySelector("table");
  const cells = table && table.lines ? table.lines.flatMap(line => [...line.cells]).filter(cell => !cell.childElementCount) : [];
  if (cells.length !== news.of) return false;
  let at = 0;
  for (const one of news.cells) { if (typeof one === "number") at += one; else { cells[at].textContent = one; at += 1; } }
  const head = table.querySelector("th[aria-sort]");
  if (head) { table.tBodies[0].append(...table.lines); sortTable(head, head.getAttribute("aria-sort") === "descending"); }
  return true;
}
// A table that takes the place of another is sorted, folded and scrolled as that one was.
function takeOver(old, made) {
  const before = [...old.querySelectorAll("table")];
  foldTables(made);
  [...made.querySelectorAll("table")].forEach((table, index) => {
    const was = before[index];
    if (!was) return;
    const heads = [...was.querySelectorAll("th")], at = heads.findIndex(head => head.hasAttribute("aria-sort"));
    const head = table.querySelectorAll("th")[at];
    if (head) sortTable(head, heads[at].getAttribute("aria-sort") === "descending");
    if (table.say) { table.classList.toggle("folded", !was.classList.contains("long") || was.classList.contains("folded")); table.say(); }
  });
}
document.addEventListener("click", event => {
  const button = event.target.closest("th button");
  if (button) { const head = button.closest("th"); sortTable(head, head.getAttribute("aria-sort") === "ascending"); }
});
