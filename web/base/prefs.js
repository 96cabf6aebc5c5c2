// What this screen alone was told: its light, its sounds, how it turns pictures. Kept in the browser, never sent.

const KEY = "rigd-screen";

/**
 * @typedef {object} Prefs
 * @property {"dark" | "light"} look for the dark room, or for the office
 * @property {"dim" | "full" | "hidden"} pictures
 * @property {number} volume 0 to 1
 * @property {boolean} muted
 * @property {boolean} extras the sounds that nobody needs, too
 * @property {boolean} speech say in words what needs the operator
 * @property {boolean} buzz vibrate with the sounds, where there is a motor
 * @property {0 | 90 | 180 | 270} mount how far pictures are turned clockwise, because of how the camera sits
 * @property {boolean} reads pictures are turned and mirrored so that they read; else they lie as the film lies
 */

/** @type {Prefs} */
const USUAL = {
  look: "dark", pictures: "dim", volume: 0.7, muted: false, extras: true, speech: false, buzz: true, mount: 0,
  reads: true,
};

class Screen {
  /** @type {Prefs} */
  #now = { ...USUAL, ...kept() };
  /** @type {Set<(prefs: Prefs) => void>} */
  #listeners = new Set();

  constructor() {
    this.#show();
  }

  get now() {
    return this.#now;
  }

  /** @param {Partial<Prefs>} change */
  set(change) {
    this.#now = { ...this.#now, ...change };
    keep(this.#now);
    this.#show();
    for (const listener of this.#listeners) listener(this.#now);
  }

  /** Hear every change. Returns the way to stop. @param {(prefs: Prefs) => void} listener */
  subscribe(listener) {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  #show() {
    const { look, pictures } = this.#now;
    Object.assign(document.documentElement.dataset, { look, pictures });
    const ground = look === "light" ? "#f4f1ea" : "#070708";
    document.querySelector("meta[name=theme-color]")?.setAttribute("content", ground);
  }
}

/** @returns {Partial<Prefs>} */
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEY) ?? "{}");
  } catch {
    return {}; // a browser that keeps nothing, or a value of somebody else: the usual will do
  }
}

/** @param {Prefs} prefs */
function keep(prefs) {
  try {
    localStorage.setItem(KEY, JSON.stringify(prefs));
  } catch {
    return; // it holds until the page is left
  }
}

export const screenPrefs = new Screen();
