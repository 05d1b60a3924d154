// Off, by itself: it needs no other script, no stream and no socket. One touch, at once.
(() => {
  const form = document.getElementById("snap-off");
  const button = form.querySelector("button");
  const said = document.getElementById("snap-off-said");
  const WITHIN_MS = 12000, TOLD_MS = 8000;
  let told = null;

  const show = (words, isBad) => {
    said.textContent = words;
    said.dataset.bad = isBad ? "1" : "";
    said.hidden = !words;
    clearTimeout(told);
    if (!isBad) told = setTimeout(() => { said.hidden = true; }, TOLD_MS);
  };

  async function off() {
    show(form.dataset.busy, false);
    const stop = new AbortController();
    const late = setTimeout(() => stop.abort(), WITHIN_MS);
    try {
      const answer = await fetch("api/off", {
        method: "POST",
        headers: { "content-type": "application/json", "x-snapgloss-page": form.dataset.page },
        body: "{}",
        signal: stop.signal,
      });
      const found = await answer.json().catch(() => ({}));
      show(answer.ok ? found.words : `${found.error ?? ""} ${form.dataset.failed}`, !answer.ok);
    } catch {
      show(form.dataset.failed, true);
    } finally {
      clearTimeout(late);
    }
  }

  said.addEventListener("click", () => { said.hidden = true; });

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    button.dataset.pressed = "1";
    setTimeout(() => delete button.dataset.pressed, 400);
    off();
  });
})();
