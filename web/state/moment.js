// What the last events mean for somebody who watches: the step the cycle is at, and the take that was judged last.
// It is not history: a fresh snapshot tells it as well.

import { currentRoll, takeOf } from "./copies.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").LedgerEvent} LedgerEvent */

/** The seven steps of a cycle, in order. */
export const STEPS = /** @type {const} */ (["trigger", "settle", "expose", "fetch", "store", "judge", "advance"]);

/** @typedef {typeof STEPS[number] | "rest"} Step */
/** @typedef {{step: Step, takeId: string | null}} Moment */

/** @type {Record<string, Step>} The step that has begun once this event is committed. */
const BEGINS = {
  Triggered: "settle", Settled: "expose", ExposureIntended: "expose", Exposed: "fetch", Fetched: "store",
  Stored: "judge", Advanced: "advance", Troubled: "rest", TakeLost: "rest",
};

/** @type {Record<string, Step>} */
const AT_STAGE = { intended: "expose", exposed: "fetch", fetched: "store", stored: "judge" };

/**
 * After one more event.
 * @param {Moment} moment
 * @param {LedgerEvent} event
 * @returns {Moment}
 */
export function passed(moment, event) {
  const takeId = event.type === "Judged" ? event.take_id : moment.takeId;
  if (event.type === "Judged") return { takeId, step: event.decision === "retake" ? "settle" : "rest" };
  return { takeId, step: BEGINS[event.type] ?? moment.step };
}

/**
 * As a snapshot tells it.
 * @param {State} state
 * @returns {Moment}
 */
export function fromState(state) {
  const working = state.working ? takeOf(state, state.working) : null;
  return { step: working ? AT_STAGE[working.stage] ?? "rest" : "rest", takeId: lastJudged(state) };
}

/** The take of the current roll that was judged last. @param {State} state @returns {string | null} */
function lastJudged(state) {
  const takes = Object.values(currentRoll(state)?.takes ?? {}).filter((take) => take.stage === "judged");
  return takes.map((take) => take.take_id).sort().at(-1) ?? null;
}
