// Sentences that stand twice in a page, with °C and with °F: the device's choice is shown.
import { settings } from "./settings.js";

export function showScale(root = document) {
  for (const one of root.querySelectorAll("[data-f]")) {
    one.dataset.c ??= one.textContent;
    one.textContent = settings.fahrenheit ? one.dataset.f : one.dataset.c;
  }
}

addEventListener("snap-setting", () => showScale());
showScale();
