// A recording of the tablet's own recorder as WAV: what it is written in only a browser can read.
// The microphone itself stays shut to the page.
const RATE_HZ = 48000, LONGEST_S = 6, FULL = 32767;

document.addEventListener("click", (event) => {
  const touched = event.target.closest("[data-snap-sound]");
  if (!touched) return;
  const input = document.createElement("input");
  Object.assign(input, { type: "file", accept: "audio/*" });
  input.setAttribute("capture", "user");
  input.addEventListener("change", () => send(input.files[0], Number(touched.dataset.snapSound)));
  input.click();
});

async function send(file, uploader) {
  if (!file) return;
  // What the browser cannot read goes as it is: the answer says what to do.
  const sound = await wavOf(file).catch(() => file);
  const element = window.getElement(uploader);
  (element.$refs?.qRef ?? element).addFiles([sound]);
}

async function wavOf(file) {
  const context = new OfflineAudioContext(1, 1, RATE_HZ);
  const sound = await context.decodeAudioData(await file.arrayBuffer());
  return new File([wav(aroundLoudest(mono(sound)))], "snap.wav", { type: "audio/wav" });
}

function mono(sound) {
  const mixed = new Float32Array(sound.length), share = 1 / sound.numberOfChannels;
  for (let n = 0; n < sound.numberOfChannels; n++) {
    sound.getChannelData(n).forEach((value, at) => { mixed[at] += share * value; });
  }
  return mixed;
}

function aroundLoudest(samples) {
  const most = LONGEST_S * RATE_HZ;
  let at = 0;
  samples.forEach((value, n) => { if (Math.abs(value) > Math.abs(samples[at])) at = n; });
  const from = Math.max(0, Math.min(at - most / 2, samples.length - most));
  return samples.subarray(from, from + most);
}

// RIFF with one piece of 16-bit whole numbers, mono.
function wav(samples) {
  const view = new DataView(new ArrayBuffer(44 + 2 * samples.length));
  const text = (at, word) => [...word].forEach((c, n) => view.setUint8(at + n, c.charCodeAt(0)));
  text(0, "RIFF"); view.setUint32(4, 36 + 2 * samples.length, true); text(8, "WAVEfmt ");
  view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
  view.setUint32(24, RATE_HZ, true); view.setUint32(28, 2 * RATE_HZ, true);
  view.setUint16(32, 2, true); view.setUint16(34, 16, true);
  text(36, "data"); view.setUint32(40, 2 * samples.length, true);
  samples.forEach((value, n) => {
    view.setInt16(44 + 2 * n, Math.round(FULL * Math.max(-1, Math.min(1, value))), true);
  });
  return view.buffer;
}
