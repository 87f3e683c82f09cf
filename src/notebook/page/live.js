const study = document.getElementById("study"), status = document.getElementById("status");
const state = document.getElementById("state"), note = document.getElementById("note"), bar = document.getElementById("progress");
let connections = 0, shownStudy = status.dataset.study;
function say(text, trouble) { state.textContent = text; status.classList.toggle("trouble", Boolean(trouble)); }
function put(box, markup) { if (markup !== null && markup !== undefined && box.markup !== markup && box.innerHTML !== markup) { box.innerHTML = markup; box.markup = markup; } }
function makeCell(number) {
  const cell = document.createElement("section");
  cell.id = "cell-" + number;
  for (const name of ["prose", "source", "settings", "body"]) {
    const box = document.createElement("div");
    box.className = name;
    cell.append(box);
  }
  study.append(cell);
  return cell;
}
const part = (cell, name) => cell.querySelector(":scope > ." + name);
// A body comes whole, or as the pieces and the cells of tables that differ from what stands here. False where something else stands here.
function changeBody(box, news) {
  if (typeof news === "string") { change(box, news); return true; }
  if (box.children.length !== news.of) return false;
  box.markup = undefined;
  const pieces = [];
  for (const [index, one] of news.pieces.entries()) {
    const old = box.children[index];
    let made = null;
    if (typeof one === "string") {
      const parsed = piecesOf(one);
      if (parsed.length !== 1) return false;
      made = parsed[0];
    } else if (one) {
      if (!changeCells(old, one)) return false;
      old.made = undefined;
    } else if (!old) return false;
    pieces.push(made);
  }
  changePieces(box, pieces);
  return true;
}
// False where what stands here is not what the news differ from.
function show(cells) {
  const shown = cells.map((view, index) => {
    const cell = document.getElementById("cell-" + (index + 1)) || makeCell(index + 1);
    if (!view) return true;
    put(part(cell, "prose"), view.prose);
    const source = part(cell, "source"), folded = source.querySelector("details:not([open])");
    put(source, view.code);
    if (folded && source.firstElementChild) source.firstElementChild.open = false;
    if (view.text !== null) source.dataset.text = view.text;
    put(part(cell, "settings"), view.settings);
    offerEdit(cell);
    return view.body === null || changeBody(part(cell, "body"), view.body);
  });
  while (study.children.length > cells.length) study.lastElementChild.remove();
  return shown.every(Boolean);
}
// A cell that waits for its run shows what it gave before, and says so.
function showWaiting(waiting) {
  [...study.children].forEach((cell, index) => {
    const waits = waiting.includes(index);
    if (waits) cell.dataset.state = "waiting"; else delete cell.dataset.state;
    cell.setAttribute("aria-busy", String(waits));
  });
}
let events = null, heard = null;
// A new connection begins with all that there is.
function listenAgain() { events.close(); events = null; listen(); }
// A page that nobody looks at lets its connection go: a browser has only a few for one address.
function listen() {
  if (document.hidden) { if (events) events.close(); events = null; return; }
  if (events) return;
  events = new EventSource("events");
  events.onopen = () => { connections += 1; say("up to date"); if (connections === 1) readLink(); };
  events.onerror = () => {
    say("not connected: is hosewright still running?", true);
    // A refusal ends the stream for good; there may be room later.
    if (events && events.readyState === EventSource.CLOSED) { events = null; setTimeout(listen, 3000); }
  };
  events.addEventListener("running", event => {
    const progress = JSON.parse(event.data);
    say("running " + progress.done + " of " + progress.total + (progress.seconds > 1 ? ", " + progress.seconds + " s" : ""));
    note.textContent = "";
    bar.hidden = progress.total < 2;
    bar.max = progress.total; bar.value = progress.done;
    showWaiting(progress.waiting);
  });
  events.addEventListener("cells", event => {
    const news = JSON.parse(event.data);
    if (!news.partial) { bar.hidden = true; showWaiting([]); }
    if (news.cells) {
      if (news.after !== null && news.after !== heard) { listenAgain(); return; }
      heard = news.standing;
      if (news.fonts !== null) document.getElementById("fonts").innerHTML = news.fonts;
      put(document.getElementById("heading"), news.heading);
      const shown = show(news.cells);
      showControls(news.controls, !sending && !waiting.size);
      put(document.getElementById("results"), news.results);
      put(document.querySelector("footer"), news.footer);
      status.dataset.run = news.run;
      shownStudy = news.study;
      document.title = news.title;
      if (!shown) { listenAgain(); return; }
    }
    say(news.state, news.trouble);
    note.textContent = news.note;
    // Somebody who cannot see the pictures is told when they are new.
    study.dispatchEvent(new Event("settled"));
  });
}
async function post(what, body) {
  const headers = { "content-type": "application/json", "x-hosewright": "page" };
  return fetch(what, { method: "POST", headers: headers, body: JSON.stringify(body) });
}
// One request at a time; of what comes meanwhile the last value of each control is sent next.
let sending = false, toldHeld = false;
const waiting = new Map();
function ask(name, value) { waiting.set(name, value); send(); }
function release() { send(); }
async function send() {
  if (sending || (!waiting.size && held === toldHeld)) return;
  sending = true;
  const values = [...waiting];
  waiting.clear();
  toldHeld = held;
  try {
    const answer = await post("set", { values: values, held: toldHeld });
    if (!answer.ok) say("the value was refused: " + answer.status, true);
  } catch (error) { say("not connected: is hosewright still running?", true); }
  sending = false;
  send();
}
const kept = document.getElementById("kept");
document.getElementById("keep").addEventListener("click", async () => {
  kept.textContent = "";
  try {
    const answer = await post("keep", { study: shownStudy, values: standing.map(one => [one.name, one.value]) });
    kept.textContent = answer.ok ? "written: the study begins with these values" : "not written: " + (await answer.text()).trim();
  } catch (error) { kept.textContent = "not written: not connected"; }
});
document.addEventListener("visibilitychange", listen);
