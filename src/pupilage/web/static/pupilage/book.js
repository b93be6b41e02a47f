// What the phone knows without asking: the day as it was last pulled, and sessions as they were last told.

import { open, settled, written } from "./store.js";

export class Book {
  constructor(opened = open()) {
    this.opened = opened;
    this.opened.catch(() => {}); // whoever awaits it is told
  }

  async #get(store, key) {
    const base = await this.opened;
    return settled(base.transaction(store).objectStore(store).get(key));
  }

  async #put(store, value, key) {
    return written(await this.opened, [store], (at) => settled(at(store).put(value, key)));
  }

  // Whose logger this is: the account that pulled last.
  async owner() {
    return this.#get("days", "owner");
  }

  async day() {
    const owner = await this.owner();
    return owner === undefined ? undefined : this.#get("days", owner);
  }

  async keepDay(day) {
    const base = await this.opened;
    return written(base, ["days"], async (store) => {
      store("days").put(day.owner, "owner");
      store("days").put(day, day.owner);
    });
  }

  async session(id) {
    return this.#get("sessions", id);
  }

  async sessions() {
    const base = await this.opened;
    return settled(base.transaction("sessions").objectStore("sessions").getAll());
  }

  async keepSession(session) {
    return this.#put("sessions", session);
  }

  // Merges into a session that is known; nothing where it is not.
  async noteSession(id, more) {
    return written(await this.opened, ["sessions"], async (store) => {
      const known = await settled(store("sessions").get(id));
      if (known) store("sessions").put({ ...known, ...more });
    });
  }

  async forgetSession(id) {
    return written(await this.opened, ["sessions"], async (store) => store("sessions").delete(id));
  }

  // Brings the day up to date where the machine answers. Whatever else comes back, what is known stays.
  async pull(address) {
    try {
      const known = await this.day().catch(() => undefined);
      const headers = { Accept: "application/json", ...(known?.etag ? { "If-None-Match": known.etag } : {}) };
      const answer = await fetch(address, { headers, redirect: "manual", cache: "no-store" });
      if (answer.status === 304) {
        const day = { ...known, known_at_ms: Date.now() };
        await this.keepDay(day);
        return day;
      }
      if (!answer.ok || !(answer.headers.get("Content-Type") ?? "").startsWith("application/json")) return null;
      const day = await answer.json();
      if (typeof day.owner !== "string" || !Array.isArray(day.stays)) return null;
      const whole = { ...day, etag: answer.headers.get("ETag"), known_at_ms: Date.now() };
      await this.keepDay(whole);
      return whole;
    } catch {
      return null;
    }
  }
}
