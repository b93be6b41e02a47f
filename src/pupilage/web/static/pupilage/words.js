// Small parts that every screen of the logger needs.

export const part = (id) => document.getElementById(id);

export const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

// How long a hold is asked for, as one asks a dog: nobody counts tenths of the first second.
export const askedFor = (words, seconds) => (seconds < 1 ? fill(words.moment, { n: seconds }) : `${seconds}\u00a0s`);

// What the page carries as JSON, null where it has nothing of the name.
export function told(id) {
  const element = part(id);
  return element ? JSON.parse(element.textContent) : null;
}

// 90 minutes behind, 24 hours ahead: as a person would say it
export function clockWords(words, offMs) {
  const minutes = Math.round(Math.abs(offMs) / 60000);
  const time = minutes < 120 ? fill(words.minutes, { n: minutes }) : fill(words.hours, { n: Math.round(minutes / 60) });
  return fill(offMs > 0 ? words.clock_behind : words.clock_ahead, { time });
}
