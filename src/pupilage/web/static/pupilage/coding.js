// A second person codes a session, blind: a clock, four words, and nothing of what anybody else wrote down.

import { Kept } from "./kept.js";
import { newId } from "./queue.js";

const page = document.getElementById("page");
const words = JSON.parse(document.getElementById("words").textContent);
const part = (id) => document.getElementById(id);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

const kept = new Kept({
  name: `coding.${page.dataset.session}`, owner: page.dataset.owner, pushAddress: page.dataset.push,
  tokenAddress: page.dataset.token, head: () => ({ coding: own().coding, observer: own().observer }),
});
const own = () => kept.read().own;

// ---- the clock: seconds from the session's start, by timestamps, so that sleep and reload lose nothing -------------

function seconds() {
  const { since, before = 0 } = own();
  const running = since ? (Date.now() - since) / 1000 : 0;
  return Math.max(0, Math.round((before + running) * 10) / 10);
}

function begin(since) {
  const observer = part("observer").value.trim();
  if (!observer) {
    part("observer").focus();
    return trouble(words.who);
  }
  trouble("");
  tryTo(() => kept.note({ coding: own().coding ?? newId(), observer, since, before: 0 }));
}

function pause() {
  const { since } = own();
  tryTo(() => kept.note(since ? { before: seconds(), since: null } : { since: Date.now() }));
}

// ---- marks -----------------------------------------------------------------------------------------------------

function standing() {
  const entries = kept.entries();
  const gone = new Set(entries.filter((one) => one.kind === "withdrawn").map((one) => one.withdraws));
  return entries.filter((one) => one.kind !== "withdrawn" && !gone.has(one.id));
}

function add(kind, more = {}) {
  tryTo(() => kept.append({ id: newId(), kind, time_s: seconds(), ...more }));
  send();
}

function takeBack() {
  const last = standing().filter((one) => one.kind === "mark").at(-1);
  if (last) add("withdrawn", { withdraws: last.id });
}

function done() {
  if (own().since) pause();
  add("ended");
}

function another() {
  if (kept.unsent().length) return send();
  kept.forget();
  draw();
}

// ---- drawing and sending ---------------------------------------------------------------------------------------

const moment = (time) => `${Math.floor(time / 60)}:${String(Math.floor(time % 60)).padStart(2, "0")}`;

function draw() {
  const { coding, since, observer } = own();
  const entries = standing();
  const marks = entries.filter((one) => one.kind === "mark");
  const ended = entries.some((one) => one.kind === "ended");
  part("before").hidden = Boolean(coding);
  part("during").hidden = !coding || ended;
  part("thumb").hidden = !coding || ended;
  part("after").hidden = !ended;
  part("pause").textContent = since ? words.pause : words.go_on;
  for (const button of document.querySelectorAll("[data-code]")) button.disabled = !since;
  part("undo").disabled = !marks.length;
  part("count").textContent = fill(words.count, { n: marks.length });
  const last = marks.at(-1);
  part("last").textContent = last ? fill(words.last, { word: words[last.code], at: moment(last.time_s) }) : "";
  part("by").textContent = observer ?? "";
  const unsent = kept.unsent().length;
  part("saved").textContent = coding ? (unsent ? fill(words.unsent, { n: unsent }) : words.all_sent) : "";
  part("compare").hidden = Boolean(unsent);
  part("compare").href = `${page.dataset.agreement}?other=${coding}`;
  page.dataset.unsent = unsent;
  page.dataset.marks = marks.length;
  tick();
}

function tick() {
  part("clock").textContent = moment(seconds());
}

function trouble(text) {
  part("trouble").hidden = !text;
  part("trouble").textContent = text;
}

function tryTo(act) {
  try {
    act();
  } catch (error) {
    trouble(fill(words.not_stored, { reason: error?.message ?? "" }));
  }
  draw();
}

async function send() {
  const reply = await kept.push();
  const said = { "signed-out": words.sign_in_again, "other-owner": words.other_owner, "no-answer": words.offline };
  if (!reply.ok) trouble(said[reply.why] ?? fill(words.refused, { reason: reply.said ?? "" }));
  else if (kept.read().own.coding) trouble("");
  draw();
}

part("start").addEventListener("click", () => begin(Date.now()));
part("start-live")?.addEventListener("click", () => begin(Date.parse(page.dataset.started)));
part("pause").addEventListener("click", pause);
part("undo").addEventListener("click", takeBack);
part("done").addEventListener("click", done);
part("another").addEventListener("click", another);
for (const button of document.querySelectorAll("[data-code]")) {
  button.addEventListener("click", () => add("mark", { code: button.dataset.code }));
}
addEventListener("online", send);
document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
setInterval(() => { if (kept.unsent().length) send(); }, 5000);
setInterval(tick, 200);
draw();
page.dataset.ready = "yes";
send();
