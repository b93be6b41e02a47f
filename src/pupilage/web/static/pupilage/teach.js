// Teaching from a recording: it plays, a tap or a key says "here", and what was cut is shown and can be heard at once.

import { fill, post, told, trouble, why, words } from "./asking.js";
import { newId } from "./queue.js";

const page = document.getElementById("teaching");
const player = document.getElementById("player");
const choice = document.getElementById("word");
const made = [];
let stretch = null;
let stopAt = null;

const seconds = (time) => time.toFixed(2);

async function send(fields, says) {
  trouble("");
  const form = new FormData();
  Object.entries(fields).forEach(([name, value]) => form.append(name, value));
  told(words.cutting);
  try {
    const cut = await post(page.dataset.tap, form);
    made.push(cut);
    told([says(cut), ...cut.remarks].join(" "));
    return cut;
  } catch (error) {
    told("");
    trouble(why(error));
    return null;
  }
}

async function tap() {
  const option = choice.selectedOptions[0];
  if (!option) return trouble(words.choose);
  const cut = await send({ word: option.value, at: player.currentTime, id: newId() }, (one) => fill(words.cut,
    { n: one.n, word: option.dataset.text, from: seconds(one.start), to: seconds(one.end) }));
  if (cut) count(option, cut.n);
}

const count = (option, n) => { option.textContent = option.textContent.replace(/\d+\/3$/, `${n}/3`); };

async function mark(role) {
  const at = player.currentTime;
  if (stretch?.role !== role) {
    stretch = { role, at };
    return told(fill(words.begun, { at: seconds(at) }));
  }
  const from = stretch.at;
  stretch = null;
  await send({ role, voice: page.dataset.voice, at: from, to: at }, (one) => fill(words.stretch,
    { from: seconds(one.start), to: seconds(one.end) }));
}

async function undo() {
  const last = made.at(-1);
  if (!last) return told(words.nothing_to_undo);
  try {
    await post(`/samples/${last.id}/forget/`, new FormData());
  } catch (error) {
    return trouble(why(error));
  }
  made.pop();
  told(words.removed);
  const option = [...choice.options].find((one) => one.value === last.word);
  if (option) count(option, last.n - 1);
}

function again() {
  const last = made.at(-1);
  if (!last) return;
  player.currentTime = Math.max(0, last.start - 0.1);
  stopAt = last.end + 0.1;
  player.play().catch(() => {});
}

const does = {
  tap, undo, again,
  play: () => { stopAt = null; if (player.paused) player.play().catch(() => {}); else player.pause(); },
  back: () => { player.currentTime = Math.max(0, player.currentTime - 3); },
  talk: () => mark("talk"),
  background: () => mark("background"),
  word: () => choice.focus(),
};
const KEYS = { t: "tap", u: "undo", p: "again", k: "play", b: "back", w: "word" };

page.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (button) does[button.dataset.do]();
});
document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, select, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
  if (!KEYS[event.key]) return;
  event.preventDefault();
  does[KEYS[event.key]]();
});
player.addEventListener("timeupdate", () => {
  if (stopAt !== null && player.currentTime >= stopAt) { stopAt = null; player.pause(); }
});
player.addEventListener("error", () => trouble(fill(words.no_play, { reason: player.error?.message ?? "" })));
