// A picture sees no font of the page: the drawings of this program get them into their own style sheets.
function dress(root) {
  const fonts = document.getElementById("fonts").content.textContent;
  for (const one of root.querySelectorAll("[data-fonts]")) {
    const name = one.tagName === "SOURCE" ? "srcset" : "src", plain = one.getAttribute(name), at = plain.indexOf(",") + 1;
    one.plain = plain;
    one.setAttribute(name, plain.slice(0, at) + btoa(atob(plain.slice(at)).replace("<style>", () => "<style>" + fonts)));
    one.removeAttribute("data-fonts");
  }
}
const plainOf = one => one.plain || one.src || one.srcset;
// What stands in a cell is changed piece by piece, so that a picture that stays is not made anew.
let ghosts = false;
function remember(box) { for (const piece of box.children) piece.made = piece.outerHTML; rememberLines(box); }
function changeFigure(figure, made) {
  const [image, next] = [figure, made].map(one => one.querySelector("img:not(.ghost)"));
  if (!image || !next) { figure.replaceWith(made); return; }
  if (plainOf(image) !== plainOf(next)) {
    if (ghosts && !figure.querySelector(".ghost")) {
      const ghost = image.cloneNode();
      ghost.className = "ghost"; ghost.alt = ""; ghost.setAttribute("aria-hidden", "true");
      image.after(ghost);
    }
    image.src = next.src;
    image.plain = next.plain;
  }
  const [source, nextSource] = [figure, made].map(one => one.querySelector("source"));
  if (source && nextSource && plainOf(source) !== plainOf(nextSource)) { source.srcset = nextSource.srcset; source.plain = nextSource.plain; }
  const [caption, nextCaption] = [figure, made].map(one => one.querySelector("figcaption").firstChild);
  if (caption && nextCaption && caption.data !== nextCaption.data) caption.data = nextCaption.data;
  image.alt = next.alt;
  if (made.dataset.values) figure.dataset.values = made.dataset.values; else delete figure.dataset.values;
  figure.made = made.made;
  offerValues(figure);
}
function removeGhosts() { ghosts = false; for (const ghost of document.querySelectorAll(".ghost")) ghost.remove(); }
function piecesOf(markup) {
  const template = document.createElement("template");
  template.innerHTML = markup;
  remember(template.content);
  return [...template.content.children];
}
function change(box, markup) {
  if (box.markup === markup) return;
  box.markup = markup;
  changePieces(box, piecesOf(markup));
}
// Null stands for a piece that stays.
function changePieces(box, pieces) {
  const now = [...box.children];
  pieces.forEach((made, index) => {
    const old = now[index];
    if (!made || old && old.made === made.made) return;
    dress(made);
    if (!old) { box.append(made); foldTables(made); offerValues(made); return; }
    if (old.tagName === "FIGURE" && made.tagName === "FIGURE") { changeFigure(old, made); return; }
    const place = [...old.querySelectorAll(".scroll")].map(scroll => scroll.scrollLeft);
    takeOver(old, made);
    old.replaceWith(made);
    offerValues(made);
    made.querySelectorAll(".scroll").forEach((scroll, at) => { scroll.scrollLeft = place[at] || 0; });
  });
  for (const old of now.slice(pieces.length)) old.remove();
}
for (const body of document.querySelectorAll(".body")) remember(body);
dress(document);
foldTables(document);
