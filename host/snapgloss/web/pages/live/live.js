// The page while it runs: takes messages of the stream and shows them.
import { Commands } from "./commands.js";
import { Curve } from "./curve.js";
import { settings } from "./settings.js";
import { chime } from "./sound.js";
import { Stream } from "./stream.js";
import { beside, degrees, difference, fill, power, said, span, temperature, unit } from "./view.js";

const STALE_S = 3;
const SOON_S = 30;
const BEHIND = 10;
const LONG = 44;          // characters of a sentence that no longer fits large
const SAID_LINES = 5;
const TOLD_MS = 7000;
const words = JSON.parse(document.getElementById("snap-words").textContent);
const at = (id) => document.getElementById(`snap-${id}`);
const main = at("main");
const set = (id, text) => {
  const element = at(id);
  if (element && element.textContent !== text) element.textContent = text;
};
const show = (id, isShown) => { const e = at(id); if (e) e.hidden = !isShown; };

let message = null;
let isStale = null;
let before = {};
let told = null;

const curve = new Curve(at("curve"), words);
const commands = new Commands(main.dataset.page, (problem) => {
  set("trouble", problem);
  show("trouble", Boolean(problem));
  clearTimeout(told);
  told = setTimeout(() => show("trouble", false), TOLD_MS);
});
const stream = new Stream(main.dataset.page, (found) => {
  message = found;
  curve.take(found);
  draw();
  sounds(found.state);
}, () => age());

function draw() {
  if (!message) return;
  const state = message.state, f = settings.fahrenheit;
  figure(state, f);
  instructions(state, f);
  outputs(state.outputs);
  inside(state, f);
  pouring(state.pouring);
  foot(message, f);
  age();
}

function figure(state, f) {
  set("title", state.title || words.temperature);
  show("simulated", state.simulated);
  set("degrees", degrees(state.product_mc, f) ?? words.no_reading);
  at("degrees").parentElement.classList.toggle("long", (degrees(state.product_mc, f) ?? "").length > 4);
  set("degrees-unit", state.product_mc === null ? "" : unit(f));
  main.dataset.reading = state.product_mc === null ? "none" : "there";
  const target = state.target_mc === null ? "" : fill(words.to, { target: temperature(state.target_mc, f) });
  set("target", state.step_no ? target : "");
  strip(state, f);
  const value = degrees(state.product_mc, f);
  document.title = value && !isStale ? `${value} ${unit(f)} · snapgloss` : "snapgloss";
}

// Three bands: under, in, over. Shown once the chocolate is near its window.
function strip(state, f) {
  const place = beside(state);
  const isNear = place && place[1] < 4000 && state.step_no > 1;
  show("strip", Boolean(isNear));
  if (!isNear) return;
  const [side, by] = place;
  const text = side < 0 ? words.under : side > 0 ? words.over : words.in;
  set("strip-words", fill(text, { by: difference(by, f) }));
  at("strip").dataset.side = side;
  const { window_low_mc: low, window_high_mc: high } = state;
  const share = (state.product_mc - low) / (high - low);
  at("strip").style.setProperty("--at", `${Math.min(98, Math.max(2, (share + 1) * 100 / 3))}%`);
}

function instructions(state, f) {
  const isOver = Boolean(state.ended) && !state.step_no;
  set("now", state.is_there ? said(state, isOver && state.state !== "ready" ? "ended" : "now", f)
    : said(state, "trouble", f));
  at("now").classList.toggle("long", at("now").textContent.length > LONG);
  at("now-box").dataset.waiting = state.is_waiting && state.is_there ? "1" : "";
  set("step", state.step_no ? said(state, "step_words", f) : state.step_words);
  const canAnswer = Boolean(state.asks) && Boolean(words[`answer_${state.asks}`]);
  show("answer", canAnswer);
  if (canAnswer) set("answer", words[`answer_${state.asks}`]);
  show("bars", isOver && state.run > 0);
  at("bars").href = `after?run=${state.run}`;
  const canBegin = state.is_there && !state.step_no && ["off", "finished"].includes(state.state);
  show("begin", canBegin);
  show("begin-why", canBegin);
  next(state.ahead, f, state.is_waiting);
  show("withheld", Boolean(state.withheld));
  set("withheld", state.withheld && fill(words.withheld, { why: said(state, "withheld", f) }));
  show("card-box", Boolean(state.card));
  set("card", said(state, "card", f));
}

