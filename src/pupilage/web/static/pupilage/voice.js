// One voice: plays and deletes examples, and takes new ones from the microphone or a file. Nothing is kept here.

import { fill, post, told, trouble, why, words } from "./asking.js";

const LONGEST_MS = 6000;
let running = null;

async function send(address, content, name, text) {
  told(words.cutting);
  try {
    const cut = await post(address, content, { "Content-Type": "application/octet-stream", "Upload-Name": name });
    told([fill(words.cut_own, { n: cut.n, word: text, length: (cut.end - cut.start).toFixed(2) }), ...cut.remarks].join(" "));
    setTimeout(() => location.reload(), 1500);
  } catch (error) {
    told("");
    trouble(why(error));
  }
}

const REFUSED = { NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "absent", NotReadableError: "absent" };

async function microphone() {
  if (!isSecureContext || !navigator.mediaDevices) { trouble(words.insecure); return null; }
  if (!window.MediaRecorder) { trouble(words.unable); return null; }
  try {
    return await navigator.mediaDevices.getUserMedia({ audio: { echoCancellation: false, noiseSuppression: false } });
  } catch (error) {
    trouble(words[REFUSED[error.name]] ?? words.absent);
    return null;
  }
}

async function record(button) {
  if (running) { running.stop(); return; }
  trouble("");
  const sound = await microphone();
  if (!sound) return;
  const recorder = new MediaRecorder(sound);
  const pieces = [];
  recorder.ondataavailable = (event) => pieces.push(event.data);
  recorder.onstop = () => {
    running = null;
    sound.getTracks().forEach((track) => track.stop());
    button.textContent = words.record;
    const end = recorder.mimeType.includes("mp4") ? "m4a" : recorder.mimeType.includes("ogg") ? "ogg" : "webm";
    send(button.dataset.record, new Blob(pieces), `own.${end}`, button.closest("[data-word]").dataset.text);
  };
  running = recorder;
  recorder.start();
  button.textContent = words.stop;
  told(words.recording);
  setTimeout(() => { if (recorder.state === "recording") recorder.stop(); }, LONGEST_MS);
}

document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-play], [data-forget], [data-record]");
  if (!button) return;
  if (button.dataset.record) return record(button);
  if (button.dataset.play) return new Audio(button.dataset.play).play().catch((error) => trouble(fill(words.no_play, { reason: error.message })));
  try {
    await post(button.dataset.forget, new FormData());
    button.closest("[data-sample]").remove();
    told(words.removed);
  } catch (error) {
    trouble(why(error));
  }
});
document.addEventListener("change", (event) => {
  const file = event.target.files?.[0];
  const address = event.target.dataset.file;
  if (file && address) send(address, file, encodeURIComponent(file.name).slice(-80), event.target.closest("[data-word]").dataset.text);
});
