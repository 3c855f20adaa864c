// Sliders of the fuel, the way of the focus after a swap, and a board that is out of date.

const SLIDE_EVERY = 120; // ms between two amounts of a slider that is moved
const SETTLED = 500; // ms after which the answer to an own change is there

function board() {
  return document.getElementById("prepare");
}

// A slider moves its number along. All moves without a pause are one step to undo, and until the last answer is
// there the form that is moved is left as it is.
let sliding = null;
let drag = "";
let waiting = 0;
let ending = 0;

function send() {
  waiting = 0;
  if (!sliding?.isConnected) return;
  sliding.elements.slides.value = drag;
  window.htmx.trigger(sliding, "slide");
}

function end() {
  sliding = null;
  drag = "";
  window.htmx.trigger(board(), "stale-plan");
}

document.addEventListener("input", (event) => {
  const slider = event.target;
  if (!slider.matches(".slider")) return;
  if (sliding !== slider.form) drag = "";
  sliding = slider.form;
  sliding.elements.value.value = slider.value;
  drag ||= `${sliding.elements.what.value}-${sliding.elements.name.value}-${Date.now()}`;
  if (!waiting) waiting = setTimeout(send, SLIDE_EVERY);
  clearTimeout(ending);
  ending = setTimeout(end, SETTLED + SLIDE_EVERY);
});

// The number is what is sent; the slider's own change would send it twice.
document.addEventListener("change", (event) => event.target.matches?.(".slider") && event.stopPropagation(), true);

document.addEventListener("htmx:before:morph:node", (event) => {
  if (sliding && event.detail?.oldNode === sliding) event.preventDefault();
});

// Another page changed the sortie: an own change has brought its answer by then.
document.body.addEventListener("plan-changed", (event) => {
  const state = event.detail?.data;
  setTimeout(() => {
    if (board() && board().dataset.state !== state && !sliding) window.htmx.trigger(board(), "stale-plan");
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
