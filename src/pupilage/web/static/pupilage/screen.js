// Which session this screen is for and what is known of it: from the page where the server made the page, else from
// this device. One screen for both: what comes after does not ask which it was.

import { Book } from "./book.js";
import { Queue } from "./queue.js";
import { chooseSession } from "./start.js";
import { open } from "./store.js";
import { part, told } from "./words.js";

const NIL = "00000000-0000-0000-0000-000000000000";

export async function openScreen() {
  const page = part("page");
  const words = told("words");
  const opened = open();
  const book = new Book(opened);
  const made = told("session"); // only on a page that the server made for one session
  const owner = made ? made.owner : await book.owner().catch(() => undefined);
  const queue = new Queue({ owner, opened, pushAddress: page.dataset.push, tokenAddress: page.dataset.token });
  const session = made ? await fromPage(book, made) : await chooseSession({ page, words, book, queue });
  queue.onScreen.add(session.id);
  fillHead(page, session);
  if (!made && !session.isNew) refresh(page, session.id);
  const { id: sessionId, head, state, ahead, second = null, seconds = [] } = session;
  return { page, words, queue, book, sessionId, head, state, ahead, second, seconds };
}

// Resolves once what was drawn is on the screen; soon, where the page is hidden and nothing is painted.
export function painted() {
  return new Promise((resolve) => {
    setTimeout(resolve, 100);
    requestAnimationFrame(() => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = resolve;
      port2.postMessage(0);
    });
  });
}

async function fromPage(book, { owner, ...head }) {
  const state = told("state");
  const session = { id: head.id, owner, head, state, ahead: null, second: told("second"), seconds: told("seconds") ?? [] };
  await book.keepSession(session).catch(() => {}); // a private window: the page itself has what is needed
  return session;
}

// Another phone may have written into this session while this page was closed.
async function refresh(page, id) {
  const answer = await fetch(page.dataset.state, { headers: { Accept: "application/json" }, redirect: "manual" }).catch(() => null);
  if (!answer?.ok) return;
  const state = await answer.json().catch(() => null);
  if (state?.id !== id) return;
  page.dispatchEvent(new CustomEvent("told", { detail: state }));
}

function fillHead(page, { id, owner, head }) {
  const { behaviour } = head;
  for (const name of ["state", "ahead", "record"]) page.dataset[name] = page.dataset[name].replace(NIL, id);
  Object.assign(page.dataset, { session: id, owner, hold: behaviour.hold ? "yes" : "no" });
  document.title = `${behaviour.name} – ${head.dog}`;
  part("dog").textContent = head.dog;
  part("probe").hidden = !head.probe;
  part("behaviour").textContent = behaviour.name;
  part("cue-word").textContent = `“${behaviour.cue}”`;
  for (const outcome of ["met", "missed", "helped", "void"]) part(`counts-${outcome}`).textContent = behaviour.outcomes[outcome];
  part("counts-in-short").textContent = behaviour.outcomes.met;
  part("choose-step").replaceChildren(...behaviour.steps.map((step) => new Option(step.summary, step.key)));
  part("safety").hidden = !behaviour.safety.length;
  part("safety").replaceChildren(...behaviour.safety.map((line) => Object.assign(document.createElement("li"), { textContent: line })));
  for (const other of document.querySelectorAll(behaviour.hold ? ".for-tries" : ".for-holds")) other.remove();
  page.hidden = false;
}
