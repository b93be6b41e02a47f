// Sends a file in pieces. A piece that breaks off is sent again; a file that broke off goes on when it is chosen again.

import { newId } from "./queue.js";

const form = document.getElementById("bring");
const said = document.getElementById("sent");
const bar = document.getElementById("share");
const words = JSON.parse(document.getElementById("upload-words").textContent);
const PIECE = Number(form.dataset.piece);
const WAIT_MS = 3000;

const per_cent = (share) => `${Math.floor(100 * share)} %`;
const say = (template, figures = {}) => {
  said.textContent = template.replace(/\{(\w+)\}/g, (_, key) => figures[key]);
};
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

class Refused extends Error {}

async function json(address, options = {}) {
  const response = await fetch(address, { redirect: "manual", cache: "no-store", ...options });
  const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
  if (response.type === "opaqueredirect" || response.status === 401 || response.status === 403 || !isJson) {
    throw new Error(response.status >= 500 ? "" : words.signed_out);
  }
  const body = await response.json();
  if (!response.ok && response.status < 500) throw new Refused(body.problems?.[0] ?? "");
  if (!response.ok) throw new Error(body.problems?.[0] ?? "");
  return body;
}

async function post(address, body, headers = {}) {
  const { token } = await json(form.dataset.token);
  return json(address, { method: "POST", body, headers: { "X-CSRFToken": token, ...headers } });
}

// The same file chosen again is the same recording: its name, size and date say so.
function idOf(file) {
  const key = `pupilage-upload:${file.name}:${file.size}:${file.lastModified}`;
  const id = localStorage.getItem(key) ?? newId();
  localStorage.setItem(key, id);
  return { id, forget: () => localStorage.removeItem(key) };
}

async function begin(file, id) {
  const began = document.getElementById("began").value;
  return post(form.dataset.begin, JSON.stringify({
    id, name: file.name, size: file.size,
    purpose: form.elements.purpose.value,
    began_at: began ? new Date(began).toISOString() : null,
    voices: [...document.querySelectorAll("[name=voices]:checked")].map((one) => one.value),
    keep_sound: document.getElementById("keep").checked,
  }), { "Content-Type": "application/json" });
}

async function send(file) {
  const { id, forget } = idOf(file);
  let state = await begin(file, id);
  const address = `/recordings/${state.id}/bytes/`;
  bar.hidden = false;
  while (state.arriving) {
    const share = state.n_bytes / file.size;
    bar.value = share;
    say(words.sending, { name: file.name, share: per_cent(share) });
    try {
      const piece = file.slice(state.n_bytes, state.n_bytes + PIECE);
      state = await post(address, piece, { "Content-Type": "application/octet-stream", "Upload-Offset": String(state.n_bytes) });
    } catch (error) {
      if (error instanceof Refused) { forget(); throw error; }
      say(error.message || words.waiting, { share: per_cent(share) });
      await wait(WAIT_MS);
      state = await json(address).catch(() => state);
    }
  }
  forget();
  bar.value = 1;
  say(words.sent, { name: file.name });
}

// A camera dates a file by its end; the player's 0:00 is its length before that.
function fillBeginning(file) {
  const began = document.getElementById("began");
  const show = (ms) => {
    const at = new Date(ms);
    began.value = new Date(at - at.getTimezoneOffset() * 60000).toISOString().slice(0, 19);
  };
  const player = document.createElement("video");
  player.preload = "metadata";
  player.onloadedmetadata = () => {
    const length = Number.isFinite(player.duration) ? player.duration : 0;
    URL.revokeObjectURL(player.src);
    show(file.lastModified - 1000 * length);
  };
  player.onerror = () => URL.revokeObjectURL(player.src);
  player.src = URL.createObjectURL(file);
}

document.getElementById("file").addEventListener("change", (event) => {
  const file = event.target.files[0];
  if (file) fillBeginning(file);
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const file = document.getElementById("file").files[0];
  if (!file) { say(words.choose); return; }
  const button = form.querySelector("button.chief");
  button.disabled = true;
  try {
    await send(file);
    location.reload();
  } catch (error) {
    said.textContent = error.message || words.waiting;
  } finally {
    button.disabled = false;
  }
});
