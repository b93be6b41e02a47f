// The session screen: it writes events, and draws what the engine says of them, or what its tables and rules say.

import { decide, wordOf } from "./deciding.js";
import { Hands } from "./hands.js";
import { Mat } from "./mat.js";
import { newId } from "./queue.js";
import { openScreen, painted } from "./screen.js";
import { SeenPart } from "./seen.js";
import { carriedOn, holdNext, session, standing as stand } from "./standing.js";
import { askedFor, clockWords, fill, part, told } from "./words.js";

// from the page where the server made it, else from this device: the session's head, its state and its table
const { page, words, queue, book, sessionId, head, ...known } = await openScreen();

let state = known.state;
let unsent = [];
const gone = new Set(); // events that a reply has named: a push may take one from the device before this screen has it
let cueAt = null;
let latency = null;
let overruled = false;
let silent = false;
let endAsked = null;
let ending = false;
let ahead = known.ahead;
let lastSaid = null;
let reachedTold = null;
const REFRESH_AFTER = 3;

const rules = told("rules");
const hands = new Hands();
const seen = new SeenPart({ words, write: (kind, payload) => write(kind, payload) });
let mat = null;

const MARKS = { met: "|", missed: "–", helped: "h", void: "v" };

// ---- what stands, and what is decided on it --------------------------------------------------------------------

const waiting = () => unsent.filter((event) => event.session_id === sessionId);
const standing = () => stand(state, waiting(), queue.clockOffMs);
const own = () => session(rules, head, state, ahead);

// The engine's answer, or while it is awaited, its table and its rules as this phone has them.
function advice(now = standing()) {
  if (!waiting().length || head.probe) return state.decision;
  const found = decide(own(), now.trials, { now: Date.now(), step: now.step, pieces: now.pieces });
  const summary = head.behaviour.steps.find((one) => one.key === found.step)?.summary;
  return { ...found, word: rules.actions[found.action], step_summary: summary };
}

async function lookAhead() {
  if (ahead && !ahead.says) return; // there is no table for this session
  const since = ahead ? standing().trials.length - ahead.n : Infinity;
  if (ahead && since >= 0 && since < REFRESH_AFTER && wordOf(own(), standing().trials, standing().step) !== null) return;
  const answer = await fetch(page.dataset.ahead, { headers: { Accept: "application/json" } }).catch(() => null);
  if (answer?.ok) ahead = await answer.json().catch(() => ahead);
  if (answer?.ok) book.noteSession(sessionId, { ahead }).catch(() => {});
  page.dataset.aheadFrom = ahead?.n ?? "";
}

// ---- food or praise: the engine's list, looked up by the number met; a tap overrules it for one response --------
// Where the engine has not answered and its list may no longer hold, food: more of it is never the worse mistake.

function foodIsNext(now = standing()) {
  if (!state.pay) return true;
  const count = (outcome, trials) => trials.filter((trial) => trial.outcome === outcome).length;
  const unheard = silent && (page.dataset.hold === "yes" || count("missed", now.trials.filter((trial) => trial.unsent)) > 1);
  const listed = state.pay.paid.length ? state.pay.paid[count("met", now.trials)] ?? true : state.pay.next;
  return (unheard || listed) !== overruled;
}

// ---- drawing ----------------------------------------------------------------------------------------------

function draw() {
  const now = standing();
  const tried = now.trials.filter((trial) => trial.outcome !== "void");
  const met = tried.filter((trial) => trial.outcome === "met").length;
  part("tries").textContent = tried.length ? fill(words.tries, { met, n: tried.length }) : words.no_tries;
  part("chance").textContent = state.n ? state.chance : "";
  part("pace").textContent = state.per_min === null ? "" : fill(words.per_min, { n: state.per_min });
  part("pieces").textContent = now.pieces === null ? "" : now.pieces ? fill(words.pieces, { n: now.pieces }) : words.pouch_empty;
  part("latency").textContent = latency === null ? state.latency : fill(words.latency, { n: latency.toFixed(1) });
  part("step").textContent = head.behaviour.steps.find((one) => one.key === now.step)?.summary ?? state.step_summary;
  part("choose-step").value = now.step;
  drawMarks(now.trials);
  const watched = seen.draw(own(), now);
  drawAdvice(now, watched);
  drawPay(now);
  if (page.dataset.hold === "yes") drawHold(now.hold);
  part("undo").disabled = !now.trials.length && !now.hold;
  const saved = unsent.length ? fill(words.unsent, { n: unsent.length }) : words.all_sent;
  part("saved").textContent = queue.clockOffMs ? `${saved}. ${clockWords(words, queue.clockOffMs)}` : saved;
  mat?.draw();
  page.dataset.unsent = unsent.length;
  page.dataset.tries = tried.length;
  page.dataset.ended = now.ended ? "yes" : "no";
}

