// Sounds by Web Audio, for somebody who looks at the film. They need one tap on the page first: browsers ask for it.
// What they are stands in notes.json: a loudspeaker of the host plays the same.

import { screenPrefs } from "../base/prefs.js";

/** @typedef {"closed" | "safe" | "call" | "refused" | "again" | "hand"} Sound */
/** @typedef {[hertz: number, seconds: number, loud: number, shape: OscillatorType]} Note `loud` 0-1; 0 is a rest */
/** @typedef {{says: string, needed: boolean, buzz: number[], notes: Note[]}} Tune */

/** @type {Promise<Record<Sound, Tune>>} */
export const tunes = fetch(new URL("notes.json", import.meta.url)).then((answer) => answer.json());

// The answer and the notice of the same refusal arrive together: one sound for both.
const SAME_MS = 300;

class Tones {
  /** @type {AudioContext | null} */
  #context = null;
  /** @type {Map<Sound, number>} */
  #last = new Map();
  /** Called when it becomes able to sound, or no more. @type {Set<() => void>} */
  #listeners = new Set();

  /** @param {() => void} listener */
  subscribe(listener) {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  /** Call from a tap or a key: browsers let sound begin only there. Done when it can be heard. */
  async wake() {
    if (!this.#context) {
      this.#context = new AudioContext();
      this.#context.onstatechange = () => this.#listeners.forEach((listener) => listener());
    }
    if (this.#context.state === "suspended") await this.#context.resume();
  }

  /** True once the browser lets sound out. */
  get allowed() {
    return this.#context?.state === "running";
  }

  /** Sound and touch, as this screen was told. @param {Sound} sound */
  async play(sound) {
    const now = performance.now();
    if (now - (this.#last.get(sound) ?? -SAME_MS) < SAME_MS) return;
    this.#last.set(sound, now);
    const tune = (await tunes)[sound];
    const { muted, extras, buzz } = screenPrefs.now;
    if (!tune.needed && !extras) return;
    if (buzz) shake(tune.buzz);
    if (!muted) this.sing(tune.notes);
  }

  /** Play these notes now, whatever is muted. @param {Note[]} notes */
  sing(notes) {
    const context = this.#context;
    if (!context || !this.allowed) return;
    let at = context.currentTime + 0.005;
    for (const note of notes) {
      if (note[2] > 0) sing(context, at, note, screenPrefs.now.volume);
      at += note[1];
    }
  }
}

/** Vibrate, where there is a motor, and once somebody has touched the page: browsers ask for it. @param {number[]} pattern */
export function shake(pattern) {
  if (navigator.userActivation?.hasBeenActive ?? true) navigator.vibrate?.(pattern);
}

/** One note, from `at` on the context's clock; it swells and fades within 5 ms, so that it does not click.
 * @param {AudioContext} context @param {number} at @param {Note} note @param {number} volume */
function sing(context, at, [hertz, seconds, loud, shape], volume) {
  const source = new OscillatorNode(context, { type: shape, frequency: hertz });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loud * volume, at + 0.005);
  gain.gain.setValueAtTime(loud * volume, at + seconds - 0.005);
  gain.gain.linearRampToValueAtTime(0, at + seconds);
  source.connect(gain).connect(context.destination);
  source.start(at);
  source.stop(at + seconds + 0.01);
}

export const tones = new Tones();
