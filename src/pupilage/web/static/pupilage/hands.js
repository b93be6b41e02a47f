// No finger free: keys of a remote or a keyboard, tones, vibration, spoken prompts, the screen kept awake, and how large,
// on which side and how dark the screen is. All of it is kept on this device and nowhere else.

const KEPT = "pupilage-hands";

export const ACTIONS = ["met", "missed", "helped", "undo", "cue", "mat-hold", "mat-pay"];

export const USUAL = {
  keys: {
    met: ["PageDown", "ArrowRight", "Enter", "AudioVolumeUp"],
    missed: ["PageUp", "ArrowLeft", "AudioVolumeDown"],
    helped: ["b", "."],
    undo: ["u"],
    cue: ["c"],
    "mat-hold": ["m"],
    "mat-pay": ["p"],
  },
  sounds: false, vibrate: false, speech: false, dictate: false, awake: true, large: false, left: false, scheme: "",
};

// Starting frequencies in hertz and lengths in seconds; a rise for more, a fall for less, so that they need no legend.
const TONES = {
  raise: [[440, 0.12], [660, 0.18]],
  keep: [[520, 0.08]],
  lower: [[520, 0.12], [350, 0.18]],
  pause: [[260, 0.5]],
  reached: [[880, 0.25]],
  due: [[700, 0.07], [700, 0.07], [700, 0.07]],
  watch: [[300, 0.15], [300, 0.15]],
};
const BUZZES = { raise: [60, 60, 60], keep: [30], lower: [150], pause: [400], reached: [100], due: [40, 40, 40, 40, 40], watch: [80, 80, 80] };

export function settings() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? "{}");
    return { ...USUAL, ...kept, keys: { ...USUAL.keys, ...(kept.keys ?? {}) } };
  } catch {
    return USUAL; // a private window, or something else wrote there
  }
}

export function keep(changed) {
  localStorage.setItem(KEPT, JSON.stringify(changed));
}

export function show(chosen = settings()) {
  const root = document.documentElement;
  root.classList.toggle("large-type", chosen.large);
  root.classList.toggle("left-hand", chosen.left);
  if (chosen.scheme) root.dataset.scheme = chosen.scheme;
  else delete root.dataset.scheme;
}

export const keyName = (event) => (event.key.length === 1 ? event.key.toLowerCase() : event.key);

export class Hands {
  constructor(chosen = settings()) {
    this.chosen = chosen;
    this.sound = null;
    this.lock = null;
    show(chosen);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.stayAwake(); });
    this.stayAwake();
  }

  // Which action a key stands for; none while somebody types, or where the key presses the button in focus.
  actionOf(event) {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || /INPUT|SELECT|TEXTAREA/.test(event.target.tagName)) return null;
    if ((event.key === "Enter" || event.key === " ") && event.target.closest?.("button, a, summary")) return null;
    const key = keyName(event);
    return ACTIONS.find((action) => this.chosen.keys[action].includes(key)) ?? null;
  }

  async stayAwake() {
    if (!this.chosen.awake || document.hidden || !navigator.wakeLock) return;
    this.lock = await navigator.wakeLock.request("screen").catch(() => null); // low battery, or the page went away
    document.documentElement.dataset.awake = this.lock ? "yes" : "no";
  }

  // what: a key of TONES; text: what may be said aloud
  announce(what, text = "") {
    if (this.chosen.vibrate) navigator.vibrate?.(BUZZES[what] ?? []);
    if (this.chosen.sounds) this.#play(TONES[what] ?? []);
    if (this.chosen.speech && text) this.#speak(text);
  }

  #play(tones) {
    this.sound ??= new AudioContext();
    let at = this.sound.currentTime;
    for (const [hertz, seconds] of tones) {
      const [tone, volume] = [this.sound.createOscillator(), this.sound.createGain()];
      tone.frequency.value = hertz;
      volume.gain.setValueAtTime(0.25, at);
      volume.gain.exponentialRampToValueAtTime(0.001, at + seconds);
      tone.connect(volume).connect(this.sound.destination);
      tone.start(at);
      tone.stop(at + seconds);
      at += seconds + 0.05;
    }
  }

  #speak(text) {
    if (!("speechSynthesis" in window)) return;
    speechSynthesis.cancel(); // the newest prompt is the one that counts
    const said = new SpeechSynthesisUtterance(text);
    said.lang = document.documentElement.lang;
    speechSynthesis.speak(said);
  }
}
