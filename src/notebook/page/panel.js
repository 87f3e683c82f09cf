// The controls: what is set goes through `ask`, and comes back as how things stand.
const panel = document.getElementById("panel"), controls = document.getElementById("controls");
let standing = [], held = false;
const boxOf = name => [...controls.children].find(box => box.dataset.control === name);
const inputsOf = box => [...box.querySelectorAll("input, select")];
// The field has the exact value; a handle only has the nearest step.
const exactOf = box => box.querySelector("input[type=number]") || inputsOf(box)[0];
function valueOf(input) {
  if (input.type === "checkbox") return input.checked ? 1 : 0;
  const value = Number(input.value);
  if (input.value === "" || !isFinite(value)) return null;
  return input.type === "number" ? Math.min(Math.max(value, Number(input.min)), Number(input.max)) : value;
}
function setInputs(box, value, words, except) {
  for (const input of inputsOf(box)) {
    if (input === except) continue;
    if (input.type === "checkbox") input.checked = value >= 0.5; else input.value = String(value);
  }
  const handle = box.querySelector("input[type=range]");
  if (handle) handle.setAttribute("aria-valuetext", words);
}
function inWords(box, value) {
  const input = inputsOf(box)[0];
  return input.dataset.unit ? value + " " + input.dataset.unit : String(value);
}
function showStanding(now, settled) {
  standing = now;
  for (const one of now) {
    for (const output of document.querySelectorAll("output"))
      if (output.dataset.standing === one.name) output.textContent = one.words;
    const box = boxOf(one.name);
    if (!box) continue;
    box.classList.toggle("moved", one.value !== one.start);
    // A handle that is being moved here knows better than what comes back.
    if (settled && !held) setInputs(box, one.value, one.words, document.activeElement.type === "number" ? document.activeElement : null);
  }
  document.getElementById("set-back").disabled = now.every(one => one.value === one.start);
}
function showControls(news, settled) {
  if (news.markup !== null && news.markup !== undefined && controls.dataset.key !== news.key) {
    const focused = controls.contains(document.activeElement) ? document.activeElement.id : "";
    controls.innerHTML = news.markup;
    controls.dataset.key = news.key;
    if (focused && document.getElementById(focused)) document.getElementById(focused).focus();
    panel.hidden = !news.markup;
    document.body.classList.toggle("with-panel", Boolean(news.markup));
    settled = true;
  }
  showStanding(news.standing, settled);
}
function setBy(input) {
  const box = input.closest("[data-control]"), value = valueOf(input);
  if (!box || value === null) return;
  setInputs(box, value, inWords(box, value), input.type === "number" ? null : input);
  ask(box.dataset.control, value, held);
  noteInLink();
}
// Values stand in the address, so that whoever gets the link sees the same.
const LINK = "#with:";
function noteInLink() {
  const pairs = [];
  for (const box of controls.children) {
    const input = exactOf(box), known = standing.find(one => one.name === box.dataset.control), value = valueOf(input);
    if (value === null || (known && known.start === value)) continue;
    const text = input.tagName === "SELECT" ? input.selectedOptions[0].textContent : input.type === "checkbox" ? (value ? "yes" : "no") : String(value);
    pairs.push(encodeURIComponent(box.dataset.control) + "=" + encodeURIComponent(text));
  }
  const rest = location.hash.startsWith(LINK) ? "" : location.hash;
  history.replaceState(null, "", location.pathname + (pairs.length ? LINK + pairs.join("&") : rest));
}
function readLink() {
  if (!location.hash.startsWith(LINK)) return;
  for (const pair of location.hash.slice(LINK.length).split("&")) {
    let name, text;
    try { [name, text] = pair.split("=").map(decodeURIComponent); } catch (error) { continue; }
    const box = boxOf(name);
    if (!box || text === undefined) continue;
    const input = exactOf(box);
    let value = Number(text);
    if (input.tagName === "SELECT") value = [...input.options].findIndex(option => option.textContent === text);
    if (input.type === "checkbox") value = text === "yes" ? 1 : 0;
    if (text === "" || !isFinite(value) || value < 0 && input.tagName === "SELECT") continue;
    setInputs(box, value, inWords(box, value), null);
    ask(name, valueOf(input), false);
  }
}
let ghostTimer = 0;
function ghostsWhile(moving) {
  clearTimeout(ghostTimer);
  if (moving) ghosts = true;
  else ghostTimer = setTimeout(removeGhosts, 1500);
}
controls.addEventListener("pointerdown", event => { if (event.target.type === "range") { held = true; ghostsWhile(true); } });
function letGo() {
  if (!held) return;
  held = false;
  ghostsWhile(false);
  release();
}
for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, letGo);
window.addEventListener("blur", letGo);
controls.addEventListener("input", event => {
  if (event.target.type === "number") return;
  if (!held) { ghostsWhile(true); ghostsWhile(false); }
  setBy(event.target);
});
controls.addEventListener("change", event => { if (event.target.type === "number") { ghostsWhile(true); ghostsWhile(false); setBy(event.target); } });
document.getElementById("set-back").addEventListener("click", () => {
  for (const one of standing) {
    const box = boxOf(one.name);
    if (box) setInputs(box, one.start, inWords(box, one.start), null);
    ask(one.name, null, false);
  }
  noteInLink();
});
