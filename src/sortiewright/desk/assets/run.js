// A run on this device: presses are kept here until the desk has acknowledged them, each under a name of its own,
// so that one that is sent twice counts once.

const QUEUE = "sortiewright-run-presses";
const VOICE = "sortiewright-run-voice";
const BOUNCE = 350; // ms in which a second press is the first one's echo
const PATIENCE = 400; // ms after which a press that is not acknowledged says so
const STALE = 2000; // ms
const AGAIN_AFTER = 1000; // ms
const TIMEOUT = 4000; // ms; a network that swallows packets answers nothing at all
const SHOWN_FOR = 6000; // ms

const root = document.documentElement;
const opened = new Set(); // details that were opened by hand
let pressedAt = -BOUNCE;
let sending = "";
let heardLive = 0;
let clockAhead = 0; // s by which this device's clock is ahead of the desk's
let newest = { run: "", seq: 0 }; // what this page has shown, or the desk has acknowledged
let repainting = false;
let lastDue = "";
let lastList = "";

const run = () => document.getElementById("run");
const nameOf = (deed) => deed.split(":");

function queue() {
  try {
    return JSON.parse(localStorage.getItem(QUEUE) ?? "[]");
  } catch {
    return [];
  }
}

function keep(entries) {
  localStorage.setItem(QUEUE, JSON.stringify(entries));
}

