// Checks what was heard in a recording. Every key is kept on the device before the screen confirms it, and sent at once;
// while nobody answers it waits here. The server says what is left; this page never decides what counts.

import { Kept } from "./kept.js";
import { newId } from "./queue.js";
import { drawStrip, drawWhole, secondsAt } from "./review_strip.js";

const page = document.getElementById("review");
const part = (id) => document.getElementById(id);
const words = JSON.parse(part("words").textContent);
const state = JSON.parse(part("state").textContent);
const fill = (text, values = {}) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
const clock = (time) => `${Math.floor(time / 60)}:${(time % 60).toFixed(1).padStart(4, "0")}`;
const mayWrite = page.dataset.mayWrite === "yes";
const player = part("player");
const PLAYED_S = 1.5;
const OUTCOMES = ["met", "missed", "helped", "void"];

const kept = new Kept({
  name: `recording.${page.dataset.id}`, owner: page.dataset.owner, pushAddress: page.dataset.judge,
  tokenAddress: page.dataset.token, told: (said) => { refused = said; },
});
const events = new Map(state.events.map((event) => [event.id, event]));
const undo = [];
const passed = new Set();
let left = state.left;
let chosen = null;
let stopAt = null;
let refused = "";

// ---- entries: what a person says ---------------------------------------------------------------------------------

function apply(entry) {
  if (entry.what === "add") {
    events.set(entry.id, { id: entry.id, start: entry.start_s, end: entry.start_s, kind: entry.kind, label: entry.label,
      behaviour: entry.behaviour, band: "sure", state: "confirmed", outcome: entry.outcome ?? "" });
  }
  const event = events.get(entry.event);
  if (entry.what !== "judge" || !event) return;
  Object.assign(event, { state: entry.state, kind: entry.kind ?? event.kind, label: entry.label || event.label,
    behaviour: entry.behaviour || event.behaviour, start: entry.start_s ?? event.start, outcome: entry.outcome ?? "" });
}

// A judgement always says everything that stands of the event, since only the newest counts.
function judgement(event, changes) {
  const now = { state: "confirmed", kind: event.kind, label: event.label, behaviour: event.behaviour,
    start_s: event.start, outcome: event.outcome || null, ...changes };
  return { id: newId(), what: "judge", event: event.id, ...now };
}

function say(entries, what) {
  const before = entries.map((entry) => ({ entry, was: { ...events.get(entry.event) } }));
  if (!keep(entries)) return false;
  undo.push(before);
  entries.forEach(apply);
  told(fill(words.kept_here, { what }));
  return true;
}

function keep(entries) {
  try {
    entries.forEach((entry) => kept.append(entry));
  } catch (error) {
    trouble(fill(words.not_stored, { reason: error.message }));
    return false;
  }
  send();
  return true;
}

function takeBack() {
  const last = undo.at(-1);
  if (!last) return told(words.nothing_to_undo);
  const back = last.map(({ entry }) => entry.what === "add"
    ? judgement(events.get(entry.id), { state: "rejected" })
    : { id: newId(), what: "back", takes: entry.id }).reverse();
  if (!keep(back)) return;
  undo.pop();
  back.forEach((entry) => passed.delete(entry.event));
  back.filter((entry) => entry.what === "judge").forEach(apply);
  last.forEach(({ entry, was }) => { if (entry.what === "judge") putBack(entry.event, was); });
  told(words.undone);
  choose(events.get(last[0].entry.event ?? last[0].entry.id));
}

// The server may have left it out meanwhile: it is asked for again at once.
function putBack(id, was) {
  Object.assign(events.get(id), was);
  const list = was.band === "sure" ? left.sure : left.to_check;
  if (was.state === "suggested" && !list.includes(id)) list.push(id);
  if (was.kind === "cue" && !was.outcome && !left.without_outcome.includes(id)) left.without_outcome.push(id);
}

// ---- the order: what is left, the weightiest first; then the tries whose outcome nobody said -----------------------

const isOpen = (id) => events.get(id)?.state === "suggested";
const toCheck = () => left.to_check.filter(isOpen);
const sure = () => left.sure.filter(isOpen);
const unanswered = () => left.without_outcome.filter((id) => {
  const event = events.get(id);
  return event && event.state !== "rejected" && !event.outcome;
});

