// Debrief: a file dropped with progress, findings that open the charts, and one time cursor over everything.

import { StripCharts, clock, placeIn } from "./strip_charts.js";
import { MapPicture, RunwayPicture, Timeline } from "./flight_pictures.js";

const CHOSEN = "debrief-channels";
const MOST = 8;
const FIND_AFTER = 150; // ms after the last key
const LONGEST_STEP = 0.2; // s of a frame, so that a hidden page does not leap ahead

let scene = null;

// The file

function setUpDrop() {
  const form = document.getElementById("drop");
  if (!form || form.dataset.ready) return;
  form.dataset.ready = "yes";
  const field = form.querySelector("input");
  const says = document.getElementById("drop-says");
  const progress = document.getElementById("drop-progress");
  const stop = document.getElementById("drop-stop");
  const say = (text, isProblem) => {
    says.textContent = text;
    says.className = isProblem ? "problem" : "small";
  };
  let sending = null;
  const send = (file) => {
    if (!file || sending) return;
    if (file.size > Number(form.dataset.largest)) {
      say(`${file.name} has ${Math.round(file.size / 1e6)} MB; at most ${Math.round(form.dataset.largest / 1e6)} are taken. Compress it with gzip, or save it as Parquet.`, true);
      return;
    }
    const body = new FormData();
    body.append("recording", file, file.name);
    sending = new XMLHttpRequest();
    sending.open("POST", form.action);
    sending.upload.addEventListener("progress", (event) => {
      progress.value = event.loaded / event.total;
      say(`${file.name}: ${Math.round((100 * event.loaded) / event.total)} %`, false);
    });
    sending.addEventListener("load", () => {
      const ended = sending;
      sending = null;
      if (ended.status < 300) location.assign(ended.responseURL);
      else {
        const answer = new DOMParser().parseFromString(ended.responseText, "text/html");
        say(answer.querySelector("#drop-says, main p")?.textContent.trim() ?? "It was not taken.", true);
        progress.hidden = stop.hidden = true;
      }
    });
    sending.addEventListener("error", () => {
      sending = null;
      say("The connection broke before the file was here. Try again.", true);
      progress.hidden = stop.hidden = true;
    });
    progress.hidden = stop.hidden = false;
    progress.value = 0;
    sending.send(body);
  };
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    send(field.files[0]);
  });
  stop.addEventListener("click", () => {
    sending?.abort();
    sending = null;
    progress.hidden = stop.hidden = true;
    say("Stopped; nothing was kept.", false);
  });
  for (const kind of ["dragover", "dragleave", "drop"]) {
    form.addEventListener(kind, (event) => {
      event.preventDefault();
      form.classList.toggle("over", kind === "dragover");
      if (kind === "drop") send(event.dataTransfer.files[0]);
    });
  }
}

// The flight again

async function setUpFlight() {
  const section = document.getElementById("strips");
  if (!section || section.dataset.ready || !window.uPlot) return;
  section.dataset.ready = "yes";
  const address = `/debrief/${section.dataset.recording}`;
  const answer = await fetch(`${address}/flight.json`);
  if (!answer.ok) {
    section.dataset.ready = "";
    return;
  }
  const flight = await answer.json();
  const byId = (id) => document.getElementById(id);
  for (const one of section.querySelectorAll(".player, #replay, #charts, .channels, .checklist-log")) one.hidden = false;
  const runway = new RunwayPicture(byId("runway-picture"), flight);
  const map = new MapPicture(byId("map-picture"), flight);
  const timeline = new Timeline(byId("timeline"), flight);
  const charts = new StripCharts({
    charts: byId("charts"),
    list: byId("strip-list"),
    cursor: byId("cursor"),
    picked: byId("picked"),
    address,
    flight,
    changed: (one) => {
      byId("moment").textContent = clock(one.moment);
      byId("phase").textContent = flight.phases.find((phase) => phase.begins <= one.moment && one.moment < phase.ends)?.title ?? "";
      runway.at(one.moment);
      map.at(one.moment);
      timeline.draw(one);
      scene?.follow?.(one.moment);
    },
  });
  scene = { section, flight, charts, runway, map, timeline, address, playing: 0, finding: -1 };
  window.deskDebrief = scene; // for measuring
  setUpChannels(scene);
  setUpRuns(scene);
  const stored = JSON.parse(localStorage.getItem(CHOSEN) ?? "[]").filter((name) => flight.strips.some((one) => one.channel === name));
  await charts.choose(stored.length ? stored : flight.shown);
  markChannels(scene);
  const wide = new ResizeObserver(() => {
    if (Math.abs(byId("runway-picture").clientWidth - runway.width) < 2) return;
    if (runway.runway) runway.draw();
    if (map.track) map.draw();
    charts.soon();
  });
  wide.observe(byId("replay"));
}

