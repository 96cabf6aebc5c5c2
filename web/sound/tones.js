// Sounds by Web Audio, for somebody who looks at the film. They need one tap on the page first: browsers ask for it.

/** @typedef {"tick" | "safe" | "call" | "refused"} Sound */

/** Each sound is a run of [hertz, seconds, loudness 0-1, shape]: a rhythm of its own, so that pitch alone says nothing.
 * @type {Record<Sound, [number, number, number, OscillatorType][]>} */
const SOUNDS = {
  tick: [[1900, 0.03, 0.25, "square"]],
  safe: [[523, 0.14, 0.3, "sine"], [784, 0.28, 0.3, "sine"]],
  call: [[659, 0.18, 0.4, "triangle"], [0, 0.07, 0, "sine"], [659, 0.18, 0.4, "triangle"], [0, 0.07, 0, "sine"], [494, 0.4, 0.4, "triangle"]],
  refused: [[165, 0.12, 0.4, "sawtooth"], [0, 0.05, 0, "sine"], [147, 0.2, 0.4, "sawtooth"]],
};

const MUTED = "rigd-muted";
// The answer and the notice of the same refusal arrive together: one sound for both.
const SAME_SECONDS = 0.3;

class Tones {
  /** @type {AudioContext | null} */
  #context = null;
  /** @type {Map<Sound, number>} */
  #last = new Map();
  muted = localStorage.getItem(MUTED) === "yes";
  /** Called when it becomes able to sound, or no more. */
  onchange = () => {};

  /** Call from a tap or a key: browsers let sound begin only there. */
  wake() {
    if (!this.#context) {
      this.#context = new AudioContext();
      this.#context.onstatechange = () => this.onchange();
    }
    if (this.#context.state === "suspended") void this.#context.resume();
  }

  /** True once the browser lets sound out. */
  get allowed() {
    return this.#context?.state === "running";
  }

  /** @param {boolean} muted */
  mute(muted) {
    this.muted = muted;
    localStorage.setItem(MUTED, muted ? "yes" : "no");
    this.onchange();
  }

  /** @param {Sound} sound */
  play(sound) {
    const context = this.#context;
    if (!context || !this.allowed || this.muted || context.currentTime - (this.#last.get(sound) ?? -1) < SAME_SECONDS) return;
    this.#last.set(sound, context.currentTime);
    let at = context.currentTime + 0.005;
    for (const [hertz, seconds, loud, shape] of SOUNDS[sound]) {
      if (loud > 0) note(context, at, hertz, seconds, loud, shape);
      at += seconds;
    }
  }
}

/** @param {AudioContext} context @param {number} at @param {number} hertz @param {number} seconds @param {number} loud @param {OscillatorType} shape */
function note(context, at, hertz, seconds, loud, shape) {
  const source = new OscillatorNode(context, { type: shape, frequency: hertz });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loud, at + 0.005);
  gain.gain.linearRampToValueAtTime(0, at + seconds);
  source.connect(gain).connect(context.destination);
  source.start(at);
  source.stop(at + seconds + 0.01);
}

export const tones = new Tones();
