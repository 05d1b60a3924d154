// The list of batches: what is sought stands in the address, rows come a page at a time.
import { fill } from "./view.js";

const PAGE = 60, TYPED_MS = 250, MOST = 12;
const own = JSON.parse(document.getElementById("snap-own").textContent);
const form = document.getElementById("rec-form");
const list = document.getElementById("rec-batches");
const more = document.getElementById("rec-more");
const go = document.getElementById("rec-beside");
const at = (id) => document.getElementById(`rec-${id}`);
const picked = new Set();
let asked = 0, shown = 0, typed = null;

function make(tag, className, text) {
  const made = document.createElement(tag);
  made.className = className;
  made.textContent = text;
  return made;
}

function row({ summary, day, grade, grade_words: looks }) {
  const item = document.createElement("li");
  item.dataset.outcome = summary.outcome;
  const link = make("a", "name", summary.chocolate);
  link.href = `history?batch=${summary.run}`;
  const mark = Object.assign(document.createElement("input"), { type: "checkbox", checked: picked.has(summary.run) });
  mark.setAttribute("aria-label", fill(own.pick, { run: summary.run }));
  mark.addEventListener("change", () => pick(summary.run, mark.checked));
  const box = make("label", "pick", "");
  box.append(mark);
  const mass = summary.mass_g >= 1000 ? `${summary.mass_g / 1000} kg` : `${summary.mass_g} g`;
  const facts = [`#${summary.run}`, day, mass, summary.method, ...(summary.simulated ? [own.simulated] : [])];
  const graded = make("p", `grade ${grade || "none"}`, own.grades[grade] ?? own.grade_none);
  if (looks) graded.title = looks;
  const head = make("p", "head", "");
  head.append(link);
  const text = make("div", "text", "");
  text.append(head, make("p", "facts", facts.join(" · ")),
    make("p", "ended", ended(summary)));
  item.append(box, text, graded);
  return item;
}

// What the record says, not twice.
function ended({ outcome, words: told }) {
  const first = own.outcomes[outcome];
  return told.startsWith(first) ? told : `${first}. ${told}`;
}

function pick(run, isOn) {
  if (isOn) picked.add(run); else picked.delete(run);
  const count = picked.size;
  at("picked").textContent = count > MOST ? fill(own.picked_many, { count })
    : count > 1 ? fill(own.picked, { count }) : count ? own.picked_one : own.picked_none;
  go.disabled = count < 2 || count > MOST;
}

function sought() {
  return new URLSearchParams([...new FormData(form)].filter(([, value]) => value));
}

function names(chocolates) {
  const select = form.elements.chocolate, chosen = select.value || (new URLSearchParams(location.search).get("chocolate") ?? "");
  if (select.options.length - 1 === chocolates.length) return;
  select.replaceChildren(select.options[0], ...chocolates.map((name) => new Option(name, name, false, name === chosen)));
}

async function look(first) {
  const mine = ++asked, params = sought();
  if (!first) history.replaceState(null, "", params.size ? `?${params}` : location.pathname);
  params.set("first", first);
  params.set("most", PAGE);
  try {
    const answer = await fetch(`api/history?${params}`);
    const found = await answer.json();
    if (mine !== asked) return;
    if (!answer.ok) throw new Error([found.error, found.remedy].filter(Boolean).join(" "));
    take(found, first);
  } catch (fault) {
    if (mine === asked) at("total").textContent = fault instanceof TypeError ? own.failed : fault.message;
  }
}

function take(found, first) {
  const rows = found.batches.map(row);
  if (first) list.append(...rows); else list.replaceChildren(...rows);
  shown = first + rows.length;
  more.hidden = shown >= found.total;
  const none = found.chocolates.length ? own.nothing : own.none_yet;
  at("total").textContent = !found.total ? none : found.total === 1 ? own.one : fill(own.many, found);
  names(found.chocolates);
  list.dataset.shown = shown;
}

const given = new URLSearchParams(location.search);
const wantedName = given.get("chocolate");
if (wantedName) form.elements.chocolate.append(new Option(wantedName, wantedName, false, true));
for (const name of ["words", "result", "since", "until"]) form.elements[name].value = given.get(name) ?? "";
form.addEventListener("submit", (event) => { event.preventDefault(); look(0); });
form.addEventListener("change", () => look(0));
form.elements["words"].addEventListener("input", () => {
  clearTimeout(typed);
  typed = setTimeout(() => look(0), TYPED_MS);
});
at("clear").addEventListener("click", () => {
  for (const name of ["words", "chocolate", "result", "since", "until"]) form.elements[name].value = "";
  look(0);
});
more.addEventListener("click", () => look(shown));
go.addEventListener("click", () => { location.href = `history?beside=${[...picked].sort((a, b) => a - b).join(",")}`; });
new IntersectionObserver((seen) => { if (seen[0].isIntersecting && !more.hidden) look(shown); }, { rootMargin: "600px" }).observe(more);
look(0);
