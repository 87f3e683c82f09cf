const study = document.getElementById("study"), status = document.getElementById("status");
const state = document.getElementById("state"), note = document.getElementById("note"), bar = document.getElementById("progress");
let lastRun = Number(status.dataset.run), connections = 0, fresh = false, unfinished = false, sending = false, waiting = null;
function say(text, trouble) { state.textContent = text; status.classList.toggle("trouble", Boolean(trouble)); }
function put(box, markup) { if (box.innerHTML !== markup && box.markup !== markup) { box.innerHTML = markup; box.markup = markup; foldTables(box); } }
function makeCell(number) {
  const cell = document.createElement("section");
  cell.id = "cell-" + number;
  for (const name of ["prose", "source", "controls", "body"]) {
    const box = document.createElement("div");
    box.className = name;
    cell.append(box);
  }
  study.append(cell);
  return cell;
}
function show(cells) {
  cells.forEach((view, index) => {
    const cell = document.getElementById("cell-" + (index + 1)) || makeCell(index + 1);
    const box = name => cell.querySelector(":scope > ." + name);
    put(box("prose"), view.prose);
    put(box("source"), view.code);
    const controls = box("controls");
    if (controls.dataset.key !== view.controls_key) { controls.dataset.key = view.controls_key; put(controls, view.controls); }
    for (const [name, words, value] of view.standing)
      for (const input of controls.querySelectorAll("input"))
        if (input.dataset.slider === name) {
          input.parentNode.querySelector("output").textContent = words;
          // A handle that is being moved here knows better than what comes back.
          if (input !== document.activeElement && !sending) input.value = value;
        }
    put(box("body"), view.body);
  });
  while (study.children.length > cells.length) study.lastElementChild.remove();
}
let events = null;
// A page that nobody looks at lets its connection go: a browser has only a few for one address.
function listen() {
  if (document.hidden) { if (events) events.close(); events = null; return; }
  if (events) return;
  events = new EventSource("events");
  events.onopen = () => { connections += 1; fresh = connections > 1; say("up to date"); };
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
  });
  events.addEventListener("cells", event => {
    const news = JSON.parse(event.data);
    if (!news.partial) bar.hidden = true;
    // The page came with the state of its run; after a break in the connection nothing is sure.
    if (news.cells && (fresh || unfinished || news.partial || news.run !== lastRun)) show(news.cells);
    fresh = false; unfinished = Boolean(news.partial);
    lastRun = news.run;
    status.dataset.run = news.run;
    say(news.state, news.trouble);
    note.textContent = news.note;
    document.title = news.title;
    if (news.cautions !== undefined) put(document.getElementById("cautions"), news.cautions);
  });
}
async function send(move) {
  if (sending) { waiting = move; return; }
  sending = true;
  try {
    const answer = await fetch("slide", { method: "POST", headers: { "content-type": "application/json", "x-hosewright": "slide" }, body: JSON.stringify(move) });
    if (!answer.ok) say("the slider was refused: " + answer.status, true);
  } catch (error) { say("not connected: is hosewright still running?", true); }
  sending = false;
  if (waiting) { const next = waiting; waiting = null; send(next); }
}
document.addEventListener("input", event => {
  const name = event.target.dataset && event.target.dataset.slider;
  if (name) send({ name: name, value: Number(event.target.value) });
});
document.addEventListener("visibilitychange", listen);
// The secret stays in the cookie only, and out of the address that people see and keep.
if (location.search) history.replaceState(null, "", location.pathname + location.hash);
listen();
