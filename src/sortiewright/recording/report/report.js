// The strip charts: drawn anew for each view from the page's own data. Nothing is fetched.
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("strips-data").textContent);
  const charts = document.getElementById("charts"), moment = document.getElementById("moment");
  const SVG = "http://www.w3.org/2000/svg", LEFT = 62, RIGHT = 12, ROW = 104, TOP = 6, FLAG = 30, MISSING = -32768, HALF = 32500;
  const bytes = text => Uint8Array.from(atob(text), sign => sign.charCodeAt(0));
  const numbers = (kind, text) => { const raw = bytes(text); return new kind(raw.buffer, 0, raw.length / kind.BYTES_PER_ELEMENT); };
  const begins = numbers(Float32Array, data.begins), count = begins.length, breaks = new Set(data.breaks);
  const length = Math.max(data.end - data.start, 1e-3);
  for (const panel of data.panels) for (const line of panel.lines) {
    line.low = numbers(Int16Array, line.low);
    line.high = line.high ? numbers(Int16Array, line.high) : line.low;
    line.value = step => step === MISSING ? NaN : line.zero + (step + HALF) * line.step;
  }
  let view = [0, length], at = null, width = 900, picked = null;

  const make = (name, attributes = {}, ...children) => {
    const one = document.createElementNS(SVG, name);
    for (const key in attributes) one.setAttribute(key, attributes[key]);
    one.append(...children);
    return one;
  };
  const x = time => LEFT + (time - view[0]) / (view[1] - view[0]) * (width - LEFT - RIGHT);
  const timeAt = across => view[0] + (across - LEFT) / (width - LEFT - RIGHT) * (view[1] - view[0]);
  const inside = (value, low, high) => Math.min(Math.max(value, low), high);
  const clock = time => {
    const tenths = Math.round(Math.abs(time) * 10), hours = Math.floor(tenths / 36000), minutes = Math.floor(tenths / 600) % 60;
    const seconds = String(Math.floor(tenths / 10) % 60).padStart(2, "0");
    return (time < 0 && tenths ? "−" : "") + (hours ? hours + ":" + String(minutes).padStart(2, "0") : minutes) + ":" + seconds + "." + tenths % 10;
  };
  const before = time => {  // the last stretch that begins at or before a time
    let low = 0, high = count - 1;
    while (low < high) { const middle = (low + high + 1) >> 1; if (begins[middle] <= time) low = middle; else high = middle - 1; }
    return low;
  };
  const steps = (low, high, most, choices = [1, 2, 5, 10]) => {
    const least = (high - low) / most, power = 10 ** Math.floor(Math.log10(least));
    const step = power * choices.find(one => power * one >= least * (1 - 1e-9));
    const found = [];
    for (let n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9 * step; n++) found.push(n * step);
    return [found, step];
  };
  const timeSteps = () => {
    const least = (view[1] - view[0]) / Math.max(2, (width - LEFT) / 110);
    const step = [.1, .2, .5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200].find(one => one >= least) || 14400;
    const found = [], first = data.start + view[0];
    for (let n = Math.ceil(first / step - 1e-9); n * step <= data.start + view[1]; n++) found.push(n * step);
    return found.map(time => [time - data.start, step < 1 ? clock(time) : clock(time).slice(0, -2)]);
  };
  const shown = (value, range) => {
    if (Number.isNaN(value)) return "—";
    const places = range > 200 ? 0 : range > 10 ? 1 : 2;
    const text = value.toFixed(places).replace("-", "−").replace(/^−(0(?:\.0*)?)$/, "$1");
    return places ? text : text.replace(/\B(?=(\d{3})+$)/g, "\u202f");
  };

  // What a line is over the view: each column of pixels from its least to its greatest, so that no peak is lost.
  const columns = (line, first, last) => {
    const found = [], each = (last - first) / (2 * (width - LEFT - RIGHT));
    let low = NaN, high = NaN, column = -1, when = 0;
    const close = () => { if (column >= 0) found.push([when, low, high]); };
    for (let i = first; i <= last; i++) {
      if (breaks.has(i)) { close(); found.push(null); column = -1; }
      const a = line.value(line.low[i]), b = line.value(line.high[i]), here = each > 1 ? Math.round(x(begins[i])) : i;
      if (here !== column) { close(); column = here; when = begins[i]; low = a; high = b; }
      else { if (!(a >= low)) low = Number.isNaN(a) ? low : a; if (!(b <= high)) high = Number.isNaN(b) ? high : b; }
    }
    close();
    return found;
  };
  const range = shapes => {
    let low = Infinity, high = -Infinity;
    for (const shape of shapes) for (const one of shape) if (one) {
      if (one[1] < low) low = one[1];
      if (one[2] > high) high = one[2];
    }
    if (low > high) return [0, 1];
    const air = Math.max((high - low) * .06, Math.abs(high) * 1e-3, 1e-6);
    return [low - air, high + air];
  };
  const path = (shape, y, wraps) => {
    const parts = [];
    let pen = false, last = NaN;
    for (const one of shape) {
      if (!one || Number.isNaN(one[1]) || wraps && one[2] - one[1] > 180) { pen = false; continue; }
      if (wraps && Math.abs(one[1] - last) > 180) pen = false;  // through north
      last = one[2];
      const across = x(one[0]).toFixed(1);
      parts.push((pen ? "L" : "M") + across + " " + y(one[1]).toFixed(1));
      if (one[2] > one[1]) parts.push("L" + across + " " + y(one[2]).toFixed(1));
      pen = true;
    }
    return parts.join("");
  };

  const rows = [];
  const build = () => {
    const top = document.createElement("div");
    top.className = "strip-row";
    const ribbon = make("svg", {class: "strip", role: "img", "aria-label": "Phases, events and findings over time"});
    top.append(ribbon);
    charts.append(top);
    rows.push({ribbon});
    for (const panel of data.panels) {
      const row = document.createElement("div"), head = document.createElement("div"), title = document.createElement("b");
      row.className = "strip-row";
      head.className = "strip-head";
      title.textContent = panel.title + (panel.unit ? ", " + panel.unit : "");
      head.append(title);
      const outputs = panel.lines.map((line, n) => {
        const label = document.createElement("span"), output = document.createElement("output");
        label.append(make("svg", {viewBox: "0 0 30 8", "aria-hidden": "true"}, make("path", {class: "l" + n, d: "M0 4H30", "stroke-width": 2.4, fill: "none"})));
        label.append(line.title, output);
        head.append(label);
        return output;
      });
      const svg = make("svg", {class: "strip", role: "img", "aria-label": panel.title + " over time"});
      row.append(head, svg);
      charts.append(row);
      rows.push({panel, svg, outputs});
    }
  };
  const fresh = (svg, height) => {
    svg.replaceChildren();
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("height", height);
  };
  const SIGNS = {high: "M5 1h6l4 4v6l-4 4H5l-4-4V5z", medium: "M8 1.5 15.5 14.5H.5z", low: "M8 2a6 6 0 1 0 0 12 6 6 0 0 0 0-12z"};
  const visible = (low, high) => high >= data.start + view[0] && low <= data.start + view[1];
  const ribbon = svg => {
    fresh(svg, 100);
    const right = width - RIGHT;
    for (const [time, text] of timeSteps()) {
      const across = x(time), anchor = across > width - 22 ? "end" : "middle";
      svg.append(make("text", {x: anchor === "end" ? width - 1 : across, y: 96, class: "tick", "text-anchor": anchor}, text));
    }
    data.phases.forEach((phase, n) => {
      if (!visible(phase.begins, phase.ends)) return;
      const low = inside(x(phase.begins - data.start), LEFT, right), high = inside(x(phase.ends - data.start), LEFT, right);
      svg.append(make("rect", {x: low, y: 4, width: Math.max(high - low, .5), height: 22, class: "phase" + (n % 2 ? " odd" : "")}, make("title", {}, phase.title)));
      if (high - low > 7.4 * phase.title.length + 8) svg.append(make("text", {x: (low + high) / 2, y: 19, "text-anchor": "middle"}, phase.title));
    });
    const ends = [-1e9, -1e9];
    for (const event of data.events) {
      if (!visible(event.time, event.time)) continue;
      const across = x(event.time - data.start), row = ends.findIndex(end => end < across - 4);
      svg.append(make("line", {x1: across, x2: across, y1: 26, y2: row < 0 ? 30 : 34 + 15 * row, class: "event"}));
      const long = 7.2 * event.title.length + 6;
      if (row < 0 || across + long > width) continue;
      svg.append(make("text", {x: across + 3, y: 40 + 15 * row, class: "tick"}, event.title));
      ends[row] = across + long;
    }
    // Side by side where they are close, and none beyond the right edge.
    const flags = data.findings.filter(one => visible(one.peak, one.peak)).sort((a, b) => a.peak - b.peak);
    const places = [];
    for (const one of flags) places.push(Math.max(x(one.peak - data.start), places.length ? places.at(-1) + FLAG : -1e9));
    for (let n = places.length - 1, most = width - FLAG + 4; n >= 0; n--, most -= FLAG) places[n] = Math.min(places[n], most);
    flags.forEach((one, n) => {
      const sign = make("path", {d: SIGNS[one.severity], transform: `translate(${places[n] - 8} 63)`});
      svg.append(make("g", {class: "flag " + one.severity}, sign, make("text", {x: places[n] + 9, y: 76}, String(one.number)), make("title", {}, one.title)));
    });
  };
  const strip = ({panel, svg}, first, last) => {
    fresh(svg, ROW);
    const shapes = panel.lines.map(line => columns(line, first, last)), [low, high] = range(shapes);
    const y = value => TOP + (high - value) / (high - low) * (ROW - 2 * TOP);
    const [ticks, step] = steps(low, high, 4);
    for (const one of data.findings) {
      if (!visible(one.begins, one.ends)) continue;
      const begin = inside(x(one.begins - data.start), LEFT, width - RIGHT), end = inside(x(one.ends - data.start), LEFT, width - RIGHT);
      svg.append(make("rect", {x: begin, y: 0, width: Math.max(end - begin, 1.5), height: ROW, class: "span " + one.severity}));
    }
    for (const [time] of timeSteps()) svg.append(make("line", {x1: x(time), x2: x(time), y1: 0, y2: ROW, class: "grid"}));
    for (const value of ticks) {
      svg.append(make("line", {x1: LEFT, x2: width - RIGHT, y1: y(value), y2: y(value), class: "grid"}));
      const places = step >= 1 ? 0 : Math.min(3, Math.ceil(-Math.log10(step)));
      svg.append(make("text", {x: LEFT - 7, y: y(value) + 4, class: "tick", "text-anchor": "end"}, places ? value.toFixed(places).replace("-", "−") : shown(value, 1e3)));
    }
    for (const event of data.events) if (visible(event.time, event.time)) {
      const across = x(event.time - data.start);
      svg.append(make("line", {x1: across, x2: across, y1: 0, y2: ROW, class: "event"}));
    }
    const wide = width - LEFT - RIGHT, plot = make("svg", {x: LEFT, width: wide, height: ROW, viewBox: `${LEFT} 0 ${wide} ${ROW}`});
    shapes.forEach((shape, n) => plot.append(make("path", {d: path(shape, y, panel.wraps), class: "line l" + n})));
    svg.append(plot);
    svg.setAttribute("aria-label", `${panel.title} from ${shown(low, high - low)} to ${shown(high, high - low)} ${panel.unit}, between ${clock(data.start + view[0])} and ${clock(data.start + view[1])}`);
  };
  const marks = () => {  // what moves with the hand, drawn over charts that stay
    for (const {ribbon, svg} of rows) {
      const on = ribbon || svg;
      on.querySelectorAll(".moment, .picked").forEach(one => one.remove());
      const high = ribbon ? 100 : ROW;
      if (picked) on.append(make("rect", {x: Math.min(...picked), y: 0, width: Math.abs(picked[1] - picked[0]), height: high, class: "picked"}));
      if (at !== null && at >= view[0] && at <= view[1]) on.append(make("line", {x1: x(at), x2: x(at), y1: ribbon ? 26 : 0, y2: high, class: "moment"}));
    }
    if (at === null) return;
    const here = before(at);
    for (const {panel, outputs} of rows) if (panel) panel.lines.forEach((line, n) => {
      const low = line.value(line.low[here]), high = line.value(line.high[here]), spread = line.step * 2 * HALF;
      const one = shown(low, spread), other = shown(high, spread);
      outputs[n].textContent = one === other ? one : `${one} to ${other}`;
    });
    const phase = data.phases.find(one => data.start + at >= one.begins && data.start + at < one.ends);
    moment.textContent = `At ${clock(data.start + at)}${phase ? ", " + phase.title.toLowerCase() : ""}: values beside each title`;
  };
  let waiting = false;
  const draw = wide => {
    waiting = false;
    width = Number.isInteger(wide) ? wide : Math.max(charts.clientWidth, 320);
    const first = Math.max(0, before(view[0]) - 1), last = Math.min(count - 1, before(view[1]) + 1);
    for (const row of rows) if (row.ribbon) ribbon(row.ribbon); else strip(row, first, last);
    marks();
  };
  const soon = () => { if (!waiting) { waiting = true; requestAnimationFrame(() => draw()); } };
  const look = (low, high) => {
    const span = inside(high - low, Math.min(1, length), length);
    const begin = inside((low + high - span) / 2, 0, length - span);
    view = [begin, begin + span];
    soon();
  };
  const zoom = (factor, centre) => look(centre - (centre - view[0]) * factor, centre + (view[1] - centre) * factor);
  const pan = share => look(view[0] + share * (view[1] - view[0]), view[1] + share * (view[1] - view[0]));
  const middle = () => at !== null && at >= view[0] && at <= view[1] ? at : (view[0] + view[1]) / 2;
  const show = (low, high, when) => {
    at = inside(when - data.start, 0, length);
    look(low - data.start, high - data.start);
    document.getElementById("strips").scrollIntoView();
    charts.focus({preventScroll: true});
  };
  const next = () => {
    if (!data.findings.length) return;
    const later = [...data.findings].sort((a, b) => a.peak - b.peak);
    const one = later.find(each => at === null || each.peak - data.start > at + .05) || later[0];
    at = one.peak - data.start;
    look(one.begins - data.start - 8, Math.min(one.ends, one.peak + 60) - data.start + 8);
  };
  const does = {
    whole: () => look(0, length), in: () => zoom(.5, middle()), out: () => zoom(2, middle()),
    back: () => pan(-.5), on: () => pan(.5), next,
  };
  const across = event => (event.clientX - charts.getBoundingClientRect().left) * width / charts.clientWidth;

  build();
  draw();
  charts.addEventListener("wheel", event => {
    // Without focus the wheel scrolls the page, as everywhere else.
    if (document.activeElement !== charts && !event.ctrlKey) return;
    event.preventDefault();
    if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) pan(inside(event.deltaX / 600, -.5, .5));
    else zoom(2 ** inside(event.deltaY / 300, -1, 1), inside(timeAt(across(event)), ...view));
  }, {passive: false});
  charts.addEventListener("pointerdown", event => {
    if (event.button) return;
    picked = [across(event), across(event)];
    charts.setPointerCapture(event.pointerId);
    charts.focus({preventScroll: true});
  });
  charts.addEventListener("pointermove", event => { if (picked) { picked[1] = across(event); marks(); } });
  charts.addEventListener("pointerup", () => {
    if (!picked) return;
    const [low, high] = [...picked].sort((a, b) => a - b).map(one => inside(timeAt(one), ...view));
    const dragged = Math.abs(picked[1] - picked[0]) > 6;
    picked = null;
    if (dragged) look(low, high); else { at = low; soon(); }
  });
  charts.addEventListener("pointercancel", () => { picked = null; soon(); });
  charts.addEventListener("dblclick", does.whole);
  charts.addEventListener("keydown", event => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const beside = (time, way) => begins[inside(before(time + 1e-4) + way, 0, count - 1)];
    const nudge = way => () => {  // a hundredth of what is shown, but no less than a sample
      const from = middle(), far = from + way * (view[1] - view[0]) / 100, near = beside(from, way);
      at = inside(way > 0 ? Math.max(far, near) : Math.min(far, near), 0, length);
      if (at < view[0] || at > view[1]) pan(way * .5);
      soon();
    };
    const keys = {
      "+": does.in, "=": does.in, "-": does.out, "−": does.out, 0: does.whole, Home: does.whole, n: next, N: next,
      ArrowLeft: event.shiftKey ? () => pan(-.1) : nudge(-1), ArrowRight: event.shiftKey ? () => pan(.1) : nudge(1),
      Escape: () => charts.blur(),
    };
    if (keys[event.key]) { event.preventDefault(); keys[event.key](); }
  });
  document.addEventListener("click", event => {
    const link = event.target.closest("a.jump"), button = event.target.closest("button[data-do]");
    if (button) does[button.dataset.do]();
    if (!link) return;
    event.preventDefault();
    const low = Number(link.dataset.begins), high = Number(link.dataset.ends);
    show(low, high, link.dataset.at ? Number(link.dataset.at) : (low + high) / 2);
  });
  const scheme = document.getElementById("scheme");
  const wear = night => {
    document.documentElement.dataset.scheme = night ? "night" : "day";
    scheme.setAttribute("aria-pressed", String(night));
  };
  scheme.addEventListener("click", () => wear(scheme.getAttribute("aria-pressed") !== "true"));
  document.getElementById("print").addEventListener("click", () => window.print());
  addEventListener("beforeprint", () => draw(700));
  addEventListener("afterprint", soon);
  new ResizeObserver(() => { if (Math.abs(charts.clientWidth - width) > 1) soon(); }).observe(charts);
})();
