// Sounds by Web Audio, for somebody who looks at the film. They need one tap on the page first: browsers ask for it.

/** @typedef {"tick" | "safe" | "call" | "refused"} Sound */

/** @typedef {{hertz: number, seconds: number, loud: number, shape: OscillatorType}} Note `loud` 0-1; 0 is a rest */

/** @type {(hertz: number, seconds: number, loud: number, shape: OscillatorType) => Note} */
const note = (hertz, seconds, loud, shape) => ({ hertz, seconds, loud, shape });
/** @type {(seconds: number) => Note} */
const rest = (seconds) => note(0, seconds, 0, "sine");

/** Each has a rhythm of its own: nobody has to tell them apart by pitch alone. @type {Record<Sound, Note[]>} */
const SOUNDS = {
  tick: [note(1900, 0.03, 0.25, "square")],
  safe: [note(523, 0.14, 0.3, "sine"), note(784, 0.28, 0.3, "sine")],
  call: [
    note(659, 0.18, 0.4, "triangle"), rest(0.07), note(659, 0.18, 0.4, "triangle"), rest(0.07),
    note(494, 0.4, 0.4, "triangle"),
  ],
  refused: [note(165, 0.12, 0.4, "sawtooth"), rest(0.05), note(147, 0.2, 0.4, "sawtooth")],
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
    if (!context || !this.allowed || this.muted) return;
    if (context.currentTime - (this.#last.get(sound) ?? -1) < SAME_SECONDS) return;
    this.#last.set(sound, context.currentTime);
    let at = context.currentTime + 0.005;
    for (const one of SOUNDS[sound]) {
      if (one.loud > 0) sing(context, at, one);
      at += one.seconds;
    }
  }
}

/** One note, from `at` on the context's clock; it swells and fades within 5 ms, so that it does not click.
 * @param {AudioContext} context @param {number} at @param {Note} note */
function sing(context, at, { hertz, seconds, loud, shape }) {
  const source = new OscillatorNode(context, { type: shape, frequency: hertz });
  const gain = new GainNode(context, { gain: 0 });
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loud, at + 0.005);
  gain.gain.setValueAtTime(loud, at + seconds - 0.005);
  gain.gain.linearRampToValueAtTime(0, at + seconds);
  source.connect(gain).connect(context.destination);
  source.start(at);
  source.stop(at + seconds + 0.01);
}

export const tones = new Tones();
