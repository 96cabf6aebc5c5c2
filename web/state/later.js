// The fold of second thoughts, as rigd/model/reduce_later.py has it: marks, corrections over a range, copies, files
// that found their frame.

import { changedFrame, changedTake, rollOf, takeOf, withFrame, withRoll } from "./copies.js";

/** @typedef {import("./types.js").State} State */
/** @typedef {import("./types.js").FrameState} FrameState */
/** @typedef {import("./types.js").RollState} RollState */
/** @typedef {import("./types.js").Strip} Strip */
/** @typedef {import("./types.js").Frame} Frame */
/** @typedef {import("./types.js").Film} Film */

/** Those of an object's entries that pass. @template T @param {Record<string, T>} all @param {(key: string, one: T) => boolean} pass
 * @returns {Record<string, T>} */
function only(all, pass) {
  return Object.fromEntries(Object.entries(all).filter(([key, one]) => pass(key, one)));
}

/** @param {FrameState} frame @param {Film[]} marks */
function lastWord(frame, marks) {
  return marks.at(-1) ?? frame.judged;
}

/** @param {State} state @param {string} frameId @param {Film | null} film @param {string} by @returns {State} */
function marked(state, frameId, film, by) {
  const frame = rollOf(state, frameId)?.frames[frameId];
  if (!frame) return state;
  const marks = film === null ? [] : [...frame.marks, film];
  return withFrame({ ...state, marked: frameId }, { ...frame, marks, film: lastWord(frame, marks), by });
}

/** @param {State} state @param {any} e @returns {State} */
function markUndone(state, e) {
  const frame = rollOf(state, e.frame_id)?.frames[e.frame_id];
  if (!frame) return state;
  const marks = frame.marks.slice(0, -1);
  return withFrame(state, { ...frame, marks, film: lastWord(frame, marks), by: e.by });
}

/** @param {State} state @param {string[]} frameIds @param {Partial<FrameState>} changes @returns {State} */
function flagged(state, frameIds, changes) {
  return frameIds.reduce((before, id) => changedFrame(before, id, changes), state);
}

/** @param {State} state @param {any} e @returns {State} */
function edgesRead(state, e) {
  for (const [id, mark] of Object.entries(e.marks)) {
    const frame = rollOf(state, id)?.frames[id];
    if (frame) state = withFrame(state, { ...frame, frame: { ...frame.frame, mark } });
  }
  return state;
}

/** @param {State} state @param {any} e @returns {State} */
function rollDropped(state, e) {
  const roll = state.rolls[e.roll_id];
  if (!roll || [roll.strips, roll.frames, roll.takes].some((some) => Object.keys(some).length)) return state;
  const left = { ...state, rolls: only(state.rolls, (key) => key !== e.roll_id) };
  if (state.roll_id !== e.roll_id) return left;
  return { ...left, roll_id: null, strip_id: null, frame_id: null, next_place: null, back: null };
}

/** @param {State} state @param {Strip} strip @returns {State} */
function stripChanged(state, strip) {
  const id = strip.strip_id;
  const home = Object.values(state.rolls).find((roll) => id in roll.strips);
  const target = state.rolls[strip.roll_id];
  if (!home || home === target) {
    const changed = withRoll(state, { ...target, strips: { ...target.strips, [id]: strip } });
    return { ...changed, strip_count: state.strip_count + (home ? 0 : 1) };
  }
  const frames = only(home.frames, (_, f) => f.frame.strip_id === id);
  const takes = only(home.takes, (_, t) => (t.frame_id ?? "") in frames || t.strip_id === id);
  /** @type {Record<string, FrameState>} */
  const moved = Object.fromEntries(
    Object.entries(frames).map(([key, f]) => [key, { ...f, frame: { ...f.frame, roll_id: strip.roll_id } }]),
  );
  const left = withRoll(state, without(home, frames, takes, id));
  const strips = { ...target.strips, [id]: strip };
  return followed(withRoll(left, joined({ ...target, strips }, moved, takes)), id, strip.roll_id);
}

/** Where the strip in the gate goes, the job goes with it.
 * @param {State} state @param {string} stripId @param {string} rollId @returns {State} */
function followed(state, stripId, rollId) {
  const here = state.strip_id === stripId ? { ...state, roll_id: rollId } : state;
  return here.back && here.back.strip_id === stripId ? { ...here, back: { ...here.back, roll_id: rollId } } : here;
}

/** @param {State} state @param {Frame} frame @returns {State} */
function frameMoved(state, frame) {
  const id = frame.frame_id;
  const home = rollOf(state, id);
  const target = state.rolls[frame.roll_id];
  if (!home) return state;
  const frames = { [id]: { ...home.frames[id], frame } };
  const takes = only(home.takes, (_, t) => t.frame_id === id);
  const left = home === target ? state : withRoll(state, without(home, frames, takes, null));
  const there = withRoll(left, joined(target, frames, takes));
  return state.frame_id === id ? { ...there, roll_id: frame.roll_id, strip_id: frame.strip_id } : there;
}

