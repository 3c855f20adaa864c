// The runway to scale, the ground track, and the timeline: what stands still, and the aircraft on it at a moment.

import { placeIn } from "./strip_charts.js";

const SVG = "http://www.w3.org/2000/svg";

export function element(name, attributes = {}, text = "") {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  return made;
}

function between(times, values, moment) {
  const at = placeIn(times, moment);
  const next = Math.min(at + 1, times.length - 1);
  const [one, other] = [values[at], values[next]];
  if (one === null || other === null) return one;
  const share = next === at ? 0 : Math.min(Math.max((moment - times[at]) / (times[next] - times[at]), 0), 1);
  return one + share * (other - one);
}

// Labels in rows, so that none lies on another; one without room is left out.
function labelled(svg, marks, rows, style, x) {
  const last = rows.map(() => -1e9);
  for (const mark of marks) {
    const at = x(mark.along);
    const wide = 7.2 * mark.title.length + 10;
    const row = last.findIndex((end) => end < at);
    if (row < 0) continue;
    last[row] = at + wide;
    svg.append(element("line", { x1: at, x2: at, y1: rows[row].from, y2: rows[row].to, class: "lead" }));
    svg.append(element("text", { x: at + 3, y: rows[row].text, class: `label ${style}` }, mark.title));
  }
}

export class RunwayPicture {
  constructor(svg, flight) {
    this.svg = svg;
    this.runway = flight.runway;
    this.units = flight.units;
    svg.hidden = !this.runway;
    if (this.runway) this.draw();
  }

  draw() {
    const { svg, runway } = this;
    const width = Math.max(svg.clientWidth, 320);
    const height = 172;
    this.width = width;
    const length = runway.length ?? Math.max(...runway.along, 1000);
    const [from, to] = [-0.06 * length, 1.06 * length];
    this.x = (along) => ((along - from) / (to - from)) * width;
    this.middle = 86;
    this.half = 20;
    this.across = this.half / (0.5 * (runway.width ?? 45));
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.replaceChildren();
    const [left, right] = [this.x(0), this.x(length)];
    svg.append(element("rect", { x: left, y: this.middle - this.half, width: right - left, height: 2 * this.half, class: "pavement" }));
    svg.append(element("line", { x1: left + 8, x2: right - 8, y1: this.middle, y2: this.middle, class: "centre" }));
    svg.append(element("text", { x: left - 6, y: this.middle + 5, class: "label flown", "text-anchor": "end" }, runway.designator));
    const above = [0, 1, 2].map((row) => ({ from: 10 + 17 * row, to: this.middle - this.half, text: 20 + 17 * row }));
    const below = [0, 1, 2].map((row) => ({ from: this.middle + this.half, to: 122 + 17 * row, text: 124 + 17 * row }));
    const inside = (one) => one.along > from && one.along < to;
    const sorted = (marks) => marks.filter(inside).sort((one, other) => one.along - other.along);
    labelled(svg, sorted(runway.planned), above, "planned", this.x);
    labelled(svg, sorted(runway.events), below, "flown", this.x);
    if (width > 520) svg.append(element("text", { x: width - 4, y: 14, class: "axis", "text-anchor": "end" }, runway.planned.length ? "above as planned, below as flown" : "as flown"));
    for (const one of sorted(runway.events)) svg.append(element("circle", { cx: this.x(one.along), cy: this.middle, r: 4, class: "mark flown" }));
    this.aircraft = element("path", { d: "M11 0-8 8-4 0-8-8Z", class: "aircraft" });
    this.says = element("text", { x: width - 4, y: height - 6, class: "label flown", "text-anchor": "end" });
    svg.append(this.aircraft, this.says);
  }

  at(moment) {
    if (!this.runway || !this.runway.time.length) return;
    const { time, along, offset } = this.runway;
    const place = placeIn(time, moment);
    const isNear = Math.abs(time[place] - moment) < 2 || (place + 1 < time.length && Math.abs(time[place + 1] - moment) < 2);
    this.aircraft.setAttribute("visibility", isNear ? "visible" : "hidden");
    if (!isNear) {
      this.says.textContent = "away from the runway";
      return;
    }
    const x = between(time, along, moment);
    const beside = between(time, offset, moment) ?? 0;
    const metre = this.units === "si" ? 1 : 1 / 0.3048;
    const shown = Math.min(Math.max(this.x(x), 10), this.width - 10);
    const y = this.middle + Math.min(Math.max(beside * this.across, -60), 60);
    this.aircraft.setAttribute("transform", `translate(${shown.toFixed(1)} ${y.toFixed(1)})`);
    const unit = this.units === "si" ? "m" : "ft";
    const far = Math.abs(Math.round(x * metre)).toLocaleString("en").replace(/,/g, "\u202f");
    this.says.textContent = `${far} ${unit} ${x < 0 ? "before it" : "along"}, ${Math.abs(Math.round(beside * metre))} ${unit} ${beside < 0 ? "left" : "right"}`;
  }
}

