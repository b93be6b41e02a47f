// What the person sees in the dog: signs of stress and how the mouth takes food, one tap each; and what that suggests.

import { watch } from "./deciding.js";
import { fill, part } from "./words.js";

export class SeenPart {
  constructor({ words, write }) {
    this.words = words;
    this.write = write;
    for (const button of document.querySelectorAll("[data-sign]")) {
      button.addEventListener("click", () => this.#tick(button));
    }
    for (const button of document.querySelectorAll("[data-mouth]")) {
      button.addEventListener("click", () => this.write("seen", { mouth: Number(button.dataset.mouth) }));
    }
    this.now = [];
  }

  // A sign that is on is taken back by a second tap.
  #tick(button) {
    const found = this.now.find((one) => one.signs?.includes(button.dataset.sign));
    if (found) return this.write("withdrawn", { event: found.event });
    return this.write("seen", { signs: [button.dataset.sign] });
  }

  draw(own, now) {
    this.now = now.seen;
    const signs = new Set(now.seen.flatMap((one) => one.signs ?? []));
    for (const button of document.querySelectorAll("[data-sign]")) button.setAttribute("aria-pressed", signs.has(button.dataset.sign));
    const mouths = now.seen.map((one) => one.mouth ?? null).filter((one) => one !== null);
    for (const button of document.querySelectorAll("[data-mouth]")) {
      button.setAttribute("aria-pressed", Number(button.dataset.mouth) === mouths.at(-1));
    }
    const says = watch(own, now.trials, now.seen);
    part("watching").hidden = !says.length;
    part("watching").replaceChildren(...says.map(({ suggestion, reason }) => {
      const line = document.createElement("li");
      const word = document.createElement("strong");
      word.textContent = this.words[`watch_${suggestion}`];
      line.append(word, ` ${reason}`);
      return line;
    }));
    part("page").dataset.watch = says[0]?.suggestion ?? "";
    return says[0] ? { what: says[0].suggestion, text: fill("{word} {reason}", { word: this.words[`watch_${says[0].suggestion}`], reason: says[0].reason }) } : null;
  }
}
