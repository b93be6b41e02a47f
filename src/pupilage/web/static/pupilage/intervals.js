// The timer of paid stretches. It goes by timestamps: a page that slept, was closed or lost its network knows where
// it stands. The rule is the engine's (core/incidents/intervals.py); its figures come with the page.

import { Kept } from "./kept.js";
import { newId } from "./queue.js";

const page = document.getElementById("page");
const words = JSON.parse(document.getElementById("words").textContent);
const run = JSON.parse(document.getElementById("run").textContent);
const part = (id) => document.getElementById(id);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

const kept = new Kept({
  name: `run.${page.dataset.run}`, owner: page.dataset.owner, pushAddress: page.dataset.push, tokenAddress: page.dataset.token,
});

// ---- where it stands: the engine's fold, here too, so that no network is needed ----------------------------------

function events() {
  const all = new Map(run.events.map((event) => [event.id, event]));
  for (const event of kept.entries()) all.set(event.id, event);
  const last = (event) => Number(event.kind === "ended");
  return [...all.values()].sort((a, b) =>
    Date.parse(a.at) - Date.parse(b.at) || last(a) - last(b) || (a.id < b.id ? -1 : 1));
}

function intervalAt(mean, nTimed) {
  const block = run.multiples[Math.floor(nTimed / run.terms) % run.multiples.length];
  return Math.max(run.least_s, Math.round(mean * block[nTimed % run.terms] * 10) / 10);
}

function nextMean(mean, inARow) {
  if (inARow === 0) return Math.max(run.shortest_s, run.shrink * mean);
  return inARow % run.met_to_grow === 0 ? run.growth * mean : mean;
}

function stand() {
  const all = events();
  const gone = new Set(all.filter((one) => one.kind === "withdrawn").map((one) => one.withdraws));
  const counted = all.filter((one) => one.kind !== "withdrawn" && !gone.has(one.id));
  const now = { mean: run.first_mean_s, nTimed: 0, inARow: 0, since: null, ended: false, paid: 0, came: 0, last: null };
  now.interval = intervalAt(now.mean, 0);
  for (const event of counted) {
    const at = Date.parse(event.at);
    if (event.kind === "began") now.since ??= at;
    else if (event.kind === "ended") Object.assign(now, { since: null, ended: true });
    else if (now.since !== null) {
      const broke = event.kind === "came" || event.kind === "stopped";
      const early = event.kind === "paid" && (at - now.since) / 1000 < event.interval_s - run.early_s;
      now.inARow = broke ? 0 : now.inARow + (early ? 0 : 1);
      now.mean = early ? event.mean_s : nextMean(event.mean_s, now.inARow);
      now.nTimed += 1;
      now.interval = intervalAt(now.mean, now.nTimed);
      now.since = event.kind === "stopped" ? null : at;
      if (broke) now.came += 1;
      else if (!early) now.paid += 1;
    } else continue;
    now.last = event;
  }
  return now;
}

// ---- telling when: screen, sound, vibration ----------------------------------------------------------------------
// The tone is laid on the audio clock when a stretch begins: that clock runs on where a hidden page's timers are slow.

let audio = null;
let tones = [];
let shook = null;
let awake = null;

function quiet() {
  for (const tone of tones) tone.stop();
  tones = [];
}

function layTone(now) {
  quiet();
  if (!audio || !part("sound").checked || now.since === null || now.ended) return;
  const wait = Math.max(0, (now.since - Date.now()) / 1000 + now.interval);
  if (wait <= 0) return;
  for (const [after, pitch] of [[0, 660], [0.35, 880], [0.7, 660]]) {
    const tone = audio.createOscillator();
    const loudness = audio.createGain();
    tone.frequency.value = pitch;
    loudness.gain.value = 0.25;
    tone.connect(loudness).connect(audio.destination);
    tone.start(audio.currentTime + wait + after);
    tone.stop(audio.currentTime + wait + after + 0.2);
    tones.push(tone);
  }
}

async function allowSound() {
  const Audio = window.AudioContext ?? window.webkitAudioContext;
  if (!audio && Audio) audio = new Audio();
  await audio?.resume().catch(() => {});
  stayAwake();
}

async function stayAwake() {
  if (document.hidden || stand().since === null || (awake && !awake.released)) return;
  awake = await navigator.wakeLock?.request("screen").catch(() => null);
  part("sleeps").hidden = Boolean(awake);
}

// ---- drawing -----------------------------------------------------------------------------------------------------

