// The tally of a roll, as rigd/model/tally.py counts it: every frame exactly once. Held equal by the same vectors.

/** @typedef {import("./types.js").RollState} RollState */
/** @typedef {import("./types.js").FrameState} FrameState */
/** @typedef {import("./types.js").Tally} Tally */
/** @typedef {"picture" | "unexposed" | "fogged" | "skipped" | "open"} Kind */

/**
 * What a frame counts as.
 * @param {FrameState} frame
 * @returns {Kind}
 */
export function kindOf(frame) {
  if (frame.film === "unexposed" || frame.film === "fogged") return frame.film;
  if (frame.keeper.length) return "picture";
  return frame.skipped ? "skipped" : "open";
}

/**
 * True if a take that counts was found to be less than good.
 * @param {FrameState} frame
 * @param {RollState} roll
 */
export function isSuspect(frame, roll) {
  return frame.keeper.some((id) => roll.takes[id]?.verdict && roll.takes[id].verdict?.take !== "good");
}

/**
 * @param {RollState} roll
 * @returns {Tally}
 */
export function tally(roll) {
  const frames = Object.values(roll.frames);
  const kinds = frames.map(kindOf);
  const count = (/** @type {Kind} */ kind) => kinds.filter((k) => k === kind).length;
  const [pictures, unexposed, fogged] = [count("picture"), count("unexposed"), count("fogged")];
  const [skipped, open] = [count("skipped"), count("open")];
  const expected = roll.roll.expected ? roll.roll.expected[0] : null;
  return {
    expected, pictures, unexposed, fogged, skipped, open,
    missing: expected === null ? skipped + open : Math.max(0, expected - pictures - unexposed - fogged),
    retaken: frames.filter((f) => f.takes.length > 1).length,
    suspect: frames.filter((f) => isSuspect(f, roll)).length,
    takes: Object.values(roll.takes).filter((t) => t.stage === "stored" || t.stage === "judged").length,
  };
}
