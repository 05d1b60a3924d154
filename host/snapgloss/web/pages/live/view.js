// From figures to words: pure, no page.
export const toF = (mc) => mc * 9 / 5 + 32000;

export function degrees(mc, fahrenheit, places = 1) {
  if (mc === null || mc === undefined) return null;
  return ((fahrenheit ? toF(mc) : mc) / 1000).toFixed(places);
}

export const unit = (fahrenheit) => (fahrenheit ? "°F" : "°C");

export function temperature(mc, fahrenheit) {
  const value = degrees(mc, fahrenheit);
  return value === null ? "" : `${value} ${unit(fahrenheit)}`;
}

export function difference(mc, fahrenheit) {
  return `${(Math.abs(mc) * (fahrenheit ? 1.8 : 1) / 1000).toFixed(1)} ${unit(fahrenheit)}`;
}

export function fill(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
}

export function span(seconds, words) {
  if (seconds < 60) return fill(words.seconds, { s: Math.round(seconds) });
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return fill(words.minutes, { min: minutes });
  return fill(words.hours, { h: Math.floor(minutes / 60), min: minutes % 60 });
}

export function power(permille, words) {
  if (permille === null) return "–";
  if (permille === 0) return words.off_word;
  return permille >= 1000 ? words.full_word : `${Math.round(permille / 10)} %`;
}

// Where the chocolate is beside its window: [-1 under, 0 inside, 1 over, how far in milli-degC].
export function beside(state) {
  const { product_mc: mc, window_low_mc: low, window_high_mc: high } = state;
  if (mc === null || low === null) return null;
  if (mc < low) return [-1, low - mc];
  return mc > high ? [1, mc - high] : [0, 0];
}

// A sentence in the scale of this device.
export function said(state, name, fahrenheit) {
  return (fahrenheit && state.fahrenheit[name]) || state[name];
}