// Only what has changed: an hour's marks would cost more than the tap.
function drawMarks(trials) {
  const list = part("marks");
  while (list.children.length > trials.length) list.lastChild.remove();
  trials.forEach((trial, index) => {
    const item = list.children[index] ?? list.appendChild(document.createElement("li"));
    const look = trial.unsent ? `${trial.outcome} unsent` : trial.outcome;
    const text = trial.held ? `${MARKS[trial.outcome]} ${trial.held}` : MARKS[trial.outcome];
    if (item.className === look && item.textContent === text) return;
    item.className = look;
    item.textContent = text;
    item.setAttribute("aria-label", fill(words.number_of_try, { n: index + 1, word: words[trial.outcome] }));
  });
}

function drawAdvice(now, watched) {
  const said = advice(now);
  part("advice-from").textContent = said.by === "counts" ? words.by_counts : "";
  page.dataset.by = said.by ?? "engine";
  announce(now, said, watched);
  part("advice-word").textContent = said.word;
  part("advice-reason").textContent = said.reason;
  part("set-of-five").textContent = state.set_of_five?.text ?? "";
  const go = part("go-to-step");
  go.hidden = said.step === now.step;
  go.textContent = fill(words.go_to_step, { step: said.step_summary });
  part("five-errs").textContent = state.set_of_five?.errs ?? "";
  const five = part("go-by-five");
  five.hidden = !state.set_of_five || state.set_of_five.step === now.step || state.set_of_five.step === said.step;
  five.textContent = fill(words.by_five, { step: state.set_of_five?.step_summary });
}

// Once for every try, and once for whatever is newly seen; nothing when the page opens.
function announce(now, said, watched) {
  const key = [now.trials.length, now.trials.at(-1)?.event, said.word, watched?.what].join();
  if (lastSaid !== null && lastSaid !== key && now.trials.length) {
    if (watched) hands.announce("watch", watched.text);
    else hands.announce(said.action ?? "keep", head.behaviour.hold ? `${said.word}. ${startWords(now)}` : said.word);
  }
  lastSaid = key;
}

const holdTarget = (now = standing()) => holdNext(own(), state, now, !waiting().length);
const startWords = (now) => fill(words.start_hold, { target: askedFor(words, holdTarget(now).target_s) });

function drawPay(now) {
  part("pay").hidden = part("pay-reason").hidden = !state.pay;
  if (!state.pay) return;
  const food = foodIsNext(now);
  const hold = page.dataset.hold === "yes" ? "hold_" : "";
  part("pay-word").textContent = words[`pay_${hold}${food ? "food" : "praise"}`];
  part("pay-reason").textContent = state.pay.reason;
  part("pay").classList.toggle("praise", !food);
  page.dataset.food = food ? "yes" : "no";
}

function drawHold(hold) {
  part("timer").hidden = !hold;
  part("start-hold").hidden = Boolean(hold);
  part("released").hidden = !hold;
  part("broke").hidden = !hold;
  part("start-hold").textContent = startWords();
  if (hold) part("asked").textContent = fill(words.asked, { target: askedFor(words, hold.target_s) });
}

function tick() {
  mat?.tick();
  if (page.dataset.hold !== "yes") return;
  const hold = standing().hold;
  if (!hold) return;
  const held = (Date.now() - hold.at) / 1000;
  part("elapsed").textContent = held.toFixed(1);
  if (held < hold.target_s || reachedTold === hold.id) return;
  reachedTold = hold.id;
  hands.announce("reached", fill(words.say_release, { dog: head.dog }));
}