function setUpChannels({ flight, charts }) {
  const list = document.getElementById("channel-list");
  list.replaceChildren();
  for (const one of flight.strips) {
    const label = document.createElement("label");
    label.className = "tick";
    const box = document.createElement("input");
    box.type = "checkbox";
    box.value = one.channel;
    label.append(box, one.title);
    list.append(label);
  }
  list.addEventListener("change", () => {
    const wanted = [...list.querySelectorAll("input:checked")].map((box) => box.value);
    const kept = charts.channels.filter((name) => wanted.includes(name));
    const chosen = [...kept, ...wanted.filter((name) => !kept.includes(name))].slice(0, MOST);
    if (chosen.length) {
      localStorage.setItem(CHOSEN, JSON.stringify(chosen));
      charts.choose(chosen);
      charts.channels = chosen;
    }
    markChannels(scene);
  });
}

function markChannels({ charts }) {
  const boxes = [...document.querySelectorAll("#channel-list input")];
  for (const box of boxes) {
    box.checked = charts.channels.includes(box.value);
    box.disabled = !box.checked && charts.channels.length >= MOST;
  }
}

// Checklists

function setUpRuns({ flight, charts, timeline, address }) {
  const select = document.getElementById("run-of");
  if (!select) return;
  let events = [];
  let shift = 0;
  const list = document.getElementById("run-events");
  const lay = () => {
    timeline.checks = events.map((one) => ({ ...one, time: one.time + shift }));
    list.replaceChildren(...timeline.checks.map((one) => {
      const item = document.createElement("li");
      const button = document.createElement("button");
      button.type = "button";
      button.dataset.at = one.time;
      button.textContent = `${clock(one.time)}  ${one.words}`;
      item.append(button);
      return item;
    }));
    scene.follow = (moment) => {
      if (!timeline.checks.length) return;
      const at = placeIn(timeline.checks.map((one) => one.time), moment);
      for (const [number, item] of [...list.children].entries()) item.classList.toggle("now", number === at && timeline.checks[at].time <= moment);
    };
    charts.soon();
  };
  select.addEventListener("change", async () => {
    events = [];
    shift = 0;
    const says = document.getElementById("run-says");
    says.textContent = "";
    if (select.value) {
      const answer = await fetch(`${address}/checklist.json?run=${encodeURIComponent(select.value)}`);
      if (answer.ok) {
        const found = await answer.json();
        events = found.events;
        says.textContent = found.matched;
      } else says.textContent = "That run cannot be read.";
    }
    lay();
  });
  for (const button of document.querySelectorAll("[data-shift]")) {
    button.addEventListener("click", () => {
      shift += Number(button.dataset.shift);
      lay();
    });
  }
  list.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) charts.at(Number(button.dataset.at));
  });
}

// One cursor: play, hold, jump

function play(wanted) {
  if (!scene) return;
  const button = document.getElementById("play");
  cancelAnimationFrame(scene.playing);
  scene.playing = 0;
  button.textContent = wanted ? "Hold" : "Play";
  button.setAttribute("aria-pressed", String(wanted));
  if (!wanted) return;
  const { charts, flight } = scene;
  if (charts.moment >= flight.end) charts.at(flight.start);
  let before = performance.now();
  const frame = (now) => {
    const step = Math.min((now - before) / 1000, LONGEST_STEP) * Number(document.getElementById("speed").value);
    before = now;
    const moment = charts.moment + step;
    charts.at(moment);
    if (moment >= flight.end) play(false);
    else scene.playing = requestAnimationFrame(frame);
  };
  scene.playing = requestAnimationFrame(frame);
}