function newName() {
  // randomUUID is for secure origins only, and a tablet in the network is at none.
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function tell(words) {
  const news = document.getElementById("run-news");
  if (!news || !words) return;
  const line = document.createElement("p");
  line.textContent = words;
  news.replaceChildren(line);
  setTimeout(() => line.remove(), SHOWN_FOR);
}

// Presses

function press(deed, words) {
  const now = performance.now();
  if (now - pressedAt < BOUNCE) return false;
  pressedAt = now;
  const entries = queue();
  const unsent = entries.filter((one) => !one.seq && one.id !== sending);
  if (deed.startsWith("undo:") && unsent.length) {
    const last = unsent.at(-1);
    keep(entries.filter((one) => one.id !== last.id));
    tell("Taken back before it was sent");
  } else if (entries.some((one) => one.deed === deed && !one.words && !words)) {
    return true;
  } else {
    entries.push({ id: newName(), run: run()?.dataset.run ?? "", deed, words, at: Date.now() });
    keep(entries);
    send();
  }
  mark();
  setTimeout(mark, PATIENCE + 20);
  return true;
}

async function send() {
  if (sending) return;
  for (;;) {
    const next = queue().find((one) => !one.seq);
    if (!next) return;
    if (next.run !== (run()?.dataset.run ?? next.run)) {
      settle(next.id, 0, "A press was of another run and is not sent");
      continue;
    }
    sending = next.id;
    let answer, said;
    try {
      const body = new URLSearchParams({ deed: next.deed, words: next.words ?? "", id: next.id });
      answer = await fetch("/run/deeds", { method: "POST", headers: { accept: "application/json" }, body, signal: AbortSignal.timeout(TIMEOUT) });
      said = await answer.json();
    } catch {
      return; // not sent, or not known to be: it is sent again under the same name
    } finally {
      sending = "";
    }
    if (said.outcome === "later" || answer.status >= 500 || answer.status === 429) {
      tell(said.words);
      return;
    }
    settle(next.id, said.seq, said.outcome === "done" ? "" : said.words);
  }
}

function settle(id, seq, words) {
  const entries = queue();
  const entry = entries.find((one) => one.id === id);
  if (entry && seq) entry.seq = seq;
  if (seq && run()?.dataset.run === newest.run) newest.seq = Math.max(newest.seq, seq);
  keep(seq ? entries : entries.filter((one) => one.id !== id));
  tell(words);
  mark();
}

setInterval(() => {
  if (!sending && queue().some((one) => !one.seq)) send();
  mark();
  catchUp();
}, AGAIN_AFTER);
document.addEventListener("desk:found", send);
document.addEventListener("desk:lost", () => mark());

// A page that was asked for before an answer may come after it, and would show the run as it was.
function note() {
  const sheet = run();
  if (!sheet) return;
  const seq = Number(sheet.dataset.seq);
  if (sheet.dataset.run !== newest.run || seq > newest.seq) newest = { run: sheet.dataset.run, seq };
}

async function catchUp() {
  const sheet = run();
  if (repainting || !sheet || root.classList.contains("cut-off") || sheet.dataset.run !== newest.run || Number(sheet.dataset.seq) >= newest.seq) return;
  repainting = true;
  try {
    await window.htmx.ajax("GET", "/run", { target: "#page", select: "#page", swap: "outerMorph" });
  } finally {
    repainting = false;
  }
}

// Show what was pressed, what is not sent, and what comes after it.
function mark() {
  const sheet = run();
  if (!sheet) return;
  const seq = Number(sheet.dataset.seq);
  const every = queue();
  const entries = every.filter((one) => !one.seq || one.seq > seq);
  if (entries.length !== every.length) keep(entries);
  const deeds = new Set(entries.map((one) => one.deed));
  for (const cell of sheet.querySelectorAll("button.cell")) cell.classList.toggle("pressed", deeds.has(cell.value));
  const late = entries.filter((one) => !one.seq && (root.classList.contains("cut-off") || Date.now() - one.at > PATIENCE));
  const items = new Set(late.filter((one) => one.run === sheet.dataset.run).map((one) => nameOf(one.deed)[2]));
  for (const line of sheet.querySelectorAll(".line")) {
    const note = line.querySelector("[data-not-sent]");
    note.hidden = !items.has(line.dataset.item);
    note.textContent = note.hidden ? "" : "Not sent yet";
  }
  const note = document.getElementById("queue");
  if (note) {
    note.hidden = !late.length;
    note.textContent = late.length === 1 ? "1 press is not sent yet. This device keeps it." : `${late.length} presses are not sent yet. This device keeps them.`;
  }
  offerNext(sheet, deeds);
}

// The desk's word on what comes next is on its way, or cannot come: go by the list.
function offerNext(sheet, deeds) {
  const main = document.querySelector(".hand-main .answer, .hand-main [aria-keyshortcuts=h]");
  if (!main || !deeds.has(main.value)) return;
  for (const one of document.querySelectorAll(".of-turn")) one.hidden = true; // they speak of the item before
  const next = nextCell(sheet, deeds);
  main.disabled = !next;
  if (!next) {
    main.lastElementChild.textContent = root.classList.contains("cut-off") ? "Kept until there is a connection" : main.lastElementChild.textContent;
    return;
  }
  const line = next.closest(".line");
  main.value = next.value;
  main.firstElementChild.textContent = `${line.querySelector(".number").textContent} ${line.querySelector(".challenge").firstChild.textContent}`;
  main.lastElementChild.textContent = line.querySelector(".response").textContent;
}

function nextCell(sheet, deeds) {
  for (const line of sheet.querySelectorAll(".line")) {
    if (line.classList.contains("holding")) return null;
    const cells = [...line.querySelectorAll("button.cell")];
    const open = cells.filter((cell) => !deeds.has(cell.value));
    const any = "any" in line.dataset;
    if (any && open.length < cells.length) continue;
    if (open.length) return open[0];
    if (!any && sheet.dataset.pace !== "apart" && line.querySelector(".cell.other")) return null;
  }
  return null;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.id !== "presses" && form.id !== "ask-form") return;
  event.preventDefault();
  const button = event.submitter;
  if (form.id === "ask-form") {
    const words = button?.name === "words" ? button.value : form.elements["ask-words"].value.trim();
    if (!words || !press(form.elements["ask-deed"].value, words)) return;
    const panel = form.closest("dialog");
    if (panel) panel.close();
    else location.assign("/run");
    return;
  }
  if (!button || !press(button.value, "")) return;
  const panel = button.closest("dialog");
  if (!panel) {
    if (!run()) location.assign("/run");
    return;
  }
  if (button.value.startsWith("call:") && root.classList.contains("cut-off")) {
    // The list cannot come from the desk: read it here.
    const list = panel.querySelector(`[data-list="${CSS.escape(nameOf(button.value)[1])}"] details`);
    if (list) list.open = true;
    list?.scrollIntoView({ block: "nearest" });
    return;
  }
  panel.close();
  scrollTo({ top: 0 });
});

