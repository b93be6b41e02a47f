// The clock of one absence. Times are differences of timestamps, never of ticks, so that a phone that slept is right.
// Everything is kept on this phone from the first tap on, and leaves it only when the server has named it.
import { newId } from "./queue.js";

const page = document.getElementById("page");
const state = JSON.parse(document.getElementById("state").textContent);
const words = JSON.parse(document.getElementById("words").textContent);
const $ = (id) => document.getElementById(id);
const SEVERE = ["panic", "injury", "escape", "drooling"];
const KEY = `pupilage-absence-${state.dog}`;

let kept = read();
let told = false;
let sending = false;

function read() {
  try {
    return JSON.parse(localStorage.getItem(KEY));
  } catch {
    return null;
  }
}

function keep() {
  try {
    if (kept) localStorage.setItem(KEY, JSON.stringify(kept));
    else localStorage.removeItem(KEY);
  } catch {
    say(words.cannot_keep);
  }
}

function clockFace(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const parts = [Math.floor(whole / 60) % 60, whole % 60].map((part) => String(part).padStart(2, "0"));
  if (whole >= 3600) return [Math.floor(whole / 3600), ...parts].join(":");
  return `${Number(parts[0])}:${parts[1]}`;
}

function say(text) {
  $("said").textContent = text ?? "";
  $("said").hidden = !text;
}

function seconds(until = kept.backMs ?? Date.now()) {
  return (until - kept.goneMs) / 1000;
}

function word() {
  if (kept.signs.some((one) => SEVERE.includes(one.sign))) return words.panic;
  if (kept.signs.length) return words.too_long;
  return kept.plannedS !== null && seconds() >= kept.plannedS ? words.be_back : "";
}

function draw() {
  const away = Boolean(kept);
  const done = Boolean(kept?.backMs);
  $("before").hidden = away;
  $("gone").hidden = away;
  $("away").hidden = !away;
  for (const id of ["signs", "rarer", "back"]) $(id).hidden = !away || done;
  $("again").hidden = !done || sending;
  $("drop").hidden = !away || sending;
  $("undo").hidden = !away || done || !kept.signs.length;
  if (!away) return;
  $("asked").textContent = words.planned.replace("{time}", clockFace(kept.plannedS ?? 0));
  const shown = kept.signs.map((one) => {
    const line = document.createElement("li");
    line.textContent = `${clockFace(one.at_s)} ${one.words}`;
    return line;
  });
  $("seen").replaceChildren(...shown);
  tick();
}

function tick() {
  if (!kept) return;
  $("elapsed").textContent = clockFace(seconds());
  const text = word();
  if ($("word").textContent !== text) $("word").textContent = text;
  if (text === words.be_back && !told) {
    told = true;
    navigator.vibrate?.([300, 150, 300]);
  }
}

function setting() {
  const given = new FormData($("setting"));
  return {
    watched: given.get("watched") ?? "camera", spot: given.get("spot"), had: given.getAll("had"),
    state: given.getAll("state"), resident: given.get("resident") === "yes",
  };
}

async function send() {
  if (sending) return;
  sending = true;
  say(words.saving);
  draw();
  const answer = await push();
  sending = false;
  if (answer.stored === kept.id) {
    kept = null;
    keep();
    location.assign(answer.next);
    return;
  }
  say(answer.said);
  draw();
}

async function push() {
  try {
    const token = await json(await fetch(page.dataset.token, { redirect: "manual", cache: "no-store" }));
    if (token === null) return { said: words.signed_out };
    if (token.owner !== kept.owner) return { said: words.other_owner };
    const { id, owner, goneMs, backMs, signs, setting: around } = kept;
    const body = {
      id, owner, gone_ms: goneMs, back_ms: backMs, sent_ms: Date.now(), ...around,
      signs: signs.map(({ sign, at_s }) => ({ sign, at_s })),
    };
    const response = await fetch(page.dataset.push, {
      method: "POST", redirect: "manual", cache: "no-store",
      headers: { "Content-Type": "application/json", "X-CSRFToken": token.token }, body: JSON.stringify(body),
    });
    const answer = await json(response);
    if (answer === null) return { said: response.status >= 500 ? words.no_answer : words.signed_out };
    return response.ok ? answer : { said: answer.problems?.join(" ") || words.other_owner };
  } catch {
    return { said: words.no_answer };
  }
}

// A redirect, 401, 403 or a reply that is not JSON means: keep everything.
async function json(response) {
  const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
  if (response.type === "opaqueredirect" || response.status === 401 || !isJson) return null;
  return response.json();
}

$("gone").addEventListener("click", () => {
  kept = {
    id: newId(), owner: page.dataset.owner, goneMs: Date.now(), backMs: null, plannedS: state.planned_s, signs: [],
    setting: setting(),
  };
  told = false;
  say("");
  keep();
  draw();
  window.scrollTo(0, 0);
});

for (const button of document.querySelectorAll("[data-sign]")) {
  button.addEventListener("click", () => {
    const at_s = Math.max(0, Math.round(10 * seconds(Date.now())) / 10);
    kept.signs.push({ sign: button.dataset.sign, at_s, words: button.textContent });
    $("rarer").open = false;
    keep();
    draw();
  });
}

$("undo").addEventListener("click", () => {
  kept.signs.pop();
  keep();
  draw();
});

$("back").addEventListener("click", () => {
  if (seconds(Date.now()) <= 0) {
    say(words.clock_back);
    return;
  }
  kept.backMs = Math.max(Date.now(), kept.goneMs + 1000 * Math.max(0.1, ...kept.signs.map((one) => one.at_s)));
  keep();
  send();
});

$("again").addEventListener("click", send);

// Nothing is thrown away by a slip of the thumb: the button asks once more.
$("drop").addEventListener("click", () => {
  const first = $("drop").dataset.first ?? $("drop").textContent;
  if ($("drop").dataset.first === undefined) {
    $("drop").dataset.first = first;
    $("drop").textContent = words.really;
    setTimeout(() => {
      $("drop").textContent = first;
      delete $("drop").dataset.first;
    }, 4000);
    return;
  }
  kept = null;
  say("");
  keep();
  draw();
});

document.addEventListener("visibilitychange", tick);
window.addEventListener("pageshow", draw);
window.addEventListener("online", () => kept?.backMs && send());
setInterval(tick, 250);
draw();
if (kept?.backMs) send();
page.dataset.ready = "yes";
