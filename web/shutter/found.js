// What was found on a take, and why, in words.

import { outcomeWords, verdictWords } from "../state/words.js";

/** @typedef {import("../state/types.js").Take} Take */

/** @param {Take} take @param {string[]} keeper */
export function found(take, keeper) {
  if (!verdictWords(take)) return "in hand";
  return [verdictWords(take), outcomeWords(take, keeper.includes(take.take_id))].filter(Boolean).join(", ");
}

/** @param {Take} take */
export function whyOf(take) {
  return take.why || take.verdict?.why || take.lost_why;
}
