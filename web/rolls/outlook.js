// How a roll stands, in a line; and how the whole job does.

import { spanWords } from "../state/pace.js";

/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").Tally} Tally */
/** @typedef {{roll: Roll, tally: Tally, closed: boolean, current: boolean, place: number, cadence_s: number | null, to_go: number | null}} Line */
/** @typedef {{frames: number, unknown: number, seconds: number, cadence_s: number, timed: number}} Left */
/** @typedef {{rolls: number, closed: number, unknown: number, tally: Tally, left: Left}} JobCount */

/** Frames that somebody should look at or go back to. @param {Tally} tally */
export function toLookAt(tally) {
  return tally.suspect + tally.skipped + tally.open + (tally.again ?? 0);
}

/** @param {Line} line */
export function outlook({ roll, tally, closed, cadence_s: pace }) {
  const done = tally.pictures + tally.unexposed + tally.fogged;
  const of = tally.expected === null ? "" : ` of ${tally.expected}`;
  const words = [
    `${roll.film_format}, ${done}${of} frames`, closed ? "done" : "",
    tally.missing && (closed || done) ? `${tally.missing} missing` : "", tally.suspect ? `${tally.suspect} doubtful` : "",
    tally.skipped ? `${tally.skipped} passed over` : "", tally.again ? `${tally.again} to take again` : "",
    pace === null ? "" : `${seconds(pace)} a frame`, roll.where,
  ];
  return words.filter(Boolean).join(", ");
}

/** "3 of 40 rolls done; 1332 frames to come, about 5 h 30 min". @param {JobCount} job */
export function jobWords({ rolls, closed, left }) {
  const done = `${closed} of ${rolls} ${rolls === 1 ? "roll" : "rolls"} done`;
  if (!left.frames && !left.unknown) return done;
  const more = left.unknown ? `, and ${left.unknown} ${left.unknown === 1 ? "roll" : "rolls"} of unknown length` : "";
  const pace = left.timed ? `as ${left.timed} frames went so far` : "by hand, as is usual";
  return `${done}; ${left.frames} frames to come${more}: about ${spanWords(left.seconds)} at ${seconds(left.cadence_s)} a frame, ${pace}`;
}

/** @param {number} value */
function seconds(value) {
  return `${value < 10 ? Number(value.toFixed(1)) : Math.round(value)} s`;
}
