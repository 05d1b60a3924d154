// Batches side by side: strips of how far each lay over or under its band.
import { settings } from "./settings.js";
import { fill } from "./view.js";

const MOST_MC = 3000, HIGH = 100, MIDDLE = HIGH / 2, WIDE = 1000;
const SVG = "http://www.w3.org/2000/svg";
const own = JSON.parse(document.getElementById("snap-own").textContent);
const main = document.getElementById("snap-main");
const strips = document.getElementById("rec-strips");
const lines = document.getElementById("rec-lines");
let found = null;

function make(tag, className, text = "") {
  const made = document.createElement(tag);
  made.className = className;
  made.textContent = text;
  return made;
}

function shape(name, values, className) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
  made.setAttribute("class", className);
  return made;
}

async function read() {
  try {
    const answer = await fetch(`api/beside?runs=${main.dataset.runs}&at=${main.dataset.at}`);
    const told = await answer.json();
    if (!answer.ok) { say([[told.error, told.remedy].filter(Boolean).join(" ")]); return; }
    found = told;
    draw();
  } catch {
    say([own.failed]);
  }
}

function say(told) {
  lines.replaceChildren(...told.map((line) => make("li", "", line)));
}

function draw() {
  if (!found) return;
  say(settings.fahrenheit ? found.fahrenheit : found.lines);
  const from = Math.min(...found.rows.map((row) => row.from_s));
  const to = Math.max(...found.rows.map((row) => row.from_s + row.off_mc.length * found.step_s));
  const x = (s) => (s - from) / (to - from) * WIDE;
  strips.replaceChildren(...found.rows.map((row) => strip(row, x)), axis(from, to));
  strips.dataset.shown = found.rows.length;
}

function strip(row, x) {
  const { summary } = row, whole = make("section", "strip");
  const title = make("h2", "", "");
  const link = Object.assign(make("a", "", `#${summary.run} ${summary.chocolate}`), { href: `history?batch=${summary.run}` });
  title.append(link, make("span", "facts", ` ${summary.began.slice(0, 10)}${summary.simulated ? ` · ${own.simulated}` : ""}`));
  const by = (settings.fahrenheit && row.parts_fahrenheit) || row.parts_words;
  if (by) title.append(make("span", "parts", `▾ ${fill(own.parts, { by })}`));
  const picture = shape("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, preserveAspectRatio: "none", role: "img",
    "aria-label": told(row, by) }, "");
  picture.append(...parts(row, x));
  const frame = make("div", "frame");
  const most = settings.fahrenheit ? "5.4 °F" : "3 °C";
  frame.append(make("span", "most", `+${most}`), make("span", "band", own.band), make("span", "least", `−${most}`), picture, names(row, x));
  whole.append(title, frame);
  return whole;
}

function told(row, by) {
  const known = row.off_mc.filter((mc) => mc !== null);
  const share = known.length ? Math.round(100 * known.filter((mc) => mc === 0).length / known.length) : 0;
  const minutes = Math.round((row.parts_at_s ?? 0) / 60);
  return fill(own.strip, { run: row.summary.run, name: row.summary.chocolate, share,
    parts: by ? fill(own.strip_parts, { by, minutes }) : "" });
}

function parts(row, x) {
  const made = row.steps.map((step, n) => shape("rect", { x: x(step.from_s), y: 0, width: Math.max(0, x(step.to_s) - x(step.from_s)), height: HIGH }, n % 2 ? "step-b" : "step-a"));
  made.push(shape("path", { d: area(row, x, 1) }, "over"), shape("path", { d: area(row, x, -1) }, "under"),
    shape("path", { d: lost(row, x) }, "lost"),
    shape("path", { d: `M0 ${MIDDLE}H${WIDE}`, "vector-effect": "non-scaling-stroke" }, "line"),
    shape("path", { d: `M${x(0)} 0V${HIGH}`, "vector-effect": "non-scaling-stroke" }, "zero"));
  if (row.parts_at_s !== null) made.push(shape("path", { d: `M${x(row.parts_at_s)} 0V${HIGH}`, "vector-effect": "non-scaling-stroke" }, "parting"));
  return made;
}

function area(row, x, sign) {
  let path = "";
  row.off_mc.forEach((mc, n) => {
    if (mc === null || sign * mc <= 0) return;
    const from = x(row.from_s + (n - .5) * found.step_s), wide = x(found.step_s) - x(0);
    const high = Math.min(Math.abs(mc), MOST_MC) / MOST_MC * MIDDLE;
    path += `M${from.toFixed(2)} ${MIDDLE}v${(-sign * high).toFixed(1)}h${(wide + .3).toFixed(2)}V${MIDDLE}z`;
  });
  return path;
}

function lost(row, x) {
  const wide = x(found.step_s) - x(0);
  return row.off_mc.map((mc, n) => (mc === null ? `M${x(row.from_s + (n - .5) * found.step_s).toFixed(2)} ${MIDDLE}h${wide.toFixed(2)}` : "")).join("");
}

function names(row, x) {
  const made = make("div", "steps");
  made.setAttribute("aria-hidden", "true");
  for (const step of row.steps) {
    const share = (x(step.to_s) - x(step.from_s)) / WIDE;
    const text = step.words;
    if (share * strips.clientWidth < 12 * text.length) continue;
    const name = make("span", "", text);
    name.style.left = `${x(step.from_s) / WIDE * 100}%`;
    made.append(name);
  }
  return made;
}

function axis(from, to) {
  const made = make("div", "axis"), all = (to - from) / 60;
  const size = [5, 10, 15, 20, 30, 60, 120, 240].find((one) => all / one <= strips.clientWidth / 70) ?? 480;
  for (let minute = Math.ceil(from / 60 / size) * size; minute <= to / 60; minute += size) {
    const tick = make("span", "", String(minute));
    tick.style.left = `${(minute * 60 - from) / (to - from) * 100}%`;
    made.append(tick);
  }
  made.append(make("p", "", fill(own.axis, { step: found.align })));
  return made;
}

document.getElementById("rec-at").addEventListener("change", (event) => event.target.form.submit());
addEventListener("snap-setting", draw);
read();
