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
 * True if there are takes beside those that count: one keeper of two exposures is no retake.
 * @param {FrameState} frame
 */
export function isRetaken(frame) {
  return frame.takes.length > Math.max(1, frame.keeper.length);
}

/**
 * True if the keeper is in doubt and nobody has accepted it. A range that one exposure cannot hold is no fault of a
 * keeper of several.
 * @param {FrameState} frame
 * @param {RollState} roll
 */
export function isSuspect(frame, roll) {
  if (frame.accepted || !frame.keeper.length) return false;
  const fine = frame.keeper.length > 1 ? ["good", "exceeds"] : ["good"];
  return Boolean(frame.doubt) || frame.keeper.some((id) => {
    const verdict = roll.takes[id]?.verdict;
    return verdict && !fine.includes(verdict.take);
  });
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
    retaken: frames.filter(isRetaken).length,
    suspect: frames.filter((f) => isSuspect(f, roll)).length,
    takes: frames.flatMap((f) => f.takes).filter((id) => ["stored", "judged"].includes(roll.takes[id]?.stage)).length,
    again: frames.filter((f) => f.again).length,
  };
}