export class MapPicture {
  constructor(svg, flight) {
    this.svg = svg;
    this.track = flight.track;
    svg.hidden = !this.track;
    if (this.track) this.draw();
  }

  draw() {
    const { svg, track } = this;
    const width = Math.max(svg.clientWidth, 200);
    const height = 172;
    const [east, north] = [track.east.filter((one) => one !== null), track.north.filter((one) => one !== null)];
    const least = (values) => values.reduce((one, other) => Math.min(one, other), Infinity);
    const most = (values) => values.reduce((one, other) => Math.max(one, other), -Infinity);
    const [west, south] = [least(east), least(north)];
    const scale = Math.min((width - 40) / Math.max(most(east) - west, 1), (height - 32) / Math.max(most(north) - south, 1));
    const left = 0.5 * (width - scale * (most(east) - west));
    const low = 0.5 * (height + scale * (most(north) - south));
    this.x = (value) => left + scale * (value - west);
    this.y = (value) => low - scale * (value - south);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.replaceChildren();
    const points = track.east.map((value, at) => (value === null || track.north[at] === null ? "" : `${this.x(value).toFixed(1)},${this.y(track.north[at]).toFixed(1)}`));
    svg.append(element("polyline", { points: points.filter(Boolean).join(" "), class: "track" }));
    svg.append(element("path", { d: "M16 30V12M11 18 16 11 21 18", class: "north" }), element("text", { x: 26, y: 22, class: "label" }, "N"));
    this.aircraft = element("circle", { r: 6, class: "aircraft" });
    svg.append(this.aircraft);
  }

  at(moment) {
    if (!this.track) return;
    const east = between(this.track.time, this.track.east, moment);
    const north = between(this.track.time, this.track.north, moment);
    if (east === null || north === null) return;
    this.aircraft.setAttribute("cx", this.x(east).toFixed(1));
    this.aircraft.setAttribute("cy", this.y(north).toFixed(1));
  }
}

const SIGNS = { high: "M-3-8H3L8-3V3L3 8H-3L-8 3V-3Z", medium: "M0-7.5 8 7H-8Z", low: "M0-7A7 7 0 1 0 0 7 7 7 0 0 0 0-7" };

export class Timeline {
  constructor(svg, flight) {
    this.svg = svg;
    this.flight = flight;
    this.checks = [];
  }

  draw(charts) {
    const { svg, flight } = this;
    const width = charts.width;
    const height = this.checks.length ? 76 : 50;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("height", height);
    const [left, right] = [charts.across(charts.begin), charts.across(charts.end)];
    const made = [];
    flight.phases.forEach((one, number) => {
      const from = Math.max(charts.across(one.begins), left);
      const to = Math.min(charts.across(one.ends), right);
      if (to <= from) return;
      made.push(element("rect", { x: from, y: 1, width: to - from, height: 22, class: number % 2 ? "phase odd" : "phase" }));
      if (to - from > 7.6 * one.title.length + 8) made.push(element("text", { x: from + 5, y: 16, class: "label" }, one.title));
    });
    let last = -1e9;
    for (const one of [...flight.findings].sort((a, b) => a.peak - b.peak)) {
      const x = charts.across(one.peak);
      if (x < left || x > right) continue;
      made.push(element("path", { d: SIGNS[one.severity], transform: `translate(${x} 35)`, class: `flag ${one.severity}` }));
      if (x - last > 30) {
        made.push(element("text", { x: x + 10, y: 40, class: "label" }, String(one.number)));
        last = x;
      }
    }
    last = -1e9;
    for (const one of this.checks) {
      const x = charts.across(one.time);
      if (x < left || x > right) continue;
      made.push(element("rect", { x: x - 1.5, y: 54, width: 3, height: 18, class: one.kind === "answered" ? "check" : "check other" }));
      if (x - last > 150) {
        made.push(element("text", { x: x + 5, y: 68, class: "label small-label" }, one.words.slice(0, 22)));
        last = x;
      }
    }
    svg.replaceChildren(...made);
  }
}
