// The curve: what was, the window, and what is to come. Drawn by uPlot; without it there is none.
import { settings } from "./settings.js";
import { fill, span, temperature, toF } from "./view.js";

const KEPT = 16000;      // points; then of the older half every second one goes
const LEAST_MS = 450;    // between two drawings

const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const scaled = (mc) => (mc === null ? null : (settings.fahrenheit ? toF(mc) : mc) / 1000);

export class Curve {
  constructor(box, words) {
    this.box = box;
    this.words = words;
    this.points = [];
    this.ahead = [];
    this.state = null;
    this.plot = null;
    this.due = null;
    this.drawnAt = 0;
    new ResizeObserver(() => this.resize()).observe(box);
    addEventListener("snap-setting", () => this.anew());
    document.addEventListener("visibilitychange", () => this.soon());
  }

  take(message) {
    if (message.anew) this.points = [];
    for (const point of message.points) this.points.push(point);
    if (this.points.length > KEPT) this.thin();
    this.state = message.state;
    if (message.state.ahead.curve) this.ahead = message.state.ahead.curve;
    this.soon();
  }

  thin() {
    const half = Math.floor(this.points.length / 2);
    this.points = [...this.points.slice(0, half).filter((_, n) => n % 2 === 0),
      ...this.points.slice(half)];
  }

  soon() {
    if (this.due !== null || document.hidden) return;
    const wait = Math.max(0, LEAST_MS - (performance.now() - this.drawnAt));
    this.due = setTimeout(() => requestAnimationFrame(() => this.draw()), wait);
  }

  data() {
    const ahead = this.state?.step_no ? this.ahead : [];
    const last = this.points.at(-1)?.[0] ?? 0;
    const rest = ahead.filter(([at]) => at > last);
    const seconds = [...this.points.map((p) => p[0]), ...rest.map((p) => p[0])];
    const past = [...this.points.map((p) => scaled(p[1])), ...rest.map(() => null)];
    const next = [...this.points.map(() => null), ...rest.map((p) => scaled(p[1]))];
    if (rest.length && this.points.length) next[this.points.length - 1] = past[this.points.length - 1];
    return [seconds, past, next];
  }

  draw() {
    this.due = null;
    this.drawnAt = performance.now();
    if (!window.uPlot || !this.points.length) return;
    const data = this.data();
    if (this.plot) this.plot.setData(data);
    else this.plot = new uPlot(this.options(), data, this.box);
    this.describe(data);
  }

  describe([seconds]) {
    const at = seconds.at(-1);
    if (this.saidAt !== undefined && Math.abs(at - this.saidAt) < 60) return;
    this.saidAt = at;
    const first = this.points[0], last = this.points.at(-1), f = settings.fahrenheit;
    this.box.setAttribute("aria-label", fill(this.words.curve, {
      first: temperature(first[1], f), last: temperature(last[1], f),
      span: span(last[0] - first[0], this.words), target: temperature(last[2], f),
    }));
  }

  anew() {
    this.plot?.destroy();
    this.plot = null;
    this.soon();
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.box;
    if (this.plot && width && height) this.plot.setSize({ width, height });
  }

  options() {
    const text = { stroke: css("--quiet"), font: "14px system-ui, sans-serif",
      grid: { stroke: css("--rule"), width: 1 }, ticks: { show: false } };
    const minutes = (_, values) => values.map((s) => {
      const all = Math.round(s / 60);
      return `${Math.floor(all / 60)}:${String(all % 60).padStart(2, "0")}`;
    });
    return {
      width: this.box.clientWidth, height: this.box.clientHeight,
      legend: { show: false }, cursor: { show: false }, padding: [12, 12, 0, 0],
      scales: { x: { time: false }, y: { range: (_, low, high) => [low - 1.5, high + 1.5] } },
      axes: [{ ...text, size: 28, values: minutes,
        incrs: [300, 600, 900, 1800, 3600, 7200], space: 70 },
      { ...text, size: 44, space: 44 }],
      series: [{},
        { stroke: css("--chocolate"), width: 4, points: { show: false } },
        { stroke: css("--chocolate"), width: 2.5, dash: [3, 7], cap: "round",
          points: { show: false } }],
      hooks: { drawClear: [(plot) => this.band(plot)], draw: [(plot) => this.here(plot)] },
    };
  }

  // The window between two lines, so that it is seen without its colour.
  band(plot) {
    const { window_low_mc: low, window_high_mc: high } = this.state ?? {};
    if (low === null || low === undefined) return;
    const { ctx } = plot, { left, top, width, height } = plot.bbox;
    const above = plot.valToPos(scaled(high), "y", true), below = plot.valToPos(scaled(low), "y", true);
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, top, width, height);
    ctx.clip();
    ctx.fillStyle = css("--window");
    ctx.fillRect(left, above, width, below - above);
    ctx.strokeStyle = css("--window-ink");
    ctx.lineWidth = devicePixelRatio;
    ctx.setLineDash([]);
    ctx.beginPath();
    for (const y of [above, below]) { ctx.moveTo(left, y); ctx.lineTo(left + width, y); }
    ctx.stroke();
    ctx.restore();
  }

  here(plot) {
    const last = this.points.at(-1);
    if (!last || last[1] === null) return;
    const { ctx } = plot;
    ctx.save();
    ctx.fillStyle = css("--chocolate");
    ctx.strokeStyle = css("--paper");
    ctx.lineWidth = 3 * devicePixelRatio;
    ctx.setLineDash([]);
    ctx.beginPath();
    ctx.arc(plot.valToPos(last[0], "x", true), plot.valToPos(scaled(last[1]), "y", true),
      8 * devicePixelRatio, 0, 7);
    ctx.fill();
    ctx.stroke();
    ctx.restore();
  }
}

