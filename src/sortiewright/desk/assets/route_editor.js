// The route's page: places pressed on the chart, points walked with the arrows, and where the focus goes.

function chart() {
  return document.querySelector(".chart");
}

// A press beside every point means a place: the desk is asked for the page with a pin there.
document.addEventListener("click", (event) => {
  const drawn = event.target.closest?.(".chart");
  if (!drawn || event.target.closest("a") || document.documentElement.classList.contains("cut-off")) return;
  const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawn.getScreenCTM().inverse());
  const { north, west, latitudeStep, longitudeStep } = drawn.dataset;
  const latitude = (Number(north) - spot.y * Number(latitudeStep)).toFixed(4);
  const longitude = (Number(west) + spot.x * Number(longitudeStep)).toFixed(4);
  goes = true;
  window.htmx.ajax("GET", `/prepare/route?chosen=at${latitude}_${longitude}`, {
    source: "#prepare",
    target: "#prepare",
    swap: "outerMorph",
  });
});

// Whoever chose a leg or a point goes on with its fields.
let goes = false;
for (const kind of ["click", "submit"]) {
  document.addEventListener(kind, (event) => {
    if (event.target.closest?.("[data-goes]") && !event.target.closest("input, select, label")) goes = true;
  });
}

document.addEventListener("htmx:after:swap", () => {
  if (!goes) return;
  goes = false;
  const title = document.getElementById("chosen-title");
  if (!title) return;
  const first = title.parentElement.querySelector("[data-first]") ?? title;
  first.focus({ preventScroll: true });
  if (first.select) first.select();
  const { top, bottom } = title.getBoundingClientRect();
  const strip = document.querySelector(".strip")?.getBoundingClientRect().bottom ?? 0;
  if (top < strip || bottom > innerHeight) title.scrollIntoView({ block: "center" });
});

// Arrows: from point to point of the chart, to the nearest one in that direction; up and down a list of lines.
const ACROSS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function middle(link) {
  const mark = link.querySelector(".reach");
  return [mark.cx.baseVal.value, mark.cy.baseVal.value];
}

function nearest(here, [right, down]) {
  const [x, y] = middle(here);
  let best = null;
  let least = Infinity;
  for (const link of chart().querySelectorAll(".chart-point")) {
    const [dx, dy] = [middle(link)[0] - x, middle(link)[1] - y];
    const ahead = dx * right + dy * down;
    const aside = Math.abs(dx * down) + Math.abs(dy * right);
    if (link !== here && ahead > 0 && ahead + 2 * aside < least) [best, least] = [link, ahead + 2 * aside];
  }
  return best;
}

document.addEventListener("keydown", (event) => {
  const way = ACROSS[event.key];
  const here = document.activeElement;
  if (!way || !here?.matches(".chart-point, .legs .leg-line, .points .point-line")) return;
  let next = null;
  if (here.matches(".chart-point")) next = nearest(here, way);
  else if (way[0] === 0) {
    const lines = [...document.querySelectorAll(here.matches(".leg-line") ? ".legs .leg-line" : ".points .point-line")];
    next = lines[lines.indexOf(here) + way[1]];
  }
  if (!next) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  if (here.matches(".chart-point")) {
    here.setAttribute("tabindex", "-1");
    next.setAttribute("tabindex", "0");
  }
  next.focus();
}, true);

// What was unfolded or folded by hand stays so, unless something to be mended lies in it.
const folds = new Map();

document.addEventListener("click", (event) => {
  const details = event.target.closest?.("#prepare summary")?.parentElement;
  if (details?.id) folds.set(details.id, !details.open);
});

document.addEventListener("htmx:after:swap", () => {
  for (const [id, open] of folds) {
    const details = document.getElementById(id);
    if (details) details.open = open || details.querySelector(".problem") !== null;
  }
});

// What was typed to add something has been added: its form begins anew.
let sent = null;

document.addEventListener("submit", (event) => {
  sent = event.target.closest?.("#prepare form:not([hx-trigger])") ?? null;
});

document.addEventListener("htmx:after:swap", () => {
  if (sent?.isConnected && !sent.querySelector("[role=alert]")) sent.reset();
  sent = null;
});
