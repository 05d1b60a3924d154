// What every curve has: colours of the page, the scale of the device, hours and minutes, the window.
import { settings } from "./settings.js";
import { toF } from "./view.js";

export const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
export const scaled = (mc) => (mc === null ? null : (settings.fahrenheit ? toF(mc) : mc) / 1000);
export const line = (name, width, more = {}) =>
  ({ stroke: css(name), width, points: { show: false }, spanGaps: false, ...more });

const clock = (seconds) => {
  const all = Math.round(seconds / 60);
  return `${Math.floor(all / 60)}:${String(all % 60).padStart(2, "0")}`;
};

// `below` pixels under the hours are kept free.
export function axes(below = 0) {
  const text = { stroke: css("--quiet"), font: "14px system-ui, sans-serif",
    grid: { stroke: css("--rule"), width: 1 }, ticks: { show: false } };
  return [{ ...text, size: 28 + below, values: (_, values) => values.map(clock),
    incrs: [300, 600, 900, 1800, 3600, 7200], space: 70 },
  { ...text, size: 44, space: 44, scale: "y" }];
}

export const common = { legend: { show: false }, cursor: { show: false } };

// Between two lines, so that the window is seen without its colour.
export function paintWindow(plot, lowMc, highMc) {
  if (lowMc === null || lowMc === undefined) return;
  const { ctx } = plot, { left, top, width, height } = plot.bbox;
  const above = plot.valToPos(scaled(highMc), "y", true), below = plot.valToPos(scaled(lowMc), "y", true);
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

// A dot on the curve, edged so that it is seen on any ground.
export function paintDot(plot, seconds, mc, radius) {
  const { ctx } = plot;
  ctx.save();
  ctx.fillStyle = css("--chocolate");
  ctx.strokeStyle = css("--paper");
  ctx.lineWidth = 3 * devicePixelRatio;
  ctx.setLineDash([]);
  ctx.beginPath();
  ctx.arc(plot.valToPos(seconds, "x", true), plot.valToPos(scaled(mc), "y", true),
    radius * devicePixelRatio, 0, 7);
  ctx.fill();
  ctx.stroke();
  ctx.restore();
}
