// Values of a chart for whoever points at one, reads them with the arrow keys, or wants them as a table.
const tip = document.createElement("div"), spot = document.createElement("div"), readOut = document.createElement("div");
tip.className = "tip"; tip.setAttribute("aria-hidden", "true"); tip.hidden = true;
spot.className = "spot"; spot.hidden = true;
readOut.className = "unseen"; readOut.setAttribute("role", "status");
document.body.append(spot, tip, readOut);
function shareOf(axis, value) {
  const along = axis.log ? Math.log : Number;
  return (along(value) - along(axis.low)) / (along(axis.high) - along(axis.low));
}
function dataOf(figure) {
  if (!figure.values || figure.values.text !== figure.dataset.values) figure.values = { text: figure.dataset.values, data: JSON.parse(figure.dataset.values) };
  return figure.values.data;
}
// Rows of points, each with its place on the screen.
function pointsOf(figure) {
  const data = dataOf(figure), image = figure.querySelector("img:not(.ghost)"), source = figure.querySelector("source");
  const narrow = source && data.narrow && matchMedia(source.media).matches;
  const place = narrow ? data.narrow : data, box = image.getBoundingClientRect(), scale = box.width / place.size[0];
  const onScreen = (x, y) => [box.left + scale * x, box.top + scale * y];
  if (data.told) {
    const rows = [];
    data.told.forEach(([row, x, y], index) => {
      const at = narrow ? data.narrow.at[index] : [x, y];
      (rows[row] = rows[row] || []).push({ at: onScreen(...at), index: index });
    });
    return rows.concat(cellsOf(data, narrow && data.narrow.cells, onScreen)).filter(Boolean);
  }
  const [left, top, right, bottom] = place.plot, x = { ...data.x, ...place.x }, y = { ...data.y, ...place.y };
  const shares = point => [shareOf(x, point[0]), shareOf(y, point[1])], within = share => share > -0.002 && share < 1.002;
  return data.series.map(([, points], row) => points.map((point, index) => ({ point: point, row: row, index: index, shares: shares(point) }))
    .filter(one => one.shares.every(within))
    .map(one => ({ ...one, at: onScreen(left + one.shares[0] * (right - left), bottom - one.shares[1] * (bottom - top)) })))
    .filter(row => row.length);
}
// The cells of the ground, row by row from the top; a thing that stands there comes first.
function cellsOf(data, edges, onScreen) {
  if (!data.cells) return [];
  const { columns, values } = data.cells, [left, top, right, bottom] = edges || data.cells.edges, count = values.length / columns, rows = [];
  values.forEach((value, index) => {
    if (value === null) return;
    const row = Math.floor(index / columns), shares = [(index % columns + 0.5) / columns, (row + 0.5) / count];
    (rows[count - 1 - row] = rows[count - 1 - row] || []).push({ cell: value, shares: shares, behind: 14, at: onScreen(left + shares[0] * (right - left), bottom - shares[1] * (bottom - top)) });
  });
  return rows;
}
function shownValue(axis, value) {
  if (axis.clock) { const minutes = Math.round(value * 60); return String(Math.floor(minutes / 60)).padStart(2, "0") + ":" + String(minutes % 60).padStart(2, "0"); }
  return Number(value.toPrecision(4)) + (axis.unit ? " " + axis.unit : "");
}
function wordsOf(data, one) {
  if (one.cell !== undefined) {
    const { ground, groundUnit, label, unit } = data.cells, along = at => shownValue({}, Number((ground[at] + one.shares[at] * (ground[at + 2] - ground[at])).toFixed(1)));
    return label + ": " + shownValue({ unit: unit }, one.cell) + " at " + along(0) + " and " + along(1) + " " + groundUnit;
  }
  if (data.told) return data.told[one.index][3];
  const [x, y, z] = one.point, name = data.series[one.row][0], said = (axis, value) => axis.label + " " + shownValue(axis, value);
  if (data.z) return said(data.z, z) + " at " + said(data.x, x) + ", " + said(data.y, y);
  return (name ? name + ": " : "") + said(data.y, y) + " at " + said(data.x, x);
}
function showPoint(figure, one) {
  const [left, top] = one.at;
  tip.textContent = wordsOf(dataOf(figure), one);
  tip.hidden = spot.hidden = false;
  spot.style.left = left + "px"; spot.style.top = top + "px";
  const wide = Math.min(document.documentElement.clientWidth - 8, left + 12 + tip.offsetWidth) - tip.offsetWidth;
  tip.style.left = Math.max(8, wide) + "px";
  tip.style.top = (top > 60 ? top - tip.offsetHeight - 12 : top + 14) + "px";
}
function hidePoint() { tip.hidden = spot.hidden = true; }
document.addEventListener("pointermove", event => {
  const figure = event.target.closest && event.target.closest("figure[data-values] .scroll") && event.target.closest("figure");
  if (!figure) { if (!tip.hidden && !document.activeElement.closest("figure .scroll")) hidePoint(); return; }
  const rows = pointsOf(figure);
  let best = [50];
  rows.forEach((row, at) => row.forEach((one, index) => {
    const far = Math.hypot(one.at[0] - event.clientX, one.at[1] - event.clientY) + (one.behind || 0);
    if (far < best[0]) best = [far, at, index];
  }));
  if (best.length > 1) { figure.reading = best.slice(1); showPoint(figure, rows[best[1]][best[2]]); } else hidePoint();
});
document.addEventListener("keydown", event => {
  const scroll = document.activeElement.closest && document.activeElement.closest("figure[data-values] .scroll");
  if (!scroll) return;
  if (event.key === "Escape") { hidePoint(); return; }
  const step = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0], Home: [0, -Infinity], End: [0, Infinity] }[event.key];
  if (!step) return;
  event.preventDefault();
  const figure = scroll.closest("figure"), rows = pointsOf(figure), between = (value, count) => Math.min(Math.max(value, 0), count - 1);
  if (!rows.length) return;
  let [row, index] = figure.reading || [0, -1];
  row = between(row + step[0], rows.length);
  index = between(index + step[1], rows[row].length);
  figure.reading = [row, index];
  showPoint(figure, rows[row][index]);
  readOut.textContent = tip.textContent;
});
document.addEventListener("focusout", hidePoint);
document.addEventListener("scroll", hidePoint, { passive: true, capture: true });
// The same values as a table, for who reads them one after the other or takes them along.
function tableOf(data) {
  const titled = axis => axis.label + (axis.unit ? " (" + axis.unit + ")" : ""), number = (axis, value) => shownValue({ ...axis, unit: "" }, value);
  if (data.told) return { heads: [["what"], ["value", true]], rows: data.told.map(told => { const at = told[3].lastIndexOf(": "); if (at < 0) return [told[3], ""]; return [told[3].slice(0, at), told[3].slice(at + 2)]; }) };
  const named = data.series.length > 1 && data.series.some(([name]) => name), axes = [data.x, data.y].concat(data.z || []);
  const rows = data.series.flatMap(([name, points]) => points.map(point => (named ? [name] : []).concat(point.map((value, at) => number(axes[at], value)))));
  return { heads: (named ? [["series"]] : []).concat(axes.map(axis => [titled(axis), true])), rows: rows };
}
function fillValues(box, data) {
  const { heads, rows } = tableOf(data), table = document.createElement("table"), head = table.createTHead().insertRow(), body = table.createTBody();
  for (const [name, numeric] of heads) {
    const cell = document.createElement("th"), button = document.createElement("button");
    cell.scope = "col"; button.type = "button"; button.textContent = name;
    if (numeric) cell.className = "number";
    cell.append(button); head.append(cell);
  }
  for (const row of rows) {
    const line = body.insertRow();
    row.forEach((value, at) => { const cell = line.insertCell(); cell.textContent = value; if (heads[at][1]) cell.className = "number"; });
  }
  box.replaceChildren(table);
}
function offerValues(root) {
  for (const figure of root.tagName === "FIGURE" ? [root] : root.querySelectorAll("figure")) {
    let box = figure.querySelector(".values"), button = figure.querySelector("figcaption button");
    if (!figure.dataset.values) { if (box) box.remove(); if (button) button.remove(); continue; }
    if (box && !box.hidden) fillValues(box, dataOf(figure));
    if (button) continue;
    button = document.createElement("button"); box = document.createElement("div");
    button.type = "button"; button.textContent = "values as a table"; button.setAttribute("aria-expanded", "false");
    box.className = "values"; box.hidden = true; box.tabIndex = 0; box.setAttribute("role", "group"); box.setAttribute("aria-label", "values of the figure");
    button.addEventListener("click", () => {
      box.hidden = !box.hidden;
      button.setAttribute("aria-expanded", String(!box.hidden));
      if (!box.hidden) fillValues(box, dataOf(figure));
    });
    figure.querySelector("figcaption").append(" ", button);
    figure.append(box);
  }
}
offerValues(document);