function next() {
  const waiting = [...toCheck(), ...unanswered()];
  const id = waiting.find((one) => !passed.has(one));
  if (!id && waiting.length) { passed.clear(); return choose(events.get(waiting[0])); }
  choose(id ? events.get(id) : null);
}

function choose(event) {
  chosen = event ?? null;
  part("hidden-here").hidden = true;
  if (part("word")) part("word").value = "";
  ask();
  if (chosen) playAround(chosen);
  draw();
}

function ask() {
  const open = unanswered().length;
  part("left").textContent = fill(words.left, { n: toCheck().length, sure: sure().length, open });
  if (!chosen) return part("question").textContent = events.size ? words.nothing_left : words.nothing_heard;
  const values = { label: chosen.label, kind: words.kinds[chosen.kind], at: clock(chosen.start), state: words[chosen.state] };
  const isAsked = chosen.state !== "suggested" && left.without_outcome.includes(chosen.id) && !chosen.outcome;
  const text = chosen.state === "suggested" ? words.ask : isAsked ? words.ask_outcome : words.chosen;
  part("question").textContent = fill(text, values) + (chosen.outcome ? ` · ${words[chosen.outcome]}` : "");
}

// ---- playing ------------------------------------------------------------------------------------------------------

async function playAround(event) {
  if (!player) return;
  player.playbackRate = 1;
  player.currentTime = Math.max(0, event.start - PLAYED_S / 2);
  stopAt = event.start + PLAYED_S / 2;
  await player.play().catch(() => {});
}

function moved() {
  if (stopAt !== null && player.currentTime >= stopAt) { stopAt = null; player.pause(); }
  draw();
}

const playing = () => { if (!player.paused) { moved(); requestAnimationFrame(playing); } };
const here = () => player?.currentTime ?? chosen?.start ?? 0;

function fast() {
  stopAt = null;
  player.playbackRate = 1.5;
  if (player.paused) player.play().catch(() => {}); else player.pause();
}

// A tap comes a moment after what it is for; the rise of loudness nearest to that moment is its start.
function onsetNear(time) {
  const meant = time - 0.25 * (player?.playbackRate ?? 1);
  const near = state.onsets.filter((onset) => onset > time - 0.9 && onset < time + 0.1);
  return near.sort((a, b) => Math.abs(a - meant) - Math.abs(b - meant))[0] ?? Math.max(0, meant);
}

function tap() {
  const word = state.words[Number(part("tap-word").value)];
  if (!word) return;
  const start = Math.round(1000 * onsetNear(here())) / 1000;
  const entry = { id: newId(), what: "add", kind: word.kind, label: word.label, behaviour: word.behaviour, start_s: start };
  if (say([entry], fill(words.added, { says: word.says, at: clock(start) }))) draw();
}

// ---- what the keys do ---------------------------------------------------------------------------------------------

function judge(changes, what) {
  if (!chosen) return;
  if (say([judgement(chosen, changes)], `${chosen.label} – ${what}`)) next();
}

function outcome(name) {
  if (chosen?.kind === "cue") judge({ outcome: name }, words[name]);
}

function move(by) {
  if (!chosen) return;
  const start = Math.max(0, Math.round(1000 * (chosen.start + by)) / 1000);
  if (say([judgement(chosen, { start_s: start })], clock(start))) { ask(); playAround(chosen); draw(); }
}

function all(ids, changes, what) {
  const entries = ids.map((id) => judgement(events.get(id), changes));
  if (entries.length && say(entries, `${entries.length} – ${what}`)) next();
}

const does = {
  right: () => judge({}, words.confirmed),
  wrong: () => judge({ state: "rejected", outcome: null }, words.rejected),
  again: () => chosen && playAround(chosen),
  next: () => { if (chosen) passed.add(chosen.id); next(); },
  earlier: () => move(-0.05),
  later: () => move(0.05),
  undo: takeBack,
  all: () => all(sure(), {}, words.confirmed),
  marked: () => all(left.marked.filter((id) => unanswered().includes(id)), { outcome: "met" }, words.met),
  fast: () => player && fast(),
  tap,
  word: () => part("word").focus(),
};
OUTCOMES.forEach((name) => { does[name] = () => outcome(name); });
const KEYS = { y: "right", n: "wrong", p: "again", j: "next", ",": "earlier", ".": "later", u: "undo", a: "all", m: "marked",
  f: "fast", t: "tap", w: "word", 1: "met", 2: "missed", 3: "helped", 4: "void" };