function trouble(text) {
  part("trouble").hidden = !text;
  part("trouble").textContent = text ?? "";
}

// ---- writing ----------------------------------------------------------------------------------------------

async function write(kind, payload, session = sessionId) {
  const tapped = performance.now();
  try {
    const event = await queue.append({ sessionId: session, kind, payload });
    if (!gone.has(event.id)) unsent.push(event); // the list may have become another one meanwhile
  } catch (error) {
    trouble(fill(words.not_stored, { reason: error?.message ?? "" }));
    return;
  }
  draw();
  performance.measure("tap-to-kept", { start: tapped, end: performance.now() });
  await painted(); // the try stands on the screen before the network has its turn
  await send();
  performance.measure("tap-to-stored", { start: tapped, end: performance.now() });
}

async function send() {
  const reply = await queue.push();
  silent = !reply.ok;
  reply.settled.forEach((id) => gone.add(id));
  unsent = unsent.filter((event) => !gone.has(event.id));
  if (reply.sessions[sessionId]) state = reply.sessions[sessionId];
  mat?.hear(reply.sessions);
  const said = {
    "signed-out": words.sign_in_again, "other-owner": words.other_owner, "may-not-write": words.may_not_write,
    "no-store": words.no_store,
  };
  if (!reply.ok) trouble(said[reply.why] ?? reply.said ?? words.offline);
  else if (reply.refused.length) trouble(fill(words.refused, { reason: reply.refused[0].reason }));
  else trouble(null);
  draw();
  if (reply.ok && page.dataset.hold !== "yes") lookAhead();
  if (ending && standing().ended) leaveScreen(reply.ok && state.ended);
}

// To the record; without the machine to the list of what to train next, where this device has it.
function leaveScreen(stored) {
  if (stored) location.assign(page.dataset.record);
  else if (navigator.serviceWorker?.controller) location.assign(page.dataset.logger);
}

function trial(outcome) {
  const payload = { outcome, pieces: outcome === "helped" || (outcome === "met" && foodIsNext()) ? 1 : 0 };
  if (outcome === "met") overruled = false;
  if (cueAt !== null && outcome !== "missed") {
    latency = (performance.now() - cueAt) / 1000;
    payload.latency_s = Math.round(latency * 100) / 100;
  }
  cueAt = null;
  return write("trial", payload);
}

function startHold() {
  if (!standing().hold) return write("hold-started", { target_s: holdTarget().target_s });
}

function endHold(kind) {
  const hold = standing().hold;
  if (!hold) return;
  const held = Math.max(0, Math.round((Date.now() - hold.at) / 10) / 100);
  const paid = kind === "hold-released" && foodIsNext();
  overruled = false;
  return write(kind, { hold: hold.id, held_s: held, pieces: paid ? 1 : 0 });
}

function takeBack() {
  const now = standing();
  const last = now.hold ?? now.trials.at(-1);
  if (last) return write("withdrawn", { event: last.id ?? last.event });
}

function end() {
  if (endAsked === null) {
    part("end").textContent = words.end_sure;
    endAsked = setTimeout(() => { endAsked = null; part("end").textContent = words.end; }, 4000);
    return;
  }
  clearTimeout(endAsked);
  ending = true;
  return (mat ? mat.end() : Promise.resolve()).then(() => write("session-ended", {}));
}

function changeStep(step) {
  latency = null;
  return write("step-changed", { step });
}

// ---- taps and keys ----------------------------------------------------------------------------------------

const taps = {
  met: () => trial("met"),
  missed: () => trial("missed"),
  helped: () => trial("helped"),
  pay: () => { overruled = !overruled; draw(); },
  cue: () => { cueAt = performance.now(); latency = null; part("latency").textContent = "…"; },
  "start-hold": startHold,
  released: () => endHold("hold-released"),
  broke: () => endHold("hold-broke"),
  undo: takeBack,
  end,
  "go-to-step": () => changeStep(advice().step),
  "go-by-five": () => changeStep(state.set_of_five.step),
  refill: () => write("reinforcer-changed", { reinforcer: state.reinforcer, pieces: Number(part("pouch").value || 0) }),
  "keep-note": () => { const text = part("note").value.trim(); part("note").value = ""; if (text) return write("note", { text }); },
};
for (const [id, tap] of Object.entries(taps)) part(id)?.addEventListener("click", tap);
part("choose-step").addEventListener("change", (event) => changeStep(event.target.value));

