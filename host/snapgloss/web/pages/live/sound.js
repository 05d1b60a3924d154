// Sound, once a person has asked for it by a touch: browsers allow none before.
import { settings } from "./settings.js";

let context = null;

addEventListener("snap-setting", (event) => {
  if (event.detail !== "sound" || !settings.sound) return;
  context ??= new AudioContext();
  context.resume();
  chime("ask");
  navigator.wakeLock?.request("screen").catch(() => {});
});

const TUNES = { ask: [[660, 0], [880, 0.18]], alarm: [[440, 0], [440, 0.25], [440, 0.5]] };

export function chime(tune) {
  if (!settings.sound || !context) return;
  for (const [hertz, after] of TUNES[tune]) {
    const at = context.currentTime + after;
    const voice = context.createOscillator(), level = context.createGain();
    voice.frequency.value = hertz;
    level.gain.setValueAtTime(0.0001, at);
    level.gain.exponentialRampToValueAtTime(0.4, at + 0.02);
    level.gain.exponentialRampToValueAtTime(0.0001, at + 0.16);
    voice.connect(level).connect(context.destination);
    voice.start(at);
    voice.stop(at + 0.2);
  }
}
