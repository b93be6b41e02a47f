// Without the server: which session to hold, from what this device knows of the day. Shown only on the logger's own page.

import { newId } from "./queue.js";
import { carriedOn } from "./standing.js";
import { saveToFile } from "./unsent_file.js";
import { fill, part, told } from "./words.js";

const ADDRESSED = /([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})/;
const KEPT_DAYS = 14;
const DAY_MS = 24 * 60 * 60 * 1000;

// Resolves with a session: the one in the address, or the one that the trainer begins here.
export async function chooseSession({ page, words, book, queue }) {
  const asked = ADDRESSED.exec(location.hash || location.pathname)?.[1];
  const known = asked && (await book.session(asked).catch(() => undefined));
  if (known && known.owner === queue.owner && !(await isOver(known, queue))) {
    part("choose").hidden = true;
    return known;
  }
  return new StartList({ page, words, book, queue }).chosen();
}

async function isOver(session, queue) {
  if (session.state.ended) return true;
  return (await queue.own()).some((event) => event.session_id === session.id && event.kind === "session-ended");
}

const nameOf = (programme, behaviour) => `${programme} ${behaviour}`;

class StartList {
  constructor(parts) {
    Object.assign(this, parts);
    this.day = undefined;
    this.before = new Map();
    this.choices = [];
  }

  chosen() {
    return new Promise((resolve) => {
      this.resolve = (session) => {
        this.done = true;
        part("choose").hidden = true;
        history.replaceState(null, "", `${this.page.dataset.logger}#${session.id}`);
        scrollTo(0, 0);
        resolve(session);
      };
      this.#listen();
      this.#begin();
    });
  }

  #listen() {
    part("what").addEventListener("change", () => this.#choose(Number(part("what").value)));
    part("which-step").addEventListener("change", () => this.#showStep());
    // what has been chosen stands, whatever arrives meanwhile
    part("begin-form").addEventListener("pointerdown", () => { this.touched = true; });
    part("begin-form").addEventListener("change", () => { this.touched = true; });
    part("begin").addEventListener("click", () => this.#start());
    part("send-now").addEventListener("click", () => this.#send());
    part("save-unsent").addEventListener("click", () => saveToFile(this.queue));
    addEventListener("online", () => this.#send());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.#send(); });
  }

  async #begin() {
    navigator.storage?.persist?.(); // a browser that grants it does not clear the queue when the disk runs full
    try {
      this.day = await this.book.day();
      this.before = await this.#lookBack(this.day);
      this.#draw();
      await this.#drawUnsent();
      await this.#drawOpen();
    } catch {
      this.#trouble(this.words.no_store);
    }
    document.body.dataset.ready = "yes";
    await this.#send(); // first: what is pulled then knows of it
    const day = await this.book.pull(this.page.dataset.day);
    if (day && !this.done) {
      this.queue.owner = day.owner;
      const before = await this.#lookBack(day);
      // nothing is awaited between asking and drawing: else a touch is drawn over
      if (!this.done && (!this.touched || this.day?.owner !== day.owner)) {
        Object.assign(this, { day, before });
        this.#draw();
      }
      await this.#drawOpen();
    }
    await this.#send();
  }

  #trouble(text) {
    part("start-trouble").hidden = !text;
    part("start-trouble").textContent = text ?? "";
  }

  // ---- what to train ------------------------------------------------------------------------------------------

  // By behaviour, what sessions on this device have brought that the day as it was pulled does not know.
  async #lookBack(day) {
    const unsent = await this.queue.own();
    const trained = (await this.book.sessions()).filter((one) => one.owner === this.queue.owner && !one.head.probe);
    const byBehaviour = new Map();
    for (const one of trained) {
      const key = nameOf(one.head.programme, one.head.behaviour.key);
      byBehaviour.set(key, [...(byBehaviour.get(key) ?? []), one]);
    }
    const rules = told("rules");
    const known = { knownAtMs: day?.known_at_ms ?? -Infinity, clockOffMs: this.queue.clockOffMs };
    return new Map([...byBehaviour].map(([key, sessions]) => [key, carriedOn(rules, sessions, unsent, known)]));
  }

  #draw() {
    const stays = this.day?.stays ?? [];
    part("known-from").textContent = this.day ? this.#age() : this.words.knows_nothing;
    part("begin-form").hidden = !stays.length;
    this.choices = stays.flatMap((stay) => [
      ...stay.proposals.map((proposal) => ({ stay, ...proposal })),
      ...Object.values(stay.behaviours)
        .filter((one) => !stay.proposals.some((proposal) => proposal.behaviour === one.key))
        .map((one) => ({ stay, behaviour: one.key, step: one.step, reason: "" })),
    ]);
    const several = stays.length > 1;
    part("what").replaceChildren(...this.choices.map(({ stay, behaviour }, index) => {
      const name = stay.behaviours[behaviour].name;
      return new Option(several ? `${stay.dog}: ${name}` : name, index);
    }));
    if (this.choices.length) this.#choose(0);
  }