const clock = (s) => (s >= 3600 ? `${Math.floor(s / 3600)}:${String(Math.floor((s % 3600) / 60)).padStart(2, "0")}` : String(Math.floor(s / 60)))
  + `:${String(Math.floor(s % 60)).padStart(2, "0")}`;

function draw() {
  const now = stand();
  const running = now.since !== null;
  page.dataset.state = now.ended ? "ended" : running ? "runs" : "waits";
  part("before").hidden = running || now.ended || now.nTimed > 0;
  part("stopped").hidden = running || now.ended || now.nTimed === 0;
  part("timer").hidden = !running;
  part("after").hidden = !now.ended;
  part("begin").hidden = running || now.ended;
  part("came").hidden = !running;
  part("begin").textContent = now.nTimed ? words.again : words.begin;
  part("undo").hidden = part("end").hidden = now.ended || !now.last;
  part("undo").disabled = !now.last || now.last.kind === "began";
  part("mean").textContent = fill(words.mean, { mean: clock(Math.round(now.mean)), interval: clock(Math.round(now.interval)) });
  part("tally").textContent = fill(words.tally, { paid: now.paid, came: now.came });
  part("row").textContent = now.inARow ? fill(words.in_a_row, { n: now.inARow }) : "";
  const unsent = kept.unsent().length;
  part("saved").textContent = unsent ? fill(words.unsent, { n: unsent }) : words.all_sent;
  Object.assign(page.dataset, {
    unsent, paid: now.paid, came: now.came, mean: now.mean.toFixed(3), interval: now.interval, timed: now.nTimed,
  });
  tick(now);
}

function tick(now = stand()) {
  if (now.since === null) return;
  const left = now.since / 1000 + now.interval - Date.now() / 1000;
  const due = left <= 0;
  part("left").textContent = due ? words.pay_now : clock(Math.ceil(left));
  part("over").textContent = due ? fill(words.since, { n: clock(-left) }) : "";
  page.dataset.due = due ? "yes" : "no";
  part("paid").hidden = !due;
  if (due && shook !== now.since) {
    shook = now.since;
    navigator.vibrate?.([300, 150, 300]);
  }
}

function trouble(text) {
  part("trouble").hidden = !text;
  part("trouble").textContent = text;
}

// ---- taps --------------------------------------------------------------------------------------------------------

function write(kind, more = {}) {
  const now = stand();
  const event = { id: newId(), kind, at: new Date().toISOString(), mean_s: now.mean, interval_s: now.interval, ...more };
  try {
    kept.append(event);
  } catch (error) {
    trouble(fill(words.not_stored, { reason: error?.message ?? "" }));
    return;
  }
  layTone(stand());
  draw();
  return send();
}

async function send() {
  const reply = await kept.push();
  const said = { "signed-out": words.sign_in_again, "other-owner": words.other_owner, "no-answer": words.offline };
  trouble(reply.ok ? "" : said[reply.why] ?? fill(words.refused, { reason: reply.said ?? "" }));
  draw();
}

const TWICE_MS = 400; // a thumb that taps twice means once
let endAsked = null;

const taps = {
  begin: async () => { await allowSound(); return write("began"); },
  came: () => { if (Date.now() - Date.parse(stand().last.at) > TWICE_MS) return write(page.dataset.breaks); },
  paid: () => write("paid"),
  undo: () => { const { last } = stand(); if (last) return write("withdrawn", { withdraws: last.id }); },
  end: () => {
    if (endAsked === null) {
      part("end").textContent = words.end_sure;
      endAsked = setTimeout(() => { endAsked = null; part("end").textContent = words.end; }, 4000);
      return;
    }
    clearTimeout(endAsked);
    quiet();
    awake?.release();
    return write("ended");
  },
};
for (const [id, tap] of Object.entries(taps)) part(id).addEventListener("click", tap);
part("sound").addEventListener("change", async () => { await allowSound(); layTone(stand()); });
// a run that was open before a reload: the first touch gives the sound back
document.addEventListener("pointerdown", async () => { if (!audio && stand().since !== null) { await allowSound(); layTone(stand()); } });

addEventListener("online", send);
document.addEventListener("visibilitychange", () => { if (!document.hidden) { tick(); stayAwake(); send(); } });
setInterval(() => { if (kept.unsent().length) send(); }, 5000);
setInterval(tick, 200);
draw();
page.dataset.ready = "yes";
send();
