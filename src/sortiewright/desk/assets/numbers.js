// The slider of an engine failure, charts as wide as their place, and figures that are walked with the arrow keys.

const opened = new Set(); // details that were opened by hand, to stay so when the numbers are painted anew
const NARROW = matchMedia("(max-width: 760px)");

// Engine failure: every step was worked out by the desk; here one of them is shown.

function steps() {
  const text = document.getElementById("failure-steps");
  if (!text) return [];
  const data = JSON.parse(text.textContent);
  const words = (short) => short.slice(0, -1) + data.endings[short.charCodeAt(short.length - 1) - 97];
  const point = (given) => {
    if (given === null) return null;
    const [at, beyond, distance, left, fits] = given;
    return { at, beyond: beyond === 1, distance: words(distance), left: words(left), fits: fits === 1 };
  };
  return data.steps.map(([speed, at, place, wayOut, stop, lift_off, screen]) => ({
    speed: words(speed),
    at,
    place: words(place),
    wayOut: words(wayOut),
    stop: point(stop),
    lift_off: point(lift_off),
    screen: point(screen),
  }));
}

function place(step, name) {
  if (name === "at") return step.at;
  const point = step[name];
  return point === null ? null : (point.at ?? 100);
}

function show(index) {
  const box = document.getElementById("failure");
  const all = steps();
  const step = all[Math.min(Math.max(index, 0), all.length - 1)];
  if (!box || !step) return;
  for (const node of box.querySelectorAll("[data-speed]")) node.textContent = step.speed;
  box.querySelector("[data-place]").textContent = step.place;
  box.querySelector("[data-way-out]").textContent = step.wayOut;
  document.getElementById("failure-speed").setAttribute("aria-valuetext", inWords(step));
  const card = box.closest(".runway-card");
  for (const node of card.querySelectorAll("[data-x1], [data-x2], [data-x]")) move(node, step);
  for (const row of box.querySelectorAll("[data-end]")) {
    const point = step[row.dataset.end];
    row.toggleAttribute("hidden", !point);
    if (!point) continue;
    row.classList.toggle("beyond", !point.fits);
    row.querySelector("[data-distance]").textContent = point.distance;
    row.querySelector("[data-left]").textContent = point.left;
    row.querySelector("[data-fits]").dataset.fits = point.fits ? "yes" : "no";
  }
}

function move(node, step) {
  for (const name of ["x1", "x2", "x"]) {
    const of = node.dataset[name];
    if (!of) continue;
    const at = place(step, of);
    if (at !== null) node.setAttribute(name, `${at}%`);
  }
  const way = node.dataset.way;
  if (!way) return;
  const point = step[way];
  node.toggleAttribute("hidden", !point);
  if (!point) return;
  node.querySelector(".at-end")?.toggleAttribute("hidden", point.beyond);
  node.querySelector(".further")?.toggleAttribute("hidden", !point.beyond);
}

function inWords(step) {
  const end = (name, words) => (step[name] ? `, ${words} ${step[name].distance}, ${step[name].left}` : "");
  return `${step.speed}, ${step.wayOut}${end("stop", "stop")}${end("lift_off", "lift-off")}`;
}

document.addEventListener("input", (event) => {
  if (event.target.id === "failure-speed") show(Number(event.target.value));
});

// Charts

function tellWidth() {
  const field = document.getElementById("chart-width");
  if (!field) return;
  const wanted = NARROW.matches ? "narrow" : "wide";
  if (field.value === wanted) return;
  field.value = wanted;
  if (document.querySelector(".chart svg")) window.htmx?.trigger(document.body, "chart-width");
}

NARROW.addEventListener("change", tellWidth);
tellWidth();

// Details

document.addEventListener(
  "toggle",
  (event) => {
    const { id, open } = event.target;
    if (!id || event.target.localName !== "details") return;
    if (open) opened.add(id);
    else opened.delete(id);
  },
  true,
);

// The toggle event comes a moment after a press, and a chart that arrives in between must not undo it.
document.addEventListener("click", (event) => {
  const details = event.target.closest?.("summary")?.parentElement;
  if (details?.id && details.open) opened.delete(details.id);
});

function settle() {
  for (const id of [...opened]) {
    const one = document.getElementById(id);
    if (one && !one.open) one.open = true;
  }
  const slider = document.getElementById("failure-speed");
  if (slider) show(Number(slider.value));
}

document.addEventListener("htmx:after:swap", settle);
document.addEventListener("desk:painted", () => {
  tellWidth();
  settle();
  openTarget();
});

function openTarget() {
  const target = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
  if (target?.localName === "details") {
    target.open = true;
    target.querySelector("summary").focus({ preventScroll: true });
    target.scrollIntoView({ block: "center" });
  }
}

addEventListener("hashchange", openTarget);

document.addEventListener("keydown", (event) => {
  const summary = event.target.closest?.(".figures summary");
  if (!summary || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.key === "Escape" && summary.parentElement.open) {
    opened.delete(summary.parentElement.id);
    summary.parentElement.open = false;
    event.preventDefault();
    return;
  }
  const all = [...document.querySelectorAll(".figures summary")];
  const to = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (!to) return;
  event.preventDefault();
  all[all.indexOf(summary) + to]?.focus();
});
