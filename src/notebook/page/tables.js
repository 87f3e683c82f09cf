
"use strict";
function sortTable(head) {
  const row = head.parentNode, table = row.closest("table"), body = table.tBodies[0];
  const column = [...row.children].indexOf(head);
  const down = head.getAttribute("aria-sort") === "ascending";
  for (const other of row.children) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", down ? "descending" : "ascending");
  const numeric = head.classList.contains("number");
  const key = line => line.cells[column].textContent.trim();
  const number = line => { const text = key(line); return text === "-" || text === "" ? NaN : Number(text); };
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
  for (const table of root.querySelectorAll("table.long")) {
    const below = table.closest(".table").querySelector(".below");
    const button = document.createElement("button");
    const rows = table.tBodies[0].rows.length;
    const say = () => {
      const folded = table.classList.contains("folded");
      button.textContent = folded ? "show all " + rows + " rows" : "show fewer rows";
      button.setAttribute("aria-expanded", String(!folded));
    };
    button.type = "button";
    button.addEventListener("click", () => { table.classList.toggle("folded"); say(); });
    table.classList.add("folded");
    say();
    below.prepend(button);
  }
}
document.addEventListener("click", event => {
  const button = event.target.closest("th button");
  if (button) sortTable(button.closest("th"));
});
foldTables(document);