function next(ahead, f, isWaiting) {
  show("next-box", Boolean(ahead.words));
  const what = (f && ahead.fahrenheit) || ahead.words;
  const when = ahead.in_s === null || isWaiting ? "{what}" : ahead.in_s < SOON_S ? words.next_soon : words.next_at;
  set("next", fill(when, { what, span: ahead.in_s === null ? "" : span(ahead.in_s, words) }));
}

function outputs(found) {
  for (const [id, value] of [["heat", found.heat_permille], ["fan", found.fan_permille], ["stir", found.stir_permille]]) {
    at(id).value = value ?? 0;
    set(`${id}-words`, power(value, words));
  }
}

function inside(state, f) {
  const seconds = state.inside_s;
  set("inside", seconds === null ? "–" : fill(words.inside_value, { inside: Math.floor(seconds / 60) }));
  const { window_low_mc: low, window_high_mc: high } = state;
  set("window", low === null ? "" : fill(words.window, { low: degrees(low, f), high: temperature(high, f) }));
}

function pouring(found) {
  const text = !found.moulds ? words.moulds_done : found.done ? words.moulds_of : words.moulds_none;
  set("moulds", found.moulds || found.done ? fill(text, found) : "–");
  const left = found.good_left_s;
  const good = left === null ? "" : left > 0 ? fill(words.good_for, { span: span(left, words) }) : words.good_past;
  set("good", (settings.fahrenheit && found.fahrenheit) || found.words || good);
  if (document.activeElement !== at("plan")) at("plan").value = found.moulds || "";
  for (const id of ["less", "more", "plan"]) at(id).disabled = !message.state.step_no;
}

function foot({ state, lead, pages, last }, f) {
  set("lead", pages > 1 || !lead ? (lead ? words.leads : words.follows) : "");
  show("take", !lead);
  const who = last?.who.endsWith(` ${main.dataset.page}`) ? words.this_device : last?.who;
  set("last", last ? fill(words.last, { what: words[`did_${last.what}`] ?? last.what, who }) : "");
  set("left", state.batch_left_s === null ? "" : fill(words.time_left, { span: span(state.batch_left_s, words) }));
  const lines = state.said.slice(-SAID_LINES).map((one) => `${Math.floor(one.at_s / 3600)}:${String(Math.floor(one.at_s / 60) % 60).padStart(2, "0")}  ${(f && one.fahrenheit) || one.words}`);
  const list = at("said");
  if (list.dataset.text === lines.join("\n")) return;
  list.dataset.text = lines.join("\n");
  list.replaceChildren(...lines.reverse().map((line) => Object.assign(document.createElement("li"), { textContent: line })));
}

// By this device's own clock, four times a second, whether anything comes or not.
function age() {
  const seconds = stream.age();
  const old = seconds === null || seconds > STALE_S;
  if (old !== isStale) {
    isStale = old;
    document.body.dataset.stale = old ? "1" : "";
    if (old && seconds !== null) chime("alarm");
    if (old) document.title = "snapgloss";
  }
  const behind = message?.state.behind ?? 0;
  const text = seconds === null ? words.never
    : old ? `${fill(words.stale, { age: span(seconds, words) })} ${words.stale_do}`
      : behind > BEHIND ? fill(words.catching_up, { behind }) : "";
  set("stale", text);
}

function sounds(state) {
  const now = { now: state.is_waiting ? state.now : "", card: state.card, state: state.state };
  if (now.now && now.now !== before.now) chime("ask");
  if ((now.card && now.card !== before.card) || (now.state === "stopped" && before.state !== "stopped")) chime("alarm");
  before = now;
}

at("answer").addEventListener("click", () => commands.send("answer", { prompt: message.state.asks }));
at("begin")?.addEventListener("click", () => commands.send("stage", { sample: true }));
at("more").addEventListener("click", () => commands.send("moulds", { by: 1 }));
at("less").addEventListener("click", () => commands.send("moulds", { by: -1 }));
at("plan").addEventListener("change", () => commands.send("moulds", { moulds: Number(at("plan").value) || 0 }));
at("take").addEventListener("click", () => commands.send("lead"));
addEventListener("snap-setting", draw);
document.querySelector(".foot details").open = innerWidth > 760;
setInterval(age, 250);
age();
