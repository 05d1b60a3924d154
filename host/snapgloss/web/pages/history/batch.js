// One batch: its curve, drawn of what the server thinned to the pixel, and its report by one touch.
import "./scale.js";
import { settings } from "./settings.js";
import { fill, toF } from "./view.js";

const own = JSON.parse(document.getElementById("snap-own").textContent);
const main = document.getElementById("snap-main");
const box = document.getElementById("rec-curve");
const said = document.getElementById("rec-said");
const report = document.getElementById("rec-report");
const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const scaled = (mc) => (mc === null ? null : (settings.fahrenheit ? toF(mc) : mc) / 1000);
let found = null, plot = null;

function tell(words) {
  box.dataset.words = words;
  box.setAttribute("aria-label", words);
}

async function read() {
  try {
    const width = Math.max(300, box.clientWidth);
    const answer = await fetch(`/api/batches/${main.dataset.run}/curve?width=${width}`);
    if (!answer.ok) throw new Error(answer.status);
    found = await answer.json();
  } catch {
    tell(own.curve_failed);
    return;
  }
  if (!found.at_s.length) { tell(own.curve_none); return; }
  tell(fill(own.curve, { run: main.dataset.run, steps: found.steps.map((step) => step.words).join(", ") }));
  document.getElementById("rec-of").textContent = fill(own.work_kept, { of: found.of });
  draw();
}

function draw() {
  if (!found?.at_s.length || !window.uPlot) return;
  plot?.destroy();
  box.dataset.words = "";
  const data = [found.at_s, found.heat_permille.map((one) => (one === null ? null : one / 10)),
    found.plate_mc.map(scaled), found.target_mc.map(scaled), found.product_mc.map(scaled)];
  plot = new uPlot(options(), data, box);
  box.dataset.drawn = found.at_s.length;
}

function options() {
  const text = { stroke: css("--quiet"), font: "14px system-ui, sans-serif",
    grid: { stroke: css("--rule"), width: 1 }, ticks: { show: false } };
  const minutes = (_, values) => values.map((s) => {
    const all = Math.round(s / 60);
    return `${Math.floor(all / 60)}:${String(all % 60).padStart(2, "0")}`;
  });
  const line = (name, width, more = {}) => ({ stroke: css(name), width, points: { show: false }, spanGaps: false, ...more });
  return {
    width: box.clientWidth, height: box.clientHeight, legend: { show: false }, cursor: { show: false },
    padding: [26, 14, 0, 0],
    scales: { x: { time: false }, heat: { range: [0, 600] }, y: { range: (_, low, high) => [low - 4, high + 2] } },
    axes: [{ ...text, size: 28, values: minutes, incrs: [300, 600, 900, 1800, 3600, 7200], space: 70 },
      { ...text, size: 44, space: 44, scale: "y" }],
    series: [{},
      line("--heat", 0.5, { scale: "heat", fill: css("--heat") }),
      line("--plate", 1.5), line("--target", 2, { dash: [6, 5] }), line("--chocolate", 3)],
    hooks: { drawClear: [steps, band], draw: [marks] },
  };
}

function steps(plotted) {
  const { ctx } = plotted, { left, top, width, height } = plotted.bbox;
  ctx.save();
  ctx.beginPath();
  ctx.rect(left, 0, width, top + height);
  ctx.clip();
  ctx.textAlign = "left";
  ctx.textBaseline = "alphabetic";
  ctx.font = `${13 * devicePixelRatio}px system-ui, sans-serif`;
  for (const [n, step] of found.steps.entries()) {
    const from = plotted.valToPos(step.from_s, "x", true), to = plotted.valToPos(step.to_s, "x", true);
    ctx.fillStyle = css(n % 2 ? "--step-b" : "--step-a");
    ctx.fillRect(from, top, to - from, height);
    ctx.fillStyle = css("--ink");
    if (ctx.measureText(step.words).width < to - from - 6) ctx.fillText(step.words, from + 4, top - 8 * devicePixelRatio);
  }
  ctx.restore();
}

// The window between two lines, so that it is seen without its colour.
function band(plotted) {
  const { ctx } = plotted, { left, width } = plotted.bbox;
  const above = plotted.valToPos(scaled(found.window_high_mc), "y", true);
  const below = plotted.valToPos(scaled(found.window_low_mc), "y", true);
  ctx.save();
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

function marks(plotted) {
  const { ctx } = plotted, { left, top, width, height } = plotted.bbox, one = devicePixelRatio;
  ctx.save();
  ctx.textAlign = "left";
  ctx.textBaseline = "alphabetic";
  ctx.font = `${13 * one}px system-ui, sans-serif`;
  ctx.strokeStyle = ctx.fillStyle = css("--ink");
  ctx.lineWidth = one;
  const ends = [];
  for (const { minute, words, stop } of found.marks) {
    const x = plotted.valToPos(minute * 60, "x", true), wide = ctx.measureText(words).width + 8 * one;
    const isLeft = x + wide > left + width, begin = isLeft ? x - wide : x;
    let line = ends.findIndex((end) => end < begin);
    if (line < 0) line = ends.push(0) - 1;
    ends[line] = begin + wide;
    const y = top + (16 + 18 * line) * one;
    ctx.setLineDash(stop ? [] : [3 * one, 3 * one]);
    ctx.beginPath();
    ctx.moveTo(x, top);
    ctx.lineTo(x, top + height);
    ctx.stroke();
    ctx.globalAlpha = .85;
    ctx.fillStyle = css("--paper");
    ctx.fillRect(begin + 2 * one, y - 13 * one, wide - 4 * one, 17 * one);
    ctx.globalAlpha = 1;
    ctx.fillStyle = css("--ink");
    ctx.fillText(words, begin + 4 * one, y);
  }
  ctx.restore();
}

report.addEventListener("click", async () => {
  report.disabled = true;
  said.textContent = own.report_busy;
  try {
    const answer = await fetch("/api/report", {
      method: "POST",
      headers: { "content-type": "application/json", "x-snapgloss-page": main.dataset.page },
      body: JSON.stringify({ run: Number(main.dataset.run), fahrenheit: settings.fahrenheit }),
    });
    const told = await answer.json();
    if (answer.ok) { said.textContent = ""; location.href = told.words; return; }
    said.textContent = [told.error, told.remedy].filter(Boolean).join(" ");
  } catch {
    said.textContent = own.report_failed;
  } finally {
    report.disabled = false;
  }
});

addEventListener("snap-setting", draw);
new ResizeObserver(() => {
  const { clientWidth: width, clientHeight: height } = box;
  if (plot && (plot.width !== width || plot.height !== height)) plot.setSize({ width, height });
}).observe(box);
read();
