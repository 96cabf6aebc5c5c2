// The fold of shutters that are held, as rigd/model/reduce_exposing.py has it.

import { withRoll } from "./copies.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").Held} Held */

/** @param {State} state @param {string} rollId @param {Held | null} held @returns {State} */
function hold(state, rollId, held) {
  const roll = state.rolls[rollId];
  return roll ? withRoll(state, { ...roll, held }) : state;
}

/** The rolls without held shutters: another set-up has another light. @param {State["rolls"]} rolls */
export function released(rolls) {
  return Object.fromEntries(Object.entries(rolls).map(([id, roll]) => [id, { ...roll, held: null }]));
}

/** @type {Record<string, (state: State, e: any) => State>} */
export const EXPOSING_STEPS = {
  ShutterHeld: (state, e) => hold(state, e.roll_id, e.held),
  ShutterReleased: (state, e) => hold(state, e.roll_id, null),
};
