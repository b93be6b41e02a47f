// The device's own log. An event is committed here before any screen confirms it; it leaves only when a
// well-formed reply names it. The queue remembers whose events it holds.

const DATABASE = "pupilage";

function settled(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function open() {
  const request = indexedDB.open(DATABASE, 1);
  request.onupgradeneeded = () => {
    const base = request.result;
    base.createObjectStore("unsent", { keyPath: "id" });
    base.createObjectStore("refused", { keyPath: "id" });
    base.createObjectStore("device");
  };
  return settled(request);
}

// crypto.randomUUID exists only in a secure context; a phone on plain HTTP must be able to write too
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export class Queue {
  constructor({ owner, pushAddress, tokenAddress }) {
    this.owner = owner;
    this.pushAddress = pushAddress;
    this.tokenAddress = tokenAddress;
    this.opened = open();
    this.pushing = null;
  }

  // Resolves once the event is durably stored on this device.
  async append({ sessionId, kind, payload = {}, at = new Date() }) {
    const base = await this.opened;
    const transaction = base.transaction(["unsent", "device"], "readwrite", { durability: "strict" });
    const done = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error);
      transaction.onerror = () => reject(transaction.error);
    });
    const device = transaction.objectStore("device");
    const deviceId = (await settled(device.get("id"))) ?? newId();
    const seq = ((await settled(device.get("seq"))) ?? 0) + 1;
    const event = {
      id: newId(), device_id: deviceId, device_seq: seq, session_id: sessionId, kind,
      at: at.toISOString(), tz_offset_min: -at.getTimezoneOffset(), payload,
    };
    device.put(deviceId, "id");
    device.put(seq, "seq");
    transaction.objectStore("unsent").put({ id: event.id, owner: this.owner, event });
    await done;
    return event;
  }

  // Unsent events in the order in which they were written.
  async unsent() {
    const base = await this.opened;
    const rows = await settled(base.transaction("unsent").objectStore("unsent").getAll());
    return rows.sort((a, b) => a.event.device_seq - b.event.device_seq);
  }

  async own() {
    return (await this.unsent()).filter((row) => row.owner === this.owner).map((row) => row.event);
  }

  // One push at a time; a second call while one is under way waits and pushes what came since.
  push() {
    this.pushing = (this.pushing ?? Promise.resolve()).then(() => this.#pushAll());
    return this.pushing;
  }

  async #pushAll() {
    const done = { settled: new Set(), sessions: {}, refused: [] };
    for (;;) {
      const events = (await this.own()).slice(0, 200);
      if (!events.length) return { ok: true, ...done };
      const reply = await this.#send(events);
      if (!reply.ok) return { ...reply, ...done };
      const named = await this.#settle(events, reply.body.verdicts);
      named.ids.forEach((id) => done.settled.add(id));
      done.refused.push(...named.refused);
      Object.assign(done.sessions, reply.body.sessions);
      if (!named.ids.length) return { ok: false, why: "half-reply", ...done };
    }
  }

  async #send(events) {
    try {
      const token = await this.#json(await fetch(this.tokenAddress, { redirect: "manual", cache: "no-store" }));
      if (token === null) return { ok: false, why: "signed-out" };
      if (token.owner !== this.owner) return { ok: false, why: "other-owner" };
      const response = await fetch(this.pushAddress, {
        method: "POST", redirect: "manual", cache: "no-store",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token.token },
        body: JSON.stringify({ owner: this.owner, events }),
      });
      const body = await this.#json(response);
      if (body === null) return { ok: false, why: response.status >= 500 ? "no-answer" : "signed-out" };
      if (!response.ok || !Array.isArray(body.verdicts)) {
        return { ok: false, why: body.code === "other-owner" ? "other-owner" : "no-answer", said: body.problems?.[0] };
      }
      return { ok: true, body };
    } catch {
      return { ok: false, why: "no-answer" };
    }
  }

  // A redirect, 401, 403 or a reply that is not JSON means: keep everything.
  async #json(response) {
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
    if (response.type === "opaqueredirect" || response.status === 401 || !isJson) return null;
    return response.json();
  }

  async #settle(events, verdicts) {
    const sent = new Map(events.map((event) => [event.id, event]));
    const base = await this.opened;
    const transaction = base.transaction(["unsent", "refused"], "readwrite", { durability: "strict" });
    const done = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error);
    });
    const refused = [];
    const ids = [];
    for (const verdict of verdicts) {
      if (!sent.has(verdict.id)) continue;
      ids.push(verdict.id);
      transaction.objectStore("unsent").delete(verdict.id);
      if (verdict.status === "rejected") {
        refused.push(verdict);
        transaction.objectStore("refused").put({ id: verdict.id, owner: this.owner, event: sent.get(verdict.id), verdict });
      }
    }
    await done;
    return { ids, refused };
  }
}
