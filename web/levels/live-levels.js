// The newest histogram of the live picture, from the live view to whoever draws it. It is no state of the job.

/** @typedef {import("./measure.js").Histogram} Histogram */

class LiveLevels {
  /** @type {Histogram | null} */
  now = null;
  /** @type {Set<() => void>} */
  #listeners = new Set();

  /** @param {Histogram} histogram */
  put(histogram) {
    this.now = histogram;
    for (const listener of this.#listeners) listener();
  }

  /** @param {() => void} listener @returns {() => void} the way to stop */
  subscribe(listener) {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }
}

export const liveLevels = new LiveLevels();
