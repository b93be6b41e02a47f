// The page of keys, sounds and looks: reads and writes what this device keeps.

import { ACTIONS, Hands, USUAL, keep, keyName, settings, show } from "./hands.js";
import { part, told } from "./words.js";

const words = told("words");
let chosen = settings();
let waiting = null;

function say(text) {
  part("hands-said").textContent = text;
}

function store(more) {
  chosen = { ...chosen, ...more };
  try {
    keep(chosen);
    say(words.kept);
  } catch {
    say(words.not_kept);
  }
  draw();
}

function draw() {
  for (const box of document.querySelectorAll("[data-switch]")) box.checked = chosen[box.dataset.switch];
  part("scheme").value = chosen.scheme;
  for (const action of ACTIONS) part(`keys-${action}`).textContent = chosen.keys[action].join(", ") || words.none;
  for (const button of document.querySelectorAll("[data-add]")) {
    button.textContent = waiting === button.dataset.add ? words.press : words.add;
  }
  show(chosen);
}

// A key stands for one thing only: where it stood before it is taken away.
function give(action, key) {
  const before = ACTIONS.find((one) => one !== action && chosen.keys[one].includes(key));
  const keys = Object.fromEntries(ACTIONS.map((one) => [one, chosen.keys[one].filter((old) => old !== key)]));
  keys[action] = [...keys[action], key];
  store({ keys });
  if (before) say(words.taken);
}

for (const box of document.querySelectorAll("[data-switch]")) {
  box.addEventListener("change", () => store({ [box.dataset.switch]: box.checked }));
}
part("scheme").addEventListener("change", () => store({ scheme: part("scheme").value }));
for (const button of document.querySelectorAll("[data-add]")) {
  button.addEventListener("click", () => { waiting = button.dataset.add; draw(); });
}
for (const button of document.querySelectorAll("[data-clear]")) {
  button.addEventListener("click", () => store({ keys: { ...chosen.keys, [button.dataset.clear]: [] } }));
}
part("usual").addEventListener("click", () => store({ keys: USUAL.keys }));
part("try").addEventListener("click", () => new Hands(chosen).announce("raise", words.sample));
document.addEventListener("keydown", (event) => {
  if (!waiting || event.key === "Tab" || event.key === "Shift") return;
  event.preventDefault();
  const action = waiting;
  waiting = null;
  if (event.key === "Escape") draw();
  else give(action, keyName(event));
}, true);

draw();
document.body.dataset.ready = "yes";