function jump(begins, ends, at) {
  if (!scene) return;
  play(false);
  scene.charts.moment = at;
  scene.charts.show(begins, ends);
  const charts = document.getElementById("charts");
  const box = charts.getBoundingClientRect();
  if (box.top < 0 || box.top > innerHeight * 0.6) scene.section.scrollIntoView({ block: "start" });
}

function toFinding(number) {
  const found = scene?.flight.findings;
  if (!found?.length) return;
  scene.finding = (number + found.length) % found.length;
  const one = found[scene.finding];
  for (const button of document.querySelectorAll(".finding-button")) button.toggleAttribute("aria-current", Number(button.dataset.number) === one.number);
  jump(one.begins, one.ends, one.peak);
}

const DOES = {
  in: () => scene.charts.zoom(0.5),
  out: () => scene.charts.zoom(2),
  whole: () => scene.charts.show(scene.flight.start, scene.flight.end),
  next: () => toFinding(scene.finding + 1),
};

document.addEventListener("click", (event) => {
  if (!scene) return;
  if (event.target.closest("#play")) play(!scene.playing);
  const does = event.target.closest("[data-do]");
  if (does) DOES[does.dataset.do]();
  const finding = event.target.closest(".finding-button");
  if (finding) toFinding(Number(finding.dataset.number) - 1);
  const link = event.target.closest("a.jump");
  if (link) {
    event.preventDefault();
    const [begins, ends] = [Number(link.dataset.begins), Number(link.dataset.ends)];
    jump(begins, ends, 0.5 * (begins + ends));
  }
});

// Columns of the map: one list for all fields; of very many columns it holds those with what is typed.

let finding = 0;

function findColumns(field) {
  const list = field.list;
  if (!list?.dataset.find) return;
  clearTimeout(finding);
  finding = setTimeout(async () => {
    const answer = await fetch(`${list.dataset.find}?find=${encodeURIComponent(field.value)}`);
    if (!answer.ok) return;
    list.replaceChildren(...(await answer.json()).map((name) => {
      const option = document.createElement("option");
      option.value = name;
      return option;
    }));
  }, FIND_AFTER);
}

document.addEventListener("input", (event) => {
  if (event.target.matches?.(".column-field")) findColumns(event.target);
});

document.addEventListener("focusin", (event) => {
  if (event.target.matches?.(".column-field")) event.target.select(); // what is typed then takes its place
});

function isTyping(target) {
  return target instanceof HTMLElement && target.matches("input:not([type=checkbox], [type=radio]), select, textarea, button, a, summary");
}

document.addEventListener("keydown", (event) => {
  if (!scene || event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
  if (event.key === " " && !isTyping(event.target)) {
    event.preventDefault();
    play(!scene.playing);
    return;
  }
  const finding = event.target.closest?.(".finding-button");
  if (finding && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
    event.preventDefault();
    const all = [...document.querySelectorAll(".finding-button")];
    all[Math.min(Math.max(all.indexOf(finding) + (event.key === "ArrowDown" ? 1 : -1), 0), all.length - 1)].focus();
    return;
  }
  if (!event.target.closest?.("#charts")) return;
  const { charts } = scene;
  const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  if (by && event.shiftKey) charts.show(charts.begin + 0.2 * by * charts.span, charts.end + 0.2 * by * charts.span);
  else if (by) charts.at(charts.moment + 0.01 * by * charts.span);
  else if (event.key === "Home") charts.at(scene.flight.start);
  else if (event.key === "End") charts.at(scene.flight.end);
  else if (event.key === "+" || event.key === "=") charts.zoom(0.5);
  else if (event.key === "-" || event.key === "−") charts.zoom(2);
  else return;
  event.preventDefault();
});

document.addEventListener("desk:painted", () => {
  setUpDrop();
  const section = document.getElementById("strips");
  if (scene && scene.section !== section) {
    play(false);
    scene = null;
  }
  setUpFlight();
});
