// One batch: its curve, drawn of what the server thinned to the pixel, and its report by one touch.
import "./scale.js";
import { axes, common, css, line, paintDot, paintWindow, scaled } from "./plot.js";
import { settings } from "./settings.js";
import { fill } from "./view.js";

const LANE = 18;         // pixels for a row of words under the hours
const LANES = 2;

const own = JSON.parse(document.getElementById("snap-own").textContent);
const main = document.getElementById("snap-main");
const box = document.getElementById("rec-curve");
const said = document.getElementById("rec-said");
const report = document.getElementById("rec-report");
let found = null, plot = null;

function tell(words) {
  box.dataset.words = words;
  box.setAttribute("aria-label", words);
}

async function read() {
  try {
    const answer = await fetch(main.dataset.curve);  // the page asked for it before its scripts
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
  return {
    ...common, width: box.clientWidth, height: box.clientHeight, padding: [26, 14, 0, 0],
    scales: { x: { time: false }, heat: { range: [0, 600] }, y: { range: (_, low, high) => [low - 4, high + 2] } },
    axes: axes(found.marks.length ? LANES * LANE + 6 : 0),
    series: [{},
      line("--heat", 0.5, { scale: "heat", fill: css("--heat") }),
      line("--plate", 1.5), line("--target", 2, { dash: [6, 5] }), line("--chocolate", 3)],
    hooks: {
      drawClear: [steps, (plotted) => paintWindow(plotted, found.window_low_mc, found.window_high_mc)],
      draw: [marks],
    },
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

// What the hands did: a dot on the curve, and its words under the hours.
function marks(plotted) {
  const { ctx } = plotted, { left, top, width, height } = plotted.bbox, one = devicePixelRatio;
  const ends = [];
  for (const { minute, words, stop } of found.marks) {
    const at = found.at_s.findIndex((second) => second >= minute * 60);
    if (at >= 0 && found.product_mc[at] !== null) paintDot(plotted, found.at_s[at], found.product_mc[at], 5);
    ctx.save();
    ctx.textAlign = "left";
    ctx.textBaseline = "alphabetic";
    ctx.font = `${stop ? 700 : 400} ${13 * one}px system-ui, sans-serif`;
    ctx.fillStyle = css(stop ? "--over" : "--ink");
    const told = `${stop ? "■" : "▴"} ${words}`, wide = ctx.measureText(told).width;
    const x = Math.min(plotted.valToPos(minute * 60, "x", true) - 5 * one, left + width - wide);
    let lane = ends.findIndex((end) => end < x);
    if (lane < 0) lane = Math.min(ends.length, LANES - 1);
    ends[lane] = x + wide + 8 * one;
    ctx.fillText(told, x, top + height + (44 + LANE * lane) * one);
    ctx.restore();
  }
}

report.addEventListener("click", async () => {
  report.disabled = true;
  said.textContent = own.report_busy;
  try {
    const answer = await fetch("api/report", {
      method: "POST",
      headers: { "content-type": "application/json", "x-snapgloss-page": main.dataset.page },
      body: JSON.stringify({ run: Number(main.dataset.run), fahrenheit: settings.fahrenheit }),
    });
    const told = await answer.json();
    if (answer.ok) { said.textContent = ""; location.href = `.${told.words}`; return; }
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