// Panels

document.addEventListener("click", (event) => {
  const opener = event.target.closest?.("[data-opens]");
  const asker = event.target.closest?.("[data-deed]");
  const closer = event.target.closest?.("dialog [data-closes]");
  if (opener && document.getElementById(opener.dataset.opens)) {
    event.preventDefault();
    const panel = document.getElementById(opener.dataset.opens);
    if (opener.dataset.opens === "lists") showEnds(panel);
    panel.showModal();
    (panel.querySelector(".call") ?? panel.querySelector(".is-next a"))?.focus();
  } else if (asker && document.getElementById("ask")) {
    event.preventDefault();
    ask(asker);
  } else if (closer) {
    event.preventDefault();
    closer.closest("dialog").close();
  } else if (event.target.matches?.("dialog[open]")) {
    event.target.close(); // beside the panel
  }
});

function ask(asker) {
  const kind = nameOf(asker.dataset.deed)[0];
  const template = document.querySelector(`template[data-asks="${CSS.escape(kind)}"]`);
  const main = document.querySelector('.hand-main [value^="open:"]');
  if (kind === "open" && main?.value === asker.dataset.deed) { // the one that is next needs no reason
    asker.closest("dialog")?.close();
    press(asker.dataset.deed, "");
    return;
  }
  asker.closest("dialog")?.close();
  document.getElementById("ask-deed").value = asker.dataset.deed;
  document.getElementById("ask-about").textContent = asker.dataset.title;
  document.getElementById("ask-label").textContent = template.dataset.words;
  document.getElementById("ask-words").value = "";
  document.getElementById("ask-offered").replaceChildren(template.content.cloneNode(true));
  document.getElementById("ask").showModal();
  document.getElementById("ask-words").focus();
}

function showEnds(panel) {
  let ends = {};
  try {
    ends = JSON.parse(run().dataset.ends);
  } catch { /* they are said where the list is opened */ }
  const lists = [...panel.querySelectorAll("[data-list-end]")];
  for (const one of lists) one.textContent = ends[one.dataset.listEnd] ?? "";
  const last = lists.findLastIndex((one) => one.dataset.listEnd in ends);
  lists.forEach((one, at) => one.closest("li").classList.toggle("is-next", at === Math.max(last, 0)));
}

// Keys: before the frame's, which presses what carries the key

document.addEventListener("keydown", (event) => {
  const target = event.target;
  if (event.ctrlKey || event.metaKey || event.altKey || target.matches?.("input:not([type=checkbox]), textarea, select")) return;
  const panel = document.querySelector("dialog[open]");
  const walks = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (walks) {
    const stops = panel ? [...panel.querySelectorAll("button, a, summary")] : [...document.querySelectorAll("[data-line]")];
    walk(stops.filter((one) => one.checkVisibility()), walks, event);
  } else if (event.key === "Enter" && target.matches?.("[data-line]")) {
    const cell = target.closest(".line").querySelector("button.cell");
    if (!cell) return event.stopPropagation();
    event.preventDefault();
    if (!event.repeat) cell.click();
  } else if (panel || (event.key === "Enter" && target.closest?.("a, button, summary, label"))) {
    event.stopPropagation();
  }
}, true);

function walk(stops, step, event) {
  if (!stops.length) return;
  const at = stops.indexOf(document.activeElement);
  const due = stops.findIndex((one) => one.closest(".is-due, .is-hold"));
  const to = at < 0 ? Math.max(due, 0) : Math.min(Math.max(at + step, 0), stops.length - 1);
  event.preventDefault();
  event.stopPropagation();
  stops[to].focus();
  stops[to].scrollIntoView({ block: "nearest" });
}

// Live values

document.addEventListener("run-live", (event) => {
  heardLive = performance.now();
  showLive(JSON.parse(event.detail.data));
});

