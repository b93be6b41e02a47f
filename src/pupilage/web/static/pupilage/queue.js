// The device's own log. An event is committed here before any screen confirms it; it leaves only when a
// well-formed reply names it. The queue remembers whose events it holds.

import { open, settled, written } from "./store.js";

const MOST_A_CALL = 200;
const CLOCK_WRONG_MS = 5 * 60 * 1000; // less than this is what clocks are like
const CLOCK_MOVED_MS = 60 * 1000;
const SETTLED = new Set(["stored", "duplicate", "rejected"]);

// crypto.randomUUID exists only in a secure context; a phone on plain HTTP must be able to write too
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export class Queue {
  constructor({ owner, pushAddress, tokenAddress, opened = open() }) {
    this.owner = owner;
    this.pushAddress = pushAddress;
    this.tokenAddress = tokenAddress;
    this.opened = opened;
    this.opened.catch(() => {}); // whoever awaits it is told
    this.pushing = this.next = null;
    this.onScreen = new Set(); // sessions whose state is wanted even when they have ended
    this.clockOffMs = 0; // how far this device's clock is behind the server's
    this.clockHeard = false;
  }

  // Resolves once the event is durably stored on this device. `also` writes more in the same transaction.
  async append({ sessionId, kind, payload = {}, at = new Date(), also = null }) {
    const base = await this.opened;
    const stores = ["unsent", "device", ...(also ? ["sessions"] : [])];
    return written(base, stores, async (store) => {
      const device = store("device");
      const [known, last] = await Promise.all([settled(device.get("id")), settled(device.get("seq"))]);
      const [deviceId, seq] = [known ?? newId(), (last ?? 0) + 1];
      const event = {
        id: newId(), device_id: deviceId, device_seq: seq, session_id: sessionId, kind,
        at: at.toISOString(), tz_offset_min: -at.getTimezoneOffset(), payload,
      };
      device.put(deviceId, "id");
      device.put(seq, "seq");
      const clock_off_ms = this.clockHeard ? this.clockOffMs : null;
      store("unsent").put({ id: event.id, owner: this.owner, event, clock_off_ms });
      also?.(store);
      return event;
    });
  }

  // Unsent events in the order in which they were written, whoever's they are.
  async unsent() {
    const base = await this.opened;
    const rows = await settled(base.transaction("unsent").objectStore("unsent").getAll());
    return rows.sort((a, b) => a.event.device_seq - b.event.device_seq);
  }

  async refused() {
    const base = await this.opened;
    return settled(base.transaction("refused").objectStore("refused").getAll());
  }

  async own() {
    return (await this.#ownRows()).map((row) => row.event);
  }

  async #ownRows() {
    return (await this.unsent()).filter((row) => row.owner === this.owner);
  }

  // One push at a time; calls while one is under way share the next, which pushes all that came since.
  push() {
    this.next ??= (this.pushing ?? Promise.resolve()).then(() => {
      this.next = null;
      return this.#pushAll();
    });
    this.pushing = this.next;
    return this.next;
  }

  async #pushAll() {
    const done = { settled: new Set(), sessions: {}, refused: [] };
    try {
      for (;;) {
        if (!(await this.#count())) return { ok: true, ...done };
        const token = await this.#token(); // before all rows are read: without a network every tap comes by here
        if (!token.ok) return { ...token, ...done };
        const rows = (await this.#ownRows()).slice(0, MOST_A_CALL);
        if (!rows.length) return { ok: true, ...done };
        const reply = await this.#send(rows, token.token);
        if (!reply.ok) return { ...reply, ...done };
        const named = await this.#settle(rows, reply.body);
        named.ids.forEach((id) => done.settled.add(id));
        done.refused.push(...named.refused);
        Object.assign(done.sessions, reply.body.sessions);
        if (!named.ids.length) return { ok: false, why: "half-reply", ...done };
      }
    } catch {
      return { ok: false, why: "no-store", ...done };
    }
  }

  async #count() {
    const base = await this.opened;
    return settled(base.transaction("unsent").objectStore("unsent").count());
  }

  async #send(rows, token) {
    try {
      const events = rows.map((row) => this.#dated(row));
      const response = await fetch(this.pushAddress, {
        method: "POST", redirect: "manual", cache: "no-store",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token },
        body: JSON.stringify({ owner: this.owner, events, show: this.#wanted(events) }),
      });
      const body = await this.#json(response);
      if (body === null) return { ok: false, why: response.status >= 500 ? "no-answer" : "signed-out" };
      if (!response.ok || !Array.isArray(body.verdicts)) {
        const why = { "other-owner": "other-owner", forbidden: "may-not-write" }[body.code] ?? "no-answer";
        return { ok: false, why, said: body.problems?.[0] };
      }
      return { ok: true, body };
    } catch {
      return { ok: false, why: "no-answer" };
    }
  }

  // The sessions whose state this device goes on with: to say what stands in a whole day's would take its time.
  #wanted(events) {
    const ended = new Set(events.filter((event) => event.kind === "session-ended").map((event) => event.session_id));
    const touched = new Set(events.map((event) => event.session_id));
    return [...touched].filter((id) => this.onScreen.has(id) || !ended.has(id));
  }

  async #token() {
    try {
      const asked = Date.now();
      const response = await fetch(this.tokenAddress, { redirect: "manual", cache: "no-store" });
      const token = await this.#json(response);
      if (token === null || response.status === 403) return { ok: false, why: "signed-out" };
      if (!response.ok || typeof token.token !== "string") return { ok: false, why: "no-answer" };
      if (token.owner !== this.owner) return { ok: false, why: "other-owner" };
      if (Number.isFinite(token.now_ms)) this.#hear(token.now_ms - (asked + Date.now()) / 2);
      return { ok: true, token: token.token };
    } catch {
      return { ok: false, why: "no-answer" };
    }
  }

  // A clock that is hours off would put a session on the wrong day. What was written by such a clock goes out moved
  // by as much as the clock is off; the small change from one asking to the next must not change the order of taps.
  #hear(offMs) {
    const off = Math.abs(offMs) < CLOCK_WRONG_MS ? 0 : Math.round(offMs / 1000) * 1000;
    if (off === 0 || Math.abs(off - this.clockOffMs) > CLOCK_MOVED_MS) this.clockOffMs = off;
    this.clockHeard = true;
  }

  #dated({ event, clock_off_ms }) {
    const off = clock_off_ms ?? this.clockOffMs;
    return off ? { ...event, at: new Date(Date.parse(event.at) + off).toISOString() } : event;
  }

  // A redirect, 401, 403 or a reply that is not JSON means: keep everything.
  async #json(response) {
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
    if (response.type === "opaqueredirect" || response.status === 401 || !isJson) return null;
    return response.json();
  }

  // Events leave, and what the engine says of their sessions arrives, in one transaction.
  async #settle(rows, { verdicts, sessions = {} }) {
    const sent = new Map(rows.map((row) => [row.id, row.event]));
    const named = verdicts.filter((verdict) => sent.has(verdict?.id) && SETTLED.has(verdict.status));
    const refused = named.filter((verdict) => verdict.status === "rejected");
    await written(await this.opened, ["unsent", "refused", "sessions"], async (store) => {
      for (const verdict of named) store("unsent").delete(verdict.id);
      for (const verdict of refused) {
        store("refused").put({ id: verdict.id, owner: this.owner, event: sent.get(verdict.id), verdict });
      }
      for (const [id, state] of Object.entries(sessions)) {
        const known = await settled(store("sessions").get(id));
        if (known) store("sessions").put({ ...known, state });
      }
      for (const { id } of named) {
        const { kind, session_id } = sent.get(id);
        const over = kind === "session-ended" && (await settled(store("sessions").get(session_id)));
        if (over) store("sessions").put({ ...over, state: { ...over.state, ended: true } });
      }
    });
    return { ids: named.map((verdict) => verdict.id), refused };
  }
}