document.addEventListener("keydown", (event) => {
  const isTyping = event.target.closest("input, select, textarea");
  if (!mayWrite || isTyping || event.ctrlKey || event.metaKey || event.altKey || !KEYS[event.key]) return;
  event.preventDefault();
  does[KEYS[event.key]]();
});
page.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (button) does[button.dataset.do]();
});
part("word")?.addEventListener("change", () => {
  const word = state.words[Number(part("word").value)];
  if (part("word").value === "" || !word) return;
  part("word").blur();
  judge({ kind: word.kind, label: word.label, behaviour: word.behaviour }, word.says);
});

// ---- an empty place: what was heard there with little confidence -----------------------------------------------------

function askHidden(time) {
  const hidden = [...events.values()]
    .filter((one) => one.state === "suggested" && one.band === "hidden" && Math.abs(one.start - time) <= 2)
    .sort((a, b) => (b.confidence ?? 0) - (a.confidence ?? 0)).slice(0, 3);
  const list = part("hidden-here");
  list.replaceChildren(...hidden.map((one) => {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "slim";
    button.textContent = `${one.label} (${words.kinds[one.kind]}) ${clock(one.start)}`;
    button.addEventListener("click", () => choose(one));
    return button;
  }));
  list.hidden = !hidden.length;
  part("question").textContent = fill(hidden.length ? words.said_here : words.nothing_hidden, { at: clock(time) });
}

part("strip").addEventListener("click", (click) => {
  const id = click.target.closest("[data-event]")?.dataset.event;
  if (id) return choose(events.get(id));
  const time = secondsAt(part("strip"), click, here());
  if (player) { stopAt = null; player.currentTime = Math.min(Math.max(0, time), state.duration || time); }
  draw();
  askHidden(time);
});
part("whole").addEventListener("click", (click) => {
  const box = part("whole").getBoundingClientRect();
  if (player) player.currentTime = (state.duration * (click.clientX - box.left)) / box.width;
});

// ---- drawing, sending ---------------------------------------------------------------------------------------------

// Where nothing was heard there is nothing to judge yet: adding comes first.
function lay() {
  for (const id of ["checking", "counting"]) if (part(id)) part(id).hidden = !events.size;
  if (part("adding") && !events.size) part("adding").open = true;
}

function draw() {
  lay();
  const shown = [...events.values()];
  drawStrip(part("strip"), shown, { now: here(), chosen, words: { ...words, fill }, clock });
  drawWhole(part("whole"), shown, { now: here(), duration: state.duration });
}

function told(text) { if (part("saved")) part("saved").textContent = text; }
function trouble(text) { part("problem").textContent = text; part("problem").hidden = !text; }

const WHY = { "signed-out": "sign_in_again", "other-owner": "other_owner", "no-answer": "offline", refused: "refused" };
let asking = null;

async function send() {
  const reply = await kept.push();
  if (!reply.ok) {
    trouble(fill(words[WHY[reply.why]] ?? words.offline, { reason: reply.said }));
    told(fill(words.unsent, { n: kept.unsent().length }));
    return;
  }
  trouble(refused);
  clearTimeout(asking);
  asking = setTimeout(refresh, 1200);
}

async function refresh() {
  const answer = await fetch(page.dataset.amounts, { cache: "no-store", redirect: "manual" }).catch(() => null);
  if (!answer?.ok || kept.unsent().length) return;
  const body = await answer.json();
  left = body.left;
  part("amounts").innerHTML = body.html;
  if (!chosen) next(); else ask();
}

const option = (word, place) => new Option(word.says, String(place));
if (mayWrite) {
  state.words.forEach((word, place) => { part("word").append(option(word, place)); part("tap-word").append(option(word, place)); });
}
if (player) {
  player.addEventListener("timeupdate", moved);
  player.addEventListener("play", playing);
  player.addEventListener("seeked", draw);
  player.addEventListener("error", () => mayWrite && trouble(fill(words.no_play, { reason: player.error?.message ?? "" })));
}
kept.unsent().forEach(apply);
if (!kept.unsent().length) kept.forget(); else send();
addEventListener("online", send);
addEventListener("resize", draw);
setInterval(() => { if (kept.unsent().length) send(); }, 5000);
next();
