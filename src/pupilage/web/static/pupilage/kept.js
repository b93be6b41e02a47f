// A small log of this page's own: every entry is in localStorage before any screen confirms it, and stays there until
// a well-formed reply names it. Each account has its own: one never writes over another's. A redirect, 401, 403 or a
// reply that is not JSON means: keep everything.

const PREFIX = "pupilage.kept.";

export class Kept {
  // name: what the entries belong to; owner: whose they are; head: what is sent beside the entries;
  // told: takes what the server says of entries that it settled without storing them.
  constructor({ name, owner, pushAddress, tokenAddress, head = () => ({}), told = () => {} }) {
    Object.assign(this, { key: `${PREFIX}${owner}.${name}`, owner, pushAddress, tokenAddress, head, told });
    this.pushing = null;
  }

  // Everything that this device still knows of it, sent or not.
  read() {
    return JSON.parse(localStorage.getItem(this.key) ?? "null") ?? { entries: [], own: {} };
  }

  #write(stored) {
    localStorage.setItem(this.key, JSON.stringify(stored));
  }

  // Small things that a restart must not lose, such as when the clock was started.
  note(own) {
    const stored = this.read();
    this.#write({ ...stored, own: { ...stored.own, ...own } });
  }

  append(entry) {
    const stored = this.read();
    stored.entries.push({ entry, sent: false });
    this.#write(stored);
  }

  entries() {
    return this.read().entries.map((one) => one.entry);
  }

  unsent() {
    return this.read().entries.filter((one) => !one.sent).map((one) => one.entry);
  }

  forget() {
    localStorage.removeItem(this.key);
  }

  // One push at a time; a second call while one is under way waits and sends what came since.
  push() {
    this.pushing = (this.pushing ?? Promise.resolve()).then(() => this.#push());
    return this.pushing;
  }

  async #push() {
    const entries = this.unsent().slice(0, 200);
    if (!entries.length) return { ok: true };
    try {
      const token = await this.#json(await fetch(this.tokenAddress, { redirect: "manual", cache: "no-store" }));
      if (token === null) return { ok: false, why: "signed-out" };
      if (token.owner !== this.owner) return { ok: false, why: "other-owner" };
      const response = await fetch(this.pushAddress, {
        method: "POST", redirect: "manual", cache: "no-store",
        headers: { "Content-Type": "application/json", "X-CSRFToken": token.token },
        body: JSON.stringify({ ...this.head(), entries }),
      });
      const body = await this.#json(response);
      if (body === null) return { ok: false, why: response.status >= 500 ? "no-answer" : "signed-out" };
      if (!response.ok || !Array.isArray(body.kept)) return { ok: false, why: "refused", said: body.problems?.join(" ") };
      if (body.problems?.length) this.told(body.problems.join(" "));
      const named = new Set(body.kept);
      const stored = this.read();
      stored.entries = stored.entries.map((one) => ({ ...one, sent: one.sent || named.has(one.entry.id) }));
      this.#write(stored);
      if (!entries.some((entry) => named.has(entry.id))) return { ok: false, why: "no-answer" };
      return this.#push();
    } catch {
      return { ok: false, why: "no-answer" };
    }
  }

  async #json(response) {
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
    if (response.type === "opaqueredirect" || response.status === 401 || !isJson) return null;
    return response.json();
  }
}
