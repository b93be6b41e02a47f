// What stands in a session: the engine's state with the events that it has not seen yet. Used for either dog.

import { decide, nextHold, runAfter } from "./deciding.js";

const GIVES = new Set(["trial", "hold-broke", "hold-released", "paid"]); // a start has pieces too: those of the pouch

// Never names a try as met that the engine would not: a hold's outcome follows from its times.
export function standing(state, events, clockOffMs = 0) {
  const trials = state.trials.map((trial) => ({ ...trial, unsent: false }));
  const seen = [...(state.seen ?? [])];
  const pays = [...(state.pays ?? [])];
  let hold = state.open_hold && { ...state.open_hold, at: Date.parse(state.open_hold.at) - clockOffMs };
  let pieces = state.pieces_left;
  let { step, ended } = state;
  const told = new Set([...trials, ...seen, ...pays].map((one) => one.event)); // stored, but the answer was lost on the way
  for (const event of events.filter((one) => !told.has(one.id))) {
    const { payload } = event;
    const at = Date.parse(event.at);
    const common = { event: event.id, at, step, pieces: payload.pieces ?? 0, unsent: true };
    if (event.kind === "trial") trials.push({ ...common, outcome: payload.outcome, held: null, hold: null, latency_s: payload.latency_s ?? null });
    if (event.kind === "hold-started") hold = { id: event.id, at, target_s: payload.target_s };
    if (event.kind === "hold-broke" || event.kind === "hold-released") {
      const broke = event.kind === "hold-broke";
      const outcome = payload.held_s >= (hold?.target_s ?? 0) ? "met" : broke ? "missed" : "void";
      trials.push({ ...common, outcome, held: `${payload.held_s} s`, hold: { held_s: payload.held_s, broke }, latency_s: null });
      hold = null;
    }
    if (event.kind === "paid") pays.push({ event: event.id, at, hold: payload.hold });
    if (event.kind === "seen") seen.push({ event: event.id, signs: payload.signs ?? [], mouth: payload.mouth ?? null });
    if (event.kind === "reinforcer-changed") pieces = payload.pieces;
    else if (pieces !== null && GIVES.has(event.kind)) pieces = Math.max(0, pieces - (payload.pieces ?? 0));
    if (event.kind === "step-changed") step = payload.step;
    if (event.kind === "session-ended") ended = true;
    if (event.kind === "withdrawn") {
      for (const list of [trials, seen, pays]) {
        const index = list.findIndex((one) => one.event === payload.event);
        if (index >= 0) list.splice(index, 1);
      }
      if (hold?.id === payload.event) hold = null;
    }
  }
  return { trials, hold, pieces, step, ended, seen, pays };
}

// What the rules in deciding.js read of a session.
export function session(rules, head, state, ahead = null) {
  const table = ahead?.says ? { step: ahead.step, from: ahead.n, after: ahead.after, rows: ahead.rows, says: ahead.says } : undefined;
  return {
    figures: rules.figures, says: rules.says, steps: head.behaviour.steps, goal: state.goal ?? 0,
    scoring: head.behaviour.hold ? "hold" : "trial", probe: head.probe, before: state.alone ?? { step: null, run: "" }, table,
  };
}

// The next hold to ask for, the engine's where nothing is unheard, else reckoned here by the same rule.
export function holdNext(own, state, now, heard) {
  if (heard || own.probe || !state.alone?.holds) return state.next_hold;
  const held = now.trials.filter((one) => one.hold);
  const holds = [...(state.alone.holds[now.step] ?? []), ...held.filter((one) => one.step === now.step).map((one) => one.hold)];
  return nextHold(own, {
    step: now.step, holds, inSession: held.length, expectedS: holds.length ? null : state.alone.expected_s?.[now.step] ?? null,
  });
}

// What a session begun after these goes by while Pupilage has not heard of them, or null where it has heard of all: where
// to begin, and what lay before. sessions: {head, state} of one behaviour of one dog; unsent: this device's events.
export function carriedOn(rules, sessions, unsent, { knownAtMs, clockOffMs = 0 }) {
  const found = sessions.map((one) => {
    const events = unsent.filter((event) => event.session_id === one.id);
    const now = standing(one.state, events, clockOffMs);
    const newestAt = now.trials.at(-1)?.at ?? -Infinity;
    return { ...one, now, newestAt, unheard: now.trials.length > 0 && (events.length > 0 || newestAt > knownAtMs) };
  });
  const last = found.filter((one) => one.unheard).sort((a, b) => a.newestAt - b.newestAt).at(-1);
  if (!last) return null;
  const { now, head, state, ahead } = last;
  const own = session(rules, head, state, ahead);
  const holds = { ...state.alone?.holds };
  for (const { step, hold } of now.trials) {
    if (hold) holds[step] = [...(holds[step] ?? []), hold];
  }
  const { step } = decide(own, now.trials, { now: Infinity, step: now.step }); // so much later that no pause is meant
  return { step, alone: { ...state.alone, ...runAfter(own, now.trials), holds } };
}
