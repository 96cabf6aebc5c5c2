// The four views, one a task.

/** @typedef {"run" | "bench" | "rolls" | "handover"} Place */

/** @type {[Place, string][]} */
export const PLACES = [["run", "Run"], ["bench", "Bench"], ["rolls", "Rolls"], ["handover", "Handover"]];

/** @param {string} text @returns {text is Place} */
export function isView(text) {
  return PLACES.some(([place]) => place === text);
}

/** The view that the address names. @returns {Place} */
export function here() {
  const named = location.hash.slice(1);
  return isView(named) ? named : "run";
}
