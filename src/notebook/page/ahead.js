// Settings that were computed ahead: the nearest stops are shown.
const ahead = JSON.parse(document.getElementById("ahead").textContent);
const at = ahead.stops.map(stops => stops.findIndex(stop => stop.value === stop.start));
function ask(name, value) {
  const index = ahead.stops.findIndex(stops => stops[0].name === name), stops = ahead.stops[index];
  if (!stops) return;
  const wanted = value === null ? stops[0].start : value, far = stop => Math.abs(stop.value - wanted);
  at[index] = stops.reduce((best, stop, number) => far(stop) < far(stops[best]) ? number : best, 0);
  const stop = stops[at[index]], box = boxOf(name);
  if (box) setInputs(box, stop.value, stop.words, held && document.activeElement.type === "range" ? document.activeElement : null);
  showSettings();
}
function release() { showSettings(); }
function showSettings() {
  let number = 0;
  ahead.stops.forEach((stops, index) => { number = number * stops.length + at[index]; });
  ahead.cells.forEach((cell, column) => change(document.querySelector("#cell-" + (cell + 1) + " > .body"), ahead.texts[ahead.columns[column][number]]));
  const results = document.getElementById("results"), markup = ahead.texts[ahead.results[number]];
  if (results.innerHTML !== markup) results.innerHTML = markup;
  showStanding(ahead.stops.map((stops, index) => stops[at[index]]), true);
}
for (const stops of ahead.stops)
  if (stops.length === 1) { const box = boxOf(stops[0].name); if (box) inputsOf(box).forEach(input => { input.disabled = true; }); }
showStanding(ahead.stops.map((stops, index) => stops[at[index]]), true);
readLink();
