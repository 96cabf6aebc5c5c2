// How fast the work goes: seconds a frame while somebody works, breaks left out, and how long the rest will take.

/** @typedef {import("./types.js").RollState} RollState */
/** @typedef {import("./types.js").Tally} Tally */

// Fewer frames than on one strip say little about the pace (as rigd/model/pace.py).
const FEWEST = 4;

/** Seconds a frame, or null while too few were taken. @param {RollState} roll */
export function cadence(roll) {
  return roll.paced >= FEWEST ? roll.worked_s / roll.paced : null;
}

/** "9 s a frame without breaks, about 2 min left"; "" while nobody knows. @param {RollState} roll @param {Tally} tally */
export function cadenceWords(roll, tally) {
  const seconds = cadence(roll);
  if (seconds === null) return "";
  const left = tally.expected !== null && tally.missing > 0 && !roll.closed ? seconds * tally.missing : 0;
  const words = `${seconds < 10 ? Number(seconds.toFixed(1)) : Math.round(seconds)} s a frame without breaks`;
  return left ? `${words}, about ${spanWords(left)} left` : words;
}

/** A span of time, coarse enough to be true. @param {number} seconds */
export function spanWords(seconds) {
  if (seconds < 90) return `${Math.max(5, 5 * Math.round(seconds / 5))} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return `${minutes} min`;
  return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}