  #age() {
    const at = new Date(this.day.known_at_ms);
    const time = at.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
    const sameDay = at.toDateString() === new Date().toDateString();
    return fill(sameDay ? this.words.known_today : this.words.known_since, { time, day: at.toLocaleDateString() });
  }

  #choose(index) {
    this.choice = this.choices[index];
    const { stay, behaviour, step, reason } = this.choice;
    part("what").value = index;
    part("why").textContent = reason;
    part("start-dog").textContent = stay.dog;
    part("which-step").replaceChildren(...stay.behaviours[behaviour].steps.map((one) => new Option(one.summary, one.key)));
    part("which-step").value = this.before.get(nameOf(stay.programme, behaviour))?.step ?? step;
    part("with").replaceChildren(
      ...stay.reinforcers.map((name) => new Option(name, name)), new Option(this.words.no_reinforcer, ""),
    );
    part("how-many").value = part("how-many").value || stay.pieces;
    this.#showStep();
  }

  #showStep() {
    const { stay, behaviour } = this.choice;
    const step = stay.behaviours[behaviour].steps.find((one) => one.key === part("which-step").value);
    part("in-words").textContent = step.words;
  }

  async #start() {
    const { stay, behaviour: key } = this.choice;
    const { step: _, states, tables, pays, ...behaviour } = stay.behaviours[key];
    const [step, reinforcer] = [part("which-step").value, part("with").value];
    const pieces = part("how-many").value === "" ? null : Number(part("how-many").value);
    const used = new Set((await this.book.sessions()).map((session) => session.id));
    const paid = pays[step]?.find((one) => !used.has(one.session));
    const id = paid?.session ?? newId();
    const head = { id, dog: stay.dog, programme: stay.programme, probe: false, behaviour };
    const pay = reinforcer && stay.foods.includes(reinforcer) ? paid?.pay ?? null : null;
    const before = this.before.get(nameOf(stay.programme, key));
    const state = { ...states[step], id, reinforcer, pieces_left: pieces, pay };
    let ahead = tables[step] ? { step, n: 0, after: "", ...tables[step] } : { rows: {} };
    if (before) {
      state.alone = before.alone;
      ahead = null; // the day's table knows nothing of what lay before
    }
    const seconds = stay.seconds ?? [];
    const session = { id, owner: this.queue.owner, head, state, ahead, seconds, started_ms: Date.now() };
    const payload = { programme: stay.programme, behaviour: key, step, kind: "training", reinforcer, pieces, cold: false };
    try {
      await this.queue.append({
        sessionId: id, kind: "session-started", payload, also: (store) => store("sessions").put(session),
      });
    } catch (error) {
      this.#trouble(fill(this.words.not_stored, { reason: error?.message ?? "" }));
      return;
    }
    this.resolve({ ...session, isNew: true });
  }

  // ---- what is under way, and what is not sent --------------------------------------------------------------------

  async #drawOpen() {
    const found = [];
    for (const session of await this.book.sessions()) {
      if (session.owner !== this.queue.owner) continue;
      if (!(await isOver(session, this.queue))) found.push(session);
      else await this.#forgetOld(session);
    }
    part("under-way").hidden = !found.length;
    part("open-sessions").replaceChildren(...found.map((session) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = fill(this.words.go_on, { what: session.head.behaviour.name, dog: session.head.dog });
      button.addEventListener("click", () => this.resolve(session));
      const item = document.createElement("li");
      item.append(button);
      return item;
    }));
  }

  async #forgetOld(session) {
    const waits = (await this.queue.unsent()).some((row) => row.event.session_id === session.id);
    const old = Date.now() - (session.started_ms ?? 0) > KEPT_DAYS * DAY_MS;
    if (!waits && old) await this.book.forgetSession(session.id);
  }

  async #drawUnsent() {
    const rows = await this.queue.unsent();
    const refused = await this.queue.refused();
    const others = rows.filter((row) => row.owner !== this.queue.owner).length;
    const own = rows.length - others;
    const { words } = this;
    part("start-saved").textContent = [
      own ? fill(words.unsent, { n: own }) : words.all_sent,
      others ? fill(words.of_others, { n: others }) : "",
      refused.length ? fill(words.set_aside, { n: refused.length }) : "",
    ].filter(Boolean).join(" ");
    document.body.dataset.unsent = own;
    part("send-now").hidden = !own;
    part("save-unsent").hidden = !rows.length && !refused.length;
  }

  async #send() {
    if (this.done || this.queue.owner === undefined) return;
    const reply = await this.queue.push();
    const said = {
      "signed-out": this.words.sign_in_again, "other-owner": this.words.other_owner,
      "may-not-write": this.words.may_not_write, "no-store": this.words.no_store,
    };
    this.#trouble(reply.ok ? null : said[reply.why] ?? this.words.offline);
    if (reply.refused.length) this.#trouble(fill(this.words.refused, { reason: reply.refused[0].reason }));
    if (reply.why !== "no-store") await this.#drawUnsent();
  }
}
