// The session screen. It decides nothing: it writes events, and draws what the engine says of them.

import { openScreen } from "./screen.js";
import { clockWords, fill, part } from "./words.js";

// from the page where the server made it, else from this device: the session's head, its state and its table
const { page, words, queue, book, sessionId, head, ...known } = await openScreen();

let state = known.state;
let unsent = [];
let cueAt = null;
let latency = null;
let overruled = false;
let silent = false;
let endAsked = null;
let ending = false;
let ahead = known.ahead;
const REFRESH_AFTER = 3;

const MARKS = { met: "|", missed: "–", helped: "h", void: "v" };

// ---- what stands: the engine's state with the events that it has not seen yet -------------------------------

function standing() {
  const trials = state.trials.map((trial) => ({ ...trial, unsent: false }));
  let hold = state.open_hold && { ...state.open_hold, at: Date.parse(state.open_hold.at) - queue.clockOffMs };
  let pieces = state.pieces_left;
  let { step, ended } = state;
  const told = new Set(trials.map((trial) => trial.event)); // stored, but the answer was lost on the way
  for (const event of unsent.filter((one) => one.session_id === sessionId && !told.has(one.id))) {
    const given = event.payload.pieces ?? 0;
    if (event.kind === "trial") trials.push({ event: event.id, outcome: event.payload.outcome, held: null, unsent: true });
    if (event.kind === "hold-started") hold = { id: event.id, at: Date.parse(event.at), target_s: event.payload.target_s };
    if (event.kind === "hold-broke" || event.kind === "hold-released") {
      const target = hold?.target_s ?? 0;
      const broke = event.kind === "hold-broke";
      const outcome = event.payload.held_s >= target ? "met" : broke ? "missed" : "void";
      trials.push({ event: event.id, outcome, held: `${event.payload.held_s} s`, unsent: true });
      hold = null;
    }
    if (event.kind === "reinforcer-changed") pieces = event.payload.pieces;
    else if (pieces !== null && ["trial", "hold-broke", "hold-released"].includes(event.kind)) pieces = Math.max(0, pieces - given);
    if (event.kind === "step-changed") step = event.payload.step;
    if (event.kind === "session-ended") ended = true;
    if (event.kind === "withdrawn") {
      const index = trials.findIndex((trial) => trial.event === event.payload.event);
      if (index >= 0) trials.splice(index, 1);
      if (hold?.id === event.payload.event) hold = null;
    }
  }
  return { trials, hold, pieces, step, ended };
}

// ---- the decision: the engine's answer, or while it is awaited, its table for the tries to come -------------

const LETTERS = { met: "m", missed: "x", helped: "h" };
const TOLD_BY_TABLE = new Set(["session-started", "trial", "withdrawn", "note"]);

function triedSince(now) {
  const known = ahead?.step === now.step && now.trials.length >= ahead.n && (now.trials[ahead.n - 1]?.event ?? "") === ahead.after;
  return known ? now.trials.slice(ahead.n).map((trial) => LETTERS[trial.outcome] ?? "?").join("") : null;
}

function advice(now = standing()) {
  const waiting = unsent.filter((event) => event.session_id === sessionId);
  if (!waiting.length) return state.decision;
  const row = waiting.every((event) => TOLD_BY_TABLE.has(event.kind)) && ahead?.rows[triedSince(now)];
  return row || { word: words.waits, reason: words.waits_why, step: now.step };
}

async function lookAhead() {
  const since = triedSince(standing());
  if (ahead && !ahead.step) return; // there is no table for this session
  if (ahead && since !== null && since.length < REFRESH_AFTER) return;
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
  drawAdvice(now);
  drawPay(now);
  if (page.dataset.hold === "yes") drawHold(now.hold);
  part("undo").disabled = !now.trials.length && !now.hold;
  const saved = unsent.length ? fill(words.unsent, { n: unsent.length }) : words.all_sent;
  part("saved").textContent = queue.clockOffMs ? `${saved}. ${clockWords(words, queue.clockOffMs)}` : saved;
  page.dataset.unsent = unsent.length;
  page.dataset.tries = tried.length;
  page.dataset.ended = now.ended ? "yes" : "no";
}

function drawMarks(trials) {
  part("marks").replaceChildren(...trials.map((trial, index) => {
    const item = document.createElement("li");
    item.className = trial.unsent ? `${trial.outcome} unsent` : trial.outcome;
    item.textContent = trial.held ? `${MARKS[trial.outcome]} ${trial.held}` : MARKS[trial.outcome];
    item.setAttribute("aria-label", fill(words.number_of_try, { n: index + 1, word: words[trial.outcome] }));
    return item;
  }));
}

function drawAdvice(now) {
  const said = advice(now);
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
  part("start-hold").textContent = fill(words.start_hold, { target: state.next_hold.text });
  if (hold) part("asked").textContent = fill(words.asked, { target: `${hold.target_s} s` });
}

function tick() {
  if (page.dataset.hold !== "yes") return;
  const hold = standing().hold;
  if (hold) part("elapsed").textContent = ((Date.now() - hold.at) / 1000).toFixed(1);
}

function trouble(text) {
  part("trouble").hidden = !text;
  part("trouble").textContent = text ?? "";
}

// ---- writing ----------------------------------------------------------------------------------------------

async function write(kind, payload) {
  const tapped = performance.now();
  try {
    unsent.push(await queue.append({ sessionId, kind, payload }));
  } catch (error) {
    trouble(fill(words.not_stored, { reason: error?.message ?? "" }));
    return;
  }
  draw();
  performance.measure("tap-to-kept", { start: tapped, end: performance.now() });
  await send();
  performance.measure("tap-to-stored", { start: tapped, end: performance.now() });
}

async function send() {
  const reply = await queue.push();
  silent = !reply.ok;
  unsent = unsent.filter((event) => !reply.settled.has(event.id));
  if (reply.sessions[sessionId]) state = reply.sessions[sessionId];
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
  if (!standing().hold) return write("hold-started", { target_s: state.next_hold.target_s });
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
  return write("session-ended", {});
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

function press(key) {
  if (page.dataset.hold === "yes") {
    const running = Boolean(standing().hold);
    return { PageDown: running ? taps.released : taps["start-hold"], PageUp: taps.broke, u: taps.undo }[key];
  }
  return { PageDown: taps.met, PageUp: taps.missed, b: taps.helped, ".": taps.helped, u: taps.undo }[key];
}
document.addEventListener("keydown", (event) => {
  if (event.repeat || event.ctrlKey || event.metaKey || /INPUT|SELECT|TEXTAREA/.test(event.target.tagName)) return;
  const tap = press(event.key.length === 1 ? event.key.toLowerCase() : event.key);
  if (!tap) return;
  event.preventDefault();
  tap();
});

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
