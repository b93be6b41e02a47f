// Draws the events of a recording: a strip of thirty seconds around the player's place, and the whole length above it.
// A shape says the kind; filled is sure, hollow asks to be checked, a tick or a cross is a person's word.

const SPACE = "http://www.w3.org/2000/svg";
const SHOWN_S = 30;
const LANES = { cue: 0, marker: 1, click: 1, release: 1, break: 1, whistle: 1, reward: 2, praise: 2, name: 2, bark: 2, whine: 2 };
const LANE_PX = 50;
const TOP_PX = 24;

const SHAPES = {
  cue: "M-4-11H4V11H-4Z", marker: "M0-11 8 0 0 11-8 0Z", click: "M0-11 8 0 0 11-8 0Z",
  release: "M-7-9 8 0-7 9Z", break: "M-7-9 8 0-7 9Z", whistle: "M-7-9 8 0-7 9Z",
};
const ROUND = "M-6 0A6 6 0 1 0 6 0A6 6 0 1 0-6 0Z";

function make(name, attributes, text = "") {
  const one = document.createElementNS(SPACE, name);
  Object.entries(attributes).forEach(([key, value]) => one.setAttribute(key, value));
  one.textContent = text;
  return one;
}

export const isShown = (event) => event.kind in LANES && (event.state !== "suggested" || event.band !== "hidden");

function mark(event, x, chosen) {
  const group = make("g", { "data-event": event.id, transform: `translate(${x} ${TOP_PX + 14 + LANE_PX * LANES[event.kind]})` });
  group.append(make("rect", { x: -16, y: -16, width: 32, height: 48, fill: "transparent" }));
  if (event === chosen) group.append(make("rect", { class: "chosen-mark", x: -13, y: -15, width: 26, height: 30 }));
  const looks = event.state === "rejected" ? "rejected" : event.state === "suggested" && event.band === "check" ? "hollow" : "";
  group.append(make("path", { class: `mark ${looks}`, d: SHAPES[event.kind] ?? ROUND }));
  if (event.state === "confirmed") group.append(make("path", { class: "tick", d: "M8 5 11 9 17 0" }));
  if (event.state === "rejected") group.append(make("path", { class: "cross", d: "M-10-10 10 10M10-10-10 10" }));
  return group;
}

// Labels stand under their marks; one that would run into the label before it is left out until it is chosen.
function labels(events, place, chosen) {
  const ends = {};
  return events.flatMap((event) => {
    const lane = LANES[event.kind];
    const text = event.label || event.kind;
    const x = place(event.start) - 8;
    if (x < (ends[lane] ?? -99) && event !== chosen) return [];
    ends[lane] = x + 7.2 * text.length + 6;
    return [make("text", { x, y: TOP_PX + 40 + LANE_PX * lane, "data-event": event.id }, text)];
  });
}

export function drawStrip(strip, events, { now, chosen, words, clock }) {
  const width = strip.clientWidth || 360;
  const from = now - SHOWN_S / 2;
  const place = (time) => ((time - from) * width) / SHOWN_S;
  const near = events.filter((event) => isShown(event) && Math.abs(event.start - now) < SHOWN_S / 2 + 1)
    .sort((a, b) => a.start - b.start);
  const lines = [];
  for (let time = Math.max(0, Math.ceil(from / 5) * 5); time <= now + SHOWN_S / 2; time += 5) {
    lines.push(make("line", { class: "rule", x1: place(time), x2: place(time), y1: 18, y2: 176 }));
    if (time % 10 === 0) lines.push(make("text", { class: "time", x: place(time) + 3, y: 14 }, clock(time).replace(/\.0$/, "")));
  }
  lines.push(make("line", { class: "now", x1: width / 2, x2: width / 2, y1: 0, y2: 176 }));
  strip.setAttribute("viewBox", `0 0 ${width} 176`);
  strip.setAttribute("aria-label",
    words.fill(words.drawing, { from: clock(Math.max(0, from)), to: clock(now + SHOWN_S / 2), n: near.length }));
  strip.replaceChildren(...lines, ...near.map((event) => mark(event, place(event.start), chosen)), ...labels(near, place, chosen));
}

export function drawWhole(whole, events, { now, duration }) {
  const place = (time) => (1000 * time) / (duration || 1);
  const path = (some) => some.map((event) => `M${place(event.start).toFixed(1)} ${4 + 8 * LANES[event.kind]}v5`).join("");
  const open = events.filter((event) => isShown(event) && event.state === "suggested" && event.band === "check");
  const rest = events.filter((event) => isShown(event) && event.state !== "rejected");
  whole.replaceChildren(
    make("path", { class: "tick", d: path(rest), "vector-effect": "non-scaling-stroke" }),
    make("path", { class: "now", d: open.map((event) => `M${place(event.start).toFixed(1)} 25v3`).join(""), "vector-effect": "non-scaling-stroke" }),
    make("rect", { class: "window", x: place(now - SHOWN_S / 2), y: 1, width: place(SHOWN_S), height: 26 }),
  );
}

export function secondsAt(strip, click, now) {
  const box = strip.getBoundingClientRect();
  return now + ((click.clientX - box.left) / box.width - 0.5) * SHOWN_S;
}
