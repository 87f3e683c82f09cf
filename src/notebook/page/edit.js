// The text of a part can be changed here; it is written into the file of the study, which then runs again.
function button(words, act) {
  const made = document.createElement("button");
  made.type = "button"; made.textContent = words;
  made.addEventListener("click", act);
  return made;
}
function offerEdit(cell) {
  if (part(cell, "tools")) return;
  const tools = document.createElement("p");
  tools.className = "tools";
  tools.append(button("change this part", () => openEditor(cell, [...study.children].indexOf(cell), part(cell, "source").dataset.text || "", tools)));
  part(cell, "source").before(tools);
}
function openEditor(cell, index, was, after) {
  if (part(cell, "editor")) return;
  const editor = document.createElement("div"), area = document.createElement("textarea"), acts = document.createElement("p"), told = document.createElement("span");
  editor.className = "editor"; acts.className = "acts"; told.setAttribute("role", "status");
  area.value = was; area.spellcheck = false;
  area.setAttribute("aria-label", "text of this part");
  const fit = () => { area.rows = Math.min(40, area.value.split("\n").length + 1); };
  area.addEventListener("input", fit);
  fit();
  const close = () => { editor.remove(); cell.classList.remove("edited"); const back = after.querySelector("button"); if (back) back.focus(); };
  const write = button("write to the study", async () => {
    told.textContent = ""; write.disabled = true;
    try {
      const answer = await post("edit", { study: shownStudy, cell: index, was: was, text: area.value });
      if (answer.ok) { close(); return; }
      told.textContent = "not written: " + (await answer.text()).trim();
    } catch (error) { told.textContent = "not written: not connected"; }
    write.disabled = false;
  });
  acts.append(write, button("leave as it was", close), told);
  editor.append(area, acts);
  cell.classList.add("edited");
  after.after(editor);
  area.focus();
}
for (const cell of study.children) offerEdit(cell);
const more = document.createElement("div");
more.className = "more"; more.setAttribute("role", "region"); more.setAttribute("aria-label", "further parts");
const moreTools = document.createElement("p");
moreTools.className = "tools";
moreTools.append(button("add a part", () => openEditor(more, study.children.length, "", moreTools)));
more.append(moreTools);
study.after(more);
// The secret stays in the cookie only, and out of the address that people see and keep.
if (location.search) history.replaceState(null, "", location.pathname + location.hash);
listen();
