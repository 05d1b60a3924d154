// Learning takes a while, in a process of its own: begun by one touch, shown when it is done.
const AGAIN_MS = 3000;
const own = JSON.parse(document.getElementById("snap-own").textContent);
const main = document.getElementById("snap-main");
const button = document.getElementById("rig-learn");
const said = document.getElementById("rig-learning");

async function wait() {
  try {
    const state = await (await fetch("api/rig")).json();
    if (!state.is_learning) { location.reload(); return; }
  } catch { /* the server is away; ask again */ }
  setTimeout(wait, AGAIN_MS);
}

button?.addEventListener("click", async () => {
  button.disabled = true;
  said.textContent = own.learn_busy;
  try {
    const answer = await fetch("api/learn", {
      method: "POST",
      headers: { "content-type": "application/json", "x-snapgloss-page": main.dataset.page },
      body: "{}",
    });
    if (!answer.ok) throw new Error(answer.status);
    setTimeout(wait, AGAIN_MS);
  } catch {
    said.textContent = own.learn_failed;
    button.disabled = false;
  }
});
if (button?.disabled) setTimeout(wait, AGAIN_MS);
