// How a roll stands, in a line.

/** @typedef {import("../state/types.js").Roll} Roll */
/** @typedef {import("../state/types.js").Tally} Tally */
/** @typedef {{roll: Roll, tally: Tally, closed: boolean, current: boolean, place: number}} Line */
/** @typedef {"all" | "undone" | "look"} Filter */

/** @param {Line} line @param {Filter} filter */
export function wanted({ tally, closed }, filter) {
  if (filter === "undone") return !closed;
  if (filter === "look") return toLookAt(tally) > 0;
  return true;
}

/** Frames that somebody should look at or go back to. @param {Tally} tally */
export function toLookAt(tally) {
  return tally.suspect + tally.skipped + tally.open + (tally.again ?? 0);
}

/** @param {Line} line */
export function outlook({ roll, tally, closed }) {
  const done = tally.pictures + tally.unexposed + tally.fogged;
  const of = tally.expected === null ? "" : ` of ${tally.expected}`;
  const words = [
    `${roll.film_format}, ${done}${of} frames`, closed ? "done" : "",
    tally.missing ? `${tally.missing} missing` : "", tally.suspect ? `${tally.suspect} doubtful` : "",
    tally.skipped ? `${tally.skipped} passed over` : "", tally.again ? `${tally.again} to take again` : "",
  ];
  return words.filter(Boolean).join(", ");
}