function showLive(live) {
  const panel = document.getElementById("dials");
  const sheet = run();
  if (!panel || !sheet) return;
  panel.hidden = live.state === "off";
  panel.dataset.feed = live.state;
  panel.querySelector(".feed-state").textContent = { lost: "lost: struck out", waiting: "nothing has come yet" }[live.state] ?? "";
  const list = panel.querySelector(".dial-list");
  for (const dial of live.dials) {
    let shown = list.querySelector(`[data-dial="${CSS.escape(dial.title)}"]`);
    if (!shown) {
      shown = document.createElement("div");
      shown.className = "dial";
      shown.dataset.dial = dial.title;
      const value = document.createElement("dd");
      value.dataset.live = "";
      shown.append(Object.assign(document.createElement("dt"), { textContent: dial.title }), value);
      list.append(shown);
    }
    shown.lastElementChild.textContent = dial.text;
    shown.classList.toggle("stale", dial.stale);
  }
  for (const beside of sheet.querySelectorAll("[data-beside]")) {
    const item = live.items[beside.dataset.beside];
    beside.hidden = !item;
    if (!item) continue;
    beside.querySelector(".now").textContent = item.text;
    beside.classList.toggle("seen", item.seen === true);
    beside.classList.toggle("stale", item.stale);
  }
}

setInterval(() => {
  const panel = document.getElementById("dials");
  if (!panel || panel.dataset.feed !== "live" || performance.now() - heardLive < STALE) return;
  for (const one of document.querySelectorAll(".dial, [data-beside]")) one.classList.add("stale");
}, 250);

// Time waited, by the desk's clock

document.addEventListener("beat", (event) => {
  const desk = Number(event.detail?.data);
  if (desk) clockAhead = Date.now() / 1000 - desk;
  showWaits();
});

function showWaits() {
  for (const one of document.querySelectorAll(".waited[data-since]")) {
    const waited = Math.max(0, Math.floor(Date.now() / 1000 - clockAhead - Number(one.dataset.since)));
    one.textContent = `waiting ${Math.floor(waited / 60)}:${String(waited % 60).padStart(2, "0")}`;
  }
}

// Voice

const canSpeak = "speechSynthesis" in window;
const speaks = () => canSpeak && localStorage.getItem(VOICE) === "on";

function showVoice() {
  const button = document.getElementById("voice");
  if (!button || !canSpeak) return;
  button.hidden = false;
  document.getElementById("no-voice").hidden = true;
  button.setAttribute("aria-pressed", String(speaks()));
  button.textContent = speaks() ? "Voice is on" : "Voice is off";
}

document.addEventListener("click", (event) => {
  if (event.target.closest?.("#voice") === null || !event.target.closest) return;
  localStorage.setItem(VOICE, speaks() ? "off" : "on");
  if (!speaks()) speechSynthesis.cancel();
  else speak("Voice is on");
  showVoice();
});

function speak(text) {
  const words = new SpeechSynthesisUtterance(text);
  words.lang = "en";
  speechSynthesis.speak(words);
}

document.addEventListener("run-said", (event) => {
  if (!speaks()) return;
  const said = JSON.parse(event.detail.data);
  if (Date.now() / 1000 - clockAhead - said.at > 5) return; // it was said while this device was away
  const own = (run()?.dataset.seats ?? "").split(" ");
  const calls = said.calls.filter((one) => !one.seats.length || one.seats.some((seat) => own.includes(seat)));
  if (!calls.length) return;
  speechSynthesis.cancel();
  for (const one of calls) speak(one.text);
});

// What a repaint must not undo

document.addEventListener("toggle", (event) => {
  if (!event.target.matches?.("details.what")) return;
  if (event.target.open) opened.add(event.target.id);
  else opened.delete(event.target.id);
}, true);

function refresh() {
  note();
  for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
  mark();
  showWaits();
  showVoice();
  const list = run()?.querySelector("h1")?.textContent ?? "";
  if (list !== lastList) {
    if (lastList) document.querySelector(".list-head")?.scrollIntoView({ block: "start" });
    lastList = list;
  }
  const due = document.querySelector(".is-due, .is-hold");
  const name = due ? `${list} ${due.id}` : "";
  if (name && name !== lastDue) due.scrollIntoView({ block: "nearest" });
  lastDue = name;
}

document.addEventListener("desk:painted", () => {
  refresh();
  send();
});
document.addEventListener("htmx:after:swap", refresh);
document.addEventListener("htmx:sse:after:message", (event) => {
  if (!event.detail?.message?.event) refresh();
});
