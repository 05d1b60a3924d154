// The curve: what was, the window, and what is to come. Drawn by uPlot; without it there is none.
import { axes, common, css, line, paintDot, paintWindow, scaled } from "./plot.js";
import { settings } from "./settings.js";
import { fill, span, temperature } from "./view.js";

const KEPT = 16000;      // points; then of the older half every second one goes
const LEAST_MS = 450;    // between two drawings

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

  // Seconds, then what was, what is forecast, and between which two nine in ten batches are.
  data() {
    const ahead = this.state?.step_no ? this.ahead : [];
    const last = this.points.at(-1)?.[0] ?? 0;
    const rest = ahead.filter(([at]) => at > last);
    const none = this.points.map(() => null);
    const past = this.points.map((p) => scaled(p[1]));
    const next = [1, 2, 3].map((place) => {
      const found = [...none, ...rest.map((p) => scaled(p[place]))];
      if (rest.length && past.length) found[past.length - 1] = past.at(-1);
      return found;
    });
    return [[...this.points, ...rest].map((p) => p[0]), [...past, ...rest.map(() => null)],
      next[0], next[1], next[2]];
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
    const doubt = line("--chocolate", 1);
    return {
      ...common, width: this.box.clientWidth, height: this.box.clientHeight, padding: [12, 12, 0, 0],
      scales: { x: { time: false }, y: { range: (_, low, high) => [low - 1.5, high + 1.5] } },
      axes: axes(),
      series: [{}, line("--chocolate", 4), line("--chocolate", 2.5, { dash: [3, 7], cap: "round" }),
        doubt, doubt],
      bands: [{ series: [4, 3], fill: `color-mix(in srgb, ${css("--chocolate")} 22%, transparent)` }],
      hooks: {
        drawClear: [(plot) => paintWindow(plot, this.state?.window_low_mc, this.state?.window_high_mc)],
        draw: [(plot) => this.here(plot)],
      },
    };
  }

  here(plot) {
    const last = this.points.at(-1);
    if (last && last[1] !== null) paintDot(plot, last[0], last[1], 8);
  }
}
