// Sliders of the fuel, the way of the focus after a swap, and a board that is out of date.

const SLIDE_EVERY = 120; // ms between two amounts of a slider that is moved
const SETTLED = 500; // ms after which the answer to an own change is there

function board() {
  return document.getElementById("prepare");
}

// A slider moves its number along. All moves without a pause are one step to undo, and a form that is moved is
// left as it is until its last amount has been answered: an earlier answer would put the slider back.
const moved = new Map();
const AS_IT_IS = "hx-morph-skip";

function isMoving() {
  for (const form of moved.keys()) if (!form.isConnected) moved.delete(form);
  return moved.size > 0;
}

function send(form) {
  const move = moved.get(form);
  if (!move) return;
  move.waiting = 0;
  move.more = move.asking;
  if (move.asking || !form.isConnected) return;
  form.elements.slides.value = move.drag;
  window.htmx.trigger(form, "slide");
}

function end(form) {
  const move = moved.get(form);
  if (!move) return;
  move.over = true;
  if (move.asking || move.waiting) return;
  moved.delete(form);
  form.removeAttribute(AS_IT_IS);
  if (!isMoving() && board()) window.htmx.trigger(board(), "stale-plan");
}

document.addEventListener("input", (event) => {
  const slider = event.target;
  if (!slider.matches(".slider")) return;
  const form = slider.form;
  form.elements.value.value = slider.value;
  if (!moved.has(form)) {
    form.setAttribute(AS_IT_IS, "");
    const { what, name } = form.elements;
    moved.set(form, { drag: `${what.value}-${name.value}-${Date.now()}`, waiting: 0, ending: 0, asking: false, more: false, over: false });
  }
  const move = moved.get(form);
  move.over = false;
  if (!move.waiting) move.waiting = setTimeout(send, SLIDE_EVERY, form);
  clearTimeout(move.ending);
  move.ending = setTimeout(end, SETTLED + SLIDE_EVERY, form);
});

document.addEventListener("htmx:before:request", (event) => {
  const move = moved.get(event.detail?.ctx?.sourceElement);
  if (move) move.asking = true;
});

document.addEventListener("htmx:finally:request", (event) => {
  const form = event.detail?.ctx?.sourceElement;
  const move = moved.get(form);
  if (!move) return;
  move.asking = false;
  if (move.more) send(form);
  else if (move.over) end(form);
});

// The number is what is sent; the slider's own change would send it twice.
document.addEventListener("change", (event) => event.target.matches?.(".slider") && event.stopPropagation(), true);

// Another page changed the sortie: an own change has brought its answer by then.
document.body.addEventListener("plan-changed", (event) => {
  const state = event.detail?.data;
  setTimeout(() => {
    if (board() && board().dataset.state !== state && !isMoving()) window.htmx.trigger(board(), "stale-plan");
  }, SETTLED);
});

// Whoever chose a station goes on with what hangs there.
let chosen = null;
document.addEventListener("click", (event) => {
  const link = event.target.closest?.(".station-mark, .station-line");
  chosen = link ? document.activeElement : null;
});

document.addEventListener("htmx:after:swap", () => {
  if (chosen === null) return;
  chosen = null;
  const title = document.getElementById("stores-title");
  title?.focus({ preventScroll: true });
  if (title && title.getBoundingClientRect().bottom > innerHeight) title.scrollIntoView({ block: "start" });
});

// Up and down walk the list of stations.
document.addEventListener("keydown", (event) => {
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  const here = document.activeElement;
  if (!here?.matches(".station-line, .offer")) return;
  const all = [...document.querySelectorAll(here.matches(".offer") ? ".offer" : ".station-line")];
  const next = all[all.indexOf(here) + (event.key === "ArrowDown" ? 1 : -1)];
  if (!next) return;
  event.preventDefault();
  next.focus();
});