function tapOf(action) {
  if (action === "mat-hold") return mat && (() => mat.startOrRelease());
  if (action === "mat-pay") return mat && (() => mat.pay());
  if (page.dataset.hold !== "yes") return taps[action];
  const running = Boolean(standing().hold);
  return { met: running ? taps.released : taps["start-hold"], missed: taps.broke, undo: taps.undo }[action];
}
document.addEventListener("keydown", (event) => {
  const tap = tapOf(hands.actionOf(event));
  if (!tap) return;
  event.preventDefault();
  tap();
});

// ---- a second dog on its mat ------------------------------------------------------------------------------

function openMat(second) {
  queue.onScreen.add(second.id);
  mat = new Mat(second, { words, rules, queue, hands, write, unsent: () => unsent });
  part("second-dogs").hidden = part("mat-asks").hidden = true;
}

// What is paid is drawn by a session's id: one of those that came along with their lists, while any is unused.
async function unusedMat(mats) {
  const known = await book.sessions().catch(() => []);
  const used = new Set(known.map((one) => one.second?.id));
  return mats.find((one) => !used.has(one.session)) ?? { ...mats[0], session: newId() };
}

async function startMat({ start, mats, head: whose, state: usual, states }, { step = start.step, alone } = {}) {
  const { session: id, multiples } = await unusedMat(mats);
  const usually = states?.[step] ?? usual;
  const second = { id, head: { ...whose, id }, state: { ...usually, id, alone: alone ?? usually.alone }, multiples };
  const payload = { ...start, step, reinforcer: state.reinforcer, pieces: null, kind: "training", cold: false, beside: sessionId };
  await book.noteSession(sessionId, { second }).catch(() => {});
  openMat(second);
  scrollTo(0, 0);
  await write("session-started", payload, id);
}

// Of a dog that has tried nothing yet whoever trains says what it can already; holds that wait to be sent are tries too.
async function beginMat(choice) {
  const { head: { dog, programme, behaviour }, start, states = {} } = choice;
  const same = (one) => one?.head.programme === programme && one.head.behaviour.key === behaviour.key;
  const mats = (await book.sessions().catch(() => [])).map((one) => one.second).filter(same);
  const before = carriedOn(rules, mats, unsent, { knownAtMs: Infinity, clockOffMs: queue.clockOffMs });
  if (before || !Object.keys(states).length) return startMat(choice, before ?? {});
  part("mat-asks").hidden = false;
  document.querySelector("[for=mat-can]").textContent = fill(words.ask_second, { dog });
  part("mat-can").replaceChildren(...behaviour.steps.map((step) => new Option(step.summary, step.key)));
  part("mat-can").value = start.step;
  part("mat-begin").onclick = () => startMat(choice, { step: part("mat-can").value });
  part("mat-asks").scrollIntoView(); // else it lies under the buttons of the thumb
}

if (known.second) openMat(known.second);
else {
  const choices = known.seconds ?? [];
  part("second-dogs").hidden = !choices.length;
  part("second-dogs").append(...choices.map((one) => {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "plain" });
    button.textContent = fill(words.add_second, { dog: one.head.dog });
    button.addEventListener("click", () => beginMat(one));
    return button;
  }));
}

// what another phone has written; what this one has heard since its own push is newer
page.addEventListener("told", ({ detail }) => { if (state === known.state) { state = detail; draw(); } });
addEventListener("online", send);
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
setInterval(() => { if (unsent.length) send(); }, 5000);
setInterval(tick, 100);

unsent = await queue.own().catch(() => { trouble(words.no_store); return []; });
draw();
page.dataset.ready = "yes";
await send();
