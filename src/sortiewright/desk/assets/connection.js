// Says at once when the desk cannot be heard, strikes out what may be out of date, and comes back.
// The server beats once a second; a network that swallows packets ends no stream by itself.

const LOST_AFTER = 2500; // ms without a beat
const LOOK_EVERY = 250;
const AGAIN_AFTER = 1500; // ms between tries to open the first stream

const line = document.getElementById("connection");
const stream = document.getElementById("stream");

let heard = performance.now();
let heardAt = new Date();
let tried = performance.now();
let connection = null;
let lost = false;

function hear() {
  heard = performance.now();
  heardAt = new Date();
  if (!lost) return;
  lost = false;
  document.documentElement.classList.remove("cut-off");
  line.hidden = true;
  document.dispatchEvent(new CustomEvent("desk:found"));
}

function lose() {
  if (lost) return;
  lost = true;
  const words = document.createElement("span");
  words.textContent = `No connection since ${heardAt.toISOString().slice(11, 19)}Z. What is struck out may be out of date.`;
  line.replaceChildren(words);
  line.hidden = false;
  document.documentElement.classList.add("cut-off");
  document.dispatchEvent(new CustomEvent("desk:lost"));
}

document.addEventListener("htmx:sse:before:message", hear);
document.addEventListener("htmx:sse:before:connection", (event) => {
  connection = event.detail.connection;
  if (connection.attempt > 0) lose();
});
document.addEventListener("htmx:sse:error", (event) => {
  lose();
  if (event.detail.status === 403) location.reload(); // sent away: the page that comes says how to join again
});

setInterval(() => {
  const now = performance.now();
  if (document.hidden) {
    heard = now; // the stream rests while nobody looks
    return;
  }
  if (now - heard < LOST_AFTER) return;
  lose();
  if (now - tried < AGAIN_AFTER) return;
  tried = now;
  if (connection?.reader) connection.reader.cancel().catch(() => {});
  else if (!connection) window.htmx?.trigger(stream, "reconnect");
}, LOOK_EVERY);

// What was missed is more than the server remembers, or it is another server: paint the page anew.
document.addEventListener("repaint", (event) => {
  if (event.target !== stream) return;
  if (document.querySelector("[data-opening]")) {
    location.reload();
    return;
  }
  const again = new CustomEvent("desk:repaint", { cancelable: true });
  if (!document.dispatchEvent(again)) return; // the page does it itself
  window.htmx.ajax("GET", location.pathname + location.search, { target: "#page", select: "#page", swap: "outerMorph" });
});

addEventListener("pageshow", (event) => {
  if (event.persisted) location.reload();
});
