// The fold of film that a motor moves, as rigd/model/reduce_feed.py has it.

import { withRoll } from "./copies.js";

/** @typedef {import("./types.js").State} State */

/** @param {State} state @param {any} e @returns {State} */
function filmEnded(state, e) {
  const roll = Object.values(state.rolls).find((one) => e.strip_id in one.strips);
  if (!roll) return state;
  const strip = { ...roll.strips[e.strip_id], places: e.places };
  const ended = withRoll(state, { ...roll, strips: { ...roll.strips, [e.strip_id]: strip } });
  const { back } = ended;
  if (back && back.strip_id === e.strip_id) return { ...ended, back: { ...back, next_place: null } };
  if (ended.strip_id !== e.strip_id) return ended;
  return { ...ended, next_place: null, strip_id: ended.frame_id ? e.strip_id : null };
}

/** @type {Record<string, (state: State, e: any) => State>} */
export const FEED_STEPS = {
  MoveIntended: (state, e) => ({ ...state, moving: e.frame_id ?? e.strip_id ?? null }),
  Moved: (state) => ({ ...state, moving: null }),
  GearLearned: (state, e) => (e.setup_id === (state.setup?.setup_id ?? "") ? { ...state, gear: e.gear } : state),
  FilmEnded: filmEnded,
  FilmStopped: (state, e) => ({ ...state, stopped: e.by }),
  StopCleared: (state) => ({ ...state, stopped: "" }),
};
