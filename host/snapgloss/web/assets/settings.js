// What is chosen on this device: °C or °F, light or dark, sound. The server knows nothing of it.
const root = document.documentElement;
const words = JSON.parse(document.getElementById("snap-words").textContent);

const stored = (name) => {
  try { return localStorage.getItem(`snapgloss.${name}`); } catch { return null; }
};
const store = (name, value) => {
  try { localStorage.setItem(`snapgloss.${name}`, value); } catch { /* for this visit only */ }
};

export const settings = { fahrenheit: stored("unit") === "f", sound: false };

function tell(name) {
  dispatchEvent(new CustomEvent("snap-setting", { detail: name }));
}

function label(button, isOn, off, on) {
  if (!button) return;
  button.textContent = isOn ? on : off;
}

function show() {
  const dark = root.dataset.theme === "dark";
  label(document.getElementById("snap-unit"), settings.fahrenheit, words.unit, words.unit_on);
  label(document.getElementById("snap-dark"), dark, words.dark, words.dark_on);
  label(document.getElementById("snap-sound"), settings.sound, words.sound, words.sound_on);
  window.Quasar?.Dark.set(dark);
}

function onClick(id, change) {
  document.getElementById(id)?.addEventListener("click", () => {
    const name = change();
    show();
    tell(name);
  });
}

onClick("snap-unit", () => {
  settings.fahrenheit = !settings.fahrenheit;
  store("unit", settings.fahrenheit ? "f" : "c");
  return "unit";
});
onClick("snap-dark", () => {
  root.dataset.theme = root.dataset.theme === "dark" ? "light" : "dark";
  store("theme", root.dataset.theme);
  return "theme";
});
onClick("snap-sound", () => {
  settings.sound = !settings.sound;
  return "sound";
});
show();
addEventListener("load", show);