/** @param {RollState} roll @param {RollState["frames"]} frames @param {RollState["takes"]} takes
 * @param {string | null} stripId @returns {RollState} */
function without(roll, frames, takes, stripId) {
  return {
    ...roll,
    strips: only(roll.strips, (key) => key !== stripId),
    frames: only(roll.frames, (key) => !(key in frames)),
    takes: only(roll.takes, (key) => !(key in takes)),
  };
}

/** Label takes change their roll with their strip; takes of frames are of a roll through their frame.
 * @param {RollState} roll @param {RollState["frames"]} frames @param {RollState["takes"]} takes @returns {RollState} */
function joined(roll, frames, takes) {
  const moved = Object.fromEntries(
    Object.entries(takes).map(([key, t]) => [key, t.roll_id ? { ...t, roll_id: roll.roll.roll_id } : t]),
  );
  return { ...roll, frames: { ...roll.frames, ...frames }, takes: { ...roll.takes, ...moved } };
}

/** @param {State} state @param {State["strays"]} strays @returns {State} */
function withStrays(state, strays) {
  return { ...state, strays, unclaimed: Object.keys(strays).length };
}

/** @param {State} state @param {string} path @returns {State} */
function claimed(state, path) {
  return withStrays(state, only(state.strays, (key) => key !== path));
}

/** @param {State} state @param {any} e @returns {State} */
function strayAssigned(state, e) {
  const left = claimed(state, e.path);
  const roll = rollOf(left, e.take.frame_id);
  const frame = roll?.frames[e.take.frame_id];
  if (!roll || !frame) return left;
  const took = { ...frame, takes: [...frame.takes, e.take.take_id], skipped: false };
  const frames = { ...roll.frames, [e.take.frame_id]: took };
  const takes = { ...roll.takes, [e.take.take_id]: e.take };
  return { ...withRoll(left, { ...roll, frames, takes }), take_count: state.take_count + 1 };
}

/** @param {State} state @param {any} e @returns {State} */
function copied(state, e) {
  const has = takeOf(state, e.take_id)?.copied ?? [];
  return has.includes(e.to) ? state : changedTake(state, e.take_id, { copied: [...has, e.to] });
}

/** No number is given twice, also where a ledger was built anew.
 * @param {State} state @param {any} e @returns {State} */
function rebuilt(state, e) {
  return {
    ...state,
    take_count: Math.max(state.take_count, e.takes ?? 0),
    frame_count: Math.max(state.frame_count, e.frames ?? 0),
    strip_count: Math.max(state.strip_count, e.strips ?? 0),
    roll_count: Math.max(state.roll_count, e.rolls ?? 0),
  };
}

/** @type {Record<string, (state: State, e: any) => State>} */
export const LATER_STEPS = {
  FrameMarked: (state, e) => marked(state, e.frame_id, e.film, e.by),
  Unclaimed: (state, e) => withStrays(state, { ...state.strays, [e.path]: e }),
  RollDropped: rollDropped,
  BaseHeeded: (state, e) => withRoll(state, { ...state.rolls[e.roll_id], heeded: e.word }),
  StripsChanged: (state, e) => e.strips.reduce(stripChanged, state),
  FramesMoved: (state, e) => e.frames.reduce(frameMoved, state),
  EdgesRead: edgesRead,
  FramesMarked: (state, e) =>
    e.frame_ids.reduce((/** @type {State} */ before, /** @type {string} */ id) => marked(before, id, e.film, e.by), state),
  MarkUndone: markUndone,
  FramesDoubted: (state, e) => flagged(state, e.frame_ids, { doubt: e.why, accepted: false }),
  FramesAccepted: (state, e) => flagged(state, e.frame_ids, { doubt: "", again: "", accepted: true }),
  FramesWanted: (state, e) => flagged(state, e.frame_ids, { again: e.why }),
  FramesDescribed: (state, e) =>
    Object.entries(e.about).reduce((before, [id, about]) => changedFrame(before, id, { about }), state),
  SetupChecked: (state, e) => ({ ...state, check: e, checked: e.ok ? state.take_count : state.checked }),
  StrayAssigned: strayAssigned,
  StrayDismissed: (state, e) => ({ ...claimed(state, e.path), dismissed: { ...state.dismissed, [e.path]: e.why } }),
  Copied: copied,
  CardCleared: (state, e) => changedTake(state, e.take_id, { cleared: true }),
  Rebuilt: rebuilt,
};
