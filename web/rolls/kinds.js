// The frames of a roll in the order of the film, what each counts as, and the places where nothing was taken.
// The order is that of rigd/model/order.py, the gaps those of rigd/sheets/content.py.

import { isRetaken, isSuspect, kindOf, tally } from "../state/tally.js";

/** @typedef {import("../state/types.js").RollState} RollState */
/** @typedef {import("../state/types.js").FrameState} FrameState */
/** @typedef {import("../state/types.js").Strip} Strip */
/** @typedef {{number: number, frame: FrameState | null, place: number}} Spot number on the roll, 0 for a gap */
/** @typedef {{strip: Strip, spots: Spot[]}} Row */
/** @typedef {"all" | "doubt" | "again" | "retaken" | "unexposed" | "missing"} Sort */

/** @type {[Sort, string][]} */
export const SORTS = [
  ["all", "all"], ["doubt", "doubtful"], ["again", "to take again"], ["retaken", "retaken"],
  ["unexposed", "unexposed"], ["missing", "missing"],
];

/** @param {RollState} roll @returns {Row[]} */
export function rowsOf(roll) {
  let number = 0;
  const count = tally(roll);
  // Frames that were passed over, or are unsettled, have a place of their own.
  let lacking = count.missing - count.skipped - count.open;
  return Object.values(roll.strips).sort((a, b) => a.number - b.number || (a.strip_id < b.strip_id ? -1 : 1)).map((strip) => {
    const frames = Object.values(roll.frames).filter((f) => f.frame.strip_id === strip.strip_id);
    const spots = places(roll, strip, frames, lacking).flatMap((place) => {
      const there = frames.filter((f) => f.frame.place === place);
      /** @type {Spot[]} */
      const found = there.map((frame) => ({ number: (number += 1), frame, place }));
      return found.length ? found : [{ number: 0, frame: null, place }];
    });
    lacking -= spots.filter((spot) => !spot.frame).length;
    return { strip, spots };
  });
}

/** The places of a strip as they lie on the film. Those after the last frame only as far as the roll lacks frames: film
 * may end before its last strip does.
 * @param {RollState} roll @param {Strip} strip @param {FrameState[]} frames @param {number} lacking */
function places(roll, strip, frames, lacking) {
  const last = Math.max(0, ...frames.map((f) => f.frame.place));
  const held = strip.places ?? roll.roll.cuts[strip.number - 1] ?? roll.roll.strip_places ?? 0;
  const inside = last - new Set(frames.map((f) => f.frame.place)).size;
  const end = Math.max(last, Math.min(held, last + Math.max(0, lacking - inside)));
  const found = Array.from({ length: end }, (_, i) => i + 1);
  return strip.turn === 180 ? found.reverse() : found;
}

/** @param {RollState} roll @param {Spot} spot @param {Sort} sort */
export function isOf(roll, { frame }, sort) {
  if (sort === "all") return true;
  if (!frame) return sort === "missing";
  switch (sort) {
    case "doubt": return isSuspect(frame, roll);
    case "again": return Boolean(frame.again);
    case "retaken": return isRetaken(frame);
    case "unexposed": return kindOf(frame) === "unexposed";
    default: return ["skipped", "open"].includes(kindOf(frame));
  }
}

const KINDS = { picture: "", unexposed: "unexposed", fogged: "fogged", skipped: "passed over", open: "unsettled" };

/** What is to be said of a frame; nothing where it is a plain good picture. @param {RollState} roll
 * @param {FrameState | null} frame @returns {string[]} */
export function saidOf(roll, frame) {
  if (!frame) return ["missing"];
  const said = [KINDS[kindOf(frame)], isSuspect(frame, roll) && "doubtful", frame.again && "to take again", isRetaken(frame) && "retaken"];
  return /** @type {string[]} */ (said.filter(Boolean));
}

/** The take that stands for a frame: its keeper, else the newest with a file. @param {RollState} roll
 * @param {FrameState} frame @returns {string | null} */
export function shownTake(roll, frame) {
  const known = [...frame.keeper, ...[...frame.takes].reverse()];
  return known.find((id) => roll.takes[id]?.path) ?? null;
}
