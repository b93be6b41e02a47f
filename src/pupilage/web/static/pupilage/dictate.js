// A note by voice, where the device can and its owner has switched it on: some browsers send the sound to their maker.

import { settings } from "./hands.js";
import { part, told } from "./words.js";

const Recognition = window.SpeechRecognition ?? window.webkitSpeechRecognition;
const words = told("words");
let running = null;

function start() {
  running = new Recognition();
  running.lang = document.documentElement.lang;
  running.onresult = (event) => {
    const heard = [...event.results].map((one) => one[0].transcript).join(" ");
    part("note-text").value = `${part("note-text").value} ${heard}`.trim();
  };
  running.onend = () => { running = null; part("dictate").textContent = words.dictate; };
  running.start();
  part("dictate").textContent = words.listening;
}

part("dictate").hidden = !(Recognition && settings().dictate);
part("dictate").addEventListener("click", () => (running ? running.stop() : start()));
