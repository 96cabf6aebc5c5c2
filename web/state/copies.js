// Copies of a state with one thing changed; nothing is ever changed in place. As rigd/model/copies.py has them.

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").RollState} RollState */
/** @typedef {import("./types.js").FrameState} FrameState */
/** @typedef {import("./types.js").Take} Take */

/** The roll that a frame belongs to, wherever the job stands now; null if nobody knows the frame.
 * @param {State} state @param {string | null} frameId @returns {RollState | null} */
export function rollOf(state, frameId) {
  if (!frameId) return null;
  const current = currentRoll(state);
  if (current && frameId in current.frames) return current;
  return Object.values(state.rolls).find((roll) => frameId in roll.frames) ?? null;
}

/** The current roll.
 * @param {State} state @returns {RollState | null} */
export function currentRoll(state) {
  return (state.roll_id && state.rolls[state.roll_id]) || null;
}

/** A take by its id, the current roll first.
 * @param {State} state @param {string} takeId @returns {Take | null} */
export function takeOf(state, takeId) {
  if (takeId in state.loose) return state.loose[takeId];
  const current = currentRoll(state);
  if (current && takeId in current.takes) return current.takes[takeId];
  return Object.values(state.rolls).find((roll) => takeId in roll.takes)?.takes[takeId] ?? null;
}

/** @param {State} state @param {RollState} roll @returns {State} */
export function withRoll(state, roll) {
  return { ...state, rolls: { ...state.rolls, [roll.roll.roll_id]: roll } };
}

/** @param {State} state @param {FrameState} frame @returns {State} */
export function withFrame(state, frame) {
  const roll = state.rolls[frame.frame.roll_id];
  if (!roll) return state;
  return withRoll(state, { ...roll, frames: { ...roll.frames, [frame.frame.frame_id]: frame } });
}

/** In the roll of its frame, or of its label; a take of neither is a loose one.
 * @param {State} state @param {Take} take @returns {State} */
export function withTake(state, take) {
  const roll = take.frame_id ? rollOf(state, take.frame_id) : state.rolls[take.roll_id ?? ""] ?? null;
  if (!roll) return { ...state, loose: { ...state.loose, [take.take_id]: take } };
  return withRoll(state, { ...roll, takes: { ...roll.takes, [take.take_id]: take } });
}

/** @param {State} state @param {string} takeId @param {Partial<Take>} changes @returns {State} */
export function changedTake(state, takeId, changes) {
  const take = takeOf(state, takeId);
  return take ? withTake(state, { ...take, ...changes }) : state;
}

/** @param {State} state @param {string} frameId @param {Partial<FrameState>} changes @returns {State} */
export function changedFrame(state, frameId, changes) {
  const roll = rollOf(state, frameId);
  return roll ? withFrame(state, { ...roll.frames[frameId], ...changes }) : state;
}

/** @param {State} state @param {string} takeId @returns {State} */
export function doneWith(state, takeId) {
  return state.working === takeId ? { ...state, working: null } : state;
}
