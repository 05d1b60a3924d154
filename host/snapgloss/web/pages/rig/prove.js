// Commissioning, step by step: what to do, and one touch for what came out. The rig's page alone.
const LOOK_MS = 1000;
const own = JSON.parse(document.getElementById("snap-own").textContent);
const main = document.getElementById("snap-main");
const at = (id) => document.getElementById(`prove-${id}`);
let shown = null, wasOn = false;

async function send(name, body) {
  const answer = await fetch(`api/${name}`, {
    method: "POST",
    headers: { "content-type": "application/json", "x-snapgloss-page": main.dataset.page },
    body: JSON.stringify(body),
  }).catch(() => null);
  const found = answer ? await answer.json().catch(() => ({})) : { error: own.prove_away };
  at("trouble").textContent = answer?.ok ? "" : [found.error, found.remedy].filter(Boolean).join(" ");
  await look();
}

function show(question) {
  at("begin").hidden = question.is_on;
  at("now").hidden = !question.is_on;
  if (wasOn && !question.is_on) { location.reload(); return; }
  wasOn = question.is_on;
  at("count").textContent = own.prove_count.replace("{n}", question.step_no).replace("{of}", question.steps);
  // What is asked says the step already; before a group it is what is made ready first.
  const isSaid = question.asks === "ready" || question.ask_words.includes(question.words);
  at("words").textContent = isSaid ? "" : question.words;
  at("must").textContent = question.must && question.asks !== "ready" && question.asks !== "seen"
    ? own.prove_must.replace("{must}", question.must) : "";
  at("said").replaceChildren(...question.said.map((line) =>
    Object.assign(document.createElement("li"), { textContent: line })));
  const same = shown === question.number && !at("ask").hidden === Boolean(question.asks);
  shown = question.number;
  at("ask").hidden = !question.asks;
  at("waits").hidden = Boolean(question.asks);
  if (same) return;
  at("ask-words").textContent = question.ask_words;
  for (const button of main.querySelectorAll("#prove-ask [data-for]")) {
    button.hidden = !button.dataset.for.split(" ").includes(question.asks);
  }
  at("unit").textContent = question.unit;
  at("figure").value = "";
}

async function look() {
  const found = await fetch("api/proving").then((answer) => answer.json()).catch(() => null);
  if (found) show(found);
}

function figure() {
  const given = Number(at("figure").value.replace(",", "."));
  if (at("figure").value.trim() === "" || Number.isNaN(given)) {
    at("trouble").textContent = own.prove_number;
    return;
  }
  send("prove_answer", { number: shown, figure: given });
}

at("begin").addEventListener("submit", (event) => {
  event.preventDefault();
  send("prove", { name: at("name").value.trim() || " " });
});
at("ask").addEventListener("submit", (event) => { event.preventDefault(); figure(); });
for (const button of main.querySelectorAll("#prove-ask [data-answer]")) {
  button.addEventListener("click", () => send("prove_answer", { number: shown, answer: button.dataset.answer }));
}
at("leave").addEventListener("click", () => send("prove_end", {}));
setInterval(() => { if (wasOn) look(); }, LOOK_MS);
look();
