// The second dog on its mat: its own session, its own clock, and when it is to be paid. Drawn inside the screen of the
// dog that is worked; its events go the same way as all others.

import { payInterval } from "./deciding.js";
import { holdNext, session, standing } from "./standing.js";
import { askedFor, fill, part } from "./words.js";

export class Mat {
  // parts: words, rules, queue, hands; write(kind, payload, sessionId) and unsent() of the screen
  // multiples: of the mean stretch between pays, in the order in which they are timed; drawn by the session's id
  constructor({ id, head, state, multiples }, parts) {
    Object.assign(this, parts, { id, head, state, multiples, dueTold: null, reachedTold: null });
    part("mat").hidden = false;
    document.body.classList.add("two-dogs");
    part("mat-dog").textContent = fill(this.words.on_its_mat, { dog: head.dog });
    for (const [name, tap] of Object.entries({ "mat-start": this.start, "mat-released": this.release, "mat-pay": this.pay, "mat-undo": this.undo })) {
      part(name).addEventListener("click", () => tap.call(this));
    }
    for (const button of document.querySelectorAll("#mat [data-cause]")) {
      button.addEventListener("click", () => this.endHold("hold-broke", { cause: button.dataset.cause }));
    }
  }

  get waiting() {
    return this.unsent().filter((event) => event.session_id === this.id);
  }

  now() {
    return standing(this.state, this.waiting, this.queue.clockOffMs);
  }

  next(now = this.now()) {
    return holdNext(session(this.rules, this.head, this.state), this.state, now, !this.waiting.length);
  }

  hear(sessions) {
    if (sessions[this.id]) this.state = sessions[this.id];
  }

  // When to pay next: the list goes on through the session, the stretch begins anew with a hold and with each pay.
  due(now) {
    if (!now.hold) return null;
    const since = now.pays.filter((pay) => pay.hold === now.hold.id).at(-1);
    const multiple = this.multiples[now.pays.length % this.multiples.length];
    const intervalS = payInterval(this.rules.figures.mat, now.hold.target_s, multiple);
    return { at: (since ? Math.max(since.at, now.hold.at) : now.hold.at) + 1000 * intervalS, intervalS };
  }

  draw() {
    const now = this.now();
    const next = this.next(now);
    const running = Boolean(now.hold);
    for (const name of ["mat-timer", "mat-running"]) part(name).hidden = !running;
    part("mat-start").hidden = running;
    part("mat-start").textContent = fill(this.words.mat_start, { target: askedFor(this.words, next.target_s) });
    part("mat-why").textContent = running ? "" : next.reason;
    part("mat-undo").disabled = !now.trials.length && !running;
    part("mat").dataset.holds = now.trials.filter((one) => one.hold).length;
    part("mat").dataset.paid = now.pays.length;
    this.tick();
  }

  tick() {
    const now = this.now();
    if (!now.hold) return;
    const held = (Date.now() - now.hold.at) / 1000;
    part("mat-elapsed").textContent = held.toFixed(1);
    part("mat-asked").textContent = fill(this.words.asked, { target: askedFor(this.words, now.hold.target_s) });
    if (held >= now.hold.target_s && this.reachedTold !== now.hold.id) {
      this.reachedTold = now.hold.id;
      this.hands.announce("reached", fill(this.words.say_release, { dog: this.head.dog }));
    }
    const due = this.due(now);
    const leftS = Math.ceil((due.at - Date.now()) / 1000);
    const words = leftS <= 0 ? this.words.pay_now : fill(this.words.pay_in, { n: leftS });
    if (part("mat-pay").textContent !== words) part("mat-pay").textContent = words;
    part("mat-pay").classList.toggle("chief", leftS <= 0);
    if (leftS <= 0 && this.dueTold !== due.at) {
      this.dueTold = due.at;
      this.hands.announce("due", fill(this.words.say_pay, { dog: this.head.dog }));
    }
  }

  start() {
    const now = this.now();
    if (!now.hold) return this.write("hold-started", { target_s: this.next(now).target_s }, this.id);
  }

  pay() {
    const now = this.now();
    if (now.hold) return this.write("paid", { hold: now.hold.id, pieces: 1, interval_s: this.due(now).intervalS }, this.id);
  }

  release() {
    return this.endHold("hold-released", { pieces: 1 });
  }

  endHold(kind, more) {
    const { hold } = this.now();
    if (!hold) return;
    const held_s = Math.max(0, Math.round((Date.now() - hold.at) / 10) / 100);
    return this.write(kind, { hold: hold.id, held_s, ...more }, this.id);
  }

  startOrRelease() {
    return this.now().hold ? this.release() : this.start();
  }

  undo() {
    const now = this.now();
    const newest = [...now.trials, ...now.pays, ...(now.hold ? [{ event: now.hold.id, at: now.hold.at }] : [])]
      .sort((a, b) => a.at - b.at).at(-1);
    if (newest) return this.write("withdrawn", { event: newest.event }, this.id);
  }

  async end() {
    if (this.now().hold) await this.endHold("hold-released", {});
    if (!this.now().ended) await this.write("session-ended", {}, this.id);
  }
}
