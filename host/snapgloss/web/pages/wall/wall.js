// The wall: takes what the stream says of all rigs and shows a card for each.
import { settings } from "./settings.js";
import { chime } from "./sound.js";
import { Stream } from "./stream.js";
import { degrees, fill, said, span, unit } from "./view.js";

const STALE_S = 3;
const words = {
  ...JSON.parse(document.getElementById("snap-words").textContent),
  ...JSON.parse(document.getElementById("wall-words").textContent),
};
const main = document.getElementById("snap-main");
const cards = new Map([...document.querySelectorAll(".rig")].map((one) => [one.dataset.rig, one]));

let message = null;

const stream = new Stream(main.dataset.page, (found) => { message = found; draw(); }, () => ages(),
  "api/wall/live");

function set(card, part, text) {
  const element = card.querySelector(`[data-part="${part}"]`);
  if (element.textContent !== text) element.textContent = text;
  element.hidden = !text && part !== "degrees";
}

function draw() {
  if (!message) return;
  for (const rig of message.rigs) {
    const card = cards.get(rig.key);
    if (card) show(card, rig, settings.fahrenheit);
  }
  ages();
}

function show(card, rig, f) {
  const value = degrees(rig.product_mc, f);
  set(card, "simulated", rig.simulated ? words.simulated : "");
  set(card, "degrees", value ?? "–");
  set(card, "unit", value === null ? "" : unit(f));
  set(card, "do", rig.is_there ? said(rig, "now", f) : said(rig, "trouble", f) || words.away);
  set(card, "step", rig.is_there ? said(rig, "step_words", f) : "");
  set(card, "left", rig.batch_left_s === null || !rig.step_no ? ""
    : fill(words.left, { span: span(rig.batch_left_s, words) }));
  if (rig.calls && card.dataset.calls === "") chime("ask");
  card.dataset.calls = rig.calls ? "1" : "";
  card.style.setProperty("--done", rig.share_done);
  card.dataset.batch = rig.step_no ? "1" : "";
}

// By this device's clock: what a rig said, and how long the server has said nothing.
function ages() {
  const since = stream.age();
  for (const rig of message?.rigs ?? []) {
    const card = cards.get(rig.key);
    if (!card) continue;
    const age = since === null || rig.age_s < 0 ? null : rig.age_s + since;
    const old = age === null || age > STALE_S;
    if (old && card.dataset.stale === "") chime("alarm");
    card.dataset.stale = old ? "1" : "";
    set(card, "stale", age === null ? words.nothing
      : old ? fill(words.stale, { age: span(age, words) }) : "");
  }
}

setInterval(ages, 500);
addEventListener("snap-setting", draw);
