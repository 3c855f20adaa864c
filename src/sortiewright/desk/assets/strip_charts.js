// Strip charts over one time axis. The server thins what is in sight to least and greatest a pixel; while a finer
// answer is on its way, what is at hand is drawn, so zooming never waits for the network.

const HEIGHT = 84; // px of one strip
const LEFT = 58; // px for the numbers at its edge
const BOTTOM = 26; // px for the times under the last one
const SHORTEST = 0.2; // s that can still be zoomed to
const REFINED_EVERY = 120; // ms between windows asked for while zooming
const SETTLED = 160; // ms after which exact values are asked for

export function clock(seconds) {
  const tenths = Math.round(Math.abs(seconds) * 10);
  const minutes = Math.floor(tenths / 600);
  const head = minutes >= 60 ? `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}` : `${minutes}`;
  const rest = tenths % 600;
  return `${seconds < 0 ? "−" : ""}${head}:${String(Math.floor(rest / 10)).padStart(2, "0")}.${rest % 10}`;
}

// The place in sorted times of the last one not after a moment.
export function placeIn(times, moment) {
  let low = 0;
  let high = times.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (times[middle] <= moment) low = middle;
    else high = middle - 1;
  }
  return low;
}

function colour(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function read(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  let at = 4 + length;
  const times = new Float64Array(buffer, at, head.points);
  at += 8 * head.points;
  const lines = head.channels.map(() => {
    const line = Array.from(new Float32Array(buffer, at, head.points), (value) => (Number.isNaN(value) ? null : value));
    at += 4 * head.points;
    return line;
  });
  return { times, lines, thinned: head.thinned, channels: head.channels };
}

export class StripCharts {
  constructor({ charts, list, cursor, picked, address, flight, changed }) {
    Object.assign(this, { charts, list, cursor, picked, address, flight, changed });
    this.begin = flight.start;
    this.end = flight.end;
    this.moment = flight.start;
    this.plots = [];
    this.drawn = 0; // frames, for measuring
    this.listen();
  }

  async choose(channels) {
    this.channels = channels;
    this.whole = await this.ask(this.flight.start, this.flight.end, 1200);
    this.detail = null;
    this.build();
    this.show(this.begin, this.end);
  }

  async ask(begin, end, width) {
    const query = new URLSearchParams({ channels: this.channels.join(","), begin, end, width });
    const answer = await fetch(`${this.address}/strips?${query}`);
    if (!answer.ok) throw new Error(`strips: ${answer.status}`);
    return { begin, end, ...read(await answer.arrayBuffer()) };
  }

  build() {
    for (const plot of this.plots) plot.chart.destroy();
    this.list.replaceChildren();
    const width = this.list.clientWidth;
    this.width = width;
    const ink = colour("--ink");
    const second = colour("--second");
    const rule = colour("--rule");
    const font = '12px "B612", system-ui, sans-serif';
    const known = new Map(this.flight.strips.map((one) => [one.channel, one]));
    this.plots = this.channels.map((channel, at) => {
      const strip = known.get(channel);
      const isLast = at === this.channels.length - 1;
      const row = document.createElement("div");
      row.className = "strip";
      const name = document.createElement("p");
      name.className = "strip-name";
      const value = document.createElement("output");
      const unit = document.createElement("span");
      unit.textContent = strip.unit;
      name.append(`${strip.title} `, value, " ", unit);
      row.append(name);
      this.list.append(row);
      const options = {
        width,
        height: HEIGHT + (isLast ? BOTTOM : 0),
        legend: { show: false },
        cursor: { show: false },
        padding: [16, 10, isLast ? 0 : 4, 0],
        scales: { x: { time: false, auto: false, min: this.begin, max: this.end }, y: { range: (_, low, high) => this.range(low, high, strip) } },
        axes: [
          { show: isLast, size: BOTTOM, font, stroke: second, grid: { show: false }, ticks: { stroke: rule, size: 5 }, values: (_, ticks) => ticks.map((one) => clock(one).replace(/\.0$/, "")) },
          { size: LEFT, font, stroke: second, space: 26, grid: { stroke: rule, width: 1 }, ticks: { show: false }, values: (_, ticks) => ticks.map((one) => `${+one.toFixed(3)}`.replace("-", "−")) },
        ],
        series: [{}, { stroke: ink, width: 1.4, points: { show: false }, spanGaps: false }],
        hooks: { drawClear: [(chart) => this.shade(chart)] },
      };
      if (!isLast) options.axes[0].show = false;
      const chart = new window.uPlot(options, [[this.flight.start, this.flight.end], [null, null]], row);
      return { chart, strip, value, data: null };
    });
  }

  range(low, high, strip) {
    if (low === null || low === undefined || high === null) return [0, 1];
    const least = strip.unit === "" ? 0.02 : 10 ** -strip.places;
    const pad = Math.max((high - low) * 0.08, least);
    return [low - pad, high + pad];
  }

  // Stretches of findings behind the lines.
  shade(chart) {
    const context = chart.ctx;
    const { left, top, width, height } = chart.bbox;
    context.save();
    context.beginPath();
    context.rect(left, top, width, height);
    context.clip();
    for (const one of this.flight.findings) {
      const from = chart.valToPos(Math.min(one.begins + 8, one.peak), "x", true);
      const to = chart.valToPos(Math.max(one.ends - 8, one.peak), "x", true);
      if (to < left || from > left + width) continue;
      context.fillStyle = colour(one.severity === "high" ? "--no-go" : one.severity === "medium" ? "--caution" : "--hatch");
      context.globalAlpha = 0.2;
      context.fillRect(from, top, Math.max(to - from, 2), height);
    }
    context.restore();
  }

  get span() {
    return this.end - this.begin;
  }

  show(begin, end) {
    const whole = this.flight.end - this.flight.start;
    const span = Math.min(Math.max(end - begin, SHORTEST), whole);
    begin = Math.min(Math.max(begin, this.flight.start), this.flight.end - span);
    this.begin = begin;
    this.end = begin + span;
    this.soon();
  }

  zoom(factor, around = this.moment) {
    if (around < this.begin || around > this.end) around = 0.5 * (this.begin + this.end);
    const share = (around - this.begin) / this.span;
    const span = Math.min(Math.max(this.span * factor, SHORTEST), this.flight.end - this.flight.start);
    this.show(around - share * span, around + (1 - share) * span);
  }

  at(moment, { follow = true } = {}) {
    this.moment = Math.min(Math.max(moment, this.flight.start), this.flight.end);
    if (follow && (this.moment < this.begin || this.moment > this.end)) this.show(this.moment - 0.1 * this.span, this.moment + 0.9 * this.span);
    this.soon();
  }

  soon() {
    if (this.waiting) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      this.draw();
    });
  }

  covering() {
    const fine = this.detail;
    return fine && fine.channels === this.detailFor && fine.begin <= this.begin && fine.end >= this.end ? fine : this.whole;
  }

  draw() {
    if (!this.plots.length || !this.whole) return;
    const data = this.covering();
    for (const [at, plot] of this.plots.entries()) {
      if (plot.data !== data) {
        plot.data = data;
        plot.chart.setData([data.times, data.lines[at]], false);
      }
      if (plot.begin !== this.begin || plot.end !== this.end || plot.last !== data) {
        plot.chart.setScale("x", { min: this.begin, max: this.end });
        Object.assign(plot, { begin: this.begin, end: this.end, last: data });
      }
    }
    this.place();
    this.values(data);
    this.drawn += 1;
    this.changed(this);
    this.refine();
  }

  // Where a moment is across the charts, px.
  across(moment) {
    const first = this.plots[0].chart;
    return first.bbox.left / devicePixelRatio + ((moment - this.begin) / this.span) * (first.bbox.width / devicePixelRatio);
  }

  // The moment at a place across the charts.
  momentAt(x) {
    const first = this.plots[0].chart;
    const share = (x - first.bbox.left / devicePixelRatio) / (first.bbox.width / devicePixelRatio);
    return this.begin + Math.min(Math.max(share, 0), 1) * this.span;
  }

  place() {
    const inside = this.moment >= this.begin && this.moment <= this.end;
    this.cursor.hidden = !inside;
    if (inside) this.cursor.style.transform = `translateX(${this.across(this.moment)}px)`;
  }

  values(data) {
    const at = placeIn(data.times, this.moment);
    for (const [number, plot] of this.plots.entries()) {
      const one = data.lines[number][at];
      const next = data.lines[number][Math.min(at + 1, data.times.length - 1)];
      this.say(plot, one === null || !data.thinned || next === null ? one : 0.5 * (one + next));
    }
    clearTimeout(this.settling);
    if (data.thinned) this.settling = setTimeout(() => this.exact(), SETTLED);
  }

  say(plot, value) {
    plot.value.textContent = value === null || value === undefined ? "—" : value.toFixed(plot.strip.places).replace("-", "−");
  }

  async exact() {
    const moment = this.moment;
    const near = await this.ask(moment - 0.01, moment + 0.01, 50).catch(() => null);
    if (!near || moment !== this.moment || near.lines.length !== this.plots.length) return;
    const at = placeIn(near.times, moment);
    for (const [number, plot] of this.plots.entries()) this.say(plot, near.lines[number][at]);
  }

  async refine() {
    const fine = this.covering();
    const isFineEnough = fine === this.detail && (!fine.thinned || fine.end - fine.begin < 3.2 * this.span);
    const whole = this.flight.end - this.flight.start;
    if (isFineEnough || (fine === this.whole && (!fine.thinned || this.span > 0.95 * whole))) return;
    if (this.asking) return;
    const wait = REFINED_EVERY - (performance.now() - (this.asked ?? -REFINED_EVERY));
    if (wait > 0) {
      clearTimeout(this.refining);
      this.refining = setTimeout(() => this.refine(), wait);
      return;
    }
    this.asking = true;
    this.asked = performance.now();
    const channels = this.channels;
    try {
      const margin = 0.6 * this.span;
      const found = await this.ask(this.begin - margin, this.end + margin, Math.min(Math.round(2.2 * this.width), 2400));
      if (channels === this.channels) {
        this.detail = found;
        this.detailFor = found.channels;
      }
    } catch {
      // The coarse lines stay; the next window asks again.
    } finally {
      this.asking = false;
    }
    if (channels === this.channels) this.soon();
  }

  listen() {
    const { charts, picked } = this;
    let down = null;
    const place = (event) => event.clientX - this.list.getBoundingClientRect().left;
    charts.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !this.plots.length) return;
      down = { from: place(event), id: event.pointerId };
    });
    charts.addEventListener("pointermove", (event) => {
      if (!down || event.pointerId !== down.id) return;
      const to = place(event);
      if (Math.abs(to - down.from) < 6 && picked.hidden) return;
      if (picked.hidden) charts.setPointerCapture(event.pointerId);
      picked.hidden = false;
      picked.style.left = `${Math.min(down.from, to)}px`;
      picked.style.width = `${Math.abs(to - down.from)}px`;
    });
    const up = (event) => {
      if (!down || event.pointerId !== down.id) return;
      const [from, to] = [this.momentAt(down.from), this.momentAt(place(event))];
      if (event.type === "pointerup") {
        if (picked.hidden) this.at(to);
        else {
          this.moment = Math.min(from, to);
          this.show(Math.min(from, to), Math.max(from, to));
        }
      }
      picked.hidden = true;
      down = null;
    };
    charts.addEventListener("pointerup", up);
    charts.addEventListener("pointercancel", up);
    charts.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey && document.activeElement !== charts) return; // the page scrolls
      event.preventDefault();
      this.zoom(event.deltaY > 0 ? 1.18 : 1 / 1.18, this.momentAt(place(event)));
    }, { passive: false });
    new ResizeObserver(() => {
      if (!this.plots.length || Math.abs(this.list.clientWidth - this.width) < 2) return;
      this.width = this.list.clientWidth;
      for (const { chart } of this.plots) chart.setSize({ width: this.width, height: chart.height });
      this.soon();
    }).observe(charts);
  }
}
